package store

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"stillbench/session"
)

// TestSmallDisk fills a real file system of one megabyte, makes room, and takes away the
// right to write: each time the sentence names the file, and nothing acknowledged is lost.
func TestSmallDisk(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=1m"); err != nil {
		t.Skipf("a file system cannot be mounted here: %v", err)
	}
	defer syscall.Unmount(disk, syscall.MNT_DETACH)
	ballast := filepath.Join(disk, "ballast")
	path := filepath.Join(disk, "setups.db")
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	id := newSession(t, s, "/p")
	if err := os.WriteFile(ballast, make([]byte, 300<<10), 0o666); err != nil {
		t.Fatal(err)
	}
	kept := 0
	for ; ; kept++ {
		v := session.Setup{Subject: fmt.Sprint("cone ", kept), Notes: strings.Repeat("notes that take room ", 200)}
		if _, err = s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditSetup, Setup: &v}); err != nil {
			break
		}
	}
	if !strings.Contains(err.Error(), "disk is full") || !strings.Contains(err.Error(), path) || kept == 0 {
		t.Errorf("after %d setups: %v", kept, err)
	}
	if setups, err := s.Setups(t.Context(), id); err != nil || len(setups) != kept {
		t.Errorf("on the full disk %d setups of %d, %v", len(setups), kept, err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	logSetup(t, s, id, session.Setup{Subject: "after making room"})
	whole(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	if err := syscall.Mount("", disk, "", syscall.MS_REMOUNT|syscall.MS_RDONLY, ""); err != nil {
		t.Skipf("the file system cannot be made read-only: %v", err)
	}
	s, err = Open(t.Context(), path)
	if err == nil {
		_, err = s.OpenSession(t.Context(), "/q")
		s.Close()
	}
	if err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "permissions") {
		t.Errorf("on a disk that may only be read: %v", err)
	}
}

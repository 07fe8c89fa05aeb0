package store

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// TestMigrateOldLogs: a log of every older version is brought up to date with all it held,
// and a copy of it is kept. The logs were written by the program as it was then; what they
// hold is invented.
func TestMigrateOldLogs(t *testing.T) {
	for version := 1; int64(version) < logKind.newest(); version++ {
		path := oldLog(t, version)
		s := openLog(t, path)
		r := find(t, s, session.SetupQuery{})
		if r.Total != 2 || r.Logged != 2 {
			t.Fatalf("version %d: found %d of %d", version, r.Total, r.Logged)
		}
		shell, cone := r.Setups[0], r.Setups[1]
		if shell.Subject != "shell" || shell.Notes != "turned" || shell.Stacks != 0 || shell.Frames != 1 || !slices.Equal(shell.FNumber, []float64{5.6}) {
			t.Errorf("version %d: %+v", version, shell)
		}
		if cone.Subject != "pine cone" || *cone.Magnification != 1.25 || cone.Stacks != 1 || cone.Frames != 2 ||
			!slices.Equal(cone.FNumber, []float64{2.8, 8}) || cone.Cover != "A0003.JPG" || cone.Dir != "/pictures/cone" {
			t.Errorf("version %d: %+v", version, cone)
		}
		for _, c := range []struct {
			name string
			q    session.SetupQuery
			want string
		}{
			{"cell", session.SetupQuery{Cells: []session.Cell{{Side: session.SideFront, Height: session.HeightOverhead}}}, "shell"},
			{"kind", session.SetupQuery{Kinds: []session.LightKind{session.LightCard}}, "pine cone"},
			{"words", session.SetupQuery{Words: "facade"}, "pine cone"},
			{"aperture", session.SetupQuery{ApertureMin: 2, ApertureMax: 3}, "pine cone"},
			{"magnification", session.SetupQuery{MagnificationMin: 1.25, MagnificationMax: 1.25}, "pine cone"},
			{"date", session.SetupQuery{Until: time.Date(2026, 5, 2, 10, 2, 0, 0, time.UTC)}, "pine cone"},
		} {
			if r := find(t, s, c.q); r.Total != 1 || r.Setups[0].Subject != c.want {
				t.Errorf("version %d, by %s: %+v", version, c.name, r)
			}
		}
		edits, err := s.Edits(t.Context(), 1)
		if err != nil || len(edits) != 4 || !edits[3].Undone {
			t.Errorf("version %d: edits %+v, %v", version, edits, err)
		}
		// what was undone can still be done again
		if err := s.SetUndone(t.Context(), 1, edits[3].ID, false); err != nil {
			t.Error(err)
		}
		if r := find(t, s, session.SetupQuery{Words: "hidden"}); r.Total != 1 {
			t.Errorf("version %d: done again, found %d", version, r.Total)
		}
		copies, err := filepath.Glob(filepath.Join(filepath.Dir(path), "setups-copies", "*.db"))
		if err != nil || len(copies) != 1 {
			t.Fatalf("version %d: copies %v, %v", version, copies, err)
		}
		db, err := sql.Open("sqlite3", copies[0])
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		if n := count(t, db, `SELECT max(number) FROM migrations`); n != version {
			t.Errorf("the copy has version %d, want %d", n, version)
		}
	}
}

// TestMigrationIsWhole: a migration that fails half-way leaves the log as it was.
func TestMigrationIsWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	newSession(t, s, "/p")
	s.Close()

	next := logKind
	next.migrations = append(slices.Clone(next.migrations), migration{next.newest() + 1, "9000_broken.sql",
		`CREATE TABLE half (a); DELETE FROM sessions; INSERT INTO nowhere VALUES (1)`})
	if _, err := openDatabase(t.Context(), path, next, time.Second); err == nil || !strings.Contains(err.Error(), "9000_broken.sql") || !strings.Contains(err.Error(), path) {
		t.Fatalf("a broken migration: %v", err)
	}
	s = openLog(t, path)
	if n := count(t, s.log.write, `SELECT count(*) FROM sessions`); n != 1 {
		t.Errorf("%d sessions are left", n)
	}
	if n := count(t, s.log.write, `SELECT count(*) FROM sqlite_master WHERE name = 'half'`); n != 0 {
		t.Error("half a migration is left")
	}
}

// TestReadOnlyLog: a log that may not be written is refused with a sentence that names it.
func TestReadOnlyLog(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("root may write to every file; the test wants an ordinary user")
	}
	path := filepath.Join(t.TempDir(), "setups.db")
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	s, err = Open(t.Context(), path)
	if err == nil {
		_, err = s.OpenSession(t.Context(), "/p")
		s.Close()
	}
	if err == nil || !strings.Contains(err.Error(), path) || !strings.Contains(err.Error(), "cannot be written") {
		t.Errorf("a log that may only be read: %v", err)
	}
}

// TestFullDisk: when the disk is full a change fails whole, with a sentence that names the
// file, and what was there stays. SQLite's own page limit stands for the disk.
func TestFullDisk(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	first := logSetup(t, s, id, session.Setup{Subject: "kept"})
	pages := count(t, s.log.write, `PRAGMA page_count`)
	if got := count(t, s.log.write, `PRAGMA max_page_count = `+strconv.Itoa(pages+2)); got != pages+2 {
		t.Fatalf("max_page_count %d", got)
	}
	big := session.Setup{ID: first.ID, Subject: "lost", Notes: strings.Repeat("words that fill the disk ", 700)}
	_, err := s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditSetup, Setup: &big})
	if err == nil || !strings.Contains(err.Error(), s.Path()) || !strings.Contains(err.Error(), "disk is full") {
		t.Fatalf("on a full disk: %v", err)
	}
	setups, err := s.Setups(t.Context(), id)
	if err != nil || len(setups) != 1 || setups[0].Subject != "kept" {
		t.Errorf("after it: %+v, %v", setups, err)
	}
	count(t, s.log.write, `PRAGMA max_page_count = 1000000`)
	if _, err := s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditSetup, Setup: &big}); err != nil {
		t.Errorf("with room again: %v", err)
	}
}

// TestBusyLog: opening a log that another program holds gives ErrLogBusy in the end.
func TestBusyLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	db, err := sql.Open("sqlite3", "file:"+path+"?_locking_mode=EXCLUSIVE")
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`BEGIN EXCLUSIVE`); err != nil {
		t.Fatal(err)
	}
	s, err = open(t.Context(), path, 50*time.Millisecond)
	if err == nil {
		_, err = s.OpenSession(t.Context(), "/p")
		s.Close()
	}
	if !errors.Is(err, session.ErrLogBusy) || !strings.Contains(err.Error(), path) {
		t.Errorf("a log held by another program: %v", err)
	}
}

// TestLockedLog: while another program holds the log for writing, changes give ErrLogBusy,
// reading goes on, and once it is free so does writing.
func TestLockedLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	s, err := open(t.Context(), path, 50*time.Millisecond)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	id := newSession(t, s, "/p")
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`BEGIN IMMEDIATE`); err != nil {
		t.Fatal(err)
	}
	one := []session.Frame{{Name: "a", Fingerprint: "a"}}
	if err := s.SaveFrames(t.Context(), id, one); !errors.Is(err, session.ErrLogBusy) || !strings.Contains(err.Error(), path) {
		t.Errorf("writing while another program holds the log: %v", err)
	}
	if frames, err := s.Frames(t.Context(), id); err != nil || len(frames) != 0 {
		t.Errorf("reading meanwhile: %v, %v", frames, err)
	}
	if _, err := db.Exec(`ROLLBACK`); err != nil {
		t.Fatal(err)
	}
	save(t, s, id, one...)
}

// TestDefaultPath follows the XDG base directory specification: $XDG_DATA_HOME where it is
// absolute, else ~/.local/share.
func TestDefaultPath(t *testing.T) {
	t.Setenv("HOME", "/home/someone")
	for set, want := range map[string]string{
		"/data":    "/data/stillbench/setups.db",
		"":         "/home/someone/.local/share/stillbench/setups.db",
		"relative": "/home/someone/.local/share/stillbench/setups.db",
	} {
		t.Setenv("XDG_DATA_HOME", set)
		if got, err := DefaultPath(); err != nil || got != want {
			t.Errorf("XDG_DATA_HOME=%q: %s, %v", set, got, err)
		}
	}
}

// TestCancelled: a search that is not wanted any more ends, and the log goes on.
func TestCancelled(t *testing.T) {
	s := newLog(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.FindSetups(ctx, session.SetupQuery{Words: "x"}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
	find(t, s, session.SetupQuery{Words: "x"})
}

// TestTwoOpen: what one program writes the other finds, in lists and in searches, also a
// setup that is taken back and forgotten between two searches.
func TestTwoOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	a, b := openLog(t, path), openLog(t, path)
	id := newSession(t, a, "/p")
	for i := range 5 {
		logSetup(t, a, id, session.Setup{Subject: "pine cone", Lights: []session.Light{lightAt(session.LightLED, float64(i), 10)}})
		if r := find(t, b, session.SetupQuery{Words: "cone"}); r.Total != i+1 || len(r.Setups) != i+1 {
			t.Fatalf("after %d: %+v", i+1, r)
		}
	}
	edits, err := a.Edits(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if err := a.SetUndone(t.Context(), id, edits[4].ID, true); err != nil {
		t.Fatal(err)
	}
	if _, err := a.AddEdit(t.Context(), id, session.Edit{Kind: session.EditMark, Frame: "x"}); err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]*Store{"writer": a, "reader": b} {
		if r := find(t, s, session.SetupQuery{}); r.Total != 4 || r.Logged != 4 || len(r.Setups) != 4 {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestDamagedFolder: a folder of damaged files among sound frames is read in to its end: every
// file is a frame, another's twin, or named as unreadable; the sound frames are all there.
func TestDamagedFolder(t *testing.T) {
	r, dir := chance(t), t.TempDir()
	twoStacks(t, dir)
	models, err := filepath.Glob(filepath.Join("..", "..", "testdata", "exif", "*.*"))
	if err != nil {
		t.Fatal(err)
	}
	models = slices.DeleteFunc(models, func(p string) bool { return filepath.Ext(p) == ".json" })
	sound, err := filepath.Glob(filepath.Join(dir, "*.JPG"))
	if err != nil {
		t.Fatal(err)
	}
	n := 60
	if *torture {
		n = 2000
	}
	old := time.Now().Add(-time.Hour).Truncate(time.Second)
	var names []string
	for i := range n {
		from := append(models, sound[r.IntN(len(sound))])[r.IntN(len(models)+1)]
		data, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("X%04d%s", i, filepath.Ext(from))
		if err := os.WriteFile(filepath.Join(dir, name), damage(r, data), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(filepath.Join(dir, name), old, old); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	for _, s := range sound {
		names = append(names, filepath.Base(s))
	}
	var errs bytes.Buffer
	cmd := exec.Command("stillbench", "group", "--json", "--log", filepath.Join(t.TempDir(), "log.db"), dir)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	var exit *exec.ExitError
	if err != nil && !(errors.As(err, &exit) && exit.ExitCode() == exitPartly) || strings.Contains(errs.String(), "goroutine ") || strings.Contains(errs.String(), "made a mistake") {
		t.Fatalf("%v\n%s", err, errs.Bytes())
	}
	if u, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
		const limitMB = 700 // what a session may take
		if mb := u.Maxrss / 1024; mb > limitMB {
			t.Errorf("%d MB resident", mb)
		} else {
			t.Logf("%d MB resident at the highest", mb)
		}
	}
	var now sessionJSON
	if err := json.Unmarshal(out, &now); err != nil {
		t.Fatal(err)
	}
	places := map[string]int{}
	frames := 0
	for _, g := range now.Groups {
		for _, f := range append(g.Frames, g.SetAside...) {
			places[f]++
			frames++
		}
	}
	for _, twins := range []map[string][]string{now.Pairs, now.Duplicates} {
		for _, others := range twins {
			for _, f := range others {
				places[f]++
			}
		}
	}
	for _, u := range now.Unreadable {
		places[u.File]++
		if !strings.Contains(u.Error, u.File) {
			t.Errorf("%s: %q does not name it", u.File, u.Error)
		}
	}
	for _, name := range names {
		if places[name] != 1 {
			t.Errorf("%s is in %d places", name, places[name])
		}
	}
	for _, u := range now.Unreadable {
		if strings.HasPrefix(u.File, "VTX") {
			t.Errorf("a sound frame was refused: %s", u.Error)
		}
	}
	t.Logf("%d frames, %d unreadable, of %d", frames, len(now.Unreadable), len(names))
}

// damage does to a file what bad cards, cut transfers and strangers do.
func damage(r *rand.Rand, data []byte) []byte {
	data = slices.Clone(data)
	at := func() int { return r.IntN(max(len(data), 1)) }
	switch r.IntN(6) {
	case 0: // a transfer cut short
		return data[:at()]
	case 1: // bits turned, most of them where the structure is
		for range 1 + r.IntN(30) {
			if i := r.IntN(max(min(len(data), 2000), 1)); i < len(data) {
				data[i] ^= 1 << r.IntN(8)
			}
		}
	case 2: // a block of the card lost
		i := at()
		clear(data[i:min(i+512*(1+r.IntN(8)), len(data))])
	case 3: // a block written twice
		i := at()
		copy(data[at():], data[i:min(i+4096, len(data))])
	case 4: // large numbers for sizes and offsets
		for range 1 + r.IntN(8) {
			if i := r.IntN(max(min(len(data), 1000), 1)); i+4 <= len(data) {
				copy(data[i:], [][]byte{{0xff, 0xff, 0xff, 0xff}, {0x7f, 0xff, 0xff, 0xff}, {0xff, 0xff, 0xff, 0x7f}, {0, 0, 0, 0}}[r.IntN(4)])
			}
		}
	case 5: // noise
		for i := at(); i < len(data); i++ {
			data[i] = byte(r.Uint32())
		}
	}
	return data
}

package app

import (
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
)

// handOnBench is a session whose frames are files of a few bytes, which is all that handing on
// needs of them.
func handOnBench(t *testing.T) (w *bench, dir string) {
	b := placetest.Afternoon()
	dir = filepath.Join(t.TempDir(), "day")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	b.S.Session.Dir = dir
	for _, f := range b.S.Frames {
		if err := os.WriteFile(filepath.Join(dir, f.Name), []byte(f.Name), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	w = opened(t, b)
	w.keys("2", "H")
	return w, dir
}

// handed waits until the handoff at work has ended.
func (w *bench) handed() {
	w.t.Helper()
	for end := time.Now().Add(time.Minute); w.handOn.stop != nil; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			w.t.Fatal("it never ends")
		}
		w.settle()
	}
}

func namesIn(t *testing.T, pattern string) map[string]bool {
	t.Helper()
	list, err := filepath.Glob(pattern)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]bool{}
	for _, name := range list {
		out[filepath.Base(name)] = true
	}
	return out
}

// TestHandOn: what is chosen on the sheet is what is made, and moving is undone by one key.
func TestHandOn(t *testing.T) {
	w, dir := handOnBench(t)
	w.says("Hand the stacks on.", "stay as they are")
	before := namesIn(t, filepath.Join(dir, "*"))
	w.keys("S", "S", "C", "C", "T") // no sidecars, no sheet, no tables
	w.keys("F")
	w.typed("{number} of {session}")
	w.keys("A", "A", "A", "A") // as moves
	w.says("leave this folder")
	w.keys(place.KeyEnter)
	w.handed()
	out := filepath.Join(filepath.Dir(dir), "day stacks")
	w.says("Handed on.", "4 folders are in "+out)
	if n := len(namesIn(t, filepath.Join(out, "01 of day", "*"))); n != 13 {
		t.Errorf("%d files in the first folder", n)
	}
	if n := len(namesIn(t, filepath.Join(dir, "*"))); n != len(before)-53 {
		t.Errorf("%d files stayed of %d", n, len(before))
	}
	w.keys("B")
	w.handed()
	w.says("Put back.", "53 files are back")
	if !maps.Equal(namesIn(t, filepath.Join(dir, "*")), before) {
		t.Error("not all are back")
	}
	// It is remembered how, and not where.
	again := newHandOn(w.App)
	if again.asked.As != "move" || again.asked.Pattern != "{number} of {session}" || again.asked.Out != "" {
		t.Errorf("remembered: %+v", again.asked)
	}
}

// TestHandOnRefuses: what cannot be is said on the sheet, and nothing begins.
func TestHandOnRefuses(t *testing.T) {
	w, dir := handOnBench(t)
	w.keys("N")
	w.typed(dir)
	w.says("That cannot be done.", "the session's own folder")
	w.keys(place.KeyEnter)
	w.settle()
	if w.handOn.stop != nil || w.handOn.ended {
		t.Error("it began all the same")
	}
	w.keys("N")
	w.typed("elsewhere") // beside the session
	w.keys("F")
	w.typed("{nothing}")
	w.says("That cannot be done.", "{nothing}")
	if _, err := os.Stat(filepath.Join(filepath.Dir(dir), "elsewhere")); err == nil {
		t.Error("a folder was made before anything was handed on")
	}
}

// TestQuitAsks: a handoff at work is not thrown away unasked, and Esc stays.
func TestQuitAsks(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	stopped := false
	w.handOn.stop = func() { stopped = true }
	w.quit()
	w.says("A handoff is not finished.", "Y quits")
	w.keys(place.KeyEscape)
	w.says("Hold still.")
	if stopped {
		t.Error("it was stopped all the same")
	}
	w.handOn.stop = nil
	w.quit()
	if w.cover != nil {
		t.Error("it asks with nothing at work")
	}
}

// What a key changes is changed by a click on its line as well.
func TestHandOnByClicks(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("2", "H")
	for i := range w.handOn.chosen.Items {
		line := w.handOn.chosen.Items[i]
		if line.Key != "T" {
			continue
		}
		before := w.handOn.asked.Tables
		line.OnTap()
		w.settle()
		if w.handOn.asked.Tables == before {
			t.Error("a click on the tables changes nothing")
		}
		return
	}
	t.Error("no line has the key of the tables")
}

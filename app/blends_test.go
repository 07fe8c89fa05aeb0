package app

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
)

// typed types into the field that has the keys, and Enter.
func (w *bench) typed(text string) {
	w.t.Helper()
	w.settle()
	field, ok := w.window.Canvas().Focused().(interface {
		SetText(string)
		TypedKey(*fyne.KeyEvent)
	})
	if !ok {
		w.t.Fatal("nothing can be typed into")
	}
	field.SetText(text)
	field.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	w.settle()
}

// TestBlendSheet: what is chosen on the sheet is what goes into the queue; a blend into the
// folder of the frames is refused there and then. The frames are no files, so the blend comes to
// nothing and the window says that, and why.
func TestBlendSheet(t *testing.T) {
	b, dir := placetest.Afternoon(), t.TempDir()
	b.S.Session.Dir = filepath.Join(dir, "day")
	if err := os.Mkdir(b.S.Session.Dir, 0o777); err != nil {
		t.Fatal(err)
	}
	group := int64(0)
	for _, g := range b.S.Groups {
		if g.Kind == session.KindStack && group == 0 {
			group = g.ID
		}
	}
	w := opened(t, b)
	w.keys("2")
	w.blends.ask(group)
	w.says("Blend stack 1.")
	w.keys("F", "M", "N")
	w.typed(filepath.Join(b.S.Session.Dir, "x.png"))
	w.keys(place.KeyEnter)
	w.says("lies in the folder of the frames")
	if n := len(w.blends.queue.List()); n != 0 {
		t.Fatalf("%d queued", n)
	}
	notes := filepath.Join(dir, "notes.txt")
	if err := os.WriteFile(notes, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	w.keys("N")
	w.typed(filepath.Join(notes, "x.png")) // where no folder can be
	w.keys(place.KeyEnter)
	w.says("Blend stack 1.", "notes.txt is a file; name a folder")
	if n := len(w.blends.queue.List()); n != 0 {
		t.Fatalf("%d queued", n)
	}
	w.keys("N")
	w.typed(filepath.Join(dir, "elsewhere")) // has the ending of the one before
	w.keys(place.KeyEnter)
	l := w.blends.queue.List()
	if len(l) != 1 || l[0].Job.Out != filepath.Join(dir, "elsewhere.png") || l[0].Job.Depth != filepath.Join(dir, "elsewhere depth.png") || len(l[0].Job.Files) != 13 {
		t.Fatalf("%+v", l)
	}
	for end := time.Now().Add(time.Minute); w.blends.queue.Busy() > 0 && time.Now().Before(end); time.Sleep(time.Millisecond) {
	}
	w.blends.look()
	w.says("Stack 1 was not blended", "A0004.JPG", "and 12 more", "Bring it back")
	w.keys("Q")
	w.says("A blend has failed.", "Why, and what to do")
	w.keys("C")
	w.says("stacks")
}

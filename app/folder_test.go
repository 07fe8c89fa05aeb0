package app

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/storage"

	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/assets/words"
)

// typedInto types keys and words into what has the focus.
func (w *bench) typedInto(text string, keys ...fyne.KeyName) {
	w.t.Helper()
	f := w.window.Canvas().Focused()
	if f == nil {
		w.t.Fatal("nothing has the focus")
	}
	for _, r := range text {
		f.TypedRune(r)
	}
	for _, k := range keys {
		f.TypedKey(&fyne.KeyEvent{Name: k})
	}
	w.settle()
}

// A folder is chosen by typing a few letters, completed by Tab, and Enter; or by clicks.
func TestFolderIsChosen(t *testing.T) {
	dir := t.TempDir()
	for _, sub := range []string{"arrivals/today", "arrivals/yesterday", "other"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	opened := ""
	w := newBench(t, placetest.NewSession())
	w.o.Open = func(_ context.Context, dir string) (place.Desk, error) {
		opened = dir
		return nil, errors.New("not now")
	}
	w.app.Preferences().SetStringList(prefRecent, []string{filepath.Join(dir, "earlier")})
	w.keys(place.KeyEnter) // the first start: choose the folder
	w.says("Where do the pictures arrive?")
	w.typedInto("arr", fyne.KeyTab)
	w.typedInto("y", fyne.KeyTab, fyne.KeyReturn)
	if want := filepath.Join(dir, "arrivals", "yesterday"); opened != want {
		t.Errorf("%q is opened, want %q", opened, want)
	}
	if w.window.Canvas().Focused() != nil {
		t.Error("the field keeps the focus")
	}

	w.chooseFolder()
	w.settle()
	lines := func(i int) []parts.Line {
		return w.cover.body.(*fyne.Container).Objects[i].(*container.Scroll).Content.(*parts.Lines).Items
	}
	click := func(i int, name string) {
		t.Helper()
		for _, l := range lines(i) {
			if (l.Name == name || l.Text == name) && l.OnTap != nil {
				l.OnTap()
				w.settle()
				return
			}
		}
		t.Fatalf("no %q to click among %+v", name, lines(i))
	}
	// The folder above the last one is where it begins: up from there, into it again, and on.
	click(1, words.FolderUp)
	click(1, filepath.Base(dir))
	click(1, "arrivals")
	click(1, "today")
	w.typedInto("", fyne.KeyReturn)
	if want := filepath.Join(dir, "arrivals", "today"); opened != want {
		t.Errorf("by clicks and Enter %q is opened, want %q", opened, want)
	}
	w.chooseFolder()
	w.settle()
	click(2, filepath.Join(dir, "earlier"))
	if want := filepath.Join(dir, "earlier"); opened != want || w.cover != nil {
		t.Errorf("by a click %q is opened, want %q", opened, want)
	}
}

// While the path is typed, letters are letters: no key that is one is offered.
func TestFolderSheetTypesLetters(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.chooseFolder()
	letters := func() (out []string) {
		for _, a := range w.marginKeys(w.view()) {
			if a.Writes() {
				out = append(out, a.Word)
			}
		}
		return out
	}
	if l := letters(); len(l) > 0 {
		t.Errorf("%v are offered while a path is typed", l)
	}
	w.focus(nil)
	if len(letters()) == 0 {
		t.Error("no letter is a key when nothing is typed")
	}
}

// The window's own keys work while one types: quitting, another folder, and the tones.
func TestShortcutsWorkWhileTyping(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.chooseFolder()
	typing, ok := w.window.Canvas().Focused().(fyne.Shortcutable)
	if !ok {
		t.Fatal("no field has the focus")
	}
	before := w.sound
	typing.TypedShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyB, Modifier: fyne.KeyModifierShortcutDefault})
	if w.sound == before {
		t.Error("Ctrl+B does nothing while a path is typed")
	}
	text := w.window.Canvas().Focused().(*parts.InputEntry).Text
	typing.TypedShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyZ, Modifier: fyne.KeyModifierShortcutDefault | fyne.KeyModifierShift})
	if w.window.Canvas().Focused() == nil || w.window.Canvas().Focused().(*parts.InputEntry).Text != text {
		t.Error("redoing left the field")
	}
}

// What is dropped on the window is opened: a folder, or the one that a file lies in.
func TestDropped(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "VTX_0001.JPG")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, what := range []string{dir, file} {
		opened := ""
		w := newBench(t, placetest.NewSession())
		w.o.Open = func(_ context.Context, dir string) (place.Desk, error) {
			opened = dir
			return nil, errors.New("not now")
		}
		w.dropped([]fyne.URI{storage.NewFileURI(what)})
		w.settle()
		if opened != dir {
			t.Errorf("%s dropped opens %q", what, opened)
		}
	}
}

package app

import (
	"context"
	"errors"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/app/sound"
	"stillbench/assets/words"
	"stillbench/session"
)

// bench is a window on an invented session, with a clock that stands still.
type bench struct {
	*App
	t    testing.TB
	desk *placetest.Desk
	now  time.Time

	played []sound.Tone

	mu   sync.Mutex
	todo []func() // for the UI goroutine, which is the test's own
}

func (w *bench) deliver(fn func()) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.todo = append(w.todo, fn)
}

func newBench(t testing.TB, b *placetest.Builder) *bench {
	t.Helper()
	look.Set(look.State{Scale: 1})
	w := &bench{t: t, desk: placetest.New(&b.S), now: b.S.LastArrival}
	w.App = build(test.NewTempApp(t), Options{
		Log: w.desk, Now: func() time.Time { return w.now },
		Open: func(context.Context, string) (place.Desk, error) { return w.desk, nil },
		Play: func(tone sound.Tone) { w.deliver(func() { w.played = append(w.played, tone) }) },
		Demo: func(context.Context) (string, error) { return "/pictures/demo", nil },
	}, w.deliver)
	t.Cleanup(w.Close)
	w.window.Resize(fyne.NewSize(1440, 900))
	return w
}

// opened is a bench with the session on the table, without the pump: settle stands for
// it.
func opened(t testing.TB, b *placetest.Builder) *bench {
	t.Helper()
	w := newBench(t, b)
	w.App.desk, w.stopDesk = w.desk, func() {}
	w.settle()
	return w
}

// settle waits for what runs off the UI goroutine and takes in the newest snapshot.
func (w *bench) settle() {
	w.work.Wait()
	w.mu.Lock()
	todo := w.todo
	w.todo = nil
	w.mu.Unlock()
	for _, fn := range todo {
		fn()
	}
	w.show(w.desk.Snapshot())
}

func (w *bench) keys(keys ...place.Key) {
	for _, k := range keys {
		w.press(k)
		w.settle()
	}
}

func (w *bench) says(parts ...string) {
	w.t.Helper()
	said := w.shell.sentence.Headline + " / " + w.shell.sentence.WhatToDo
	for _, p := range parts {
		if !strings.Contains(said, p) {
			w.t.Errorf("the window says %q, want %q in it", said, p)
		}
	}
}

func (w *bench) lastEdit() session.Edit {
	w.t.Helper()
	if len(w.desk.Edits) == 0 {
		w.t.Fatal("no edit came to the desk")
	}
	return w.desk.Edits[len(w.desk.Edits)-1]
}

func TestFirstStartAsksForTheFolder(t *testing.T) {
	w := newBench(t, placetest.NewSession())
	w.says("Where do the pictures arrive?")
	var words []string
	for _, a := range w.view().Actions() {
		words = append(words, a.Word)
	}
	if strings.Join(words, "|") != "choose the folder|try the demo session" {
		t.Errorf("it offers %q", words)
	}
}

func TestPlacesByDigit(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	for k, want := range map[place.Key]place.Number{"2": place.Stacks, "3": place.Setups, "4": place.Plan, "1": place.Table} {
		w.press(k)
		if w.current != want {
			t.Errorf("key %s goes to %d", k, w.current)
		}
	}
}

func TestKeysListShowsEveryActionAndGoesAway(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("2", "?")
	w.says("Keys: Stacks.")
	w.keys(place.KeyEscape)
	w.says("Four stacks")
}

func TestUndoSaysWhatItTakesBack(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("U")
	w.says("nothing to undo")
	w.keys("2", "K", "T")
	if e := w.lastEdit(); e.Kind != session.EditKindOf || e.Group != session.KindTest {
		t.Fatalf("edit %+v", e)
	}
	w.says("Three stacks")
	w.keys("U")
	w.says("Four stacks", "Undone: kind.")
	w.keys("R")
	w.says("Three stacks", "Done again: kind.")
}

func TestRefusedEditIsSaidUntilTheNextKey(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.desk.Refuse = errors.New("the log is full")
	w.keys("2", "J")
	w.says("That was not done: the log is full.")
	w.keys(place.KeyUp)
	if strings.Contains(w.shell.sentence.WhatToDo, "not done") {
		t.Error("the sentence stands after another key")
	}
}

func TestProblemsAreReachableAndCounted(t *testing.T) {
	b := placetest.Afternoon()
	b.S.Unreadable = []session.Problem{{File: "A0099.JPG", Sentence: session.Say("A0099.JPG is cut off.")}}
	w := opened(t, b)
	found := false
	for _, a := range w.shell.list {
		found = found || a.Word == "1 notice"
	}
	if !found {
		t.Error("the count is not in view")
	}
	w.keys("I")
	for _, a := range w.marginKeys(w.view()) {
		if slices.Contains(a.Keys, "I") && a.Word != words.Back {
			t.Errorf("on the sheet that I leads back from it also stands for %q", a.Word)
		}
	}
	w.says("1 file could not be read.")
	w.keys(place.KeyEscape)
	w.says("Hold still.")
}

func TestDimIsToggledByATapAndLiftedByHolding(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.dimDown()
	w.dimUp()
	if s := look.Current(); !s.Dim || s.Full {
		t.Fatalf("after a tap: %+v", s)
	}
	w.dimDown()
	if s := look.Current(); s.PicturesDimmed() {
		t.Error("held: the pictures are still dim")
	}
	w.now = w.now.Add(2 * time.Second)
	w.dimUp()
	if s := look.Current(); !s.Dim || s.Full {
		t.Errorf("after holding: %+v", s)
	}
	w.dimDown()
	w.now = w.now.Add(100 * time.Millisecond)
	w.dimUp()
	if look.Current().Dim {
		t.Error("a tap in dim does not end it")
	}
}

func TestWindowRemembersPlaceAndFolders(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("3")
	w.rememberFolder("/pictures/one")
	w.rememberFolder("/pictures/two")
	w.rememberFolder("/pictures/one")
	w.remember()
	if got := strings.Join(w.recent(), "|"); got != "/pictures/one|/pictures/two" {
		t.Errorf("recent folders: %s", got)
	}
	if got := w.app.Preferences().Int(prefPlace); got != int(place.Setups) {
		t.Errorf("place %d", got)
	}
}

func TestEverySizeIsLaidOutInsideTheWindow(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	for _, size := range []fyne.Size{{Width: 1024, Height: 640}, {Width: 1440, Height: 900}, {Width: 1920, Height: 1200}, {Width: 3840, Height: 2160}} {
		w.window.Resize(size)
		for _, k := range []place.Key{"1", "2", "3", "4"} {
			w.keys(k)
			body := w.shell.body
			if bottom := body.Position().Y + body.Size().Height; bottom > size.Height+0.5 || body.Size().Height < size.Height/2 {
				t.Errorf("%v, place %s: the body ends at %v and is %v high", size, k, bottom, body.Size().Height)
			}
		}
	}
	look.Set(look.State{Scale: 1})
}

func TestSessionIsClosedWithTheWindow(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.Close()
	if !w.desk.Closed {
		t.Error("the session runs on")
	}
}

// A window is made smaller that would reach beyond the screen, and left alone where it fits or
// where the screen is not known.
func TestWindowFitsTheScreen(t *testing.T) {
	for _, c := range []struct{ w, h, wide, high int }{
		{1280, 800, 1280, 760}, {1920, 1080, 1440, 900}, {1440, 2000, 1440, 900}, {0, 0, 1440, 900},
	} {
		w := newBench(t, placetest.NewSession())
		w.o.Screen = func() (int, int) { return c.w, c.h }
		w.fitScreen()
		if got := w.window.Canvas().Size(); int(got.Width) != c.wide || int(got.Height) != c.high {
			t.Errorf("on %d x %d: %v, want %d x %d", c.w, c.h, got, c.wide, c.high)
		}
	}
}

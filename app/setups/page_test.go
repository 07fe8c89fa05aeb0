package setups

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/session"
	"stillbench/session/desk"
)

func TestPageGoesThroughTheStepsByKeysAlone(t *testing.T) {
	w := newBench(t)
	w.keys(place.KeyRight, "S")
	if w.Sentence().Headline != "The subject on the table." {
		t.Fatalf("it begins with %q", w.Sentence().Headline)
	}
	w.keys(place.KeyDown)
	if got := w.Sentence(); got.Headline != "1 · LED panel, diffuser, back-left." || !strings.Contains(got.WhatToDo, "40 cm away") {
		t.Errorf("the light's step says %q, %q", got.Headline, got.WhatToDo)
	}
	w.keys(place.KeySpace)
	if got := w.Sentence().Headline; got != "This is how it looked." {
		t.Errorf("the last step says %q", got)
	}
	w.keys(place.KeyUp, place.KeyHome, place.KeyEnd, place.KeyEscape)
	if w.leaf != nil || !strings.Contains(w.Sentence().Headline, "setups") {
		t.Error("Esc does not go back to the cards")
	}
	if w.at != 1 {
		t.Errorf("back at card %d", w.at)
	}
}

func TestPageFitsEveryWindow(t *testing.T) {
	w := newBench(t)
	w.log.Found.Setups[0].Lights = nil
	for _, size := range []fyne.Size{{Width: 1024, Height: 440}, {Width: 1440, Height: 700}, {Width: 1920, Height: 1000}} {
		w.keys("S")
		g := w.leaf.(*page)
		g.root.Resize(size)
		for range g.steps {
			for _, o := range []fyne.CanvasObject{g.plan, g.arc, g.picture} {
				end := o.Position().Add(o.Size())
				if o.Visible() && (o.Position().X < 0 || o.Position().Y < 0 || end.X > size.Width || end.Y > size.Height+1) {
					t.Errorf("%v, step %d: %T lies from %v to %v", size, g.at, o, o.Position(), end)
				}
			}
			g.goTo(g.at + 1)
		}
		w.keys(place.KeyEscape)
	}
}

func TestSetupGoesOnTheTableByOneKey(t *testing.T) {
	w := newBench(t)
	w.keys("B")
	if len(w.log.Edits) != 0 || !strings.Contains(w.told, "Open the folder") {
		t.Fatalf("without a session: %d edits, told %q", len(w.log.Edits), w.told)
	}
	w.Show(&desk.Snapshot{Session: session.Session{ID: 1, Dir: "/pictures/bench"}})
	w.keys("B")
	w.take(1)
	if len(w.log.Edits) != 1 {
		t.Fatalf("%d edits", len(w.log.Edits))
	}
	e := w.log.Edits[0]
	if e.Kind != session.EditSetup || e.Setup.ID != 0 || len(e.Setup.Lights) != 1 || !e.Setup.Logged.Equal(time.Time{}) {
		t.Errorf("edit %+v", e)
	}
	if !strings.Contains(w.told, "Setup 1") {
		t.Errorf("told %q", w.told)
	}
}

func TestPageIsPrinted(t *testing.T) {
	w := newBench(t)
	w.keys("P")
	w.take(1)
	if len(w.log.Kept.Printed) != 1 || !strings.Contains(w.told, "Setup 1.pdf") {
		t.Errorf("printed %v, told %q", w.log.Kept.Printed, w.told)
	}
}

func TestShortened(t *testing.T) {
	for _, c := range []struct {
		text string
		n    int
		want string
	}{
		{"pine cone", 9, "pine cone"}, {"pine cone, wet", 12, "pine cone…"}, {"קליפת עץ ישנה", 10, "קליפת עץ…"}, {"WWWWWWWWWW", 5, "WWWW…"}, {"", 5, ""},
	} {
		if got := shortened(c.text, c.n); got != c.want {
			t.Errorf("%q in %d letters: %q, want %q", c.text, c.n, got, c.want)
		}
	}
}

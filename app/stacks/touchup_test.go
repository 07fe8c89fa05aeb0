package stacks

import (
	"image"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/assets/words"
	"stillbench/session"
)

// proved is a bench with a stack of five frames and its proof, opened.
func proved(t *testing.T) *bench {
	w := newBench(t, placetest.NewSession().Marker().Stack(5).Check(session.VerdictCovered, "", "").Proof())
	w.keys(place.KeyEnter)
	return w
}

func (w *bench) drag(x0, y0, x1, y1 float32) {
	v := w.touch.view
	v.Picture = image.NewRGBA(image.Rect(0, 0, 960, 640)) // as it comes in time
	size := v.Size()
	at := func(x, y float32) fyne.PointEvent {
		return fyne.PointEvent{Position: fyne.NewPos(x*size.Width, y*size.Height)}
	}
	v.MouseDown(&desktop.MouseEvent{PointEvent: at(x0, y0), Modifier: fyne.KeyModifierShift}) // a rectangle
	v.Dragged(&fyne.DragEvent{PointEvent: at(x1, y1)})
	v.DragEnd()
}

func TestTouchUpTakesWhatIsDrawnFromTheFrameThatWasChosen(t *testing.T) {
	w := proved(t)
	w.keys(place.KeyRight, "E") // to frame 4
	if !w.touch.body.Visible() || w.scroll.Visible() || !strings.Contains(w.Sentence().Headline, "Touch up stack 1") {
		t.Fatalf("says %q", w.Sentence().Headline)
	}
	if place.Press(w.Actions(), place.KeyEnter) {
		t.Error("Enter keeps an outline that is not there")
	}
	w.drag(0.25, 0.25, 0.5, 0.75)
	if len(w.desk.Edits) != 0 || !strings.Contains(w.Sentence().WhatToDo, "frame 4") {
		t.Fatalf("drawn: %q, edits %v", w.Sentence().WhatToDo, w.desk.Edits)
	}
	// The region shows the frame that it would be taken from.
	if got := w.touch.asked[1].OnProof.Fingerprint; got != "fp5" {
		t.Errorf("inside stands %q", got)
	}
	w.keys("N", "N", "F")
	if got := w.touch.asked[1].OnProof.Fingerprint; got != "fp4" || !strings.Contains(w.Sentence().WhatToDo, "frame 3") {
		t.Errorf("inside stands %q: %q", got, w.Sentence().WhatToDo)
	}
	w.keys(place.KeyEnter)
	w.edit(session.EditTouch, "fp4")
	e := w.desk.Edits[0]
	if e.Touch.From != "fp4" || len(e.Touch.Area) != 4 || e.Words != "touch up stack 1 from frame 3" {
		t.Fatalf("edited %+v", e)
	}
	for i, want := range [][2]float64{{0.25, 0.25}, {0.5, 0.25}, {0.5, 0.75}, {0.25, 0.75}} {
		if p := e.Touch.Area[i]; max(p[0]-want[0], want[0]-p[0], p[1]-want[1], want[1]-p[1]) > 0.005 {
			t.Errorf("corner %d at %v, not %v", i, p, want)
		}
	}
	if !strings.Contains(w.told, "from frame 3") {
		t.Errorf("told %q", w.told)
	}
	if place.Press(w.Actions(), place.KeyEnter) {
		t.Error("the same is kept twice")
	}
	if got := w.touch.heading.Lines[0][2].Text; !strings.Contains(got, "1 touch-up") {
		t.Errorf("of the proof is said %q", got)
	}
	if got := w.touch.made.Lines; len(got) != 2 || got[0][0].Text != "1 touch-up" || got[1][0].Text != "1 from frame 3" {
		t.Errorf("the list says %v", got)
	}
	w.keys(place.KeyEscape)
	if w.touch.on || w.touch.body.Visible() || !w.scroll.Visible() || !w.detail.proofShown() || w.detail.current != "fp4" {
		t.Error("Esc does not come back to the stack's proof")
	}
}

func TestTouchUpTakenBackLeavesNoOutline(t *testing.T) {
	w := proved(t)
	w.keys("E")
	w.drag(0.2, 0.2, 0.4, 0.4)
	w.keys(place.KeyEnter)
	if err := w.desk.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	w.Show(w.desk.Snapshot())
	if w.touch.view.Wanted != nil || w.touch.drawn() || len(w.touch.about.Made) != 0 {
		t.Errorf("after undo: outline %v, list %v", w.touch.view.Wanted, w.touch.about.Made)
	}
}

func TestTouchUpWithKeysAlone(t *testing.T) {
	w := proved(t)
	// Look at a spot to the left, then begin there.
	w.keys("O", place.KeyLeft, place.KeyLeft, place.KeyEnter, "E", place.KeyDown)
	if x, y := w.touch.view.Wanted.Middle(); x < 0.39 || x > 0.41 || y < 0.51 || y > 0.53 {
		t.Errorf("the rectangle begins about %g, %g", x, y)
	}
	w.keys(place.KeyDelete)
	if w.touch.drawn() {
		t.Error("Delete leaves the outline")
	}
	w.keys(place.KeyDown, "F", "F", place.KeyEnter)
	w.edit(session.EditTouch, "fp6")
	if place.Press(w.Actions(), "F") {
		t.Error("a frame beyond the farthest")
	}
}

func TestTouchUpWithoutAProof(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, place.KeyEnter, "E")
	if w.touch.on || w.told != words.NoProofYet {
		t.Errorf("told %q", w.told)
	}
}

func TestTouchUpEndsWithItsStack(t *testing.T) {
	w := proved(t)
	w.keys("E")
	s := placetest.Copy(w.desk.Snapshot())
	s.Groups[1].Kind = session.KindTest
	w.Show(s)
	if w.touch.on || !w.scroll.Visible() {
		t.Error("a group that is no stack any more is touched up")
	}
	w = proved(t)
	w.keys("E")
	w.Leave()
	if w.touch.on || !w.scroll.Visible() {
		t.Error("another place, and still touching up")
	}
}

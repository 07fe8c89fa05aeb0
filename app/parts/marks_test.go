package parts

import (
	"image"
	"testing"

	"fyne.io/fyne/v2/canvas"

	"stillbench/app/look"
)

// Words stand right of the shapes before them, a bar below its line's name and no wider than what
// has been done of it.
func TestLinesWithShapes(t *testing.T) {
	l := NewLines([]Line{{Name: "Stack 1", Text: "waits", Shape: ShapeArea}, {Name: "Stack 2", Text: "done by half", Shape: ShapeHold, Bar: true, Share: 0.5}})
	window(t, l, 500, 200)
	full, half := false, false
	wide := l.Size().Width - linesIn
	for _, o := range drawn(l) {
		switch o := o.(type) {
		case *canvas.Text:
			if o.Position().X < linesIn-1 {
				t.Errorf("%q begins at %g, in the shapes", o.Text, o.Position().X)
			}
		case *canvas.Rectangle:
			if o.Size().Height == 4 {
				full = full || o.Size().Width == wide
				half = half || o.Size().Width == wide/2
			}
		}
	}
	if !full || !half {
		t.Errorf("the bar's ground is there: %v, its half: %v", full, half)
	}
	with := l.each(500, func(int, bool, float32, string) {})
	l.Items[1].Bar = false
	if got := with - l.each(500, func(int, bool, float32, string) {}); got != look.Space8 {
		t.Errorf("the bar takes %g", got)
	}
}

// A narrow picture stands at the left where its name does, and is pointed at there.
func TestPictureAtTheLeft(t *testing.T) {
	v := NewFrameView()
	window(t, v, 400, 100)
	v.Picture = image.NewRGBA(image.Rect(0, 0, 100, 100))
	v.Refresh()
	w, h := v.Size().Width, v.Size().Height
	if x, _, fw, _ := v.frame(w, h); x != (w-fw)/2 {
		t.Errorf("in the middle it begins at %g", x)
	}
	v.Left = true
	if x, _, _, _ := v.frame(w, h); x != 0 {
		t.Errorf("at the left it begins at %g", x)
	}
}

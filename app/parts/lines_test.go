package parts

import (
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
)

// Lines that can be clicked are told from others by the pointer, in the name as in the text below.
func TestLinesAreClicked(t *testing.T) {
	look.Set(look.State{Scale: 1})
	clicked := ""
	tap := func(name string) func() { return func() { clicked += name } }
	l := NewLines([]Line{{Name: "one", Text: "text", Key: "A", OnTap: tap("1")}, {Name: "two", Text: "text"}, {Name: "three", Text: "text", OnTap: tap("3")}})
	l.Resize(fyne.NewSize(400, 300))
	// Lines of text are 23 apart, things 12 more; the first base line is at 17.
	for _, y := range []float32{12, 38, 72, 95, 130, 154, 250} {
		l.Tapped(&fyne.PointEvent{Position: fyne.NewPos(30, y)})
	}
	if clicked != "1133" {
		t.Errorf("clicks came to %q, want 1133", clicked)
	}
}

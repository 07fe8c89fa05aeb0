package app

import (
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
)

// A sheet that is longer than the window is gone through by keys alone, to its very end.
func TestSheetsScrollByKeys(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.window.Resize(fyne.NewSize(1024, 640))
	for _, open := range [][]place.Key{{place.KeyHelp}, {"2", "H"}} {
		w.keys(open...)
		w.settle()
		if w.cover == nil || len(w.cover.scrolls) == 0 {
			t.Fatalf("%v opens nothing that could be longer than the window", open)
		}
		at := func() (y float32) {
			for _, s := range w.cover.scrolls {
				y = max(y, s.Offset.Y)
			}
			return y
		}
		most := float32(0)
		for _, s := range w.cover.scrolls {
			most = max(most, s.Content.MinSize().Height-s.Size().Height)
		}
		if most <= 0 {
			t.Fatalf("%v: all is in view, which shows nothing", open)
		}
		w.keys(place.KeyDown)
		step := at()
		if step <= 0 || step > most {
			t.Errorf("%v: down goes to %g of %g", open, step, most)
		}
		w.keys(place.KeyEnd)
		if at() != most {
			t.Errorf("%v: the end is at %g, not %g", open, most, at())
		}
		w.keys(place.KeyPageUp, place.KeyHome)
		if at() != 0 {
			t.Errorf("%v: not back at the beginning but at %g", open, at())
		}
		w.keys(place.KeyEscape)
	}
}

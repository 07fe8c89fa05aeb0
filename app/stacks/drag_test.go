package stacks

import (
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
)

// dragged drags the crop of a frame to a point of the opened group and lets it go there.
func (w *bench) dragged(i int, to fyne.Position) {
	d := w.detail
	strip := d.strip
	cw, ch := strip.CropSize(strip.Size().Width)
	from := fyne.NewPos((cw+12)*float32(i)+cw/2, 20+ch/2)
	end := to.Subtract(strip.Position())
	for step := range 5 {
		k := float32(step+1) / 5
		at := from.AddXY((end.X-from.X)*k, (end.Y-from.Y)*k)
		last := fyne.NewDelta((end.X-from.X)/5, (end.Y-from.Y)/5)
		strip.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: at}, Dragged: last})
	}
	strip.DragEnd()
	w.Show(w.desk.Snapshot())
}

// zone is the middle of where a frame is let go for what a key does.
func (w *bench) zone(k place.Key) fyne.Position {
	for i, key := range zoneKeys {
		if key == k {
			z := w.detail.zones.Zones[i]
			return fyne.NewPos(z.X+z.W/2, z.Y+z.H/2)
		}
	}
	w.t.Fatalf("no zone for %s", k)
	return fyne.Position{}
}

func TestFramesAreDragged(t *testing.T) {
	look.Set(look.State{Scale: 1})
	w := newBench(t, placetest.NewSession().Stack(4).Stack(5).Stack(3))
	w.keys(place.KeyPageUp, place.KeyEnter) // the stack in the middle: fp5 to fp9
	d := w.detail

	// Where it came from nothing happens.
	w.dragged(1, d.strip.Position().AddXY(300, 40))
	if len(w.desk.Edits) != 0 || d.zones.Visible() {
		t.Fatalf("let go on the strip it does %+v", w.desk.Edits)
	}
	if d.current != "fp6" {
		t.Errorf("the frame that was dragged is not the one stepped to: %s", d.current)
	}
	w.dragged(1, w.zone("X"))
	w.edit(session.EditSetAside, "fp6")
	w.dragged(4, w.zone(">"))
	w.edit(session.EditMoveOn, "fp9")
	w.dragged(0, w.zone("<"))
	w.edit(session.EditMoveBack, "fp5")

	// In the first group there is nowhere to move back to.
	w.keys(place.KeyHome, place.KeyEnter)
	n := len(w.desk.Edits)
	w.dragged(2, fyne.NewPos(400, 20))
	if len(w.desk.Edits) != n {
		t.Errorf("out of the first group a frame was moved: %+v", w.desk.Edits[n:])
	}
	if !d.zones.Zones[0].Off {
		t.Error("the first group shows where it cannot go")
	}
}

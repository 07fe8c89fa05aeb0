package setups

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
	"stillbench/session/desk"
)

func onTable() *desk.Snapshot {
	return &desk.Snapshot{
		Session: session.Session{ID: 1, Dir: "/pictures/bench"},
		Setups:  []session.Setup{{ID: 4, Subject: "pine cone", Background: "slate", Notes: "shut the window", Lights: []session.Light{placetest.LED()}}},
	}
}

// newForm opens the form for a new setup, which begins as the one on the table.
func newForm(t *testing.T) (*bench, *form) {
	t.Helper()
	w := newBench(t)
	w.Show(onTable())
	w.take(1)
	w.log.Put(onTable())
	w.keys("N")
	return w, w.leaf.(*form)
}

func TestFormBeginsAsTheLastSetupAndLogsANewOne(t *testing.T) {
	w, f := newForm(t)
	if f.texts[0].Entry.Text != "pine cone" || f.lights[0][1].Entry.Text != "225" || f.lights[0][4].Entry.Text != "diffuser" {
		t.Fatalf("it begins with %q, %q", f.texts[0].Entry.Text, f.lights[0][1].Entry.Text)
	}
	f.lights[0][1].Entry.SetText("left")
	if az := f.plan.Lights[0].AzimuthDeg; az != 270 {
		t.Errorf("the plan shows %g degrees", az)
	}
	f.lights[0][3].Entry.SetText("near")
	f.inside = false
	w.keys(place.KeyEnter)
	if len(w.log.Edits) != 0 || !strings.Contains(w.told, `"near"`) {
		t.Fatalf("what cannot be was logged; told %q", w.told)
	}
	f.lights[0][3].Entry.SetText("60 cm")
	w.keys("A")
	f.inside = false
	w.keys(place.KeyDelete, place.KeyEnter)
	if len(w.log.Edits) != 1 {
		t.Fatalf("%d edits", len(w.log.Edits))
	}
	s := w.log.Edits[0].Setup
	if s.ID != 0 || s.Subject != "pine cone" || len(s.Lights) != 1 || *s.Lights[0].DistanceCM != 60 || s.Lights[0].AzimuthDeg != 270 {
		t.Errorf("logged %+v", s)
	}
	w.keys("N")
	w.leaf.(*form).inside = false
	w.leaf.(*form).texts[0].Entry.SetText("spruce cone")
	w.keys("E")
	if e := w.log.Edits[1]; e.Setup.ID != 4 || e.Setup.Subject != "spruce cone" || e.Setup.Notes != "shut the window" {
		t.Errorf("corrected %+v", e.Setup)
	}
}

func TestFormOffersWhatWasTypedBefore(t *testing.T) {
	w := newBench(t)
	w.log.Kept.Typed = map[session.SetupField][]string{session.FieldBackground: {"slate", "black card"}}
	w.Show(onTable())
	w.take(1)
	w.keys("N")
	w.take(7)
	f := w.leaf.(*form)
	if got := f.texts[1].Suggest("bl"); len(got) != 1 || got[0].Text != "black card" {
		t.Errorf("offered %v", got)
	}
	if got := f.lights[0][0].Suggest("fl"); len(got) != 2 {
		t.Errorf("kinds offered %v", got)
	}
}

func TestArrowsGoFromFieldToField(t *testing.T) {
	w := newBench(t)
	var at fyne.Focusable
	w.h.Focus = func(f fyne.Focusable) { at = f }
	w.Show(onTable())
	w.take(1)
	w.keys("N")
	f := w.leaf.(*form)
	all := f.all()
	for i := range all {
		if at != all[i].Entry {
			t.Fatalf("field %d has not the keys", i)
		}
		f.step(all[i], false)
	}
	if at != all[0].Entry {
		t.Error("after the last field the first does not follow")
	}
}

// In any window the plan stands clear of what is typed.
func TestFormsPlanStandsClear(t *testing.T) {
	_, f := newForm(t)
	for _, size := range []fyne.Size{fyne.NewSize(1024, 440), fyne.NewSize(1280, 460), fyne.NewSize(1440, 700)} {
		f.root.Resize(size)
		at, plan := f.plan.Position(), f.plan.Size()
		for _, row := range append([][]*formField{f.texts}, f.lights...) {
			for _, in := range row {
				p, s := in.Position(), in.Size()
				if p.X+s.Width > at.X && p.Y < at.Y+plan.Height && p.X < at.X+plan.Width && p.Y+s.Height > at.Y {
					t.Errorf("%v: %q at %v, %v lies on the plan at %v, %v", size, in.name, p, s, at, plan)
				}
			}
		}
	}
}

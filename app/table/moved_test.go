package table

import (
	"testing"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
)

// movedLight is a session in which the light moved before the last stack.
func movedLight() *placetest.Builder {
	return placetest.NewSession().Setup("shell on sand", placetest.LED()).Stack(3).
		Group(session.KindStack, 3, session.Reason{Rule: session.RuleLightMoved})
}

func TestAsksOnceWhetherTheLightMoved(t *testing.T) {
	w := newBench(t, movedLight())
	if got := w.moveKey.Word; got != "The light moved at A0004. Log it?" {
		t.Fatalf("beside the key stands %q", got)
	}
	w.keys(place.KeyEscape)
	if got := w.moveKey.Word; got != "The light moved" {
		t.Errorf("after Esc it asks %q", got)
	}
	w.Show(&movedLight().S) // as after a restart
	if got := w.moveKey.Word; got != "The light moved" {
		t.Errorf("it asks again: %q", got)
	}
}

func TestLightLoggedLateHoldsForTheStackItWasSeenIn(t *testing.T) {
	w := newBench(t, movedLight())
	w.keys("L", place.KeyEnter)
	n := len(w.desk.Edits)
	if n < 2 || w.desk.Edits[n-2].Kind != session.EditSetup || w.desk.Edits[n-1].Kind != session.EditUseSetup {
		t.Fatalf("edits %+v", w.desk.Edits)
	}
	if e := w.desk.Edits[n-1]; e.Frame != "fp4" || e.Setup.ID != 2 {
		t.Errorf("edit %+v", e)
	}
}

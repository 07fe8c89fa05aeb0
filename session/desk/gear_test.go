package desk_test

import (
	"path/filepath"
	"testing"

	"stillbench/session"
)

// TestGearIsInTheSnapshot: what is told is in the snapshot when the call returns, stacks
// are judged by the circle of confusion chosen, and a session opened anew knows both.
func TestGearIsInTheSnapshot(t *testing.T) {
	dir, path := twoStacks(t), filepath.Join(t.TempDir(), "setups.db")
	log := openStore(t, path)
	d := judged(t, dir, log)
	s := d.Snapshot()
	before := s.Checks[s.Groups[0].ID]
	half := 0.7
	for _, err := range []error{
		d.RememberCamera(t.Context(), session.Camera{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 36, SensorHeightMM: 24}),
		d.RememberLens(t.Context(), session.Lens{Name: "Vantor 90", PupilMagnification: &half}),
		d.RememberCircle(t.Context(), session.Circle{Convention: "d1000"}),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	holds := func(g session.Gear) bool {
		c, ok := g.Camera("Vantor", "VTX 2")
		l, lok := g.Lens("Vantor 90")
		return ok && lok && c.SensorWidthMM == 36 && *l.PupilMagnification == half && g.Circle.Convention == "d1000"
	}
	if g := d.Snapshot().Gear; !holds(g) {
		t.Errorf("in the snapshot: %+v", g)
	}
	settle(t, d)
	if s = d.Snapshot(); s.Checks[s.Groups[0].ID] == before {
		t.Error("the stack was not judged anew")
	}
	if err := d.RememberCircle(t.Context(), session.Circle{MM: -1}); err == nil {
		t.Error("a negative circle of confusion was kept")
	}
	d.Close()
	log.Close()
	if g := judged(t, dir, openStore(t, path)).Snapshot().Gear; !holds(g) {
		t.Errorf("opened again: %+v", g)
	}
}

package present

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
)

// How a stored corner comes to lie follows from EXIF's orientation (CIPA DC-008, tag
// 0x0112): the value says which sides the stored 0th row and 0th column are on, "6" being
// right side and top: the stored left upper corner is shown right above.
func TestUprightFollowsTheOrientation(t *testing.T) {
	for turn, want := range map[int][2]float64{ // where (0.1, 0.2) of the stored picture is shown
		1: {0.1, 0.2}, 2: {0.9, 0.2}, 3: {0.9, 0.8}, 4: {0.1, 0.8},
		5: {0.2, 0.1}, 6: {0.8, 0.1}, 7: {0.8, 0.9}, 8: {0.2, 0.9},
	} {
		x, y := Upright(turn, 0.1, 0.2)
		if math.Abs(x-want[0]) > 1e-12 || math.Abs(y-want[1]) > 1e-12 {
			t.Errorf("orientation %d: shown at %g, %g, not %v", turn, x, y, want)
		}
		if u, v := Stored(turn, x, y); math.Abs(u-0.1) > 1e-12 || math.Abs(v-0.2) > 1e-12 {
			t.Errorf("orientation %d: back at %g, %g", turn, u, v)
		}
	}
}

// lying is a stack of two frames whose second lies on the first as told.
func lying(turn int, fc session.FrameCheck) *desk.Snapshot {
	w, h := 6000, 4000
	fc.Fingerprint, fc.Aligned = "b", true
	return &desk.Snapshot{
		Frames: []session.Frame{{Fingerprint: "a"}, {Fingerprint: "b", Meta: session.Meta{Width: &w, Height: &h, Orientation: &turn}}},
		Groups: []session.Group{{ID: 1, Kind: session.KindStack, Frames: []string{"a", "b"}}},
		Checks: map[int64]*session.Check{1: {Frames: []session.FrameCheck{{Fingerprint: "a"}, fc}}},
	}
}

func TestAreaIsShownWhereTheFrameLies(t *testing.T) {
	for _, c := range []struct {
		what  string
		turn  int
		fc    session.FrameCheck
		point [2]float64 // of the middle frame
		want  [2]float64 // as shown
	}{
		{"shifted by 600 right and 200 down", 1, session.FrameCheck{Scale: 1, Shift: [2]float64{600, 200}}, [2]float64{0.2, 0.2}, [2]float64{0.3, 0.25}},
		{"two per cent larger", 1, session.FrameCheck{Scale: 1.02}, [2]float64{1, 0}, [2]float64{1.01, -0.01}},
		// A quarter turn clockwise brings what is right of the middle below it.
		{"turned", 1, session.FrameCheck{Scale: 1, TurnDegrees: 90}, [2]float64{0.5 + 1000.0/6000, 0.5}, [2]float64{0.5, 0.5 + 1000.0/4000}},
		{"upright, shifted", 6, session.FrameCheck{Scale: 1, Shift: [2]float64{600, 0}}, [2]float64{0, 0}, [2]float64{1, 0.1}},
	} {
		l := LieOf(lying(c.turn, c.fc), "b")
		got := l.Shown(session.Area{c.point, c.point, c.point})
		if math.Abs(got[0][0]-c.want[0]) > 1e-9 || math.Abs(got[0][1]-c.want[1]) > 1e-9 {
			t.Errorf("%s: shown at %v, not %v", c.what, got[0], c.want)
		}
	}
}

// What is drawn is kept as it lies on the frame itself, however that lies on others.
func TestWhatIsDrawnIsKeptOnTheFrame(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		fc := session.FrameCheck{Scale: 0.97 + 0.06*rng.Float64(), TurnDegrees: 2*rng.Float64() - 1, Shift: [2]float64{rng.Float64() * 100, rng.Float64() * 100}}
		turn := 1 + rng.IntN(8)
		l := LieOf(lying(turn, fc), "b")
		var drawn [][2]float64
		for range 5 {
			drawn = append(drawn, [2]float64{0.1 + 0.8*rng.Float64(), 0.1 + 0.8*rng.Float64()})
		}
		for i, p := range l.Area(drawn) {
			if x, y := Upright(turn, p[0], p[1]); math.Hypot(x-drawn[i][0], y-drawn[i][1]) > 1e-9 {
				t.Fatalf("%+v: %v was kept as %v", l, drawn[i], p)
			}
		}
		if err := l.Area([][2]float64{{-1, -1}, {2, 0}, {2, 2}}).Validate(); err != nil {
			t.Fatal(err)
		}
	}
	if (Lie{}).Shown(nil) != nil {
		t.Error("all of the picture has an outline")
	}
}

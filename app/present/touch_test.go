package present

import (
	"math"
	"slices"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
)

// touching is a stack of five frames a to e, the last of which could not be laid and the first
// of which was set aside since, with a proof of 960 x 640 pixels.
func touching(turn int, middle session.ProofFrame) (*desk.Snapshot, Row) {
	s := &desk.Snapshot{Groups: []session.Group{{ID: 1, Kind: session.KindStack, Frames: []string{"a", "b", "c", "d", "e"}}}}
	p := session.Proof{Key: "k", W: 960, H: 640, Turn: turn, Middle: 2, LeftOut: []session.ProofLeft{{Fingerprint: "e"}}}
	for _, fp := range s.Groups[0].Frames {
		s.Frames = append(s.Frames, session.Frame{Fingerprint: fp, SetAside: fp == "a"})
		if fp != "e" {
			p.Frames = append(p.Frames, session.ProofFrame{Fingerprint: fp, Scale: 1})
		}
	}
	middle.Fingerprint = "c"
	p.Frames[2] = middle
	s.Proofs = map[int64]session.Proof{1: p}
	return s, StacksOf(s).Rows[0]
}

// A detail at p from the proof's middle lies at scale R p + (dx, dy) from the frame's middle.
// How the upright point comes to its stored one is EXIF's orientation (see
// TestUprightFollowsTheOrientation).
func TestTouchUpLiesOnTheMiddleFrameAsStored(t *testing.T) {
	for _, c := range []struct {
		what   string
		turn   int
		middle session.ProofFrame
		drawn  [2]float64
		want   [2]float64
	}{
		{"a frame that lies exactly on it", 1, session.ProofFrame{Scale: 1}, [2]float64{0.3, 0.6}, [2]float64{0.3, 0.6}},
		{"shifted by 96 of 960 right and 64 of 640 down", 1, session.ProofFrame{Scale: 1, DX: 96, DY: 64}, [2]float64{0.3, 0.6}, [2]float64{0.4, 0.7}},
		{"two per cent larger", 1, session.ProofFrame{Scale: 1.02}, [2]float64{0.75, 0.5}, [2]float64{0.755, 0.5}},
		{"turned a quarter clockwise", 1, session.ProofFrame{Scale: 1, Turn: math.Pi / 2}, [2]float64{0.6, 0.5}, [2]float64{0.5, 0.65}},
		{"upright", 6, session.ProofFrame{Scale: 1}, [2]float64{0.8, 0.1}, [2]float64{0.1, 0.2}},
		{"upright and shifted", 6, session.ProofFrame{Scale: 1, DX: 96}, [2]float64{0.8, 0.1}, [2]float64{0.2, 0.2}},
		{"beyond its edge", 1, session.ProofFrame{Scale: 1, DX: 96}, [2]float64{0.95, 0.5}, [2]float64{1, 0.5}},
	} {
		about, ok := TouchingOf(touching(c.turn, c.middle))
		if !ok {
			t.Fatalf("%s: no touching up", c.what)
		}
		e := about.Edit(about.Frames[0], [][2]float64{c.drawn, {0.5, 0.5}, {0.5, 0.4}})
		if got := e.Touch.Area[0]; math.Hypot(got[0]-c.want[0], got[1]-c.want[1]) > 1e-9 {
			t.Errorf("%s: at %v, not %v", c.what, got, c.want)
		}
		if err := e.Touch.Validate(); err != nil {
			t.Errorf("%s: %v", c.what, err)
		}
		if e.Kind != session.EditTouch || e.Frame != "b" || e.Touch.From != "b" || e.Words != "touch up stack 1 from frame 2" {
			t.Errorf("%s: %+v", c.what, e)
		}
	}
}

func TestSpotOfTheProofIsFoundInTheFrame(t *testing.T) {
	s, r := touching(6, session.ProofFrame{Scale: 1, DX: 96})
	about, _ := TouchingOf(s, r)
	c := about.Frames[1]
	// Stored right is below in an upright picture of orientation 6.
	if x, y := about.In(c, 0.8, 0.1); c.Fingerprint != "c" || math.Hypot(x-0.8, y-0.2) > 1e-9 {
		t.Errorf("frame %s: %g, %g", c.Fingerprint, x, y)
	}
}

func TestFramesThatLendTheirPicture(t *testing.T) {
	s, r := touching(1, session.ProofFrame{Scale: 1})
	about, _ := TouchingOf(s, r)
	var names []string
	for _, f := range about.Frames {
		names = append(names, f.Fingerprint)
	}
	if !slices.Equal(names, []string{"b", "c", "d"}) {
		t.Errorf("%v: those set aside and those not in the proof lend none", names)
	}
	for fp, want := range map[string]string{"a": "b", "c": "c", "e": "d"} {
		if got := about.Frames[about.Suggest(fp)].Fingerprint; got != want {
			t.Errorf("at %s, %s is suggested, not %s", fp, got, want)
		}
	}
	s.Touches = map[int64][]session.Touch{1: {{From: "d"}, {From: "b"}}}
	about, _ = TouchingOf(s, r)
	if got := strings.Join(about.Made, "; "); got != "1 from frame 4; 2 from frame 2" {
		t.Errorf("made: %s", got)
	}
}

func TestGrowingProofIsNotTouchedUp(t *testing.T) {
	s, r := touching(1, session.ProofFrame{Scale: 1})
	p := s.Proofs[1]
	p.Frames, p.LeftOut = p.Frames[:3], nil // of four that are in the stack
	s.Proofs[1] = p
	if _, ok := TouchingOf(s, r); ok {
		t.Error("a proof that still grows is touched up")
	}
	delete(s.Proofs, 1)
	if _, ok := TouchingOf(s, r); ok {
		t.Error("no proof, and it is touched up")
	}
}

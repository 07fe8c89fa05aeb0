package align

import (
	"math"
	"testing"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// apart is the RMS distance, over a w x h picture, of where two similarities put a detail.
func apart(a, b plane.Similarity, w, h float64) float64 {
	d := a.Scale*math.Cos(a.Turn) - b.Scale*math.Cos(b.Turn)
	e := a.Scale*math.Sin(a.Turn) - b.Scale*math.Sin(b.Turn)
	return math.Sqrt(sq(a.DX-b.DX) + sq(a.DY-b.DY) + (d*d+e*e)*(w*w+h*h)/12)
}

func sq(x float64) float64 { return x * x }

// Frames focused at different depths, moved by up to 3 % in size and 2 % of the long side,
// are laid on each other to a tenth of a pixel.
func TestMeasureFindsKnownMovement(t *testing.T) {
	const w, h = 960, 640
	for k, kind := range relief.Kinds {
		s := relief.New(kind, w, h, uint64(k), func(x, y float64) float64 { return 20 * (1 - y) })
		a := Prepare(s.Shoot(relief.Shot{Place: 8, Noise: relief.ISO(400), Seed: 1}).Luma())
		for i, m := range []plane.Similarity{
			{Scale: 1, DX: 3.3, DY: -2.1},
			{Scale: 1.03, Turn: 0.01, DX: 0.02 * w, DY: -8.7},
			{Scale: 0.97, Turn: -0.004, DX: 0.4, DY: 0.02 * w},
		} {
			b := Prepare(s.Shoot(relief.Shot{Place: 11, Move: m, Noise: relief.ISO(400), Seed: 2 + uint64(i)}).Luma())
			p, err := Measure(a, b, nil)
			if err != nil {
				t.Errorf("%s, %+v: %v", kind, m, err)
				continue
			}
			if e := apart(p.Move, m, w, h); e > 0.1 || p.Sigma > 0.1 {
				t.Errorf("%s, %+v: off by %.3f pixels (says %.3f)", kind, m, e, p.Sigma)
			}
		}
	}
}

package sameness_test

import (
	"testing"

	"stillbench/session/figures"
	"stillbench/session/grouping/sameness"
	"stillbench/session/plane"
)

// veiled lays a haze over a picture of the relief: so much of the light is kept, evenly, and so much
// comes from what hangs before the lens.
func (s relief) veiled(kept, haze float64) *sameness.View {
	pic := plane.NewRGB(w, h)
	for i, v := range s.texture.Pix {
		y := float32(float64(v)*kept + haze)
		pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = plane.Encode8(y), plane.Encode8(y), plane.Encode8(y)
	}
	return sameness.NewView(figures.Measure(pic))
}

// A pattern is the same, and as strong, under a thirtieth of the light; past a haze as bright as
// half of the picture it is the same and weaker; of another surface it shows by chance alone.
func TestSeenThrough(t *testing.T) {
	for seed := range uint64(3) {
		s := newRelief(seed)
		bare := s.veiled(1, 0)
		all := make([]float32, bare.W*bare.H)
		for i := range all {
			all[i] = 1
		}
		if l := sameness.SeenThrough(s.veiled(1.0/30, 0), bare, all); l.Alike < 0.9 || l.Contrast < 0.85 || l.Contrast > 1.15 {
			t.Errorf("relief %d in a thirtieth of the light: %+v", seed, l)
		}
		if l := sameness.SeenThrough(s.veiled(0.4, 0.15), bare, all); l.Alike < 0.9 || l.Contrast > 0.7 {
			t.Errorf("relief %d past a haze: %+v", seed, l)
		}
		if l := sameness.SeenThrough(newRelief(seed+100).veiled(1, 0), bare, all); l.Alike > 0.25 {
			t.Errorf("another relief than %d: %+v", seed, l)
		}
		if l := sameness.SeenThrough(s.veiled(0, 0.2), bare, all); l.Alike > 0.25 {
			t.Errorf("nothing of relief %d: %+v", seed, l)
		}
	}
}

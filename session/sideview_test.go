package session

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func standing(elevations ...float64) []Light {
	out := make([]Light, len(elevations))
	for i, e := range elevations {
		out[i] = Light{Kind: LightLED, ElevationDeg: e}
	}
	return out
}

func TestNumbersOfLightsFromTheSide(t *testing.T) {
	for _, c := range []struct{ lights, want []float64 }{
		{nil, nil},
		{[]float64{30}, []float64{30}},
		{[]float64{60, 10}, []float64{60, 10}},             // far enough apart: each at its light
		{[]float64{45, 45}, []float64{40, 50}},             // as high: one below, one above
		{[]float64{45, 45, 45}, []float64{35, 45, 55}},     // the middle one stays
		{[]float64{30, 24}, []float64{32, 22}},             // close: their order is kept
		{[]float64{90, 90}, []float64{80, 90}},             // nothing above the arc's top
		{[]float64{0, 0, 0, 0}, []float64{-10, 0, 10, 20}}, // nor more than one step below the table
		{[]float64{-40, -40}, []float64{-45, -35}},
	} {
		got := NumberElevations(standing(c.lights...), 10)
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return math.Abs(a-b) < 1e-9 }) {
			t.Errorf("%v: numbers at %v, not %v", c.lights, got, c.want)
		}
	}
}

// TestNumbersOfLightsStandApart: whatever the lights, numbers keep their distance and their
// order, and stay on the arc.
func TestNumbersOfLightsStandApart(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	for range 2000 {
		e := make([]float64, 1+rng.IntN(8))
		for i := range e {
			e[i] = math.Round(-90 + 180*rng.Float64())
		}
		got := NumberElevations(standing(e...), 10)
		low := min(slices.Min(e), 0) - 10
		for i := range got {
			if got[i] < low-1e-9 || got[i] > 90+1e-9 {
				t.Fatalf("%v: number %d at %g", e, i+1, got[i])
			}
			for j := range i {
				if math.Abs(got[i]-got[j]) < 10-1e-9 {
					t.Fatalf("%v: numbers %d and %d at %g and %g", e, j+1, i+1, got[j], got[i])
				}
				if e[i] > e[j] != (got[i] > got[j]) && e[i] != e[j] {
					t.Fatalf("%v: numbers at %v", e, got)
				}
			}
		}
	}
}

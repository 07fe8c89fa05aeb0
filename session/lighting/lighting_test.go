package lighting

import (
	"math"
	"testing"

	"stillbench/session"
)

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// encode is sRGB's encoding (IEC 61966-2-1).
func encode(v float64) byte {
	v = min(max(v, 0), 1)
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return byte(math.Round(255 * v))
}

// painted makes a figure from a function that gives linear R, G, B.
func painted(w, h int, at func(x, y int) [3]float64) *session.Figures {
	f := &session.Figures{Version: session.FiguresVersion, SmallW: w, SmallH: h, Small: make([]byte, 3*w*h)}
	for y := range h {
		for x := range w {
			for c, v := range at(x, y) {
				f.Small[3*(y*w+x)+c] = encode(v)
			}
		}
	}
	return f
}

func grey(v float64) [3]float64 { return [3]float64{v, v, v} }

func TestSharesOfShadowAndHighlight(t *testing.T) {
	// A quarter at 2 %, a quarter at 90 %, the rest at middle grey.
	f := painted(96, 64, func(x, _ int) [3]float64 {
		switch {
		case x < 24:
			return grey(0.02)
		case x < 48:
			return grey(0.9)
		}
		return grey(0.18)
	})
	m, ok := Measure(f)
	if !ok || !near(m.Shadow, 0.25, 1e-9) || !near(m.Highlight, 0.25, 1e-9) {
		t.Errorf("%+v, %v", m, ok)
	}
	if _, ok := Measure(nil); ok {
		t.Error("nothing was measured")
	}
	if _, ok := Measure(&session.Figures{SmallW: 5, SmallH: 5, Small: make([]byte, 3)}); ok {
		t.Error("a figure that is too short was measured")
	}
}

func TestModellingOfARamp(t *testing.T) {
	// Light that falls off by 4 stops across the picture, evenly: the 16th and the 84th
	// percentile are 0.68*4 stops apart.
	f := painted(96, 64, func(x, _ int) [3]float64 { return grey(0.8 * math.Exp2(-4*float64(x)/95)) })
	m, _ := Measure(f)
	if !near(m.Modelling, 0.68*4/2, 0.05) {
		t.Errorf("modelling %.3f stops, want 1.36", m.Modelling)
	}
}

func TestSurfaceColourIsNotModelling(t *testing.T) {
	// Two colours in stripes, 2 stops apart, in even light; then in light that falls off by
	// 3 stops. What is modelled is the falling off alone.
	stripes := func(fall float64) *session.Figures {
		return painted(96, 64, func(x, y int) [3]float64 {
			k := 0.9 * math.Exp2(-fall*float64(x)/95)
			if x/12%2 == 0 {
				return [3]float64{0.8 * k, 0.5 * k, 0.3 * k}
			}
			return [3]float64{0.1 * k, 0.14 * k, 0.22 * k}
		})
	}
	even, _ := Measure(stripes(0))
	if even.Modelling > 0.05 {
		t.Errorf("coloured stripes in even light: modelling %.3f stops", even.Modelling)
	}
	fall, _ := Measure(stripes(3))
	// 7 of the 95 steps lie at a stripe's edge and are dropped with it.
	if !near(fall.Modelling, 0.68*3/2*88/95, 0.08) {
		t.Errorf("the same with a fall of 3 stops: modelling %.3f", fall.Modelling)
	}
}

// ball is a matt ball (Lambert's law) that fills the picture, lit from an angle off the
// camera's axis over an even fill that is so many stops weaker.
func ball(offDeg, fillEV float64) *session.Figures {
	sin, cos := math.Sincos(offDeg * math.Pi / 180)
	fill := math.Exp2(-fillEV)
	return painted(96, 96, func(x, y int) [3]float64 {
		u, v := (float64(x)-47.5)/68, (float64(y)-47.5)/68 // the square inside the ball
		n := math.Sqrt(1 - u*u - v*v)
		return grey(0.7 * (max(0, u*sin+n*cos) + fill) / (1 + fill))
	})
}

func TestModellingGrowsAsTheLightGoesRound(t *testing.T) {
	last := -1.0
	for _, off := range []float64{0, 30, 60} { // from there on the bright side leaves the picture
		m, _ := Measure(ball(off, 3))
		if m.Modelling <= last {
			t.Errorf("%g degrees: %.3f stops, not more than %.3f", off, m.Modelling, last)
		}
		last = m.Modelling
	}
	soft, _ := Measure(ball(90, 0))
	hard, _ := Measure(ball(90, 4))
	if soft.Modelling >= hard.Modelling {
		t.Errorf("a stronger fill models more: %.3f against %.3f", soft.Modelling, hard.Modelling)
	}
}

func TestChangeSinceTheFrameBefore(t *testing.T) {
	a := painted(96, 64, func(int, int) [3]float64 { return grey(0.2) })
	half := painted(96, 64, func(x, _ int) [3]float64 {
		if x < 24 {
			return grey(0.025)
		}
		return grey(0.1)
	})
	c, ok := Compare(a, half)
	if !ok || !near(c.ExposureEV, -1, 0.05) || !near(c.Moved, 0.25, 1e-9) {
		t.Errorf("%+v, %v", c, ok)
	}
	if same, _ := Compare(a, a); same != (Change{}) {
		t.Errorf("a frame against itself: %+v", same)
	}
	if _, ok := Compare(a, painted(64, 96, func(int, int) [3]float64 { return grey(0.2) })); ok {
		t.Error("frames of two shapes were compared")
	}
}

func cm(v float64) *float64 { return &v }

func TestInverseSquare(t *testing.T) {
	// Twice as far is a quarter of the light, two stops; 2 to 3 is 1.17 stops: 2*log2(3/2).
	for _, c := range []struct{ from, to, want float64 }{{20, 40, -2}, {40, 20, 2}, {20, 30, -1.16993}, {10, 50, -4.64386}} {
		if got := DistanceEV(c.from, c.to); !near(got, c.want, 1e-4) {
			t.Errorf("%g to %g: %.4f stops", c.from, c.to, got)
		}
	}
}

func TestKeyToFill(t *testing.T) {
	led := func(d float64, power string) session.Light {
		return session.Light{Kind: session.LightLED, DistanceCM: cm(d), Power: power}
	}
	for _, c := range []struct {
		key, fill session.Light
		ev        float64
		byPower   bool
	}{
		{led(20, ""), led(40, ""), 2, false},
		{led(40, "40 W"), led(40, "10 W"), 2, true},
		{led(40, "1/2"), led(80, "1/8"), 4, true},
		{led(40, "40 W"), led(40, "1/8"), 0, false},
		{led(40, "40 W"), session.Light{Kind: session.LightFlash, DistanceCM: cm(40), Power: "20 W"}, 0, false},
	} {
		ev, byPower, ok := KeyToFill(c.key, c.fill)
		if !ok || !near(ev, c.ev, 1e-9) || byPower != c.byPower {
			t.Errorf("%+v against %+v: %.3f, %v, %v", c.key, c.fill, ev, byPower, ok)
		}
	}
	if _, _, ok := KeyToFill(led(40, ""), session.Light{Kind: session.LightLED}); ok {
		t.Error("a ratio without a distance")
	}
}

func TestRatiosByBothConventions(t *testing.T) {
	// Wikipedia, "Lighting ratio": key and fill together against fill are 2:1, 3:1, 5:1 and
	// 9:1 at 0, 1, 2 and 3 stops; key against fill alone 2:1, 4:1 and 8:1 at 1, 2 and 3.
	for ev, want := range map[float64]Ratio{0: {1, 2}, 1: {2, 3}, 2: {4, 5}, 3: {8, 9}} {
		if got := RatioOf(ev); got != want {
			t.Errorf("%g stops: %+v", ev, got)
		}
	}
}

func BenchmarkMeasure(b *testing.B) {
	f := ball(60, 3)
	b.ReportAllocs()
	for b.Loop() {
		Measure(f)
	}
}

package marker_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session/figures"
	"stillbench/session/grouping/sameness"
	"stillbench/session/marker"
	"stillbench/session/plane"
)

const w, h = 512, 340

type colour [3]float32

// table is an invented texture in linear light.
func table(seed uint64, tint colour) [3]*plane.Plane {
	r := rand.New(rand.NewPCG(seed, 2))
	fine, coarse := plane.New(w, h), plane.New(w, h)
	for i := range fine.Pix {
		fine.Pix[i] = float32(r.NormFloat64())
		coarse.Pix[i] = float32(r.NormFloat64() * 30)
	}
	fine, coarse = plane.Blur(nil, fine, 1), plane.Blur(nil, coarse, 18)
	var out [3]*plane.Plane
	for c := range out {
		out[c] = plane.New(w, h)
		for i := range out[c].Pix {
			out[c].Pix[i] = tint[c] * float32(math.Exp(float64(fine.Pix[i])+float64(coarse.Pix[i])))
		}
	}
	return out
}

func blurred(p [3]*plane.Plane, sigma float64) [3]*plane.Plane {
	var out [3]*plane.Plane
	for c := range p {
		out[c] = plane.Blur(nil, p[c], sigma)
	}
	return out
}

// held puts a soft field of one colour before the picture, over so large a share of it
// from the left, with a border as soft as something near the lens has.
func held(p [3]*plane.Plane, tone colour, share float64) [3]*plane.Plane {
	var out [3]*plane.Plane
	for c := range p {
		out[c] = plane.New(w, h)
		for i := range out[c].Pix {
			x, y := float64(i%w)/w, float64(i/w)/h
			a := float32(1 / (1 + math.Exp((x-share-0.04*math.Sin(5*y))*30)))
			if share >= 1 {
				a = 1
			}
			fall := float32(1 - 0.4*y)
			out[c].Pix[i] = p[c].Pix[i]*(1-a) + tone[c]*fall*a
		}
	}
	return out
}

// dimmed puts something so near before the picture that it is a blur over all of the frame:
// it lets half of the light through at the left, a sixth at the right.
func dimmed(p [3]*plane.Plane, tone colour) [3]*plane.Plane {
	var out [3]*plane.Plane
	for c := range p {
		out[c] = plane.New(w, h)
		for i := range out[c].Pix {
			a := float32(0.5 + float64(i%w)/w/3)
			out[c].Pix[i] = p[c].Pix[i]*(1-a) + tone[c]*a
		}
	}
	return out
}

func view(p [3]*plane.Plane) *sameness.View {
	r := rand.New(rand.NewPCG(9, 9))
	pic := plane.NewRGB(w, h)
	for i := range w * h {
		n := float32(0.004 * r.NormFloat64())
		for c := range p {
			pic.Pix[3*i+c] = plane.Encode8(p[c].Pix[i] + n)
		}
	}
	return sameness.NewView(figures.Measure(pic))
}

// usualAs takes one view for a session's ordinary frame.
func usualAs(v *sameness.View) marker.Usual {
	u := marker.Usual{Crisp: marker.Crispest(v), Form: marker.Shapeliest(v)}
	for _, f := range v.Form {
		u.Mean += float64(f) / float64(len(v.Form))
	}
	return u
}

func TestJudge(t *testing.T) {
	grey, skinTone := colour{0.2, 0.2, 0.2}, colour{0.35, 0.2, 0.14}
	scene, other := table(1, grey), table(2, grey)
	near, far := view(scene), view(blurred(scene, 3))
	elsewhere := view(other)
	// The same table, lit from the right instead of evenly.
	var lamp [3]*plane.Plane
	for c := range scene {
		lamp[c] = plane.New(w, h)
		for i, v := range scene[c].Pix {
			lamp[c].Pix[i] = v * float32(math.Exp2(2.5*(float64(i%w)/w-0.5)))
		}
	}
	usual := usualAs(near)
	cases := []struct {
		what          string
		frame         *sameness.View
		before, after *sameness.View
		marker        bool
	}{
		{"a light hand", view(held(scene, colour{0.5, 0.35, 0.28}, 1)), far, near, true},
		{"a dark hand", view(held(scene, colour{0.03, 0.02, 0.015}, 1)), far, near, true},
		{"a blue glove", view(held(scene, colour{0.03, 0.08, 0.4}, 1)), far, near, true},
		{"a sheet of paper", view(held(scene, colour{0.95, 0.95, 0.95}, 1)), far, near, true},
		{"a lens cap", view(held(scene, colour{}, 1)), far, near, true},
		{"a hand over half of the frame", view(held(scene, skinTone, 0.5)), far, near, true},
		{"a hand, and then another framing", view(held(scene, skinTone, 1)), far, elsewhere, true},
		{"half a hand, and then another framing", view(held(scene, skinTone, 0.6)), near, elsewhere, true},
		{"the session's first frame", view(held(scene, skinTone, 1)), nil, near, true},
		{"the newest frame", view(held(scene, skinTone, 1)), far, nil, true},
		{"a hand over something of its colour", view(held(table(3, skinTone), skinTone, 1)), view(table(3, skinTone)), view(table(3, skinTone)), true},
		{"a hand over a nearly black table", view(held(table(4, colour{0.01, 0.01, 0.01}), colour{0.003, 0.002, 0.002}, 1)),
			view(table(4, colour{0.01, 0.01, 0.01})), view(table(4, colour{0.01, 0.01, 0.01})), true},
		{"a dark hand that only dims", view(dimmed(scene, colour{0.01, 0.006, 0.005})), elsewhere, near, true},
		{"a hand that dims, the focus elsewhere", view(dimmed(blurred(scene, 2), colour{0.05, 0.03, 0.025})), elsewhere, near, true},
		{"a frame of the stack", near, far, near, false},
		{"nothing sharp at the far end", view(blurred(scene, 9)), far, elsewhere, false},
		{"nothing sharp, as the newest frame", view(blurred(scene, 9)), far, nil, false},
		{"another framing", elsewhere, near, near, false},
		{"another framing, as the first frame", elsewhere, nil, near, false},
		{"another framing, out of focus", view(blurred(other, 3)), near, near, false},
		{"another framing, far out of focus", view(blurred(other, 5)), near, far, false},
		{"another framing, out of focus, as the newest frame", view(blurred(other, 4)), near, nil, false},
		{"half a hand while the lamp was moved", view(held(lamp, skinTone, 0.55)), near, view(lamp), true},
		{"the lamp was moved, out of focus", view(blurred(lamp, 3)), near, near, false},
		{"half as bright", view(func() [3]*plane.Plane { p := table(1, grey); return held(p, colour{}, -1) }()), near, near, false},
	}
	for _, c := range cases {
		j := marker.Judge(c.frame, marker.Neighbour{View: c.before}, marker.Neighbour{View: c.after}, usual)
		if (j.LogOdds > 0) != c.marker {
			t.Errorf("%s: %+v", c.what, j)
		}
		if c.marker && j.LogOdds < 1 {
			t.Errorf("%s is hardly told: %+v", c.what, j)
		}
	}
	if j := marker.Judge(near, marker.Neighbour{}, marker.Neighbour{}, usual); !math.IsInf(j.LogOdds, -1) {
		t.Errorf("a frame without neighbours: %+v", j)
	}
	if j := marker.Judge(view(held(scene, colour{}, 1)), marker.Neighbour{View: near}, marker.Neighbour{}, usual); !j.Dark {
		t.Error("a lens cap is not dark")
	}
}

// What is white in a frame may be anything that would be white at its exposure: a table exposed far
// too long has lost its structure to that and to no hand, and a hand that comes out white is told
// by the neighbour that was exposed alike.
func TestJudgeWhite(t *testing.T) {
	scene, other := table(1, colour{0.12, 0.12, 0.12}), table(2, colour{0.12, 0.12, 0.12})
	exposed := func(p [3]*plane.Plane, stops float64) *sameness.View {
		var out [3]*plane.Plane
		for c := range p {
			out[c] = plane.New(w, h)
			for i, v := range p[c].Pix {
				out[c].Pix[i] = v * float32(math.Exp2(stops))
			}
		}
		return view(out)
	}
	near := view(scene)
	usual := usualAs(near)
	for _, c := range []struct {
		what          string
		frame         *sameness.View
		before, after marker.Neighbour
		marker        bool
	}{
		{"exposed five stops too much", exposed(blurred(scene, 2), 5), marker.Neighbour{View: near, EV: -5}, marker.Neighbour{View: near, EV: -5}, false},
		{"a white hand after a table exposed five stops less", view(held(scene, colour{1.5, 1.5, 1.5}, 1)),
			marker.Neighbour{View: view(other), EV: -5}, marker.Neighbour{View: near}, true},
	} {
		j := marker.Judge(c.frame, c.before, c.after, usual)
		if (j.LogOdds > 0) != c.marker || (j.Covered > 0.9) != c.marker {
			t.Errorf("%s: %+v", c.what, j)
		}
	}
}

func BenchmarkJudge(b *testing.B) {
	scene := table(1, colour{0.2, 0.2, 0.2})
	n, m := view(scene), view(held(scene, colour{0.35, 0.2, 0.14}, 1))
	usual := usualAs(n)
	b.ReportAllocs()
	for b.Loop() {
		marker.Judge(m, marker.Neighbour{View: n}, marker.Neighbour{View: n}, usual)
	}
}

// Where nothing is covered the table's own pattern shows all over, and none on a blank sheet that
// happens to be as bright.
func TestPatternWhereNothingIsCovered(t *testing.T) {
	for seed := range uint64(6) {
		scene := table(10+seed, colour{0.2, 0.2, 0.2})
		for c := range scene { // of little contrast
			for i, v := range scene[c].Pix {
				scene[c].Pix[i] = float32(0.2 * math.Pow(float64(v)/0.2, 0.25))
			}
		}
		near := marker.Neighbour{View: view(scene)}
		for what, c := range map[string]struct {
			frame *sameness.View
			shows bool
		}{
			"the table, out of focus": {view(blurred(scene, 3)), true},
			"a sheet as bright":       {view(held(scene, colour{0.25, 0.25, 0.25}, 1)), false},
		} {
			j := marker.Look(c.frame, near, near)
			if j.Covered > 0.1 || (j.Through > 0.5) != c.shows {
				t.Errorf("table %d, %s: covered %.2f, the pattern shows by %.2f", seed, what, j.Covered, j.Through)
			}
		}
	}
}

// A hand over half of the frame takes what the table shows there and leaves the rest as it is; another
// light takes nothing, and another framing leaves nothing.
func TestHalfAHandLeavesTheRest(t *testing.T) {
	for seed := range uint64(6) {
		scene, other := table(20+seed, colour{0.2, 0.2, 0.2}), table(40+seed, colour{0.2, 0.2, 0.2})
		elsewhere, near := marker.Neighbour{View: view(other)}, marker.Neighbour{View: view(scene)}
		j := marker.Look(view(held(blurred(scene, 1), colour{0.3, 0.7, 0.4}, 0.6)), elsewhere, near)
		if j.Hides < 0.7 || j.Rest < 0.4 {
			t.Errorf("table %d, a glove over half of it: hides %.2f, the rest agrees by %.2f", seed, j.Hides, j.Rest)
		}
		without := j
		without.Rest = 0
		if usual := usualAs(near.View); j.In(usual).LogOdds < without.In(usual).LogOdds+2 {
			t.Errorf("table %d: it hardly speaks for a hand that the rest is as it was", seed)
		}
		lit := held(scene, colour{}, -1)
		for c := range lit {
			for i := range lit[c].Pix {
				lit[c].Pix[i] *= float32(math.Exp2(4 * (float64(i%w)/w - 0.7)))
			}
		}
		if j := marker.Look(view(lit), elsewhere, near); j.Hides > 0.3 {
			t.Errorf("table %d in another light: hides %.2f", seed, j.Hides)
		}
		for _, soft := range []float64{1, 4} {
			if j := marker.Look(view(blurred(table(60+seed, colour{0.2, 0.2, 0.2}), soft)), elsewhere, near); j.Rest > 0.2 {
				t.Errorf("another table, blurred by %g: the rest agrees by %.2f", soft, j.Rest)
			}
		}
	}
}

// In a light that was turned far down the edges of the table are faint and run as they did; a hand has others.
func TestFaintLightKeepsItsEdges(t *testing.T) {
	for seed := range uint64(6) {
		scene := table(80+seed, colour{0.2, 0.2, 0.2})
		down := held(scene, colour{}, -1)
		for c := range down {
			for i := range down[c].Pix {
				down[c].Pix[i] /= 64
			}
		}
		near := marker.Neighbour{View: view(scene)}
		if j := marker.Look(view(down), near, near); j.Structure < 0.4 {
			t.Errorf("table %d, six stops darker: %.2f of its edges", seed, j.Structure)
		}
		if j := marker.Look(view(held(down, colour{0.02, 0.015, 0.012}, 1)), near, near); j.Structure > 0.1 {
			t.Errorf("table %d, a hand in the dark: %.2f of its edges", seed, j.Structure)
		}
	}
}

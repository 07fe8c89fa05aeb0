package scene

import (
	"bytes"
	"math"
	"testing"

	"stillbench/session/plane"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g ± %.3g", what, got, want, tol)
	}
}

// board4 is a view without a scene: a flat board of one brightness at one distance, to draw on.
func board4(w, h int, light float32, depth float64) *View {
	o := ViewOptions{W: w, H: h}.withDefaults()
	v := &View{Options: o, MarginX: 16, MarginY: 16, w: w + 32, h: h + 32, ReferenceMM: 266, Exposure: 1}
	n := v.w * v.h
	v.front, v.back = make([]float32, 4*n), make([]float32, 4*n)
	v.frontDepth, v.backDepth = make([]float32, n), make([]float32, n)
	for i := range n {
		v.frontDepth[i] = float32(depth)
		v.set(i, light)
	}
	return v
}

func (v *View) set(i int, light float32) {
	v.front[4*i], v.front[4*i+1], v.front[4*i+2], v.front[4*i+3] = light, light, light, 1
}

// light takes the first channel of a shot before it is developed.
func (v *View) light(s Shot) *plane.Plane {
	b := &scratch{}
	frame := v.place(b, v.expose4(b, s), s)
	out := plane.New(v.Options.W, v.Options.H)
	for i := range out.Pix {
		out.Pix[i] = frame[4*i]
	}
	return out
}

// TestThinLens holds the blur against a formula of another shape: b = f m x/(N (s ± x)), with x
// the distance from the plane in focus (Wikipedia, "Depth of field").
func TestThinLens(t *testing.T) {
	v := board4(300, 200, 1, 266)
	s := Shot{FNumber: 8, FocusMM: 250}
	m := v.MagnificationAt(s)
	near(t, "magnification", m, 100.0/150, 1e-12)
	for _, x := range []float64{-30, -5, -0.1, 0, 0.1, 5, 30, 1000} {
		mm := 100 * m * math.Abs(x) / (8 * (250 + x))
		scale := v.Transform(s).Scale
		got := 2 * math.Abs(v.blur(s, 250+x)) * scale * v.pitch()
		near(t, "disc on the sensor (mm)", got, mm, 1e-9)
		if x != 0 && math.Signbit(v.blur(s, 250+x)) != (x < 0) {
			t.Errorf("x = %g: the sign is wrong", x)
		}
	}
	// The limits of the depth of field, near = u/(1+t) and far = u/(1-t) with t = N c (u-f)/f^2
	// (ExifTool's composite DOF), are where the disc is c.
	const c = 0.03
	k := 8 * c * (250.0 - 100) / (100 * 100)
	for _, z := range []float64{250 / (1 + k), 250 / (1 - k)} {
		near(t, "disc at the limit", 2*math.Abs(v.blur(s, z))*v.Transform(s).Scale*v.pitch(), c, 1e-9)
	}
	// Focused nearer, the lens draws out and the picture grows: v = f z/(z - f).
	near(t, "breathing", v.Transform(s).Scale, (100*250.0/150)/(100*266.0/166), 1e-12)
	s.Steady = true
	near(t, "steady", v.Transform(s).Scale, 1, 0)
}

// TestDisc: a point becomes a disc, whose variance along an axis is a quarter of its squared
// radius, and no light is lost.
func TestDisc(t *testing.T) {
	for _, fine := range []bool{false, true} {
		for _, r := range []float64{0.3, 0.8, 1.5, 2.5, 4, 6, 10, 15} {
			for _, side := range []float64{1, -1} {
				v := board4(160, 120, 0, 266)
				v.Options.Fine = fine
				centre := (v.h/2)*v.w + v.w/2
				v.set(centre, 1000)
				// The focus at which the board is blurred by r: blur is linear in 1/focus.
				s := Shot{FNumber: 4, FocusMM: 266, Steady: true}
				k := v.blur(Shot{FNumber: 4, FocusMM: 200}, 266) / (1.0/200 - 1.0/266)
				s.FocusMM = 1 / (1.0/266 + side*r/k)
				near(t, "radius", v.blur(s, 266), side*r, 1e-9)
				p := v.light(s)
				sum, mx, my, mxx, myy := 0.0, 0.0, 0.0, 0.0, 0.0
				for i, l := range p.Pix {
					x, y := float64(i%p.W), float64(i/p.W)
					sum += float64(l)
					mx += x * float64(l)
					my += y * float64(l)
					mxx += x * x * float64(l)
					myy += y * y * float64(l)
				}
				mx, my = mx/sum, my/sum
				near(t, "light", sum, 1000, 20)
				near(t, "place x", mx, float64(v.w/2-16), 0.05)
				near(t, "place y", my, float64(v.h/2-16), 0.05)
				// Slices stand up to 35 % apart and share a point between two of them; a point's
				// place in its cell matters a little.
				near(t, "variance x", mxx/sum-mx*mx, r*r/4, 0.12*r*r/4+0.02)
				near(t, "variance y", myy/sum-my*my, r*r/4, 0.12*r*r/4+0.02)
			}
		}
	}
}

func TestFlatStaysFlat(t *testing.T) {
	v := board4(200, 150, 0.4, 266)
	for i := range v.frontDepth { // tilted through the focus
		v.frontDepth[i] = 240 + 50*float32(i/v.w)/float32(v.h)
	}
	for _, s := range []Shot{{}, {FNumber: 2.8}, {FNumber: 11, FocusMM: 230, ShiftX: 3.3, TurnDeg: 0.4}, {FNumber: 4, MotionPX: 9, MotionDeg: 30}} {
		for _, l := range v.light(s).Pix {
			if math.Abs(float64(l)-0.4) > 1e-4 {
				t.Fatalf("%+v: %g of 0.4", s, l)
			}
		}
	}
}

// TestEdges: a sharp thing keeps its edge before a blurred ground, and a blurred thing spreads
// over a sharp ground, which shows through.
func TestEdges(t *testing.T) {
	v := board4(200, 100, 0, 266)
	middle := v.w / 2
	for i := range v.frontDepth {
		x := i % v.w
		v.backDepth[i] = 290
		if x < middle { // a white board before a black one
			v.set(i, 1)
			v.frontDepth[i] = 250
			v.back[4*i+3] = 1
		} else {
			v.frontDepth[i] = 290
		}
	}
	edge := middle - 16
	sharp := v.light(Shot{FNumber: 4, FocusMM: 250, Steady: true}).Row(50)
	near(t, "just inside the sharp thing", float64(sharp[edge-2]), 1, 0.02)
	near(t, "just outside", float64(sharp[edge+2]), 0, 0.02)
	s := Shot{FNumber: 4, FocusMM: 290, Steady: true}
	r := math.Abs(v.blur(s, 250))
	blurred := v.light(s).Row(50)
	near(t, "far inside the blurred thing", float64(blurred[edge-int(2*r)]), 1, 0.02)
	near(t, "at its edge", float64(blurred[edge-1]+blurred[edge])/2, 0.5, 0.12)
	near(t, "far outside", float64(blurred[edge+int(2*r)]), 0, 0.02)
}

// TestTransform: a detail is found where Transform says.
func TestTransform(t *testing.T) {
	v := board4(300, 200, 0, 266)
	const px, py = 50.0, -30.0 // from the centre
	for i := range v.frontDepth {
		x, y := float64(i%v.w)-float64(v.w-1)/2-px, float64(i/v.w)-float64(v.h-1)/2-py
		v.set(i, float32(math.Exp(-(x*x+y*y)/18)))
	}
	for _, s := range []Shot{{}, {ShiftX: 2.3, ShiftY: -1.6}, {TurnDeg: 1.5}, {FocusMM: 250, ShiftX: -4, TurnDeg: -0.7}, {FocusMM: 290}} {
		p := v.light(s)
		sum, mx, my := 0.0, 0.0, 0.0
		for i, l := range p.Pix {
			sum += float64(l)
			mx += float64(l) * (float64(i%p.W) - 299.0/2)
			my += float64(l) * (float64(i/p.W) - 199.0/2)
		}
		x, y := v.Transform(s).Apply(px, py)
		near(t, "x", mx/sum, x, 0.02)
		near(t, "y", my/sum, y, 0.02)
	}
}

func spreadOf(p *plane.RGB) (mean, variance float64) {
	for _, c := range p.Pix {
		l := float64(plane.Linear8(c))
		mean += l
		variance += l * l
	}
	n := float64(len(p.Pix))
	mean /= n
	return mean, variance/n - mean*mean
}

func TestNoise(t *testing.T) {
	v := board4(300, 200, 0.25, 266)
	for _, iso := range []int{1600, 6400, 25600} {
		mean, variance := spreadOf(v.Shoot(Shot{ISO: iso, Seed: 5}))
		// Poisson: the variance of a count is the count; read noise adds its square.
		full := electronsAtWhite * 100 / float64(iso)
		want := 0.25/full + readElectrons*readElectrons/full/full
		step := (plane.Linear8(138) - plane.Linear8(137)) // a code of 8 bits at this light
		near(t, "mean", mean, 0.25, 0.003)
		near(t, "variance", variance, want+float64(step*step)/12, 0.06*want)
	}
	if bytes.Equal(v.Shoot(Shot{ISO: 100, Seed: 1}).Pix, v.Shoot(Shot{ISO: 100, Seed: 2}).Pix) {
		t.Error("two seeds give the same noise")
	}
}

func TestExposure(t *testing.T) {
	v := board4(101, 81, 0.2, 266)
	at := func(s Shot, x, y, c int) float64 {
		return float64(plane.Linear8(v.Shoot(s).Pix[3*(y*101+x)+c]))
	}
	near(t, "one stop", at(Shot{EV: 1}, 50, 40, 0), 0.4, 0.003)
	near(t, "clipped", at(Shot{EV: 4}, 50, 40, 0), 1, 0)
	near(t, "balance", at(Shot{Balance: [3]float64{1, 1, 0.5}}, 50, 40, 2), 0.1, 0.002)
	near(t, "veil", at(Shot{Veil: 0.1}, 50, 40, 1), 0.3, 0.003)
	near(t, "middle of a vignette", at(Shot{VignetteEV: 1}, 50, 40, 0), 0.2, 0.002)
	near(t, "corner of a vignette", at(Shot{VignetteEV: 1}, 0, 0, 0), 0.1, 0.002)
}

func TestCamera(t *testing.T) {
	o := ViewOptions{W: 600, H: 400, FieldMM: 50, ElevationDeg: 90, Target: [3]float64{3, 4, 5}}.withDefaults()
	c, dist := newCamera(&o, 1, 600, 400)
	// 1/f = 1/u + 1/v with v/u = sensor over field.
	near(t, "thin lens", 1/dist+1/(dist*36/50), 1.0/100, 1e-9)
	x, y, z := c.project(v3(3, 4, 5))
	near(t, "target x", float64(x), 300, 1e-3)
	near(t, "target y", float64(y), 200, 1e-3)
	near(t, "target distance", float64(z), dist, 1e-3)
	x, _, _ = c.project(v3(3+25, 4, 5))
	near(t, "the field's edge", float64(x), 600, 1e-2)
	_, y, _ = c.project(v3(3, 4+10, 5))
	if y >= 200 {
		t.Error("what is farther on the table is not higher in the picture")
	}
	// Turned clockwise by 90 degrees, up is left in the stored picture; orientation 6 (0th row
	// is the right side) brings it back up.
	o.ElevationDeg, o.RollDeg = 30, 90
	c, _ = newCamera(&o, 1, 600, 400)
	x, _, _ = c.project(v3(3, 4, 5+8))
	if x >= 300 {
		t.Error("up is not left in a frame turned clockwise")
	}
}

// TestLightDirection: the shadow of a ball falls away from the light, for lights on all sides
// as the setup log counts them.
func TestLightDirection(t *testing.T) {
	ball := func(spacing float64) []*patch {
		return []*patch{net(count(40, spacing), count(20, spacing), nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			sb, cb := math.Sincos(math.Pi * (1 - v))
			return surface{at: v3(6*sb*ca, 6*sb*sa, 6+6*cb), colour: vec{0.5, 0.5, 0.5}}
		})}
	}
	s := &Scene{parts: []part{ball}, ground: func(x, y float64) surface {
		return surface{at: v3(x, y, 0), colour: vec{0.5, 0.5, 0.5}}
	}}
	for _, c := range []struct{ azimuth, x, y float64 }{
		{0, 0, -1}, {90, -1, 0}, {180, 0, 1}, {270, 1, 0}, // shadow in the picture seen from above: y down
	} {
		for _, yaw := range []float64{0, 130} {
			v := s.View(ViewOptions{W: 192, H: 128, ElevationDeg: 90, FieldMM: 80, YawDeg: yaw, Ambient: 0.05,
				Lights: []Light{{AzimuthDeg: c.azimuth, ElevationDeg: 40, SizeDeg: 2, Power: 1, Colour: Neutral}}})
			p := v.Sharp()[1]
			at := func(k float64) float64 { // 11 mm from the foot: outside the ball
				return float64(p.Pix[(64+int(k*c.y*11*192/80))*192+96+int(k*c.x*11*192/80)])
			}
			if at(1) > 0.4*at(-1) {
				t.Errorf("azimuth %g, yaw %g: %.3f in the shadow, %.3f opposite", c.azimuth, yaw, at(1), at(-1))
			}
			d := v.Depth()
			near(t, "the ball's top", float64(d.Pix[64*192+96]), v.ReferenceMM-12, 0.3)
			near(t, "the table", float64(d.Pix[4*192+4]), v.ReferenceMM, 0.3)
		}
	}
}

func TestKinds(t *testing.T) {
	o := ViewOptions{W: 192, H: 128}
	for _, k := range Kinds {
		v := New(k, 3).View(o)
		sharp, shot := v.Sharp()[1], v.Shoot(Shot{FNumber: 8, FocusMM: v.ReferenceMM * 0.97, ISO: 200})
		if len(shot.Pix) != 3*192*128 || len(sharp.Pix) != 192*128 {
			t.Errorf("%s: sizes", k)
		}
		bright, lo, hi := 0, float32(math.MaxFloat32), float32(0)
		for _, l := range sharp.Pix {
			if l > 0.8 {
				bright++
			}
		}
		for _, z := range v.Depth().Pix {
			lo, hi = min(lo, z), max(hi, z)
		}
		// Exposed by rule: about one pixel in a hundred is above 0.8.
		if n := len(sharp.Pix); bright > n/25 {
			t.Errorf("%s: %d of %d pixels are above 0.8", k, bright, n)
		}
		if hi-lo < 15 || lo < 200 || hi > 350 {
			t.Errorf("%s: depth from %g to %g mm", k, lo, hi)
		}
	}
}

func TestSameSeedSamePicture(t *testing.T) {
	o := ViewOptions{W: 96, H: 64}
	s := Shot{FNumber: 5.6, ISO: 400, Seed: 9, ShiftX: 0.4, Before: &Occluder{Thing: Hand, Cover: 0.5, Seed: 2}}
	a, b := New(Pebbles, 7).View(o).Shoot(s), New(Pebbles, 7).View(o).Shoot(s)
	if !bytes.Equal(a.Pix, b.Pix) {
		t.Error("the same seed gives another picture")
	}
	if bytes.Equal(a.Pix, New(Pebbles, 8).View(o).Shoot(s).Pix) {
		t.Error("another seed gives the same picture")
	}
}

func TestOccluder(t *testing.T) {
	v := board4(192, 128, 0.5, 266)
	level := func(oc Occluder) (green, least, most float64) {
		p := v.light(Shot{FNumber: 8})
		frame := make([]float32, 4*len(p.Pix))
		for i, l := range p.Pix {
			frame[4*i], frame[4*i+1], frame[4*i+2] = l, l, l
		}
		v.hide(frame, Shot{FNumber: 8, Before: &oc})
		least, most = 9, 0
		for i := range p.Pix {
			l := float64(frame[4*i+1])
			green += l / float64(len(p.Pix))
			least, most = min(least, l), max(most, l)
		}
		return green, least, most
	}
	if g, _, _ := level(Occluder{Thing: Cap}); g > 0.01 {
		t.Errorf("a cap lets %g through", g)
	}
	// Something black over a share of an even board leaves the rest of its light.
	for _, cover := range []float64{0.5, 0.7, 0.9} {
		g, _, _ := level(Occluder{Thing: Cap, Cover: cover})
		near(t, "what is left", g, 0.5*(1-cover), 0.02)
	}
	before := 9.0
	for _, tone := range []float64{0, 0.25, 0.5, 0.75, 1} {
		g, lo, hi := level(Occluder{Thing: Hand, Tone: tone, EV: -1, Seed: 4})
		if g >= before {
			t.Errorf("tone %g is not darker", tone)
		}
		if hi-lo > 0.5*hi {
			t.Errorf("tone %g: a hand over all of it runs from %g to %g", tone, lo, hi)
		}
		before = g
	}
	pic := plane.NewRGB(100, 100) // a grey hand on white
	for i := range pic.Pix {
		pic.Pix[i] = 255
		if x := i / 3 % 100; x > 20 && x < 80 {
			pic.Pix[i] = 100
		}
	}
	g, _, _ := level(Occluder{Thing: Hand, Picture: pic})
	near(t, "a picture's hand", g, float64(plane.Linear8(100)), 0.03)
}

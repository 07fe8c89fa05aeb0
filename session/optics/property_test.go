package optics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// randomShots gives shots over the whole range that a table and a landscape can ask
// for: f/1 to f/45, infinity to 5:1 and beyond, any pupil, any common lens. The seed is
// fixed; no threshold below was chosen by its outcome.
func randomShots(n int, each func(s Shot, cMM float64)) {
	r := rand.New(rand.NewPCG(7, 1900))
	between := func(low, high float64) float64 { return low * math.Pow(high/low, r.Float64()) }
	for range n {
		each(Shot{
			FNumber: between(1, 45), Magnification: between(1e-5, 20), Pupil: between(0.4, 2.5), FocalMM: between(10, 600),
		}, between(0.002, 0.05))
	}
}

func near(a, b, share float64) bool {
	return a == b || math.Abs(a-b) <= share*math.Max(math.Abs(a), math.Abs(b))
}

// The blur of a point at a limit is the circle of confusion: depth and blur are one
// law, seen from both sides.
func TestBlurAtTheLimitsIsTheCircleOfConfusion(t *testing.T) {
	randomShots(2000, func(s Shot, c float64) {
		d := s.DepthOfField(c)
		if b := s.DefocusBlurMM(-d.NearMM); !near(b, c, 1e-9) {
			t.Fatalf("%+v: blur %v at the near limit, c = %v", s, b, c)
		}
		if b := s.DefocusBlurMM(d.FarMM); math.IsInf(d.FarMM, 1) && b > c*(1+1e-9) || !math.IsInf(d.FarMM, 1) && !near(b, c, 1e-6) {
			t.Fatalf("%+v: blur %v at the far limit %v, c = %v", s, b, d.FarMM, c)
		}
	})
}

// Distances from the pupil and depths around the focused plane are the same limits.
func TestLimitsAreDepthAroundTheFocusedPlane(t *testing.T) {
	randomShots(2000, func(s Shot, c float64) {
		plane := s.FocalMM * (1/s.Magnification + 1/s.Pupil)
		d := s.DepthOfField(c)
		nearMM, farMM := s.Limits(c)
		if !near(nearMM, plane-d.NearMM, 1e-9) {
			t.Fatalf("%+v: near limit %v, plane − near depth %v", s, nearMM, plane-d.NearMM)
		}
		if math.IsInf(farMM, 1) != math.IsInf(d.FarMM, 1) || !math.IsInf(farMM, 1) && !near(farMM, plane+d.FarMM, 1e-9) {
			t.Fatalf("%+v: far limit %v, plane + far depth %v", s, farMM, plane+d.FarMM)
		}
		if !math.IsInf(farMM, 1) && !near(FocusBetweenMM(nearMM, farMM), plane, 1e-9) {
			t.Fatalf("%+v: the harmonic mean of the limits %v is not the focused plane %v", s, FocusBetweenMM(nearMM, farMM), plane)
		}
	})
}

func TestDepthGrowsWithTheFNumberAndShrinksWithMagnification(t *testing.T) {
	randomShots(2000, func(s Shot, c float64) {
		d := s.DepthOfField(c)
		narrower, closer := s, s
		narrower.FNumber *= 1.1
		closer.Magnification *= 1.1
		if n := narrower.DepthOfField(c); n.NearMM <= d.NearMM || n.FarMM <= d.FarMM && !math.IsInf(d.FarMM, 1) {
			t.Fatalf("%+v: narrower holds less, %+v against %+v", s, n, d)
		}
		if n := closer.DepthOfField(c); n.NearMM >= d.NearMM || n.FarMM >= d.FarMM && !math.IsInf(n.FarMM, 1) {
			t.Fatalf("%+v: closer holds more, %+v against %+v", s, n, d)
		}
		if AiryDiskUM(550, narrower.EffectiveFNumber()) <= AiryDiskUM(550, s.EffectiveFNumber()) {
			t.Fatalf("%+v: a narrower aperture diffracts less", s)
		}
		if d.FarMM < d.NearMM {
			t.Fatalf("%+v: less behind than in front, %+v", s, d)
		}
	})
}

// At high magnification near and far depth become equal (Wikipedia, "Depth of field",
// near:far distribution), and the total becomes 2Nc(1 + m/P)/m².
func TestDepthIsSymmetricInTheCloseLimit(t *testing.T) {
	for _, p := range []float64{0.5, 1, 2} {
		s := Shot{FNumber: 8, Magnification: 1, Pupil: p, FocalMM: 100}
		last := math.Inf(1)
		for _, s.Magnification = range []float64{0.02, 0.1, 0.5, 1, 2, 5} {
			d := s.DepthOfField(0.03)
			if split := d.FarMM / d.NearMM; split >= last {
				t.Errorf("P %v m %v: far/near %v does not fall", p, s.Magnification, split)
			} else {
				last = split
			}
			m := s.Magnification
			simple := 2 * 8 * 0.03 * (1 + m/p) / (m * m)
			q := 8 * 0.03 / (100 * m)
			if !near(d.TotalMM, simple/(1-q*q), 1e-12) {
				t.Errorf("P %v m %v: total %v, want %v", p, m, d.TotalMM, simple/(1-q*q))
			}
			unknown := Shot{FNumber: 8, Magnification: m, Pupil: p}.DepthOfField(0.03)
			if unknown.NearMM != unknown.FarMM || !near(unknown.TotalMM, simple, 1e-12) {
				t.Errorf("P %v m %v: without a focal length %+v, want %v in all", p, m, unknown, simple)
			}
		}
		if last > 1.001 {
			t.Errorf("P %v: far/near is still %v at 5:1", p, last)
		}
	}
}

// As m goes to 0 the limits go to those of a lens at infinity, and focused at the
// hyperfocal distance the far limit is without end and the near one half of it.
func TestTheFarLimit(t *testing.T) {
	const f, n, c = 50.0, 8.0, 0.03
	at := func(m float64) (float64, float64) { return Shot{FNumber: n, FocalMM: f, Magnification: m}.Limits(c) }
	want := f * f / (n * c)
	for _, m := range []float64{0, 1e-12, 1e-9} {
		if low, high := at(m); !near(low, want, 1e-5) || !math.IsInf(high, 1) {
			t.Errorf("m %v: %v to %v, want %v and no end", m, low, high, want)
		}
	}
	h := HyperfocalMM(f, n, c)
	low, high := at(MagnificationFromSubjectDistance(f, h) * (1 - 1e-12))
	if !near(low, h/2, 1e-9) || !math.IsInf(high, 1) {
		t.Errorf("focused at %v mm: %v to %v, want %v and no end", h, low, high, h/2)
	}
	if _, high := at(MagnificationFromSubjectDistance(f, h*0.99)); math.IsInf(high, 1) {
		t.Error("nearer than the hyperfocal distance has no far limit")
	}
	if d := (Shot{FNumber: n, FocalMM: f}).DepthOfField(c); !math.IsInf(d.TotalMM, 1) {
		t.Errorf("at infinity the depth is %+v", d)
	}
	// Far behind, the blur becomes that of a point at infinity, m·f/N.
	s := Shot{FNumber: n, FocalMM: f, Magnification: 0.5}
	if got := s.DefocusBlurMM(math.Inf(1)); got != 0.5*f/n || !near(s.DefocusBlurMM(1e12), got, 1e-6) {
		t.Errorf("blur at infinity %v, far behind %v", got, s.DefocusBlurMM(1e12))
	}
}

// A thin lens, by Newton's equation x·x' = f²: the ways to reach a magnification agree.
func TestMagnificationsAgree(t *testing.T) {
	for _, m := range []float64{0.001, 0.1, 0.5, 0.9, 1} {
		const f = 100.0
		object, image := f/m, f*m // Newton's x and x'
		for name, got := range map[string]float64{
			"subject distance": MagnificationFromSubjectDistance(f, f+object),
			"sensor distance":  MagnificationFromSensorDistance(f, object+2*f+image),
			"field width":      MagnificationFromFieldWidth(36, FieldMM(36, m)),
			"ruler":            MagnificationFromRuler(2000*m, 4000, 36, 18),
		} {
			if !near(got, m, 1e-6) {
				t.Errorf("m %v from %s: %v", m, name, got)
			}
		}
		if !near(SensorDistanceMM(f, m), object+2*f+image, 1e-12) {
			t.Errorf("m %v: sensor distance %v", m, SensorDistanceMM(f, m))
		}
	}
	if got := AngleOfViewDeg(36, 18, 0); !near(got, 90, 1e-12) {
		t.Errorf("36 mm through 18 mm at infinity: %v degrees, want 90", got)
	}
	if got := MagnificationFromSensorDistance(100, 399); !math.IsNaN(got) {
		t.Errorf("nearer than four focal lengths: %v", got)
	}
}

// The best aperture has equal blurs, beats its neighbours, and lies within the span
// that FNumbersWithin gives; at the ends of that span the blur is what was asked.
func TestOptimumIsTheLeastBlur(t *testing.T) {
	randomShots(500, func(s Shot, _ float64) {
		if s.Magnification < 0.05 {
			return
		}
		const depth = 0.7
		// The optimum is defined for blur that grows with depth in a straight line, as it
		// does where the depth is small against the distance.
		linear := func(n float64) float64 {
			s.FNumber = n
			return TotalBlurUM(1000*depth/2*s.Magnification*s.Magnification/s.EffectiveFNumber(), AiryDiskUM(550, s.EffectiveFNumber()))
		}
		n := OptimumFNumber(depth, s.Magnification, s.Pupil, 550)
		if b := linear(n); b > linear(n*1.01) || b > linear(n/1.01) {
			t.Fatalf("m %v: f/%v is not the least", s.Magnification, n)
		}
		want := linear(n) * 1.3
		low, high, ok := FNumbersWithin(want, depth, s.Magnification, s.Pupil, 550)
		if !ok || low > n || high < n || !near(linear(low), want, 1e-9) || !near(linear(high), want, 1e-9) {
			t.Fatalf("m %v: within %v µm f/%v to f/%v (%v), blurs %v and %v", s.Magnification, want, low, high, ok, linear(low), linear(high))
		}
		if _, _, ok := FNumbersWithin(linear(n)*0.99, depth, s.Magnification, s.Pupil, 550); ok {
			t.Fatalf("m %v: a blur below the least is said to be reached", s.Magnification)
		}
	})
}

func TestSlicesCoverTheDepth(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		depth, dof, overlap := 0.01+20*r.Float64(), 0.01+3*r.Float64(), 0.9*r.Float64()
		n := FramesToCover(depth, dof, overlap)
		step := StepMM(dof, overlap)
		if dof+(n-1)*step < depth*(1-1e-9) {
			t.Fatalf("%v slices of %v, %v apart, do not cover %v", n, dof, step, depth)
		}
		if n > 1 && dof+(n-2)*step >= depth*(1+1e-9) {
			t.Fatalf("%v slices of %v, %v apart, are one too many for %v", n, dof, step, depth)
		}
		slice := SliceMM(depth, int(n), overlap)
		if n > 1 && slice > dof*(1+1e-9) || !near(slice+(n-1)*slice*(1-overlap), depth, 1e-9) {
			t.Fatalf("%v even slices of %v for a depth of %v, depth of field %v", n, slice, depth, dof)
		}
	}
	slices := Slices(10, 4, 0.25)
	if len(slices) != 4 || slices[0].NearMM != 0 || !near(slices[3].FarMM, 10, 1e-12) {
		t.Errorf("four slices of 10 mm: %+v", slices)
	}
	for i := 1; i < len(slices); i++ {
		a, b := slices[i-1], slices[i]
		if !near((a.FarMM-b.NearMM)/(b.FarMM-b.NearMM), 0.25, 1e-9) || !near(b.FocusMM*2, b.NearMM+b.FarMM, 1e-12) {
			t.Errorf("slices %+v and %+v do not overlap by a quarter", a, b)
		}
	}
	if got := Slices(10, 0, 0.2); got != nil {
		t.Errorf("no frames make slices %v", got)
	}
	// Whole numbers of steps cost no frame more by rounding.
	if got := FramesToCover(1.0, 0.1, 0); got != 10 {
		t.Errorf("1 mm in slices of 0.1 mm: %v frames", got)
	}
	if got := FramesEndToEnd(0.3, 0.1); got != 4 {
		t.Errorf("0.3 mm in steps of 0.1 mm: %v frames", got)
	}
	if got := FramesToCover(1, math.Inf(1), 0.2); got != 1 {
		t.Errorf("a depth of field without end takes %v frames", got)
	}
	if got := ImageStepMM(0.5, 2); got != 2 {
		t.Errorf("a step of 0.5 mm at m 2 is %v mm behind the lens, want 2 (longitudinal magnification m²)", got)
	}
}

func TestStepsAgainstPlan(t *testing.T) {
	ratio, largest, ok := StepsAgainstPlan(0.5, []float64{0.7, 0.6, 0.7, 2})
	if !ok || !near(ratio, 1.4, 1e-12) || !near(largest, 4, 1e-12) {
		t.Errorf("ratio %v, largest %v, %v", ratio, largest, ok)
	}
	for _, bad := range [][]float64{nil, {math.NaN()}, {-1}} {
		if _, _, ok := StepsAgainstPlan(0.5, bad); ok {
			t.Errorf("%v can be compared", bad)
		}
	}
}

// Equal exposure: f/18 to f/9 is two stops (common practice), for every aperture
// N²/t is the same within what engraved numbers allow, and the bellows loss of one
// magnification is a constant factor.
func TestEqualExposure(t *testing.T) {
	if got := EquivalentShutter(1, 18, 9); !near(got, 0.25, 1e-12) {
		t.Errorf("1 s at f/18 is %v s at f/9, want 1/4", got)
	}
	for _, s := range FNumbers(3) {
		t9 := EquivalentShutter(1/6.0, 9, s.Nominal)
		if d := math.Abs(ExposureValue(s.Exact, t9) - ExposureValue(ExactFNumber(9), 1/6.0)); d > 1e-12 {
			t.Errorf("f/%v: %v EV off", s.Nominal, d)
		}
		if !near(ShutterAtMagnification(t9, 1, 3, 1)/t9, 4, 1e-12) {
			t.Errorf("f/%v: from life size to 3:1 is %v times", s.Nominal, ShutterAtMagnification(t9, 1, 3, 1)/t9)
		}
		if n := NearestShutter(t9); t9 < 30 && math.Abs(math.Log2(n/t9)) > 1/3.0 {
			t.Errorf("%v s is shown as %v s", t9, n)
		}
	}
	for _, s := range ShutterTimes(3) {
		if NearestShutter(s.Exact) != s.Nominal || NearestShutter(s.Nominal) != s.Nominal {
			t.Errorf("%v s is shown as %v s, exactly as %v s", s.Nominal, NearestShutter(s.Nominal), NearestShutter(s.Exact))
		}
	}
	if got := NearestShutter(200); got != 200 {
		t.Errorf("200 s is shown as %v s", got)
	}
	for seconds, want := range map[float64]string{
		1 / 8000.0: "1/8000 s", 1 / 60.0: "1/60 s", 0.25: "1/4 s", 0.3: "0.3 s", 0.5: "0.5 s", 1: "1 s", 2.5: "2.5 s", 30: "30 s", 59.7: "1 min 0 s", 260: "4 min 20 s",
	} {
		if got := ShutterWords(seconds); got != want {
			t.Errorf("%v s in words: %s, want %s", seconds, got, want)
		}
	}
}

// What is out of range is no number, and stays none.
func TestNoNumberOutOfRange(t *testing.T) {
	bad := []float64{0, -1, math.NaN(), math.Inf(1)}
	for _, x := range bad {
		for name, got := range map[string]float64{
			"field width":  MagnificationFromFieldWidth(36, x),
			"sensor":       MagnificationFromFieldWidth(x, 36),
			"field":        FieldMM(x, 1),
			"ruler":        MagnificationFromRuler(100, 200, 36, x),
			"focal":        MagnificationFromSubjectDistance(x, 500),
			"distance":     MagnificationFromSensorDistance(100, x),
			"sensor dist":  SensorDistanceMM(100, x),
			"angle":        AngleOfViewDeg(36, x, 1),
			"f-number":     Shot{FNumber: x, Magnification: 1}.EffectiveFNumber(),
			"c":            Shot{FNumber: 8, Magnification: 1}.DepthOfField(x).TotalMM,
			"hyperfocal":   HyperfocalMM(50, x, 0.03),
			"focus":        FocusBetweenMM(x, 100),
			"wave":         WaveDepthUM(x, 0.1, 1),
			"detector":     DetectorDepthUM(x, 10, 0.1, 1),
			"airy":         AiryDiskUM(550, x),
			"optimum":      OptimumFNumber(x, 1, 1, 550),
			"share":        UsableShare(10, x),
			"step":         StepMM(x, 0.2),
			"frames":       FramesToCover(x, 1, 0.2),
			"end to end":   FramesEndToEnd(1, x),
			"slice":        SliceMM(x, 3, 0.2),
			"movement":     MovementBlurPixels(1, 1, 1, x),
			"steady":       SteadySeconds(x, 1, 0.03),
			"pitch":        PixelPitchUM(36, x),
			"flicker":      FlickerEV(x, 50, 1),
			"equivalent":   EquivalentShutter(1, 8, x),
			"print":        PrintCoCMM(36, x),
			"pupil":        PupilFromEffective(1, 8, 8*x),
			"infinite m":   Shot{FNumber: 8, Magnification: math.Inf(1)}.EffectiveFNumber(),
			"negative m":   BellowsFactor(-1, 1),
			"blur at m 0":  Shot{FNumber: 8}.DefocusBlurMM(1),
			"in the lens":  Shot{FNumber: 8, Magnification: 1, FocalMM: 50}.DefocusBlurMM(-101),
			"no overlap":   StepMM(1, 1),
			"no focal":     first(Shot{FNumber: 8, Magnification: 1}.Limits(0.03)),
			"too much mod": FlickerEV(1, 50, 1.1),
		} {
			if name == "pupil" && x == math.Inf(1) {
				continue // a pupil of 0 is the honest answer there
			}
			if !math.IsNaN(got) {
				t.Errorf("%s of %v is %v", name, x, got)
			}
		}
	}
}

func first(a, _ float64) float64 { return a }

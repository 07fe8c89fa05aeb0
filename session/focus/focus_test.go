package focus

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// The small pictures that most tests use: the middle of pictures 1152 pixels wide, whose circle
// of confusion they have.
const (
	testW, testH = 480, 320
	testCircle   = 0.92
)

var testOptions = Options{CircleOfConfusion: testCircle / math.Hypot(testW, testH)}

// shoot makes a stack of a subject at the given places, in circles of confusion.
func shoot(t testing.TB, s *relief.Subject, places []float64, change func(i int, shot *relief.Shot)) *Stack {
	t.Helper()
	return shootOn(t, &Stack{}, s, places, change)
}

// shootOn goes on with a copy of a stack that was shot at the first of the places.
func shootOn(t testing.TB, begun *Stack, s *relief.Subject, places []float64, change func(i int, shot *relief.Shot)) *Stack {
	t.Helper()
	st := copyOf(begun)
	for i := len(st.frames); i < len(places); i++ {
		p := places[i]
		shot := relief.Shot{Place: p * testCircle, Noise: relief.ISO(200), Seed: uint64(i),
			Move: plane.Similarity{Scale: 1 - 0.0008*p, DX: 0.3 * float64(i%3), DY: -0.2 * float64(i%2)}}
		if change != nil {
			change(i, &shot)
		}
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: s.Shoot(shot)}); err != nil {
			t.Fatal(err)
		}
	}
	return st
}

// A disc leaves of each band what the table says: measured on textures that are really
// convolved with discs, by the package that makes reliefs.
func TestTransferAgainstRealDiscs(t *testing.T) {
	const at = 100.0
	s := relief.New(relief.Fine, 512, 384, 3, func(x, y float64) float64 { return at })
	energy := func(d float64) (e [bands]float64) {
		m := measure(s.Shoot(relief.Shot{Place: at - d}).Luma())
		for b := range e {
			for _, v := range m.maps[b] {
				e[b] += float64(v) / float64(len(m.maps[b]))
			}
		}
		return e
	}
	sharp := energy(0)
	lens := lens()
	for _, d := range []float64{0.7, 1.3, 2, 2.8, 3.8} {
		blurred := energy(d)
		for b := range bands {
			// The texture's own spectrum between the band and the next.
			k := min(b, bands-2)
			x, _ := lens.exponent(k, math.Log(sharp[k]/sharp[k+1]))
			got, _ := lens.at(uint8(x+0.5), b, d)
			want := math.Log(blurred[b] / sharp[b])
			// Within a sixth of what is lost, in logarithms, which is what the fit allows the
			// model (modelRelative), and 3 % of the energy for rounding to 8 bits; in the finest band
			// a quarter: this texture has more of the finest detail than a power law goes on to.
			part := modelRelative
			if b == 0 {
				part = 0.25
			}
			if math.Abs(got-want) > 0.03-part*want && want > -4 {
				t.Errorf("disc of %.1f pixels, band %d: ln of the energy left is %.3f, the table says %.3f", d, b, want, got)
			}
		}
	}
	for x := range exponents {
		for b := range bands {
			if l, _ := lens.at(uint8(x), b, 0); math.Abs(l) > 1e-9 {
				t.Errorf("exponent %d, band %d: in focus %g is left", x, b, l)
			}
			if d := lens.diameter(uint8(x), b, lens.log[x][b][20]); math.Abs(d-20.0/perPixel) > 1e-6 {
				t.Errorf("exponent %d, band %d: inverse gives %g", x, b, d)
			}
		}
	}
}

// What a disc leaves of a tile whose depth spreads is what the table of its slant says: measured on a
// texture that slopes, against the same texture in focus all over.
func TestTransferOfSlantedTiles(t *testing.T) {
	const w, h, side = 480, 384, cell * tile
	energy := func(slope, from float64) (e [bands]float64) { // of tiles whose middle lies `from` off
		s := relief.New(relief.Fine, w, h, 3, func(x, y float64) float64 { return slope * (y - 0.5) * h / side })
		// The row of tiles that is measured stands half a tile below the middle of the picture.
		m := measure(s.Shoot(relief.Shot{Place: slope/2 + from}).Luma())
		for tx := 1; tx < w/side-1; tx++ {
			x, y := (float64(tx)+0.5)*side, (float64(h/2/side)+0.5)*side
			for b := range e {
				v, _ := m.at(m.maps[b], x, y)
				e[b] += v
			}
		}
		return e
	}
	sharp := energy(0, 0)
	flat, slope := lens(), 5.0
	slanted := slanted(slantOf(slope / math.Sqrt(12)))
	for _, from := range []float64{0, 1.5} {
		blurred := energy(slope, from)
		for b := range 2 { // coarser ones do not notice
			x, _ := flat.exponent(b, math.Log(sharp[b]/sharp[b+1]))
			got, _ := slanted.at(uint8(x+0.5), b, from)
			none, _ := flat.at(uint8(x+0.5), b, from)
			want := math.Log(blurred[b] / sharp[b])
			if math.Abs(got-want) > 0.1-0.16*want || math.Abs(got-want) > math.Abs(none-want) {
				t.Errorf("%.1f off, band %d: ln of the energy left is %.2f, the table says %.2f, without the slant %.2f", from, b, want, got, none)
			}
		}
	}
	for i := range slants {
		if got := slantOf(leastSpread * math.Exp2(float64(i-1)/2)); i > 0 && got != uint8(i) {
			t.Errorf("slant %d comes out as %d", i, got)
		}
	}
}

// A part past an end counts the same at the picture's edge as within it, and a line that is an
// outline does not count.
func TestAreaPastAnEnd(t *testing.T) {
	const w, h = 12, 9
	says := func(past func(x, y int) float64) []float64 {
		v := make([]float64, w*h)
		for i := range v {
			v[i] = past(i%w, i/w)
		}
		return v
	}
	for name, c := range map[string]struct {
		past func(x, y int) float64
		want float64
	}{
		"nothing":         {func(x, y int) float64 { return -1 }, 0},
		"a band within":   {func(x, y int) float64 { return map[bool]float64{true: 1, false: -4}[x >= 5 && x <= 7] }, h},
		"half of it":      {func(x, y int) float64 { return map[bool]float64{true: 1, false: -4}[x < 2] }, h},
		"a line":          {func(x, y int) float64 { return map[bool]float64{true: 4, false: -4}[x == 6] }, 0},
		"all of it":       {func(x, y int) float64 { return 1 }, w * h},
		"one in a corner": {func(x, y int) float64 { return map[bool]float64{true: 4, false: -4}[x+y == 0] }, 0},
	} {
		if got := area(says(c.past), w, h); got != c.want {
			t.Errorf("%s: %g tiles, want %g", name, got, c.want)
		}
	}
}

// White noise alone is no detail, whatever its strength.
func TestNoiseIsNotDetail(t *testing.T) {
	for _, sigma := range []float64{0.005, 0.02} {
		st := &Stack{}
		for i := range 3 {
			r := rand.New(rand.NewPCG(uint64(i), 9))
			p := plane.NewRGB(600, 400)
			for k := range p.Pix {
				p.Pix[k] = uint8(min(max(110+255*sigma*r.NormFloat64()+0.5, 0), 255))
			}
			if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
				t.Fatal(err)
			}
		}
		c := st.Check(Options{})
		if c.Verdict != session.VerdictUndecided || c.Sure || c.NearEnd != session.EndUnknown {
			t.Errorf("noise of %g: %s, %q", sigma, c.Verdict, c.Advice)
		}
	}
}

// The verdict goes from covered to gap where thin-lens depth of field says so: a step of
// two blurs of 1.5 circles, within 15 % of it. Steps between 3 frames on either side stay small.
func TestGapFlipsWhereTheThinLensSays(t *testing.T) {
	for _, kind := range []relief.Kind{relief.Fine, relief.Coarse} {
		s := relief.New(kind, testW, testH, 11, func(x, y float64) float64 { return testCircle * 9.5 * (1 - y) })
		begun := shoot(t, s, []float64{0, 2, 4 - 0.5}, nil)
		for _, c := range []struct {
			step float64
			gap  bool
		}{{3 * 0.85, false}, {3 * 1.15, true}} {
			places := []float64{0, 2, 4 - 0.5, 4 - 0.5 + c.step, 6 - 0.5 + c.step, 8 - 0.5 + c.step}
			got := shootOn(t, begun, s, places, nil).Check(testOptions)
			want := []string{}
			if c.gap {
				want = append(want, "2-3")
			}
			said := []string{}
			for _, g := range got.Gaps {
				said = append(said, g.After+"-"+g.Before)
			}
			if !slices.Equal(said, want) {
				t.Errorf("%s, a step of %.2f circles: gaps %v, want %v", kind, c.step, said, want)
			}
		}
	}
}

// The same at several apertures and magnifications, the subject and the steps given in millimetres: a gap begins at one
// and a half depths of field, 2 c N (1 + m)/m^2 (Lefkowitz's formula for close-ups; a blur of 1.5 circles in the middle), whatever
// a thin lens makes of it. Dark and of coarse texture as well.
func TestGapFlipsAtAnyApertureAndMagnification(t *testing.T) {
	const c = 0.03 // mm, which are testCircle pixels
	for _, set := range []struct {
		f, n, m float64
		kind    relief.Kind
		ev      float64
	}{
		{100, 8, 0.5, relief.Fine, -4},
		{60, 4, 1, relief.Coarse, -4},
		{100, 11, 0.25, relief.Coarse, 0},
		{65, 5.6, 3, relief.Fine, 0},
	} {
		image := func(u float64) float64 { return 1 / (1/set.f - 1/u) }
		// The disc of a point of image distance v on a sensor at v0 is f/N |v0 - v|/v; with the logarithm it is a difference of
		// places. Nearer is less.
		place := func(u float64) float64 { return -set.f / set.n * math.Log(image(u)) / c * testCircle }
		deep := func(u float64) float64 { // depth of field
			m := set.f / (u - set.f)
			return 2 * c * set.n * (1 + m) / (m * m)
		}
		near := set.f * (1 + 1/set.m)
		far := near + 4.75*deep(near)
		s := relief.New(set.kind, testW, testH, 11, func(x, y float64) float64 { return place(near + (far-near)*(1-y)) })
		shots := func(step float64) (at []float64) { // in depths of field
			u := near
			for _, d := range []float64{0, 0.9, 0.8, step, 0.9, 0.9} {
				u += d * deep(u+d*deep(u)/2)
				at = append(at, place(u)/testCircle)
			}
			return at
		}
		change := func(_ int, shot *relief.Shot) { shot.EV, shot.Move = set.ev, plane.Identity }
		begun := shoot(t, s, shots(0)[:3], change)
		for _, step := range []float64{1.5 * 0.85, 1.5 * 1.15} {
			got := shootOn(t, begun, s, shots(step), change).Check(testOptions)
			if want := step > 1.5; want != (len(got.Gaps) == 1 && got.Gaps[0].After == "2" && got.Gaps[0].Before == "3") || len(got.Gaps) > 1 {
				t.Errorf("%g mm, f/%g, magnification %g, %s, %g EV, a step of %.2f depths of field: gaps %v", set.f, set.n, set.m, set.kind, set.ev, step, got.Gaps)
			}
		}
	}
}

// One stack tells everything: places, order, ends, how frames lie, light, words.
func TestCheckOfASoundStack(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 4, func(x, y float64) float64 { return testCircle * (0.2 + 9.6*(1-y)) })
	places := []float64{10, 8, 6, 4, 2, 0} // shot from far to near
	c := shoot(t, s, places, func(i int, shot *relief.Shot) {
		if i == 4 {
			shot.EV = 0.05
		}
	}).Check(testOptions)
	if c.Verdict != session.VerdictCovered || !c.Sure || c.NearEnd != session.EndClosed || c.FarEnd != session.EndClosed || len(c.Gaps) != 0 {
		t.Fatalf("%s (sure %v), %s, %s, gaps %v", c.Verdict, c.Sure, c.NearEnd, c.FarEnd, c.Gaps)
	}
	if !c.LightSteady || !c.SettingsSteady {
		t.Error("unsteady")
	}
	for i, f := range c.Frames {
		if f.Place == nil || math.Abs(*f.Place-places[i]/10) > 0.05 {
			t.Errorf("frame %d stands at %v, want %.2f", i, f.Place, places[i]/10)
			continue
		}
		// A circle of confusion on either side of places 0 to 10.
		if w := *f.Far - *f.Near; math.Abs(w-0.2) > 0.03 {
			t.Errorf("frame %d holds %.3f, want 0.2", i, w)
		}
		// On the middle frame (index 3, at place 4).
		move := func(i int) plane.Similarity {
			return plane.Similarity{Scale: 1 - 0.0008*places[i], DX: 0.3 * float64(i%3), DY: -0.2 * float64(i%2)}
		}
		want := move(3).Inverse().Then(move(i))
		if math.Hypot(f.Shift[0]-want.DX, f.Shift[1]-want.DY) > 0.1 || math.Abs(f.Scale-want.Scale) > 2e-4 || math.Abs(f.TurnDegrees) > 0.01 {
			t.Errorf("frame %d lies at %v, %.5f, %.4f; want %+v", i, f.Shift, f.Scale, f.TurnDegrees, want)
		}
		if f.Blurred || f.LightDiffers || f.Moved {
			t.Errorf("frame %d is called faulty: %+v", i, f)
		}
	}
	if ev := c.Frames[4].BrightnessEV; math.Abs(ev-0.05) > 0.02 {
		t.Errorf("frame 4 is brighter by %.3f EV, want 0.05", ev)
	}
}

// The wanted area limits everything: a stack that misses the near part is covered when only
// the far part is wanted.
func TestWantedArea(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 4, func(x, y float64) float64 { return testCircle * 12 * (1 - y) })
	st := shoot(t, s, []float64{6, 8, 10, 12}, nil)
	if c := st.Check(testOptions); c.Verdict != session.VerdictNearOpen {
		t.Errorf("all wanted: %s", c.Verdict)
	} else if !strings.Contains(c.Advice.String(), "frame 1") {
		t.Errorf("advice names no frame: %q", c.Advice)
	}
	o := testOptions
	o.Wanted = [][2]float64{{0, 0}, {1, 0}, {1, 0.45}, {0, 0.45}}
	c := st.Check(o)
	if c.Verdict != session.VerdictCovered {
		t.Errorf("the far part wanted: %s, %q", c.Verdict, c.Advice)
	}
	// Set aside, a frame is missed, and the others are held to the same.
	o.Without = []string{"2"}
	if c := st.Check(o); len(c.Frames) != 3 || len(c.Gaps) != 1 || c.Gaps[0].After != "1" || c.Gaps[0].Before != "3" {
		t.Errorf("the third set aside: %s, %v", c.Verdict, c.Gaps)
	}
}

// A wanted area stays on the part of the subject that it was drawn on, whichever frame is the middle
// one, and even when the frame that it was drawn on is set aside.
func TestWantedAreaStaysOnTheSubject(t *testing.T) {
	const n = 5
	shift := func(i int) (x, y float64) { return 6 * float64(i), -4 * float64(i) }
	s := relief.New(relief.Fine, 240, 160, 4, func(x, y float64) float64 { return 0 })
	st := &Stack{}
	for i := range n {
		shot := relief.Shot{Place: 0.1 * float64(i), Seed: uint64(i), Move: plane.Identity}
		shot.Move.DX, shot.Move.DY = shift(i)
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: s.Shoot(shot)}); err != nil {
			t.Fatal(err)
		}
	}
	drawn := session.Area{{0.3, 0.4}, {0.5, 0.4}, {0.5, 0.7}}
	for _, c := range []struct {
		on      int
		without []string
		middle  int
	}{
		{0, nil, 2},
		{4, nil, 2},
		{2, nil, 2},
		{0, []string{"4"}, 2},
		{0, []string{"0"}, 3},
		{1, []string{"1", "3"}, 2},
		{4, []string{"3", "4"}, 1},
	} {
		got := st.Check(Options{Wanted: drawn, WantedOn: fmt.Sprint(c.on), Without: c.without})
		fx, fy := shift(c.on)
		tx, ty := shift(c.middle)
		if len(got.Frames) != n-len(c.without) || len(got.Wanted) != len(drawn) {
			t.Fatalf("on %d without %v: %d frames, wanted %v", c.on, c.without, len(got.Frames), got.Wanted)
		}
		for i, p := range got.Wanted {
			x, y := (p[0]-drawn[i][0])*240-(tx-fx), (p[1]-drawn[i][1])*160-(ty-fy)
			if math.Hypot(x, y) > 0.25 {
				t.Errorf("on %d without %v: corner %d is off by %.2f, %.2f pixels", c.on, c.without, i, x, y)
			}
		}
	}
}

func TestBadInput(t *testing.T) {
	const w, h = 360, 240
	flat := func(v uint8) *plane.RGB {
		p := plane.NewRGB(w, h)
		for i := range p.Pix {
			p.Pix[i] = v
		}
		return p
	}
	subject := relief.New(relief.Fine, w, h, 1, func(x, y float64) float64 { return 3 * (1 - y) })
	good := func(i int) *plane.RGB { return subject.Shoot(relief.Shot{Place: float64(i) * 0.8, Seed: uint64(i)}) }
	other := func(i int) *plane.RGB {
		return relief.New(relief.Fine, w, h, uint64(100+i), func(x, y float64) float64 { return 0 }).Shoot(relief.Shot{})
	}
	shape := plane.NewRGB(h, w) // a frame turned by a quarter
	for i, from := 0, good(0); i < len(shape.Pix); i++ {
		x, y := i/3%h, i/3/h
		shape.Pix[i] = from.Pix[3*(x*w+y)+i%3]
	}
	headlines := map[string]string{
		"black": "Undecided.", "different shape": "Frames 1 and 2 do not lie on each other.", "unalignable": "3 frames do not lie on the others.",
	}
	for name, c := range map[string]struct {
		frames []*plane.RGB
		want   []session.Verdict
	}{
		"none":            {nil, []session.Verdict{session.VerdictTooFew}},
		"one":             {[]*plane.RGB{good(0)}, []session.Verdict{session.VerdictTooFew}},
		"black":           {[]*plane.RGB{flat(0), flat(0), flat(0)}, []session.Verdict{session.VerdictUndecided}},
		"white":           {[]*plane.RGB{flat(255), flat(255), flat(255)}, []session.Verdict{session.VerdictUndecided}},
		"grey":            {[]*plane.RGB{flat(128), flat(128)}, []session.Verdict{session.VerdictUndecided}},
		"different shape": {[]*plane.RGB{good(0), shape}, []session.Verdict{session.VerdictUndecided}},
		"unalignable":     {[]*plane.RGB{other(0), other(1), other(2), other(3)}, []session.Verdict{session.VerdictUndecided}},
		"tiny":            {[]*plane.RGB{plane.NewRGB(1, 1), plane.NewRGB(1, 1)}, []session.Verdict{session.VerdictUndecided}},
		"a wrong one":     {[]*plane.RGB{good(0), good(1), other(5), good(2), good(3), good(4)}, []session.Verdict{session.VerdictCovered, session.VerdictFarOpen}},
	} {
		var st Stack
		for i, p := range c.frames {
			if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
				t.Fatal(err)
			}
		}
		got := st.Check(Options{CircleOfConfusion: 0.48 / math.Hypot(w, h)})
		if !slices.Contains(c.want, got.Verdict) {
			t.Errorf("%s: %s (%s), want %v", name, got.Verdict, got.Advice, c.want)
		}
		if got.Headline.Form == "" || got.Advice.Form == "" {
			t.Errorf("%s: nothing is said", name)
		}
		if want, ok := headlines[name]; ok && got.Headline.String() != want {
			t.Errorf("%s: %q, want %q", name, got.Headline, want)
		}
		if name == "one" && (!got.Frames[0].Aligned || strings.Contains(got.Advice.String(), "aside")) {
			t.Errorf("a frame that is alone does not lie on itself: %q", got.Advice)
		}
		if name == "a wrong one" && (got.Frames[2].Aligned || got.Frames[2].Place != nil || got.Sure) {
			t.Errorf("the wrong frame is taken for one of the stack: %+v", got.Frames[2])
		}
	}
	var st Stack
	if err := st.Add(Frame{}); err != ErrEmpty {
		t.Errorf("no picture: %v", err)
	}
}

// An end is not called closed where it is not known of much of the subject where it lies: here, tile by tile, of a
// quarter and of a half. A gap that is seen stays one.
func TestMuchOfUnknownDepthIsUndecided(t *testing.T) {
	const tiles = 100
	for vague, want := range map[int]session.Verdict{tiles / 4: session.VerdictCovered, tiles / 2: session.VerdictUndecided} {
		st := &Stack{}
		c := &session.Check{LightSteady: true, SettingsSteady: true}
		a := &analysis{circle: 1, tw: 10, th: tiles / 10}
		p := &places{ev: &evidence{n: 4, tw: 10}, s: []float64{0, 2, 4, 6}, skip: make([]bool, 4)}
		p.sort()
		a.places = p
		r := &ranks{order: p.order, s: p.s, sd: make([]float64, 4)}
		for i := range 4 {
			a.in = append(a.in, i)
			st.frames = append(st.frames, &frame{fingerprint: fmt.Sprint(i), number: i + 1})
			c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: fmt.Sprint(i), Aligned: true})
		}
		for k := range tiles {
			f := tileFit{ok: true, place: 6 * float64(k) / tiles, sd: 0.2, cost: 1, below: -9, above: -9}
			if k < vague {
				f.sd = 5
			} else {
				r.tiles = append(r.tiles, held{at: k, place: f.place, sd: f.sd})
			}
			p.ev.tiles = append(p.ev.tiles, tileEvidence{at: k, fit: f})
		}
		st.tellPlaces(c, a, r)
		st.tellGaps(c, a, r, &Options{})
		st.tellEnds(c, a, r)
		c.Verdict = verdict(c, nil)
		st.say(c, true, nil)
		if c.Verdict != want || c.Sure != (want == session.VerdictCovered) {
			t.Errorf("of %d %%: %s (sure %v), ends %s and %s", vague, c.Verdict, c.Sure, c.NearEnd, c.FarEnd)
		}
		if want == session.VerdictUndecided && !strings.Contains(c.Advice.String(), "depth cannot be told") {
			t.Errorf("of %d %%: %q", vague, c.Advice)
		}
	}
}

// A tile that lies behind the last frame as far as a subject reaches is told from one that is background, by how its blur goes on
// from frame to frame: energies made by the thin lens' law, each off by a tenth.
func TestBackgroundIsNotSubject(t *testing.T) {
	const frames, circle = 8, 1.2
	for behind, want := range map[float64]bool{-2: false, 3: true, 5: true, 25: false, 60: false} {
		past := 0
		const times = 20
		for k := range times {
			r := rand.New(rand.NewPCG(uint64(k), 3))
			ev := &evidence{n: frames, tw: 1}
			e := tileEvidence{ln: make([]float32, bands*frames), floor: make([]float32, bands*frames), peak: frames - 1, spectrum: [bands]uint8{commonSlope, commonSlope, commonSlope, commonSlope}}
			if behind < 0 {
				e.peak--
			}
			p := &places{ev: ev, skip: make([]bool, frames), t: lens(), circle: circle}
			for i := range frames {
				p.s = append(p.s, 2*circle*float64(i))
			}
			for i, s := range p.s {
				for b := range bands {
					lnH, _ := p.t.at(commonSlope, b, math.Abs(s-p.s[frames-1]-behind*circle))
					e.ln[b*frames+i], e.floor[b*frames+i] = float32(-6+lnH+0.1*r.NormFloat64()), -14
				}
			}
			ev.tiles = append(ev.tiles, e)
			p.sort()
			p.fitTile(&ev.tiles[0])
			if ev.tiles[0].fit.above > 0 {
				past++
			}
		}
		if want && past < times*9/10 || !want && past > times/10 {
			t.Errorf("%g circles behind: of %d tiles %d are said to be subject past the end", behind, times, past)
		}
	}
}

// Frames that do not lie on the others are counted and named, in the singular and the plural, and
// it is said what to do with them.
func TestWordsOnFramesThatLieElsewhere(t *testing.T) {
	laid := func(apart ...int) *session.Check {
		c := &session.Check{NeverSharp: make([]byte, 1)}
		for i := range 9 {
			c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: fmt.Sprint(i + 1), Aligned: !slices.Contains(apart, i+1)})
		}
		return c
	}
	st := &Stack{}
	for i := range 9 {
		st.frames = append(st.frames, &frame{fingerprint: fmt.Sprint(i + 1), number: i + 1})
	}
	for _, c := range []struct {
		verdict          session.Verdict
		apart            []int
		headline, advice string
	}{
		{session.VerdictUndecided, []int{4}, "Frame 4 does not lie on the others.", "Set frame 4 aside, or shoot it again"},
		{session.VerdictUndecided, []int{4, 7}, "2 frames do not lie on the others.", "Set frames 4 and 7 aside, or shoot them again"},
		{session.VerdictUndecided, []int{4, 7, 8}, "3 frames do not lie on the others.", "Set frames 4, 7 and 8 aside, or shoot them again"},
		{session.VerdictUndecided, []int{3, 4, 5, 7, 8}, "5 frames do not lie on the others.", "Set frames 3, 4, 5 and 2 more aside"},
		{session.VerdictCovered, []int{4}, "Free to move.", "Frame 4 does not lie on the others and was left out: set it aside."},
		{session.VerdictCovered, []int{4, 7}, "Free to move.", "2 frames do not lie on the others and were left out: set them aside."},
		{session.VerdictFarOpen, []int{4}, "Go on farther.", "Frame 4 does not lie on the others and was left out: set it aside."},
	} {
		got := laid(c.apart...)
		got.Verdict = c.verdict
		st.say(got, true, nil)
		if got.Headline.String() != c.headline || !strings.Contains(got.Advice.String(), c.advice) || got.Sure {
			t.Errorf("%s, apart %v: %q, %q (sure %v)", c.verdict, c.apart, got.Headline, got.Advice, got.Sure)
		}
	}
	two := &Stack{frames: st.frames[:2]}
	got := laid(1)
	got.Frames, got.Verdict = got.Frames[:2], session.VerdictUndecided
	if two.say(got, true, nil); got.Headline.String() != "Frames 1 and 2 do not lie on each other." {
		t.Errorf("two frames: %q", got.Headline)
	}
}

// A few stacks of the bench, with and without faults.
func TestFewOfTheBench(t *testing.T) {
	var sc score
	for _, seed := range []uint64{89, 213, 50120} {
		s := relief.Make(seed)
		sc.add(s, check(s))
	}
	for _, w := range sc.wrong {
		t.Error(w)
	}
}

// The ends and gaps of a few set-ups on a table, dark ones among them: rounded things of another texture than the table
// under them, in noise and before backgrounds that lie anywhere.
func TestEndsOfAFewTables(t *testing.T) {
	for _, seed := range []uint64{90432, 90452} {
		s := relief.MakeTable(seed)
		var sc score
		sc.add(s, check(s))
		for name, q := range map[string]tally{"gap": sc.gap, "near end": sc.near, "far end": sc.far} {
			if q.miss+q.false_ > 0 {
				t.Errorf("%s: %s: %s", s, name, &q)
			}
		}
	}
}

// Under one lamp the same noise of the sensor is the coarser the darker the tone that it lies on, by
// the slope of sRGB's curve (IEC 61966-2-1): what is noise in the dark tones of a picture without
// detail is told as their own, and not as that of the lighter ones beside them.
func TestNoiseOfDarkTones(t *testing.T) {
	const sigma = 0.0008 // of linear light
	encode := func(v float64) float64 {
		if v <= 0.0031308 {
			return 12.92 * max(v, 0)
		}
		return 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	tones := []float64{0.004, 0.01, 0.022} // of linear light: 0.05, 0.1 and 0.16 as encoded
	const strip, high = 320, 640
	r := rand.New(rand.NewPCG(11, 4))
	p := plane.New(strip*len(tones), high)
	variances := make([]float64, len(tones))
	for k, tone := range tones {
		for y := range high {
			row := p.Row(y)[k*strip:][:strip]
			for x := range row {
				v := encode(tone + sigma*r.NormFloat64())
				row[x] = float32(v)
				variances[k] += (v - encode(tone)) * (v - encode(tone)) / (strip * high)
			}
		}
	}
	f := measure(p).quiet()
	for k, tone := range tones {
		if got := f.at(0, encode(tone)) / whiteNoise().mean[0]; math.Abs(got/variances[k]-1) > 0.25 {
			t.Errorf("at %.2f the noise has a variance of %.3g, told is %.3g", encode(tone), variances[k], got)
		}
	}
}

package align

import (
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

const frameW, frameH = 960, 640

// apart is the RMS distance, over a frame, of where two similarities put a detail.
func apart(a, b plane.Similarity) float64 {
	d := a.Scale*math.Cos(a.Turn) - b.Scale*math.Cos(b.Turn)
	e := a.Scale*math.Sin(a.Turn) - b.Scale*math.Sin(b.Turn)
	return math.Sqrt(sq(a.DX-b.DX) + sq(a.DY-b.DY) + (d*d+e*e)*(frameW*frameW+frameH*frameH)/12)
}

func sq(x float64) float64 { return x * x }

// known is a pair of made-up frames whose movement is known.
type known struct {
	name string
	a, b *plane.RGB
	move plane.Similarity
}

// pairs makes frames that are focused at different depths of a slope and moved by up to
// 3 % in size and 2 % of the long side, in every texture.
func pairs() []known {
	var out []known
	for k, kind := range relief.Kinds {
		s := relief.New(kind, frameW, frameH, uint64(k), func(x, y float64) float64 { return 20 * (1 - y) })
		a := s.Shoot(relief.Shot{Place: 8, Noise: relief.ISO(400), Seed: 1})
		for i, m := range []plane.Similarity{
			{Scale: 1, DX: 3.3, DY: -2.1},
			{Scale: 1.03, Turn: 0.01, DX: 0.02 * frameW, DY: -8.7},
			{Scale: 0.97, Turn: -0.004, DX: 0.4, DY: 0.02 * frameW},
		} {
			b := s.Shoot(relief.Shot{Place: 11, Move: m, Noise: relief.ISO(400), Seed: 2 + uint64(i)})
			out = append(out, known{fmt.Sprint(kind, i), a, b, m})
		}
	}
	return out
}

// TestAgainstOpenCV lays known pairs on each other to a tenth of a pixel, and over all of
// them no worse than OpenCV's findTransformECC (testdata/reference/align_opencv.py
// says how its figures are made again; with STILLBENCH_FRAMES set, the frames are written there).
func TestAgainstOpenCV(t *testing.T) {
	folder := os.Getenv("STILLBENCH_FRAMES")
	var reference struct {
		Cases []struct {
			Name      string
			RMSPixels *float64
		}
	}
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "align_opencv.json"))
	if err == nil {
		err = json.Unmarshal(data, &reference)
	}
	if err != nil && folder == "" {
		t.Fatal(err)
	}
	var cases []map[string]any
	ours, theirs := 0.0, 0.0
	for i, p := range pairs() {
		if folder != "" {
			writePNG(t, filepath.Join(folder, p.name+"-a.png"), p.a)
			writePNG(t, filepath.Join(folder, p.name+"-b.png"), p.b)
			cases = append(cases, map[string]any{"name": p.name, "scale": p.move.Scale, "turn": p.move.Turn, "dx": p.move.DX, "dy": p.move.DY})
		}
		got, err := Measure(Prepare(p.a.Luma()), Prepare(p.b.Luma()), nil)
		if err != nil {
			t.Errorf("%s: %v", p.name, err)
			continue
		}
		e := apart(got.Move, p.move)
		if e > 0.1 {
			t.Errorf("%s: off by %.3f pixels", p.name, e)
		}
		if got.Sigma > 0.1 || e > 12*got.Sigma {
			t.Errorf("%s: off by %.3f pixels, and says %.3f", p.name, e, got.Sigma)
		}
		if folder == "" {
			ref := reference.Cases[i]
			if ref.Name != p.name {
				t.Fatalf("the reference has %s in place of %s", ref.Name, p.name)
			}
			if ref.RMSPixels != nil {
				theirs += sq(*ref.RMSPixels)
				ours += sq(e)
			}
			t.Logf("%s: %.3f pixels (says %.3f)", p.name, e, got.Sigma)
		}
	}
	if folder == "" {
		t.Logf("over all: %.4f pixels, OpenCV %.4f", math.Sqrt(ours/float64(len(reference.Cases))), math.Sqrt(theirs/float64(len(reference.Cases))))
		if ours > theirs {
			t.Errorf("worse than OpenCV over all")
		}
	}
	if folder != "" {
		data, err := json.Marshal(cases)
		if err == nil {
			err = os.WriteFile(filepath.Join(folder, "cases.json"), data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

func writePNG(t *testing.T, name string, p *plane.RGB) {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, p.W, p.H))
	for y := range p.H {
		for x := range p.W {
			s := p.Pix[3*(y*p.W+x):]
			img.SetRGBA(x, y, color.RGBA{s[0], s[1], s[2], 255})
		}
	}
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
}

// Frames of different things, and frames of nothing, are refused.
func TestMeasureRefuses(t *testing.T) {
	picture := func(kind relief.Kind, seed uint64) *Frame {
		s := relief.New(kind, 480, 320, seed, func(x, y float64) float64 { return 0 })
		return Prepare(s.Shoot(relief.Shot{Noise: relief.ISO(400), Seed: seed}).Luma())
	}
	flat := func(v float32, noise float64, seed uint64) *Frame {
		r := rand.New(rand.NewPCG(seed, 1))
		p := plane.New(480, 320)
		for i := range p.Pix {
			p.Pix[i] = v + float32(noise*r.NormFloat64())
		}
		return Prepare(p)
	}
	for name, pair := range map[string][2]*Frame{
		"two subjects":     {picture(relief.Fine, 1), picture(relief.Fine, 2)},
		"two textures":     {picture(relief.Hairs, 3), picture(relief.Coarse, 4)},
		"black":            {flat(0, 0, 1), flat(0, 0, 2)},
		"white":            {flat(1, 0, 1), flat(1, 0, 2)},
		"noise alone":      {flat(0.4, 0.02, 1), flat(0.4, 0.02, 2)},
		"subject on black": {picture(relief.Fine, 1), flat(0, 0, 2)},
		"tiny":             {Prepare(plane.New(5, 3)), Prepare(plane.New(5, 3))},
	} {
		if p, err := Measure(pair[0], pair[1], nil); !errors.Is(err, ErrNothingShared) {
			t.Errorf("%s: %v, %+v", name, err, p)
		}
	}
	if _, err := Measure(flat(0, 0, 1), Prepare(plane.New(320, 480)), nil); !errors.Is(err, ErrSize) {
		t.Errorf("another shape: %v", err)
	}
}

// In a camera's noise at a high sensitivity, in the dark, two frames hardly correlate where they lie on each other; how they do is
// found nonetheless, to within two pixels, and frames of other things are refused.
func TestMeasureInTheDark(t *testing.T) {
	shot := func(seed uint64, place float64, move plane.Similarity, noise uint64) *Frame {
		// Blotches on a third of a ground that is plain.
		s := relief.New(relief.Coarse, 720, 480, seed, func(x, y float64) float64 {
			if x < 0.35 {
				return 0
			}
			return 300
		})
		return Prepare(s.Shoot(relief.Shot{Place: place, Move: move, EV: -7.5, Noise: relief.ISO(6400), Camera: true, Seed: noise}).Luma())
	}
	a := shot(5, 0, plane.Identity, 1)
	move := plane.Similarity{Scale: 1.004, DX: -3, DY: 5}
	p, err := Measure(a, shot(5, 4, move, 2), nil)
	if off := apart(p.Move, move); err != nil || off > 2 || p.Correlation > 0.9*minCorrelation {
		t.Errorf("correlation %.2f, off by %.2f pixels, %v", p.Correlation, off, err)
	}
	for seed := range uint64(4) {
		if p, err := Measure(a, shot(20+seed, 0, plane.Identity, 3+seed), nil); err == nil {
			t.Errorf("another subject, seed %d: %+v", 20+seed, p)
		}
	}
}

// Links that contradict each other a little are made to agree; a chain adds up exactly.
func TestSolve(t *testing.T) {
	truth := []plane.Similarity{plane.Identity}
	r := rand.New(rand.NewPCG(5, 5))
	for i := 1; i < 12; i++ {
		truth = append(truth, truth[i-1].Then(plane.Similarity{Scale: 1 + 0.002*r.NormFloat64(), Turn: 0.001 * r.NormFloat64(), DX: 3 * r.NormFloat64(), DY: 3 * r.NormFloat64()}))
	}
	link := func(i, j int, noise float64) Link {
		m := truth[i].Inverse().Then(truth[j])
		m.DX += noise * r.NormFloat64()
		m.DY += noise * r.NormFloat64()
		return Link{From: i, To: j, Pair: Pair{Move: m, Sigma: 0.01 + noise}}
	}
	var exact, noisy []Link
	for i := 1; i < 11; i++ { // frame 11 is linked to nothing
		exact = append(exact, link(i-1, i, 0))
		noisy = append(noisy, link(i-1, i, 0.05))
		if i > 1 {
			noisy = append(noisy, link(i-2, i, 0.05))
		}
	}
	for name, c := range map[string]struct {
		links []Link
		off   float64
	}{"exact": {exact, 1e-9}, "noisy": {noisy, 0.25}} {
		moves, aligned := Solve(12, 6, c.links)
		for i := range 11 {
			want := truth[6].Inverse().Then(truth[i])
			if e := apart(moves[i], want); !aligned[i] || e > c.off {
				t.Errorf("%s, frame %d: off by %g", name, i, e)
			}
		}
		if aligned[11] || moves[11] != plane.Identity {
			t.Errorf("%s: a frame without a link is laid somewhere", name)
		}
	}
	if moves, aligned := Solve(0, 0, nil); len(moves) != 0 || len(aligned) != 0 {
		t.Error("no frames, but movements")
	}
}

// A transform and its inverse give back what was put in; and a shifted picture has its
// peak at the shift (Fourier shift theorem).
func TestPhaseShift(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	a, b := make([]complex128, phaseSide*phaseSide), make([]complex128, phaseSide*phaseSide)
	for y := range phaseSide {
		for x := range phaseSide {
			v := complex(r.NormFloat64(), 0)
			a[y*phaseSide+x] = v
			b[((y+250)%phaseSide)*phaseSide+(x+17)%phaseSide] = v
		}
	}
	dx, dy, peak := phaseShift(a, b)
	if math.Abs(dx-17) > 1e-6 || math.Abs(dy+6) > 1e-6 || math.Abs(peak-1) > 1e-6 {
		t.Errorf("shift %g, %g with peak %g; want 17, -6 with 1", dx, dy, peak)
	}
}

func BenchmarkMeasure(b *testing.B) {
	s := relief.New(relief.Fine, 2048, 1366, 1, func(x, y float64) float64 { return 20 * (1 - y) })
	fa := Prepare(s.Shoot(relief.Shot{Place: 8}).Luma())
	luma := s.Shoot(relief.Shot{Place: 11, Move: plane.Similarity{Scale: 1.004, DX: 5}}).Luma()
	b.Run("prepare", func(b *testing.B) {
		for b.Loop() {
			Prepare(luma)
		}
	})
	fb := Prepare(luma)
	b.Run("pair", func(b *testing.B) {
		for b.Loop() {
			if _, err := Measure(fa, fb, nil); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// From Reversal on a disc of defocus turns the detail that parts are compared by: it is the first zero of
// the disc at the frequency that the band lets through most.
func TestReversal(t *testing.T) {
	f := Prepare(plane.New(finest, 256))
	middle := 1.2197 / f.Reversal() // of Airy's disc, the first zero of J1 over pi
	through := func(frequency float64) float64 {
		p := plane.New(512, 64)
		for i := range p.Pix {
			p.Pix[i] = float32(math.Sin(2 * math.Pi * frequency * float64(i%p.W)))
		}
		fine := plane.Blur(nil, p, fineSigma)
		wide := plane.Blur(nil, fine, coarseSigma)
		sum := 0.0
		for x := 128; x < 384; x++ { // away from the edges
			sum += float64(fine.Row(32)[x]-wide.Row(32)[x]) * float64(fine.Row(32)[x]-wide.Row(32)[x])
		}
		return sum
	}
	if most := through(middle); through(middle/1.5) >= most || through(middle*1.5) >= most {
		t.Errorf("the band lets through %g at %.3f, %g below and %g above", most, middle, through(middle/1.5), through(middle*1.5))
	}
	// The same disc has twice the diameter on a frame worked on at twice the size.
	if g := Prepare(plane.New(2*finest, 512)); math.Abs(g.Reversal()/f.Reversal()-2) > 1e-6 {
		t.Errorf("at twice the size %.2f, want twice %.2f", g.Reversal(), f.Reversal())
	}
}

// What comes again and again cannot be told to have moved: a blur that reverses the stripes of a cloth looks as if they lay half a
// distance away. A texture that does not repeat, and lies elsewhere by as much, has moved.
func TestStripesThatAreReversedHaveNotMoved(t *testing.T) {
	const w, h, period = 640, 480, 12.0
	r := rand.New(rand.NewPCG(3, 8))
	grain := plane.New(w, h)
	for i := range grain.Pix {
		grain.Pix[i] = 2 * float32(r.NormFloat64())
	}
	grain = plane.Blur(nil, grain, 2)
	stripes := func(x, y int, reversed bool) float64 { // as of a cloth: their strength varies
		v := (0.1 + 0.3*float64(grain.Pix[y*w+x])) * math.Sin(2*math.Pi*(float64(x)+0.3*float64(y))/period)
		if reversed {
			return -v
		}
		return v
	}
	for _, c := range []struct {
		name string
		at   func(x, y int, other bool) float64
		want bool
	}{
		{"stripes, reversed", func(x, y int, other bool) float64 { return stripes(x, y, other && x > w/2) }, false},
		{"grain, six pixels away", func(x, y int, other bool) float64 {
			if other && x > w/2 {
				x -= 6
			}
			return float64(grain.Pix[y*w+x])
		}, true},
	} {
		a, b := plane.New(w, h), plane.New(w, h)
		for y := range h {
			for x := range w {
				a.Pix[y*w+x] = float32(0.5 + c.at(x, y, false) + 0.004*r.NormFloat64())
				b.Pix[y*w+x] = float32(0.5 + c.at(x, y, true) + 0.004*r.NormFloat64())
			}
		}
		parts := 0
		for _, p := range Elsewhere(Prepare(a), Prepare(b), plane.Identity) {
			if p.X > 60 {
				parts++
			}
		}
		t.Logf("%s: %d parts", c.name, parts)
		if c.want != (parts > 50) || !c.want && parts > 5 {
			t.Errorf("%s: %d parts lie elsewhere", c.name, parts)
		}
	}
}

package plane

import (
	"math"
	"math/rand/v2"
	"testing"
)

// near fails the test if two values differ by more than tol.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

func worst(a, b *Plane) float64 {
	w := 0.0
	for i := range a.Pix {
		w = math.Max(w, math.Abs(float64(a.Pix[i]-b.Pix[i])))
	}
	return w
}

// noise is a plane of even random values in 0..1.
func noise(w, h int, seed uint64) *Plane {
	r := rand.New(rand.NewPCG(seed, 1))
	p := New(w, h)
	for i := range p.Pix {
		p.Pix[i] = r.Float32()
	}
	return p
}

// sizes has odd, even, tiny, and one that is shared out over processors.
var sizes = [][2]int{{1, 1}, {1, 7}, {7, 1}, {2, 2}, {5, 3}, {16, 9}, {33, 20}, {400, 301}}

func TestLumaAndChannels(t *testing.T) {
	p := NewRGB(3, 1)
	p.Pix = []uint8{255, 0, 0, 0, 255, 0, 0, 0, 255}
	// ITU-R BT.601 section 2.5.1.
	for i, want := range []float64{0.299, 0.587, 0.114} {
		near(t, "luma", float64(p.Luma().Pix[i]), want, 1e-6)
	}
	c := p.Channels()
	for i := range 3 {
		for x := range 3 {
			want := 0.0
			if i == x {
				want = 1
			}
			near(t, "channel", float64(c[i].Pix[x]), want, 0)
		}
	}
}

func TestSRGB(t *testing.T) {
	// IEC 61966-2-1: the straight part ends at an encoded 0.04045; the two parts meet
	// there to within the rounding of the standard's constants.
	near(t, "black", Linearize(0), 0, 0)
	near(t, "white", Linearize(1), 1, 1e-12)
	near(t, "knee", Linearize(0.04045), 0.04045/12.92, 1e-12)
	near(t, "just above the knee", Linearize(0.0404501), 0.04045/12.92, 1e-6)
	// Middle grey of 18 % reflectance, a value of common knowledge: code 117 to 118.
	near(t, "18 % grey", Encode(0.18)*255, 117.6, 0.2)
	for v := 0.0; v <= 1; v += 1.0 / 512 {
		near(t, "there and back", Encode(Linearize(v)), v, 2e-5)
	}
	for v := range 256 {
		if got := Encode8(Linear8(uint8(v))); got != uint8(v) {
			t.Errorf("Encode8(Linear8(%d)) = %d", v, got)
		}
	}
	r := rand.New(rand.NewPCG(3, 3))
	for range 10000 {
		light := r.Float64() * r.Float64() * r.Float64()
		near(t, "Encode8", float64(Encode8(float32(light))), Encode(light)*255, 0.56)
	}
	for light, want := range map[float32]uint8{-1: 0, 2: 255, float32(math.NaN()): 0, float32(math.Inf(1)): 255} {
		if got := Encode8(light); got != want {
			t.Errorf("Encode8(%v) = %d, want %d", light, got, want)
		}
	}
}

// TestOriented checks CIPA DC-008-2019 section 4.6.4 (A), tag 0x0112: which side of the
// picture the stored 0th row and 0th column are.
func TestOriented(t *testing.T) {
	stored := NewRGB(3, 2)
	for i := range stored.Pix {
		stored.Pix[i] = uint8(i / 3) // pixel number: 0 1 2 / 3 4 5
	}
	for orientation, want := range map[int]struct {
		w   int
		pix []uint8
	}{
		0: {3, []uint8{0, 1, 2, 3, 4, 5}},
		1: {3, []uint8{0, 1, 2, 3, 4, 5}}, // row 0 top, column 0 left
		2: {3, []uint8{2, 1, 0, 5, 4, 3}}, // top, right
		3: {3, []uint8{5, 4, 3, 2, 1, 0}}, // bottom, right
		4: {3, []uint8{3, 4, 5, 0, 1, 2}}, // bottom, left
		5: {2, []uint8{0, 3, 1, 4, 2, 5}}, // left, top
		6: {2, []uint8{3, 0, 4, 1, 5, 2}}, // right, top
		7: {2, []uint8{5, 2, 4, 1, 3, 0}}, // right, bottom
		8: {2, []uint8{2, 5, 1, 4, 0, 3}}, // left, bottom
		9: {3, []uint8{0, 1, 2, 3, 4, 5}},
	} {
		got := stored.Oriented(orientation)
		if got.W != want.w || got.W*got.H != 6 || got.FullW != got.W || got.FullH != got.H {
			t.Errorf("orientation %d: %d x %d (full %d x %d)", orientation, got.W, got.H, got.FullW, got.FullH)
			continue
		}
		for i, v := range want.pix {
			if got.Pix[3*i] != v || got.Pix[3*i+2] != v {
				t.Errorf("orientation %d: pixel %d is %d, want %d", orientation, i, got.Pix[3*i], v)
			}
		}
	}
}

func TestCrop(t *testing.T) {
	p := NewRGB(4, 3)
	for i := range p.Pix {
		p.Pix[i] = uint8(i)
	}
	c := p.Crop(1, 1, 2, 2)
	want := []uint8{15, 16, 17, 18, 19, 20, 27, 28, 29, 30, 31, 32}
	for i, v := range want {
		if c.Pix[i] != v {
			t.Fatalf("crop is %v, want %v", c.Pix, want)
		}
	}
	mustPanic(t, badCrop, func() { p.Crop(3, 0, 2, 1) })
}

func mustPanic(t *testing.T, want string, do func()) {
	t.Helper()
	defer func() {
		if got := recover(); got != want {
			t.Errorf("panic %v, want %q", got, want)
		}
	}()
	do()
}

func TestReduce(t *testing.T) {
	// By hand: 3 pixels to 2 cover one and a half each.
	got := Reduce(nil, &Plane{W: 3, H: 1, Pix: []float32{3, 6, 9}}, 2, 1)
	near(t, "left", float64(got.Pix[0]), (3+6*0.5)/1.5, 1e-6)
	near(t, "right", float64(got.Pix[1]), (6*0.5+9)/1.5, 1e-6)

	for _, s := range sizes {
		src := noise(s[0], s[1], 7)
		for _, d := range [][2]int{{1, 1}, {(s[0] + 1) / 2, (s[1] + 2) / 3}, {s[0], s[1]}} {
			// The mean is kept.
			out := Reduce(nil, src, d[0], d[1])
			near(t, "mean", mean(out), mean(src), 2e-6)
			// One row, cell by cell, against the difference of the integral's values.
			row := &Plane{W: s[0], H: 1, Pix: src.Row(0)}
			for x, v := range Reduce(nil, row, d[0], 1).Pix {
				cell := float64(s[0]) / float64(d[0])
				want := (integral(row.Pix, float64(x+1)*cell) - integral(row.Pix, float64(x)*cell)) / cell
				near(t, "cell", float64(v), want, 1e-5)
			}
		}
		if w := worst(Reduce(nil, src, s[0], s[1]), src); w > 1e-6 {
			t.Errorf("%v: the same size changes values by %g", s, w)
		}
	}
	mustPanic(t, badReduce, func() { Reduce(nil, New(4, 4), 5, 4) })
	mustPanic(t, badSize, func() { Reduce(nil, New(4, 4), 0, 4) })
}

// integral adds up cells from 0 to x.
func integral(cells []float32, x float64) float64 {
	sum := 0.0
	for i, v := range cells {
		sum += float64(v) * min(max(x-float64(i), 0), 1)
	}
	return sum
}

func mean(p *Plane) float64 {
	sum := 0.0
	for _, v := range p.Pix {
		sum += float64(v)
	}
	return sum / float64(len(p.Pix))
}

func TestReduceRGB(t *testing.T) {
	// Half black and half white is half the light: sRGB code 187.5 (IEC 61966-2-1).
	p := NewRGB(2, 1)
	p.Pix = []uint8{0, 0, 255, 255, 255, 0}
	got := ReduceRGB(nil, p, 1, 1)
	near(t, "R", float64(got.Pix[0]), Encode(0.5)*255, 0.6)
	near(t, "G", float64(got.Pix[1]), Encode(0.5)*255, 0.6)
	near(t, "B", float64(got.Pix[2]), Encode(0.5)*255, 0.6)
	if got.FullW != 2 || got.FullH != 1 {
		t.Errorf("full size %d x %d", got.FullW, got.FullH)
	}
	same := ReduceRGB(got, p, 2, 1)
	if same != got || string(same.Pix) != string(p.Pix) {
		t.Error("the same size is no copy into the destination")
	}
}

func TestBlur(t *testing.T) {
	for _, sigma := range []float64{0.5, 1, 2.9, 3, 6, 15} {
		// An impulse becomes the Gaussian itself: its area, its variance, its peak.
		n := 2*int(8*sigma+8) + 1
		p := New(n, n)
		p.Pix[n*(n/2)+n/2] = 1
		Blur(p, p, sigma)
		sum, varX, varY := 0.0, 0.0, 0.0
		for i, v := range p.Pix {
			x, y := float64(i%n-n/2), float64(i/n-n/2)
			sum += float64(v)
			varX += x * x * float64(v)
			varY += y * y * float64(v)
		}
		near(t, "area", sum, 1, 1e-4)
		if sigma < 1 {
			continue // samples of so narrow a curve do not tell its variance
		}
		near(t, "variance along x", varX, sigma*sigma, 0.01*sigma*sigma+0.002)
		near(t, "variance along y", varY, sigma*sigma, 0.01*sigma*sigma+0.002)
		// Four boxes have an excess kurtosis of -1.2/4; by the Gram-Charlier series their
		// peak is lower by a factor of 1 - 0.3/8 along each axis.
		peak, worst := 1/(2*math.Pi*sigma*sigma), 0.0
		for i, v := range p.Pix {
			x, y := float64(i%n-n/2), float64(i/n-n/2)
			worst = math.Max(worst, math.Abs(float64(v)-peak*math.Exp(-(x*x+y*y)/(2*sigma*sigma))))
		}
		near(t, "shape against the peak", worst/peak, 0, 0.075)
	}
	for _, s := range sizes {
		flat := New(s[0], s[1])
		for i := range flat.Pix {
			flat.Pix[i] = 0.25
		}
		for _, sigma := range []float64{0, 1, 5, 40} {
			if w := worst(Blur(nil, flat, sigma), flat); w > 1e-5 {
				t.Errorf("%v sigma %g: a flat picture changes by %g", s, sigma, w)
			}
		}
	}
	mustPanic(t, badSigma, func() { Blur(nil, New(1, 1), math.NaN()) })
}

func TestPyramid(t *testing.T) {
	for _, s := range sizes {
		src := noise(s[0], s[1], 11)
		for levels := 1; levels <= 6; levels++ {
			lap := LaplacianPyramid(nil, src, levels)
			if w := worst(lap.Collapse(nil), src); w > 2e-6 {
				t.Errorf("%v, %d levels: collapsing is off by %g", s, levels, w)
			}
		}
		flat := New(s[0], s[1])
		for i := range flat.Pix {
			flat.Pix[i] = 0.5
		}
		for k, l := range LaplacianPyramid(nil, flat, 4) {
			want := float32(0)
			if k == len(LaplacianPyramid(nil, flat, 4))-1 {
				want = 0.5
			}
			for _, v := range l.Pix {
				if math.Abs(float64(v-want)) > 1e-6 {
					t.Fatalf("%v level %d of a flat picture: %g", s, k, v)
				}
			}
		}
	}
	// Down against the kernel of OpenCV's pyrDown, 1/256 [1 4 6 4 1] x [1 4 6 4 1]: an
	// impulse on an even pixel leaves the kernel's every second weight.
	p := New(9, 9)
	p.Pix[4*9+4] = 256
	d := Down(nil, p)
	for i, want := range []float64{0, 0, 0, 0, 0, 0, 1, 6, 1, 0, 0, 6, 36, 6, 0, 0, 1, 6, 1, 0} {
		near(t, "pyrDown's kernel", float64(d.Pix[i]), want, 1e-5)
	}
	mustPanic(t, badLevels, func() { GaussianPyramid(nil, p, 0) })
	mustPanic(t, badUp, func() { Up(nil, d, 11, 9) })
}

func TestPyramidReusesMemory(t *testing.T) {
	lap := LaplacianPyramid(nil, noise(64, 48, 1), 4)
	first := &lap[0].Pix[0]
	src := noise(64, 48, 2)
	lap = LaplacianPyramid(lap, src, 4)
	if &lap[0].Pix[0] != first {
		t.Error("the level was not reused")
	}
	if w := worst(lap.Collapse(nil), src); w > 2e-6 {
		t.Errorf("off by %g after reuse", w)
	}
}

// wave is a smooth picture whose values between the pixels are known.
func wave(w, h int, at func(x, y float64) (float64, float64)) *Plane {
	p := New(w, h)
	for y := range h {
		for x := range w {
			u, v := at(float64(x)-float64(w-1)/2, float64(y)-float64(h-1)/2)
			p.Pix[y*w+x] = float32(0.5 + 0.25*math.Sin(0.7*u+0.3*v) + 0.25*math.Cos(0.2*u-0.6*v))
		}
	}
	return p
}

func TestWarp(t *testing.T) {
	const w, h = 160, 120
	src := wave(w, h, Identity.Apply)
	for _, s := range []Similarity{
		Identity,
		{Scale: 1, DX: 3.25, DY: -2.5},
		{Scale: 1.03, Turn: 0.02, DX: -1.7, DY: 0.4},
		{Scale: 0.95, Turn: -0.4, DX: 2, DY: 1},
	} {
		got, want := Warp(nil, src, s), wave(w, h, s.Apply)
		worst := 0.0
		for y := range h {
			for x := range w {
				// Only where the source has the six pixels around.
				u, v := s.Apply(float64(x)-(w-1)/2.0, float64(y)-(h-1)/2.0)
				if math.Abs(u) > w/2-16 || math.Abs(v) > h/2-16 {
					continue
				}
				worst = math.Max(worst, math.Abs(float64(got.Pix[y*w+x]-want.Pix[y*w+x])))
			}
		}
		// Periods of 8 pixels and more: Lanczos-4 keeps them to within a percent.
		near(t, "warped wave", worst, 0, 0.01)
		if s == Identity {
			near(t, "identity", worst, 0, 0)
		}
	}
	flat := New(5, 4)
	for i := range flat.Pix {
		flat.Pix[i] = 1
	}
	for _, v := range Warp(nil, flat, Similarity{Scale: 1.3, Turn: 0.3, DX: 1000, DY: -7}).Pix {
		near(t, "flat", float64(v), 1, 1e-6)
	}
	mustPanic(t, badTurn, func() { Warp(nil, src, Similarity{Scale: 0}) })
	mustPanic(t, badTurn, func() { Warp(nil, src, Similarity{Scale: 1, Turn: 1}) })
}

func TestSimilarity(t *testing.T) {
	// A quarter turn clockwise takes what is at the right to the bottom (y runs down).
	x, y := Similarity{Scale: 2, Turn: math.Pi / 2, DX: 10}.Apply(1, 0)
	near(t, "x", x, 10, 1e-12)
	near(t, "y", y, 2, 1e-12)
	a := Similarity{Scale: 1.1, Turn: 0.3, DX: 4, DY: -5}
	b := Similarity{Scale: 0.7, Turn: -0.1, DX: 1, DY: 2}
	x, y = a.Then(a.Inverse()).Apply(3, 7)
	near(t, "back again x", x, 3, 1e-12)
	near(t, "back again y", y, 7, 1e-12)
	x1, y1 := a.Apply(3, 7)
	x1, y1 = b.Apply(x1, y1)
	x, y = a.Then(b).Apply(3, 7)
	near(t, "a then b, x", x, x1, 1e-12)
	near(t, "a then b, y", y, y1, 1e-12)
}

// TestOrientedDeep: 16 bits are turned as 8 bits are.
func TestOrientedDeep(t *testing.T) {
	for o := range 10 {
		p, q := NewRGB(5, 3), NewRGB16(5, 3)
		for i := range p.Pix {
			p.Pix[i], q.Pix[i] = uint8(i), uint16(i)
		}
		a, b := p.Oriented(o), q.Oriented(o)
		if a.W != b.W || a.H != b.H {
			t.Fatalf("orientation %d: %d x %d and %d x %d", o, a.W, a.H, b.W, b.H)
		}
		for i := range a.Pix {
			if uint16(a.Pix[i]) != b.Pix[i] {
				t.Fatalf("orientation %d: value %d is %d and %d", o, i, a.Pix[i], b.Pix[i])
			}
		}
	}
}

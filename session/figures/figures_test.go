package figures

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/plane"
)

// picture fills a w x h picture; light gives linear light in 0..1.
func picture(w, h int, light func(x, y int) (r, g, b float64)) *plane.RGB {
	p := plane.NewRGB(w, h)
	for y := range h {
		for x := range w {
			r, g, b := light(x, y)
			i := 3 * (y*w + x)
			p.Pix[i], p.Pix[i+1], p.Pix[i+2] = plane.Encode8(float32(r)), plane.Encode8(float32(g)), plane.Encode8(float32(b))
		}
	}
	return p
}

func grey(w, h int, light func(x, y int) float64) *plane.RGB {
	return picture(w, h, func(x, y int) (float64, float64, float64) { v := light(x, y); return v, v, v })
}

func TestMeasureGivesTheSizesItPromises(t *testing.T) {
	for _, size := range [][2]int{{1024, 683}, {683, 1024}, {512, 512}, {3000, 500}, {200, 100}, {1, 1}, {2, 900}} {
		f := Measure(grey(size[0], size[1], func(x, y int) float64 { return 0.2 }))
		if f.Version != session.FiguresVersion {
			t.Errorf("%v: version %d", size, f.Version)
		}
		if len(f.Small) != 3*f.SmallW*f.SmallH || len(f.Grey) != f.GreyW*f.GreyH || len(f.Sharp) != f.SharpW*f.SharpH {
			t.Errorf("%v: lengths do not fit sizes", size)
		}
		long := max(size[0], size[1])
		if got := max(f.SmallW, f.SmallH); got != min(96, long) {
			t.Errorf("%v: Small has a long side of %d", size, got)
		}
		if got := max(f.GreyW, f.GreyH); got != min(256, long) {
			t.Errorf("%v: Grey has a long side of %d", size, got)
		}
	}
	if Measure(nil) != nil || Measure(&plane.RGB{}) != nil || Measure(&plane.RGB{W: 5, H: 5}) != nil {
		t.Error("a picture without pixels has figures")
	}
}

// Mean luminance of a field of one tone is that tone: 18 % grey is 2.474 stops below
// white (log2 of 0.18).
func TestMeanEVOfAGreyCard(t *testing.T) {
	f := Measure(grey(600, 400, func(x, y int) float64 { return 0.18 }))
	if math.Abs(f.MeanEV+2.474) > 0.03 { // half a step of an 8-bit code is 0.02 there
		t.Errorf("MeanEV %.3f of 18 %% grey, want -2.474", f.MeanEV)
	}
	if f = Measure(grey(600, 400, func(x, y int) float64 { return 0 })); f.MeanEV != -20 {
		t.Errorf("MeanEV %.3f of black, want -20", f.MeanEV)
	}
}

// A checkerboard of black and white squares out of focus is 50 % light, sRGB code 188
// (IEC 61966-2-1: 0.5 encodes to 0.735), not the mean 128 of the codes.
func TestThumbnailsAverageLight(t *testing.T) {
	f := Measure(grey(384, 384, func(x, y int) float64 { return float64((x / 2 % 2) ^ (y / 2 % 2)) }))
	for _, v := range []byte{f.Small[0], f.Small[len(f.Small)/2]} {
		if v < 187 || v > 188 {
			t.Errorf("a checkerboard averages to code %d, want 188", v)
		}
	}
}

func TestClippedCountsEachChannel(t *testing.T) {
	f := Measure(picture(400, 200, func(x, y int) (float64, float64, float64) {
		if x < 100 {
			return 1, 0.5, 0
		}
		return 0.5, 0.5, 0
	}))
	if f.Clipped != [3]float64{0.25, 0, 0} {
		t.Errorf("clipped %v, want a quarter of red", f.Clipped)
	}
}

// White noise of a known deviation on a flat field: NoiseSigma finds it, and Detail and
// Sharp, with the noise taken off, stay near nothing.
func TestNoiseIsFoundAndTakenOff(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const sigma = 6.0 / 255
	p := plane.NewRGB(512, 340)
	for i := 0; i < len(p.Pix); i += 3 {
		v := uint8(128 + 255*sigma*r.NormFloat64() + 0.5)
		p.Pix[i], p.Pix[i+1], p.Pix[i+2] = v, v, v
	}
	f := Measure(p)
	if f.NoiseSigma < 0.9*sigma || f.NoiseSigma > 1.1*sigma {
		t.Errorf("noise %.4f, want %.4f", f.NoiseSigma, sigma)
	}
	// The quiet tiles say a little too little: what is left must be far less than it was.
	if f.Detail[0] > 0.15*sigma*sigma {
		t.Errorf("detail %.2g is left of noise of energy %.2g", f.Detail[0], sigma*sigma)
	}
}

// The noise of a sensor, made from the law: photons by the root of the light and a reading noise (A. Foi et al., 2008), encoded
// by sRGB's curve and not white, over nothing but a slope from dark to bright, is found as what it is. Where there is a texture beside it, that keeps its detail.
func TestSensorNoiseIsNoDetail(t *testing.T) {
	const w, h = 1024, 683
	for seed := range uint64(3) {
		r := rand.New(rand.NewPCG(seed, 8))
		white := plane.New(w, h)
		for i := range white.Pix {
			white.Pix[i] = float32(r.NormFloat64())
		}
		soft := plane.Blur(nil, white, 0.6)
		made := func(texture bool) *session.Figures {
			return Measure(grey(w, h, func(x, y int) float64 {
				i := y*w + x
				light := 0.02 * math.Pow(20, float64(x)/w)
				if texture && y > h/2 {
					light *= 1 + 0.5*math.Sin(float64(x)*0.9)*math.Sin(float64(y)*0.8)
				}
				return light + 2.2*float64(soft.Pix[i])*math.Sqrt(0.006*0.006+0.002*light)
			}))
		}
		f := made(false)
		most := slices.Max(f.Sharp)
		if unit := float32(f.NoiseSigma * f.NoiseSigma); most > 0.5*unit {
			t.Errorf("seed %d: detail of %.2f times the noise in a picture of noise alone", seed, most/unit)
		}
		f = made(true)
		for tx := range f.SharpW {
			if d := f.Sharp[(f.SharpH-3)*f.SharpW+tx]; d < 1.5*most {
				t.Errorf("seed %d: detail %.3g in column %d of a texture, %.3g in noise", seed, d, tx, most)
			}
		}
	}
}

// A sine of amplitude a has a mean square of a²/2. One of eight pixels' wavelength at
// the working size loses to the band all that the binomial blur keeps of it: the blur's
// gain is ((1+cos w)/2)² along the axis, here 0.7286.
func TestDetailOfASine(t *testing.T) {
	const a = 0.2
	w := 2 * math.Pi / 8
	f := Measure(grey(512, 512, func(x, y int) float64 { return plane.Linearize(0.5 + a*math.Sin(w*float64(x))) }))
	gain := math.Pow((1+math.Cos(w))/2, 2)
	want := a * a / 2 * (1 - gain) * (1 - gain)
	if math.Abs(f.Detail[0]-want) > 0.05*want {
		t.Errorf("detail %.3g, want %.3g", f.Detail[0], want)
	}
}

// Detail stands in the tiles where it is, and in coarser octaves as it is blurred.
func TestSharpSaysWhere(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	noise := plane.New(512, 340)
	for i := range noise.Pix {
		noise.Pix[i] = float32(r.Float64())
	}
	soft := plane.Blur(nil, noise, 4)
	f := Measure(grey(512, 340, func(x, y int) float64 {
		if x < 256 {
			return float64(noise.Pix[y*512+x])
		}
		return float64(soft.Pix[y*512+x])
	}))
	left, right := f.Sharp[f.SharpW*3+3], f.Sharp[f.SharpW*3+f.SharpW-4]
	if !(left > 100*right) {
		t.Errorf("sharp half %.3g, soft half %.3g", left, right)
	}
}

func BenchmarkMeasure(b *testing.B) {
	p := grey(1024, 683, func(x, y int) float64 { return float64((x*7+y*13)%256) / 255 })
	b.ReportAllocs()
	for b.Loop() {
		Measure(p)
	}
}

// BenchmarkNewFrame decodes a JPEG of 45 megapixels at reduced size and measures it:
// all that grouping costs when a frame arrives.
func BenchmarkNewFrame(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	p := plane.NewRGB(8192, 5464)
	for y := range p.H {
		for x := range p.W {
			v := 120 + 60*math.Sin(float64(x)/9)*math.Sin(float64(y)/13) + 4*float64(r.Uint32()%8)
			i := 3 * (y*p.W + x)
			p.Pix[i], p.Pix[i+1], p.Pix[i+2] = uint8(v), uint8(v*0.8), uint8(v*0.6)
		}
	}
	data, err := plane.EncodeJPEG(p, 92, true)
	if err != nil {
		b.Fatal(err)
	}
	b.ResetTimer()
	for range b.N {
		pic, err := plane.DecodeJPEG(data, 1024)
		if err != nil {
			b.Fatal(err)
		}
		Measure(pic)
	}
	b.ReportMetric(float64(len(data))/1e6, "MB/file")
}

package focus

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// A camera's noise is not white: interpolation between the colours of the sensor, and noise reduction, take from it what is
// finest. The truth is the energy of the noise alone, on a plain ground beside a third of the picture with detail.
func TestSmoothedNoiseIsNoDetail(t *testing.T) {
	const w, h = 768, 512
	r := rand.New(rand.NewPCG(5, 12))
	noise := plane.New(w, h)
	for i := range noise.Pix {
		noise.Pix[i] = 0.02 * float32(r.NormFloat64())
	}
	noise = plane.Binomial(nil, noise)
	detailed := relief.New(relief.Fine, w, h, 6, func(x, y float64) float64 { return 0 }).Shoot(relief.Shot{Move: plane.Identity}).Luma()
	picture := plane.New(w, h)
	for i := range picture.Pix {
		picture.Pix[i] = 0.4 + noise.Pix[i]
		if i%w < w/3 {
			picture.Pix[i] += detailed.Pix[i] - 0.5
		}
	}
	truth, floors := measure(noise), measure(picture).quiet()
	for b := range bands - 1 {
		mean := 0.0
		for _, e := range truth.maps[b] {
			mean += float64(e) / float64(len(truth.maps[b]))
		}
		if got := floors.at(b, 0.4); got < 0.75*mean || got > 1.25*mean {
			t.Errorf("band %d: the noise's energy is %.3g, told is %.3g", b, mean, got)
		}
	}
}

// Where there is detail all over, no frame by itself tells the spectrum of noise that the camera smoothed; what two frames differ by does. The
// truth is the difference of a picture with noise and the same without.
func TestNoiseByWhatFramesDifferBy(t *testing.T) {
	const w, h = 768, 512
	s := relief.New(relief.Fine, w, h, 6, func(x, y float64) float64 { return 24 * (1 - y) })
	var st Stack
	var truth, picture *detail
	for i := range 3 {
		shot := relief.Shot{Place: 6 + 2*float64(i), Noise: relief.ISO(3200), Camera: true, Seed: uint64(i), Move: plane.Similarity{Scale: 1.001, DX: 1.3 * float64(i)}}
		p := s.Shoot(shot)
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			t.Fatal(err)
		}
		shot.Noise = 0
		noise, without := p.Luma(), s.Shoot(shot).Luma()
		picture = measure(noise)
		for k, v := range without.Pix {
			noise.Pix[k] -= v
		}
		truth = measure(noise)
	}
	const luma = 0.42
	for b := range bands {
		sum, n := 0.0, 0.0
		for i, l := range picture.luma {
			if lumaBin(l) == lumaBin(luma) {
				sum, n = sum+float64(truth.maps[b][i]), n+1
			}
		}
		if got, want := st.floors.at(b, luma), sum/n; got < 0.5*want || got > 2*want {
			t.Errorf("band %d: the noise's energy is %.3g, told is %.3g", b, want, got)
		}
	}
}

// What is evenly textured all over, and in focus all over, still is no noise.
func TestEvenTextureIsDetail(t *testing.T) {
	for _, kind := range []relief.Kind{relief.Fine, relief.Coarse, relief.Hairs} {
		s := relief.New(kind, 768, 512, 6, func(x, y float64) float64 { return 0 })
		d := measure(relief.Coded(s.Shoot(relief.Shot{Noise: relief.ISO(200), Move: plane.Identity}), 95).Luma())
		floors := d.quiet()
		seen := 0
		for i, l := range d.luma {
			if float64(d.maps[0][i]) > detailFrom*floors.at(0, float64(l)) || float64(d.maps[1][i]) > detailFrom*floors.at(1, float64(l)) {
				seen++
			}
		}
		t.Logf("%s: %.2f of the cells", kind, float64(seen)/float64(len(d.luma)))
		if 2*seen < len(d.luma) {
			t.Errorf("%s: detail is seen in %d of %d cells", kind, seen, len(d.luma))
		}
	}
}

// Noise is not the same everywhere of one brightness: it is stronger in a colour that the white balance lifts, and where a lens's dark
// corners are made lighter. Half of the picture is plain ground with more noise than a quieter strip of the same brightness has; it lies
// nowhere, and does not make the steps of the frames, which the other half shows, small. The truth is how the frames were focused.
func TestStrongerNoiseLiesNowhere(t *testing.T) {
	const steps = 1.6 // circles of confusion
	s := relief.New(relief.Fine, testW, testH, 9, func(x, y float64) float64 { return testCircle * 14 * y })
	var st Stack
	for i := range 9 {
		p := s.Shoot(relief.Shot{Place: testCircle * steps * float64(i), Noise: relief.ISO(400), Seed: uint64(i), Move: plane.Identity})
		r := rand.New(rand.NewPCG(uint64(i), 77))
		for y := range p.H {
			for x := p.W / 2; x < p.W; x++ {
				sigma := 3.2
				if x < p.W*6/10 {
					sigma = 1.5
				}
				v := uint8(min(max(118+sigma*r.NormFloat64(), 0), 255))
				copy(p.Pix[3*(y*p.W+x):], []uint8{v, v, v})
			}
		}
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			t.Fatal(err)
		}
	}
	a := st.analyse(&testOptions, nil)
	span := (a.places.s[8] - a.places.s[0]) / a.circle
	if math.Abs(span/(8*steps)-1) > 0.15 {
		t.Errorf("the frames span %.1f circles of confusion, truly %.1f", span, 8*steps)
	}
	lie := 0
	for _, h := range a.ranks(&st).tiles {
		if h.at%a.tw > a.tw*6/10 {
			lie++
		}
	}
	t.Logf("span %.1f of %.1f, %d tiles of noise lie somewhere", span, 8*steps, lie)
	if all := a.th * a.tw * 4 / 10; lie > all/20 {
		t.Errorf("of about %d tiles of noise %d are told to lie somewhere", all, lie)
	}
}

// Half of the picture has several times the noise that the other has at the same brightness, as in a colour that the white balance lifts: its tiles are
// told to lie where they do, by what they show above their own noise, and the steps are not made small by it.
func TestTilesInStrongerNoise(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 9, func(x, y float64) float64 { return testCircle * 14 * y })
	var st Stack
	const steps = 1.4
	for i := range 11 {
		p := s.Shoot(relief.Shot{Place: testCircle * steps * float64(i), EV: -2, Noise: relief.ISO(400), Seed: uint64(i), Move: plane.Identity})
		r := rand.New(rand.NewPCG(uint64(i), 77))
		for y := range p.H {
			for x := p.W / 2; x < p.W; x++ {
				off := 6 * r.NormFloat64()
				for c, v := range p.Pix[3*(y*p.W+x):][:3] {
					p.Pix[3*(y*p.W+x)+c] = uint8(min(max(float64(v)+off+0.5, 0), 255))
				}
			}
		}
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			t.Fatal(err)
		}
	}
	a := st.analyse(&testOptions, nil)
	span := (a.places.s[10] - a.places.s[0]) / a.circle
	var off [2][]float64
	for _, h := range a.ranks(&st).tiles {
		k := 0
		if h.at%a.tw > a.tw/2 {
			k = 1
		}
		truth := 14 * (float64(h.at/a.tw) + 0.5) / float64(a.th)
		off[k] = append(off[k], math.Abs((h.place-a.places.s[0])/a.circle-truth))
	}
	t.Logf("span %.1f of %.1f, told %d and %d tiles, off by %.2f and %.2f", span, 10*steps, len(off[0]), len(off[1]), median(off[0]), median(off[1]))
	if math.Abs(span/(10*steps)-1) > 0.1 {
		t.Errorf("the frames span %.1f circles of confusion, truly %.1f", span, 10*steps)
	}
	for k, v := range off {
		if len(v) < a.th*a.tw/4 || median(v) > 0.6 {
			t.Errorf("half %d: %d tiles lie somewhere, off by %.2f circles of confusion", k, len(v), median(v))
		}
	}
}

// What is kept of a map is found again by tile, in pictures of any size.
func TestTilesOfAMap(t *testing.T) {
	for _, size := range [][2]int{{9, 6}, {10, 7}, {11, 8}, {3, 3}, {2, 1}, {1, 5}} {
		d := &detail{w: size[0], h: size[1]}
		m := make([]float32, d.w*d.h)
		for i := range m {
			m[i] = float32(i)
		}
		kept := d.tiles(m)
		for y := range d.h {
			for x := range d.w {
				// The middle of the tile of these cells, or of the last that has one.
				middle := func(at, n int) int {
					for at = at/tile*tile + tile/2; at >= n && at >= tile; at -= tile {
					}
					return min(at, n-1)
				}
				want := float64(middle(y, d.h)*d.w + middle(x, d.w))
				if got := d.inTile(kept, (float64(x)+0.5)*cell, (float64(y)+0.5)*cell); got != want {
					t.Errorf("%d x %d cells, cell %d, %d: %g, want %g", d.w, d.h, x, y, got, want)
				}
			}
		}
	}
}

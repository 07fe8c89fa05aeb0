package focus

import (
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

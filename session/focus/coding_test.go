package focus

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// What rounding and JPEG leave in the fine bands of a subject that is blurred is no detail. Half of the picture is
// plain, as a wall behind a subject is, and is coded to nothing: the floors must not be taken from it alone. The truth
// is the same field without coding.
func TestCodingIsNoDetail(t *testing.T) {
	const w, h = 768, 512
	r := rand.New(rand.NewPCG(31, 7))
	field := plane.New(w, h)
	for i := range field.Pix {
		field.Pix[i] = float32(r.NormFloat64())
	}
	for range 6 {
		field = plane.Blur(nil, field, 4)
	}
	sd := 0.0
	for _, v := range field.Pix {
		sd += float64(v*v) / (w * h)
	}
	sd = math.Sqrt(sd)
	for _, quality := range []int{92, 97} {
		for _, contrast := range []float64{0.005, 0.02, 0.08} {
			ideal, picture := plane.New(w, h), plane.NewRGB(w, h)
			for y := range h {
				for x := range w {
					i := y*w + x
					v := 0.5
					if x >= w/2 {
						v += contrast * float64(field.Pix[i]) / sd
					}
					ideal.Pix[i] = float32(v)
					for c, tint := range []float64{0.95, 1.02, 0.97} {
						picture.Pix[3*i+c] = uint8(math.Round(255 * min(v*tint, 1)))
					}
				}
			}
			truth, got := measure(ideal), measure(relief.Coded(picture, quality).Luma())
			floors := got.quiet()
			for b := range bands - 1 { // of the coarsest, coding leaves less than the field itself changes by
				excess, n := 0.0, 0.0
				for cy := 2; cy < got.h-2; cy++ {
					for cx := got.w/2 + 3; cx < got.w-2; cx++ {
						i := cy*got.w + cx
						excess += float64(got.maps[b][i] - truth.maps[b][i])
						n++
					}
				}
				excess /= n
				floor := floors.at(b, 0.5)
				t.Logf("quality %d, contrast %.3f, band %d: %.1f times white noise of roundingVariance left, floor %.1f", quality, contrast, b,
					excess/whiteNoise().mean[b]/roundingVariance, floor/whiteNoise().mean[b]/roundingVariance)
				if excess > (1+floorShare)*floor {
					t.Errorf("quality %d, contrast %.3f, band %d: coding leaves %.3g, the floor is %.3g", quality, contrast, b, excess, floor)
				}
			}
		}
	}
}

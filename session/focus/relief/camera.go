package relief

import (
	"math/rand/v2"

	"stillbench/session/plane"
)

// A sensor's noise is white, and a photograph's is not: every pixel of the sensor sees one colour, in B. E. Bayer's mosaic (US patent
// 3971065, 1976), and the others are interpolated from those around it; then the camera reduces what it takes for noise, the more, the
// higher the sensitivity. Both take from the finest detail first.

// cameraNoise gives, for red, green and blue, what is left of noise of unit variance on a sensor that has it in the strength noise,
// as Shot.Noise.
func cameraNoise(w, h int, noise float64, seed uint64) (of [3]*plane.Plane) {
	mosaic := [2][2]int{{0, 1}, {1, 2}}
	sensor := plane.New(w, h)
	share(h, func(y int) {
		r := rand.New(rand.NewPCG(seed, uint64(y)+0xca3e7a))
		row := sensor.Row(y)
		for x := range row {
			row[x] = float32(r.NormFloat64())
		}
	})
	// The part that noise reduction takes for noise: a tenth at ISO 100, a half at 900, three quarters at 3200 (common practice: from
	// hardly any to what takes fine detail along).
	part := float32(sq(noise) / (sq(noise) + sq(ISO(900))))
	for c := range of {
		p := plane.New(w, h)
		share(h, func(y int) {
			for x, row := 0, p.Row(y); x < w; x++ {
				if mosaic[y%2][x%2] == c {
					row[x] = sensor.Row(y)[x]
					continue
				}
				// The mean of the nearest of the colour, two or four.
				sum, n := float32(0), float32(0)
				for j := max(y-1, 0); j <= min(y+1, h-1); j++ {
					for i := max(x-1, 0); i <= min(x+1, w-1); i++ {
						if mosaic[j%2][i%2] == c {
							sum, n = sum+sensor.Row(j)[i], n+1
						}
					}
				}
				row[x] = sum / n
			}
		})
		low := plane.Binomial(nil, p)
		for i, v := range p.Pix {
			p.Pix[i] = v + part*(low.Pix[i]-v)
		}
		of[c] = p
	}
	return of
}

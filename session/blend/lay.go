package blend

import (
	"math"

	"stillbench/session/plane"
)

// small is a frame's light at a size where focus hardly matters, to tell its brightness by.
type small [3]*plane.Plane

// smallSide is the long side of small, in pixels.
const smallSide = 192

func smallOf(p *plane.RGB) small {
	return small(within(p, smallSide).Linear())
}

// A difference in brightness below leastEV cannot be told from breathing and noise; above
// mostEV it is no flicker, and the photographer meant it or should see it.
const (
	leastEV = 0.02
	mostEV  = 0.5
)

// gainOf is what R, G and B of a frame are multiplied by to be as bright as the reference:
// the light is compared (defocus spreads it and loses none), and the encoded values scaled, as
// far as sRGB's curve is a power of 1/2.2.
func gainOf(reference, frame small, move plane.Similarity, workW int) [3]float32 {
	gain := [3]float32{1, 1, 1}
	w, h := reference[0].W, reference[0].H
	if frame[0].W != w || frame[0].H != h {
		return gain
	}
	k := float64(w) / float64(workW)
	move.DX, move.DY = move.DX*k, move.DY*k
	edge := max(w, h) / 20
	for c := range gain {
		f := plane.Warp(nil, frame[c], move)
		var a, b float64
		for y := edge; y < h-edge; y++ {
			for x := edge; x < w-edge; x++ {
				a += float64(reference[c].Pix[y*w+x])
				b += float64(f.Pix[y*w+x])
			}
		}
		if !(a > 0 && b > 0) {
			continue
		}
		if ev := math.Log2(a / b); math.Abs(ev) >= leastEV && math.Abs(ev) <= mostEV {
			gain[c] = float32(math.Exp2(ev / 2.2))
		}
	}
	return gain
}

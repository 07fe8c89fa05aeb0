package blend

import (
	"math"

	"stillbench/session/align"
	"stillbench/session/plane"
)

// How many of the newest frames the next one is laid on, and how many are kept for one that
// fits none of those.
const (
	linksPerFrame = 2
	keptToAlign   = 4
)

// chain lays frames on each other as they come.
type chain struct {
	frames []*align.Frame // nil for those no longer needed
	links  []align.Link
}

// add lays the next frame on those before it.
func (c *chain) add(luma *plane.Plane) {
	c.frames = append(c.frames, align.Prepare(luma))
	to := len(c.frames) - 1
	made := 0
	for from := to - 1; from >= max(0, to-keptToAlign) && made < linksPerFrame; from-- {
		if c.frames[from].W != c.frames[to].W || c.frames[from].H != c.frames[to].H {
			continue
		}
		if pair, err := align.Measure(c.frames[from], c.frames[to], nil); err == nil {
			c.links = append(c.links, align.Link{From: from, To: to, Pair: pair})
			made++
		}
	}
	if old := to - keptToAlign; old >= 0 {
		c.frames[old] = &align.Frame{W: c.frames[old].W, H: c.frames[old].H}
	}
}

// small is a frame's light at a size where focus hardly matters, to tell its brightness by.
type small [3]*plane.Plane

// smallSide is the long side of small, in pixels.
const smallSide = 192

func smallOf(p *plane.RGB) small {
	k := min(1, smallSide/float64(max(p.W, p.H)))
	w, h := max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5))
	if w < p.W || h < p.H {
		p = plane.ReduceRGB(nil, p, w, h)
	}
	return small(p.Linear())
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

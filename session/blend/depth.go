package blend

import (
	"math"
	"slices"

	"stillbench/session/plane"
)

// depthFinder notes, for every cell of one level, which frame was the most salient and how
// its neighbours in the order of frames were.
type depthFinder struct {
	level int
	count int
	now   *plane.Plane // saliency of the frame being added
	last  *plane.Plane // and of the one before
	best  *plane.Plane
	at    []int16         // index of the most salient frame, in the order of adding; -1 before any
	sides [2]*plane.Plane // saliency in the frames just before and after it
	// missed is where a frame had no picture: the sharpest may be the one that is missing.
	missed []bool
}

func newDepthFinder(f *fuser) *depthFinder {
	// Half the size of a preview, a quarter of a large picture: depth is told by patches of
	// some pixels and is no finer.
	level := min(1, f.fine-1)
	if f.w*f.h > 8<<20 {
		level = min(2, f.fine-1)
	}
	if level < 0 {
		return nil
	}
	w, h := f.weight[level].W, f.weight[level].H
	d := &depthFinder{level: level, now: plane.New(w, h), last: plane.New(w, h), best: plane.New(w, h), at: make([]int16, w*h), missed: make([]bool, w*h)}
	d.sides = [2]*plane.Plane{plane.New(w, h), plane.New(w, h)}
	for i := range d.at {
		d.at[i] = -1
	}
	return d
}

// take notes the rows from..to of a frame; salient and cover begin at row first.
func (d *depthFinder) take(first, from, to int, salient, cover *plane.Plane) {
	for y := from; y < to; y++ {
		now := d.now.Row(y)
		copy(now, salient.Row(y-first))
		if cover == nil {
			continue
		}
		for x, in := range cover.Row(y - first) {
			if in < 1 {
				now[x] = 0
				d.missed[y*d.now.W+x] = true
			}
		}
	}
}

// patch is the standard deviation, in cells, of the patches that depth is told by.
const patch = 2

// add ends a frame.
func (d *depthFinder) add() {
	plane.Blur(d.now, d.now, patch)
	n := int16(d.count)
	for i, v := range d.now.Pix {
		switch {
		case v > d.best.Pix[i]:
			d.best.Pix[i], d.at[i] = v, n
			d.sides[0].Pix[i], d.sides[1].Pix[i] = d.last.Pix[i], 0
		case d.at[i] == n-1:
			d.sides[1].Pix[i] = v
		}
	}
	d.now, d.last = d.last, d.now
	d.count++
}

// Depth is where the subject lies, as far as its sharpness tells.
type Depth struct {
	// W x H cells, row by row, cover the picture; a cell is Cell x Cell pixels.
	W, H, Cell int
	// Frame is the depth as a position in the order of the frames (index from 0, between
	// frames as well).
	Frame []float32
	// Sure in 0..1 is how far the depth was seen there; near 0 it is filled in from around.
	Sure []float32
}

// result fits a parabola through the logarithms of saliency in the sharpest frame and its
// two neighbours (a Gaussian through three points: S. K. Nayar and Y. Nakagawa, "Shape from
// focus", IEEE TPAMI 16(8), 1994), and fills in where nothing was sharp.
func (d *depthFinder) result() *Depth {
	w, h := d.best.W, d.best.H
	out := &Depth{W: w, H: h, Cell: 1 << d.level, Frame: make([]float32, w*h), Sure: make([]float32, w*h)}
	for i, at := range d.at {
		if at < 0 || d.missed[i] {
			continue
		}
		v := float32(at)
		if a, b := d.sides[0].Pix[i], d.sides[1].Pix[i]; a > 0 && b > 0 {
			la, lb, lm := math.Log(float64(a)), math.Log(float64(b)), math.Log(float64(d.best.Pix[i]))
			if curve := 2*lm - la - lb; curve > 0 {
				v += float32(min(max((lb-la)/(2*curve), -0.5), 0.5))
			}
		}
		out.Frame[i] = v
		// Three times the noise's energy is half sure.
		out.Sure[i] = d.best.Pix[i] / (d.best.Pix[i] + 3)
	}
	out.median()
	out.fill()
	return out
}

// median takes the middle of each cell's 3 x 3 neighbourhood, as far as it is sure: single
// cells that a gleam or a grain misled fall back in line, edges stay.
func (o *Depth) median() {
	was := slices.Clone(o.Frame)
	plane.Share(o.H, func(y0, y1 int) {
		var near []float32
		for y := y0; y < y1; y++ {
			for x := range o.W {
				near = near[:0]
				for v := max(0, y-1); v <= min(o.H-1, y+1); v++ {
					for u := max(0, x-1); u <= min(o.W-1, x+1); u++ {
						if i := v*o.W + u; o.Sure[i] >= 0.5 {
							near = append(near, was[i])
						}
					}
				}
				if len(near) >= 3 {
					slices.Sort(near)
					o.Frame[y*o.W+x] = near[len(near)/2]
				}
			}
		}
	})
}

// fill gives cells that are not sure the depth of sure ones around them: means weighted by
// sureness at ever coarser sizes, put in from the coarsest to the finest.
func (o *Depth) fill() {
	type pair struct{ sum, weight *plane.Plane }
	p := pair{plane.New(o.W, o.H), plane.New(o.W, o.H)}
	for i, s := range o.Sure {
		s *= s
		p.sum.Pix[i], p.weight.Pix[i] = o.Frame[i]*s, s
	}
	var all []pair
	for {
		all = append(all, p)
		if p.sum.W == 1 && p.sum.H == 1 {
			break
		}
		p = pair{plane.Down(nil, p.sum), plane.Down(nil, p.weight)}
	}
	var coarse *plane.Plane
	for k := len(all) - 1; k >= 0; k-- {
		p := all[k]
		var up *plane.Plane
		if coarse != nil {
			up = plane.Up(nil, coarse, p.sum.W, p.sum.H)
		}
		for i, w := range p.weight.Pix {
			if up == nil {
				p.sum.Pix[i] /= max(w, math.SmallestNonzeroFloat32)
				continue
			}
			// What the coarser size says counts as much as a little sureness here.
			const little = 0.05
			p.sum.Pix[i] = (p.sum.Pix[i] + little*up.Pix[i]) / (w + little)
		}
		coarse = p.sum
	}
	copy(o.Frame, coarse.Pix)
}

// Jumps is the share of the sure cells beside which the depth jumps by two frames or more:
// hair and structures that cross in front of each other make many of them.
func (o *Depth) Jumps() float64 {
	sure, jumps := 0, 0
	for y := 0; y+1 < o.H; y++ {
		for x := 0; x+1 < o.W; x++ {
			i := y*o.W + x
			if o.Sure[i] < 0.8 {
				continue
			}
			sure++
			for _, n := range []int{i + 1, i + o.W} {
				if o.Sure[n] >= 0.8 && math.Abs(float64(o.Frame[i]-o.Frame[n])) >= 2 {
					jumps++
					break
				}
			}
		}
	}
	if sure == 0 {
		return 0
	}
	return float64(jumps) / float64(sure)
}

package blend

import (
	"math"

	"stillbench/session/plane"
)

// depthFinder notes, for every cell of one level, which frame was the most salient and how
// its neighbours in the order of frames were.
type depthFinder struct {
	level int
	w, h  int
	best  []float32
	at    []int16      // index of the most salient frame, in the order of adding
	sides [2][]float32 // saliency in the frames just before and after it
	last  []float32    // in the frame added last
	now   []float32
}

func newDepthFinder(f *fuser) *depthFinder {
	// Half size of a preview, a quarter of a large picture: depth is no finer than the tiles
	// that saliency is smoothed over.
	level := min(1, f.fine-1)
	if f.w*f.h > 8<<20 {
		level = min(2, f.fine-1)
	}
	if level < 0 {
		return nil
	}
	d := &depthFinder{level: level, w: f.weight[level].W, h: f.weight[level].H}
	n := d.w * d.h
	d.best, d.last, d.now, d.at = make([]float32, n), make([]float32, n), make([]float32, n), make([]int16, n)
	d.sides = [2][]float32{make([]float32, n), make([]float32, n)}
	for i := range d.at {
		d.at[i] = -1
	}
	return d
}

// take notes the rows from..to of frame number count; salient begins at row first.
func (d *depthFinder) take(count, first, from, to int, salient, cover *plane.Plane) {
	for y := from; y < to; y++ {
		s := salient.Row(y - first)
		for x := range d.w {
			i, v := y*d.w+x, s[x]
			if cover != nil && cover.Row(y - first)[x] < 1 {
				v = 0
			}
			d.now[i] = v
			switch {
			case v > d.best[i]:
				d.best[i], d.at[i] = v, int16(count)
				d.sides[0][i], d.sides[1][i] = d.last[i], 0
			case int(d.at[i]) == count-1:
				d.sides[1][i] = v
			}
		}
	}
}

// add ends a frame.
func (d *depthFinder) add() { d.last, d.now = d.now, d.last }

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
	out := &Depth{W: d.w, H: d.h, Cell: 1 << d.level, Frame: make([]float32, d.w*d.h), Sure: make([]float32, d.w*d.h)}
	for i, at := range d.at {
		if at < 0 {
			continue
		}
		v := float32(at)
		if a, b := d.sides[0][i], d.sides[1][i]; a > 0 && b > 0 {
			la, lb, lm := math.Log(float64(a)), math.Log(float64(b)), math.Log(float64(d.best[i]))
			if curve := 2*lm - la - lb; curve > 0 {
				v += float32(min(max((lb-la)/(2*curve), -0.5), 0.5))
			}
		}
		out.Frame[i] = v
		// Three times the noise's energy is half sure.
		out.Sure[i] = d.best[i] / (d.best[i] + 3)
	}
	out.fill()
	return out
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

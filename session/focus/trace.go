package focus

import (
	"image"
	"math"

	"stillbench/session/plane"
)

// Trace marks where one picture by itself is sharp: where edges are no wider than a blur
// by clearly more than the circle of confusion (a part of the diagonal; 0: 1/1500) leaves
// them. How wide is told by blurring once more: a step blurred with a standard deviation s
// loses the more of its slope the sharper it is, by sqrt((s^2 + r^2)/s^2) under a further
// blur r (S. Zhuo and T. Sim, "Defocus map estimation from a single image", Pattern
// Recognition 44(9), 2011). What has no edge over the noise is not marked: it cannot be
// told. The mask has a quarter of the working size, 255 where sharp; nil where the picture
// is empty. It is drawn for the eye, and no verdict rests on it.
func Trace(p *plane.RGB, circle float64) *image.Alpha {
	if p == nil || p.W < 1 || p.H < 1 || len(p.Pix) < 3*p.W*p.H {
		return nil
	}
	if long := max(p.W, p.H); long > workSide {
		k := float64(workSide) / float64(long)
		p = plane.ReduceRGB(nil, p, max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5)))
	}
	o := Options{CircleOfConfusion: circle}
	luma := p.Luma()
	d := measure(luma)
	floor := d.quiet()
	t := &tracer{d: d, fine: luma, coarse: plane.Blur(nil, luma, again), floor: &floor.floors}
	t.least = lossAt(traceCircles * o.circle(p.W, p.H))
	marks := box3(t.marks(), d.w, d.h) // single cells are chance
	turnPieces(marks, d.w, d.h, true, leastCells)
	turnPieces(marks, d.w, d.h, false, leastHole)
	const part = 4
	out := image.NewAlpha(image.Rect(0, 0, max(p.W/part, 1), max(p.H/part, 1)))
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			u, v := (float64(x)+0.5)*float64(p.W)/float64(out.Rect.Dx()), (float64(y)+0.5)*float64(p.H)/float64(out.Rect.Dy())
			if s, ok := d.at(marks, u, v); ok && s > 0.5 {
				out.Pix[y*out.Stride+x] = 255
			}
		}
	}
	return out
}

// again is the further blur, a standard deviation in pixels.
const again = 1.4

// lossAt is by how much, squared, a step blurred by a disc of diameter d loses slope under
// the further blur. A disc has the variance (d/4)^2 along an axis, a pixel's square 1/12,
// the difference of two pixels that lie two apart 1/3.
func lossAt(d float64) float64 {
	s := sq(d/4) + sq(traceSoftness) + 1.0/12 + 1.0/3
	return (s + sq(again)) / s
}

const (
	// traceCircles of the circle of confusion are the widest blur that is marked: where many
	// edges lie close, each adds to the slopes of the others, and all look wider.
	traceCircles = 2
	// traceSoftness is what a camera in focus blurs, a standard deviation in pixels, its
	// making of colours among it.
	traceSoftness = 0.65
	leastCells    = 9     // in one piece
	leastHole     = 40    // within a piece: in smaller ones, detail is missing rather than blurred
	strong        = 0.5   // of the steepest slope near by: from here on it is the edge that is measured
	leastEdge     = 0.003 // the least slope, of white a pixel, that is an edge
	overNoise     = 8.0   // and that over the slopes that noise leaves
)

type tracer struct {
	d            *detail
	fine, coarse *plane.Plane
	floor        *floors
	least        float64
}

// slope is the squared slope of a plane at a pixel.
func slope(p *plane.Plane, x, y int) float32 {
	row := p.Row(y)
	dx := (row[min(x+1, p.W-1)] - row[max(x-1, 0)]) / 2
	dy := (p.Row(min(y+1, p.H-1))[x] - p.Row(max(y-1, 0))[x]) / 2
	return dx*dx + dy*dy
}

// marks is 1 for each cell that is sharp.
func (t *tracer) marks() []float32 {
	d := t.d
	each := func(do func(i, x0, y0, x1, y1 int)) {
		plane.Share(d.h, func(from, to int) {
			for cy := from; cy < to; cy++ {
				for cx := range d.w {
					do(cy*d.w+cx, cx*cell, cy*cell, min((cx+1)*cell, t.fine.W), min((cy+1)*cell, t.fine.H))
				}
			}
		})
	}
	steepest := make([]float32, d.w*d.h)
	each(func(i, x0, y0, x1, y1 int) {
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				steepest[i] = max(steepest[i], slope(t.coarse, x, y))
			}
		}
	})
	steepest = max3(steepest, d.w, d.h)
	fine, coarse, count := make([]float32, d.w*d.h), make([]float32, d.w*d.h), make([]float32, d.w*d.h)
	each(func(i, x0, y0, x1, y1 int) {
		from := steepest[i] * strong * strong
		for y := y0; y < y1; y++ {
			for x := x0; x < x1; x++ {
				if c := slope(t.coarse, x, y); c >= from {
					coarse[i] += c
					fine[i] += slope(t.fine, x, y)
					count[i]++
				}
			}
		}
	})
	fine, coarse, count = box3(fine, d.w, d.h), box3(coarse, d.w, d.h), box3(count, d.w, d.h)
	marks := make([]float32, d.w*d.h)
	each(func(i, _, _, _, _ int) {
		noise := t.floor.at(0, float64(d.luma[i])) / whiteNoise().mean[0] // variance
		// Along either axis the difference of two pixels has half the noise's variance; what the
		// further blur leaves of it is 1/(8 pi r^4).
		left := 2 * noise / (8 * math.Pi * sq(again) * sq(again))
		if s := float64(steepest[i]); s < sq(leastEdge) || s < sq(overNoise)*left {
			return
		}
		if float64(fine[i])-noise*float64(count[i]) >= t.least*float64(coarse[i]) {
			marks[i] = 1
		}
	})
	return marks
}

// turnPieces turns what is marked (over a half), or what is not, in pieces of fewer cells than
// least that touch along a side.
func turnPieces(marks []float32, w, h int, marked bool, least int) {
	of := func(i int) bool { return marks[i] > 0.5 == marked }
	seen := make([]bool, len(marks))
	var piece []int
	for start := range marks {
		if seen[start] || !of(start) {
			continue
		}
		seen[start] = true
		piece = append(piece[:0], start)
		for k := 0; k < len(piece); k++ {
			i := piece[k]
			x, y := i%w, i/w
			for _, n := range [4][2]int{{x - 1, y}, {x + 1, y}, {x, y - 1}, {x, y + 1}} {
				if j := n[1]*w + n[0]; n[0] >= 0 && n[0] < w && n[1] >= 0 && n[1] < h && !seen[j] && of(j) {
					seen[j] = true
					piece = append(piece, j)
				}
			}
		}
		if len(piece) < least {
			for _, i := range piece {
				marks[i] = 1 - marks[i]
			}
		}
	}
}

// max3 is the largest of the 3 x 3 cells around each.
func max3(src []float32, w, h int) []float32 {
	out := make([]float32, w*h)
	for y := range h {
		for x := range w {
			for j := max(y-1, 0); j <= min(y+1, h-1); j++ {
				for i := max(x-1, 0); i <= min(x+1, w-1); i++ {
					out[y*w+x] = max(out[y*w+x], src[j*w+i])
				}
			}
		}
	}
	return out
}

package parts

import (
	"image"
	"math"
	"slices"
)

// Outline is a part of a picture: a closed polygon of [x, y] corners, as shares of the
// picture's width and height, x right and y down. Nil is the whole picture.
type Outline [][2]float64

// RectOutline is the outline of a rectangle, clockwise from its upper left.
func RectOutline(a Area) Outline {
	return Outline{{a.X0, a.Y0}, {a.X1, a.Y0}, {a.X1, a.Y1}, {a.X0, a.Y1}}
}

// bounds gives the rectangle round an outline.
func (o Outline) bounds() Area {
	a := Area{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range o {
		a.X0, a.Y0 = min(a.X0, p[0]), min(a.Y0, p[1])
		a.X1, a.Y1 = max(a.X1, p[0]), max(a.Y1, p[1])
	}
	return a
}

// rect tells whether an outline is an upright rectangle, to a part of a pixel.
func (o Outline) rect() bool {
	const slack = 1e-3
	if len(o) != 4 {
		return false
	}
	b := o.bounds()
	for _, c := range RectOutline(b) {
		if !slices.ContainsFunc(o, func(p [2]float64) bool { return math.Abs(p[0]-c[0]) < slack && math.Abs(p[1]-c[1]) < slack }) {
			return false
		}
	}
	return true
}

// size is the area inside, as a share of the picture (the shoelace formula; an outline
// that crosses itself counts its parts against each other).
func (o Outline) size() float64 {
	sum := 0.0
	for i, p := range o {
		q := o[(i+1)%len(o)]
		sum += p[0]*q[1] - q[0]*p[1]
	}
	return math.Abs(sum) / 2
}

// smoothed leaves out the corners of a line drawn by hand that lie within tolerance of the
// line without them (Douglas and Peucker 1973).
func (o Outline) smoothed(tolerance float64) Outline {
	if len(o) < 3 {
		return o
	}
	keep := make([]bool, len(o))
	keep[0], keep[len(o)-1] = true, true
	var split func(from, to int)
	split = func(from, to int) {
		far, at := tolerance, -1
		for i := from + 1; i < to; i++ {
			if d := fromSegment(o[i], o[from], o[to]); d > far {
				far, at = d, i
			}
		}
		if at >= 0 {
			keep[at] = true
			split(from, at)
			split(at, to)
		}
	}
	split(0, len(o)-1)
	var out Outline
	for i, p := range o {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}

// fromSegment is how far p lies from the segment between a and b.
func fromSegment(p, a, b [2]float64) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if n := dx*dx + dy*dy; n > 0 {
		t = min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/n, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}

// outside is black at the given strength outside an outline, w by h pixels.
func (o Outline) outside(w, h int, alpha uint8) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := 3; i < len(img.Pix); i += 4 {
		img.Pix[i] = alpha
	}
	o.spans(w, h, func(y, from, to int) {
		for x := from; x < to; x++ {
			img.Pix[y*img.Stride+4*x+3] = 0
		}
	})
	return img
}

// spans calls fn with the pixels from..to-1 of each row that lie inside an outline on a
// picture of w by h pixels (even-odd rule, by the pixels' middles).
func (o Outline) spans(w, h int, fn func(y, from, to int)) {
	var cuts []float64
	for y := range h {
		at := (float64(y) + 0.5) / float64(h)
		cuts = cuts[:0]
		for i, p := range o {
			q := o[(i+1)%len(o)]
			if (p[1] > at) != (q[1] > at) {
				cuts = append(cuts, p[0]+(at-p[1])/(q[1]-p[1])*(q[0]-p[0]))
			}
		}
		slices.Sort(cuts)
		for i := 0; i+1 < len(cuts); i += 2 {
			fn(y, max(int(math.Ceil(cuts[i]*float64(w)-0.5)), 0), min(int(math.Ceil(cuts[i+1]*float64(w)-0.5)), w))
		}
	}
}

// Middle is the middle of the rectangle round an outline.
func (o Outline) Middle() (x, y float64) {
	b := o.bounds()
	return (b.X0 + b.X1) / 2, (b.Y0 + b.Y1) / 2
}

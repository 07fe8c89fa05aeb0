package blend

import (
	"math"

	"stillbench/session/plane"
)

// laid is a frame and how it is brought onto the others.
type laid struct {
	pixels Pixels
	move   plane.Similarity
	gain   [3]float32
	still  bool
}

// lay brings a frame that lies at move onto the others. gain multiplies R, G and B, which
// undoes a lamp's flicker.
func lay(p Pixels, move plane.Similarity, gain [3]float32) *laid {
	w, h := p.Size()
	return &laid{p, move, gain, still(move, w, h)}
}

// rows gives R, G and B of the rows y0..y1 as they lie on the others, resampled once from
// the file's own pixels (Lanczos-4), and where the frame has a picture there: 1 inside, 0 outside;
// nil means everywhere.
func (l *laid) rows(y0, y1 int) (rgb [3]*plane.Plane, cover *plane.Plane) {
	w, h := l.pixels.Size()
	if l.still {
		return l.planes(y0, y1), nil
	}
	cx, cy := float64(w-1)/2, float64(h-1)/2
	inside := true
	top, bottom := float64(y0), float64(y1-1)
	for _, x := range []float64{-cx, cx} {
		for _, y := range []float64{float64(y0) - cy, float64(y1-1) - cy} {
			u, v := l.move.Apply(x, y)
			top, bottom = min(top, v+cy), max(bottom, v+cy)
			inside = inside && insideBy(u+cx, w) && insideBy(v+cy, h)
		}
	}
	if !inside {
		cover = l.cover(y0, y1)
	}
	// A window of the file's rows that holds all that these rows are made of.
	a, b := max(0, int(top)-rim), min(h, int(bottom)+rim+2)
	window := l.planes(a, b)
	// The same movement, told from the window's centre.
	oy := float64(a+b-1)/2 - cy
	s := l.move
	x, y := s.Apply(0, oy)
	s.DX, s.DY = x, y-oy
	for c := range window {
		p := plane.Warp(nil, window[c], s)
		rgb[c] = &plane.Plane{W: w, H: y1 - y0, Pix: p.Pix[(y0-a)*w : (y1-a)*w]}
	}
	return rgb, cover
}

// planes gives rows of the file as they are.
func (l *laid) planes(y0, y1 int) (rgb [3]*plane.Plane) {
	w, _ := l.pixels.Size()
	for c := range rgb {
		p := plane.New(w, y1-y0)
		plane.Share(p.H, func(a, b int) {
			at := 3*(y0+a)*w + c
			out := p.Pix[a*w : b*w]
			if q := l.pixels.RGB16; q != nil {
				k := l.gain[c] / 65535
				for i := range out {
					out[i] = float32(q.Pix[at+3*i]) * k
				}
				return
			}
			k := l.gain[c] / 255
			for i := range out {
				out[i] = float32(l.pixels.RGB.Pix[at+3*i]) * k
			}
		})
		rgb[c] = p
	}
	return rgb
}

// rim is how far from the edge a pixel must lie to be resampled from pixels inside alone.
const rim = 4

func insideBy(u float64, n int) bool { return u >= rim && u <= float64(n-1)-rim }

// cover tells which pixels of the rows are made of pixels inside the frame.
func (l *laid) cover(y0, y1 int) *plane.Plane {
	w, h := l.pixels.Size()
	out := plane.New(w, y1-y0)
	cx, cy := float64(w-1)/2, float64(h-1)/2
	plane.Share(out.H, func(a, b int) {
		for y := a; y < b; y++ {
			row := out.Row(y)
			for x := range row {
				u, v := l.move.Apply(float64(x)-cx, float64(y0+y)-cy)
				if insideBy(u+cx, w) && insideBy(v+cy, h) {
					row[x] = 1
				}
			}
		}
	})
	return out
}

// still reports whether a movement leaves every pixel where it is, as far as movements can
// be measured: laying the frame on the others would only soften it.
func still(move plane.Similarity, w, h int) bool {
	const least = 0.02 // pixels
	for _, p := range [][2]float64{{0, 0}, {float64(w) / 2, float64(h) / 2}, {-float64(w) / 2, float64(h) / 2}} {
		x, y := move.Apply(p[0], p[1])
		if math.Hypot(x-p[0], y-p[1]) > least {
			return false
		}
	}
	return true
}

package focus

import (
	"math"

	"stillbench/session/plane"
)

// light is what is kept of a frame's brightness: mean linear light by square of lightCell
// pixels, and the clipped share of each channel.
type light struct {
	w, h    int
	rgb     [3][]float32
	clipped [3]float64
}

const lightCell = 32

func expose(p *plane.RGB) *light {
	l := &light{w: (p.W + lightCell - 1) / lightCell, h: (p.H + lightCell - 1) / lightCell}
	for c := range l.rgb {
		l.rgb[c] = make([]float32, l.w*l.h)
	}
	counts := make([][3]int, l.h)
	plane.Share(l.h, func(from, to int) {
		for cy := from; cy < to; cy++ {
			for cx := range l.w {
				var sum [3]float32
				n := 0
				for y := cy * lightCell; y < min((cy+1)*lightCell, p.H); y++ {
					x0, x1 := cx*lightCell, min((cx+1)*lightCell, p.W)
					row := p.Pix[3*(y*p.W+x0) : 3*(y*p.W+x1)]
					for i := 0; i < len(row); i += 3 {
						for c := range 3 {
							v := row[i+c]
							sum[c] += plane.Linear8(v)
							if v == 255 {
								counts[cy][c]++
							}
						}
					}
					n += x1 - x0
				}
				for c := range 3 {
					l.rgb[c][cy*l.w+cx] = sum[c] / float32(n)
				}
			}
		}
	})
	for _, n := range counts {
		for c := range 3 {
			l.clipped[c] += float64(n[c]) / float64(p.W*p.H)
		}
	}
	return l
}

// at samples the light of a channel at (x, y) pixels of the picture.
func (l *light) at(c int, x, y float64) (float64, bool) {
	u, v := x/lightCell-0.5, y/lightCell-0.5
	if u < 0 || v < 0 || u > float64(l.w-1) || v > float64(l.h-1) {
		return 0, false
	}
	i, j := min(int(u), max(l.w-2, 0)), min(int(v), max(l.h-2, 0))
	fu, fv := u-float64(i), v-float64(j)
	r, b := min(i+1, l.w-1), min(j+1, l.h-1)
	m := l.rgb[c]
	return (float64(m[j*l.w+i])*(1-fu)+float64(m[j*l.w+r])*fu)*(1-fv) +
		(float64(m[b*l.w+i])*(1-fu)+float64(m[b*l.w+r])*fu)*fv, true
}

// against compares the light of two frames over the picture, in EV by channel: the median
// over the places that are neither dark nor near clipping in either. lies takes a place from
// the centre in b to its place in a. ok is false where too little can be compared.
func (b *light) against(a *light, w, h int, lies func(x, y float64) (float64, float64)) (ev [3]float64, ok bool) {
	var ratios [3][]float64
	for y := lightCell / 2; y < h; y += lightCell {
		for x := lightCell / 2; x < w; x += lightCell {
			px, py := float64(x)-float64(w-1)/2, float64(y)-float64(h-1)/2
			qx, qy := lies(px, py)
			for c := range 3 {
				vb, ok1 := b.at(c, float64(x), float64(y))
				va, ok2 := a.at(c, qx+float64(w-1)/2, qy+float64(h-1)/2)
				if ok1 && ok2 && min(va, vb) > 0.004 && max(va, vb) < 0.8 {
					ratios[c] = append(ratios[c], math.Log2(vb/va))
				}
			}
		}
	}
	for c := range 3 {
		if len(ratios[c]) < 12 {
			return ev, false
		}
		ev[c] = plane.Kth(ratios[c], len(ratios[c])/2)
	}
	return ev, true
}

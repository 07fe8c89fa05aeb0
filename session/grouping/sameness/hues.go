package sameness

import "math"

// hues is how far the colours of two frames lie alike at the same places, as a correlation
// from 0.5 to 1; 0 where it is less, and where they lie nearly as much alike when moved by two
// cells, or more alike when moved one way. The side that a lamp stands on turns shading about, and with it
// the edges of whatever is rough, but not the ratios of red and blue to green (see B. Funt
// and G. Finlayson, "Color Constant Color Indexing", IEEE Trans. PAMI 17(5), 1995).
func hues(a, b *View) float64 {
	const off, better, least = 2, 0.12, 0.5 // cells; of correlation
	here := a.huesAt(b, 0, 0)
	if here < least {
		return 0
	}
	moved, most := 0.0, -1.0
	for _, d := range [...][2]int{{off, 0}, {-off, 0}, {0, off}, {0, -off}, {off, off}, {-off, -off}, {off, -off}, {-off, off}} {
		m := a.huesAt(b, d[0], d[1])
		moved, most = moved+m/8, max(most, m)
	}
	if here < moved+better || here < most {
		return 0
	}
	return here
}

// huesAt correlates log2 of red and of blue over green when b is a shifted by dx, dy cells,
// where both are lit.
func (v *View) huesAt(b *View, dx, dy int) float64 {
	const faint = 0.01 // variance in square stops: what is grey has no hue
	cells := v.W * v.H
	var both, one, other float64
	for _, ratio := range [...]int{0, levels * cells} {
		x, y := v.colour[ratio+cells:], b.colour[ratio+cells:] // at the first blur
		var w, sx, sy, sxx, syy, sxy float32
		for r := max(0, -dy); r < min(v.H, v.H-dy); r++ {
			for c := max(0, -dx); c < min(v.W, v.W-dx); c++ {
				i, j := r*v.W+c, (r+dy)*v.W+c+dx
				k := min(v.lit[i], b.lit[j])
				p, q := x[i], y[j]
				w += k
				sx += k * p
				sy += k * q
				sxx += k * p * p
				syy += k * q * q
				sxy += k * p * q
			}
		}
		n := float64(w) + 1e-6
		mx, my := float64(sx)/n, float64(sy)/n
		both += float64(sxy)/n - mx*my
		one += float64(sxx)/n - mx*mx
		other += float64(syy)/n - my*my
	}
	return both / (math.Sqrt(max(0, one)*max(0, other)) + faint)
}

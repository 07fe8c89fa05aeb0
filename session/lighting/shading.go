package lighting

import "math"

// chromaEdge is how much the proportions of the channels must change from one pixel to the
// next, in stops, for the step to count as one of surface colour.
const chromaEdge = 0.12

// shading separates shading from surface colour and gives it in stops, up to a constant, a
// value a pixel: the steps of luminance from pixel to pixel are kept where the proportions
// of the channels stay, and dropped where they change, since light that falls off changes
// all channels alike and a new colour does not; the picture whose steps come nearest to
// what is kept is the shading. That is Retinex (E. H. Land and J. J. McCann, J. Opt. Soc.
// Am. 61(1), 1971) with the rule by colour that R. Grosse and others found to separate
// measured objects best of the simple ones ("Ground truth dataset and baseline evaluations
// for intrinsic image algorithms", ICCV 2009). A grey pattern on a grey thing passes for
// shading; a coloured lamp beside a white one passes for colour.
func (p *picture) shading() []float64 {
	w, h := p.w, p.h
	right, down := make([]float64, w*h), make([]float64, w*h) // steps kept
	for y := range h {
		for x := range w {
			i := y*w + x
			if x+1 < w {
				right[i] = p.step(i, i+1)
			}
			if y+1 < h {
				down[i] = p.step(i, i+w)
			}
		}
	}
	return integrate(w, h, right, down)
}

// step is the step of luminance from pixel i to j in stops, 0 where the colour changes.
func (p *picture) step(i, j int) float64 {
	if p.luma[i] > darkest*4 && p.luma[j] > darkest*4 {
		for c := range 2 { // red and green against blue's place: two proportions say all
			a := math.Log2(max(p.rgb[3*i+c], darkest) / max(p.rgb[3*i+2], darkest))
			b := math.Log2(max(p.rgb[3*j+c], darkest) / max(p.rgb[3*j+2], darkest))
			if math.Abs(a-b) > chromaEdge {
				return 0
			}
		}
	}
	return p.ev(j) - p.ev(i)
}

// integrate gives the picture whose steps to the right and downwards come nearest to the
// given ones (least squares: Poisson's equation with free borders), mean 0, by conjugate
// gradients.
func integrate(w, h int, right, down []float64) []float64 {
	n := w * h
	b := make([]float64, n) // the divergence of the steps
	for y := range h {
		for x := range w {
			i := y*w + x
			if x+1 < w {
				b[i] -= right[i]
				b[i+1] += right[i]
			}
			if y+1 < h {
				b[i] -= down[i]
				b[i+w] += down[i]
			}
		}
	}
	apply := func(dst, v []float64) {
		clear(dst)
		for y := range h {
			for x := range w {
				i := y*w + x
				if x+1 < w {
					d := v[i] - v[i+1]
					dst[i] += d
					dst[i+1] -= d
				}
				if y+1 < h {
					d := v[i] - v[i+w]
					dst[i] += d
					dst[i+w] -= d
				}
			}
		}
	}
	out, r, d, ad := make([]float64, n), b, append([]float64(nil), b...), make([]float64, n)
	rr := dot(r, r)
	stop := rr * 1e-8
	for range 4 * (w + h) {
		if rr <= stop || rr == 0 {
			break
		}
		apply(ad, d)
		a := rr / dot(d, ad)
		for i := range out {
			out[i] += a * d[i]
			r[i] -= a * ad[i]
		}
		next := dot(r, r)
		for i := range d {
			d[i] = r[i] + next/rr*d[i]
		}
		rr = next
	}
	mean := 0.0
	for _, v := range out {
		mean += v
	}
	mean /= float64(n)
	for i := range out {
		out[i] -= mean
	}
	return out
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

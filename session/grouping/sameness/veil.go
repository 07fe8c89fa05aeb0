package sameness

import "math"

// Veil is how far a frame looks like another one seen past something that hangs before the
// lens and takes light away. Such a thing is so far out of focus that it dims smoothly
// from place to place, and what light it throws back itself lies over the picture as haze;
// the light on the table, and so every shadow, stays as it was. A lamp that was moved
// brightens something, or shifts shadows, and takes no contrast away.
type Veil struct {
	// Dimmed is the share of the frame, 0..1, that is darker by half a stop or more, and
	// Brightened that which is brighter by 0.3 stops or more and has kept its structure.
	Dimmed, Brightened float64
	// Smooth, up to 1, is the part of the dimming's unevenness that a smooth field explains;
	// next to 0 where the dimming is even.
	Smooth float64
	// Haze is the share of the frame, 0..1, that is dimmed and has lost more of its
	// structure than the dimming explains.
	Haze float64
}

// Veiled holds m against n, a frame of the same shape (others panic) and the same exposure.
func Veiled(m, n *View) Veil {
	mustCompare(m, n)
	const (
		darker, brighter = -0.5, 0.3 // stops
		uneven           = 0.3       // stops, on the mean: less says nothing
	)
	cells := m.W * m.H
	// At the greatest blur, so that the focus matters little.
	mine, its := m.lum[2*cells:], n.lum[2*cells:]
	d, weight := make([]float64, cells), make([]float64, cells) // d: stops by which m is brighter
	var out Veil
	var lit, mean float64
	for i := range d {
		d[i] = float64(mine[i] - its[i])
		w := n.Lit(i)
		weight[i] = w
		lit += w
		mean += w * d[i]
		lost := n.structureLost(m, i, d[i])
		switch {
		case d[i] < darker:
			out.Dimmed += w
			out.Haze += w * m.Lit(i) * lost // black is no haze
		case d[i] > brighter:
			out.Brightened += w * (1 - lost)
		}
	}
	lit++
	mean /= lit
	spread, rest := 0.0, 0.0
	smooth := smoothed(d, weight, m.W)
	for i, w := range weight {
		spread += w * math.Abs(d[i]-mean)
		rest += w * math.Abs(d[i]-smooth[i])
	}
	out.Dimmed, out.Brightened, out.Haze = out.Dimmed/lit, out.Brightened/lit, out.Haze/lit
	out.Smooth = (1 - rest/(spread+1e-9)) * min(1, spread/lit/uneven)
	return out
}

// structureLost is the part, 0..1, of n's structure in cell i that m lacks, beyond what its
// being d stops brighter explains: grey values, which are about the 2.2th root of the light,
// then lie that much closer together or farther apart.
func (n *View) structureLost(m *View, i int, d float64) float64 {
	explained := 2 / 2.2 * min(max(d, -4), 4)
	return min(max((float64(n.Form[i]-m.Form[i])+explained-1)/3, 0), 1)
}

// terms of a polynomial of third degree in two variables.
const terms = 10

func powers(x, y float64) [terms]float64 {
	return [terms]float64{1, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y}
}

// smoothed gives the polynomial of third degree over a grid w cells wide that lies nearest to
// d in the sense of least squares.
func smoothed(d, weight []float64, w int) []float64 {
	basis := make([][terms]float64, len(d))
	var a [terms][terms + 1]float64 // normal equations
	h := len(d) / w
	for i := range d {
		basis[i] = powers(2*float64(i%w)/float64(w)-1, 2*float64(i/w)/float64(h)-1)
		b := &basis[i]
		for r := range terms {
			v := weight[i] * b[r]
			for c := r; c < terms; c++ {
				a[r][c] += v * b[c]
			}
			a[r][terms] += v * d[i]
		}
	}
	for r := range terms {
		a[r][r] += 0.01 // a frame lit in hardly a cell has a solution too
		for c := range r {
			a[r][c] = a[c][r]
		}
	}
	for r := range terms { // Gauss-Jordan; the matrix is positive definite
		for q := range terms {
			if q == r {
				continue
			}
			f := a[q][r] / a[r][r]
			for c := r; c <= terms; c++ {
				a[q][c] -= f * a[r][c]
			}
		}
	}
	out := make([]float64, len(d))
	for i := range out {
		for r, v := range basis[i] {
			out[i] += v * a[r][terms] / a[r][r]
		}
	}
	return out
}

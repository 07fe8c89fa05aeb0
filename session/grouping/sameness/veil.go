package sameness

import "math"

// Veil is how far a frame looks like another one seen past something that hangs before the
// lens and takes light away. Such a thing is so far out of focus that it dims smoothly
// from place to place, and what light it throws back itself lies over the picture as haze;
// the light on the table, and so every shadow, stays as it was. A lamp that was moved
// brightens something, or shifts shadows, and takes no contrast away.
type Veil struct {
	// Dimmed is the share of the frame, 0..1, that is darker by half a stop or more, and
	// Brightened that which is brighter by 0.3 stops or more.
	Dimmed, Brightened float64
	// Spread is how uneven the dimming is: its mean difference from its mean, in stops. Rest
	// is its mean change in stops when it is blurred by two cells instead of one, which
	// is little where it is smooth.
	Spread, Rest float64
	// Haze is the share of the frame, 0..1, that is dimmed and has lost more of its
	// structure than the dimming explains.
	Haze float64
	// Through is how far the other frame's pattern shows in this one.
	Through
}

// Veiled holds m against n, a frame of the same shape (others panic) and the same exposure.
func Veiled(m, n *View) Veil {
	mustCompare(m, n)
	const darker, brighter = -0.5, 0.3 // stops
	cells := m.W * m.H
	// At the greatest blur, so that the focus matters little.
	mine, its := m.lum[2*cells:], n.lum[2*cells:]
	finer, finest := m.lum[cells:], n.lum[cells:]
	d := make([]float64, cells) // stops by which m is brighter
	var out Veil
	var lit, mean float64
	for i := range d {
		d[i] = float64(mine[i] - its[i])
		w := n.Lit(i)
		out.Rest += w * math.Abs(float64(finer[i]-finest[i])-d[i])
		lit += w
		mean += w * d[i]
		switch {
		case d[i] < darker:
			out.Dimmed += w
			out.Haze += w * m.Lit(i) * n.structureLost(m, i, d[i]) // black is no haze
		case d[i] > brighter:
			out.Brightened += w
		}
	}
	lit++
	mean /= lit
	for i, v := range d {
		out.Spread += n.Lit(i) * math.Abs(v-mean)
	}
	for _, v := range [...]*float64{&out.Dimmed, &out.Brightened, &out.Haze, &out.Spread, &out.Rest} {
		*v /= lit
	}
	out.Through = SeenThrough(m, n, n.lit)
	return out
}

// structureLost is the part, 0..1, of n's structure in cell i that m lacks, beyond what its
// being d stops brighter explains: grey values, which are about the 2.2th root of the light,
// then lie that much closer together or farther apart.
func (n *View) structureLost(m *View, i int, d float64) float64 {
	explained := 2 / 2.2 * min(max(d, -4), 4)
	return min(max((float64(n.Form[i]-m.Form[i])+explained-1)/3, 0), 1)
}

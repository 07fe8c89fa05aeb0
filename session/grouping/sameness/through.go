package sameness

import "math"

// Through tells how far the light and dark places of a picture show in another one, each against
// its surroundings. Where a lamp was only moved or dimmed the table's own pattern stays, and its
// contrast with it; past something that hangs before the lens it is seen faded; behind a hand
// that hides the table nothing of it is left. The logarithms of luminance are compared after
// their local means are taken out (normalised cross-correlation; J. P. Lewis, "Fast Template
// Matching", Vision Interface 1995). On cells of a 24th of the long side a different focus matters
// little, and in faint light the pattern is as plain as in bright.
type Through struct {
	// Alike, -1..1, is the correlation: about 0 of two pictures that have nothing in common.
	Alike float64
	// Contrast is how strong the pattern is in the one picture, 1 when it is as strong as the other
	// picture under so much more or less light would show it. What hangs before the lens takes
	// contrast away.
	Contrast float64
}

// SeenThrough looks for the pattern of n in m, a frame of the same shape (others panic), where
// weight says (0..1, by cell; nil: wherever there is light in both).
func SeenThrough(m, n *View, weight []float32) Through {
	mustCompare(m, n)
	const least = 0.02 // stops; less is no pattern
	cells := m.W * m.H
	if weight == nil {
		weight = make([]float32, cells)
		for i := range weight {
			weight[i] = min(m.lit[i], n.lit[i])
		}
	}
	y := m.lum[:cells]
	x := n.dimmedAs(m, weight)
	// Sums of weights and of weighted values around every cell.
	sums := make([]float32, 6*cells)
	w, wx, wy, across := sums[:cells], sums[cells:][:cells], sums[2*cells:][:cells], sums[3*cells:]
	for i, k := range weight[:cells] {
		w[i], wx[i], wy[i] = k, k*x[i], k*y[i]
	}
	for k, s := range [...][]float32{w, wx, wy} {
		around(s, across[k*cells:][:cells], m.W, m.H)
	}
	var xx, yy, xy, all float64
	for i, k := range weight[:cells] {
		if k < 0.01 {
			continue
		}
		dx, dy := float64(x[i]-wx[i]/w[i]), float64(y[i]-wy[i]/w[i])
		k := float64(k)
		xx += k * dx * dx
		yy += k * dy * dy
		xy += k * dx * dy
		all += k
	}
	xx += all*least*least + 1e-9
	yy += all*least*least + 1e-9
	return Through{xy / math.Sqrt(xx*yy), math.Sqrt(yy / xx)}
}

// around sums s, of w x h cells, over five by five cells.
func around(s, across []float32, w, h int) {
	const reach = 2
	for y := range h {
		row, to := s[y*w:][:w], across[y*w:][:w]
		var sum float32
		for x := range min(reach, w) {
			sum += row[x]
		}
		for x := range w {
			if x+reach < w {
				sum += row[x+reach]
			}
			to[x] = sum
			if x >= reach {
				sum -= row[x-reach]
			}
		}
	}
	for x := range w {
		var sum float32
		for y := range min(reach, h) {
			sum += across[y*w+x]
		}
		for y := range h {
			if y+reach < h {
				sum += across[(y+reach)*w+x]
			}
			s[y*w+x] = sum
			if y >= reach {
				sum -= across[(y-reach)*w+x]
			}
		}
	}
}

// dimmedAs gives the log luminances of v under so much more or less light that, where weight
// says, it is as bright as m.
func (v *View) dimmedAs(m *View, weight []float32) []float32 {
	cells := v.W * v.H
	linear := make([]float32, cells)
	var mine, its float32
	for i, k := range weight[:cells] {
		linear[i] = exp2(v.lum[i]) - blackLevel
		mine += k * linear[i]
		its += k * (exp2(m.lum[i]) - blackLevel)
	}
	gain := (its + 1e-6) / (mine + 1e-6)
	for i, l := range linear {
		linear[i] = log2(max(0, l*gain) + blackLevel)
	}
	return linear
}

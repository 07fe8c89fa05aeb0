package focus

import (
	"math"

	"stillbench/session/align"
)

// Where little is sharp, or nothing stands at a depth, blur alone tells steps badly: many places of the frames explain the
// energies about as well. But a lens that is focused nearer stands farther from the sensor and draws larger, or smaller where groups
// of its elements move against each other; how much larger each frame is drawn is known from how it lies on the others, to a few
// hundredths of a pixel at its corners; and over a stack it goes evenly with the place. By how much, the stack's own steps tell. What the
// sizes say of a step is small beside what a well-seen one says of itself, and decides where that says little (empirical Bayes:
// B. Efron and C. Morris, 1973, as for the spectra). It may be wrong for a step: the farther off it is, the less it pulls (Cauchy's
// weights: P. W. Holland and R. E. Welsch, "Robust regression using iteratively reweighted least-squares", 1977).
//
// That steps are about as large as each other is not assumed: it would take gaps for steps.

const (
	// Hundreds of tiles tell of a step, each wrong by its own and all wrong alike by what the law of blur does not know of their
	// texture; they are taken for independent, so that the sizes must count for as many.
	sizesWeight = 150

	breathedSD     = 0.15 // of a step that the frames' sizes tell
	leastStepSD    = 0.25 // circles of confusion
	sizeError      = 0.05 // pixels at the corners, by which a frame's size is wrong
	breathesFor    = 20   // times sizeError that the sizes must differ by, and
	breathesEvenly = 0.9  // correlate with the places, for them to tell steps
)

// sizeError is what a frame's size is wrong by, in pixels at its corners.
func (ev *evidence) sizeError() float64 { return max(ev.closure, sizeError) }

// closureOf is what the links say of their own error: the size of a frame against the one before the last, straight and by way of
// the last, are the same (as in a levelling loop). In noise links are far less exact than their residuals tell. In pixels at the corners, as a standard
// deviation of one link; 0 where too few say anything.
func closureOf(links []align.Link, corner float64) float64 {
	size := map[[2]int]float64{}
	for _, l := range links {
		size[[2]int{l.From, l.To}] = math.Log(l.Move.Scale)
	}
	var off []float64
	for at, whole := range size {
		one, ok1 := size[[2]int{at[0], at[0] + 1}]
		other, ok2 := size[[2]int{at[0] + 1, at[1]}]
		if ok1 && ok2 && at[1] == at[0]+2 {
			off = append(off, math.Abs(whole-one-other)*corner)
		}
	}
	if len(off) == 0 {
		return 0
	}
	return 1.4826 * median(off) / math.Sqrt(3)
}

// breathing gives by how much the logarithm of the frames' size grows with the place: the median over pairs of frames (P. K. Sen,
// "Estimates of the regression coefficient based on Kendall's tau", 1968). It tells nothing where the sizes differ by less
// than they are wrong by, or do not go with the places.
func (p *places) breathing() (rate float64, told bool) {
	if spread(p.ev.size) < breathesFor*p.ev.sizeError()/p.ev.corner || math.Abs(correlation(p.ev.size, p.s)) < breathesEvenly {
		return 0, false
	}
	var rates []float64
	for i := range p.s {
		for k := range i {
			if d := p.s[i] - p.s[k]; !p.skip[i] && !p.skip[k] && math.Abs(d) > 2*p.circle {
				rates = append(rates, (p.ev.size[i]-p.ev.size[k])/d)
			}
		}
	}
	if len(rates) == 0 {
		return 0, false
	}
	rate = median(rates)
	return rate, rate != 0
}

// holdSteps adds what the frames' sizes say of steps to the normal equations a d = g of the changes d of the frames' places.
func (p *places) holdSteps(a [][]float64, g []float64) {
	rate, told := p.breathing()
	if !told {
		return
	}
	for r := 1; r < p.ev.n; r++ {
		i, k := p.order[r-1], p.order[r]
		if p.skip[i] || p.skip[k] {
			continue
		}
		step := (p.ev.size[k] - p.ev.size[i]) / rate
		sd := max(math.Hypot(breathedSD*step, math.Sqrt2*p.ev.sizeError()/p.ev.corner/rate), leastStepSD*p.circle)
		off := p.s[k] - p.s[i] - step
		w := sizesWeight / sq(sd) / (1 + sq(off/sd))
		a[i][i] += w
		a[k][k] += w
		a[i][k] -= w
		a[k][i] -= w
		g[i] += w * off
		g[k] -= w * off
	}
}

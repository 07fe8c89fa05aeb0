// Package marker judges whether a frame is a marker: a hand, a glove, a card or a cap
// held before the lens. Such a thing stands far nearer than the lens can focus, so it
// shows as large soft patches that neither the frame before nor the frame after has at
// that place. The colour of the patches says nothing, and is not looked at.
package marker

import (
	"math"
	"slices"

	"stillbench/session/grouping/sameness"
)

// Neighbour is a frame to judge against: the nearest one before or after that is no
// marker itself.
type Neighbour struct {
	View *sameness.View // nil when there is none
	// EV is how much brighter the neighbour should be by its settings, in stops.
	EV float64
}

// Judgement is what speaks for a marker and what against.
type Judgement struct {
	// Covered is the share, 0..1, of what can be seen that neither neighbour shows.
	Covered float64
	// Crisp is the detail of the crispest parts of the covered area against that of a
	// frame in focus: 0 none at all, 1 as much.
	Crisp float64
	// Structure, -1..1, is how far the edges in the covered area run as in the
	// neighbour that agrees better: high when only the light or the focus changed.
	Structure float64
	// Dark: hardly any light came through (a cap, or a hand close up).
	Dark bool
	// LogOdds that the frame is a marker, natural logarithm; 0 is even.
	LogOdds float64
}

// differs is the difference in stops at which a place is half held to be another thing.
const differs = 0.6

// Crispest is the detail of the crispest twenty-fifth of a frame, in doublings above
// the noise: how crisp the frame is where it is crispest.
func Crispest(v *sameness.View) float64 { return crispest(v, nil) }

// Judge weighs one frame against the nearest frames before and after that are no
// markers. usual is the Crispest of an ordinary frame of the session that has
// something in focus. A neighbour of another shape (the camera was turned) differs
// everywhere. Without any neighbour Judge rules a marker out: there is nothing to hold
// the frame against.
func Judge(m *sameness.View, before, after Neighbour, usual float64) Judgement {
	var ds [2][]float32
	var views [2]*sameness.View
	for i, n := range []Neighbour{before, after} {
		if sameness.Comparable(m, n.View) {
			ds[i] = sameness.Differences(nil, m, n.View, n.EV)
			views[i] = n.View
		}
	}
	if before.View == nil && after.View == nil {
		return Judgement{LogOdds: math.Inf(-1)}
	}
	cover := make([]float32, m.W*m.H)
	var lit, covered, mine float64
	for i := range cover {
		d := float32(math.MaxFloat32)
		w := m.Lit(i)
		mine += w
		for k, v := range views {
			if v != nil {
				d = min(d, ds[k][i])
				w = max(w, v.Lit(i))
			}
		}
		cover[i] = float32(1 / (1 + math.Exp((differs-float64(d))/0.12)))
		lit += w
		covered += w * float64(cover[i])
		cover[i] *= float32(w)
	}
	j := Judgement{Covered: covered / (lit + 3), Dark: mine < 0.2*float64(len(cover))}
	j.Crisp = crispest(m, inner(cover, m.W, m.H)) / max(usual, 3)
	for _, v := range views {
		if v != nil {
			j.Structure = max(j.Structure, sameness.Agreement(m, v, cover))
		}
	}
	j.LogOdds = -2 +
		clamp(20*(j.Covered-0.3), -7, 5) +
		clamp(15*(0.4-j.Crisp), -9, 4) -
		clamp(14*(j.Structure-0.25), 0, 8)
	return j
}

func clamp(v, lo, hi float64) float64 { return min(max(v, lo), hi) }

// inner keeps what is covered together with all its neighbours: the border of a hand
// is half open, and shows what lies behind it.
func inner(cover []float32, w, h int) []float32 {
	out := make([]float32, len(cover))
	for y := range h {
		for x := range w {
			least := float32(1)
			for yy := max(0, y-1); yy <= min(h-1, y+1); yy++ {
				for xx := max(0, x-1); xx <= min(w-1, x+1); xx++ {
					least = min(least, cover[yy*w+xx])
				}
			}
			if least > 0.6 {
				out[y*w+x] = 1
			}
		}
	}
	return out
}

// crispest is the mean of the crispest twenty-fifth of the cells that mask holds (nil:
// all), counted as a share of all cells.
func crispest(v *sameness.View, mask []float32) float64 {
	cells := make([]float32, 0, len(v.Crisp))
	for i, c := range v.Crisp {
		if mask == nil || mask[i] > 0 {
			cells = append(cells, c)
		}
	}
	slices.Sort(cells)
	n := min(len(cells), max(1, len(v.Crisp)/25))
	if n == 0 {
		return 0
	}
	sum := 0.0
	for _, c := range cells[len(cells)-n:] {
		sum += float64(c)
	}
	return sum / float64(n)
}

package focus

import (
	"math"

	"stillbench/session/plane"
)

// A blurred tile's place and the detail that it would have in focus can be told from each other only by how the blur
// goes on from frame to frame: at the ends of a stack, little. But what it would have to be made of at a place is known from others
// that are in focus: the tiles around it, or all. So the place at which it would be like them is the likelier (empirical
// Bayes: B. Efron and C. Morris, 1973, as for the spectra). A tile's traits are the gain of its coarsest band, and by how
// much the gain of each other band is above that of the next.

const (
	sureTrait   = 0.5  // standard deviation of a trait up to which it counts for the usual
	leastTraits = 0.15 // of the traits of tiles
	traitReach  = 3    // tiles on either side that are around one
	traitTiles  = 6    // around one, or
	traitStack  = 8    // in all of the stack, that make the usual
)

// trait is trait b of the tile and its variance where the tile is at its place; NaN where it is not known.
func (t *tileEvidence) trait(b int) (x, variance float64) {
	x, v, lean := t.gain[b], t.vague[b], t.lean[b]
	if b+1 < bands {
		x, v, lean = x-t.gain[b+1], v+t.vague[b+1], lean-t.lean[b+1]
	}
	return x, v + sq(lean*t.fit.sd)
}

// traits finds what is usual around each of some tiles.
func (p *places) traits(of []int) {
	first, last := p.ends()
	rows := 0
	for _, k := range of {
		rows = max(rows, p.ev.tiles[k].at/p.ev.tw+1)
	}
	for b := range bands {
		known := make([]float64, rows*p.ev.tw) // by place in the grid, NaN where it is not
		for at := range known {
			known[at] = math.NaN()
		}
		var all []float64
		for _, k := range of {
			t := &p.ev.tiles[k]
			x, v := t.trait(b)
			if !t.fit.ok || t.fit.out || t.fit.cost > 3 || !(v < sq(sureTrait)) || t.fit.place < first-p.circle || t.fit.place > last+p.circle {
				continue
			}
			known[t.at] = x
			all = append(all, x)
		}
		if len(all) < traitStack {
			for _, k := range of {
				p.ev.tiles[k].spread[b] = 0
			}
			continue
		}
		middle := median(all)
		for i, x := range all {
			all[i] = math.Abs(x - middle)
		}
		wide := max(1.4826*median(all), leastTraits)
		// Those around, and how far from that tiles lie.
		around := make([]float64, len(of))
		plane.Share(len(of), func(from, to int) {
			var near []float64
			for q := from; q < to; q++ {
				at := p.ev.tiles[of[q]].at
				near = near[:0]
				x, y := at%p.ev.tw, at/p.ev.tw
				for j := max(y-traitReach, 0); j <= min(y+traitReach, rows-1); j++ {
					for i := max(x-traitReach, 0); i <= min(x+traitReach, p.ev.tw-1); i++ {
						if v := known[j*p.ev.tw+i]; v == v && (i != x || j != y) {
							near = append(near, v)
						}
					}
				}
				if around[q] = math.NaN(); len(near) >= traitTiles {
					around[q] = plane.Kth(near, len(near)/2)
				}
			}
		})
		var off []float64
		for q, k := range of {
			if d := math.Abs(known[p.ev.tiles[k].at] - around[q]); d == d {
				off = append(off, d)
			}
		}
		narrow := wide
		if len(off) >= traitStack {
			narrow = max(1.4826*median(off), leastTraits)
		}
		for q, k := range of {
			t := &p.ev.tiles[k]
			t.usual[b], t.spread[b] = middle, wide
			if a := around[q]; a == a {
				t.usual[b], t.spread[b] = a, narrow
			}
		}
	}
}

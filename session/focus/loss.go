package focus

import (
	"math"
	"slices"
)

// A frame blurred by movement is weaker in every tile than a lens in focus anywhere would
// leave it. So every frame is held against what the others say of its tiles: the
// places and the detail of the tiles are found without it, and then the place and the
// blur over all of the picture that explain the frame best. Blur and defocus add as
// variances do, so a tile at distance d from the frame's place is drawn as by a disc of
// hypot(d, blur). A frame that needs a blur is blurred, in whichever direction; one that lies
// far off needs none, however little is sharp in it.

// loss is what explains a frame best.
type loss struct {
	place float64 // as the frames' places
	blur  float64 // diameter of a disc that lies over all of the picture, pixels
	// gain is by how much less the frame is explained without a blur, wherever it lies:
	// twice the logarithm of the ratio of the likelihoods, per reading.
	gain float64
	n    int // readings
}

const (
	lossTiles = 120
	lossPart  = 3   // of so many readings one is looked at for a start; no multiple of which is bands
	lossReach = 6.0 // circles of confusion from the frame's place, and from those of its neighbours in time
)

// blurs are the blurs that are tried, in circles of confusion.
var blurs = []float64{0, 0.6, 0.85, 1.2, 1.7, 2.4, 3.4, 4.8, 6.8, 9.6, 13.6}

// lossOf explains frame i.
func (p *places) lossOf(i int) loss {
	out := loss{place: p.s[i]}
	near := []float64{p.s[i]}
	lo, hi := p.s[i], p.s[i]
	for _, k := range p.beside(i) {
		near = append(near, p.s[k])
		lo, hi = min(lo, p.s[k]), max(hi, p.s[k])
	}
	all := p.readings(i, near)
	if len(all) < 30 {
		return out
	}
	lo, hi = lo-3*p.circle, hi+3*p.circle
	// On a wide grid with a part of the readings, then about the best of it, for each blur.
	few := make([]reading, 0, len(all)/lossPart+1)
	for k := 0; k < len(all); k += lossPart {
		few = append(few, all[k])
	}
	pitch := 0.6 * p.circle
	best, none := math.Inf(1), math.Inf(1)
	rough := make([]float64, int((hi-lo)/pitch)+1)
	var fine [3]float64
	for _, b := range blurs {
		b *= p.circle
		unexplained(rough, few, lo, pitch, b)
		at := 0
		for k, c := range rough {
			if c < rough[at] {
				at = k
			}
		}
		from := lo + pitch*(float64(at)-0.5)
		unexplained(fine[:], all, from, pitch/2, b)
		for k, c := range fine {
			if b == 0 {
				none = min(none, c)
			}
			if c < best {
				best, out.place, out.blur = c, from+pitch/2*float64(k), b
			}
		}
	}
	out.n = len(all)
	out.gain = (none - best) / max(1, best/float64(len(all))) / float64(len(all))
	return out
}

// beside are the frames before and after frame i in time that are not left out.
func (p *places) beside(i int) (of []int) {
	for k := i - 1; k >= 0; k-- {
		if !p.skip[k] {
			of = append(of, k)
			break
		}
	}
	for k := i + 1; k < p.ev.n; k++ {
		if !p.skip[k] {
			of = append(of, k)
			break
		}
	}
	return of
}

// readings of frame i in tiles that lie near one of the places, fitted without it.
func (p *places) readings(i int, near []float64) (out []reading) {
	n := p.ev.n
	without := *p
	without.skip = slices.Clone(p.skip)
	without.skip[i] = true
	var of []int
	for _, k := range p.lead {
		t := &p.ev.tiles[k]
		if !t.fit.ok {
			continue
		}
		for _, s := range near {
			if math.Abs(t.fit.place-s) < lossReach*p.circle {
				of = append(of, k)
				break
			}
		}
	}
	every := max(1, len(of)/lossTiles)
	for q := 0; q < len(of); q += every {
		t := p.ev.tiles[of[q]] // a copy: the fit stays as it is
		if t.peak == i {
			t.peak = t.sharpest(n, without.skip)
			without.fitTile(&t)
		} else {
			without.fitNear(&t)
		}
		if !t.fit.ok || t.fit.out || t.fit.cost > 3 {
			continue
		}
		from, to := without.window(&t)
		for b := range bands {
			e, f := t.ln[b*n+i], t.floor[b*n+i]
			if e != e {
				continue
			}
			sw, sl, ss, sh := without.inFocus(&t, b, from, to)
			if sw == 0 {
				continue
			}
			out = append(out, readingOf(&t, b, inFocus{gain: sl / sw, variance: 1/sw + sq(doubt(e, f)), shift: ss / sw, held: sh / sw}, float64(e), float64(f)))
		}
	}
	return out
}

// inFocus sums up, over the frames of a window, what a tile's energy in a band would be in
// focus: weights, weighted logarithms, by how much these grow with the tile's place, and weighted ln H.
func (p *places) inFocus(t *tileEvidence, b, from, to int) (sw, sl, ss, sh float64) {
	n := p.ev.n
	lens := slanted(t.slant)
	for r := from; r < to; r++ {
		i := p.order[r]
		if e, f := t.ln[b*n+i], t.floor[b*n+i]; e > f && !p.skip[i] {
			d := t.fit.place - p.s[i]
			lnH, slope := lens.at(t.spectrum[b], b, math.Abs(d))
			if d < 0 {
				slope = -slope
			}
			w := 1 / sq(residualSD(lnH)+doubt(e, f))
			sw, sl, ss, sh = sw+w, sl+w*(float64(e)-lnH), ss-w*slope, sh+w*lnH
		}
	}
	return sw, sl, ss, sh
}

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

// reading is one tile's energy in one band of the frame that is held against the others.
type reading struct {
	place, sd  float64   // of the tile, found without the frame
	gain       float64   // ln of its energy in focus
	variance   float64   // of that
	ln, floor  float64   // of the frame
	lens       *transfer // of the tile's slant
	band, spec uint8
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
	for _, b := range blurs {
		b *= p.circle
		rough, at := math.Inf(1), lo
		for s := lo; s <= hi; s += pitch {
			if c := p.unexplained(few, s, b); c < rough {
				rough, at = c, s
			}
		}
		for _, s := range [...]float64{at - pitch/2, at, at + pitch/2} {
			c := p.unexplained(all, s, b)
			if b == 0 {
				none = min(none, c)
			}
			if c < best {
				best, out.place, out.blur = c, s, b
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
		if !t.fit.ok || t.fit.cost > 3 {
			continue
		}
		from, to := without.window(&t)
		for b := range bands {
			e, f := t.ln[b*n+i], t.floor[b*n+i]
			if e != e {
				continue
			}
			sw, sl, _ := without.inFocus(&t, b, from, to)
			if sw == 0 {
				continue
			}
			out = append(out, reading{
				place: t.fit.place, sd: t.fit.sd, gain: sl / sw, variance: 1 / sw,
				ln: float64(e), floor: float64(f), lens: slanted(t.slant), band: uint8(b), spec: t.spectrum[b],
			})
		}
	}
	return out
}

// inFocus sums up, over the frames of a window, what a tile's energy in a band would be in
// focus: weights, weighted logarithms, and by how much these grow with the tile's place.
func (p *places) inFocus(t *tileEvidence, b, from, to int) (sw, sl, ss float64) {
	n := p.ev.n
	lens := slanted(t.slant)
	for r := from; r < to; r++ {
		i := p.order[r]
		if e := t.ln[b*n+i]; e > t.floor[b*n+i] && !p.skip[i] {
			d := t.fit.place - p.s[i]
			lnH, slope := lens.at(t.spectrum[b], b, math.Abs(d))
			if d < 0 {
				slope = -slope
			}
			w := 1 / sq(residualSD(lnH))
			sw, sl, ss = sw+w, sl+w*(float64(e)-lnH), ss-w*slope
		}
	}
	return sw, sl, ss
}

// unexplained is the robust sum of squared residuals of the readings of a frame at place s
// under a blur.
func (p *places) unexplained(all []reading, s, blur float64) float64 {
	total := 0.0
	for k := range all {
		r := &all[k]
		d := math.Hypot(s-r.place, blur)
		lnH, slope := r.lens.at(r.spec, int(r.band), d)
		model := r.gain + lnH
		if model < r.floor && r.ln < r.floor {
			continue
		}
		if d > 0 {
			slope *= math.Abs(s-r.place) / d
		}
		sd := math.Sqrt(sq(residualSD(lnH)) + r.variance + sq(slope*r.sd))
		x := math.Abs(max(r.ln, r.floor)-max(model, r.floor)) / sd
		if x > huber {
			x = math.Sqrt(2*huber*x - huber*huber)
		}
		total += x*x + 2*math.Log(sd/modelError)
	}
	return total
}

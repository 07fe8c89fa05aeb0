package focus

import (
	"math"
	"slices"

	"stillbench/session/plane"
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

// What makes a frame's blur one of movement. The law of blur is not quite that of every texture, so that
// many frames of a stack seem the better for a blur; a frame is strange where it gains by one so
// much more than the others do, in spreads of theirs (the modified z-score of B. Iglewicz and D. Hoaglin,
// "How to detect and handle outliers", 1993), and by a blur that is so much larger.
//
// How many spreads goes by what an error costs. A blurred frame that is missed costs the picture, a
// false one a minute: say twenty to one. About one frame in fifty is blurred. So a frame is to be called
// blurred from where it is 2.5 times as likely to be found there blurred as sound: on made-up stacks
// about 2.5 spreads. Three are asked for the sake of false alarms on tuning stacks (seeds 60000 to 61439).
const (
	lossCircles = 1.15 // beyond the usual blur, in circles of confusion
	lossError   = 0.02 // of a gain, where all others gain nothing
	lossSpreads = 3.0
	// Where a frame that all others lie to one side of would stand, they say half as well: a line through two
	// points has twice the standard error one step beyond them that it has midway (the square root
	// of 1+5 against that of 1+1/2).
	lossAtEnd = 2
	// The same for one of two sorts of evidence: what is more than chance, and more than may be blurred.
	likelyCircles = 1.0
	likelySpreads = 1.0
)

// usualLoss is what a blur explains of the other frames: medians, and the median deviation of the gain.
type usualLoss struct{ blur, gain, spread float64 }

// over is by how much a blur is more than the usual.
func (u usualLoss) over(l loss) float64 { return math.Sqrt(max(sq(l.blur)-sq(u.blur), 0)) }

// strange: frame i needs a blur as the others do not, by so many circles of confusion and spreads.
func (p *places) strange(i int, l loss, u usualLoss, circles, spreads float64) bool {
	if p.atEnd(i, l.place) {
		spreads *= lossAtEnd
	}
	return u.over(l) > circles*p.circle && l.gain-u.gain > spreads*(lossError+1.4826*u.spread)
}

// atEnd: all other frames that are leant on lie to one side of where frame i would stand.
func (p *places) atEnd(i int, place float64) bool {
	nearer, farther := false, false
	for k, s := range p.s {
		if k != i && !p.skip[k] {
			nearer, farther = nearer || s < place, farther || s > place
		}
	}
	return !nearer || !farther
}

// findBlurred finds the frames that a blur over all of the picture explains and no place does, the worst
// first: it must not be leant on when the others are judged. They are left out of the fit and put
// where their detail says. likely are those of which a blur explains more than of the others, too little
// for it to be said on that alone.
func (p *places) findBlurred() (found map[int]loss, likely []bool) {
	n := p.ev.n
	likely = make([]bool, n)
	if n < 3 {
		return nil, likely
	}
	found = map[int]loss{}
	sound := make([]bool, n) // after a second look
	for round := range n/3 + 1 {
		all := make([]loss, n)
		plane.Share(n, func(from, to int) {
			for i := from; i < to; i++ {
				if !p.skip[i] {
					all[i] = p.lossOf(i)
				}
			}
		})
		worst := -1
		var usual usualLoss
		for i, l := range all {
			// What shows only once another frame is out is not this one's: it has become the end of
			// the stack, and what lies past an end is known the less.
			if p.skip[i] || sound[i] || round > 0 && !likely[i] {
				continue
			}
			var blur, gain []float64 // of the others
			for k := range n {
				if k != i && !p.skip[k] {
					blur, gain = append(blur, all[k].blur), append(gain, all[k].gain)
				}
			}
			u := usualLoss{blur: median(blur), gain: median(gain)}
			for k, g := range gain {
				gain[k] = math.Abs(g - u.gain)
			}
			u.spread = median(gain)
			likely[i] = likely[i] || p.strange(i, l, u, likelyCircles, likelySpreads)
			if p.strange(i, l, u, lossCircles, lossSpreads) && (worst < 0 || l.gain > all[worst].gain) {
				worst, usual = i, u
			}
		}
		if worst < 0 {
			break
		}
		before := p.skip
		skip := slices.Clone(before)
		skip[worst] = true
		p.leaveOut(skip)
		// The others may have stood wrong because of it, or it because of them.
		if l := p.lossOf(worst); p.strange(worst, l, usual, lossCircles, lossSpreads) {
			found[worst] = l
		} else {
			sound[worst] = true
			p.leaveOut(before)
		}
	}
	if len(found) > 0 {
		for i, l := range found {
			p.s[i] = l.place
		}
		p.sort()
		p.finish()
	}
	return found, likely
}

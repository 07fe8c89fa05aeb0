package focus

import (
	"math"
	"slices"

	"stillbench/session/plane"
)

// The places of the frames are found from the pixels alone, in pixels of blur diameter at
// working size. Frame i is focused at place s[i], what a tile shows lies at place t, and the tile's
// energy in band b in that frame is
//
//	ln E = gain[b] + ln H_b(|s[i] - t|)
//
// with H_b the lens' (transfer) and the gain the tile's own detail. All s, t and gains are
// fitted together by weighted least squares. The differences of the s then are in a unit that
// means something: half the step between two neighbours is the blur, in both, of what lies
// in the middle between them.

// evidence is what the fit works on: noise-corrected energies by tile, band and frame.
type evidence struct {
	n     int // frames
	tw    int // tiles in a row of the grid
	tiles []tileEvidence
	// size is ln of how large each frame is drawn, against the reference; corner is how far its corners are from its
	// centre, in pixels.
	size            []float64
	corner, closure float64
}

// tileEvidence is one tile's energies. ln holds the logarithm of the energy less its
// noise, floor that of the least that can be told from noise; index band*n + frame.
// NaN: not seen in that frame.
type tileEvidence struct {
	at    int // index in the grid of tiles
	ln    []float32
	floor []float32
	peak  int // frame of most detail
	// spectrum is the index of the exponent of the tile's power spectrum around each band.
	spectrum [bands]uint8
	slant    uint8          // index of the spread of its depths: see slanted
	gain     [bands]float64 // ln of the energies in focus, NaN where unknown
	vague    [bands]float64 // variance of that, and by how much it grows
	lean     [bands]float64 // with the tile's place
	// usual and spread are mean and standard deviation of its traits as those around it have them; spread 0:
	// not known.
	usual, spread [bands]float64
	best          [bands]float64 // the largest energy in each band, 0 where it is noise
	fit           tileFit
}

// tileFit is where a tile lies.
type tileFit struct {
	ok    bool
	place float64 // the likeliest; same unit as the frames' places
	sd    float64
	cost  float64 // mean squared residual, against the usual
	// out says that the tile lies farther outside the frames than a subject reaches, likelier than at place, or nobody knows where:
	// that it shows the same in all frames, as noise does. beyond is -1 or 1 where it lies so far past the first or the last frame, in order
	// of the fit, and else 0.
	out    bool
	beyond int
	// below and above are by how much likelier the tile lies before the first frame, or behind the last, in
	// order of the fit, from a circle of confusion on as far as a subject reaches, than anywhere else, in focus or
	// farther out: twice the logarithm of the ratio of the likelihoods at their best places. Negative: it does not.
	below, above float64
}

// What the model does not know of itself: 10 % of an energy, and a sixth of how
// far it lets it fall.
const (
	modelError    = 0.10
	modelRelative = 0.16
	huber         = 2.0
	windowFrames  = 7 // frames on either side of a tile's peak that are compared
	candidateStep = 0.4
	// What shows nearly the same in all frames may also be sharp in all of them. It is taken for noise where that is by so much the
	// likelier, as twice a logarithm of likelihoods: "very strong" evidence (R. E. Kass and A. E. Raftery, "Bayes factors", J. Am. Stat.
	// Assoc. 90, 1995).
	decisive  = 10
	usualCost = 2 // of a residual, where the model holds
	leadTiles = 900
)

// residualSD is the standard deviation that a residual of ln E is allowed, where the model
// says that ln H of it is left.
func residualSD(lnH float64) float64 { return modelError - modelRelative*max(lnH, -8) }

// doubt is the standard deviation of ln of an energy by what is not known of the noise that was taken off: that is as
// much as the floor.
func doubt(ln, floor float32) float64 { return math.Exp(min(float64(floor-ln), 0)) }

// Of what the model does not know, modelShared is what the frames of a tile share in a band, the spectrum
// being the same in all of them: a part of its ln H. A residual is allowed modelError and modelOwn of ln H
// besides, as a standard deviation.
const (
	modelShared = 0.08
	modelOwn    = 0.11
)

// places holds the state of the fit.
type places struct {
	ev    *evidence
	s     []float64 // by frame
	order []int     // frames by place
	rank  []int
	sd    []float64 // of the step from the frame before, in order; sd[0] unused
	skip  []bool    // frames that the fit must not lean on
	t     *transfer
	// circle of confusion in pixels.
	circle float64
	// lead are the tiles that the frames' places are found from: all, or an even choice.
	lead []int
}

func (p *places) sort() {
	p.order = p.order[:0]
	for i := range p.s {
		p.order = append(p.order, i)
	}
	slices.SortStableFunc(p.order, func(a, b int) int {
		switch {
		case p.s[a] < p.s[b]:
			return -1
		case p.s[a] > p.s[b]:
			return 1
		}
		return 0
	})
	p.rank = make([]int, len(p.s))
	for r, i := range p.order {
		p.rank[i] = r
	}
}

// clone is a state that can be fitted on without this one noticing.
func (p *places) clone() *places {
	c := *p
	ev := *p.ev
	ev.tiles = slices.Clone(p.ev.tiles)
	c.ev, c.s, c.order, c.rank, c.skip = &ev, slices.Clone(p.s), slices.Clone(p.order), slices.Clone(p.rank), slices.Clone(p.skip)
	return &c
}

// fitPlaces finds the places of all frames. circle is the circle of confusion.
func fitPlaces(ev *evidence, circle float64) *places {
	p := &places{ev: ev, s: make([]float64, ev.n), skip: make([]bool, ev.n), t: lens(), circle: circle}
	// Multiplicative hashing (D. E. Knuth, The Art of Computer Programming 3, 6.4) chooses evenly.
	every := max(1, len(ev.tiles)/leadTiles)
	for k := range ev.tiles {
		if uint32(ev.tiles[k].at)*2654435769>>16%uint32(every) == 0 {
			p.lead = append(p.lead, k)
		}
	}
	p.start()
	p.sort()
	p.refine()
	if p.relocate() {
		p.refine()
	}
	p.finish()
	return p
}

// relocate moves frames that would fit clearly better far from where they stand: the fit's
// own steps do not carry a frame past others. It reports whether any moved.
func (p *places) relocate() bool {
	n := p.ev.n
	if n < 4 {
		return false
	}
	step := (p.s[p.order[n-1]] - p.s[p.order[0]]) / float64(n-1)
	to, fits := slices.Clone(p.s), make([]float64, n)
	plane.Share(n, func(from, until int) {
		for i := from; i < until; i++ {
			fits[i] = p.misfit(i, p.s[i])
		}
	})
	usual := median(fits)
	plane.Share(n, func(from, until int) {
		for i := from; i < until; i++ {
			if fits[i] < misplaced*usual {
				continue
			}
			at, cost := p.lost(i)
			if math.Abs(at-p.s[i]) > max(1.3*step, 1.5*p.circle) && cost < 0.9*fits[i] {
				to[i] = at
			}
		}
	})
	moved := false
	for i := range to {
		moved = moved || to[i] != p.s[i]
	}
	p.s = to
	p.sort()
	return moved
}

// refine fits on from the places as they are.
func (p *places) refine() {
	const rounds, spectraUntil = 10, 5
	for round := range rounds {
		if round < 2 {
			p.fitLead()
		} else {
			p.followLead()
		}
		if round > 0 && round < spectraUntil {
			p.spectra(p.lead)
		}
		moved := p.step()
		p.sort()
		if moved < 0.01 && round > spectraUntil {
			break
		}
	}
	p.fitLead()
}

// finish places all tiles, and their spectra once they have a place.
func (p *places) finish() {
	leads := make([]bool, len(p.ev.tiles))
	for _, k := range p.lead {
		leads[k] = true
	}
	plane.Share(len(p.ev.tiles), func(from, to int) {
		for k := from; k < to; k++ {
			if !leads[k] {
				p.fitTile(&p.ev.tiles[k])
			}
		}
	})
	all := make([]int, len(p.ev.tiles))
	for k := range all {
		all[k] = k
	}
	p.spectra(all)
	fitAll := func() {
		plane.Share(len(p.ev.tiles), func(from, to int) {
			for k := from; k < to; k++ {
				p.fitTile(&p.ev.tiles[k])
			}
		})
	}
	fitAll()
	p.slants()
	p.spectra(all)
	fitAll()
}

// leaveOut fits the frames' places again without leaning on the given ones, and puts these where
// their detail says. The tiles that do not lead wait for finish.
func (p *places) leaveOut(skip []bool) {
	p.skip = skip
	for k := range p.ev.tiles {
		p.ev.tiles[k].peak = p.ev.tiles[k].sharpest(p.ev.n, skip)
	}
	p.refine()
	for i, out := range skip {
		if out {
			p.s[i] = p.lossOf(i).place
		}
	}
	p.sort()
	p.fitLead()
}

// lost finds the place that explains best how a frame's detail is shared out over the tiles,
// wherever it stands now, and the misfit there.
func (p *places) lost(i int) (at, misfit float64) {
	lo, hi := p.ends()
	lo, hi = lo-4*p.circle, hi+4*p.circle
	at, misfit = p.s[i], math.Inf(1)
	for s := lo; s <= hi; s += lostStep * p.circle {
		if m := p.misfit(i, s); m < misfit {
			at, misfit = s, m
		}
	}
	return at, misfit
}

// lostStep is from place to place that a frame is looked for at, in circles of confusion.
const lostStep = 0.5

// misplaced is from how many times the median frame's misfit on a frame is looked for elsewhere.
const misplaced = 1.25

// lostTiles is how many tiles a misfit is taken from.
const lostTiles = 160

// misfit is how far the frame's energies are from what they would be at a place, up to a
// factor for each band: mean absolute difference of logarithms.
func (p *places) misfit(i int, s float64) float64 {
	n := p.ev.n
	every := max(1, len(p.lead)/lostTiles)
	cost, m := 0.0, 0
	res := make([]float64, 0, lostTiles*2)
	for b := range bands {
		res = res[:0]
		for q := 0; q < len(p.lead); q += every {
			t := &p.ev.tiles[p.lead[q]]
			e, f := t.ln[b*n+i], t.floor[b*n+i]
			if !t.fit.ok || t.fit.cost > 3 || e != e || t.gain[b] != t.gain[b] {
				continue
			}
			lnH := left(&slanted(t.slant).log[t.spectrum[b]][b], math.Abs(s-t.fit.place))
			// Nothing is learnt where neither the frame nor the model shows detail.
			if model := t.gain[b] + lnH; model > float64(f) || e > f {
				res = append(res, float64(max(e, f))-max(model, float64(f)))
			}
		}
		if len(res) < 8 {
			continue
		}
		mid := median(res)
		for _, r := range res {
			cost += min(math.Abs(r-mid), 2)
		}
		m += len(res)
	}
	if m == 0 {
		return math.Inf(1)
	}
	return cost / float64(m)
}

// sharpest is the frame that a tile has most detail in, over the bands where it has any.
func (t *tileEvidence) sharpest(n int, skip []bool) int {
	most, at := -1.0, 0
	for k := range n {
		if skip != nil && skip[k] {
			continue
		}
		sum := 0.0
		for b := range bands - 1 {
			if e := float64(t.ln[b*n+k]); t.best[b] > 0 && e == e {
				sum += math.Exp(e) / t.best[b]
			}
		}
		if sum > most {
			most, at = sum, k
		}
	}
	return at
}

// fitLead places the tiles that lead.
func (p *places) fitLead() {
	plane.Share(len(p.lead), func(from, to int) {
		for _, k := range p.lead[from:to] {
			p.fitTile(&p.ev.tiles[k])
		}
	})
}

// followLead places the tiles that lead again, once they are near where they belong.
func (p *places) followLead() {
	plane.Share(len(p.lead), func(from, to int) {
		for _, k := range p.lead[from:to] {
			p.fitNear(&p.ev.tiles[k])
		}
	})
}

// ends are the least and the greatest place of the frames that are leant on.
func (p *places) ends() (first, last float64) {
	first, last = math.Inf(1), math.Inf(-1)
	for i, s := range p.s {
		if !p.skip[i] {
			first, last = min(first, s), max(last, s)
		}
	}
	return first, last
}

// window is the range of ranks of the frames that a tile is compared in.
func (p *places) window(t *tileEvidence) (from, to int) {
	r := p.rank[t.peak]
	return max(r-windowFrames, 0), min(r+windowFrames+1, p.ev.n)
}

// reach is the range of places that a tile is looked for in: between the frames beside its peak,
// and beyond the last where the peak is there.
func (p *places) reach(t *tileEvidence) (lo, hi float64) {
	beyond := beyondCircles * p.circle
	r := p.rank[t.peak]
	lo, hi = p.s[p.order[max(r-2, 0)]], p.s[p.order[min(r+2, p.ev.n-1)]]
	if r < 2 {
		lo -= beyond
	}
	if r > p.ev.n-3 {
		hi += beyond
	}
	return lo, hi
}

// fitTile searches a tile's place in all of its reach.
func (p *places) fitTile(t *tileEvidence) {
	lo, hi := p.reach(t)
	p.fitWithin(t, lo, hi)
}

// fitNear searches it near where it is, or in all of its reach if it is not there any more.
func (p *places) fitNear(t *tileEvidence) {
	const near = 4 * candidateStep
	lo, hi := p.reach(t)
	at := t.fit.place
	if !t.fit.ok || at < lo || at > hi {
		p.fitWithin(t, lo, hi)
		return
	}
	if at-near > lo || at+near < hi {
		p.fitWithin(t, max(lo, at-near), min(hi, at+near))
		if math.Abs(t.fit.place-at) < near-candidateStep {
			return
		}
	}
	p.fitWithin(t, lo, hi)
}

// fitWithin searches a tile's place in a range.
func (p *places) fitWithin(t *tileEvidence, lo, hi float64) {
	f := searches.Get().(*search)
	defer searches.Put(f)
	n := p.pack(f, t)
	// What lies farther out than a subject reaches is blurred in all frames, and the more evenly the farther.
	first, last := p.ends()
	fartherBelow, fartherAbove := p.farther(f, lo, first, -1), p.farther(f, hi, last, 1)
	farther := min(fartherBelow, fartherAbove)
	steps := max(int((hi-lo)/candidateStep+1), 4)
	costs := f.costs(lo, hi-lo, steps)
	bestAt := 0
	for k, c := range costs {
		if c < costs[bestAt] {
			bestAt = k
		}
	}
	best := costs[bestAt]
	even := f.evenCost() + decisive
	pitch := (hi - lo) / float64(steps)
	place := lo + pitch*float64(bestAt)
	if bestAt > 0 && bestAt < steps {
		a, b := costs[bestAt-1]-best, costs[bestAt+1]-best
		if a+b > 0 {
			place += pitch * (a - b) / (a + b) / 2
		}
	}
	// The width of the likelihood: the span of places whose cost is less than a standard
	// deviation's more than the best. The cost is scaled by what the fit left over, so that
	// a tile that the model does not describe knows it.
	left := max(1, f.costAt(place)/max(float64(n)-bands-1, 1)/usualCost)
	sum, mean, square := 0.0, 0.0, 0.0
	below, above := math.Inf(1), math.Inf(1)
	notBelow, notAbove := min(farther, even), min(farther, even)
	for k, c := range costs {
		w := math.Exp(-(c - best) / 2 / left)
		x := lo + pitch*float64(k)
		if out := (first - x) / p.circle; out > 1 && out < worthCircles {
			below = min(below, c)
		} else {
			notBelow = min(notBelow, c)
		}
		if out := (x - last) / p.circle; out > 1 && out < worthCircles {
			above = min(above, c)
		} else {
			notAbove = min(notAbove, c)
		}
		sum += w
		mean += w * x
		square += w * x * x
	}
	mean /= sum
	sd := math.Sqrt(max(square/sum-mean*mean, 0) + sq(pitch)/12)
	t.fit = tileFit{
		ok: n >= 3, place: place, sd: sd, cost: left, out: min(farther, even) < best,
		below: (notBelow - below) / left, above: (notAbove - above) / left,
	}
	switch {
	case even < min(best, farther):
	case fartherBelow < min(best, fartherAbove), place < first-worthCircles*p.circle && best < farther:
		t.fit.beyond = -1
	case fartherAbove < best, place > last+worthCircles*p.circle && best < farther:
		t.fit.beyond = 1
	}
}

// farther is the least cost of the packed tile farther out than it is looked for at, up to where a disc's diameter is not told
// any more and the energies are the same in all frames. to is the outer bound of the search and end the frames' end on that side;
// where the search does not reach past what is the subject, it is infinite.
func (p *places) farther(f *search, to, end, side float64) float64 {
	if side*(to-end) < worthCircles*p.circle {
		return math.Inf(1)
	}
	const steps = 7 // of 9 pixels: so far out little changes with the place
	return slices.Min(f.costs(to, side*maxDiameter, steps))
}

// spectra finds the exponent of the tiles' spectra around every band from their gains:
// the energies that it would have in focus. The less is known of a tile's own, above all
// where it was in focus in no frame and blur and spectrum cannot be told apart, the more it is taken
// for a usual one of the stack (B. Efron and C. Morris, "Stein's estimation rule and its competitors -
// an empirical Bayes approach", J. Am. Stat. Assoc. 68, 1973).
func (p *places) spectra(of []int) {
	type reading struct{ x, variance float64 }
	var known [bands - 1][]float64
	found := make([][bands - 1]reading, len(p.ev.tiles))
	for _, k := range of {
		t := &p.ev.tiles[k]
		from, to := p.window(t)
		for b := range bands {
			sw, sl, ss, _ := p.inFocus(t, b, from, to)
			t.gain[b], t.vague[b], t.lean[b] = sl/sw, 1/sw, ss/sw // NaN where nothing is known
		}
		for b := range bands - 1 {
			found[k][b].x = math.NaN()
			if r := t.gain[b] - t.gain[b+1]; r == r {
				x, by := p.t.exponent(b, r)
				v := (t.vague[b] + t.vague[b+1] + sq((t.lean[b]-t.lean[b+1])*t.fit.sd)) / sq(by)
				found[k][b] = reading{x, v}
				if t.fit.ok && t.fit.cost < 3 && v < sq(sureExponent) {
					known[b] = append(known[b], x)
				}
			}
		}
	}
	var usual [bands - 1]reading
	for b := range usual {
		usual[b] = reading{float64(commonSlope), sq(usualSpread)}
		if len(known[b]) > 0 {
			x := median(known[b])
			for i, v := range known[b] {
				known[b][i] = math.Abs(v - x)
			}
			usual[b] = reading{x, sq(max(1.4826*median(known[b]), leastUsualSpread))}
		}
	}
	for _, k := range of {
		t := &p.ev.tiles[k]
		for b := range bands {
			// Between it and the next coarser, where it has most of its energy.
			c := min(b, bands-2)
			x, u := found[k][c], usual[c]
			if x.x != x.x {
				x = u
			}
			t.spectrum[b] = uint8((x.x*u.variance+u.x*x.variance)/(u.variance+x.variance) + 0.5)
		}
	}
	p.traits(of)
}

// In steps of the exponent: how well a tile's own must be known to count for the usual, and how far
// tiles lie from that, where that is not known and at the least.
const (
	sureExponent     = 2.0
	usualSpread      = 2.0
	leastUsualSpread = 0.5
)

// slants finds how far the depth of each tile spreads, from a plane through the places of those around
// it, fitted robustly (iteratively reweighted, P. J. Huber 1964). Where they lie on no
// plane, as at the outline of a thing, none is taken.
func (p *places) slants() {
	const (
		around  = 2   // tiles on either side
		least   = 8   // of them that make a plane
		off     = 0.8 // circles of confusion from it, the median, up to which they lie on it
		rounds  = 4
		evenly  = 0.2887 // standard deviation of a side of one, evenly: 1/sqrt(12)
		bending = 1.5    // circles of confusion beyond which a tile counts less
	)
	grid := map[int]*tileFit{}
	for k := range p.ev.tiles {
		if t := &p.ev.tiles[k]; t.fit.ok && t.fit.cost < 3 && t.fit.sd < surePlace*p.circle {
			grid[t.at] = &t.fit
		}
	}
	plane.Share(len(p.ev.tiles), func(from, to int) {
		var xs, ys, zs, ws, res []float64
		for k := from; k < to; k++ {
			t := &p.ev.tiles[k]
			xs, ys, zs, ws = xs[:0], ys[:0], zs[:0], ws[:0]
			x, y := t.at%p.ev.tw, t.at/p.ev.tw
			for j := -around; j <= around; j++ {
				for i := -around; i <= around; i++ {
					if x+i < 0 || x+i >= p.ev.tw {
						continue
					}
					if f := grid[(y+j)*p.ev.tw+x+i]; f != nil {
						xs, ys, zs = append(xs, float64(i)), append(ys, float64(j)), append(zs, f.place)
						ws = append(ws, 1/(sq(f.sd)+sq(p.circle/2)))
					}
				}
			}
			t.slant = 0
			if len(xs) < least {
				continue
			}
			a := [3]float64{median(zs)}
			for round := range rounds {
				res = res[:0]
				var m [3][4]float64
				for i := range xs {
					v := [4]float64{1, xs[i], ys[i], zs[i]}
					r := math.Abs(zs[i] - a[0] - a[1]*xs[i] - a[2]*ys[i])
					res = append(res, r)
					w := ws[i]
					if round > 0 && r > bending*p.circle {
						w *= bending * p.circle / r
					}
					for c := range 3 {
						for d := range 4 {
							m[c][d] += w * v[c] * v[d]
						}
					}
				}
				if !solve3(&m, &a) {
					a = [3]float64{}
					break
				}
			}
			if median(res) < off*p.circle {
				t.slant = slantOf(evenly * math.Hypot(a[1], a[2]))
			}
		}
	})
}

// solve3 solves three equations by Cramer's rule; false where they do not determine it.
func solve3(m *[3][4]float64, a *[3]float64) bool {
	det := func(c0, c1, c2 int) float64 {
		return m[0][c0]*(m[1][c1]*m[2][c2]-m[1][c2]*m[2][c1]) -
			m[0][c1]*(m[1][c0]*m[2][c2]-m[1][c2]*m[2][c0]) +
			m[0][c2]*(m[1][c0]*m[2][c1]-m[1][c1]*m[2][c0])
	}
	d := det(0, 1, 2)
	if !(math.Abs(d) > 1e-9*m[0][0]*m[1][1]*m[2][2]) {
		return false
	}
	a[0], a[1], a[2] = det(3, 1, 2)/d, det(0, 3, 2)/d, det(0, 1, 3)/d
	return true
}

// step moves all frames by one Gauss-Newton step, with the tiles' places and gains
// eliminated (the Schur complement), and gives the largest movement.
func (p *places) step() float64 {
	n := p.ev.n
	a, g := square(n), make([]float64, n)
	first, last := p.ends()
	const m = 2*windowFrames + 2 // frames of the window, and the tile's own place last
	for _, k := range p.lead {
		t := &p.ev.tiles[k]
		if !t.fit.ok || t.fit.out || t.fit.cost > 4 {
			continue
		}
		from, to := p.window(t)
		var h [m][m]float64
		var c [m]float64
		own := m - 1
		lens := slanted(t.slant)
		// What lies outside of the frames is blurred in all of them: where it lies and what it is made of can hardly be told from each other
		// (traits.go), and what the law of blur is wrong by for its texture, all its tiles are wrong by.
		weigh := 1.0
		if t.fit.sd > surePlace*p.circle {
			weigh = 1 / (1 + sq(max(first-t.fit.place, t.fit.place-last, 0)/p.circle))
		}
		for b := range bands {
			// Residual of frame r: ln E - gain - L(|s - t|). The gain is eliminated by taking
			// weighted means off.
			var j, w, res [m]float64
			sw, sr := 0.0, 0.0
			for r := from; r < to; r++ {
				i := p.order[r]
				e, f := t.ln[b*n+i], t.floor[b*n+i]
				if !(e > f) || p.skip[i] {
					continue
				}
				d := p.s[i] - t.fit.place
				lnH, slope := lens.at(t.spectrum[b], b, math.Abs(d))
				if d < 0 {
					slope = -slope
				}
				q := r - from
				j[q], res[q], w[q] = -slope, float64(e)-lnH, weigh/sq(residualSD(lnH)+doubt(e, f))
				sw += w[q]
				sr += w[q] * res[q]
			}
			if sw == 0 {
				continue
			}
			mean := sr / sw
			sw = 0
			var bar [m]float64 // weighted mean of the Jacobian
			rbar := 0.0
			for q := range to - from {
				if w[q] == 0 {
					continue
				}
				res[q] -= mean
				if x := math.Abs(res[q]) * math.Sqrt(w[q]/weigh); x > huber {
					w[q] *= huber / x
				}
				sw += w[q]
				bar[q] += w[q] * j[q]
				bar[own] -= w[q] * j[q]
				rbar += w[q] * res[q]
				h[q][q] += w[q] * j[q] * j[q]
				h[q][own] -= w[q] * j[q] * j[q]
				h[own][q] -= w[q] * j[q] * j[q]
				h[own][own] += w[q] * j[q] * j[q]
				c[q] += w[q] * j[q] * res[q]
				c[own] -= w[q] * j[q] * res[q]
			}
			for q := range m {
				if bar[q] == 0 {
					continue
				}
				for r := range m {
					h[q][r] -= bar[q] * bar[r] / sw
				}
				c[q] -= bar[q] * rbar / sw
			}
		}
		if !(h[own][own] > 1e-9) {
			continue
		}
		f := 1 / (h[own][own] + 1e-3)
		for q := range to - from {
			i := p.order[from+q]
			for r := range to - from {
				a[i][p.order[from+r]] += h[q][r] - h[q][own]*h[own][r]*f
			}
			g[i] += c[q] - h[q][own]*c[own]*f
		}
	}
	// Only differences of places are known; and where nothing is, a step is small.
	for i := range n {
		a[i][i] += 1e-3 + 1e-4*a[i][i]
	}
	// The residual falls when the model's ln E grows: r = data - model, dr = J ds.
	for i := range g {
		g[i] = -g[i]
	}
	p.holdSteps(a, g)
	inv := invert(a)
	moved := 0.0
	for i := range n {
		d := 0.0
		for k := range n {
			d += inv[i][k] * g[k]
		}
		d = min(max(d, -2), 2)
		p.s[i] += d
		moved = max(moved, math.Abs(d))
	}
	p.sd = make([]float64, n)
	for r := 1; r < n; r++ {
		i, k := p.order[r-1], p.order[r]
		p.sd[r] = math.Sqrt(max(inv[i][i]+inv[k][k]-2*inv[i][k], 0))
	}
	return moved
}

func square(n int) [][]float64 {
	flat := make([]float64, n*n)
	a := make([][]float64, n)
	for i := range a {
		a[i] = flat[i*n : (i+1)*n]
	}
	return a
}

// invert inverts a positive definite matrix in place by Gauss-Jordan.
func invert(a [][]float64) [][]float64 {
	n := len(a)
	for k := range n {
		f := 1 / a[k][k]
		a[k][k] = 1
		for c := range n {
			a[k][c] *= f
		}
		for r := range n {
			if r == k || a[r][k] == 0 {
				continue
			}
			f := a[r][k]
			a[r][k] = 0
			for c := range n {
				a[r][c] -= f * a[k][c]
			}
		}
	}
	return a
}

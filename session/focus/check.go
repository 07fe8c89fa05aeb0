package focus

import (
	"math"

	"stillbench/session"
	"stillbench/session/plane"
)

// Check says what the stack is like as it stands.
func (s *Stack) Check(o Options) *session.Check {
	var carrier *frame
	for _, f := range s.frames {
		if f.fingerprint == o.WantedOn {
			carrier = f
		}
	}
	return s.without(o.Without).check(&o, carrier)
}

// check judges all frames of the stack.
func (s *Stack) check(o *Options, carrier *frame) *session.Check {
	c := &session.Check{NearEnd: session.EndUnknown, FarEnd: session.EndUnknown, LightSteady: true, SettingsSteady: true}
	for _, f := range s.frames {
		c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: f.fingerprint, Scale: 1, Clipped: f.light.clipped})
	}
	if len(s.frames) < 2 {
		c.Verdict = session.VerdictTooFew
		for i := range c.Frames {
			c.Frames[i].Aligned = true // on itself
		}
		c.Wanted = o.Wanted
		s.say(c, false, nil)
		return c
	}
	a := s.analyse(o, carrier)
	s.tellMoves(c, a)
	s.tellLight(c, a)
	s.tellSettings(c)
	s.tellBlurred(c, a)
	s.tellMoved(c, a)
	r := a.ranks(s)
	c.NearKnown = r.sure
	s.tellPlaces(c, a, r)
	doubt := s.tellGaps(c, a, r, o)
	s.tellEnds(c, a, r)
	s.tellNeverSharp(c, a)
	c.Verdict = verdict(c, doubt)
	s.say(c, r.sure, doubt)
	return c
}

// verdict is the first that applies. One frame that does not lie on the others is left
// out and named; more of them, or ends that could not be told, leave nothing to be said of the
// stack but what was found wrong. Nor is a stack covered in which something may stand at a depth that no frame holds: doubt.
func verdict(c *session.Check, doubt *session.Gap) session.Verdict {
	apart := 0
	for _, f := range c.Frames {
		if !f.Aligned {
			apart++
		}
	}
	for _, f := range c.Frames {
		if f.Blurred {
			return session.VerdictBlurred
		}
	}
	switch {
	case len(c.Gaps) > 0:
		return session.VerdictGap
	case c.NearEnd == session.EndOpen:
		return session.VerdictNearOpen
	case c.FarEnd == session.EndOpen:
		return session.VerdictFarOpen
	case !c.LightSteady || !c.SettingsSteady:
		return session.VerdictUnsteady
	case c.NearEnd == session.EndUnknown || c.FarEnd == session.EndUnknown, len(c.Frames)-apart < 2, 5*apart > len(c.Frames), doubt != nil:
		return session.VerdictUndecided
	}
	return session.VerdictCovered
}

func (s *Stack) tellMoves(c *session.Check, a *analysis) {
	// What is told is against the middle frame; the analysis may stand on another.
	mid := len(s.frames) / 2
	onMiddle := plane.Identity
	if a.aligned[mid] {
		onMiddle = a.moves[mid].Inverse()
	}
	for _, p := range carried(a.area, s.frames[a.reference], onMiddle.Inverse(), s.frames[mid]) {
		c.Wanted = append(c.Wanted, [2]float64{min(max(p[0], 0), 1), min(max(p[1], 0), 1)})
	}
	for i := range c.Frames {
		f := &c.Frames[i]
		f.Aligned = a.aligned[i]
		if !f.Aligned {
			continue
		}
		m := onMiddle.Then(a.moves[i])
		f.Shift = [2]float64{m.DX * s.frames[i].full, m.DY * s.frames[i].full}
		f.Scale = m.Scale
		f.TurnDegrees = m.Turn * 180 / math.Pi
	}
}

// held is a tile that is known to lie at a place.
type held struct {
	at    int
	place float64
	sd    float64
	cost  float64
}

// ranks puts the frames in order from near to far.
type ranks struct {
	order []int     // index into analysis.in, near to far
	s     []float64 // places in that order, ascending, pixels of blur
	sd    []float64 // of the step before each
	flip  bool      // places of the fit run from far to near
	sure  bool      // which end is near is known
	tiles []held
}

// untold reports whether nothing tells the step before the frame of a rank: no tile is seen in both of its frames, nor do their sizes tell
// it. It may be any, whatever it was fitted as. Of a frame that was left out nothing is said.
func (r *ranks) untold(k int, a *analysis) bool {
	skip := a.places.skip
	return r.sd[k] > surePlace*a.circle && !skip[r.order[k]] && !skip[r.order[k-1]]
}

// surePlace is how well a tile's place must be known to speak, in circles of confusion.
const surePlace = 1.6

// ranks decides which end is near and orders everything by it.
func (a *analysis) ranks(s *Stack) *ranks {
	p := a.places
	r := &ranks{}
	r.flip, r.sure = s.farFirst(a)
	n := len(p.order)
	sign := 1.0
	if r.flip {
		sign = -1
	}
	for k := range n {
		i := p.order[k]
		if r.flip {
			i = p.order[n-1-k]
		}
		r.order = append(r.order, i)
		r.s = append(r.s, sign*p.s[i])
		sd := 0.0
		if k > 0 {
			sd = p.sd[k]
			if r.flip {
				sd = p.sd[n-k]
			}
		}
		r.sd = append(r.sd, sd)
	}
	for k := range p.ev.tiles {
		t := &p.ev.tiles[k]
		if a.surelyAt(t) {
			r.tiles = append(r.tiles, held{at: t.at, place: sign * t.fit.place, sd: t.fit.sd, cost: t.fit.cost})
		}
	}
	return r
}

// surelyAt reports whether a tile is known to lie at its place.
func (a *analysis) surelyAt(t *tileEvidence) bool {
	return t.fit.ok && !t.fit.out && t.fit.cost < 3 && t.fit.sd < surePlace*a.circle
}

// farFirst reports whether the fit's places run from far to near, and whether that is known.
// Blur alone does not tell near from far. Focus distances that the camera wrote do, where they differ by more than their step. Without
// them three things speak, each of them mostly right (common practice; nobody has counted), and their odds are multiplied. A lens that is
// focused nearer stands farther from the sensor and draws larger (thin lens: size goes with the image distance), but some draw the other
// way, as groups of their elements move against each other. Most begin at the near end. And what lies far out of focus past one end
// alone is the ground behind the subject, and seldom something before it.
func (s *Stack) farFirst(a *analysis) (flip, sure bool) {
	p := a.places
	var place, distance, size, time []float64
	step, still := 0.0, 0
	for k, i := range a.in {
		f := s.frames[i]
		size = append(size, math.Log(a.moves[i].Scale))
		place = append(place, p.s[k])
		time = append(time, float64(k))
		d := f.meta.FocusDistance
		switch {
		case d == nil:
			distance = append(distance, math.NaN())
		case d.Infinity:
			distance = append(distance, 1e4)
		case d.NearM != nil && d.FarM != nil:
			distance = append(distance, (*d.NearM+*d.FarM)/2)
		case d.NearM != nil:
			distance = append(distance, *d.NearM)
		case d.FarM != nil:
			distance = append(distance, *d.FarM)
		default:
			distance = append(distance, math.NaN())
		}
		if d != nil {
			step = max(step, d.StepM)
			still++
		}
	}
	if spread(distance) > 2*step && spread(distance) > 0 {
		if c := correlation(distance, place); math.Abs(c) > 0.6 {
			return c < 0, true
		}
	}
	const breathes = 0.0006 // of the size: half a pixel at the edge of a frame 1600 pixels wide
	odds := 0.0             // logarithm of the odds that the places run from far to near
	say := func(flip bool, by float64) {
		if flip {
			odds += math.Log(by)
		} else {
			odds -= math.Log(by)
		}
	}
	say(correlation(time, place) < 0, oddsNearFirst)
	if spread(size) > breathes {
		if c := correlation(size, place); math.Abs(c) > 0.7 {
			say(c > 0, oddsBreathing)
		}
	}
	before, behind := 0, 0
	for k := range p.ev.tiles {
		switch p.ev.tiles[k].fit.beyond {
		case -1:
			before++
		case 1:
			behind++
		}
	}
	if most, least := max(before, behind), min(before, behind); float64(most) > groundShare*float64(a.tw*a.th) && most > groundAlone*least {
		say(before > behind, oddsBehind)
	}
	return odds > 0, math.Abs(odds) > math.Log(oddsSure)
}

const (
	oddsNearFirst = 3
	oddsBreathing = 4
	oddsBehind    = 6
	oddsSure      = 7
	groundShare   = 0.02 // of the picture that must lie far out of focus past one end, and
	groundAlone   = 5    // how many times what does past the other
)

// spread is the difference between the largest and the smallest value that is not NaN.
func spread(v []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, x := range v {
		if x == x {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	return max(hi-lo, 0)
}

// correlation of the pairs without NaN; 0 where there is none.
func correlation(a, b []float64) float64 {
	var n, sa, sb, saa, sbb, sab float64
	for i := range a {
		if a[i] != a[i] || b[i] != b[i] {
			continue
		}
		n++
		sa, sb = sa+a[i], sb+b[i]
	}
	for i := range a {
		if a[i] != a[i] || b[i] != b[i] {
			continue
		}
		x, y := a[i]-sa/n, b[i]-sb/n
		saa, sbb, sab = saa+x*x, sbb+y*y, sab+x*y
	}
	if n < 2 || saa == 0 || sbb == 0 {
		return 0
	}
	return sab / math.Sqrt(saa*sbb)
}

// scale maps a place in pixels of blur to 0 at the nearest and 1 at the farthest frame.
func (r *ranks) scale(place float64) float64 {
	span := r.s[len(r.s)-1] - r.s[0]
	if !(span > 0) {
		return 0
	}
	return (place - r.s[0]) / span
}

func (s *Stack) tellPlaces(c *session.Check, a *analysis, r *ranks) {
	total := float64(a.tw * a.th)
	if len(r.tiles) < fewTiles || len(r.s) < 2 || r.s[len(r.s)-1] <= r.s[0] {
		return
	}
	for k, i := range r.order {
		f := &c.Frames[a.in[i]]
		place := r.scale(r.s[k])
		near, far := r.scale(r.s[k]-a.circle), r.scale(r.s[k]+a.circle)
		f.Place, f.Near, f.Far = &place, &near, &far
		for _, t := range r.tiles {
			if math.Abs(t.place-r.s[k]) <= a.circle {
				f.Sharp += 1 / total
			}
		}
	}
}

// fewTiles is the number of tiles with a known place below which nothing is said.
const fewTiles = 12

const (
	clearly   = 1.5  // circles of confusion from which both neighbours blur clearly
	tolerance = 0.96 // on the safe side: a wrong "gap" costs a minute
)

// tellGaps finds the depths that neither neighbour holds. Half the step between two
// neighbours is the blur of what lies in the middle; a gap needs something to lie there. It gives the first in which something may
// lie as well as not.
func (s *Stack) tellGaps(c *session.Check, a *analysis, r *ranks, o *Options) (doubt *session.Gap) {
	if len(r.tiles) < fewTiles {
		return nil
	}
	j := -1 // the frame before that holds something: a blurred one does not
	for k := range r.s {
		if a.places.skip[r.order[k]] {
			continue
		}
		i := j
		if j = k; i < 0 {
			continue
		}
		step := r.s[k] - r.s[i]
		if doubt == nil && r.untold(k, a) {
			doubt = &session.Gap{
				After: s.frames[a.in[r.order[i]]].fingerprint, Before: s.frames[a.in[r.order[k]]].fingerprint,
				From: r.scale(r.s[i]), To: r.scale(r.s[k]),
			}
		}
		if step < 2*clearly*tolerance*a.circle {
			continue
		}
		mid := (r.s[k] + r.s[i]) / 2
		half := max(step/2-clearly*a.circle, 0.6*a.circle)
		stands, may := r.standing(mid-half, mid+half, unexplainedFrom*a.places.misfits(), a.tw, a.th)
		enough := max(gapTiles, gapShare*float64(len(r.tiles)))
		if may < enough {
			continue
		}
		before, after := r.order[i], r.order[k]
		gap := session.Gap{
			After: s.frames[a.in[before]].fingerprint, Before: s.frames[a.in[after]].fingerprint,
			From: r.scale(min(r.s[i]+clearly*a.circle, mid)), To: r.scale(max(r.s[k]-clearly*a.circle, mid)),
			DepthMM: s.depthMM(o, a, step-2*clearly*a.circle),
		}
		switch {
		case stands >= enough:
			c.Gaps = append(c.Gaps, gap)
		case doubt == nil:
			doubt = &gap
		}
	}
	return doubt
}

// standing counts the tiles that lie between two places, each by how likely it does. Three things speak for a tile: two or more beside
// it lie there too, since a surface goes on from tile to tile and noise does not; most around it are known to lie somewhere, where
// noise is scattered over what is not known; and the law of blur explains it at no more than a cost, where the outline of one thing before
// another shows two depths, and lies at neither, nor between. The first and the last let it stand there, any two that it may.
func (r *ranks) standing(from, to, cost float64, tw, th int) (stands, may float64) {
	share := make([]float64, tw*th)
	known, explained := make([]bool, tw*th), make([]bool, tw*th)
	for _, t := range r.tiles {
		share[t.at], known[t.at], explained[t.at] = between(t, from, to), true, t.cost <= cost
	}
	for at, own := range share {
		beside, around := 0, 0
		for y := max(at/tw-1, 0); y <= min(at/tw+1, th-1); y++ {
			for x := max(at%tw-1, 0); x <= min(at%tw+1, tw-1); x++ {
				c := y*tw + x
				if c == at {
					continue
				}
				if share[c] > besideIn {
					beside++
				}
				if known[c] {
					around++
				}
			}
		}
		row, amid := beside >= 2, around >= mostAround
		if row && explained[at] {
			stands += own
		}
		if row && explained[at] || amid && (row || explained[at]) {
			may += own
		}
	}
	return stands, may
}

const (
	besideIn        = 0.3 // how likely a tile must lie between two places to count as one of a surface there
	mostAround      = 5   // of eight tiles
	unexplainedFrom = 1.8 // times the stack's usual cost of a tile the law of blur does not explain one
)

// depthMM is how deep in the subject a difference of places is, in pixels of blur at working size; nil
// where the optics are not known. A blur disc of diameter c on the sensor stands for c N (1 + m/P)/m^2 of
// depth: half of the depth of field 2 c N (1 + m/P)/m^2, taken with P = 1.
func (s *Stack) depthMM(o *Options, a *analysis, blur float64) *float64 {
	ref := s.frames[a.reference]
	n := ref.meta.FNumber
	if n == nil || !(*n > 0) || !(o.Magnification > 0) || !(o.SensorMM > 0) {
		return nil
	}
	m := o.Magnification
	mm := max(blur, 0) * o.SensorMM / float64(max(ref.w, ref.h)) * *n * (1 + m) / (m * m)
	return &mm
}

const (
	gapTiles = 2.5   // tiles that make something stand in a gap
	gapShare = 0.001 // or this share of all
)

// between is how likely a tile lies between two places.
func between(t held, from, to float64) float64 {
	return (math.Erf((to-t.place)/(t.sd*math.Sqrt2)) - math.Erf((from-t.place)/(t.sd*math.Sqrt2))) / 2
}

const (
	// A part of a hundredth of the picture is worth having, and half of its tiles must be certain.
	endShare = 0.005
	endTiles = 4
	// tileSays bounds what one tile can say for or against lying past an end, and areaSays is
	// what it and its neighbours together must say (twice logarithms of likelihood ratios).
	tileSays = 4
	areaSays = 8
	// worthCircles is how far past an end, in circles of confusion, it still is the subject:
	// what is farther out is background.
	worthCircles = 7
	// mostVague is the share of the subject's tiles that may lie nobody knows where, in noise or by a regular
	// pattern, for an end to be called closed: that is said of all of it.
	mostVague = 1.0 / 3
)

// tellEnds finds whether the subject goes on past the end frames.
func (s *Stack) tellEnds(c *session.Check, a *analysis, r *ranks) {
	if len(r.tiles) < fewTiles || len(r.s) < 2 {
		return
	}
	p := a.places
	first, last := p.ends()
	before, behind := make([]float64, a.tw*a.th), make([]float64, a.tw*a.th)
	subject, vague := 0, 0
	for k := range p.ev.tiles {
		t := &p.ev.tiles[k]
		past := max(first-t.fit.place, t.fit.place-last) > worthCircles*a.circle
		if t.fit.ok && !t.fit.out && !past {
			subject++
			if !a.surelyAt(t) {
				vague++
			}
		}
		if !t.fit.ok || t.fit.out || t.fit.cost > 3 {
			continue
		}
		if first-t.fit.place < worthCircles*a.circle {
			before[t.at] = min(max(t.fit.below, -tileSays), tileSays)
		}
		if t.fit.place-last < worthCircles*a.circle {
			behind[t.at] = min(max(t.fit.above, -tileSays), tileSays)
		}
	}
	enough := max(endTiles, endShare*float64(len(r.tiles)))
	end := func(says []float64) session.End {
		switch {
		case area(says, a.tw, a.th) >= enough:
			return session.EndOpen
		case float64(vague) > mostVague*float64(subject), doubtful(says, a.tw, a.th) >= doubtfulAreas*enough:
			return session.EndUnknown
		}
		return session.EndClosed
	}
	c.NearEnd, c.FarEnd = end(before), end(behind)
	if r.flip {
		c.NearEnd, c.FarEnd = c.FarEnd, c.NearEnd
	}
	if c.NearEnd == session.EndClosed && r.untold(1, a) {
		c.NearEnd = session.EndUnknown
	}
	if c.FarEnd == session.EndClosed && r.untold(len(r.s)-1, a) {
		c.FarEnd = session.EndUnknown
	}
}

const (
	// An end is not called closed where doubtfulAreas times the area worth having is in doubt. A tile is in doubt as long as
	// less than doubtSays speaks against its lying past the end: a likelihood ratio of 1 to 2.7.
	doubtfulAreas = 2
	doubtSays     = 2
)

// doubtful counts the tiles that may lie past an end as well as before it, and with them two thirds of the nine that they
// are the middle of.
func doubtful(says []float64, w, h int) (n float64) {
	open := func(at int) bool { return says[at] != 0 && says[at] > -doubtSays }
	for at := range says {
		if !open(at) {
			continue
		}
		alike := 0
		cx, cy := at%w, at/w
		for y := max(cy-1, 0); y <= min(cy+1, h-1); y++ {
			for x := max(cx-1, 0); x <= min(cx+1, w-1); x++ {
				if open(y*w + x) {
					alike++
				}
			}
		}
		if alike >= 6 {
			n++
		}
	}
	return n
}

// area counts the tiles that lie past an end by what they and the eight around them say. A
// tile on the outline of one thing before another shows both depths and seems to lie between;
// but outlines are lines, and a part worth having is an area. The picture's edge ends no area: it is taken
// to go on as it came.
func area(says []float64, w, h int) (n float64) {
	for at, own := range says {
		if own <= 0 {
			continue
		}
		sum := 0.0
		cx, cy := at%w, at/w
		for y := cy - 1; y <= cy+1; y++ {
			for x := cx - 1; x <= cx+1; x++ {
				sum += says[min(max(y, 0), h-1)*w+min(max(x, 0), w-1)]
			}
		}
		if sum >= areaSays {
			n++
		}
	}
	return n
}

// tellNeverSharp maps what no frame holds.
func (s *Stack) tellNeverSharp(c *session.Check, a *analysis) {
	wanted := count(a.wanted)
	if len(a.places.ev.tiles) < fewTiles || wanted == 0 {
		return
	}
	c.MapW, c.MapH = a.tw, a.th
	c.NeverSharp = make([]byte, a.tw*a.th)
	never := 0
	for k := range a.places.ev.tiles {
		t := &a.places.ev.tiles[k]
		if !t.fit.ok {
			continue
		}
		best := math.Inf(1)
		for _, p := range a.places.s {
			best = min(best, math.Abs(p-t.fit.place))
		}
		if best-min(t.fit.sd, a.circle) > clearly*tolerance*a.circle {
			c.NeverSharp[t.at] = 1
			never++
		}
	}
	c.NeverSharpShare = float64(never) / float64(wanted)
}

package grouping

import (
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/grouping/sameness"
)

// link is the evidence between a frame and the one before it in its camera's row. The
// numbers are natural log-odds that a group starts at the frame: positive for, negative
// against.
type link struct {
	// taught is what corrections in this session add.
	prior, settings, turned, series, framing, pause, taught float64
	// like compares the two pictures, where compared says so.
	like     sameness.Likeness
	compared bool
	// moved and light say what speaks for the pictures' parting: another framing, or
	// another light on the same framing.
	moved, light bool
	// steps is the change of exposure by the settings, in stops; bracket says that it is
	// one of a series.
	steps   float64
	bracket bool
	// gap is the time in seconds from the end of the one exposure to the start of the
	// next; NaN when a time is missing or the clock ran backwards. pace is what is
	// usual in this run.
	gap, pace float64
	// again: what is in focus goes back to where the run began.
	again bool
	// tried: it parts two frames that were tried one by one.
	tried bool
}

func (l *link) odds() float64 {
	return l.prior + l.settings + l.turned + l.series + l.framing + l.pause + l.taught
}

// The weights below are natural log-odds. They say what is common practice at a table:
// about one frame in twelve begins something new; another aperture or focal length
// within a stack is as good as never meant; a camera turned upright always means a new
// composition.
const (
	priorStart   = -2.5
	oddsSeries   = 9 // the camera's own focus series begins, or goes on
	oddsTurned   = 12
	oddsLens     = 11 // f-number or focal length
	oddsSameLook = -3
)

// links weighs every two neighbours in a row; the first entry is empty.
func (t *table) links(chain []int) []link {
	links := make([]link, len(chain))
	var neighbours [][2]int
	for k := 1; k < len(chain); k++ {
		neighbours = append(neighbours, [2]int{chain[k-1], chain[k]})
	}
	t.compareAll(neighbours)
	for k := 1; k < len(chain); k++ {
		l := &links[k]
		i, j := chain[k-1], chain[k]
		a, b := t.shots[i].Meta, t.shots[j].Meta
		l.prior = priorStart
		l.gap = gap(a, b)
		goesOn := k+1 == len(chain) // a series of one frame is none, unless more is to come
		if k+1 < len(chain) {
			z := t.shots[chain[k+1]].Meta.BracketShot
			goesOn = z != nil && *z == 2
		}
		if x, y := a.BracketShot, b.BracketShot; y != nil && *y == 1 && (x == nil || *x > 1) && goesOn {
			l.series = oddsSeries
		} else if x != nil && y != nil && *y == *x+1 {
			l.series = -oddsSeries
		}
		l.like, l.compared = t.compare(i, j)
		l.steps = t.brighter(i, j)
		if t.turned(i, j) {
			l.turned = oddsTurned
		}
	}
	for k := 1; k < len(chain); k++ {
		t.weighSettings(chain, links, k)
		links[k].weighLook()
	}
	t.lookBack(chain, links)
	return links
}

// onEdge is the likeness of edges from which on two pictures are held for one framing whatever else
// is seen; unlike ones reach less than half of it by chance.
const onEdge = 0.5

// goesOnAt is the part of a run behind which a frame is focused that goes on with it.
const goesOnAt = 0.8

// turned reports whether the camera was turned upright or level between two frames. A camera
// that looks straight down cannot tell which it is, and may write now the one and now the other
// while it stands still: where the pictures as stored lie edge on edge, it was not turned.
func (t *table) turned(i, j int) bool {
	a, oka := t.shots[i].Meta.Upright()
	b, okb := t.shots[j].Meta.Upright()
	if !oka || !okb || a == b {
		return false
	}
	l, ok := t.compare(min(i, j), max(i, j))
	return !ok || l.Structure*ground(l) < onEdge
}

// lookBack holds a frame that looks unlike the one before against more of the run
// before it: where the focus has jumped, it is an earlier frame that it is like.
func (t *table) lookBack(chain []int, links []link) {
	const suspicious = -1.0
	start := 0 // of the run of frames that look alike
	for k := 1; k < len(chain); k++ {
		l := &links[k]
		if l.compared && l.framing > suspicious {
			for _, back := range [...]int{2, 4, 7, 11, 16} {
				if k-back < start {
					break
				}
				if back > 2 && k-start < 3 {
					break
				}
				t.lookBackAt(chain, l, k-back, k)
			}
			if l.framing > suspicious && k-start >= 3 {
				if place, ok := t.focusIn(chain[start:k], chain[k]); ok {
					t.lookBackAt(chain, l, start+int(math.Round(place*float64(k-1-start))), k)
				}
			}
		}
		if l.odds() > 0 || !l.compared {
			start = k
		}
	}
}

// lookBackAt lets link l before chain[k] be one to chain[m], where that speaks less for a seam.
func (t *table) lookBackAt(chain []int, l *link, m, k int) {
	try := *l
	try.like, try.compared = t.compare(chain[m], chain[k])
	try.steps = t.brighter(chain[m], chain[k])
	try.weighLook()
	if try.compared && try.framing < l.framing {
		l.like, l.steps, l.framing, l.moved, l.light = try.like, try.steps, try.framing, try.moved, try.light
	}
}

// weighLook turns a comparison of pictures into odds.
func (l *link) weighLook() {
	if !l.compared {
		return
	}
	moved, light := oddsMoved(l.like), oddsLight(l.like, l.steps)
	if l.bracket && math.Abs(l.steps) >= mostMetered {
		light = min(light, 0) // a series is lit by one light, and its tones are not true
	}
	l.framing = max(oddsSameLook, moved, light)
	l.moved = l.framing > 0 && l.like.Structure < sameStructure
	l.light = l.framing > 0 && !l.moved
}

// sameStructure is the structure at which it is even whether two frames show one framing.
// Two unlike pictures reach 0.2 by chance, the same framing in another light keeps 0.35.
const sameStructure = 0.28

// oddsMoved says how far two pictures speak for two framings: the edges that both show
// run differently. Where they share hardly an edge they say little.
func oddsMoved(l sameness.Likeness) float64 {
	odds := clamp(24*(sameStructure-l.Structure)*ground(l), -9, 7)
	if l.Field < sameField {
		odds = min(odds, 0)
	}
	return odds
}

// sameField is the difference between two fields of brightness, in stops, below which nothing has
// moved in the picture, lamp or camera: noise and focus make as much.
const sameField = 0.06

// oddsLight says how far two pictures of one framing speak for two lights: the edges
// line up, if less well, and the fields of brightness differ; or all is brighter or
// darker than the settings explain. Where there are hardly any edges, as in the dark and far out of
// focus, that they do not line up says nothing. steps is by how many stops the exposures differ:
// the tones of a picture are only so true.
func oddsLight(l sameness.Likeness, steps float64) float64 {
	brighter := math.Abs(unexplained(l, steps))
	steps = math.Abs(steps)
	brighter = max(0, brighter-0.25-0.15*steps)
	odds := clamp(2+30*(l.Field-0.16-0.07*steps)+8*(0.7-l.Structure)*ground(l)+6*brighter, -9, 6)
	if l.Field < sameField && brighter == 0 {
		odds = min(odds, 0)
	}
	return odds
}

// metered reports whether the camera may have chosen the exposure of the second picture, which is by
// so many stops another by the settings: a little, and the picture came out as bright as the first.
// Where the exposure is automatic it follows the daylight, and what the meter makes of another focus, by
// a third of a stop or two; who changes the light by hand, and then the exposure, changes both by more
// (common practice).
func metered(l sameness.Likeness, steps float64) bool {
	const kept, untrue = 0.2, 0.15 // stops; by so much of a step the tones of a picture are untrue
	return math.Abs(steps) < mostMetered && math.Abs(l.EV+steps) < kept+untrue*math.Abs(steps)
}

// mostMetered is the change of exposure, in stops, under which a camera may have chosen it.
const mostMetered = 0.75

// unexplained is by how many stops the second picture is brighter than the settings, and a camera that
// chose them, explain.
func unexplained(l sameness.Likeness, steps float64) float64 {
	if metered(l, steps) {
		return 0
	}
	return l.EV
}

// ground is how much Structure has to stand on, 0..1.
func ground(l sameness.Likeness) float64 { return min(1, l.Shared/0.02) }

// leastStep is the least change of exposure, in stops, that a camera can be set to.
const leastStep = 0.25

// weighSettings turns a change of settings into odds.
func (t *table) weighSettings(chain []int, links []link, k int) {
	l := &links[k]
	a, b := t.shots[chain[k-1]].Meta, t.shots[chain[k]].Meta
	if changed(a.FNumber, b.FNumber, 0.04) || changed(a.FocalLengthMM, b.FocalLengthMM, 0.02) {
		l.settings = oddsLens
		return
	}
	steps := 0.0
	if a.ShutterSeconds != nil && b.ShutterSeconds != nil && *a.ShutterSeconds > 0 && *b.ShutterSeconds > 0 {
		steps += math.Log2(*b.ShutterSeconds / *a.ShutterSeconds)
	}
	iso := 0.0
	if a.ISO != nil && b.ISO != nil && *a.ISO > 0 && *b.ISO > 0 {
		iso = math.Log2(float64(*b.ISO) / float64(*a.ISO))
	}
	change := max(math.Abs(steps+iso), 0.6*math.Abs(iso))
	if change < leastStep || l.compared && metered(l.like, l.steps) {
		return
	}
	if t.inSeries(chain, links, k) {
		l.bracket = true
		return
	}
	l.settings = clamp(12*(change-leastStep), 0, 9)
}

// inSeries: the change of exposure before chain[k] is one of a bracketing series. Its
// frames follow each other at once, or the same exposures come round again close by.
func (t *table) inSeries(chain []int, links []link, k int) bool {
	const soon = 2.5 // seconds
	if g := links[k].gap; g < soon {
		return true
	}
	// Exposures that the camera chooses come round again as well.
	for n := max(1, k-4); n <= min(len(chain)-1, k+4) && math.Abs(links[k].steps) < mostMetered; n++ {
		if l := &links[n]; l.compared && math.Abs(l.steps) >= leastStep && metered(l.like, l.steps) {
			return false
		}
	}
	same := func(a, b session.Meta) bool {
		return !changed(a.ShutterSeconds, b.ShutterSeconds, 0.1) && (a.ISO == nil || b.ISO == nil || *a.ISO == *b.ISO)
	}
	returns := func(at, from, to int) bool {
		for n := max(0, from); n <= min(len(chain)-1, to); n++ {
			if n != at && same(t.shots[chain[at]].Meta, t.shots[chain[n]].Meta) {
				return true
			}
		}
		return false
	}
	// The exposure before must be met again after the change, and the one after the
	// change before it.
	if returns(k-1, k+1, k+4) && (returns(k, k-5, k-2) || returns(k, k+2, k+4)) {
		return true
	}
	// Or the same change was made n frames before, and this is none that would begin another
	// series: so ends the last.
	again := func(at, n int) bool {
		return at >= n && same(t.shots[chain[at]].Meta, t.shots[chain[at-n]].Meta)
	}
	for n := 2; n <= 5; n++ {
		if !again(k, n) || !again(k-1, n) {
			continue
		}
		begun := k - 1 - n
		for again(begun+n-1, n) {
			begun--
		}
		if (k-begun)%n != 0 {
			return true
		}
	}
	return false
}

// pauses weighs the time between frames against the pace of the run they would belong
// to, and looks where the focus goes after a pause. by is the reading without pauses.
func (t *table) pauses(chain []int, links []link, by verdict) {
	var all []float64
	for k := 1; k < len(chain); k++ {
		if links[k].gap >= 0 {
			all = append(all, links[k].gap)
		}
	}
	session := usualGap(all, 5)
	for from, last := 0, 0; from < len(chain); {
		to := from + 1
		for to < len(chain) && !by.marker[to] && !by.marker[to-1] && !by.cut[to] {
			to++
		}
		var own []float64
		for k := from + 1; k < to; k++ {
			if links[k].gap >= 0 {
				own = append(own, links[k].gap)
			}
		}
		begun := from // of the stack, where the run holds several
		for k := from; k < to; k++ {
			l := &links[k]
			if k == 0 || !(l.gap >= 0) {
				continue
			}
			l.pace = session
			if n := len(own); n >= 3 {
				l.pace = usualGap(own, session)
			}
			against := l.pace
			if against < atOnce {
				against = max(against, session) // the camera drove the run, and the photographer pauses at a pace of his own
			}
			l.pause = weighPause(l.gap, against)
			if l.light && l.gap < 2*l.pace {
				l.pause -= tooSoon(l.gap)
			}
			if l.pause > 0 && k > from {
				l.weighAmong(links[from+1 : to])
			}
			looked := l.gap > max(1.5*l.pace, 6) // there was time to look at the frame before, and to turn a lamp
			if looked {
				l.weighLamp()
			}
			if looked && k > from && beforeSeries(links, begun, k, to) {
				l.pause += anew
			} else if k > from && (l.pause > 0 || k <= from+2 && looked) {
				marked := begun > 0 && by.marker[begun-1] && !(links[begun].gap > 4*session)
				t.weighFocus(chain, links, begun, k, to, marked)
				if l.again {
					begun = k
				}
			}
			if l.pause > 0 && k > from && to-k < fewTried {
				t.weighNext(chain, links, begun, k, to, by)
			}
		}
		// What follows a marker at once is what it marks.
		if to < len(chain) && (from == 0 || !by.marker[from-1] || links[from].gap > 4*session) {
			tried(links[from:to], session)
			if by.cut[from] && (links[from].framing > 0 || links[from].settings > 0) && to-from <= fewTried && from-last <= fewTried {
				tried(links[from-1:from+1], session) // lit a little otherwise, or exposed so
			}
		}
		if from > 0 && by.cut[from] {
			t.goesOn(chain, links, last, from, to)
		}
		last, from = from, to
	}
}

// tooSoon is what speaks against a lamp having been moved between two frames so many seconds apart, in
// natural log-odds: nobody is back at the ring within four seconds, and in six one may be. Many a clock
// tells whole seconds.
func tooSoon(gap float64) float64 { return clamp(6-gap, 0, 2) }

// weighAmong holds the look before a frame against those between the frames of its run. Where each step of the
// focus changes the picture as much, the one behind a pause tells of no other light and no other framing.
func (l *link) weighAmong(run []link) {
	const enough = 4 // steps
	if len(run) < enough || !l.compared || l.framing <= oddsSameLook {
		return
	}
	var looks []float64
	for i := range run {
		if run[i].compared {
			looks = append(looks, run[i].framing)
		}
	}
	if l.framing <= median(looks, oddsSameLook) {
		l.framing, l.moved, l.light = oddsSameLook, false, false
	}
}

// anew is what plainly speaks for something new behind a pause, in natural log-odds.
const anew = 4.5

// beforeSeries: a frame or a few from place from on are none of a series of exposures, and at k begins one of
// the run that ends before to. Who takes a series at each step takes one at the first as well.
func beforeSeries(links []link, from, k, to int) bool {
	if k-from > fewTried || k+1 >= to || !links[k+1].bracket {
		return false
	}
	return !slices.ContainsFunc(links[from+1:k+1], func(l link) bool { return l.bracket })
}

// weighLamp counts that all of the picture became brighter or darker while somebody had the time
// to turn a lamp. From frame to frame of a stack a light is steady to about a fifth of a stop, with
// daylight in it; one that is tried differs by about a stop (common practice). Under normal
// distributions of such widths this is their log-likelihood ratio.
func (l *link) weighLamp() {
	const steady, turned, most = 0.2, 1.0, 6.0
	if !l.compared || l.bracket || l.moved || l.like.Structure < sameStructure {
		return
	}
	ev := max(0, math.Abs(unexplained(l.like, l.steps))-0.15*math.Abs(l.steps)) // tones are only so true
	odds := math.Log(steady/turned) + ev*ev/2*(1/(steady*steady)-1/(turned*turned))
	if odds > 0 {
		l.framing = min(max(l.framing, 0)+odds, most)
		l.light = true
	}
}

// weighNext looks at the last frames k..to of a run from..to, which follow a pause. Where what comes
// next has their framing too, and the focus went back, they may be tests for that, or what was
// shot again of the run: they belong to the nearer.
func (t *table) weighNext(chain []int, links []link, from, k, to int, by verdict) {
	const slope, most = 2.0, 4.5 // natural log-odds
	next := to
	for next < len(chain) && by.marker[next] {
		next++
	}
	if next == len(chain) || !(links[to].gap > 0) {
		return
	}
	if p, ok := t.focusIn(chain[from:k], chain[k]); !ok || p > goesOnAt {
		return
	}
	if l, ok := t.compare(chain[k], chain[next]); ok && l.Structure*ground(l) > onEdge {
		links[k].pause += clamp(slope*math.Log(links[k].gap/links[to].gap), 0, most)
	}
}

// fewTried frames are too few for a stack.
const fewTried = 3

// tried looks at the links of a run too short for a stack. A frame that tries something
// is looked at before the next is taken, so frames farther apart than the steps of a stack were
// tried one by one; so were those exposed differently, which are no steps of one.
func tried(links []link, pace float64) {
	const most = 8.0 // natural log-odds
	if len(links) > fewTried {
		return
	}
	for k := 1; k < len(links); k++ {
		l := &links[k]
		if l.bracket || l.series != 0 {
			continue
		}
		if looked := most * math.Log2(l.gap/max(1.2*pace, 4)); looked > 0 {
			l.pause += min(looked, most)
			l.tried = true
			if !l.light {
				l.weighLamp()
			}
		}
		if l.settings > 0 {
			l.settings += most
			l.tried = true
		}
	}
}

// atOnce is the time in seconds within which a camera takes the frames of a burst, of a pair or of a
// series one after the other.
const atOnce = 1.2

// usualGap is the gap that is usual between the steps of a run: the median, leaving out
// the frames that pairs and series take at once, unless nearly all are such.
func usualGap(gaps []float64, otherwise float64) float64 {
	var steps []float64
	for _, g := range gaps {
		if g >= atOnce {
			steps = append(steps, g)
		}
	}
	if len(steps)*4 < len(gaps) {
		steps = gaps
	}
	return median(steps, otherwise)
}

// weighPause: a pause of four times the pace is even, one of thirty times speaks for a
// new group, and nothing under six seconds is a pause at a table where hands turn
// rings (common practice).
func weighPause(gap, pace float64) float64 {
	w := clamp(1.6*math.Log(gap/max(pace, 1)/4), -1, 4)
	if gap < 6 {
		w = min(w, 0)
	}
	return w
}

// weighFocus looks at chain[k], which follows a pause within the frames from..to of
// one look, and asks where the focus goes. When it goes on from where it was, the
// photographer was only away. When it runs once more through what the run has shown,
// from either end, that is another stack. And a look or two before the pause whose
// focus lies in the midst of the run that follows did not begin that run: they tried
// something; where it lies at the end at which that began, it may be its first, and is so if a marker was
// directly before it: else half of all stacks are tried first, and few photographers are called away from
// the very first frame.
// Two from which the run plainly goes on began it.
func (t *table) weighFocus(chain []int, links []link, from, k, to int, marked bool) {
	const goesOn, plainly = 1.5, 4.0 // natural log-odds
	// What is crisp in a picture is so at a third of a stop more or less as well, by which a camera
	// that chooses the exposure wanders within a stack.
	const alike = 0.5
	l := &links[k]
	before, after := t.exposedAs(chain[from:k], chain[k], alike), t.exposedAs(chain[k:to], chain[k], alike)
	if t.looks(chain, links, from, k) <= 2 && len(after) >= 4 && math.Abs(t.brighter(chain[k-1], chain[k])) < alike {
		if k == from+2 && t.begun(chain[from], chain[k-1], after) {
			l.pause -= plainly
			return
		}
		slices.Reverse(after) // so that the first of those that are equally like it counts
		switch p, ok := t.focusIn(after, chain[k-1]); {
		case ok && p < 0.7 && !t.dull(chain[k-1], after):
			l.pause += anew
		case ok && p > goesOnAt && marked:
			l.pause -= goesOn
		}
		return
	}
	if len(before) < 3 {
		return
	}
	// Up to the next pause that is longer: a frame shot again at the end, and then the
	// next stack, is a part of the first. So is the last frame of a run that somebody was called away
	// from, where a pause as long follows.
	place, known := t.focusIn(before, chain[k])
	last := known && place > goesOnAt
	next := k + 1
	for next < to && !(links[next].gap > l.gap) && !(last && links[next].gap > l.gap/2) {
		next++
	}
	again := t.exposedAs(chain[k:next], chain[k], alike)
	const enough = 5 // frames that show the way again, in however long steps
	switch {
	case t.onward(before, again):
		l.pause -= plainly
	case len(before) >= 4 && len(again) >= 3 && len(again) >= min((len(before)+1)/2, enough) && t.retraces(before, again):
		l.pause += anew
		l.again = true
	case last:
		l.pause -= goesOn
	}
}

// onward reports whether the focus of after goes on from where before ended, however little moves in the
// pictures: the farther apart two frames, the less alike is what is crisp in them. Were it to begin anew
// or to go back, others would be the most alike. That is told by the correlation of likeness and distance
// over all pairs of a frame before and one after, as N. Mantel compares two tables of distances ("The
// Detection of Disease Clustering and a Generalized Regression Approach", Cancer Research 27(2), 1967).
func (t *table) onward(before, after []int) bool {
	const least, most = 3, 8 // frames on either side; of both as many, else the one distance goes like the other
	const plain, than = 0.8, 0.3
	n := min(len(before), len(after), most)
	if n < least {
		return false
	}
	skipped := len(before) - n
	before, after = before[skipped:], after[:n]
	var unlike, on, again, back []float64
	for i, a := range before {
		for j, b := range after {
			s, ok := focus(t, a, b)
			if !ok {
				return false
			}
			unlike = append(unlike, -s)
			on = append(on, float64(n-i+j))
			again = append(again, math.Abs(float64(skipped+i-j)))
			back = append(back, math.Abs(float64(n-1-j-i)))
		}
	}
	c := correlation(unlike, on)
	return c > plain && c > than+max(correlation(unlike, again), correlation(unlike, back))
}

// dull: next to nothing is crisp in frame i against the frames of a run. It lies beyond the one end of
// them or the other, whichever it is a little more like.
func (t *table) dull(i int, run []int) bool {
	const little = 0.35
	most := 0.0
	for _, j := range run {
		most = max(most, t.shots[j].crispest)
	}
	return t.shots[i].crispest < little*most
}

// looks is how many times something was looked at in the frames from..to: what the camera took at once
// at one focus counts once.
func (t *table) looks(chain []int, links []link, from, to int) int {
	n := 1
	for k := from + 1; k < to; k++ {
		if !(links[k].gap < atOnce) {
			n++
		}
	}
	if n < to-from && t.refocused(chain[from:to]) {
		return to - from
	}
	return n
}

// retraces reports whether the frames of after are focused on what those of before were
// focused on, through most of the way: each as like one of those as two neighbours are to each
// other, or, where the steps are so short or the light so faint that no frame is met again so well,
// each most like the next in turn; or each in turn plainly so, where all are so alike, or so many of
// before lie beyond the subject, that neither can be told.
func (t *table) retraces(before, after []int) bool {
	const distinct = 0.08 // of likeness, as in focusIn
	const half = 0.5      // of likeness; less is as good as by chance where hardly anything is crisp
	const equal = 0.01    // of likeness; by so much noise makes one of two alike the more
	var steps []float64
	for m := 1; m < len(before); m++ {
		if s, ok := focus(t, before[m-1], before[m]); ok {
			steps = append(steps, s)
		}
	}
	step := median(steps, 1)
	// A frame shot again at the end is like one of the first: the middle counts as well.
	least, known := t.leastAlike(some(before))
	if !known {
		return false
	}
	type met struct{ place, turn float64 } // in before and in after
	var well, alike []met                  // as like as neighbours are, and plainly more like that place than another
	for n, i := range after {
		like := make([]float64, len(before))
		for m, j := range before {
			like[m], _ = focus(t, i, j)
		}
		best, worst := slices.Max(like), slices.Min(like)
		at := met{peak(like, equal), float64(n)}
		if best >= step-distinct/2 {
			well = append(well, at)
		}
		if best > half && best-worst > distinct {
			alike = append(alike, at)
		}
	}
	// through: most of after is met, and lies over so much of the way; inTurn: one after the other.
	through := func(list []met, share float64) bool {
		var places []float64
		for _, m := range list {
			places = append(places, m.place)
		}
		return len(list)*3 >= len(after)*2 && spanOfMost(places) >= share*float64(len(before)-1)
	}
	inTurn := func(list []met, least float64) bool {
		const chance = 5 // so few frames may be in turn by chance
		var places, turns []float64
		for _, m := range list {
			places, turns = append(places, m.place), append(turns, m.turn)
		}
		return len(list) >= chance && math.Abs(correlation(places, turns)) > least
	}
	const far, little = 0.5, 0.25     // of the way
	const plain, plainest = 0.9, 0.95 // of correlation
	if least <= step-distinct && (through(well, far) || through(alike, far) && inTurn(alike, plain)) {
		return true
	}
	// Where the frames beyond the subject are many, half of the frames is more than half of the way.
	again, _ := t.leastAlike(some(after))
	return inTurn(well, plainest) && through(well, little) && 1-again > (1-least)/2
}

// begun reports whether frames i and j were the first two of a run that went on with those of after: the later one of its
// first four comes, the less is it like j, and less still like i, as long as it is like them at all. Those that were
// tried are followed by a run from its beginning.
func (t *table) begun(i, j int, after []int) bool {
	const frames = 4
	const distinct = 0.02 // of likeness
	if len(after) < frames {
		return false
	}
	last := math.Inf(1)
	for _, m := range after[:frames] {
		a, oka := focus(t, i, m)
		b, okb := focus(t, j, m)
		if !oka || !okb || b > last+distinct || max(a, b) > 0 && b < a+distinct {
			return false
		}
		last = b
	}
	return true
}

// leastAlike is how alike what is crisp is in those two of a few frames that are the least so; ok is false where
// it can be told of none.
func (t *table) leastAlike(frames []int) (least float64, ok bool) {
	least = 1
	for n, i := range frames {
		for _, j := range frames[:n] {
			if s, told := focus(t, i, j); told {
				least, ok = min(least, s), true
			}
		}
	}
	return least, ok
}

// peak is the place of the greatest in a list, or the middle of those around it that are as great to within equal.
func peak(list []float64, equal float64) float64 {
	at := slices.Index(list, slices.Max(list))
	from, to := at, at
	for from > 0 && list[from-1] >= list[at]-equal {
		from--
	}
	for to+1 < len(list) && list[to+1] >= list[at]-equal {
		to++
	}
	return float64(from+to) / 2
}

// spanOfMost is how far places lie apart; of four and more, one that lies off counts for nothing: a frame
// shot again goes no way.
func spanOfMost(places []float64) float64 {
	p := slices.Sorted(slices.Values(places))
	n := len(p)
	if n == 0 {
		return 0
	}
	if n < 4 {
		return p[n-1] - p[0]
	}
	return min(p[n-1]-p[1], p[n-2]-p[0])
}

// correlation of two lists of one length (Pearson), 0 where one of them does not vary.
func correlation(x, y []float64) float64 {
	var sx, sy, sxx, syy, sxy float64
	n := float64(len(x))
	for i := range x {
		sx += x[i]
		sy += y[i]
		sxx += x[i] * x[i]
		syy += y[i] * y[i]
		sxy += x[i] * y[i]
	}
	v := (sxx - sx*sx/n) * (syy - sy*sy/n)
	if v <= 0 {
		return 0
	}
	return (sxy - sx*sy/n) / math.Sqrt(v)
}

// goesOn looks at chain[k], which looks like another light or has another exposure than
// the run from..k before it, and belongs to k..to after it. A lamp cannot be moved
// between two turns of the ring: where the focus goes on at the pace of the run, the
// stack goes on too, only less steadily.
func (t *table) goesOn(chain []int, links []link, from, k, to int) {
	l := &links[k]
	if k-from < 3 || to-k < 2 || l.turned > 0 || l.settings >= oddsLens || !l.compared || l.like.Structure < sameStructure {
		return
	}
	var gaps []float64
	for i := from + 1; i < k; i++ {
		if links[i].gap >= 0 {
			gaps = append(gaps, links[i].gap)
		}
	}
	if len(gaps) < 2 || !(l.gap < 2*usualGap(gaps, 0)) {
		return
	}
	if p, ok := t.focusIn(chain[from:k], chain[k]); ok && p > 0.6 && t.focusMoved(chain[from:k]) {
		l.framing, l.settings = min(l.framing, 0), min(l.settings, 1)
	}
}

// exposedAs leaves the frames that are exposed as frame i is, to within so many stops, or that came
// out as bright by an exposure that the camera chose: only those can be held against each other for
// their detail.
func (t *table) exposedAs(frames []int, i int, within float64) []int {
	var out []int
	for _, m := range frames {
		steps := t.brighter(m, i)
		as := sameness.Likeness{EV: t.shots[i].light - t.shots[m].light - steps}
		if math.Abs(steps) < within || metered(as, steps) {
			out = append(out, m)
		}
	}
	return out
}

// focusIn is where in a run of frames, from 0 for its first to 1 for its last, the
// focus is most like that of frame i; of frames that are as like it as each other, which pairs and
// frames shot again are, the last one counts. ok is false when it cannot be told: nothing is
// crisp, or the same is in focus all through the run.
func (t *table) focusIn(run []int, i int) (place float64, ok bool) {
	const distinct = 0.08 // of likeness, between the most and the least like frame
	const equal = 0.02    // by so much the noise makes one of two frames of one focus more like a third
	best, least := 0.0, 1.0
	like := make([]float64, len(run))
	for m, j := range run {
		s, ok := focus(t, i, j)
		if !ok {
			continue
		}
		like[m] = s
		least, best = min(least, s), max(best, s)
	}
	where := len(run) - 1
	for where >= 0 && !(like[where] > 0 && like[where] >= best-equal) {
		where--
	}
	return float64(where) / float64(max(1, len(run)-1)), where >= 0 && best-least > distinct
}

func focus(t *table, i, j int) (float64, bool) {
	a, b := t.shots[i].view, t.shots[j].view
	if a == nil || b == nil {
		return 0, false
	}
	return sameness.Focus(a, b)
}

// gap is the time in seconds from the end of exposure a to the start of b; NaN when
// unknown, and when the clock ran backwards.
func gap(a, b session.Meta) float64 {
	if a.Taken.IsZero() || b.Taken.IsZero() {
		return math.NaN()
	}
	ta, tb := a.Taken, b.Taken
	if a.TakenHasOffset != b.TakenHasOffset {
		ta, tb = reading(a), reading(b)
	}
	s := tb.Sub(ta).Seconds()
	if s < -1 {
		return math.NaN()
	}
	if a.ShutterSeconds != nil {
		s -= *a.ShutterSeconds
	}
	return max(0, s)
}

// exposure is log2 of shutter x ISO / f-number², in stops.
func exposure(m session.Meta) (float64, bool) {
	if m.ShutterSeconds == nil || *m.ShutterSeconds <= 0 {
		return 0, false
	}
	ev := math.Log2(*m.ShutterSeconds)
	if m.FNumber != nil && *m.FNumber > 0 {
		ev -= 2 * math.Log2(*m.FNumber)
	}
	if m.ISO != nil && *m.ISO > 0 {
		ev += math.Log2(float64(*m.ISO))
	}
	return ev, true
}

// changed: both are known, above 0, and differ by more than the given share.
func changed(a, b *float64, share float64) bool {
	if a == nil || b == nil || *a <= 0 || *b <= 0 {
		return false
	}
	return math.Abs(*a-*b) > share*math.Max(*a, *b)
}

func clamp(v, lo, hi float64) float64 { return min(max(v, lo), hi) }

// median of a list; otherwise when it is empty.
func median(list []float64, otherwise float64) float64 {
	if len(list) == 0 {
		return otherwise
	}
	list = slices.Clone(list)
	slices.Sort(list)
	if n := len(list); n%2 == 0 {
		return (list[n/2-1] + list[n/2]) / 2
	}
	return list[len(list)/2]
}

package grouping

import (
	"math"
	"slices"

	"stillbench/session/marker"
)

// mostMarkers is how many markers in a row are reckoned with, unless more were marked
// by hand.
const mostMarkers = 4

// certain stands for what the photographer said; it outweighs all evidence together.
const certain = 1e4

// decision weighs one camera's row of frames.
type decision struct {
	t      *table
	chain  []int
	links  []link
	rules  *rules
	usual  marker.Usual
	light  float64 // usual light of a frame
	pace   float64 // usual seconds between two frames
	reach  int     // how many markers in a row are reckoned with
	judged map[[3]int]marker.Judgement
	taught []float64 // by place in the chain: odds for a marker that corrections add
	habit  habit     // nothing in a first reading
}

// verdict is the most probable reading of a row, with probabilities.
type verdict struct {
	marker []bool // the frame is a marker
	cut    []bool // a group starts at the frame, and neither it nor the one before is a marker
	dark   []bool
	// sure is the probability that marker is right, starts that a group starts here.
	sure, starts []float64
}

func newDecision(t *table, chain []int, links []link, rules *rules) *decision {
	d := &decision{t: t, chain: chain, links: links, rules: rules,
		judged: map[[3]int]marker.Judgement{}, taught: make([]float64, len(chain)), reach: mostMarkers}
	var crisp, form, mean, light []float64
	marked := 0
	for _, i := range chain {
		if t.shots[i].view != nil {
			crisp = append(crisp, t.shots[i].crispest)
			form = append(form, t.shots[i].shapeliest)
			mean = append(mean, t.shots[i].form)
			light = append(light, t.shots[i].light)
		}
		if rules.label(i) == isMarker {
			marked++
			d.reach = max(d.reach, marked+mostMarkers)
		} else {
			marked = 0
		}
	}
	var gaps []float64
	for k := 1; k < len(links); k++ {
		if links[k].gap >= 0 {
			gaps = append(gaps, links[k].gap)
		}
	}
	d.pace = max(1, usualGap(gaps, 5))
	d.light = median(light, 0)
	d.usual = marker.Usual{Crisp: upper(crisp), Form: upper(form), Mean: upper(mean)}
	return d
}

// upper is the upper quartile of a list, 0 of none.
func upper(list []float64) float64 {
	if len(list) == 0 {
		return 0
	}
	slices.Sort(list)
	return list[len(list)*3/4]
}

// judge weighs chain[k] as a marker between the frames at places a and b, -1 and
// len(chain) when there is none.
func (d *decision) judge(k, a, b int) marker.Judgement {
	key := [3]int{k, a, b}
	j, ok := d.judged[key]
	if ok {
		return j
	}
	m := &d.t.shots[d.chain[k]]
	if m.view == nil {
		j.LogOdds = math.Inf(-1)
	} else {
		j = d.t.lookAt(d.chain[k], d.beside(k, a, -1), d.beside(k, b, 1)).In(d.usualBetween(a, b))
	}
	d.judged[key] = j
	return j
}

// usualBetween is what is usual in the session; beside a frame that is darker than usual it is
// less, for grey values, which are about the 2.2th root of the light, then lie closer together.
func (d *decision) usualBetween(a, b int) marker.Usual {
	darker := 0.0 // stops
	for _, k := range [...]int{a, b} {
		if n := d.at(k); n >= 0 && d.t.shots[n].view != nil {
			darker = max(darker, d.light-d.t.shots[n].light)
		}
	}
	less := 2 / 2.2 * darker // doublings of what is squared
	return marker.Usual{Crisp: d.usual.Crisp - less, Form: d.usual.Form - less, Mean: d.usual.Mean - less}
}

// at is the frame at place k of the chain, -1 beyond its ends.
func (d *decision) at(k int) int {
	if k < 0 || k >= len(d.chain) {
		return -1
	}
	return d.chain[k]
}

// beside is the frame that chain[k] is held against on one side (way -1: before, 1: after), whose
// nearest frame is at place a; -1 when there is none. In a series of exposures, and among frames of one
// framing and light that were exposed one way and another, it is the nearest one exposed as chain[k] is.
func (d *decision) beside(k, a, way int) int {
	const most = 4 // frames of a series
	for m := a; m >= 0 && m < len(d.chain) && max(m-a, a-m) < most; m += way {
		if math.Abs(d.t.brighter(d.chain[k], d.chain[m])) < marker.SameExposure {
			return d.chain[m]
		}
		into := max(m, m+way) // the link between m and the next on its side
		if into < 1 || into >= len(d.chain) || !d.links[into].bracket && !d.links[into].sameView() || d.rules.label(d.chain[m]) == isMarker {
			break
		}
	}
	return d.at(a)
}

// sameView: the two pictures are plainly of one framing in one light, however they were exposed.
func (l *link) sameView() bool {
	return l.compared && l.like.Structure*ground(l.like) > onEdge && !l.light
}

// lookAhead holds every frame that may be a marker by itself against its neighbours, on all
// processors.
func (d *decision) lookAhead() {
	var places []int
	for k, i := range d.chain {
		if _, ok := d.t.g.judged[d.t.triple(i, d.beside(k, k-1, -1), d.beside(k, k+1, 1))]; !ok && d.t.shots[i].view != nil && d.possible(k-1, k+1) {
			places = append(places, k)
		}
	}
	looks := make([]marker.Judgement, len(places))
	inParallel(len(places), fewViews, func(n int) {
		k := places[n]
		looks[n] = d.t.look(d.chain[k], d.beside(k, k-1, -1), d.beside(k, k+1, 1))
	})
	for n, k := range places {
		d.t.g.judged[d.t.triple(d.chain[k], d.beside(k, k-1, -1), d.beside(k, k+1, 1))] = looks[n]
	}
}

// triple is the key of frame i between frames a and b, -1 for none.
func (t *table) triple(i, a, b int) [3]string {
	key := [3]string{t.shots[i].Fingerprint}
	for s, n := range [...]int{a, b} {
		if n >= 0 {
			key[1+s] = t.shots[n].Fingerprint
		}
	}
	return key
}

// lookAt holds frame i against frames a and b before and after it, -1 for none.
func (t *table) lookAt(i, a, b int) marker.Judgement {
	key := t.triple(i, a, b)
	j, ok := t.g.judged[key]
	if !ok {
		j = t.look(i, a, b)
		t.g.judged[key] = j
	}
	return j
}

func (t *table) look(i, a, b int) marker.Judgement {
	var sides [2]marker.Neighbour
	for s, n := range [...]int{a, b} {
		if n >= 0 {
			sides[s] = marker.Neighbour{View: t.shots[n].view, EV: t.brighter(i, n)}
		}
	}
	return marker.Look(t.shots[i].view, sides[0], sides[1])
}

// asMarkers is the weight of the frames between places a and b being markers.
func (d *decision) asMarkers(a, b int) float64 {
	sum := d.rhythm(a, b) + d.habit.odds(a, b)
	for k := a + 1; k < b; k++ {
		switch d.rules.label(d.chain[k]) {
		case isMarker:
			sum += certain
		case noMarker:
			return math.Inf(-1)
		default:
			sum += d.judge(k, a, b).LogOdds + d.taught[k] + d.otherSettings(k, a, b)
		}
		if k > a+1 && (d.rules.label(d.chain[k]) != isMarker || d.rules.label(d.chain[k-1]) != isMarker) {
			sum += d.another(k, a, b)
		}
	}
	return sum
}

// rhythm is what the time and the place of the frames between places a and b say for
// their being markers. A hand is held before the lens at once before or after the stack
// that it marks; to try another light or another framing takes a while, before the frame
// and after it.
//
// None of these numbers is fitted. Pauses are about log-normal: were those beside a hand one step of
// the stack long in the middle and those beside what was tried nine, both to within a factor of
// two and a half, the log-odds would fall by 2.5 for every factor of e, from even at three steps.
// They end at 1 and -5, for a hand may be slow, and haste proves little. That a stack is there to be
// marked, or none, is a slight sign (e to 1, and 1 to 4.5); how far this photographer marks stacks
// is told by habit.
func (d *decision) rhythm(a, b int) float64 {
	n := len(d.chain)
	before, after := math.NaN(), math.NaN()
	if a >= 0 {
		before = d.links[a+1].gap
	}
	if b < n {
		after = d.links[b].gap
	}
	nearest := math.Inf(1)
	for _, g := range [...]float64{before, after} {
		if g >= 0 {
			nearest = min(nearest, g)
		}
	}
	odds := 0.0
	if !math.IsInf(nearest, 1) {
		odds = clamp(-2.5*math.Log(max(nearest, 0.5)/(3*d.pace)), -5, 1)
	}
	if b == n {
		odds = max(odds, 0) // what it marks may be about to come
	}
	if after < 3*d.pace && d.together(b+1) && d.together(b+2) || before < 2*d.pace && d.together(a) && d.together(a-1) {
		odds++
	} else if a > 0 && !d.together(a) && b+1 < n && !d.together(b+1) {
		odds -= 1.5 // nothing here to be marked
	}
	// In one breath before a stack the same picture came darker: nobody moves a lamp so
	// fast, but a hand takes light away as it goes. Within a stack it was the lamp. One in a dozen
	// (e to the 2.5) may have turned a lamp down from afar.
	apart := a < 0 || before > 2.5*d.pace || d.links[a+1].moved
	if apart && after < 1.5*d.pace && d.together(b+1) && d.together(b+2) {
		const dimmed = 0.7 // stops
		if l := &d.links[b]; l.compared && !l.bracket && l.like.Structure > 0.4 && l.like.EV > dimmed {
			odds += 2.5
		}
	}
	return odds
}

// together: the frame at place k goes on with what the one before it began.
func (d *decision) together(k int) bool { return k > 0 && k < len(d.chain) && d.links[k].odds() < 0 }

// otherSettings is what speaks against chain[k] being a marker between places a and b when it
// has another aperture or focal length than the frames around: nobody sets those for a hand. It
// may stand beside a single that had settings of its own, and be back at those from before. Nor does
// anybody mark a single: one that comes after it and has its settings tells nothing.
func (d *decision) otherSettings(k, a, b int) float64 {
	const around = 4
	m := d.t.shots[d.chain[k]].Meta
	known := 0
	for n := max(0, a-around+1); n < min(len(d.chain), b+around); n++ {
		if n > a && n < b {
			continue
		}
		o := d.t.shots[d.chain[n]].Meta
		single := n >= b && !d.together(n) && !d.together(n+1) && n+1 < len(d.chain)
		if !single && !changed(m.FNumber, o.FNumber, 0.04) && !changed(m.FocalLengthMM, o.FocalLengthMM, 0.02) {
			return 0
		}
		if n == a || n == b {
			known++
		}
	}
	return -4 * float64(known) // one side may have settings of its own
}

// another is what speaks against chain[k] being a marker directly after another one,
// both between places a and b: few are, two frames that show the same crisp things and
// have lost nothing are no hands, and no hand is held twice at quite the same place.
func (d *decision) another(k, a, b int) float64 {
	few := -1.5
	l := &d.links[k]
	// Nobody looks at what was tried for so short a time.
	if l.gap < 1.5*d.pace {
		few = -0.5
	} else if far := l.gap / (3 * d.pace); far > 1 && !(d.together(a) && d.links[a+1].gap < 3*d.pace) {
		few -= min(2.5*math.Log(far), 4) // a hand that comes so much later is the first of its own stack
	}
	if !l.compared || l.like.Structure < 0.4 {
		return few
	}
	x, y := d.t.shots[d.chain[k-1]], d.t.shots[d.chain[k]]
	i, j := d.judge(k-1, a, b), d.judge(k, a, b)
	switch {
	case min(x.crispest, y.crispest) > 0.35*max(d.usual.Crisp, 3) && min(i.Emptied, j.Emptied) < 0.25 && !(i.Dims > 0 && j.Dims > 0):
		return few - 4
	case l.like.Field < 0.1: // and what speaks for the one speaks for the other: it counts once
		return few - (4+max(0, min(i.LogOdds, j.LogOdds)))*ground(l.like)
	}
	return few
}

// possible says cheaply whether the frames between places a and b may be markers: the
// picture must change on both sides, if only in that there was something to see.
func (d *decision) possible(a, b int) bool {
	const still = 0.12 // stops; below it two pictures are the same
	for k := a + 1; k < b; k++ {
		if d.rules.label(d.chain[k]) == isMarker {
			return true
		}
	}
	changes := func(k int) bool {
		l := &d.links[k]
		return !l.compared || l.like.Field > still || math.Abs(l.like.EV) > 0.5 || oddsMoved(l.like) > 0
	}
	blank := a >= 0 || b < len(d.chain)
	for k := max(a, 0); k <= min(b, len(d.chain)-1); k++ {
		blank = blank && d.blank(k) == (k > a && k < b)
	}
	return blank || (a < 0 || changes(a+1)) && (b == len(d.chain) || changes(b))
}

// blank: nothing is to be seen at place k, neither sharp nor blurred. The table, however far out of
// focus, leaves more.
func (d *decision) blank(k int) bool {
	const nothing = 0.1 // of the structure that a usual frame has
	s := &d.t.shots[d.chain[k]]
	return s.view != nil && s.shapeliest < nothing*max(d.usual.Form, leastForm)
}

// leastForm is the least structure, in doublings above the noise, that a usual frame is reckoned with.
const leastForm = 3

// step is the weight of going from the content frame at place a (-1: the beginning) to
// the one at b (len(chain): the end) with only markers between; odds are those of a
// seam between the two when there are none.
func (d *decision) step(a, b int) (weight, odds float64) {
	if b < len(d.chain) && d.rules.label(d.chain[b]) == isMarker {
		return math.Inf(-1), 0
	}
	if b > a+1 {
		if !d.possible(a, b) {
			return math.Inf(-1), 0
		}
		return d.asMarkers(a, b), 0
	}
	if a < 0 || b == len(d.chain) {
		return 0, 0
	}
	odds = d.links[b].odds()
	switch d.rules.seam(d.chain[b]) {
	case split:
		return 0, certain
	case join:
		return 0, -certain
	}
	return 0, odds
}

// decide finds the most probable reading (Viterbi) and the probabilities of its parts
// (forward and backward sums) of a semi-Markov chain: from one content frame to the
// next with none to a few markers between; where there are none, a seam or not.
// See L. R. Rabiner, "A Tutorial on Hidden Markov Models" (Proc. IEEE 77(2), 1989).
func (d *decision) decide() verdict {
	d.lookAhead()
	n := len(d.chain)
	// Places are shifted by one: 0 is the beginning, n+1 the end.
	type arc struct{ weight, odds float64 }
	arcs := make([][]arc, n+2) // arcs[b][r]: from b-1-r to b
	best, sum, back := make([]float64, n+2), make([]float64, n+2), make([]float64, n+2)
	from := make([]int, n+2)
	for b := 1; b <= n+1; b++ {
		best[b], sum[b] = math.Inf(-1), math.Inf(-1)
		arcs[b] = make([]arc, d.reach+1)
		for r := 0; r <= d.reach && b-1-r >= 0; r++ {
			a := b - 1 - r
			w, o := d.step(a-1, b-1)
			arcs[b][r] = arc{w, o}
			mode := math.Max(logistic(o), logistic(-o)) // the better of seam and none
			if r > 0 || a == 0 || b == n+1 {
				mode = 0
			}
			if v := best[a] + w + mode; v > best[b] {
				best[b], from[b] = v, r
			}
			sum[b] = logAdd(sum[b], sum[a]+w)
		}
	}
	for a := n; a >= 0; a-- {
		back[a] = math.Inf(-1)
		for r := 0; r <= d.reach && a+1+r <= n+1; r++ {
			b := a + 1 + r
			back[a] = logAdd(back[a], arcs[b][r].weight+back[b])
		}
	}
	v := verdict{make([]bool, n), make([]bool, n), make([]bool, n), make([]float64, n), make([]float64, n)}
	asMarker := make([]float64, n)
	seam := make([]float64, n) // of content following content
	for b := 1; b <= n+1; b++ {
		for r := 0; r <= d.reach && b-1-r >= 0; r++ {
			a := b - 1 - r
			p := math.Exp(sum[a] + arcs[b][r].weight + back[b] - sum[n+1])
			for k := a; k < b-1; k++ {
				asMarker[k] += p
			}
			if r == 0 && a > 0 && b <= n {
				seam[b-1] = p * sigmoid(arcs[b][r].odds)
			}
		}
	}
	for b := n + 1; b > 0; {
		r := from[b]
		a := b - 1 - r
		for k := a; k < b-1; k++ {
			v.marker[k] = true
			if d.t.shots[d.chain[k]].view != nil {
				v.dark[k] = d.judge(k, a-1, b-1).Dark
			}
		}
		if r == 0 && a > 0 && b <= n {
			v.cut[b-1] = arcs[b][r].odds > 0
		}
		b = a
	}
	for k := range n {
		p := min(1, asMarker[k])
		v.sure[k] = p
		if !v.marker[k] {
			v.sure[k] = 1 - p
		}
		v.starts[k] = 1
		if k > 0 {
			v.starts[k] = min(1, seam[k]+1-(1-p)*(1-min(1, asMarker[k-1])))
		}
	}
	return v
}

// logistic is the logarithm of sigmoid.
func logistic(x float64) float64 {
	if x < -30 {
		return x
	}
	return -math.Log1p(math.Exp(-x))
}

func sigmoid(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// appearance is how a frame looks as a possible marker.
type appearance struct {
	marker.Judgement
	odds        float64
	lum, rg, bg float64
}

// appearance of chain[k] between its direct neighbours, leaving out those that were
// called markers.
func (d *decision) appearance(k int) appearance {
	a, b := k-1, k+1
	for a >= 0 && d.rules.label(d.chain[a]) == isMarker {
		a--
	}
	for b < len(d.chain) && d.rules.label(d.chain[b]) == isMarker {
		b++
	}
	j := d.judge(k, a, b)
	out := appearance{Judgement: j, odds: j.LogOdds}
	out.lum, out.rg, out.bg = d.t.shots[d.chain[k]].view.Mean()
	return out
}

// like is 1 for two frames of the same appearance, falling to 0 as they differ.
func (a appearance) like(b appearance) float64 {
	if math.IsInf(a.odds, -1) || math.IsInf(b.odds, -1) {
		return 0
	}
	d := func(x, y, scale float64) float64 { return (x - y) * (x - y) / (scale * scale) }
	return math.Exp(-(d(a.Covered, b.Covered, 0.5) + d(a.Crisp, b.Crisp, 0.3) + d(a.Structure, b.Structure, 0.3) +
		d(a.lum, b.lum, 1) + d(a.rg, b.rg, 0.4) + d(a.bg, b.bg, 0.4)) / 2)
}

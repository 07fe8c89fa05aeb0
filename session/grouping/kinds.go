package grouping

import (
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/grouping/sameness"
)

// asked is the probability under which the program asks instead of deciding alone: who is not
// asked about a mistake has to find it among all groups, which is reckoned at the trouble of
// more than a dozen questions. Above this, questions became more than two in a hundred frames.
const asked = 0.93

// groups makes groups of runs: kinds, reasons, questions, and what was said by hand.
func (t *table) groups(runs []*run, rules *rules) []session.Group {
	t.compareRuns(runs)
	kinds := t.kinds(runs)
	t.teachKinds(runs, kinds, rules)
	out := make([]session.Group, len(runs))
	for n, r := range runs {
		g := &out[n]
		for _, i := range r.frames {
			g.Frames = append(g.Frames, t.shots[i].Fingerprint)
		}
		g.Kind, g.Confidence = kinds[r].kind, kinds[r].sure
		if r.marker && rules.label(r.frames[0]) == isMarker {
			g.Confidence = 1
		}
		if n > 0 {
			g.Seam = t.seam(r, runs[n-1], rules)
		}
		// Where a group begins and ends comes first: what it is follows from that.
		// Of the newest run more may be to come.
		if g.Question = t.question(r); g.Question.Form == "" && g.Confidence < asked && r.next != nil {
			g.Question = session.AskKind(g.Kind, kinds[r].orElse)
		}
		if kind, ok := rules.kindOf(r); ok {
			g.Kind, g.Confidence, g.Question = kind, 1, t.question(r)
		}
		name, setup := -1, -1
		for _, i := range r.frames {
			if s, ok := rules.names[i]; ok && s.order > name {
				name = s.order
				g.Name = s.value
			}
			if s, ok := rules.setups[i]; ok && s.order > setup {
				setup = s.order
				g.SetupID = s.value
			}
		}
	}
	return out
}

// question is what the program would like to know about where a run begins or ends.
func (t *table) question(r *run) session.Text {
	name := func(i int) string { return base(t.shots[i].Name) }
	switch {
	case r.marker && r.sure < asked && !r.newest:
		return session.Say("Is %s a marker?", name(r.frames[0]))
	case !r.marker && r.perhaps >= 0 && r.perhapsSure > 1-asked && !(r.newest && r.perhaps == r.frames[len(r.frames)-1]):
		return session.Say("Is %s a marker?", name(r.perhaps))
	case !r.byHand && r.from != nil && r.starts < asked:
		return session.Say("One stack or two?")
	case r.doubt >= 0 && r.doubts > 1-asked:
		return session.Say("One stack or two? Perhaps another begins at %s.", name(r.doubt))
	}
	return session.Text{}
}

// judged is the kind of a run.
type judged struct {
	kind session.Kind
	sure float64
	// orElse is the kind that it is otherwise; "" where nobody needs to be asked.
	orElse session.Kind
	// by is what decided between the two, for corrections to teach by: signs whose differences count by
	// their squares, in units of what is much. nil where the pictures tell of nothing.
	by []float64
}

// kinds tells stacks, tests and singles apart. A stack is several frames of one
// composition between which the focus moves. What is none is a test when the stack of
// its composition still follows, and a single otherwise.
func (t *table) kinds(runs []*run) map[*run]judged {
	out := make(map[*run]judged, len(runs))
	for _, r := range runs {
		switch {
		case r.marker:
			sure := r.sure
			if r.newest {
				sure = min(sure, 0.85)
			}
			out[r] = judged{kind: session.KindMarker, sure: sure}
		case t.isStack(r):
			out[r] = judged{kind: session.KindStack, sure: 0.95}
		}
	}
	for _, r := range runs {
		if _, ok := out[r]; !ok {
			out[r] = t.alone(r, out)
		}
	}
	return out
}

// isStack: three frames or more between which the focus moves, or two with a marker
// at once before them.
func (t *table) isStack(r *run) bool {
	n := len(t.active(r))
	switch {
	case n >= 3:
		return t.focusMoves(r)
	case n == 2:
		return r.from != nil && r.from.marker && !(r.seam.gap > 4*r.seam.pace) && t.focusMoves(r)
	}
	return false
}

// active gives the frames of a run that are not set aside.
func (t *table) active(r *run) []int {
	var out []int
	for _, i := range r.frames {
		if !t.shots[i].SetAside {
			out = append(out, i)
		}
	}
	return out
}

// focusMoves: other parts are in focus in one frame than in another. A burst, a series
// of exposures or a pair by self-timer shows the same parts in all; there, the first
// and the last differ no more than two neighbours do, which is what noise makes.
func (t *table) focusMoves(r *run) bool {
	frames := t.exposedMost(t.active(r))
	n := len(frames)
	if n < 2 {
		return false
	}
	var gaps []float64
	for k, i := range frames {
		if t.shots[i].view == nil {
			return true
		}
		if k == 0 {
			continue
		}
		a, b := t.shots[frames[k-1]].Meta, t.shots[i].Meta
		if a.BracketShot != nil && b.BracketShot != nil && *a.BracketShot != *b.BracketShot {
			return true
		}
		if g := gap(a, b); g >= 0 {
			gaps = append(gaps, g)
		}
	}
	// Nobody turns a ring between the frames of a burst: there, other parts must be in
	// focus, and not just the noise be another.
	if len(gaps) > 0 && slices.Max(gaps) < atOnce && !t.refocused(frames) && !t.drifts(frames) {
		return false
	}
	// Five frames and more at the pace of a hand are a stack, though the depth of field
	// may be too great to see the focus move; so are three series of exposures.
	steps := 5
	if len(t.active(r)) >= 2*n {
		steps = 3
	}
	return t.focusMoved(frames) || n >= steps && usualGap(gaps, 0) > 1
}

// exposedMost gives those frames of a run that are exposed as most of them are: which exposure the
// first one has is chance where the camera chooses it.
func (t *table) exposedMost(frames []int) []int {
	const alike = 0.2 // stops; how much detail there is follows the exposure
	var most []int
	for _, i := range frames {
		if own := t.exposedAs(frames, i, alike); len(own) > len(most) {
			most = own
		}
		if 2*len(most) >= len(frames) {
			break
		}
	}
	return most
}

// focusMoved tells by the pictures alone whether the focus moves through frames that are
// exposed alike: neighbours differ by far more than noise makes, or the ends of the run
// by more than neighbours.
func (t *table) focusMoved(frames []int) bool {
	const plain = 0.35 // doublings; noise makes 0.2
	n := len(frames)
	differ := func(a, b int) float64 {
		v, w := t.shots[frames[a]].view, t.shots[frames[b]].view
		if v == nil || w == nil {
			return 0
		}
		return sameness.Refocused(v, w)
	}
	var steps []float64
	for k := 1; k < n; k++ {
		steps = append(steps, differ(k-1, k))
	}
	step := median(steps, 0)
	return step > plain || n > 2 && max(differ(0, n-1), differ(0, n/2), differ(n/2, n-1)) > 1.6*step+0.1 || t.drifts(frames)
}

// drifts: the farther apart two frames of a run are, the more their detail differs, by more than chance: so small
// steps and little depth, a smooth subject or noise show in many frames what they hide in three.
func (t *table) drifts(frames []int) bool {
	const least = 6                // frames
	const chance, plain = 4.0, 1.3 // standard errors; of what neighbours differ by
	n := len(frames)
	if t.goesSomewhere(frames) {
		return true
	}
	if n < least {
		return false
	}
	var near, nearSquares, far, pairs float64
	for i, f := range frames {
		for j := i + 1; j < n; j++ {
			if j > i+1 && j < i+(n+1)/2 {
				continue
			}
			v, w := t.shots[f].view, t.shots[frames[j]].view
			if v == nil || w == nil {
				return false
			}
			d := sameness.Refocused(v, w)
			if j == i+1 {
				near += d / float64(n-1)
				nearSquares += d * d / float64(n-1)
			} else {
				far, pairs = far+d, pairs+1
			}
		}
	}
	far /= pairs
	deviation := math.Sqrt(max(0, nearSquares-near*near) / float64(n-1))
	return far > plain*near && far-near > chance*deviation
}

// goesSomewhere: from frame to frame the detail of a run changes by less than over all of it, place by
// place. So what shows in few places of a picture that is dark or white, or amid noise, is not lost in the
// mean. Told by von Neumann's ratio, of the mean square of successive differences to the variance
// ("Distribution of the Ratio of the Mean Square Successive Difference to the Variance", Ann. Math. Stat.
// 12(4), 1941), summed over places; noise makes 2, a steady change next to nothing.
func (t *table) goesSomewhere(frames []int) bool {
	const least = 4    // frames
	const smooth = 1.1 // bursts at all exposures, rendered, have 1.35 at least
	n := len(frames)
	if n < least {
		return false
	}
	var mean []float64
	for _, i := range frames {
		v := t.shots[i].view
		if v == nil || mean != nil && len(v.Crisp) != len(mean) {
			return false
		}
		if mean == nil {
			mean = make([]float64, len(v.Crisp))
		}
		for c, x := range v.Crisp {
			mean[c] += float64(x) / float64(n)
		}
	}
	var successive, all float64
	for k, i := range frames {
		for c, x := range t.shots[i].view.Crisp {
			d := float64(x) - mean[c]
			all += d * d
			if k > 0 {
				d := float64(x - t.shots[frames[k-1]].view.Crisp[c])
				successive += d * d
			}
		}
	}
	return successive < smooth*all
}

// refocused: what is crisp at one end of a run is not what is crisp at its other end or
// in its middle.
func (t *table) refocused(frames []int) bool {
	const same = 0.9 // likeness; frames of one focus stay above it through much noise
	first, mid, last := frames[0], frames[len(frames)/2], frames[len(frames)-1]
	for _, p := range [...][2]int{{first, last}, {first, mid}, {mid, last}} {
		if l, ok := focus(t, p[0], p[1]); ok && l < same {
			return true
		}
	}
	return false
}

// alone judges a run that is no stack.
func (t *table) alone(r *run, known map[*run]judged) judged {
	var before, after *run
	for p := r.from; p != nil && before == nil; p = p.from {
		if known[p].kind == session.KindStack {
			before = p
		}
	}
	for p := r.next; p != nil && after == nil; p = p.next {
		if known[p].kind == session.KindStack {
			after = p
		}
	}
	afterMarker := r.from != nil && r.from.marker
	if r.next == nil && afterMarker && !(r.seam.gap > 4*r.seam.pace) && (before == nil || !t.otherLens(r, before)) {
		// The first frame of the stack that the marker has just announced.
		return judged{kind: session.KindStack, sure: 0.6}
	}
	now, was := t.composition(r, after), t.composition(r, before)
	left := t.leftBetween(r, after)
	if t.leftBetween(before, r) {
		was.p = 0
	}
	// One that lies on the one stack and a little off the other is of the framing of the first: the
	// camera was moved between it and the other.
	if was.p > 0.5 && now.p > 0.5 {
		switch {
		case !was.aside && now.aside:
			left = true
		case was.aside && !now.aside:
			was.p = 0
		}
	}
	if left {
		now.p = 0
	}
	// What was taken between two of one framing, found again to the pixel, is of it too, however it is lit.
	const back = 6 // runs; who tries more has found it
	for p, n := r.from, 0; p != nil && n < back && after != nil && now.p < 0.5 && !left; p, n = p.from, n+1 {
		if !p.marker && t.toThePixel(p, after) {
			now.p = t.composition(p, after).p
			if p == before {
				was.p = now.p
			}
		}
		if p == before {
			break
		}
	}
	// A light quite unlike the stack's may be told by the trials in between.
	for p := r.next; p != after && after != nil && !left; p = p.next {
		if !p.marker {
			now.p = max(now.p, t.composition(p, after).p*t.composition(r, p).p)
		}
	}
	pause := nearNext(r, known)
	if now.p > 0 {
		now.p = sigmoid(math.Log(now.p/(1-now.p+1e-6)) + pause)
	}
	tries := t.tries(r, before, after, was.light, known)
	tests := now.p * (1 - was.p + was.p*sigmoid(tries+pause))
	signs := []float64{now.p / 0.3, was.p / 0.3, pause / 2, tries / 1.5}
	frames := t.active(r)
	switch {
	case tests > 0.5:
		return judged{session.KindTest, tests, session.KindSingle, signs}
	case max(now.p, was.p) > 0.5:
		return judged{session.KindSingle, 1 - tests, session.KindTest, signs}
	case len(frames) == 2 && t.focusMoves(r) && t.refocused(frames):
		return judged{session.KindStack, 0.7, session.KindSingle, []float64{0}}
	case after == nil && t.triedBeside(r, known, false):
		return judged{kind: session.KindTest, sure: 0.7} // the stack may be to come
	case after != nil && !left && t.triedBeside(r, known, true):
		// Tried, and then lit so unlike that nothing of it is known again in the stack; or two singles.
		return judged{session.KindTest, 0.6, session.KindSingle, []float64{0, 0, pause / 2, tries / 1.5}}
	case len(frames) > 2 && t.refocused(t.exposedMost(frames)):
		return judged{session.KindSingle, 0.75, session.KindStack, []float64{3}}
	case tests > 1-asked:
		return judged{session.KindSingle, 1 - tests, session.KindTest, signs}
	}
	return judged{kind: session.KindSingle, sure: 0.85}
}

// triedBeside: the run and one beside it, neither of them a stack, are of one composition in different
// light, or, where settings count, with another exposure or lens.
func (t *table) triedBeside(r *run, known map[*run]judged, settings bool) bool {
	for _, p := range []*run{r.from, r.next} {
		if p == nil || known[p].kind == session.KindStack || known[p].kind == session.KindMarker {
			continue
		}
		if c := t.composition(r, p); c.p > 0.5 && (c.light || settings && (t.otherExposure(r, p) || t.otherLens(r, p))) {
			return true
		}
	}
	return false
}

// nearNext is the natural log-odds that a run belongs to what comes, by the pauses before and
// after it: where the longer is, the one thing ended and the next began. Tests of one series
// belong together, so it is the longest pause before any of them that counts.
func nearNext(r *run, known map[*run]judged) float64 {
	before := r.seam.gap
	for p := r.from; p != nil && known[p].kind == session.KindTest; p = p.from {
		before = max(before, p.seam.gap)
	}
	if r.next == nil || !(before > 0) || !(r.next.seam.gap > 0) {
		return 0
	}
	return clamp(math.Log(before/r.next.seam.gap), -2, 2)
}

// tries weighs, in natural log-odds, whether a run that shares its framing with the stack before
// and with the one after tries the light of the coming one or was taken in that of the last one;
// wasLight says that its light is another than that of the last one. By itself a frame between two
// stacks of one framing is rather a single, five in eight (-0.5); each sign that it tries something
// is wrong about once in eight times (2), so that one decides and another sign makes it plain. These
// are common practice and not measured: too few frames stand between two such stacks.
func (t *table) tries(r, before, after *run, wasLight bool, known map[*run]judged) float64 {
	if before == nil || after == nil {
		return 0
	}
	odds := -0.5
	if wasLight {
		odds += 2
	}
	if t.otherLens(r, before) && !t.otherLens(r, after) {
		odds += 2
	}
	// Nobody takes a single too dark or too bright on purpose.
	if t.otherExposure(r, before) && t.otherExposure(r, after) {
		odds += 2
	}
	// Of two markers before the next stack the first ends the last one and what belongs to it.
	if markersBetween(before, r) == 0 && markersBetween(r, after) >= 2 {
		odds -= 2
	}
	// Who has begun to try for the next stack takes no more singles of the last one.
	if r.from != nil && known[r.from].kind == session.KindTest {
		odds += 2
	}
	return odds
}

// markersBetween counts the markers that follow run a before b.
func markersBetween(a, b *run) int {
	n := 0
	for p := a.next; p != nil && p != b; p = p.next {
		if p.marker {
			n += len(p.frames)
		}
	}
	return n
}

// otherLens: the runs were shot at another aperture or focal length.
func (t *table) otherLens(a, b *run) bool {
	if a == nil || b == nil {
		return false
	}
	m, n := t.shots[a.frames[0]].Meta, t.shots[b.frames[0]].Meta
	return changed(m.FNumber, n.FNumber, 0.04) || changed(m.FocalLengthMM, n.FocalLengthMM, 0.02)
}

// otherExposure: the runs were exposed differently by their settings.
func (t *table) otherExposure(a, b *run) bool {
	return math.Abs(t.brighter(a.frames[0], b.frames[0])) > 0.5
}

// toThePixel: the fine edges of the two runs lie on the same spots, so the camera was not moved from the
// one to the other.
func (t *table) toThePixel(a, b *run) bool {
	const plain = 2.0 // see sameness.OnSpot
	return !t.turned(a.frames[0], b.frames[0]) && t.onSpot(some(t.active(a)), some(t.active(b))) >= plain
}

// leftBetween: between the two runs something of another framing was taken. A framing that
// was left is never found again to the pixel.
func (t *table) leftBetween(a, b *run) bool {
	const plain = 0.8
	if a == nil || b == nil {
		return false
	}
	for p := a.next; p != nil && p != b; p = p.next {
		if p.marker {
			continue
		}
		x, y := t.composition(a, p), t.composition(p, b)
		if x.known && 1-x.p > plain && y.p < 0.5 {
			return !t.toThePixel(a, b)
		}
	}
	return false
}

// framing says how two runs compare.
type framing struct {
	p     float64 // probability of one composition
	light bool    // lit otherwise
	aside bool    // the one is found a little way off in the other, and not in place
	known bool    // they could be compared
	like  sameness.Likeness
}

// knocked is a shift, as a share of the long side, by which only a camera that was moved sees a
// table; from frame to frame of one framing it moves by less.
const knocked = 0.03

// composition compares two runs by the frames of each that are most alike, so that
// frames focused alike are held against each other. When a framing was knocked aside its edges
// are found again a little way off. In the most different light the coarse edges may say
// nothing; then the fine ones tell, by a logistic regression over the bench's sessions for
// tuning and pairs of photographs, or the pattern of light and dark does.
func (t *table) composition(a, b *run) framing {
	if a == nil || b == nil {
		return framing{}
	}
	if t.turned(a.frames[0], b.frames[0]) {
		return framing{known: true}
	}
	var best sameness.Likeness
	steps, found := 0.0, false
	for _, i := range some(t.active(a)) {
		for _, j := range some(t.active(b)) {
			l, ok := t.compare(min(i, j), max(i, j))
			if ok && (!found || l.Structure-l.Field > best.Structure-best.Field) {
				best, steps, found = l, t.brighter(i, j), true
			}
		}
	}
	if !found {
		return framing{}
	}
	g := ground(best)
	odds := 40*(best.Structure-sameStructure)*g + 20*(0.12-best.Field)*(1-g)
	// Only of short runs does it matter: a stack is one wherever its neighbours were framed.
	const short = 4 // frames
	// One camera in ten is pushed aside before the next frame of the same; and the best of many places a
	// little way off is good by chance. Natural log-odds.
	const seldom = 2.2
	aside := math.Hypot(best.ShiftX, best.ShiftY) > knocked
	if aside {
		odds -= seldom
	}
	if odds < 4 && min(len(a.frames), len(b.frames)) <= short {
		spot, alike := t.onSpot(some(t.active(a)), some(t.active(b))), 0.0
		for _, i := range some(t.active(a)) {
			for _, j := range some(t.active(b)) {
				if v, w := t.shots[i].view, t.shots[j].view; sameness.Comparable(v, w) {
					alike = max(alike, sameness.SeenThrough(v, w, nil).Alike)
				}
			}
		}
		// Of unrelated photographs next to none are alike by a half.
		if inPlace := max(7.6*math.Log(max(spot, 0.01))-0.3, 20*(alike-0.5)); inPlace > odds {
			odds, aside = inPlace, false
		}
	}
	return framing{known: true, p: sigmoid(odds), aside: aside, light: oddsLight(best, steps) > 0 || math.Abs(unexplained(best, steps)) > 0.4+0.15*math.Abs(steps), like: best}
}

// compareRuns makes the comparisons that composition needs of every two runs in a row,
// markers left out.
func (t *table) compareRuns(runs []*run) {
	var pairs [][2]int
	for _, r := range runs {
		p := r.from
		for p != nil && p.marker {
			p = p.from
		}
		if p == nil || r.marker {
			continue
		}
		for _, i := range some(t.active(p)) {
			for _, j := range some(t.active(r)) {
				pairs = append(pairs, [2]int{min(i, j), max(i, j)})
			}
		}
	}
	t.compareAll(pairs)
}

// some picks the first, the middle and the last of a list.
func some(list []int) []int {
	if len(list) <= 3 {
		return list
	}
	return []int{list[0], list[len(list)/2], list[len(list)-1]}
}

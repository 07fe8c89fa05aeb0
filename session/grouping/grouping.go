// Package grouping makes stacks, tests, singles and markers of a session's frames, and
// says where it cut and why. It weighs all evidence at once: for every frame, how far
// it looks like a marker between its neighbours; for every two neighbours, the pause
// between them, their settings, their framing and their light. The most probable
// reading of the whole session under that evidence is its answer, and the probability
// of each seam and marker is what it says of its own certainty. While frames arrive
// the answer is the same computation over what is there. What the photographer decided
// by hand is a constraint on it and never changes.
//
// The package reads no files and no clock: figures and metadata go in, groups come out.
package grouping

import (
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"stillbench/session"
	"stillbench/session/grouping/sameness"
	"stillbench/session/marker"
)

// Group groups frames once; see Grouper.Group.
func Group(frames []session.Frame, edits []session.Edit, prev []session.Group) []session.Group {
	return New().Group(frames, edits, prev)
}

// Grouper groups a session again and again as it grows, and remembers how its frames
// compare. It must not be used by two goroutines at a time. It keeps what it knows by
// fingerprint, so a frame's figures must not change under one fingerprint.
type Grouper struct {
	// Whole gives the figures of a frame that comes with slim ones (session.Figures.Slim), by its
	// fingerprint; nil when they are lost. It is called from several goroutines. It may itself be
	// nil where no frame has slim figures.
	Whole func(fingerprint string) *session.Figures

	looks map[string]look
	pairs map[[2]string]sameness.Likeness
	// spots tells how far the fine edges of two frames lie on the same spots.
	spots map[[2]string]float64
	// judged is how a frame looks as a marker between two others.
	judged map[[3]string]marker.Judgement
}

// look is what one frame's figures come down to.
type look struct {
	view                       *sameness.View
	crispest, shapeliest, form float64
	light                      float64 // mean of log2 luminance
}

// New gives a Grouper that knows nothing yet.
func New() *Grouper {
	g := &Grouper{}
	g.reset()
	return g
}

// Group groups frames, which must be in time order (see Order). edits are those that
// stand, in the order they were made; all are obeyed, a later one over an earlier one.
// Frames set aside stay in the list of their group and count for nothing else. prev is
// the answer before this one: a group takes over the ID of the group that held its
// first frame. The groups come in order of their first frames; their slices are fresh.
func (g *Grouper) Group(frames []session.Frame, edits []session.Edit, prev []session.Group) []session.Group {
	if len(frames) == 0 {
		return nil
	}
	g.forget(len(frames))
	s := newTable(g, frames)
	rules := s.obey(edits)
	runs := s.read(rules)
	groups := s.groups(runs, rules)
	Number(groups, prev)
	return groups
}

func (g *Grouper) reset() {
	g.looks = map[string]look{}
	g.pairs = map[[2]string]sameness.Likeness{}
	g.spots = map[[2]string]float64{}
	g.judged = map[[3]string]marker.Judgement{}
}

// forget drops what was kept when it has grown far beyond the session.
func (g *Grouper) forget(frames int) {
	if len(g.looks) > 2*frames+500 {
		g.reset()
	}
}

// learn makes the looks of all frames that are not known yet, on all processors.
func (g *Grouper) learn(frames []session.Frame) {
	var news []*session.Frame
	for i := range frames {
		if f := &frames[i]; f.Figures != nil {
			if _, ok := g.looks[f.Fingerprint]; !ok {
				news = append(news, f)
			}
		}
	}
	looks := make([]look, len(news))
	inParallel(len(news), fewViews, func(i int) { looks[i] = newLook(g.whole(news[i])) })
	for i, f := range news {
		g.looks[f.Fingerprint] = looks[i]
	}
}

// whole gives the figures of a frame with Grey, as far as they can be had.
func (g *Grouper) whole(f *session.Frame) *session.Figures {
	if f.Figures == nil || f.Figures.Whole() || g.Whole == nil {
		return f.Figures
	}
	if w := g.Whole(f.Fingerprint); w != nil {
		return w
	}
	return f.Figures
}

// A processor is put to work on so many views and comparisons of them at least, or of fine edges.
const (
	fewViews = 8
	fewFine  = 1
)

func newLook(f *session.Figures) look {
	l := look{view: sameness.NewView(f)}
	if l.view != nil {
		l.crispest, l.shapeliest = marker.Crispest(l.view), marker.Shapeliest(l.view)
		l.light, _, _ = l.view.Mean()
		for _, c := range l.view.Form {
			l.form += float64(c) / float64(len(l.view.Form))
		}
	}
	return l
}

// inParallel calls do with 0 to n-1, on as many processors as there are, and returns when all
// is done. Fewer calls than few for each are not worth the trouble.
func inParallel(n, few int, do func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n/few)
	if workers < 2 {
		for i := range n {
			do(i)
		}
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wg.Wait()
}

// Number gives every group the ID of the previous group that held its first frame, if
// no group before it took that, else the next number that was never used.
func Number(groups []session.Group, prev []session.Group) {
	held := map[string]int64{}
	last := int64(0)
	for _, p := range prev {
		last = max(last, p.ID)
		for _, f := range p.Frames {
			held[f] = p.ID
		}
	}
	taken := map[int64]bool{}
	// A group that still begins where it began has the first claim to its number.
	first := map[int64]string{}
	for _, p := range prev {
		if len(p.Frames) > 0 {
			first[p.ID] = p.Frames[0]
		}
	}
	for i := range groups {
		groups[i].ID = 0
		id, ok := held[groups[i].Frames[0]]
		if ok && first[id] == groups[i].Frames[0] && !taken[id] {
			groups[i].ID, taken[id] = id, true
		}
	}
	for i := range groups {
		if groups[i].ID != 0 {
			continue
		}
		if id, ok := held[groups[i].Frames[0]]; ok && !taken[id] {
			groups[i].ID, taken[id] = id, true
		} else {
			last++
			groups[i].ID = last
			taken[last] = true
		}
	}
}

// table is one pass over a session.
type table struct {
	g      *Grouper
	shots  []shot
	place  map[string]int // index by fingerprint
	chains [][]int        // indices by camera, in time order
	edges  map[int]*sameness.Fine
}

// shot is one frame in a pass.
type shot struct {
	*session.Frame
	look
	// ev is the exposure by its settings in stops, more is brighter; known tells
	// whether the camera wrote enough.
	ev    float64
	known bool
}

func newTable(g *Grouper, frames []session.Frame) *table {
	t := &table{g: g, shots: make([]shot, len(frames)), place: make(map[string]int, len(frames)), chains: byCamera(frames), edges: map[int]*sameness.Fine{}}
	g.learn(frames)
	for i := range frames {
		f := &frames[i]
		s := shot{Frame: f}
		if f.Figures != nil {
			s.look = g.looks[f.Fingerprint]
		}
		s.ev, s.known = exposure(f.Meta)
		t.shots[i] = s
		t.place[f.Fingerprint] = i
	}
	return t
}

// compare compares two frames as pictures; ok is false when they cannot be.
func (t *table) compare(i, j int) (sameness.Likeness, bool) {
	a, b := &t.shots[i], &t.shots[j]
	if !sameness.Comparable(a.view, b.view) {
		return sameness.Likeness{}, false
	}
	key := [2]string{a.Fingerprint, b.Fingerprint}
	l, ok := t.g.pairs[key]
	if !ok {
		l = sameness.Compare(a.view, b.view, t.brighter(i, j))
		t.g.pairs[key] = l
	}
	return l, true
}

// onSpot gives how far the fine edges of one of the frames a lie on those of one of the frames b, at
// best; see sameness.OnSpot.
func (t *table) onSpot(a, b []int) float64 {
	type news struct {
		i, j int
		spot float64
	}
	best := 0.0
	var list []news
	for _, i := range a {
		for _, j := range b {
			i, j := min(i, j), max(i, j)
			if spot, ok := t.g.spots[[2]string{t.shots[i].Fingerprint, t.shots[j].Fingerprint}]; ok {
				best = max(best, spot)
			} else {
				list = append(list, news{i: i, j: j})
			}
		}
	}
	if len(list) == 0 {
		return best
	}
	t.needFine(append(slices.Clone(a), b...))
	inParallel(len(list), fewFine, func(n int) {
		p := &list[n]
		p.spot = sameness.OnSpot(t.edges[p.i], t.edges[p.j])
	})
	for _, p := range list {
		t.g.spots[[2]string{t.shots[p.i].Fingerprint, t.shots[p.j].Fingerprint}] = p.spot
		best = max(best, p.spot)
	}
	return best
}

// needFine makes the fine edges of frames. They are large, so they are kept for as long as the runs
// around are looked at and no longer; what they say of two frames is remembered.
func (t *table) needFine(frames []int) {
	const most = 100 // frames; a quarter of a megabyte each
	if len(t.edges) > most {
		clear(t.edges)
	}
	frames = slices.DeleteFunc(frames, func(i int) bool { _, ok := t.edges[i]; return ok })
	made := make([]*sameness.Fine, len(frames))
	inParallel(len(frames), fewFine, func(n int) { made[n] = sameness.NewFine(t.g.whole(t.shots[frames[n]].Frame)) })
	for n, i := range frames {
		t.edges[i] = made[n]
	}
}

// compareAll makes the comparisons that will be needed, on all processors.
func (t *table) compareAll(pairs [][2]int) {
	type news struct {
		i, j int
		key  [2]string
		like sameness.Likeness
	}
	var list []news
	for _, p := range pairs {
		a, b := &t.shots[p[0]], &t.shots[p[1]]
		key := [2]string{a.Fingerprint, b.Fingerprint}
		if _, ok := t.g.pairs[key]; !ok && sameness.Comparable(a.view, b.view) {
			list = append(list, news{i: p[0], j: p[1], key: key})
		}
	}
	inParallel(len(list), fewViews, func(n int) {
		p := &list[n]
		p.like = sameness.Compare(t.shots[p.i].view, t.shots[p.j].view, t.brighter(p.i, p.j))
	})
	for _, p := range list {
		t.g.pairs[p.key] = p.like
	}
}

// brighter is how much brighter j should be than i by their settings, in stops.
func (t *table) brighter(i, j int) float64 {
	if !t.shots[i].known || !t.shots[j].known {
		return 0
	}
	return t.shots[j].ev - t.shots[i].ev
}

// run is a run of frames that belong together.
type run struct {
	frames []int // indices into shots, in time order
	marker bool
	// sure is the probability of marker being right.
	sure float64
	// dark: the marker lets hardly any light through. newest: nothing came after it.
	dark, newest bool
	// seam is the evidence at its beginning; from and next are the runs before and
	// after it in its own camera's row.
	seam       link
	from, next *run
	// starts is the probability that a group starts here; byHand when it was said so.
	starts float64
	byHand bool
	// doubt is the frame inside the run before which a seam is most probable, with
	// that probability; -1 when there is none.
	doubt  int
	doubts float64
	// perhaps is the frame inside the run that is most probably a marker after all,
	// with that probability; -1 when there is none.
	perhaps     int
	perhapsSure float64
}

// read gives the most probable runs of the whole session, cameras one by one.
func (t *table) read(rules *rules) []*run {
	var runs []*run
	for _, chain := range t.chains {
		chain = slices.DeleteFunc(slices.Clone(chain), func(i int) bool { return t.shots[i].SetAside || rules.lifted(i) })
		if len(chain) > 0 {
			runs = append(runs, t.readChain(chain, rules)...)
		}
	}
	return t.putBack(runs, rules)
}

// readChain reads one camera's frames twice: first without the pauses, to learn which
// frames go together by their looks and so what the pace of each run is, then with
// all evidence.
func (t *table) readChain(chain []int, said *rules) []*run {
	links := t.links(chain)
	d := newDecision(t, chain, links, said)
	var unasked verdict // the reading without any edit, where there are edits to learn from
	if said.teach(chain) {
		alone := newDecision(t, chain, slices.Clone(links), &rules{})
		t.pauses(chain, alone.links, alone.decide())
		unasked = alone.decideByHabit()
		d.teachMarkers(unasked)
	}
	first := d.decide()
	t.pauses(chain, links, first)
	if unasked.marker != nil {
		d.teachSeams(first, unasked)
	}
	return t.runs(chain, links, d.decideByHabit(), said)
}

// runs cuts a chain where the decision says so.
func (t *table) runs(chain []int, links []link, v verdict, rules *rules) []*run {
	var runs []*run
	for k, i := range chain {
		starts := k == 0 || v.marker[k] || v.marker[k-1] || v.cut[k]
		byHand := rules.seam(i) == split && k > 0
		switch {
		case byHand:
			starts = true
		case rules.seam(i) == join && k > 0:
			starts = false
		}
		if starts {
			r := &run{marker: v.marker[k], sure: v.sure[k], dark: v.dark[k], seam: links[k], starts: v.starts[k],
				byHand: byHand, doubt: -1, perhaps: -1}
			if len(runs) > 0 {
				r.from = runs[len(runs)-1]
				r.from.next = r
			}
			runs = append(runs, r)
		}
		r := runs[len(runs)-1]
		r.frames = append(r.frames, i)
		r.newest = k == len(chain)-1
		if !v.marker[k] {
			// A marker joined to other frames by hand lies within their group.
			r.marker = false
			if p := 1 - v.sure[k]; p > r.perhapsSure && rules.label(i) == unsaid {
				r.perhaps, r.perhapsSure = i, p
			}
		}
		if p := v.starts[k]; !starts && p > r.doubts && rules.seam(i) == free {
			r.doubt, r.doubts = i, p
		}
	}
	return runs
}

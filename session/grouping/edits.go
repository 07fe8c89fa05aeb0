package grouping

import (
	"slices"

	"stillbench/session"
)

// label is what the photographer said of a frame.
type label int

const (
	unsaid label = iota
	isMarker
	noMarker
)

// seamSaid is what the photographer said of the place before a frame.
type seamSaid int

const (
	free seamSaid = iota
	split
	join
)

// rules are the edits as constraints, by index of the frame.
type rules struct {
	labels map[int]label
	seams  map[int]seamSaid
	// lessons are those of seams that answer whether a group starts there, and not where
	// one frame belongs.
	lessons map[int]seamSaid
	// with names, for a frame that was moved out of the middle of a group, a frame of
	// the group it belongs to.
	with   map[int]int
	kinds  map[int]said[session.Kind]
	names  map[int]said[string]
	setups map[int]said[int64]
}

// said is a value with its place in the order of edits.
type said[T any] struct {
	value T
	order int
}

func (r *rules) label(i int) label { return r.labels[i] }

func (r *rules) seam(i int) seamSaid { return r.seams[i] }

// teach: something was said of a frame in the chain from which others may be judged.
func (r *rules) teach(chain []int) bool {
	return slices.ContainsFunc(chain, func(i int) bool { return r.labels[i] != unsaid || r.lessons[i] != free })
}

// kindOf is what the photographer called a run last.
func (r *rules) kindOf(n *run) (kind session.Kind, ok bool) {
	last := -1
	for _, i := range n.frames {
		if s, said := r.kinds[i]; said && s.order > last {
			last, kind, ok = s.order, s.value, true
		}
	}
	return kind, ok
}

func (r *rules) lifted(i int) bool { _, ok := r.with[i]; return ok }

// obey turns edits into constraints. Edits about frames that are not there are passed
// over: they hold again when the frame comes back.
func (t *table) obey(edits []session.Edit) *rules {
	r := &rules{labels: map[int]label{}, seams: map[int]seamSaid{}, lessons: map[int]seamSaid{}, with: map[int]int{},
		kinds: map[int]said[session.Kind]{}, names: map[int]said[string]{}, setups: map[int]said[int64]{}}
	for n, e := range edits {
		i, ok := t.place[e.Frame]
		if !ok {
			continue
		}
		switch e.Kind {
		case session.EditSplit:
			r.seams[i], r.lessons[i] = split, split
			delete(r.with, i)
		case session.EditJoin:
			r.seams[i], r.lessons[i] = join, join
			delete(r.with, i)
		case session.EditMark:
			r.labels[i] = isMarker
		case session.EditUnmark:
			r.labels[i] = noMarker
		case session.EditMoveBack:
			t.move(r, i, -1)
		case session.EditMoveOn:
			t.move(r, i, +1)
		case session.EditKindOf:
			r.kinds[i] = said[session.Kind]{e.Group, n}
		case session.EditName:
			r.names[i] = said[string]{e.Text, n}
		case session.EditUseSetup:
			if e.Setup != nil {
				r.setups[i] = said[int64]{e.Setup.ID, n}
			}
		}
	}
	return r
}

// move gives frame i to the nearest group before (way -1) or after (+1) that is no
// marker, as the groups stand under the edits made so far. At the edge of a group that
// shifts a seam by one frame; from the middle the frame alone goes over.
func (t *table) move(r *rules, i, way int) {
	runs := t.read(r)
	at := slices.IndexFunc(runs, func(n *run) bool { return slices.Contains(n.frames, i) })
	if at < 0 {
		return
	}
	target := at + way
	for target >= 0 && target < len(runs) && runs[target].marker {
		target += way
	}
	if target < 0 || target >= len(runs) {
		return
	}
	own, other := runs[at].frames, runs[target].frames
	delete(r.with, i)
	delete(r.lessons, i)
	next := target == at+way
	switch {
	case next && way < 0 && own[0] == i && other[len(other)-1] < i:
		r.seams[i] = join
		if len(own) > 1 {
			r.seams[own[1]] = split
		} else if at+1 < len(runs) {
			r.seams[runs[at+1].frames[0]] = split
		}
	case next && way > 0 && own[len(own)-1] == i && other[0] > i:
		r.seams[i] = split
		r.seams[other[0]] = join
	case way < 0:
		r.with[i] = other[len(other)-1]
	default:
		r.with[i] = other[0]
	}
}

// putBack gives the frames that took no part in the decision to the runs they belong
// to: a moved frame to the one it was moved to, one set aside to that of the neighbour
// it is more like. It gives the runs in order of their first frames.
func (t *table) putBack(runs []*run, rules *rules) []*run {
	home := make(map[int]*run, len(t.shots))
	for _, r := range runs {
		for _, i := range r.frames {
			home[i] = r
		}
	}
	var left []int
	for _, chain := range t.chains {
		for k, i := range chain {
			if home[i] == nil {
				left = append(left, i)
				if !rules.lifted(i) {
					home[i] = t.nearest(chain, k, home)
				}
			}
		}
	}
	// A moved frame may hang on another one that was moved or set aside.
	for range len(left) {
		open := false
		for _, i := range left {
			if home[i] == nil {
				home[i] = home[rules.with[i]]
				open = open || home[i] == nil
			}
		}
		if !open {
			break
		}
	}
	for _, i := range left {
		if home[i] == nil {
			home[i] = &run{sure: 1, starts: 1, doubt: -1}
			runs = append(runs, home[i])
		}
		home[i].frames = append(home[i].frames, i)
	}
	for _, r := range runs {
		slices.Sort(r.frames)
	}
	slices.SortFunc(runs, func(a, b *run) int { return a.frames[0] - b.frames[0] })
	return runs
}

// nearest is the run that a frame set aside, at place k of its row, belongs to.
func (t *table) nearest(chain []int, k int, home map[int]*run) *run {
	taking := func(i int) bool { return !t.shots[i].SetAside && home[i] != nil && !home[i].marker }
	before, after := k-1, k+1
	for before >= 0 && t.shots[chain[before]].SetAside {
		before--
	}
	for after < len(chain) && t.shots[chain[after]].SetAside {
		after++
	}
	var a, b *run
	if before >= 0 && taking(chain[before]) {
		a = home[chain[before]]
	}
	if after < len(chain) && taking(chain[after]) {
		b = home[chain[after]]
	}
	switch {
	case a == nil:
		return b
	case b == nil || a == b:
		return a
	}
	la, oka := t.compare(chain[before], chain[k])
	lb, okb := t.compare(chain[k], chain[after])
	if oka && okb && lb.Field < la.Field {
		return b
	}
	return a
}

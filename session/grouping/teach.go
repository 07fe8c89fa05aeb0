package grouping

import (
	"math"

	"stillbench/session"
)

// taught is the natural log-odds that a correction gives to what is quite like the
// corrected: more than the rhythm and the place of a frame can outweigh.
const taught = 6.0

// teachMarkers lets corrections count for frames like the corrected one: where the
// program was wrong about a marker, everything in this session that looks as that frame
// did between its neighbours is judged as that frame was corrected, the less the more it
// differs. unasked is what the program said by itself.
func (d *decision) teachMarkers(unasked verdict) {
	type lesson struct {
		look   appearance
		target float64
	}
	var lessons, agreed []lesson
	for k, i := range d.chain {
		said := d.rules.label(i)
		if said == unsaid || d.t.shots[i].view == nil {
			continue
		}
		l := lesson{d.appearance(k), taught}
		if said == noMarker {
			l.target = -taught
		}
		if unasked.marker[k] == (said == isMarker) {
			agreed = append(agreed, l)
		} else {
			lessons = append(lessons, l)
		}
	}
	if len(lessons) == 0 {
		return
	}
	// What was right by itself teaches nothing, but it limits what was learnt.
	lessons = append(lessons, agreed...)
	for k, i := range d.chain {
		if d.rules.label(i) != unsaid || d.t.shots[i].view == nil {
			continue
		}
		a := d.appearance(k)
		best := 0.0
		for _, l := range lessons {
			like := a.like(l.look)
			if pull := l.target - a.odds; like > best && pull*l.target > 0 {
				best = like
				d.taught[k] = like * pull
			}
		}
	}
}

// teachSeams does the same for seams: where a group was split or two were joined against
// the evidence, places with evidence of that kind are read likewise. A split where
// nothing spoke for one, by nothing that sets it off from the steps of a stack, is a
// thing of its own and teaches nothing; nor does what was said of frames without
// pictures, of which only the pauses are known. by is the reading without pauses, unasked
// what the program said by itself.
func (d *decision) teachSeams(by, unasked verdict) {
	const apart = 3.0 // natural log-odds above the usual step
	type lesson struct {
		link
		target float64
	}
	var steps []float64
	for k := 1; k < len(d.chain); k++ {
		steps = append(steps, d.links[k].odds())
	}
	usual := median(steps, 0)
	var lessons, agreed []lesson
	for k := 1; k < len(d.chain); k++ {
		if by.marker[k] || by.marker[k-1] || !d.links[k].compared {
			continue
		}
		l := lesson{d.links[k], taught}
		said := d.rules.lessons[d.chain[k]]
		switch {
		case said == split && l.odds() > usual+apart:
		case said == join:
			l.target = -taught
		default:
			continue
		}
		if unasked.cut[k] == (said == split) {
			agreed = append(agreed, l)
		} else {
			lessons = append(lessons, l)
		}
	}
	if len(lessons) == 0 {
		return
	}
	lessons = append(lessons, agreed...)
	added := make([]float64, len(d.chain))
	for k := 1; k < len(d.chain); k++ {
		l := &d.links[k]
		if d.rules.seam(d.chain[k]) != free {
			continue
		}
		best := 0.5 // the least likeness that is taught by
		for _, m := range lessons {
			like := l.likeLesson(&m.link, d.pace, m.target > 0)
			if pull := m.target - l.odds(); like > best && pull*m.target > 0 {
				best = like
				added[k] = like * pull
			}
		}
	}
	for k, a := range added {
		d.links[k].taught = a
	}
}

// likeLesson is 1 when the evidence at l is of the kind of that at m, and as strong or
// stronger for a seam where m was a split, as weak or weaker where it was a join; it falls
// to 0 as they differ. Pauses are held against the pace of the session.
func (l *link) likeLesson(m *link, pace float64, isSplit bool) float64 {
	if !l.compared || l.turned != m.turned || l.moved != m.moved || l.light != m.light || l.again != m.again || l.tried != m.tried {
		return 0
	}
	way := 1.0
	if !isSplit {
		way = -1
	}
	lacks := func(x, y, scale float64) float64 { v := max(0, way*(y-x)) / scale; return v * v }
	differs := func(x, y, scale float64) float64 { v := (x - y) / scale; return v * v }
	sum := lacks(l.settings, m.settings, 1.5) +
		differs(l.like.Structure, m.like.Structure, 0.15) + differs(l.like.Field, m.like.Field, 0.15) + differs(l.like.EV, m.like.EV, 0.5)
	if x, y := l.gap, m.gap; x >= 0 && y >= 0 {
		sum += lacks(weighPause(x, pace), weighPause(y, pace), 0.8)
	}
	return math.Exp(-sum / 2)
}

// teachKinds does the same for what a run is: where the photographer called one what the program had not
// taken it for, though it might have been, runs that the same signs tell of are judged likewise.
func (t *table) teachKinds(runs []*run, kinds map[*run]judged, rules *rules) {
	type lesson struct {
		judged
		said session.Kind
	}
	var lessons, agreed []lesson
	by := map[*run]bool{} // what was said by hand
	for _, r := range runs {
		kind, ok := rules.kindOf(r)
		if !ok {
			continue
		}
		by[r] = true
		switch l := (lesson{kinds[r], kind}); {
		case l.by == nil:
		case kind == l.kind:
			agreed = append(agreed, l)
		case kind == l.orElse:
			lessons = append(lessons, l)
		}
	}
	if len(lessons) == 0 {
		return
	}
	lessons = append(lessons, agreed...)
	for _, r := range runs {
		j := kinds[r]
		if j.by == nil || by[r] {
			continue
		}
		best, said := 0.5, session.Kind("") // the least likeness that is taught by
		for _, l := range lessons {
			if like := l.like(j); like > best {
				best, said = like, l.said
			}
		}
		own := math.Log(j.sure / (1 - j.sure + 1e-6))
		switch said {
		case j.kind:
			j.sure = sigmoid(own + best*max(0, taught-own))
		case j.orElse:
			odds := own + best*(-taught-own)
			if j.sure = sigmoid(odds); odds < 0 {
				j.kind, j.orElse, j.sure = j.orElse, j.kind, 1-j.sure
			}
		}
		kinds[r] = j
	}
}

// like is 1 for two runs that the same signs tell of, falling to 0 as they differ; 0 where other kinds are
// in question.
func (j judged) like(o judged) float64 {
	same := j.kind == o.kind && j.orElse == o.orElse || j.kind == o.orElse && j.orElse == o.kind
	if !same || len(j.by) != len(o.by) {
		return 0
	}
	sum := 0.0
	for i, x := range j.by {
		sum += (x - o.by[i]) * (x - o.by[i])
	}
	return math.Exp(-sum / 2)
}

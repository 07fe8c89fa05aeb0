package grouping

import "math"

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

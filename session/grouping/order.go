package grouping

import (
	"cmp"
	"path"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// Order puts frames in the order they were taken. Within one camera that is the order
// of the clock's readings, with the file names' counter deciding between equal ones;
// a counter that rolls over from 9999 to 0001 goes on counting. Where the clock runs
// backwards along an otherwise unbroken counter it was set anew between two frames,
// and the counter is believed. A frame without a time stands where its name puts it.
// Frames of several cameras are merged by their clocks' readings. The slice given is
// not changed.
func Order(frames []session.Frame) []session.Frame {
	var cameras [][]session.Frame
	for _, c := range byCamera(frames) {
		list := make([]session.Frame, len(c))
		for i, k := range c {
			list[i] = frames[k]
		}
		cameras = append(cameras, orderOne(list))
	}
	// Merge: take the camera whose next frame is earliest; untimed frames follow the
	// one before them.
	out := make([]session.Frame, 0, len(frames))
	for len(cameras) > 1 {
		first := 0
		for i := 1; i < len(cameras); i++ {
			if next(cameras[i]).Before(next(cameras[first])) {
				first = i
			}
		}
		c := cameras[first]
		n := 1
		for n < len(c) && c[n].Meta.Taken.IsZero() {
			n++
		}
		out = append(out, c[:n]...)
		if cameras[first] = c[n:]; len(cameras[first]) == 0 {
			cameras = slices.Delete(cameras, first, first+1)
		}
	}
	if len(cameras) == 1 {
		out = append(out, cameras[0]...)
	}
	return out
}

// next is the first time in a list; a list without any comes first.
func next(frames []session.Frame) time.Time {
	for _, f := range frames {
		if !f.Meta.Taken.IsZero() {
			return reading(f.Meta)
		}
	}
	return time.Time{}
}

// reading is what the camera's clock showed, in no particular zone: frames that carry
// an offset and frames that do not can then be compared.
func reading(m session.Meta) time.Time {
	t := m.Taken
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC)
}

// byCamera sorts the indices of frames by the camera that took them, in order of first
// appearance. A frame that names no camera is given to the first.
func byCamera(frames []session.Frame) [][]int {
	type camera struct {
		make, model, serial string
		frames              []int
	}
	var found []*camera
	var nameless []int
	for i, f := range frames {
		m := f.Meta
		if m.Model == "" && m.Serial == "" && m.Make == "" {
			nameless = append(nameless, i)
			continue
		}
		k := slices.IndexFunc(found, func(c *camera) bool {
			return c.make == m.Make && c.model == m.Model && (c.serial == m.Serial || c.serial == "" || m.Serial == "")
		})
		if k < 0 {
			found = append(found, &camera{make: m.Make, model: m.Model, serial: m.Serial})
			k = len(found) - 1
		}
		if found[k].serial == "" {
			found[k].serial = m.Serial
		}
		found[k].frames = append(found[k].frames, i)
	}
	if len(found) == 0 {
		if len(nameless) == 0 {
			return nil
		}
		return [][]int{nameless}
	}
	if len(nameless) > 0 {
		found[0].frames = append(found[0].frames, nameless...)
		slices.Sort(found[0].frames)
	}
	out := make([][]int, len(found))
	for i, c := range found {
		out[i] = c.frames
	}
	return out
}

// orderOne orders the frames of one camera.
func orderOne(frames []session.Frame) []session.Frame {
	names := make([]counted, len(frames))
	for i := range frames {
		names[i] = countName(frames[i].Name)
	}
	byName := make([]int, len(frames))
	for i := range byName {
		byName[i] = i
	}
	began := rolls(names)
	slices.SortStableFunc(byName, func(a, b int) int { return names[a].compare(names[b], began) })

	timed, back := 0, 0
	var last time.Time
	for _, i := range byName {
		if frames[i].Meta.Taken.IsZero() {
			continue
		}
		t := reading(frames[i].Meta)
		// A second is what a clock without fractions may hide.
		if timed > 0 && t.Before(last.Add(-time.Second)) {
			back++
		}
		last = t
		timed++
	}
	if timed == 0 || back > 0 && back <= 1+timed/100 && unbroken(names, byName) {
		return pick(frames, byName)
	}
	byTime := make([]int, 0, timed)
	for _, i := range byName {
		if !frames[i].Meta.Taken.IsZero() {
			byTime = append(byTime, i)
		}
	}
	slices.SortStableFunc(byTime, func(a, b int) int { return reading(frames[a].Meta).Compare(reading(frames[b].Meta)) })
	if timed == len(frames) {
		return pick(frames, byTime)
	}
	// Untimed frames go behind the frame that precedes them by name.
	follow := map[int][]int{}
	before := -1
	for _, i := range byName {
		if frames[i].Meta.Taken.IsZero() {
			follow[before] = append(follow[before], i)
		} else {
			before = i
		}
	}
	order := follow[-1]
	for _, i := range byTime {
		order = append(append(order, i), follow[i]...)
	}
	return pick(frames, order)
}

func pick(frames []session.Frame, order []int) []session.Frame {
	out := make([]session.Frame, len(order))
	for i, k := range order {
		out[i] = frames[k]
	}
	return out
}

// counted is a file name taken apart: folder, text before the counter, the counter (-1
// when there is none), text after it.
type counted struct {
	dir, stem string
	number    int
	rest      string
	digits    int
}

// countName takes the last run of digits in the name for the counter (CIPA DC-009,
// "DCF": four letters, then a number from 0001 to 9999).
func countName(name string) counted {
	dir, base := path.Split(name)
	ext := path.Ext(base)
	base = strings.TrimSuffix(base, ext)
	end := strings.LastIndexAny(base, "0123456789") + 1
	start := end
	for start > 0 && base[start-1] >= '0' && base[start-1] <= '9' && end-start < 9 {
		start--
	}
	c := counted{dir: dir, stem: base[:start], number: -1, rest: base[end:] + ext, digits: end - start}
	if end > start {
		c.number = 0
		for _, d := range base[start:end] {
			c.number = 10*c.number + int(d-'0')
		}
	}
	return c
}

// series is one row of counter numbers: those of one folder and stem.
type series [2]string

func (c counted) series() series { return series{c.dir, c.stem} }

// compare orders by folder, then stem, then counter. began names the number with which a
// series began whose counter went round: smaller ones follow the largest.
func (c counted) compare(o counted, began map[series]int) int {
	n, m := c.number, o.number
	if n < began[c.series()] {
		n += 10000
	}
	if m < began[o.series()] {
		m += 10000
	}
	return cmp.Or(cmp.Compare(c.dir, o.dir), cmp.Compare(c.stem, o.stem), cmp.Compare(n, m), cmp.Compare(c.rest, o.rest))
}

// rolls finds the series whose four-digit counter reached 9999 and began again: there are
// numbers near both ends, and a wide gap between the last of the new ones and the first of
// the old. It gives that first number.
func rolls(names []counted) map[series]int {
	numbers := map[series][]int{}
	for _, c := range names {
		if c.digits == 4 {
			numbers[c.series()] = append(numbers[c.series()], c.number)
		}
	}
	const ends, wide = 100, 1000
	began := map[series]int{}
	for k, list := range numbers {
		slices.Sort(list)
		if list[0] > ends || list[len(list)-1] < 9999-ends {
			continue
		}
		gap := wide
		for i := 1; i < len(list); i++ {
			if g := list[i] - list[i-1]; g > gap {
				gap, began[k] = g, list[i]
			}
		}
	}
	return began
}

// unbroken reports whether the names, in the order given, look like one camera's
// counter, which runs on from folder to folder: one stem, and hardly a number missing.
// Copies of the frames in another folder are no such thing.
func unbroken(names []counted, order []int) bool {
	if len(order) < 2 {
		return false
	}
	missing := 0
	for k := 1; k < len(order); k++ {
		a, b := names[order[k-1]], names[order[k]]
		if a.number < 0 || a.stem != b.stem {
			return false
		}
		step := b.number - a.number
		if a.digits == 4 && step < -5000 {
			step += 9999
		}
		if step < 1 || step > 50 {
			return false
		}
		missing += step - 1
	}
	return missing <= len(order)/2
}

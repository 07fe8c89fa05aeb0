package focus

import (
	"math"

	"stillbench/session"
	"stillbench/session/align"
)

// movedParts is how many parts side by side that lie elsewhere together make something that
// moved: a quarter of a percent of the picture.
const movedParts = 3

// since gives the parts that lie elsewhere than in a frame before; none where frames between
// the two were set aside and they were not compared.
func (f *frame) since(before *frame) []align.Part {
	if back := f.at - before.at; back <= comparedWith {
		return f.elsewhere[back-1]
	}
	return nil
}

// tellMoved finds the frames in which a part of the subject lies elsewhere than in the frame
// before: a leaf that wilts, an insect. A part that only goes back where it was before is the
// frame before's. Blurred frames say nothing of it, nor does what is far out of focus, nor what defocus feigns.
func (s *Stack) tellMoved(c *session.Check, a *analysis) {
	at := map[int]*tileFit{}
	for k := range a.places.ev.tiles {
		at[a.places.ev.tiles[k].at] = &a.places.ev.tiles[k].fit
	}
	focused := map[int]float64{} // by frame of the stack
	for k, i := range a.in {
		focused[i] = a.places.s[k]
	}
	// defocus gives the diameter of a group's discs in frame i or the one before, the larger, median, 0 where it is not known; and what the discs of
	// any depth differ by between the two, at the most.
	defocus := func(group []align.Part, i int) (blur, step float64) {
		one, ok1 := focused[i-1]
		other, ok2 := focused[i]
		if !ok1 || !ok2 {
			return 0, 0
		}
		back := a.moves[i-1].Inverse()
		var all []float64
		for _, p := range group {
			x, y := back.Apply(p.X, p.Y)
			if f := at[a.tileAt(x, y)]; f != nil && f.ok {
				all = append(all, max(math.Abs(f.place-one), math.Abs(f.place-other)))
			}
		}
		if len(all) == 0 {
			return 0, math.Abs(one - other)
		}
		return median(all), math.Abs(one - other)
	}
	var before [][]align.Part
	for i, f := range s.frames {
		var now [][]align.Part
		if i > 0 && !c.Frames[i].Blurred && !c.Frames[i-1].Blurred {
			for _, group := range together(f.since(s.frames[i-1]), f.pitch) {
				x, y := a.moves[i-1].Inverse().Apply(middle(group))
				blur, step := defocus(group, i)
				if len(group) < movedParts || blur > f.reversal || feigned(group, blur, step) || !a.wanted[a.tileAt(x, y)] {
					continue
				}
				now = append(now, group)
			}
		}
		for _, group := range now {
			if !goesBack(group, before, 4*f.pitch) {
				c.Frames[i].Moved = true
			}
		}
		before = now
	}
}

// feigned reports whether defocus alone may make a group of parts seem to lie elsewhere, by the larger of its discs in the two frames and by how
// much the discs differ at the most: diameters. Where a bright thing ends before a darker one at another depth, its soft edge is seen as far out as
// its disc's radius. And detail of a wavelength of twice the movement comes out reversed from a disc of 1.22 wavelengths on (see
// align.Frame.Reversal): it then goes best with what lies half a wavelength aside, and badly with itself.
func feigned(group []align.Part, blur, step float64) bool {
	by, alike, sigma := math.Hypot(movement(group)), 0.0, 0.0
	for _, p := range group {
		alike += p.Before / float64(len(group))
		sigma += p.Sigma / float64(len(group))
	}
	return by-2*sigma < step/2 || alike < reversedAlike && blur > 1.22*2*by
}

// reversedAlike is the correlation up to which detail may be reversed.
const reversedAlike = 0.5

// together gathers parts that lie side by side and moved alike.
func together(parts []align.Part, pitch float64) (groups [][]align.Part) {
	taken := make([]bool, len(parts))
	for i := range parts {
		if taken[i] {
			continue
		}
		taken[i] = true
		group := []align.Part{parts[i]}
		for k := 0; k < len(group); k++ {
			for j := range parts {
				a, b := &group[k], &parts[j]
				if taken[j] || max(math.Abs(a.X-b.X), math.Abs(a.Y-b.Y)) > 1.5*pitch {
					continue
				}
				size := max(math.Hypot(a.DX, a.DY), math.Hypot(b.DX, b.DY))
				if math.Hypot(a.DX-b.DX, a.DY-b.DY) < 0.5*size {
					taken[j] = true
					group = append(group, *b)
				}
			}
		}
		groups = append(groups, group)
	}
	return groups
}

func middle(group []align.Part) (x, y float64) {
	for _, p := range group {
		x, y = x+p.X/float64(len(group)), y+p.Y/float64(len(group))
	}
	return x, y
}

func movement(group []align.Part) (dx, dy float64) {
	for _, p := range group {
		dx, dy = dx+p.DX/float64(len(group)), dy+p.DY/float64(len(group))
	}
	return dx, dy
}

// goesBack reports whether a group undoes the movement of one of those of the frame before.
func goesBack(group []align.Part, before [][]align.Part, reach float64) bool {
	x, y := middle(group)
	dx, dy := movement(group)
	for _, b := range before {
		bx, by := middle(b)
		ex, ey := movement(b)
		if math.Hypot(x-bx, y-by) < reach+math.Hypot(dx, dy) && math.Hypot(dx+ex, dy+ey) < 0.5*math.Hypot(dx, dy) {
			return true
		}
	}
	return false
}

package store

import (
	"cmp"
	"context"
	"math/bits"
	"slices"
	"strings"

	"stillbench/session"
)

// criteria are the parts of a query that a setup fulfils or not, each as the set of setups
// that do; nil where a part asks for nothing.
type criteria struct {
	words, date, magnification, aperture, shutter, blended bitset
	light                                                  bitset // among words
}

// but is what fulfils all criteria but one: a count of what would be found by another choice
// of that one is a count among these.
func (c *criteria) but(one *bitset) bitset {
	var out bitset
	for _, set := range []*bitset{&c.words, &c.date, &c.magnification, &c.aperture, &c.shutter, &c.blended, &c.light} {
		if set != one {
			out = both(out, *set)
		}
	}
	return out
}

// What a light misses of a query.
const (
	missCell = 1 << iota
	missSide
	missHeight
	missKind
	missModifier
	missMain
)

// sieve is a query made ready to be held against a catalogue.
type sieve struct {
	*catalogue
	want           criteria
	lightAsked     bool
	cellMisses     [cells]uint8 // what a light there misses
	kindMisses     [len(facetKinds)]uint8
	modifierMisses []uint8 // by number
	mainMisses     uint8   // what a light misses that is not the main one
}

func newSieve(c *catalogue, q *session.SetupQuery, words bitset) *sieve {
	s := &sieve{catalogue: c}
	n := len(c.ids)
	s.want.words = words
	if !q.Since.IsZero() || !q.Until.IsZero() {
		s.want.date = newBitset(n)
		s.want.date.addRange(c.dated(q))
	}
	if q.MagnificationMin > 0 || q.MagnificationMax > 0 {
		s.want.magnification = newBitset(n)
		for i, m := range c.magnification {
			if m > 0 && m >= q.MagnificationMin && (q.MagnificationMax <= 0 || m <= q.MagnificationMax) {
				s.want.magnification.add(i)
			}
		}
	}
	if q.ApertureMin > 0 || q.ApertureMax > 0 {
		s.want.aperture = c.apertures.within(n, q.ApertureMin, q.ApertureMax) // a band holds one f-number
	}
	if q.ShutterMin > 0 || q.ShutterMax > 0 {
		s.want.shutter = newBitset(n)
		for i := range n {
			for _, v := range c.shutters[c.shuttersFrom[i]:c.shuttersFrom[i+1]] {
				if v >= q.ShutterMin && (q.ShutterMax <= 0 || v <= q.ShutterMax) {
					s.want.shutter.add(i)
				}
			}
		}
	}
	if q.Blended {
		s.want.blended = c.blended
	}
	s.askLight(q)
	return s
}

// dated gives the places, from and below, of the setups of the query's days.
func (c *catalogue) dated(q *session.SetupQuery) (from, to int) {
	to = len(c.at)
	// at falls: the first place that is early enough, and the first that is too early.
	if !q.Until.IsZero() {
		until := reading(q.Until)
		from, _ = slices.BinarySearchFunc(c.at, until, func(at, until int64) int {
			if at >= until {
				return -1
			}
			return 1
		})
	}
	if !q.Since.IsZero() {
		since := reading(q.Since)
		to, _ = slices.BinarySearchFunc(c.at, since, func(at, since int64) int {
			if at >= since {
				return -1
			}
			return 1
		})
	}
	return from, max(from, to)
}

// askLight makes the part of the query ready that is about lights.
func (s *sieve) askLight(q *session.SetupQuery) {
	s.lightAsked = len(q.Cells)+len(q.Sides)+len(q.Heights)+len(q.Kinds)+len(q.Modifiers) > 0
	for i := range s.cellMisses {
		cell := cellAt(i)
		s.cellMisses[i] = missing(missCell, q.Cells, cell) | missing(missSide, q.Sides, cell.Side) | missing(missHeight, q.Heights, cell.Height)
	}
	for i, k := range facetKinds {
		s.kindMisses[i] = missing(missKind, q.Kinds, k)
	}
	s.modifierMisses = make([]uint8, len(s.modifiers))
	if len(q.Modifiers) > 0 {
		for i := range s.modifierMisses {
			s.modifierMisses[i] = missModifier
		}
		for _, text := range q.Modifiers {
			if n, ok := s.modifier[folded(text)]; ok {
				s.modifierMisses[n] = 0
			}
		}
	}
	if q.MainLight {
		s.mainMisses = missMain
	}
	if !s.lightAsked {
		return
	}
	s.want.light = newBitset(len(s.ids))
	s.want.words.each(len(s.ids), func(i int) {
		for _, l := range s.lights[s.lightsFrom[i]:s.lightsFrom[i+1]] {
			if s.missesLight(l) == 0 {
				s.want.light.add(i)
				return
			}
		}
	})
}

// missing is bit unless a list is empty or holds v.
func missing[T comparable](bit uint8, list []T, v T) uint8 {
	if len(list) == 0 || slices.Contains(list, v) {
		return 0
	}
	return bit
}

func (s *sieve) missesLight(l facetLight) uint8 {
	miss := s.cellMisses[l.cell] | s.kindMisses[l.kind] | s.modifierMisses[l.modifier]
	if !l.main {
		miss |= s.mainMisses
	}
	return miss
}

// sift gives the places of the setups that fulfil the query, newest first, and the counts.
func (s *sieve) sift(ctx context.Context, out *session.SetupResults) ([]int32, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.countLights(out)
	found := s.want.but(nil)
	among := func(one *bitset) bitset {
		if *one == nil {
			return found
		}
		return s.want.but(one)
	}
	out.Blended = s.blended.countIn(among(&s.want.blended))
	date := among(&s.want.date)
	out.Years = map[int]int{}
	for year, set := range s.years {
		if n := set.countIn(date); n > 0 {
			out.Years[year] = n
		}
	}
	out.Apertures = s.apertures.count(among(&s.want.aperture))
	out.Shutters = s.shutterBands.count(among(&s.want.shutter))
	out.Magnifications = s.doublings.count(among(&s.want.magnification))
	places := make([]int32, 0, s.countAll(found))
	found.each(len(s.ids), func(i int) { places = append(places, int32(i)) })
	return places, ctx.Err()
}

func (s *scale) count(among bitset) []session.Band {
	var out []session.Band
	for i, b := range s.bands {
		if b.Setups = s.sets[i].countIn(among); b.Setups > 0 {
			out = append(out, b)
		}
	}
	return out
}

// countLights counts, for each choice of one criterion for a light, the setups that would be
// found by it.
func (s *sieve) countLights(out *session.SetupResults) {
	out.Wheel, out.Heights, out.Kinds = map[session.Cell]int{}, map[session.Height]int{}, map[session.LightKind]int{}
	modifiers := make([]int, len(s.modifiers))
	among := s.want.but(&s.want.light)
	if s.lightAsked || s.mainMisses != 0 {
		s.countEachLight(among, modifiers, out)
	} else {
		for i, set := range s.inCell {
			tell(out.Wheel, cellAt(i), set.countIn(among))
		}
		for i, set := range s.atHeight {
			tell(out.Heights, session.Heights[i], set.countIn(among))
		}
		for i, set := range s.ofKind {
			tell(out.Kinds, facetKinds[i], set.countIn(among))
		}
		tell(out.Wheel, session.Cell{Height: session.HeightOverhead}, s.atHeight[overhead].countIn(among))
		out.Main = s.countAll(among)
		among.each(len(s.ids), func(i int) {
			for _, m := range s.before[s.beforeFrom[i]:s.beforeFrom[i+1]] {
				modifiers[m]++
			}
		})
	}
	out.Modifiers = s.mostly(modifiers)
}

// countAll counts a set of setups, where nil is all.
func (s *sieve) countAll(among bitset) int {
	if among == nil {
		return len(s.ids)
	}
	return among.countIn(nil)
}

// tell puts a count into a map unless it is nothing.
func tell[K comparable](to map[K]int, key K, n int) {
	if n > 0 {
		to[key] = n
	}
}

// countEachLight looks at every light of the setups among which are counted.
func (s *sieve) countEachLight(among bitset, modifiers []int, out *session.SetupResults) {
	var inCells, atHeights, ofKinds [cells]int
	above := 0
	last := newMarks(len(modifiers))
	among.each(len(s.ids), func(i int) {
		var cellSet, heightSet, kindSet uint32
		main := !s.lightAsked
		for _, l := range s.lights[s.lightsFrom[i]:s.lightsFrom[i+1]] {
			miss := s.missesLight(l)
			if miss&(miss-1) != 0 {
				continue // two things are amiss: no one choice would find it
			}
			main = main || miss&^missMain == 0 && l.main
			if miss&^missCell == 0 {
				cellSet |= 1 << l.cell
			}
			if miss&^missHeight == 0 {
				heightSet |= 1 << (int(l.cell) % len(session.Heights))
			}
			if miss&^missKind == 0 {
				kindSet |= 1 << l.kind
			}
			if miss&^missModifier == 0 && l.modifier != 0 && last.fresh(l.modifier, i) {
				modifiers[l.modifier]++
			}
		}
		if main {
			out.Main++
		}
		if cellSet&overheadCells != 0 {
			above++
		}
		tally(&inCells, cellSet)
		tally(&atHeights, heightSet)
		tally(&ofKinds, kindSet)
	})
	for i, n := range inCells {
		tell(out.Wheel, cellAt(i), n)
	}
	tell(out.Wheel, session.Cell{Height: session.HeightOverhead}, above)
	for i, h := range session.Heights {
		tell(out.Heights, h, atHeights[i])
	}
	for i, k := range facetKinds {
		tell(out.Kinds, k, ofKinds[i])
	}
}

// tally counts one for each bit of a set.
func tally(counts *[cells]int, set uint32) {
	for ; set != 0; set &= set - 1 {
		counts[bits.TrailingZeros32(set)]++
	}
}

// marks tell for which setup something was counted last, so that it is counted once.
type marks []int32

func newMarks(n int) marks { return make(marks, n) }

func (m marks) fresh(at uint32, setup int) bool {
	if m[at] == int32(setup)+1 {
		return false
	}
	m[at] = int32(setup) + 1
	return true
}

// mostModifiers is how many modifiers are counted in a result.
const mostModifiers = 40

// mostly gives the modifiers with the most setups.
func (s *sieve) mostly(counts []int) []session.Counted {
	var out []session.Counted
	by := func(a, b session.Counted) int {
		return cmp.Or(cmp.Compare(b.Setups, a.Setups), strings.Compare(a.Text, b.Text))
	}
	for i, n := range counts {
		if n == 0 || len(out) == mostModifiers && n < out[mostModifiers-1].Setups {
			continue
		}
		c := session.Counted{Text: s.modifiers[i], Setups: n}
		at, _ := slices.BinarySearchFunc(out, c, by)
		if at < mostModifiers {
			out = slices.Insert(out, at, c)
			out = out[:min(len(out), mostModifiers)]
		}
	}
	return slices.Clip(out)
}

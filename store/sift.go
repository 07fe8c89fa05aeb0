package store

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"
	"strings"

	"stillbench/session"
)

// What a setup, or a light of it, can miss of a query. A count of what would be found if
// another choice were made of one criterion asks for those that miss nothing else.
const (
	missDate = 1 << iota
	missMagnification
	missAperture
	missShutter
	missBlended
)

const (
	missCell = 1 << iota
	missSide
	missHeight
	missKind
	missModifier
	missMain
)

// sieve is a query made ready to be held against every setup, and what it counts.
type sieve struct {
	c                   *catalogue
	q                   *session.SetupQuery
	since, until        int64
	apertures, shutters []bool // by value; nil: any will do
	lightAsked          bool
	cellMisses          [cells]uint8 // what a light there misses
	kindMisses          [len(facetKinds)]uint8
	modifierMisses      []uint8
	mainMisses          uint8 // what a light misses that is not the main one

	cells, heights, kinds                  [cells]int
	modifiers                              []int
	main, blended                          int
	apertureAt, shutterAt, magnificationAt []int // by band
	years                                  [maxYear - minYear + 1]int
}

func newSieve(c *catalogue, q *session.SetupQuery) *sieve {
	s := &sieve{c: c, q: q, since: math.MinInt64, until: math.MaxInt64}
	if !q.Since.IsZero() {
		s.since = reading(q.Since)
	}
	if !q.Until.IsZero() {
		s.until = reading(q.Until)
	}
	if q.ApertureMin > 0 || q.ApertureMax > 0 {
		s.apertures = c.apertureScale.within(q.ApertureMin, q.ApertureMax)
	}
	if q.ShutterMin > 0 || q.ShutterMax > 0 {
		s.shutters = c.shutterScale.within(q.ShutterMin, q.ShutterMax)
	}
	s.lightAsked = len(q.Cells)+len(q.Sides)+len(q.Heights)+len(q.Kinds)+len(q.Modifiers) > 0
	for i := range s.cellMisses {
		cell := cellAt(i)
		s.cellMisses[i] = missing(missCell, q.Cells, cell) | missing(missSide, q.Sides, cell.Side) | missing(missHeight, q.Heights, cell.Height)
	}
	for i, k := range facetKinds {
		s.kindMisses[i] = missing(missKind, q.Kinds, k)
	}
	s.modifierMisses = make([]uint8, len(c.modifiers))
	if len(q.Modifiers) > 0 {
		for i := range s.modifierMisses {
			s.modifierMisses[i] = missModifier
		}
		for _, text := range q.Modifiers {
			if n, ok := c.modifier[folded(text)]; ok {
				s.modifierMisses[n] = 0
			}
		}
	}
	if q.MainLight {
		s.mainMisses = missMain
	}
	s.modifiers = make([]int, len(c.modifiers))
	s.apertureAt, s.shutterAt = make([]int, len(c.apertureScale.bands)), make([]int, len(c.shutterScale.bands))
	s.magnificationAt = make([]int, len(c.magnifications))
	return s
}

// missing is bit unless a list is empty or holds v.
func missing[T comparable](bit uint8, list []T, v T) uint8 {
	if len(list) == 0 || slices.Contains(list, v) {
		return 0
	}
	return bit
}

// sift gives the places, in the catalogue's order, of the setups that fulfil the query apart
// from its words, and counts on the way; said tells which hold the words, nil where all do.
// It ends early when the context does.
func (s *sieve) sift(ctx context.Context, said func(id int64) bool) ([]int32, error) {
	var out []int32
	apertures, shutters, modifiers := newMarks(len(s.apertureAt)), newMarks(len(s.shutterAt)), newMarks(len(s.modifiers))
	for i, id := range s.c.ids {
		if i%(1<<14) == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if said != nil && !said(id) {
			continue
		}
		miss := s.misses(i)
		if miss&(miss-1) != 0 {
			continue // two things are amiss: no one choice would find it
		}
		if !s.lit(i, miss == 0, modifiers) {
			continue
		}
		if miss == 0 {
			out = append(out, int32(i))
		}
		c := s.c
		if miss&^missDate == 0 {
			s.years[c.year[i]-minYear]++
		}
		if miss&^missMagnification == 0 && c.magnification[i] > 0 {
			s.magnificationAt[c.doubling[i]]++
		}
		if miss&^missAperture == 0 {
			for _, v := range c.apertures[c.aperturesFrom[i]:c.aperturesFrom[i+1]] {
				if band := c.apertureScale.band[v]; apertures.fresh(band, i) {
					s.apertureAt[band]++
				}
			}
		}
		if miss&^missShutter == 0 {
			for _, v := range c.shutters[c.shuttersFrom[i]:c.shuttersFrom[i+1]] {
				if band := c.shutterScale.band[v]; shutters.fresh(band, i) {
					s.shutterAt[band]++
				}
			}
		}
		if miss&^missBlended == 0 && c.blended[i] {
			s.blended++
		}
	}
	return out, nil
}

// misses is what a setup misses apart from its lights.
func (s *sieve) misses(i int) (miss uint8) {
	c, q := s.c, s.q
	if c.at[i] < s.since || c.at[i] >= s.until {
		miss |= missDate
	}
	if m := c.magnification[i]; m < q.MagnificationMin || q.MagnificationMax > 0 && (m == 0 || m > q.MagnificationMax) {
		miss |= missMagnification
	}
	if s.apertures != nil && !anyOf(s.apertures, c.apertures[c.aperturesFrom[i]:c.aperturesFrom[i+1]]) {
		miss |= missAperture
	}
	if s.shutters != nil && !anyOf(s.shutters, c.shutters[c.shuttersFrom[i]:c.shuttersFrom[i+1]]) {
		miss |= missShutter
	}
	if q.Blended && !c.blended[i] {
		miss |= missBlended
	}
	return miss
}

func anyOf(in []bool, values []uint32) bool {
	for _, v := range values {
		if in[v] {
			return true
		}
	}
	return false
}

// lit reports whether a light of the setup is what the query asks for; with count it counts
// by what each light misses.
func (s *sieve) lit(i int, count bool, modifiers marks) bool {
	lights := s.c.lights[s.c.lightsFrom[i]:s.c.lightsFrom[i+1]]
	if !count {
		if !s.lightAsked {
			return true
		}
		for _, l := range lights {
			if s.missesLight(l) == 0 {
				return true
			}
		}
		return false
	}
	var inCells, inHeights, ofKinds uint32
	found, main := !s.lightAsked, !s.lightAsked
	for _, l := range lights {
		miss := s.missesLight(l)
		if miss&(miss-1) != 0 {
			continue
		}
		found = found || miss == 0
		main = main || miss&^missMain == 0 && l.main
		if miss&^missCell == 0 {
			inCells |= 1 << l.cell
		}
		if miss&^missHeight == 0 {
			inHeights |= 1 << (int(l.cell) % len(session.Heights))
		}
		if miss&^missKind == 0 {
			ofKinds |= 1 << l.kind
		}
		if miss&^missModifier == 0 && l.modifier != 0 && modifiers.fresh(l.modifier, i) {
			s.modifiers[l.modifier]++
		}
	}
	tally(&s.cells, inCells)
	tally(&s.heights, inHeights)
	tally(&s.kinds, ofKinds)
	if main {
		s.main++
	}
	return found
}

func (s *sieve) missesLight(l facetLight) uint8 {
	miss := s.cellMisses[l.cell] | s.kindMisses[l.kind] | s.modifierMisses[l.modifier]
	if !l.main {
		miss |= s.mainMisses
	}
	return miss
}

// tally counts one for each bit of a set.
func tally(counts *[cells]int, set uint32) {
	for ; set != 0; set &= set - 1 {
		counts[bits.TrailingZeros32(set)]++
	}
}

// marks tell for which setup something was counted last, so that it is counted once.
type marks []int32

func newMarks(n int) marks {
	m := make(marks, n)
	for i := range m {
		m[i] = -1
	}
	return m
}

func (m marks) fresh(at uint32, setup int) bool {
	if m[at] == int32(setup) {
		return false
	}
	m[at] = int32(setup)
	return true
}

// mostModifiers is how many modifiers are counted in a result.
const mostModifiers = 40

// into puts the counts into words.
func (s *sieve) into(out *session.SetupResults) {
	out.Wheel, out.Heights, out.Kinds, out.Years = map[session.Cell]int{}, map[session.Height]int{}, map[session.LightKind]int{}, map[int]int{}
	for i, n := range s.cells {
		if n > 0 {
			out.Wheel[cellAt(i)] = n
		}
	}
	for i, h := range session.Heights {
		if n := s.heights[i]; n > 0 {
			out.Heights[h] = n
		}
	}
	for i, k := range facetKinds {
		if n := s.kinds[i]; n > 0 {
			out.Kinds[k] = n
		}
	}
	for i, n := range s.years {
		if n > 0 {
			out.Years[minYear+i] = n
		}
	}
	for i, n := range s.modifiers {
		if n > 0 {
			out.Modifiers = append(out.Modifiers, session.Counted{Text: s.c.modifiers[i], Setups: n})
		}
	}
	slices.SortFunc(out.Modifiers, func(a, b session.Counted) int {
		return cmp.Or(cmp.Compare(b.Setups, a.Setups), strings.Compare(a.Text, b.Text))
	})
	out.Modifiers = slices.Clip(out.Modifiers[:min(len(out.Modifiers), mostModifiers)])
	out.Main, out.Blended = s.main, s.blended
	out.Apertures = counted(s.c.apertureScale.bands, s.apertureAt)
	out.Shutters = counted(s.c.shutterScale.bands, s.shutterAt)
	out.Magnifications = counted(s.c.magnifications, s.magnificationAt)
}

func counted(bands []session.Band, counts []int) []session.Band {
	var out []session.Band
	for i, b := range bands {
		if b.Setups = counts[i]; b.Setups > 0 {
			out = append(out, b)
		}
	}
	return out
}

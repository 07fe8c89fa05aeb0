package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// facetKinds is the order in which records name the kinds of light. It is part of the log's
// form: new kinds go to the end.
var facetKinds = [...]session.LightKind{
	session.LightLED, session.LightWindow, session.LightFlash, session.LightLamp, session.LightCard, session.LightFlag,
}

// cells is how many fields the wheel has.
const cells = 32

// facet is what a setup is filtered by. Its record is: at (varint), magnification (8 bytes,
// IEEE 754, little-endian), blended (uvarint), the number of lights, for each its cell plus
// 32 times its kind and its modifier (uvarints), then for apertures and for shutters their
// number (uvarint) and values (8 bytes each).
type facet struct {
	at            int64   // reading of its day
	magnification float64 // 0: not measured
	blended       int     // stacks that have been blended
	lights        []facetLight
	apertures     []float64 // ascending
	shutters      []float64 // seconds, ascending
}

// facetLight is what a light is, where it stands and what is before it.
type facetLight struct {
	cell, kind uint8 // 4 * side + height, sides clockwise from the front, heights from the table up; in facetKinds
	main       bool
	modifier   uint32 // number in the table modifiers, 0 for none
}

func (f *facet) record() []byte {
	b := binary.AppendVarint(nil, f.at)
	b = appendFloat(b, f.magnification)
	b = binary.AppendUvarint(b, uint64(f.blended))
	b = binary.AppendUvarint(b, uint64(len(f.lights)))
	for _, l := range f.lights {
		b = binary.AppendUvarint(b, cells*uint64(l.kind)+uint64(l.cell))
		b = binary.AppendUvarint(b, uint64(l.modifier))
	}
	for _, list := range [][]float64{f.apertures, f.shutters} {
		b = binary.AppendUvarint(b, uint64(len(list)))
		for _, v := range list {
			b = appendFloat(b, v)
		}
	}
	return b
}

// read reads a record. The lists of the facet before are written over.
func (f *facet) read(data []byte) error {
	r := recordReader{b: data}
	f.at, f.magnification, f.blended = r.varint(), r.float(), int(r.uvarint())
	f.lights = f.lights[:0]
	main := false
	for range r.count() {
		code := r.uvarint()
		l := facetLight{cell: uint8(code % cells), kind: uint8(min(code/cells, 255)), modifier: uint32(r.uvarint())}
		if int(l.kind) >= len(facetKinds) {
			return errIndex
		}
		if k := facetKinds[l.kind]; !main && k != session.LightCard && k != session.LightFlag {
			l.main, main = true, true // as in session.Setup.MainLight
		}
		f.lights = append(f.lights, l)
	}
	f.apertures, f.shutters = r.floats(f.apertures[:0]), r.floats(f.shutters[:0])
	if r.broken || len(r.b) > 0 {
		return errIndex
	}
	return nil
}

// facetLightOf is a light as a facet knows it.
func facetLightOf(ctx context.Context, tx *sql.Tx, l session.Light) (facetLight, error) {
	kind := slices.Index(facetKinds[:], l.Kind)
	if kind < 0 {
		return facetLight{}, fmt.Errorf("%w: %q is no kind of light", session.ErrInvalid, l.Kind)
	}
	out := facetLight{cell: cellOf(session.Cell{Side: l.Side(), Height: l.Height()}), kind: uint8(kind)}
	if f := folded(l.Modifier); f != "" {
		if _, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO modifiers (folded, text) VALUES (?, ?)`, f, strings.TrimSpace(l.Modifier)); err != nil {
			return out, err
		}
		if err := tx.QueryRowContext(ctx, `SELECT id FROM modifiers WHERE folded = ?`, f).Scan(&out.modifier); err != nil {
			return out, err
		}
	}
	return out, nil
}

func cellOf(c session.Cell) uint8 {
	return uint8(len(session.Heights)*slices.Index(session.Sides, c.Side) + slices.Index(session.Heights, c.Height))
}

// cellAt is the cell with a number.
func cellAt(n int) session.Cell {
	return session.Cell{Side: session.Sides[n/len(session.Heights)], Height: session.Heights[n%len(session.Heights)]}
}

// catalogue is the facets of all shown setups as of one rev, newest first: setup i has
// ids[i], and the lights from lightsFrom[i] to lightsFrom[i+1]. Numbers that were shot with
// are named by their place in the list of those that occur. It never changes.
type catalogue struct {
	rev           int64
	ids           []int64
	place         []int32 // by id: its place in ids, -1 for none
	at            []int64
	year          []int
	magnification []float64 // 0: not measured
	doubling      []uint8   // of magnifications, for the magnification
	blended       []bool
	lightsFrom    []uint32
	lights        []facetLight
	aperturesFrom []uint32
	apertures     []uint32
	shuttersFrom  []uint32
	shutters      []uint32

	apertureScale, shutterScale scale
	magnifications              []session.Band

	modifiers []string          // as written, by number
	modifier  map[string]uint32 // number by folded text
}

// scale is the values of a number that occur, ascending, and the bands they are counted in.
type scale struct {
	values []float64
	band   []uint32 // of each value
	bands  []session.Band
}

// numbering numbers values as they come.
type numbering map[float64]uint32

func (n numbering) of(v float64) uint32 {
	at, ok := n[v]
	if !ok {
		at = uint32(len(n))
		n[v] = at
	}
	return at
}

// scale numbers the values anew in their order, in the list too, and gives the scale.
func (n numbering) scale(list []uint32, key func(float64) float64) scale {
	came := make([]float64, len(n))
	for v, at := range n {
		came[at] = v
	}
	s := newScale(n, key)
	for i, at := range list {
		list[i] = n[came[at]]
	}
	return s
}

// newScale sorts values out into bands: neighbours for which key is the same.
func newScale(values numbering, key func(float64) float64) scale {
	var s scale
	for v := range values {
		s.values = append(s.values, v)
	}
	slices.Sort(s.values)
	for i, v := range s.values {
		values[v] = uint32(i)
		if n := len(s.bands); n == 0 || key(v) != key(s.bands[n-1].Min) {
			s.bands = append(s.bands, session.Band{Min: v, Max: v})
		}
		s.bands[len(s.bands)-1].Max = v
		s.band = append(s.band, uint32(len(s.bands)-1))
	}
	return s
}

// within tells of each value whether it lies in a range whose ends may be open (0).
func (s *scale) within(lo, hi float64) []bool {
	out := make([]bool, len(s.values))
	for i, v := range s.values {
		out[i] = v >= lo && (hi <= 0 || v <= hi)
	}
	return out
}

// The years that are told apart: photographs are not older, and JSON knows none later.
const (
	minYear = 1826
	maxYear = 9999
)

// facetPage is a page of facets in memory.
type facetPage struct {
	ids     []int64
	records [][]byte
}

// newCatalogue makes a catalogue of pages.
func newCatalogue(rev int64, pages map[int64]facetPage, modifiers []string, modifier map[string]uint32) (*catalogue, error) {
	type entry struct {
		id, at int64
		record []byte
	}
	var list []entry
	top := int64(0)
	for _, p := range pages {
		for i, id := range p.ids {
			at, n := binary.Varint(p.records[i])
			if n <= 0 {
				return nil, errIndex
			}
			list = append(list, entry{id, at, p.records[i]})
			top = max(top, id)
		}
	}
	slices.SortFunc(list, func(a, b entry) int { return cmp.Or(cmp.Compare(b.at, a.at), cmp.Compare(b.id, a.id)) })
	n := len(list)
	c := &catalogue{
		rev: rev, ids: make([]int64, n), place: make([]int32, top+1), at: make([]int64, n), year: make([]int, n),
		magnification: make([]float64, n), doubling: make([]uint8, n), blended: make([]bool, n),
		lightsFrom: make([]uint32, n+1), aperturesFrom: make([]uint32, n+1), shuttersFrom: make([]uint32, n+1),
		lights: make([]facetLight, 0, 3*n), apertures: make([]uint32, 0, n), shutters: make([]uint32, 0, n),
		modifiers: modifiers, modifier: modifier,
	}
	for i := range c.place {
		c.place[i] = -1
	}
	// Values are numbered as they come, and again when all are known.
	apertures, shutters := numbering{}, numbering{}
	var f facet
	for i, e := range list {
		if err := f.read(e.record); err != nil {
			return nil, err
		}
		c.ids[i], c.at[i], c.place[e.id] = e.id, e.at, int32(i)
		c.year[i] = min(max(time.UnixMicro(e.at).UTC().Year(), minYear), maxYear)
		c.magnification[i] = f.magnification
		c.blended[i] = f.blended > 0
		c.lights = append(c.lights, f.lights...)
		for _, v := range f.apertures {
			c.apertures = append(c.apertures, apertures.of(v))
		}
		for _, v := range f.shutters {
			c.shutters = append(c.shutters, shutters.of(v))
		}
		c.lightsFrom[i+1], c.aperturesFrom[i+1], c.shuttersFrom[i+1] = uint32(len(c.lights)), uint32(len(c.apertures)), uint32(len(c.shutters))
	}
	c.apertureScale = apertures.scale(c.apertures, func(v float64) float64 { return v })
	c.shutterScale = shutters.scale(c.shutters, func(v float64) float64 { return math.Round(math.Log2(v)) })
	c.double()
	return c, nil
}

// double sorts the magnifications out into bands of a doubling each.
func (c *catalogue) double() {
	power := func(m float64) int { return max(-64, min(int(math.Floor(math.Log2(m))), 63)) }
	var bands [128]session.Band
	for _, m := range c.magnification {
		if m > 0 {
			b := &bands[64+power(m)]
			b.Max = max(b.Max, m)
			if b.Min == 0 || m < b.Min {
				b.Min = m
			}
		}
	}
	var number [128]uint8
	for i, b := range bands {
		if b.Max > 0 {
			number[i] = uint8(len(c.magnifications))
			c.magnifications = append(c.magnifications, b)
		}
	}
	for i, m := range c.magnification {
		if m > 0 {
			c.doubling[i] = number[64+power(m)]
		}
	}
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"maps"
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

// overhead is the place of that height in session.Heights; overheadCells has a bit for each
// cell of it.
const (
	overhead      = 3
	overheadCells = 0x88888888
)

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
// ids[i], the lights from lightsFrom[i] to lightsFrom[i+1], and before them, each once, the
// modifiers from beforeFrom[i] to beforeFrom[i+1]. It never changes.
type catalogue struct {
	rev           int64
	ids           []int64
	at            []int64 // descending
	magnification []float64
	lightsFrom    []uint32
	lights        []facetLight
	beforeFrom    []uint32
	before        []uint32
	shuttersFrom  []uint32
	shutters      []float64

	// The setups with a light in a cell, at a height, of a kind; with blended stacks; of a
	// year; with a number in a band.
	inCell                             [cells]bitset
	atHeight                           []bitset
	ofKind                             [len(facetKinds)]bitset
	blended                            bitset
	years                              map[int]bitset
	apertures, shutterBands, doublings scale

	modifiers []string          // as written, by number
	modifier  map[string]uint32 // number by folded text
}

// scale is the bands in which a number is counted, ascending, with the setups in each.
type scale struct {
	bands []session.Band
	sets  []bitset
}

// scaling sorts numbers out into bands: those for which key is the same.
type scaling struct {
	key  func(float64) float64
	n    int // setups
	last int // the band of the number before
	keys []float64
	scale
}

// add notes that setup i has a number, over 0.
func (s *scaling) add(i int, v float64) {
	key := s.key(v)
	if len(s.keys) == 0 || s.keys[s.last] != key {
		if s.last = slices.Index(s.keys, key); s.last < 0 {
			s.last = len(s.keys)
			s.keys = append(s.keys, key)
			s.bands = append(s.bands, session.Band{Min: v, Max: v})
			s.sets = append(s.sets, newBitset(s.n))
		}
	}
	b := &s.bands[s.last]
	b.Min, b.Max = min(b.Min, v), max(b.Max, v)
	s.sets[s.last].add(i)
}

// sorted gives the bands in their order.
func (s *scaling) sorted() scale {
	order := make([]int, len(s.bands))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(s.bands[a].Min, s.bands[b].Min) })
	var out scale
	for _, i := range order {
		out.bands, out.sets = append(out.bands, s.bands[i]), append(out.sets, s.sets[i])
	}
	return out
}

// within gives the setups with a band that lies in a range whose ends may be open (0).
func (s *scale) within(n int, lo, hi float64) bitset {
	out := newBitset(n)
	for i, b := range s.bands {
		if b.Min >= lo && (hi <= 0 || b.Max <= hi) {
			for w := range out {
				out[w] |= s.sets[i][w]
			}
		}
	}
	return out
}

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
	// From the last page to the first they come nearly in order.
	order := slices.SortedFunc(maps.Keys(pages), func(a, b int64) int { return cmp.Compare(b, a) })
	list := make([]entry, 0, perPage*len(pages))
	for _, number := range order {
		p := pages[number]
		for i, id := range slices.Backward(p.ids) {
			at, n := binary.Varint(p.records[i])
			if n <= 0 {
				return nil, errIndex
			}
			list = append(list, entry{id, at, p.records[i]})
		}
	}
	// No two are alike: it is the stable one for what it makes of a list that is nearly in order.
	slices.SortStableFunc(list, func(a, b entry) int {
		if a.at != b.at {
			return cmp.Compare(b.at, a.at)
		}
		return cmp.Compare(b.id, a.id)
	})
	n := len(list)
	c := &catalogue{
		rev: rev, ids: make([]int64, n), at: make([]int64, n), magnification: make([]float64, n),
		lightsFrom: make([]uint32, n+1), lights: make([]facetLight, 0, 3*n),
		beforeFrom: make([]uint32, n+1), before: make([]uint32, 0, 3*n), shuttersFrom: make([]uint32, n+1), shutters: make([]float64, 0, n),
		atHeight: make([]bitset, len(session.Heights)), blended: newBitset(n), years: map[int]bitset{},
		modifiers: modifiers, modifier: modifier,
	}
	for _, sets := range [][]bitset{c.inCell[:], c.atHeight, c.ofKind[:]} {
		for i := range sets {
			sets[i] = newBitset(n)
		}
	}
	apertures := scaling{n: n, key: func(v float64) float64 { return v }}
	shutters := scaling{n: n, key: func(v float64) float64 { return math.Round(math.Log2(v)) }}
	doublings := scaling{n: n, key: func(v float64) float64 { return math.Floor(math.Log2(v)) }}
	var f facet
	var year int
	var begins, ends int64 // of the year
	for i, e := range list {
		if err := f.read(e.record); err != nil {
			return nil, err
		}
		c.ids[i], c.at[i], c.magnification[i] = e.id, e.at, f.magnification
		if c.years[year] == nil || e.at < begins || e.at >= ends {
			year = time.UnixMicro(e.at).UTC().Year()
			begins = time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC).UnixMicro()
			ends = time.Date(year+1, 1, 1, 0, 0, 0, 0, time.UTC).UnixMicro()
			if c.years[year] == nil {
				c.years[year] = newBitset(n)
			}
		}
		c.years[year].add(i)
		if f.blended > 0 {
			c.blended.add(i)
		}
		c.lights = append(c.lights, f.lights...)
		for _, l := range f.lights {
			if int(l.modifier) >= len(modifiers) {
				return nil, errIndex
			}
			c.inCell[l.cell].add(i)
			c.atHeight[int(l.cell)%len(session.Heights)].add(i)
			c.ofKind[l.kind].add(i)
			if l.modifier != 0 && !slices.Contains(c.before[c.beforeFrom[i]:], l.modifier) {
				c.before = append(c.before, l.modifier)
			}
		}
		for _, v := range f.apertures {
			apertures.add(i, v)
		}
		for _, v := range f.shutters {
			shutters.add(i, v)
		}
		c.shutters = append(c.shutters, f.shutters...)
		if f.magnification > 0 {
			doublings.add(i, f.magnification)
		}
		c.lightsFrom[i+1], c.beforeFrom[i+1], c.shuttersFrom[i+1] = uint32(len(c.lights)), uint32(len(c.before)), uint32(len(c.shutters))
	}
	c.apertures, c.shutterBands, c.doublings = apertures.sorted(), shutters.sorted(), doublings.sorted()
	return c, nil
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"
	"sync"

	"stillbench/session"
)

// cellBit is the bit of a wheel cell in a set of cells.
func cellBit(side, height int) uint32 { return 1 << (len(session.Heights)*side + height) }

// cellOf is the bit of the cell that a light stands in.
func cellOf(l session.Light) uint32 {
	return cellBit(slices.Index(session.Sides, l.Side()), slices.Index(session.Heights, l.Height()))
}

// facetKinds is the order in which lines name the kinds of light. It is part of the log's
// form: new kinds go to the end, with a migration.
var facetKinds = [...]session.LightKind{
	session.LightLED, session.LightWindow, session.LightFlash, session.LightLamp, session.LightCard, session.LightFlag,
}

// facet is what a setup is filtered by.
type facet struct {
	id            int64
	at            int64                   // reading of its day
	lit           [len(facetKinds)]uint32 // cells that hold a light, by kind
	magnification float64                 // 0: not measured
	apertures     []float64               // ascending
}

// line is a facet as the table facets keeps it (migrations/0002_facets.sql).
func (f *facet) line() string {
	b := strconv.AppendInt(nil, f.id, 10)
	b = strconv.AppendInt(append(b, ' '), f.at, 10)
	for _, cells := range f.lit {
		b = strconv.AppendUint(append(b, ' '), uint64(cells), 10)
	}
	b = strconv.AppendFloat(append(b, ' '), f.magnification, 'g', -1, 64)
	for _, n := range f.apertures {
		b = strconv.AppendFloat(append(b, ' '), n, 'g', -1, 64)
	}
	return string(b)
}

// parseFacet reads a line; shown is false for that of a hidden setup.
func parseFacet(line string) (f facet, shown bool, err error) {
	next := func() (field string) {
		field, line, _ = strings.Cut(line, " ")
		return field
	}
	integer := func() int64 {
		v, perr := strconv.ParseInt(next(), 10, 64)
		err = cmp.Or(err, perr)
		return v
	}
	number := func() float64 {
		v, perr := strconv.ParseFloat(next(), 64)
		err = cmp.Or(err, perr)
		return v
	}
	f.id = integer()
	if line == "" {
		return f, false, err
	}
	f.at = integer()
	for i := range f.lit {
		f.lit[i] = uint32(integer())
	}
	f.magnification = number()
	if line != "" {
		f.apertures = make([]float64, 0, 1+strings.Count(line, " "))
	}
	for line != "" {
		f.apertures = append(f.apertures, number())
	}
	return f, true, err
}

// writeFacet puts the line of a setup in place, under a new rev.
func writeFacet(ctx context.Context, tx *sql.Tx, id int64, line string) error {
	if _, err := tx.ExecContext(ctx, `UPDATE facets_state SET rev = rev + 1`); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO facets (setup_id, rev, line) SELECT ?, rev, ? FROM facets_state`, id, line)
	return err
}

// facets are those of all shown setups, newest first, as of one rev of the log. One search
// at a time uses them.
type facets struct {
	sync.Mutex
	epoch string
	rev   int64
	list  []facet
	place []int32 // in list, by id; -1 for none
}

// refresh brings the facets to the state that tx sees. The lock is held, and was taken
// before tx began: the log never looks older than it did.
func (c *facets) refresh(ctx context.Context, tx *sql.Tx) error {
	var epoch string
	var rev int64
	if err := tx.QueryRowContext(ctx, `SELECT epoch, rev FROM facets_state`).Scan(&epoch, &rev); err != nil {
		return err
	}
	if epoch != c.epoch {
		c.list, c.rev = nil, -1
	}
	if epoch == c.epoch && rev == c.rev {
		return nil
	}
	// One row: a hundred thousand would take longer to hand over than to read.
	var lines sql.NullString
	if err := tx.QueryRowContext(ctx, `SELECT group_concat(line, char(10)) FROM facets WHERE rev > ?`, c.rev).Scan(&lines); err != nil {
		return err
	}
	changed := map[int64]bool{}
	fresh := make([]facet, 0, strings.Count(lines.String, "\n")+1)
	for line := range strings.SplitSeq(lines.String, "\n") {
		if line == "" {
			continue
		}
		f, shown, err := parseFacet(line)
		if err != nil {
			return fmt.Errorf("the search index is damaged: %w", err)
		}
		if len(c.list) > 0 {
			changed[f.id] = true
		}
		if shown {
			fresh = append(fresh, f)
		}
	}
	c.list = slices.DeleteFunc(c.list, func(f facet) bool { return changed[f.id] })
	c.list = append(c.list, fresh...)
	slices.SortFunc(c.list, func(a, b facet) int {
		if a.at != b.at {
			return cmp.Compare(b.at, a.at)
		}
		return cmp.Compare(b.id, a.id)
	})
	top := int64(0)
	for i := range c.list {
		top = max(top, c.list[i].id)
	}
	c.place = make([]int32, top+1)
	for i := range c.place {
		c.place[i] = -1
	}
	for i := range c.list {
		c.place[c.list[i].id] = int32(i)
	}
	c.epoch, c.rev = epoch, rev
	return nil
}

// all goes through every facet, newest first.
func (c *facets) all(yield func(*facet) bool) {
	for i := range c.list {
		if !yield(&c.list[i]) {
			return
		}
	}
}

// at goes through the facets at the given places.
func (c *facets) at(places []int32) iter.Seq[*facet] {
	return func(yield func(*facet) bool) {
		for _, i := range places {
			if !yield(&c.list[i]) {
				return
			}
		}
	}
}

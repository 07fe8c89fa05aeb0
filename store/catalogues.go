package store

import (
	"context"
	"database/sql"
	"strconv"
	"strings"
	"sync"
)

// catalogues are what searches filter by, as one log had it last; wordIndexes what they look
// words up in. What is handed out never changes; several searches may use it at once. The
// locks are taken before a transaction begins, so that the log never looks older than it did,
// that of the words first.
type catalogues struct {
	sync.Mutex
	epoch string
	pages map[int64]facetPage
	list  *catalogue
}

type wordIndexes struct {
	sync.Mutex
	epoch string
	pages map[int64][]byte
	index *wordIndex
}

// read reads what changed up to the state that tx sees; build gives the catalogue of that state, and
// needs tx no longer.
func (c *catalogues) read(ctx context.Context, tx *sql.Tx) (build func() (*catalogue, error), err error) {
	var epoch string
	var rev int64
	if err := tx.QueryRowContext(ctx, `SELECT epoch, facets FROM search_state`).Scan(&epoch, &rev); err != nil {
		return nil, err
	}
	if epoch != c.epoch {
		c.epoch, c.pages, c.list = epoch, map[int64]facetPage{}, nil
	}
	if c.list != nil && c.list.rev == rev {
		return func() (*catalogue, error) { return c.list, nil }, nil
	}
	return c.refresh(ctx, tx, rev)
}

// read reads what changed up to the state that tx sees; build gives the index of that state, and
// needs tx no longer.
func (w *wordIndexes) read(ctx context.Context, tx *sql.Tx) (build func() (*wordIndex, error), err error) {
	var epoch string
	var rev int64
	if err := tx.QueryRowContext(ctx, `SELECT epoch, words FROM search_state`).Scan(&epoch, &rev); err != nil {
		return nil, err
	}
	if epoch != w.epoch {
		w.epoch, w.pages, w.index = epoch, map[int64][]byte{}, nil
	}
	if w.index != nil && w.index.rev == rev {
		return func() (*wordIndex, error) { return w.index, nil }, nil
	}
	return w.refresh(ctx, tx, rev)
}

func (c *catalogues) refresh(ctx context.Context, tx *sql.Tx, rev int64) (func() (*catalogue, error), error) {
	since := int64(-1)
	if c.list != nil {
		since = c.list.rev
	}
	err := facetPages.changed(ctx, tx, since, func(page int64, records []byte) error {
		var p facetPage
		err := eachRecord(page, records, func(id int64, data []byte) error {
			p.ids = append(p.ids, id)
			p.records = append(p.records, data)
			return nil
		})
		c.pages[page] = p
		return err
	})
	if err != nil {
		return nil, err
	}
	modifiers, modifier := []string{""}, map[string]uint32{}
	err = each(ctx, tx, `SELECT id, folded, text FROM modifiers ORDER BY id`, nil, func(scan func(...any) error) error {
		var id int
		var folded, text string
		if err := scan(&id, &folded, &text); err != nil {
			return err
		}
		for len(modifiers) <= id {
			modifiers = append(modifiers, "")
		}
		modifiers[id], modifier[folded] = text, uint32(id)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return func() (*catalogue, error) {
		list, err := newCatalogue(rev, c.pages, modifiers, modifier)
		if err == nil {
			c.list = list
		}
		return list, err
	}, nil
}

func (w *wordIndexes) refresh(ctx context.Context, tx *sql.Tx, rev int64) (func() (*wordIndex, error), error) {
	since := int64(-1)
	if w.index != nil {
		since = w.index.rev
	}
	err := wordPages.changed(ctx, tx, since, func(page int64, records []byte) error {
		w.pages[page] = records
		return nil
	})
	if err != nil {
		return nil, err
	}
	// One row: twenty thousand would take longer to hand over than to read. No word holds a
	// line end or a space.
	var lines sql.NullString
	if err := tx.QueryRowContext(ctx, `SELECT group_concat(id || ' ' || term, char(10)) FROM (SELECT id, term FROM terms ORDER BY term)`).Scan(&lines); err != nil {
		return nil, err
	}
	n := strings.Count(lines.String, "\n") + 1
	terms, numbers := make([]string, 0, n), make([]uint64, 0, n)
	for line := range strings.SplitSeq(lines.String, "\n") {
		number, term, ok := strings.Cut(line, " ")
		if !ok {
			continue
		}
		v, err := strconv.ParseUint(number, 10, 32)
		if err != nil {
			return nil, errIndex
		}
		terms, numbers = append(terms, term), append(numbers, v)
	}
	return func() (*wordIndex, error) {
		index, err := newWordIndex(ctx, rev, w.pages, terms, numbers)
		if err == nil {
			w.index = index
		}
		return index, err
	}, nil
}

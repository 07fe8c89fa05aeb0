package store

import (
	"context"
	"database/sql"
	"strconv"
	"strings"
	"sync"
)

// catalogues are what searches go by, as one log had it last. What is handed out never
// changes; several searches may use it at once.
type catalogues struct {
	sync.Mutex
	epoch  string
	facets map[int64]facetPage
	list   *catalogue
	words  map[int64][]byte
	index  *wordIndex
}

// of gives the catalogue, and the index of words where they are asked for, of the state that
// tx sees. The lock is held, and was taken before tx began: the log never looks older than
// it did.
func (c *catalogues) of(ctx context.Context, tx *sql.Tx, worded bool) (*catalogue, *wordIndex, error) {
	var epoch string
	var facets, words int64
	if err := tx.QueryRowContext(ctx, `SELECT epoch, facets, words FROM search_state`).Scan(&epoch, &facets, &words); err != nil {
		return nil, nil, err
	}
	if epoch != c.epoch {
		c.epoch, c.facets, c.list, c.words, c.index = epoch, map[int64]facetPage{}, nil, map[int64][]byte{}, nil
	}
	if c.list == nil || c.list.rev != facets {
		if err := c.refreshFacets(ctx, tx, facets); err != nil {
			return nil, nil, err
		}
	}
	if worded && (c.index == nil || c.index.rev != words) {
		if err := c.refreshWords(ctx, tx, words); err != nil {
			return nil, nil, err
		}
	}
	return c.list, c.index, nil
}

func (c *catalogues) refreshFacets(ctx context.Context, tx *sql.Tx, rev int64) error {
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
		c.facets[page] = p
		return err
	})
	if err != nil {
		return err
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
		return err
	}
	list, err := newCatalogue(rev, c.facets, modifiers, modifier)
	if err == nil {
		c.list = list
	}
	return err
}

func (c *catalogues) refreshWords(ctx context.Context, tx *sql.Tx, rev int64) error {
	since := int64(-1)
	if c.index != nil {
		since = c.index.rev
	}
	err := wordPages.changed(ctx, tx, since, func(page int64, records []byte) error {
		c.words[page] = records
		return nil
	})
	if err != nil {
		return err
	}
	// One row: twenty thousand would take longer to hand over than to read. No word holds a
	// line end or a space.
	var lines sql.NullString
	if err := tx.QueryRowContext(ctx, `SELECT group_concat(id || ' ' || term, char(10)) FROM (SELECT id, term FROM terms ORDER BY term)`).Scan(&lines); err != nil {
		return err
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
			return errIndex
		}
		terms, numbers = append(terms, term), append(numbers, v)
	}
	index, err := newWordIndex(rev, c.words, terms, numbers)
	if err == nil {
		c.index = index
	}
	return err
}

package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"slices"
	"strings"

	"stillbench/session"
)

// weights says how much a word counts by the field it stands in, in the order of the
// columns of setup_words: subject, background, support, lens, notes, tags, lights.
const weights = `10.0, 2.0, 2.0, 3.0, 1.0, 6.0, 3.0`

// FindSetups searches the whole log; see session.SetupQuery. With words the most relevant
// setup comes first (BM25; Robertson and Zaragoza, Foundations and Trends in Information
// Retrieval 3(4), 2009), else the newest. Where words find nothing at all, those of the
// log that differ by a slip of the hand are looked up in their place. No text is an error.
func (s *Store) FindSetups(ctx context.Context, q session.SetupQuery) (session.SetupResults, error) {
	var out session.SetupResults
	err := s.view(ctx, "search", func(tx *sql.Tx) error {
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM facets`).Scan(&out.Logged); err != nil {
			return err
		}
		c := criteriaOf(q)
		if err := c.count(ctx, tx, &out); err != nil {
			return err
		}
		if out.Total == 0 && len(out.Wheel) == 0 && c.match != "" {
			better, err := forgive(ctx, tx, q.Words)
			if err != nil {
				return err
			}
			if better != "" && better != c.match {
				c.match = better
				if err := c.count(ctx, tx, &out); err != nil {
					return err
				}
			}
		}
		if out.Total <= q.Offset {
			return nil
		}
		var err error
		out.Setups, err = c.page(ctx, tx, q.Limit, q.Offset)
		return err
	})
	return out, err
}

// criteria is a query in SQL.
type criteria struct {
	match string // FTS5 expression, "" without words
	where string // on facets f, without the criteria on lights; "" for none
	args  []any  // of where
	lit   string // the lit columns that the kinds of light select, or'ed together
	cells int64  // a light must stand in one of these cells ...
	asked bool   // ... if anything was asked of lights at all
	wheel int64  // the cells that are left when only Cells is dropped
}

func criteriaOf(q session.SetupQuery) criteria {
	c := criteria{match: match(q.Words), lit: "f.lit"}
	if len(q.Kinds) > 0 {
		var columns []string
		for _, k := range q.Kinds {
			if name, ok := kindColumns[k]; ok {
				columns = append(columns, "f."+name)
			}
		}
		if c.lit = "(" + strings.Join(columns, " | ") + ")"; len(columns) == 0 {
			c.lit = "0" // kinds that nobody has
		}
	}
	for i, side := range session.Sides {
		for j, height := range session.Heights {
			if len(q.Sides) > 0 && !slices.Contains(q.Sides, side) || len(q.Heights) > 0 && !slices.Contains(q.Heights, height) {
				continue
			}
			c.wheel |= cellBit(i, j)
			if len(q.Cells) == 0 || slices.Contains(q.Cells, session.Cell{Side: side, Height: height}) {
				c.cells |= cellBit(i, j)
			}
		}
	}
	c.asked = len(q.Kinds)+len(q.Cells)+len(q.Sides)+len(q.Heights) > 0

	var all []string
	add := func(condition string, args ...any) {
		all = append(all, condition)
		c.args = append(c.args, args...)
	}
	if lo, hi := q.ApertureMin, q.ApertureMax; lo > 0 || hi > 0 {
		if hi <= 0 {
			hi = 1e9
		}
		// The ends of the range shot with decide nearly always.
		add(`(f.f_min BETWEEN ? AND ? OR f.f_max BETWEEN ? AND ? OR f.f_min < ? AND f.f_max > ? AND EXISTS (
			SELECT 1 FROM shot, json_each(shot.apertures) a WHERE shot.setup_id = f.setup_id AND a.value BETWEEN ? AND ?))`,
			lo, hi, lo, hi, lo, hi, lo, hi)
	}
	if q.MagnificationMin > 0 {
		add(`f.magnification >= ?`, q.MagnificationMin)
	}
	if q.MagnificationMax > 0 {
		add(`f.magnification <= ?`, q.MagnificationMax)
	}
	if !q.Since.IsZero() {
		add(`f.at >= ?`, reading(q.Since))
	}
	if !q.Until.IsZero() {
		add(`f.at < ?`, reading(q.Until))
	}
	c.where = strings.Join(all, " AND ")
	return c
}

// from gives FROM and WHERE for all setups that match; with lights, only those whose
// lights match too.
func (c criteria) from(lights bool) (string, []any) {
	text := ` FROM facets f`
	var all []string
	var args []any
	if c.match != "" {
		// The words lead: they leave the fewest setups.
		text = ` FROM setup_words w CROSS JOIN facets f ON f.setup_id = w.rowid`
		all = append(all, `setup_words MATCH ?`)
		args = append(args, c.match)
	}
	if c.where != "" {
		all = append(all, c.where)
		args = append(args, c.args...)
	}
	if lights && c.asked {
		all = append(all, c.lit+` & ? <> 0`)
		args = append(args, c.cells)
	}
	if len(all) > 0 {
		text += ` WHERE ` + strings.Join(all, ` AND `)
	}
	return text, args
}

// count fills in Total and Wheel from one pass: setups that differ in nothing but where
// their lights stand are counted together.
func (c criteria) count(ctx context.Context, tx *sql.Tx, out *session.SetupResults) error {
	out.Total, out.Wheel = 0, map[session.Cell]int{}
	var bits [64]int
	from, args := c.from(false)
	err := each(ctx, tx, `SELECT `+c.lit+` AS lit, count(*)`+from+` GROUP BY 1`, args, func(scan func(...any) error) error {
		var lit int64
		var n int
		if err := scan(&lit, &n); err != nil {
			return err
		}
		if !c.asked || lit&c.cells != 0 {
			out.Total += n
		}
		for i := range bits {
			if lit&c.wheel&(1<<i) != 0 {
				bits[i] += n
			}
		}
		return nil
	})
	for i, side := range session.Sides {
		for j, height := range session.Heights {
			if n := bits[len(session.Heights)*i+j]; n > 0 {
				out.Wheel[session.Cell{Side: side, Height: height}] = n
			}
		}
	}
	return err
}

// page reads the setups of one page, in order.
func (c criteria) page(ctx context.Context, tx *sql.Tx, limit, offset int) ([]session.FoundSetup, error) {
	if limit <= 0 {
		limit = 100
	}
	score, order := `0.0`, `f.at DESC, f.setup_id DESC`
	if c.match != "" {
		score, order = `-bm25(setup_words, `+weights+`)`, `2 DESC, `+order
	}
	from, args := c.from(true)
	var ids []int64
	scores := map[int64]float64{}
	err := each(ctx, tx, `SELECT f.setup_id, `+score+from+` ORDER BY `+order+` LIMIT ? OFFSET ?`,
		append(args, limit, max(0, offset)), func(scan func(...any) error) error {
			var id int64
			var score float64
			if err := scan(&id, &score); err != nil {
				return err
			}
			ids = append(ids, id)
			scores[id] = score
			return nil
		})
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	list, err := jsonText(ids)
	if err != nil {
		return nil, err
	}
	setups, err := setupsWhere(ctx, tx, `id IN (SELECT value FROM json_each(?))`, list)
	if err != nil {
		return nil, err
	}
	out := make([]session.FoundSetup, len(ids))
	place := map[int64]int{}
	for i, id := range ids {
		place[id] = i
	}
	for _, s := range setups {
		out[place[s.ID]] = session.FoundSetup{Setup: s, Score: scores[s.ID]}
	}
	err = each(ctx, tx, `SELECT shot.setup_id, shot.stacks, shot.frames, shot.taken, shot.apertures, shot.cover, sessions.dir
		FROM shot JOIN setups ON setups.id = shot.setup_id JOIN sessions ON sessions.id = setups.session_id
		WHERE shot.setup_id IN (SELECT value FROM json_each(?))`, []any{list}, func(scan func(...any) error) error {
		var id int64
		var f session.FoundSetup
		var taken sql.NullString
		var apertures string
		if err := scan(&id, &f.Stacks, &f.Frames, &taken, &apertures, &f.Cover, &f.Dir); err != nil {
			return err
		}
		f.Setup, f.Score = out[place[id]].Setup, out[place[id]].Score
		if taken.Valid {
			if f.Taken, err = parseTime(taken.String); err != nil {
				return err
			}
		}
		if err := json.Unmarshal([]byte(apertures), &f.FNumber); err != nil {
			return err
		}
		if len(f.FNumber) == 0 {
			f.FNumber = nil
		}
		out[place[id]] = f
		return nil
	})
	return out, err
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"iter"
	"math"
	"math/bits"
	"slices"
	"strings"

	"stillbench/session"
)

// weights says how much a word counts by the field it stands in, in the order of the
// columns of setup_words: subject, background, support, lens, notes, tags, lights.
const weights = `10.0, 2.0, 2.0, 3.0, 1.0, 6.0, 3.0`

// ranked is how many setups may hold the words of a query for them to be put in order of
// relevance. Words that more of them hold say little about which is meant, and ranking by
// them would take longer than typing on.
const ranked = 3000

// FindSetups searches the whole log; see session.SetupQuery. With words the most relevant
// setup comes first (BM25; Robertson and Zaragoza, Foundations and Trends in Information
// Retrieval 3(4), 2009), unless more than 3000 setups hold the words; else the newest, with
// a score of 0. Where words find nothing at all, those of the log that differ by a slip of the
// hand are looked up in their place. No text is an error.
func (s *Store) FindSetups(ctx context.Context, q session.SetupQuery) (session.SetupResults, error) {
	var out session.SetupResults
	s.facets.Lock()
	defer s.facets.Unlock()
	err := s.view(ctx, "search", func(tx *sql.Tx) error {
		if err := s.facets.refresh(ctx, tx); err != nil {
			return err
		}
		out.Logged = len(s.facets.list)
		expression := match(q.Words)
		worded := expression != ""
		said, err := s.holding(ctx, tx, expression)
		if err != nil {
			return err
		}
		if worded && len(said) == 0 {
			if expression, err = forgive(ctx, tx, q.Words); err != nil {
				return err
			}
			if said, err = s.holding(ctx, tx, expression); err != nil {
				return err
			}
		}
		among := s.facets.all
		if worded {
			among = s.facets.at(said)
		}
		var ids []int64
		ids, out.Wheel = sift(among, q)
		out.Total = len(ids)
		limit := q.Limit
		if limit <= 0 {
			limit = 100
		}
		first := min(max(0, q.Offset), len(ids))
		last := first + min(limit, len(ids)-first)
		scores := map[int64]float64{}
		if expression != "" && len(said) <= ranked {
			if scores, err = rank(ctx, tx, expression, ids); err != nil {
				return err
			}
		}
		out.Setups, err = page(ctx, tx, ids[first:last], scores)
		return err
	})
	return out, err
}

// holding gives the places, in the list of facets, of the setups whose words match an FTS5
// expression; none without one.
func (s *Store) holding(ctx context.Context, tx *sql.Tx, expression string) ([]int32, error) {
	if expression == "" {
		return nil, nil
	}
	// One row, for the same reason as in facets.refresh.
	var list sql.NullString
	if err := tx.QueryRowContext(ctx, `SELECT group_concat(rowid) FROM setup_words WHERE setup_words MATCH ?`, expression).Scan(&list); err != nil || !list.Valid {
		return nil, err
	}
	out := make([]int32, 0, strings.Count(list.String, ",")+1)
	id := 0
	for i := 0; i <= len(list.String); i++ {
		if i < len(list.String) && list.String[i] != ',' {
			id = 10*id + int(list.String[i]-'0')
			continue
		}
		if id < len(s.facets.place) && s.facets.place[id] >= 0 {
			out = append(out, s.facets.place[id])
		}
		id = 0
	}
	slices.Sort(out)
	return out, nil
}

// sift picks the setups that fulfil the query, apart from its words, in the order of the
// list, and counts for each cell of the wheel those that would be found if it were the
// only one chosen.
func sift(list iter.Seq[*facet], q session.SetupQuery) (ids []int64, wheel map[session.Cell]int) {
	var kinds [len(facetKinds)]bool
	for i, k := range facetKinds {
		kinds[i] = len(q.Kinds) == 0 || slices.Contains(q.Kinds, k)
	}
	var open, chosen uint32 // cells that Sides and Heights leave; those of them in Cells
	for i, side := range session.Sides {
		for j, height := range session.Heights {
			if len(q.Sides) > 0 && !slices.Contains(q.Sides, side) || len(q.Heights) > 0 && !slices.Contains(q.Heights, height) {
				continue
			}
			open |= cellBit(i, j)
			if len(q.Cells) == 0 || slices.Contains(q.Cells, session.Cell{Side: side, Height: height}) {
				chosen |= cellBit(i, j)
			}
		}
	}
	lightAsked := len(q.Kinds)+len(q.Cells)+len(q.Sides)+len(q.Heights) > 0
	since, until := int64(math.MinInt64), int64(math.MaxInt64)
	if !q.Since.IsZero() {
		since = reading(q.Since)
	}
	if !q.Until.IsZero() {
		until = reading(q.Until)
	}
	var counts [32]int
	for f := range list {
		if f.at < since || f.at >= until ||
			q.MagnificationMin > 0 && f.magnification < q.MagnificationMin ||
			q.MagnificationMax > 0 && (f.magnification == 0 || f.magnification > q.MagnificationMax) ||
			!shotWithin(f.apertures, q.ApertureMin, q.ApertureMax) {
			continue
		}
		var lit uint32
		for k, cells := range f.lit {
			if kinds[k] {
				lit |= cells
			}
		}
		for cells := lit & open; cells != 0; cells &= cells - 1 {
			counts[bits.TrailingZeros32(cells)]++
		}
		if !lightAsked || lit&chosen != 0 {
			ids = append(ids, f.id)
		}
	}
	wheel = map[session.Cell]int{}
	for i, side := range session.Sides {
		for j, height := range session.Heights {
			if n := counts[len(session.Heights)*i+j]; n > 0 {
				wheel[session.Cell{Side: side, Height: height}] = n
			}
		}
	}
	return ids, wheel
}

// shotWithin reports whether one of the f-numbers lies in a range whose ends may be open (0).
func shotWithin(apertures []float64, lo, hi float64) bool {
	if lo <= 0 && hi <= 0 {
		return true
	}
	return slices.ContainsFunc(apertures, func(n float64) bool { return n >= lo && (hi <= 0 || n <= hi) })
}

// rank sorts setups by relevance, equal ones as they stand, and gives the scores.
func rank(ctx context.Context, tx *sql.Tx, expression string, ids []int64) (map[int64]float64, error) {
	list, err := jsonText(nonNil(ids))
	if err != nil {
		return nil, err
	}
	scores := make(map[int64]float64, len(ids))
	// The plus keeps SQLite from looking each setup up by itself.
	err = each(ctx, tx, `SELECT rowid, -bm25(setup_words, `+weights+`) FROM setup_words
		WHERE setup_words MATCH ? AND +rowid IN (SELECT value FROM json_each(?))`, []any{expression, list}, func(scan func(...any) error) error {
		var id int64
		var score float64
		if err := scan(&id, &score); err != nil {
			return err
		}
		scores[id] = score
		return nil
	})
	slices.SortStableFunc(ids, func(a, b int64) int { return cmp.Compare(scores[b], scores[a]) })
	return scores, err
}

// page reads whole setups in the order of their ids.
func page(ctx context.Context, tx *sql.Tx, ids []int64, scores map[int64]float64) ([]session.FoundSetup, error) {
	if len(ids) == 0 {
		return nil, nil
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

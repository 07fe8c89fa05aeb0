package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"math"
	"slices"
	"sync"

	"stillbench/session"
)

// FindSetups searches the whole log; see session.SetupQuery. Relevance is BM25. Where words
// find nothing at all, those that stand in no setup are taken for beginnings, or for slips of
// the hand. No text is an error. Searches may run side by side, also while setups are logged;
// one whose context ends gives up.
func (s *Store) FindSetups(ctx context.Context, q session.SetupQuery) (session.SetupResults, error) {
	var out session.SetupResults
	words := phrases(q.Words)
	unlock := sync.OnceFunc(s.catalogues.Unlock)
	unlockWords := func() {}
	if len(words) > 0 {
		s.wordIndexes.Lock()
		unlockWords = sync.OnceFunc(s.wordIndexes.Unlock)
	}
	defer unlockWords()
	s.catalogues.Lock()
	defer unlock()
	err := s.view(ctx, session.Say("search"), func(tx *sql.Tx) error {
		buildList, err := s.catalogues.read(ctx, tx)
		if err != nil {
			return err
		}
		// The first search of a large log has both to make.
		var list *catalogue
		var listErr error
		var listed sync.WaitGroup
		listed.Go(func() {
			list, listErr = buildList()
			unlock()
		})
		var index *wordIndex
		if len(words) > 0 {
			var buildIndex func() (*wordIndex, error)
			if buildIndex, err = s.wordIndexes.read(ctx, tx); err == nil {
				index, err = buildIndex()
			}
			unlockWords()
		}
		listed.Wait()
		if err := cmp.Or(listErr, err); err != nil {
			return err
		}
		out.Logged = len(list.ids)
		var parts []holders
		var said bitset
		if len(words) > 0 {
			parts, out.Meant = index.lookUp(words, q.Meaning)
			if parts == nil {
				said = newBitset(len(list.ids))
			}
			for i := range parts {
				said = both(said, parts[i].among(list.ids))
			}
		}
		found, err := newSieve(list, &q, said).sift(ctx, &out)
		if err != nil {
			return err
		}
		out.Total = len(found)
		limit := q.Limit
		if limit <= 0 {
			limit = 100
		}
		first := min(max(0, q.Offset), len(found))
		last := first + min(limit, len(found)-first)
		var score func(place int32) float64
		if parts != nil {
			score = func(place int32) float64 { return index.score(list.ids[place], parts) }
		}
		out.Setups, err = page(ctx, tx, list, pick(found, q.Order, first, last, score), score)
		return err
	})
	if err == nil && len(words) == 0 {
		s.looked.Do(s.readyWords)
	}
	return out, err
}

// readyWords makes the index of words behind the back of whoever has looked at the log for the
// first time: words are what is searched for next. Close waits for it, and ends it.
func (s *Store) readyWords() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open.Err() != nil {
		return // Close no longer waits
	}
	s.work.Go(func() {
		s.wordIndexes.Lock()
		defer s.wordIndexes.Unlock()
		// Where it fails, the search that needs it says so.
		_ = s.view(s.open, session.Say("search"), func(tx *sql.Tx) error {
			buildIndex, err := s.wordIndexes.read(s.open, tx)
			if err == nil {
				_, err = buildIndex()
			}
			return err
		})
	})
}

// pick gives the places from first to last of those found, which come newest first, in the
// order asked for. Without a score all are alike.
func pick(found []int32, order session.SetupOrder, first, last int, score func(int32) float64) []int32 {
	switch {
	case order == session.OrderOldest:
		slices.Reverse(found)
		return found[first:last]
	case order == session.OrderNewest || score == nil:
		return found[first:last]
	}
	type scored struct {
		place int32
		score float64
	}
	by := func(a, b scored) int { return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.place, b.place)) }
	// Of many, only those that can be on the page are put in order: what comes after the
	// last of the best so far is let go, half a page at a time. Of those as good, the first come
	// are the newest.
	room := 2*last + 64
	list := make([]scored, 0, min(room, len(found)))
	least := math.Inf(-1)
	for _, place := range found {
		v := scored{place, score(place)}
		if v.score <= least {
			continue
		}
		if len(list) == room {
			slices.SortFunc(list, by)
			list = list[:last]
			if last == 0 {
				break
			}
			least = list[last-1].score
			if v.score <= least {
				continue
			}
		}
		list = append(list, v)
	}
	slices.SortFunc(list, by)
	out := make([]int32, 0, last-first)
	for _, v := range list[first:last] {
		out = append(out, v.place)
	}
	return out
}

// page reads whole setups at places of the catalogue, in that order.
func page(ctx context.Context, tx *sql.Tx, c *catalogue, places []int32, score func(int32) float64) ([]session.FoundSetup, error) {
	if len(places) == 0 {
		return nil, nil
	}
	ids := make([]int64, len(places))
	for i, p := range places {
		ids[i] = c.ids[p]
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
		i := place[s.ID]
		out[i].Setup = s
		if score != nil {
			out[i].Score = score(places[i])
		}
	}
	err = each(ctx, tx, `SELECT shot.setup_id, shot.stacks, shot.frames, shot.taken, shot.apertures, shot.shutters, shot.blended, shot.cover, sessions.dir
		FROM shot JOIN setups ON setups.id = shot.setup_id JOIN sessions ON sessions.id = setups.session_id
		WHERE shot.setup_id IN (SELECT value FROM json_each(?))`, []any{list}, func(scan func(...any) error) error {
		var id int64
		var f session.FoundSetup
		var taken sql.NullString
		var apertures, shutters string
		if err := scan(&id, &f.Stacks, &f.Frames, &taken, &apertures, &shutters, &f.Blended, &f.Cover, &f.Dir); err != nil {
			return err
		}
		f.Setup, f.Score = out[place[id]].Setup, out[place[id]].Score
		if taken.Valid {
			if f.Taken, err = parseTime(taken.String); err != nil {
				return err
			}
		}
		if f.FNumber, err = numberList(apertures); err != nil {
			return err
		}
		if f.ShutterSeconds, err = numberList(shutters); err != nil {
			return err
		}
		out[place[id]] = f
		return nil
	})
	return out, err
}

// numberList reads a JSON array; an empty one is nil.
func numberList(text string) ([]float64, error) {
	if text == "[]" {
		return nil, nil
	}
	var list []float64
	err := json.Unmarshal([]byte(text), &list)
	return list, err
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/binary"
	"maps"
	"math"
	"slices"
	"strings"
	"sync"

	"stillbench/session"
)

// fields are the texts of a setup that words are looked up in, with how much a word counts
// that stands there. Their order is part of the log's form.
var fields = [...]struct {
	text   func(*session.Setup) string
	weight uint16
}{
	{func(s *session.Setup) string { return s.Subject }, 10},
	{func(s *session.Setup) string { return s.Background }, 2},
	{func(s *session.Setup) string { return s.Support }, 2},
	{func(s *session.Setup) string { return s.Lens }, 3},
	{func(s *session.Setup) string { return s.Notes }, 1},
	{func(s *session.Setup) string { return strings.Join(s.Tags, " ") }, 6},
	{func(s *session.Setup) string {
		lights := make([]string, len(s.Lights))
		for i, l := range s.Lights {
			lights[i] = l.Words()
		}
		return strings.Join(lights, " ")
	}, 3},
}

// wordIndex says which setups hold a word, as of one rev. It never changes. The record of a
// setup is, for each of fields, the number of its words and their numbers in the table terms
// (uvarints), in the order they stand.
type wordIndex struct {
	rev     int64
	terms   []string  // ascending
	number  []uint32  // place in terms by the number in the table
	from    []uint32  // the setups that hold terms[i] are at from[i] to from[i+1]
	setups  []uint32  // ids
	weights []uint16  // of the term in that setup: the sum over the places where it stands
	records [][]byte  // by id; nil for none
	length  []uint16  // how many words a setup has, by id
	average float64   // of length
	long    []float64 // what BM25 makes of a length, by length
	held    int       // how many setups there are
}

// newWordIndex makes an index of pages; terms come in ascending order with their numbers. It
// gives up when the context ends.
func newWordIndex(ctx context.Context, rev int64, pages map[int64][]byte, terms []string, numbers []uint64) (*wordIndex, error) {
	top := slices.Max(append(numbers, 0))
	// The numbers leave no gaps worth mentioning.
	w := &wordIndex{rev: rev, terms: terms, number: make([]uint32, top+1), from: make([]uint32, len(terms)+1)}
	for i, n := range numbers {
		w.number[n] = uint32(i)
	}
	order := slices.Sorted(maps.Keys(pages))
	last := int64(0)
	if len(order) > 0 {
		last = order[len(order)-1]
	}
	w.records, w.length = make([][]byte, (last+1)*perPage), make([]uint16, (last+1)*perPage)
	var halves [2]heldWords
	var errs [2]error
	inTwo(func(k int) {
		part := order[:len(order)/2]
		if k == 1 {
			part = order[len(order)/2:]
		}
		halves[k], errs[k] = w.takeApart(ctx, pages, part)
	})
	if err := cmp.Or(errs[0], errs[1]); err != nil {
		return nil, err
	}
	for i := range terms {
		w.from[i+1] = w.from[i] + halves[0].setups[i] + halves[1].setups[i]
	}
	all := halves[0].words + halves[1].words
	w.held = halves[0].held + halves[1].held
	w.average = float64(all) / float64(max(w.held, 1))
	w.long = make([]float64, int(slices.Max(append(w.length, 0)))+1)
	for n := range w.long {
		w.long[n] = bm25K * (1 - bm25B + bm25B*float64(n)/w.average)
	}
	w.setups, w.weights = make([]uint32, w.from[len(terms)]), make([]uint16, w.from[len(terms)])
	inTwo(func(k int) {
		next := slices.Clone(w.from)
		if k == 1 {
			for i, n := range halves[0].setups {
				next[i] += n
			}
		}
		w.fill(&halves[k], next)
	})
	return w, nil
}

// inTwo does the two halves of something at once.
func inTwo(half func(k int)) {
	var other sync.WaitGroup
	other.Go(func() { half(1) })
	half(0)
	other.Wait()
}

// heldWords is what some setups hold, one setup after the other: the terms, each once, and their weights.
type heldWords struct {
	ids, ends []uint32 // the setups, and where in terms those of each end
	terms     []uint32
	weights   []uint16
	setups    []uint32 // how many hold a term
	words     int      // in all
	held      int      // setups that hold any
}

// takeApart reads pages in ascending order, and notes the records and their lengths.
func (w *wordIndex) takeApart(ctx context.Context, pages map[int64][]byte, order []int64) (h heldWords, err error) {
	size := 0
	for _, page := range order {
		size += len(pages[page])
	}
	h.terms, h.weights = make([]uint32, 0, size/2), make([]uint16, 0, size/2)
	h.setups = make([]uint32, len(w.terms))
	stands := make([]uint32, len(w.terms)) // 1 + where in h.terms a term stands last
	for _, page := range order {
		if ctx.Err() != nil {
			return h, ctx.Err()
		}
		err := eachRecord(page, pages[page], func(id int64, data []byte) error {
			r := recordReader{b: data}
			w.records[id] = data
			begins, words := uint32(len(h.terms)), 0
			for _, f := range fields {
				n := r.count()
				words += n
				for range n {
					number := r.uvarint()
					if number >= uint64(len(w.number)) {
						return errIndex
					}
					term := w.number[number]
					if i := stands[term]; i > begins {
						h.weights[i-1] += min(f.weight, math.MaxUint16-h.weights[i-1])
						continue
					}
					h.terms, h.weights = append(h.terms, term), append(h.weights, f.weight)
					stands[term] = uint32(len(h.terms))
					h.setups[term]++
				}
			}
			if r.broken {
				return errIndex
			}
			if words > 0 {
				h.held++
			}
			w.length[id] = uint16(min(words, math.MaxUint16))
			h.words += words
			h.ids, h.ends = append(h.ids, uint32(id)), append(h.ends, uint32(len(h.terms)))
			return nil
		})
		if err != nil {
			return h, err
		}
	}
	return h, nil
}

// fill enters setups under the terms that they hold, the next under each at next.
func (w *wordIndex) fill(h *heldWords, next []uint32) {
	i := uint32(0)
	for s, id := range h.ids {
		for ; i < h.ends[s]; i++ {
			place := next[h.terms[i]]
			next[h.terms[i]]++
			w.setups[place], w.weights[place] = id, h.weights[i]
		}
	}
}

// holders is how much a part of a query weighs in each setup, by id; 0 where it does not
// stand.
type holders struct {
	weight []float32
	count  int     // of setups that hold it
	rare   float64 // how much it says that a setup holds it (the idf of BM25)
}

// or adds the setups that hold another part.
func (h *holders) or(more holders) {
	for id, weight := range more.weight {
		if weight > 0 && h.weight[id] == 0 {
			h.count++
		}
		h.weight[id] += weight
	}
}

// among gives the places of the setups in a list of ids that hold the part.
func (h *holders) among(ids []int64) bitset {
	out := newBitset(len(ids))
	for w := range out {
		var set uint64
		for i, id := range ids[64*w : min(64*w+64, len(ids))] {
			var bit uint64
			if h.weight[id] != 0 { // which the machine need not guess: it is no jump
				bit = 1
			}
			set |= bit << i
		}
		out[w] = set
	}
	return out
}

// hold finds the setups that hold words following each other, the last as the beginning of
// one when prefix is set.
func (w *wordIndex) hold(words []string, prefix bool) holders {
	h := w.holdAny(w.ranges(words[0], prefix && len(words) == 1))
	if len(words) == 1 {
		return h
	}
	// Each word on its own leaves few; those are read.
	spans := [][][2]uint32{w.ranges(words[0], false)}
	for i, word := range words[1:] {
		r := w.ranges(word, prefix && i == len(words)-2)
		spans = append(spans, r)
		also := w.holdAny(r)
		h.count = 0
		for id, weight := range also.weight {
			h.weight[id] = min(h.weight[id], weight)
			if h.weight[id] > 0 {
				h.count++
			}
		}
	}
	for id, weight := range h.weight {
		if weight > 0 && !w.follow(w.records[id], spans) {
			h.weight[id] = 0
			h.count--
		}
	}
	return h
}

// ranges gives the terms, as places from and to, that a word or the beginning of one means.
func (w *wordIndex) ranges(word string, prefix bool) [][2]uint32 {
	from, found := slices.BinarySearch(w.terms, word)
	to := from
	switch {
	case prefix:
		for ; to < len(w.terms) && strings.HasPrefix(w.terms[to], word); to++ {
		}
	case found:
		to++
	}
	return [][2]uint32{{uint32(from), uint32(to)}}
}

// holdAny finds the setups that hold any of the terms.
func (w *wordIndex) holdAny(ranges [][2]uint32) holders {
	h := holders{weight: make([]float32, len(w.records))}
	for _, r := range ranges {
		for i := w.from[r[0]]; i < w.from[r[1]]; i++ {
			id := w.setups[i]
			if h.weight[id] == 0 {
				h.count++
			}
			h.weight[id] += float32(w.weights[i])
		}
	}
	return h
}

// follow reports whether words, each any of the terms in its ranges, follow each other in
// one field of a setup.
func (w *wordIndex) follow(record []byte, words [][][2]uint32) bool {
	r := recordReader{b: record}
	var text []uint32
	for range fields {
		text = text[:0]
		for range r.count() {
			text = append(text, w.number[r.uvarint()])
		}
		for start := 0; start+len(words) <= len(text); start++ {
			all := true
			for i := 0; all && i < len(words); i++ {
				all = slices.ContainsFunc(words[i], func(span [2]uint32) bool { return text[start+i] >= span[0] && text[start+i] < span[1] })
			}
			if all {
				return true
			}
		}
	}
	return false
}

// stands reports whether a setup holds the term at a place.
func (w *wordIndex) stands(term int) bool { return w.from[term+1] > w.from[term] }

// The constants of BM25 as they are usually set (Robertson and Zaragoza, The Probabilistic
// Relevance Framework, Foundations and Trends in Information Retrieval 3(4), 2009, 3.5: k1
// between 1.2 and 2, b between 0.5 and 0.8).
const (
	bm25K = 1.2
	bm25B = 0.75
)

// score is the relevance of a setup to all parts of a query (BM25 with weighted fields,
// where a weight stands for so many occurrences).
func (w *wordIndex) score(id int64, parts []holders) float64 {
	long, sum := w.long[w.length[id]], 0.0
	for i := range parts {
		f := float64(parts[i].weight[id])
		sum += parts[i].rare * f * (bm25K + 1) / (f + long)
	}
	return sum
}

// rarity is how much it says of a setup that it holds what n setups hold. With the one added
// within, what nearly all hold still counts a little.
func (w *wordIndex) rarity(n int) float64 {
	return math.Log(1 + (float64(w.held-n)+0.5)/(float64(n)+0.5))
}

// indexWords makes the words of a setup findable, in place of those it had.
func indexWords(ctx context.Context, tx *sql.Tx, s *session.Setup) error {
	texts := make([][]string, len(fields))
	var all []string
	for i, f := range fields {
		texts[i] = tokens(f.text(s))
		all = append(all, texts[i]...)
	}
	numbers, err := termNumbers(ctx, tx, all)
	if err != nil {
		return err
	}
	record := []byte{}
	for _, words := range texts {
		record = binary.AppendUvarint(record, uint64(len(words)))
		for _, word := range words {
			record = binary.AppendUvarint(record, numbers[word])
		}
	}
	return wordPages.put(ctx, tx, s.ID, record)
}

// termNumbers gives the numbers of words, and numbers those that are new.
func termNumbers(ctx context.Context, tx *sql.Tx, words []string) (map[string]uint64, error) {
	list, err := jsonText(nonNil(words))
	if err != nil {
		return nil, err
	}
	if _, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO terms (term) SELECT value FROM json_each(?)`, list); err != nil {
		return nil, err
	}
	numbers := make(map[string]uint64, len(words))
	err = each(ctx, tx, `SELECT term, id FROM terms WHERE term IN (SELECT value FROM json_each(?))`, []any{list}, func(scan func(...any) error) error {
		var term string
		var id uint64
		err := scan(&term, &id)
		numbers[term] = id
		return err
	})
	return numbers, err
}

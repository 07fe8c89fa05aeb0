package store

import (
	"context"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// The log of the benchmarks is invented: bigLog setups of 2.5 lights on average, words
// drawn by Zipf's law (rank and frequency of words in texts are inverse to each other;
// Zipf, Human Behavior and the Principle of Least Effort, 1949) from a vocabulary of
// syllables, so that a few words are everywhere and most are rare.
const (
	bigLog     = 100_000
	vocabulary = 20_000
)

var syllables = strings.Fields("ba ce di fo gu ha ke li mo nu pa qui re so tu va wen xi yo zar bel cor dan fer gil hol jin kra lum mar")

// term is the word of a rank.
func term(rank int) string {
	var b strings.Builder
	for n := rank + len(syllables); n > 0; n /= len(syllables) {
		b.WriteString(syllables[n%len(syllables)])
	}
	return b.String()
}

func sentence(zipf *rand.Zipf, words int) string {
	list := make([]string, words)
	for i := range list {
		list[i] = term(int(zipf.Uint64()))
	}
	return strings.Join(list, " ")
}

// fill logs n setups with frames shot under a part of them.
func fill(b testing.TB, s *Store, n int) {
	r := rand.New(rand.NewPCG(1, 1))
	zipf := rand.NewZipf(r, 1.1, 4, vocabulary-1)
	apertures := []float64{2.8, 4, 5.6, 8, 11, 16}
	day := time.Date(2016, 1, 1, 9, 0, 0, 0, time.UTC)
	const perSession = 200
	for done := 0; done < n; done += perSession {
		id := newSession(b, s, fmt.Sprintf("/pictures/%04d", done/perSession))
		day = day.Add(6 * 24 * time.Hour)
		err := s.change(b.Context(), session.Say("fill"), func(tx *sql.Tx) error {
			for i := range min(perSession, n-done) {
				v := session.Setup{
					SessionID: id, Logged: day.Add(time.Duration(i) * time.Minute),
					Subject: sentence(zipf, 2), Background: sentence(zipf, 1), Support: sentence(zipf, 1), Lens: sentence(zipf, 2),
					Notes: sentence(zipf, 12), Tags: []string{sentence(zipf, 1), sentence(zipf, 1)}, Magnification: ptr(0.1 + 4*r.Float64()),
				}
				for range 1 + r.IntN(4) {
					v.Lights = append(v.Lights, session.Light{
						Kind: session.LightKinds[r.IntN(len(session.LightKinds))], AzimuthDeg: 360 * r.Float64(), ElevationDeg: 90 * r.Float64(),
						DistanceCM: ptr(float64(10 + r.IntN(90))), Modifier: sentence(zipf, 1), Power: "40 W",
					})
				}
				if err := writeSetup(b.Context(), tx, &v, newUID(), timeText(v.Logged)); err != nil {
					return err
				}
				f := frame(i, apertures[r.IntN(len(apertures))], v.Logged)
				if _, err := saveFrame(b.Context(), tx, id, &f); err != nil {
					return err
				}
				if err := insertGroup(b.Context(), tx, id, i, session.Group{ID: int64(i + 1), Kind: session.KindSingle, Frames: []string{f.Fingerprint}, SetupID: v.ID}); err != nil {
					return err
				}
				if err := sumUpOne(b.Context(), tx, v.ID); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBigLog searches one log of bigLog setups, in every way that has a budget.
func BenchmarkBigLog(b *testing.B) {
	s, err := Open(b.Context(), filepath.Join(b.TempDir(), "setups.db"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	fill(b, s, bigLog)
	fillPlain(b, s)
	for _, run := range []struct {
		name string
		run  func(b *testing.B, s *Store)
	}{
		{"words and two filters", wordsAndFilters}, {"as you type", asYouType}, {"first look", firstLook}, {"first words", firstWords},
		{"everything", everything}, {"mistyped", mistyped}, {"log a setup", logOne},
	} {
		b.Run(run.name, func(b *testing.B) { run.run(b, s) })
	}
}

// times runs each of the calls once and gives their durations, shortest first.
func times(n int, call func(i int)) []time.Duration {
	d := make([]time.Duration, n)
	for i := range d {
		start := time.Now()
		call(i)
		d[i] = time.Since(start)
	}
	slices.Sort(d)
	return d
}

// report prints median and 99th percentile, and both as a ratio to the plain SQL lookup
// beside them.
func report(b *testing.B, ours, plain []time.Duration) {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	at := func(d []time.Duration, p float64) time.Duration { return d[int(p*float64(len(d)-1))] }
	b.ReportMetric(ms(at(ours, 0.5)), "p50-ms")
	b.ReportMetric(ms(at(ours, 0.99)), "p99-ms")
	b.ReportMetric(float64(at(ours, 0.5))/float64(at(plain, 0.5)), "p50-x-plain-SQL")
	b.ReportMetric(float64(at(ours, 0.99))/float64(at(plain, 0.99)), "p99-x-plain-SQL")
	b.ReportMetric(0, "ns/op")
}

// plain looks words up by SQLite's own full-text search (FTS5) in a table of the same texts,
// reads the first hundred rows, and does nothing else.
func plain(b *testing.B, s *Store, words string) {
	var quoted []string
	for _, w := range tokens(words) {
		quoted = append(quoted, `"`+w+`"`)
	}
	rows, err := s.log.read.QueryContext(b.Context(), `SELECT s.id, s.subject FROM plain_words w JOIN setups s ON s.id = w.rowid
		WHERE plain_words MATCH ? LIMIT 100`, strings.Join(quoted, " AND ")+"*")
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
}

// fillPlain makes the table that plain looks into.
func fillPlain(b *testing.B, s *Store) {
	for _, q := range []string{
		`CREATE VIRTUAL TABLE plain_words USING fts5(subject, background, support, lens, notes, prefix = '1 2 3')`,
		`INSERT INTO plain_words (rowid, subject, background, support, lens, notes) SELECT id, subject, background, support, lens, notes FROM setups`,
	} {
		if _, err := s.log.write.ExecContext(b.Context(), q); err != nil {
			b.Fatal(err)
		}
	}
}

func search(b *testing.B, s *Store, q session.SetupQuery) session.SetupResults {
	r, err := s.FindSetups(context.Background(), q)
	if err != nil {
		b.Fatal(err)
	}
	return r
}

// wordsAndFilters: two words as people write them (drawn like the text itself), a side
// and an aperture range; with totals and the counts of the wheel.
func wordsAndFilters(b *testing.B, s *Store) {
	r := rand.New(rand.NewPCG(2, 2))
	zipf := rand.NewZipf(r, 1.1, 4, vocabulary-1)
	queries := make([]session.SetupQuery, 500)
	for i := range queries {
		queries[i] = session.SetupQuery{Words: sentence(zipf, 2), Sides: []session.Side{session.Sides[r.IntN(8)]}, ApertureMin: 5.6, ApertureMax: 11}
	}
	for b.Loop() {
		ours := times(len(queries), func(i int) { search(b, s, queries[i]) })
		report(b, ours, times(len(queries), func(i int) { plain(b, s, queries[i].Words) }))
	}
}

// asYouType: every beginning of words drawn like the text.
func asYouType(b *testing.B, s *Store) {
	zipf := rand.NewZipf(rand.New(rand.NewPCG(3, 3)), 1.1, 4, vocabulary-1)
	var typed []string
	for range 80 {
		w := sentence(zipf, 1)
		for i := range w {
			typed = append(typed, w[:i+1])
		}
	}
	for b.Loop() {
		ours := times(len(typed), func(i int) { search(b, s, session.SetupQuery{Words: typed[i]}) })
		report(b, ours, times(len(typed), func(i int) { plain(b, s, typed[i]) }))
	}
}

// firstLook: the first page of everything with the counts of the wheel, in a log that has
// just been opened.
func firstLook(b *testing.B, s *Store) {
	for b.Loop() {
		ours := times(20, func(int) {
			fresh, err := Open(b.Context(), s.Path())
			if err != nil {
				b.Fatal(err)
			}
			defer fresh.Close()
			search(b, fresh, session.SetupQuery{})
		})
		report(b, ours, times(20, func(int) { plainNewest(b, s) }))
	}
}

// firstWords: the first search for words in a log that has just been looked at.
func firstWords(b *testing.B, s *Store) {
	for b.Loop() {
		var ours []time.Duration
		for i := range 10 {
			fresh, err := Open(b.Context(), s.Path())
			if err != nil {
				b.Fatal(err)
			}
			search(b, fresh, session.SetupQuery{})
			ours = append(ours, times(1, func(int) { search(b, fresh, session.SetupQuery{Words: term(i)}) })...)
			fresh.Close()
		}
		slices.Sort(ours)
		report(b, ours, times(10, func(i int) { plain(b, s, term(i)) }))
	}
}

// everything: the same, once the log has been looked at.
func everything(b *testing.B, s *Store) {
	for b.Loop() {
		ours := times(100, func(int) { search(b, s, session.SetupQuery{}) })
		report(b, ours, times(100, func(int) { plainNewest(b, s) }))
	}
}

// plainNewest reads the newest hundred rows.
func plainNewest(b *testing.B, s *Store) {
	rows, err := s.log.read.QueryContext(b.Context(), `SELECT id, subject FROM setups ORDER BY id DESC LIMIT 100`)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	for rows.Next() {
	}
}

// mistyped: a word that stands nowhere, one letter away from one that does.
func mistyped(b *testing.B, s *Store) {
	for b.Loop() {
		ours := times(20, func(i int) {
			w := term(1000 + 37*i)
			search(b, s, session.SetupQuery{Words: w[:2] + "j" + w[2:] + " "})
		})
		report(b, ours, times(20, func(i int) { plain(b, s, term(1000+37*i)) }))
	}
}

// logOne: a new setup, on disk.
func logOne(b *testing.B, s *Store) {
	id := newSession(b, s, "/pictures/bench")
	for b.Loop() {
		logSetup(b, s, id, session.Setup{Subject: "pine cone", Lights: []session.Light{lightAt(session.LightLED, 135, 60)}})
	}
}

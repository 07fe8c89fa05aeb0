package store

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// typedIn are the queries for what was typed into each field: the text, how often, and
// when last.
var typedIn = map[session.SetupField]string{
	session.FieldSubject:    `SELECT subject, count(*), max(logged) FROM setups WHERE NOT hidden GROUP BY subject`,
	session.FieldBackground: `SELECT background, count(*), max(logged) FROM setups WHERE NOT hidden GROUP BY background`,
	session.FieldSupport:    `SELECT support, count(*), max(logged) FROM setups WHERE NOT hidden GROUP BY support`,
	session.FieldLens:       `SELECT lens, count(*), max(logged) FROM setups WHERE NOT hidden GROUP BY lens`,
	session.FieldTag:        `SELECT tag, count(*), max(logged) FROM tags JOIN setups ON id = setup_id WHERE NOT hidden GROUP BY tag`,
	session.FieldModifier:   `SELECT modifier, count(*), max(logged) FROM lights JOIN setups ON id = setup_id WHERE NOT hidden GROUP BY modifier`,
	session.FieldPower:      `SELECT power, count(*), max(logged) FROM lights JOIN setups ON id = setup_id WHERE NOT hidden GROUP BY power`,
}

// forgetsIn is the time after which a text counts half as much as one used today.
const forgetsIn = 90 * 24 * time.Hour

// TypedBefore gives at most limit texts (0: 8) that were typed into a field before, those
// in which a word begins with each of the words typed so far; all of them where nothing is
// typed. Those used often and lately come first: a text weighs as many setups as hold it,
// halved for every 90 days since the last. Case, accents and punctuation do not count; of
// texts that differ in them alone the weightiest is given.
func (s *Store) TypedBefore(ctx context.Context, field session.SetupField, typed string, limit int) ([]string, error) {
	query, ok := typedIn[field]
	if !ok {
		return nil, fmt.Errorf("%w: %q is no field of a setup", session.ErrInvalid, field)
	}
	if limit <= 0 {
		limit = 8
	}
	begun := tokens(typed)
	type known struct {
		text   string
		weight float64
	}
	var list []known
	err := s.view(ctx, session.Say("read what was typed before"), func(tx *sql.Tx) error {
		now := s.Now()
		return each(ctx, tx, query, nil, func(scan func(...any) error) error {
			var text, logged string
			var times int
			if err := scan(&text, &times, &logged); err != nil {
				return err
			}
			if strings.TrimSpace(text) == "" || !begins(tokens(text), begun) {
				return nil
			}
			last, err := parseTime(logged)
			if err != nil {
				return err
			}
			age := max(0, now.Sub(last).Hours()/forgetsIn.Hours())
			list = append(list, known{text, float64(times) * math.Exp2(-age)})
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(list, func(a, b known) int {
		return cmp.Or(cmp.Compare(b.weight, a.weight), strings.Compare(a.text, b.text))
	})
	var out []string
	seen := map[string]bool{}
	for _, k := range list {
		if f := folded(k.text); !seen[f] && len(out) < limit {
			seen[f] = true
			out = append(out, k.text)
		}
	}
	return out, nil
}

// begins reports whether each of the begun words is the beginning of one of the words.
func begins(words, begun []string) bool {
	for _, b := range begun {
		if !slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(w, b) }) {
			return false
		}
	}
	return true
}

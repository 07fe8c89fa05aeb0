package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"reflect"
	"strings"

	"stillbench/session"
)

// keptRecent is how many recent searches the log remembers.
const keptRecent = 20

// KeepSearch keeps a search under a name, in place of the one that had it.
func (s *Store) KeepSearch(ctx context.Context, name string, q session.SetupQuery) (session.KeptSearch, error) {
	k := session.KeptSearch{Query: tidyQuery(q), Used: s.Now()}
	err := s.change(ctx, session.Say("keep a search"), func(tx *sql.Tx) (err error) {
		if k.Name, err = named(name); err != nil {
			return err
		}
		text, err := jsonText(k.Query)
		if err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, `INSERT INTO searches (name, query, used) VALUES (?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET query = excluded.query, used = excluded.used RETURNING id`,
			k.Name, text, timeText(k.Used)).Scan(&k.ID)
	})
	return k, err
}

// NoteSearch remembers a search among the recent ones. One that was there already moves to
// the front, and so does one that was typed on: "pine" is replaced by "pine cone". A search
// for everything is not remembered.
func (s *Store) NoteSearch(ctx context.Context, q session.SetupQuery) error {
	q = tidyQuery(q)
	if reflect.DeepEqual(q, session.SetupQuery{Order: q.Order}) {
		return nil
	}
	return s.change(ctx, session.Say("remember a search"), func(tx *sql.Tx) error {
		recent, err := searchesWhere(ctx, tx, `name IS NULL ORDER BY id DESC`)
		if err != nil {
			return err
		}
		for i, k := range recent {
			typedOn := k.Query
			if i == 0 && strings.HasPrefix(q.Words, k.Query.Words) {
				typedOn.Words = q.Words
			}
			if reflect.DeepEqual(typedOn, q) {
				if _, err := tx.ExecContext(ctx, `DELETE FROM searches WHERE id = ?`, k.ID); err != nil {
					return err
				}
			}
		}
		text, err := jsonText(q)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO searches (query, used) VALUES (?, ?)`, text, timeText(s.Now())); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM searches WHERE name IS NULL AND id NOT IN
			(SELECT id FROM searches WHERE name IS NULL ORDER BY id DESC LIMIT ?)`, keptRecent)
		return err
	})
}

// tidyQuery gives a query the form in which it is read back.
func tidyQuery(q session.SetupQuery) session.SetupQuery {
	q.Words = strings.TrimSpace(strings.ToValidUTF8(q.Words, "\uFFFD"))
	q.Limit, q.Offset = 0, 0
	text, err := jsonText(q)
	var out session.SetupQuery
	if err != nil || json.Unmarshal([]byte(text), &out) != nil {
		return q // a number that JSON does not know: it is refused when it is written
	}
	return out
}

// KeptSearches gives the searches that have a name, by name.
func (s *Store) KeptSearches(ctx context.Context) ([]session.KeptSearch, error) {
	return s.searches(ctx, `name IS NOT NULL ORDER BY name`)
}

// RecentSearches gives the last searches that were noted, newest first.
func (s *Store) RecentSearches(ctx context.Context) ([]session.KeptSearch, error) {
	return s.searches(ctx, `name IS NULL ORDER BY id DESC`)
}

func (s *Store) searches(ctx context.Context, where string) ([]session.KeptSearch, error) {
	var out []session.KeptSearch
	err := s.view(ctx, session.Say("read searches"), func(tx *sql.Tx) (err error) {
		out, err = searchesWhere(ctx, tx, where)
		return err
	})
	return out, err
}

func searchesWhere(ctx context.Context, tx *sql.Tx, where string) ([]session.KeptSearch, error) {
	var out []session.KeptSearch
	err := each(ctx, tx, `SELECT id, name, query, used FROM searches WHERE `+where, nil, func(scan func(...any) error) error {
		var k session.KeptSearch
		var name sql.NullString
		var query, used string
		err := scan(&k.ID, &name, &query, &used)
		if err != nil {
			return err
		}
		k.Name = name.String
		if err := json.Unmarshal([]byte(query), &k.Query); err != nil {
			return errors.Join(session.Fail("the log holds a search that cannot be read"), err)
		}
		if k.Used, err = parseTime(used); err != nil {
			return err
		}
		out = append(out, k)
		return nil
	})
	return out, err
}

// DeleteSearch forgets a kept or a recent search.
func (s *Store) DeleteSearch(ctx context.Context, id int64) error {
	return s.change(ctx, session.Say("delete a search"), func(tx *sql.Tx) error {
		return deleteOne(ctx, tx, `DELETE FROM searches WHERE id = ?`, id)
	})
}

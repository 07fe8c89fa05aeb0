package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"strings"

	"stillbench/session"
)

// maxName is the longest name, in bytes, of a template or a kept search.
const maxName = 200

// named gives the name under which something is kept; session.ErrInvalid where there is
// none.
func named(name string) (string, error) {
	name = strings.TrimSpace(strings.ToValidUTF8(name, "\uFFFD"))
	switch {
	case name == "":
		return "", session.Refuse("a name is missing")
	case len(name) > maxName:
		return "", session.Refuse("a name of %d bytes, at most %d are kept", len(name), maxName)
	}
	return name, nil
}

// SaveTemplate keeps a setup under a name, in place of the one that had it. Where and when
// the setup was logged is left out.
func (s *Store) SaveTemplate(ctx context.Context, name string, v session.Setup) (session.Template, error) {
	t := session.Template{Setup: clean(v), Saved: s.Now()}
	t.Setup.ID, t.Setup.SessionID, t.Setup.AfterFrame, t.Setup.Logged = 0, 0, "", t.Saved
	err := s.change(ctx, session.Say("keep a template"), func(tx *sql.Tx) (err error) {
		if t.Name, err = named(name); err != nil {
			return err
		}
		if err := t.Setup.Validate(); err != nil {
			return err
		}
		text, err := jsonText(recordOf(t.Setup))
		if err != nil {
			return err
		}
		return tx.QueryRowContext(ctx, `INSERT INTO templates (name, setup, saved) VALUES (?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET setup = excluded.setup, saved = excluded.saved RETURNING id`,
			t.Name, text, timeText(t.Saved)).Scan(&t.ID)
	})
	return t, err
}

// Templates gives all templates by name.
func (s *Store) Templates(ctx context.Context) ([]session.Template, error) {
	var out []session.Template
	err := s.view(ctx, session.Say("read the templates"), func(tx *sql.Tx) (err error) {
		out, err = templatesWhere(ctx, tx, `true ORDER BY name`)
		return err
	})
	return out, err
}

func templatesWhere(ctx context.Context, tx *sql.Tx, where string, args ...any) ([]session.Template, error) {
	var out []session.Template
	err := each(ctx, tx, `SELECT id, name, setup, saved, used FROM templates WHERE `+where, args, func(scan func(...any) error) error {
		var t session.Template
		var setup, saved string
		var used sql.NullString
		err := scan(&t.ID, &t.Name, &setup, &saved, &used)
		if err != nil {
			return err
		}
		var r setupRecord
		if err := json.Unmarshal([]byte(setup), &r); err != nil {
			return errors.Join(session.Fail("the log holds a template that cannot be read"), err)
		}
		if t.Setup, err = r.setup(); err != nil {
			return err
		}
		if t.Saved, err = parseTime(saved); err != nil {
			return err
		}
		if used.Valid {
			if t.Used, err = parseTime(used.String); err != nil {
				return err
			}
		}
		out = append(out, t)
		return nil
	})
	return out, err
}

// UseTemplate gives the setup of a template, to be logged, and notes that it was used.
func (s *Store) UseTemplate(ctx context.Context, id int64) (session.Setup, error) {
	var out session.Setup
	err := s.change(ctx, session.Say("use a template"), func(tx *sql.Tx) error {
		list, err := templatesWhere(ctx, tx, `id = ?`, id)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return session.Missing("template %d", id)
		}
		out = list[0].Setup
		_, err = tx.ExecContext(ctx, `UPDATE templates SET used = ? WHERE id = ?`, timeText(s.Now()), id)
		return err
	})
	return out, err
}

// DeleteTemplate forgets a template. Setups that began with it stay.
func (s *Store) DeleteTemplate(ctx context.Context, id int64) error {
	return s.change(ctx, session.Say("delete a template"), func(tx *sql.Tx) error {
		return deleteOne(ctx, tx, `DELETE FROM templates WHERE id = ?`, id)
	})
}

// deleteOne deletes the row with a number; session.ErrNotFound where there is none.
func deleteOne(ctx context.Context, tx *sql.Tx, query string, id int64) error {
	r, err := tx.ExecContext(ctx, query, id)
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n != 1 {
		return errors.Join(session.Missing("number %d", id), err)
	}
	return nil
}

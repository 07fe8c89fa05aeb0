package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"stillbench/session"
)

// AddEdit keeps an edit, drops what could have been redone, and for EditSetup writes the
// setup itself; it gives the edit back with its numbers. A setup that breaks a rule
// gives session.ErrInvalid.
func (s *Store) AddEdit(ctx context.Context, sessionID int64, e session.Edit) (session.Edit, error) {
	e.ID, e.Undone = 0, false
	if e.Made.IsZero() {
		e.Made = s.Now()
	}
	err := s.changeSession(ctx, sessionID, session.Say("keep an edit"), func(tx *sql.Tx) error {
		if err := dropUndone(ctx, tx, sessionID); err != nil {
			return err
		}
		if e.Kind == session.EditSetup {
			if err := s.applySetup(ctx, tx, sessionID, &e); err != nil {
				return err
			}
		}
		return insertEdit(ctx, tx, sessionID, &e, newUID())
	})
	return e, err
}

// applySetup writes the setup of an edit and fills in its numbers.
func (s *Store) applySetup(ctx context.Context, tx *sql.Tx, sessionID int64, e *session.Edit) error {
	if e.Setup == nil {
		return session.Refuse("no setup was given")
	}
	v := clean(*e.Setup)
	v.SessionID = sessionID
	if v.Logged.IsZero() {
		v.Logged = e.Made
	}
	if v.ID == 0 {
		e.Before = nil
	} else {
		was, err := setupsWhere(ctx, tx, `id = ? AND session_id = ? AND NOT hidden`, v.ID, sessionID)
		if err != nil {
			return err
		}
		if len(was) == 0 {
			return session.Missing("setup %d of this session", v.ID)
		}
		e.Before = &was[0]
	}
	if err := writeSetup(ctx, tx, &v, newUID(), timeText(s.Now())); err != nil {
		return err
	}
	e.Setup = &v
	return nil
}

// clean gives a setup whose texts are all UTF-8, in lists of its own.
func clean(s session.Setup) session.Setup {
	for _, text := range []*string{&s.Subject, &s.Background, &s.Support, &s.Lens, &s.Notes} {
		*text = strings.ToValidUTF8(*text, "\uFFFD")
	}
	s.Tags, s.Lights = slices.Clone(s.Tags), slices.Clone(s.Lights)
	for i := range s.Tags {
		s.Tags[i] = strings.ToValidUTF8(s.Tags[i], "\uFFFD")
	}
	for i := range s.Lights {
		l := &s.Lights[i]
		l.Modifier, l.Power = strings.ToValidUTF8(l.Modifier, "\uFFFD"), strings.ToValidUTF8(l.Power, "\uFFFD")
	}
	return s
}

// dropUndone forgets the undone edits of a session, and the setups that only they hold.
func dropUndone(ctx context.Context, tx *sql.Tx, sessionID int64) error {
	for _, q := range []string{
		`UPDATE frame_groups SET setup_id = NULL WHERE session_id = ?1 AND setup_id IN (SELECT id FROM setups WHERE session_id = ?1 AND hidden)`,
		`DELETE FROM setups WHERE session_id = ?1 AND hidden`,
		`DELETE FROM edits WHERE session_id = ?1 AND undone`,
	} {
		if _, err := tx.ExecContext(ctx, q, sessionID); err != nil {
			return err
		}
	}
	return nil
}

func insertEdit(ctx context.Context, tx *sql.Tx, sessionID int64, e *session.Edit, uid string) error {
	setup, err := setupText(e.Setup)
	if err != nil {
		return err
	}
	before, err := setupText(e.Before)
	if err != nil {
		return err
	}
	drawn, err := drawnText(e)
	if err != nil {
		return err
	}
	r, err := tx.ExecContext(ctx, `INSERT INTO edits
		(uid, session_id, kind, frame, group_kind, text, setup, before, drawn, words, made, undone)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		uid, sessionID, e.Kind, e.Frame, e.Group, e.Text, setup, before, drawn, e.Words, timeText(e.Made), e.Undone)
	if err != nil {
		return err
	}
	e.ID, err = r.LastInsertId()
	return err
}

// SetUndone takes an edit back or does it again. For EditSetup it puts Before or Setup
// in place; a setup whose Before is nil is hidden while undone. An edit that is not of
// this session gives session.ErrNotFound.
func (s *Store) SetUndone(ctx context.Context, sessionID, editID int64, undone bool) error {
	what := session.Say("do an edit again")
	if undone {
		what = session.Say("undo an edit")
	}
	return s.changeSession(ctx, sessionID, what, func(tx *sql.Tx) error {
		list, err := editsWhere(ctx, tx, `session_id = ? AND id = ?`, sessionID, editID)
		if err != nil {
			return err
		}
		if len(list) == 0 {
			return session.Missing("edit %d of this session", editID)
		}
		e := list[0]
		if e.Undone == undone {
			return nil
		}
		if _, err := tx.ExecContext(ctx, `UPDATE edits SET undone = ? WHERE id = ?`, undone, editID); err != nil {
			return err
		}
		changed := timeText(s.Now())
		switch {
		case e.Kind != session.EditSetup:
			return nil
		case !undone:
			return writeSetup(ctx, tx, e.Setup, "", changed)
		case e.Before != nil:
			return writeSetup(ctx, tx, e.Before, "", changed)
		}
		return hideSetup(ctx, tx, e.Setup.ID, changed)
	})
}

// Edits gives all edits of a session, oldest first, undone ones included.
func (s *Store) Edits(ctx context.Context, sessionID int64) ([]session.Edit, error) {
	var out []session.Edit
	err := s.view(ctx, session.Say("read edits"), func(tx *sql.Tx) (err error) {
		out, err = editsWhere(ctx, tx, `session_id = ? ORDER BY id`, sessionID)
		return err
	})
	return out, err
}

func editsWhere(ctx context.Context, tx *sql.Tx, where string, args ...any) ([]session.Edit, error) {
	var out []session.Edit
	err := each(ctx, tx, `SELECT id, session_id, kind, frame, group_kind, text, setup, before, drawn, words, made, undone FROM edits WHERE `+where,
		args, func(scan func(...any) error) error {
			var e session.Edit
			var sessionID int64
			var setup, before, drawn sql.NullString
			var made string
			err := scan(&e.ID, &sessionID, &e.Kind, &e.Frame, &e.Group, &e.Text, &setup, &before, &drawn, &e.Words, &made, &e.Undone)
			if err != nil {
				return err
			}
			if e.Made, err = parseTime(made); err != nil {
				return err
			}
			if e.Setup, err = parseSetup(setup, sessionID); err != nil {
				return err
			}
			if e.Before, err = parseSetup(before, sessionID); err != nil {
				return err
			}
			if err = parseDrawn(drawn, &e); err != nil {
				return err
			}
			out = append(out, e)
			return nil
		})
	return out, err
}

// drawn is what the photographer drew on a picture, as the log keeps it.
type drawn struct {
	Area  session.Area   `json:"area,omitempty"`
	Touch *session.Touch `json:"touch,omitempty"`
}

func drawnText(e *session.Edit) (sql.NullString, error) {
	if len(e.Area) == 0 && e.Touch == nil {
		return sql.NullString{}, nil
	}
	text, err := jsonText(drawn{e.Area, e.Touch})
	return sql.NullString{String: text, Valid: true}, err
}

func parseDrawn(text sql.NullString, e *session.Edit) error {
	if !text.Valid {
		return nil
	}
	var d drawn
	if err := json.Unmarshal([]byte(text.String), &d); err != nil {
		return errors.Join(session.Fail("the log holds an edit that cannot be read"), err)
	}
	e.Area, e.Touch = d.Area, d.Touch
	return nil
}

// setupText is a setup as an edit keeps it: the JSON of a setupRecord.
func setupText(s *session.Setup) (sql.NullString, error) {
	if s == nil {
		return sql.NullString{}, nil
	}
	text, err := jsonText(recordOf(*s))
	return sql.NullString{String: text, Valid: true}, err
}

func parseSetup(text sql.NullString, sessionID int64) (*session.Setup, error) {
	if !text.Valid {
		return nil, nil
	}
	var r setupRecord
	if err := json.Unmarshal([]byte(text.String), &r); err != nil {
		return nil, errors.Join(session.Fail("the log holds an edit that cannot be read"), err)
	}
	s, err := r.setup()
	if err != nil {
		return nil, err
	}
	s.SessionID = sessionID
	return &s, nil
}

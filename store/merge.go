package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"stillbench/session"
)

// merger merges records into the log and counts what they bring.
type merger struct{ session.Merged }

// Merge brings all that another log holds into this one, in one transaction, and leaves
// the other as it is. Merging the same log again changes nothing. What is in both is
// recognised: sessions by uid or folder, frames by fingerprint, setups and edits by uid.
// Of a setup in both, and of what was told of a camera or lens, the one changed later
// stays. Of a session in both, the groups of
// the log that holds more of its frames in groups stay; edits of the other log follow those
// of this one, and what had been undone in either is then forgotten.
//
// Progress counts sessions.
func (s *Store) Merge(ctx context.Context, path string, p session.Progress) (session.Merged, error) {
	var m merger
	if err := m.log(ctx, s, path, p); err != nil {
		return session.Merged{}, s.log.explain(session.Say("merge %s", path), err)
	}
	return m.Merged, nil
}

// log merges another log.
func (m *merger) log(ctx context.Context, s *Store, path string, p session.Progress) error {
	path, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	if path == s.log.path {
		return fmt.Errorf("%w: this is the log itself", session.ErrInvalid)
	}
	dir, err := os.MkdirTemp("", "stillbench-merge")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	other, err := readied(ctx, path, dir)
	if err != nil {
		return err
	}
	defer other.close()
	return transact(ctx, other.write, func(from *sql.Tx) error {
		return transact(ctx, s.log.write, func(to *sql.Tx) error {
			return takeOut(ctx, from, p, m.into(ctx, to))
		})
	})
}

// into gives the places to which the parts of a log go that is merged.
func (m *merger) into(ctx context.Context, tx *sql.Tx) parts {
	return parts{
		session: func(r sessionRecord) error { return m.session(ctx, tx, r) },
		gear:    func(r gearRecord) error { return m.gear(ctx, tx, r) },
		kept:    func(r keptRecord) error { return m.kept(ctx, tx, r) },
	}
}

// session merges one session.
func (m *merger) session(ctx context.Context, tx *sql.Tx, r sessionRecord) error {
	id, fresh, err := m.findSession(ctx, tx, r)
	if err == nil && !fresh {
		err = makeWay(ctx, tx, id, r.Edits)
	}
	if err == nil {
		err = m.frames(ctx, tx, id, r.Frames)
	}
	ids := map[string]int64{}
	if err == nil {
		err = m.setups(ctx, tx, id, fresh, r.Setups, ids)
	}
	if err == nil {
		err = mergeGroups(ctx, tx, id, r.Groups, ids)
	}
	if err == nil {
		err = m.edits(ctx, tx, id, fresh, r.Edits, ids)
	}
	if err == nil {
		err = m.blends(ctx, tx, id, r.Blends)
	}
	if err != nil {
		return fmt.Errorf("session %s: %w", r.Dir, err)
	}
	return nil
}

func (m *merger) findSession(ctx context.Context, tx *sql.Tx, r sessionRecord) (id int64, fresh bool, err error) {
	err = tx.QueryRowContext(ctx, `SELECT id FROM sessions WHERE uid = ?1 OR dir = ?2 ORDER BY uid <> ?1 LIMIT 1`, r.UID, r.Dir).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, false, err
	}
	if r.UID == "" || r.Dir == "" {
		return 0, false, fmt.Errorf("%w: a session without uid or folder", session.ErrInvalid)
	}
	if _, err := parseTime(r.Started); err != nil {
		return 0, false, err
	}
	result, err := tx.ExecContext(ctx, `INSERT INTO sessions (uid, dir, started) VALUES (?, ?, ?)`, r.UID, r.Dir, r.Started)
	if err != nil {
		return 0, false, err
	}
	m.Sessions++
	id, err = result.LastInsertId()
	return id, true, err
}

// makeWay forgets the undone edits of a session when others will follow: undone ones stand
// last, as after every new edit.
func makeWay(ctx context.Context, tx *sql.Tx, sessionID int64, edits []editRecord) error {
	for _, r := range edits {
		there, err := holdsEdit(ctx, tx, r.UID)
		if err != nil {
			return err
		}
		if !there && !r.Undone {
			return dropUndone(ctx, tx, sessionID)
		}
	}
	return nil
}

func holdsEdit(ctx context.Context, tx *sql.Tx, uid string) (there bool, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM edits WHERE uid = ?)`, uid).Scan(&there)
	return there, err
}

func (m *merger) frames(ctx context.Context, tx *sql.Tx, id int64, frames []frameRecord) error {
	for _, r := range frames {
		var there bool
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM frames WHERE session_id = ? AND fingerprint = ?)`, id, r.Fingerprint).Scan(&there); err != nil {
			return err
		}
		if there {
			continue
		}
		if r.MetaVersion != metaVersion {
			return fmt.Errorf("%w: frame %s has metadata of version %d", session.ErrInvalid, r.Name, r.MetaVersion)
		}
		f := session.Frame{Name: r.Name, Pairs: r.Pairs, Fingerprint: r.Fingerprint, Size: r.Size, SetAside: r.SetAside, Gone: r.Gone}
		var err error
		if f.Modified, err = parseTime(r.Modified); err != nil {
			return err
		}
		if err := json.Unmarshal(r.Meta, &f.Meta); err != nil {
			return fmt.Errorf("%w: frame %s: %w", session.ErrInvalid, r.Name, err)
		}
		if _, err := saveFrame(ctx, tx, id, &f); err != nil {
			return err
		}
		m.Frames++
	}
	return nil
}

// setups merges the setups of a session, and fills in ids: their numbers here by uid.
func (m *merger) setups(ctx context.Context, tx *sql.Tx, sessionID int64, fresh bool, setups []setupRecord, ids map[string]int64) error {
	for _, r := range setups {
		s, err := r.setup()
		if err != nil {
			return err
		}
		s.SessionID = sessionID
		if r.UID == "" {
			return fmt.Errorf("%w: a setup without uid", session.ErrInvalid)
		}
		theirs, err := parseTime(r.Changed)
		if err != nil {
			return err
		}
		var changed string
		err = tx.QueryRowContext(ctx, `SELECT id, session_id, changed FROM setups WHERE uid = ?`, r.UID).Scan(&s.ID, &s.SessionID, &changed)
		switch {
		case errors.Is(err, sql.ErrNoRows):
			if r.Hidden && !fresh {
				continue // undone there
			}
			m.Setups++
		case err != nil:
			return err
		default:
			ids[r.UID] = s.ID
			ours, err := parseTime(changed)
			if err != nil {
				return err
			}
			if r.Hidden || !theirs.After(ours) {
				continue
			}
			m.Updated++
		}
		if err := writeSetup(ctx, tx, &s, r.UID, timeText(theirs)); err != nil {
			return fmt.Errorf("setup %q: %w", s.Subject, err)
		}
		ids[r.UID] = s.ID
		if r.Hidden {
			if err := hideSetup(ctx, tx, s.ID, timeText(theirs)); err != nil {
				return err
			}
		}
	}
	return nil
}

func mergeGroups(ctx context.Context, tx *sql.Tx, sessionID int64, records []groupRecord, ids map[string]int64) error {
	var ours int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM group_frames WHERE session_id = ?`, sessionID).Scan(&ours); err != nil {
		return err
	}
	theirs := 0
	groups := make([]session.Group, len(records))
	for i, r := range records {
		groups[i] = r.group(ids)
		theirs += len(r.Frames)
	}
	if theirs <= ours {
		return nil
	}
	return saveGroups(ctx, tx, sessionID, groups)
}

func (m *merger) edits(ctx context.Context, tx *sql.Tx, sessionID int64, fresh bool, edits []editRecord, ids map[string]int64) error {
	for _, r := range edits {
		there, err := holdsEdit(ctx, tx, r.UID)
		if err != nil {
			return err
		}
		if there || r.Undone && !fresh {
			continue
		}
		if r.UID == "" {
			return fmt.Errorf("%w: an edit without uid", session.ErrInvalid)
		}
		e := session.Edit{Kind: r.Kind, Frame: r.Frame, Group: r.Group, Text: r.Text, Area: r.Area, Touch: r.Touch, Words: r.Words, Undone: r.Undone}
		if e.Made, err = parseTime(r.Made); err != nil {
			return err
		}
		if e.Setup, err = r.Setup.here(ids); err != nil {
			return err
		}
		if e.Before, err = r.Before.here(ids); err != nil {
			return err
		}
		if err := insertEdit(ctx, tx, sessionID, &e, r.UID); err != nil {
			return err
		}
		m.Edits++
	}
	return nil
}

// here is the setup of an edit under its number in this log.
func (r *setupRecord) here(ids map[string]int64) (*session.Setup, error) {
	if r == nil {
		return nil, nil
	}
	s, err := r.setup()
	if err != nil {
		return nil, err
	}
	s.ID = ids[r.UID]
	if s.ID == 0 {
		return nil, fmt.Errorf("%w: an edit is about a setup that is not there", session.ErrInvalid)
	}
	return &s, nil
}

// blends merges the blends of a session.
func (m *merger) blends(ctx context.Context, tx *sql.Tx, sessionID int64, blends []blendRecord) error {
	for _, r := range blends {
		var there bool
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM blends WHERE session_id = ? AND file = ?)`, sessionID, r.File).Scan(&there); err != nil {
			return err
		}
		if there {
			continue
		}
		made, err := parseTime(r.Made)
		if err != nil {
			return err
		}
		if err := insertBlend(ctx, tx, sessionID, r.Frame, session.Blend{File: r.File, Made: made}); err != nil {
			return err
		}
		m.Blends++
		var setup sql.NullInt64
		if err := tx.QueryRowContext(ctx, `SELECT setup_id FROM frame_groups g WHERE session_id = ? AND id = (
			SELECT group_id FROM group_frames gf JOIN frames f ON f.id = gf.frame_id
			WHERE f.session_id = g.session_id AND f.fingerprint = ?)`, sessionID, r.Frame).Scan(&setup); err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if setup.Valid {
			if err := sumUpOne(ctx, tx, setup.Int64); err != nil {
				return err
			}
		}
	}
	return nil
}

// kept merges templates and searches. Of a template in both the one saved later stays; of a
// search in both, that of this log; recent ones are not taken over.
func (m *merger) kept(ctx context.Context, tx *sql.Tx, r keptRecord) error {
	for _, t := range r.Templates {
		theirs, err := parseTime(t.Saved)
		if err != nil {
			return err
		}
		if t.Used != nil {
			if _, err := parseTime(*t.Used); err != nil {
				return err
			}
		}
		v, err := t.Setup.setup()
		if err != nil {
			return err
		}
		name, err := named(t.Name)
		if err != nil {
			return err
		}
		if err := v.Validate(); err != nil {
			return fmt.Errorf("template %s: %w", name, err)
		}
		var saved string
		err = tx.QueryRowContext(ctx, `SELECT saved FROM templates WHERE name = ?`, name).Scan(&saved)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if err == nil {
			ours, err := parseTime(saved)
			if err != nil {
				return err
			}
			if !theirs.After(ours) {
				continue
			}
		}
		text, err := jsonText(recordOf(v))
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO templates (name, setup, saved, used) VALUES (?, ?, ?, ?)
			ON CONFLICT (name) DO UPDATE SET setup = excluded.setup, saved = excluded.saved`, name, text, timeText(theirs), t.Used); err != nil {
			return err
		}
		m.Templates++
	}
	for _, k := range r.Searches {
		name, err := named(k.Name)
		if err != nil {
			return err
		}
		if _, err := parseTime(k.Used); err != nil {
			return err
		}
		text, err := jsonText(k.Query)
		if err != nil {
			return err
		}
		result, err := tx.ExecContext(ctx, `INSERT OR IGNORE INTO searches (name, query, used) VALUES (?, ?, ?)`, name, text, k.Used)
		if err != nil {
			return err
		}
		n, err := result.RowsAffected()
		if err != nil {
			return err
		}
		m.Searches += int(n)
	}
	return nil
}

package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"stillbench/session"
)

// Merged counts what a merge brought that was not there.
type Merged struct {
	Sessions, Frames, Setups, Edits int
	// Updated setups were in both logs and changed later in the other.
	Updated int
	// Gear is what was told of cameras and lenses there, and not here or earlier.
	Gear int
}

// Merge brings all that another log holds into this one, in one transaction, and leaves
// the other as it is. Merging the same log again changes nothing. What is in both is
// recognised: sessions by uid or folder, frames by fingerprint, setups and edits by uid.
// Of a setup in both, and of what was told of a camera or lens, the one changed later
// stays. Of a session in both, the groups of
// the log that holds more of its frames in groups stay; edits of the other log follow those
// of this one, and what had been undone in either is then forgotten.
func (s *Store) Merge(ctx context.Context, path string) (Merged, error) {
	m, err := s.merge(ctx, path)
	if err != nil {
		return Merged{}, s.log.explain("merge "+path, err)
	}
	return m, nil
}

func (s *Store) merge(ctx context.Context, path string) (Merged, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return Merged{}, err
	}
	other := &database{path: path, kind: logKind}
	version, err := other.peek(ctx, busyTimeout)
	if err != nil {
		return Merged{}, err
	}
	if version == 0 {
		return Merged{}, fmt.Errorf("%w: %s", os.ErrNotExist, path)
	}
	// A copy can be brought up to date and read at leisure.
	dir, err := os.MkdirTemp("", "stillbench-merge")
	if err != nil {
		return Merged{}, err
	}
	defer os.RemoveAll(dir)
	temp := filepath.Join(dir, "setups.db")
	if err := vacuumInto(ctx, path, temp); err != nil {
		return Merged{}, err
	}
	o, err := Open(ctx, temp)
	if err != nil {
		return Merged{}, err
	}
	defer o.Close()
	r, w := io.Pipe()
	go func() { w.CloseWithError(o.Export(ctx, w)) }()
	defer r.Close()
	return s.Import(ctx, r)
}

// session merges one session.
func (m *Merged) session(ctx context.Context, tx *sql.Tx, r sessionRecord) error {
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
	if err != nil {
		return fmt.Errorf("session %s: %w", r.Dir, err)
	}
	return nil
}

func (m *Merged) findSession(ctx context.Context, tx *sql.Tx, r sessionRecord) (id int64, fresh bool, err error) {
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

func (m *Merged) frames(ctx context.Context, tx *sql.Tx, id int64, frames []frameRecord) error {
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
func (m *Merged) setups(ctx context.Context, tx *sql.Tx, sessionID int64, fresh bool, setups []setupRecord, ids map[string]int64) error {
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

func (m *Merged) edits(ctx context.Context, tx *sql.Tx, sessionID int64, fresh bool, edits []editRecord, ids map[string]int64) error {
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

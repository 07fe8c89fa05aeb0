package store

import (
	"context"
	"database/sql"
	"path/filepath"
	"slices"
	"time"

	"stillbench/session"
)

// RecordBlend notes that frames, known by their fingerprints, were blended into a file, for
// every stack in the log that holds all of them; it is no error when there is none. A file
// that is noted already is noted anew. What became of the file later is not watched.
func (s *Store) RecordBlend(ctx context.Context, frames []string, file string, made time.Time) error {
	return s.change(ctx, session.Say("note a blend"), func(tx *sql.Tx) error {
		file, err := filepath.Abs(file)
		if err != nil {
			return err
		}
		stacks, err := stacksOf(ctx, tx, frames)
		if err != nil {
			return err
		}
		for _, k := range stacks {
			if err := insertBlend(ctx, tx, k.session, k.first, session.Blend{File: file, Made: made}); err != nil {
				return err
			}
			if !k.setup.Valid {
				continue
			}
			if err := sumUpOne(ctx, tx, k.setup.Int64); err != nil {
				return err
			}
		}
		return nil
	})
}

// stackOf is a stack of some session.
type stackOf struct {
	session int64
	setup   sql.NullInt64
	first   string // fingerprint of its first frame
}

// stacksOf finds the stacks, in all sessions, that hold all of some frames.
func stacksOf(ctx context.Context, tx *sql.Tx, frames []string) ([]stackOf, error) {
	frames = slices.Compact(slices.Sorted(slices.Values(frames)))
	list, err := jsonText(nonNil(frames))
	if err != nil {
		return nil, err
	}
	var out []stackOf
	err = each(ctx, tx, `SELECT g.session_id, g.setup_id,
			(SELECT a.fingerprint FROM group_frames b JOIN frames a ON a.id = b.frame_id
				WHERE b.session_id = g.session_id AND b.group_id = g.id ORDER BY b.place LIMIT 1)
		FROM frames f
		JOIN group_frames gf ON gf.frame_id = f.id
		JOIN frame_groups g ON g.session_id = gf.session_id AND g.id = gf.group_id
		WHERE f.fingerprint IN (SELECT value FROM json_each(?)) AND g.kind = 'stack'
		GROUP BY g.session_id, g.id HAVING count(*) = ?`, []any{list, len(frames)}, func(scan func(...any) error) error {
		var k stackOf
		err := scan(&k.session, &k.setup, &k.first)
		out = append(out, k)
		return err
	})
	return out, err
}

// insertBlend notes a blend of the stack that begins with a frame.
func insertBlend(ctx context.Context, tx *sql.Tx, sessionID int64, frame string, b session.Blend) error {
	_, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO blends (session_id, file, frame, made) VALUES (?, ?, ?, ?)`,
		sessionID, b.File, frame, timeText(b.Made))
	return err
}

// Blends gives the blends of a session by Group.ID, oldest first.
func (s *Store) Blends(ctx context.Context, sessionID int64) (map[int64][]session.Blend, error) {
	out := map[int64][]session.Blend{}
	err := s.view(ctx, session.Say("read blends"), func(tx *sql.Tx) error {
		return eachBlend(ctx, tx, sessionID, func(group int64, b session.Blend) { out[group] = append(out[group], b) })
	})
	return out, err
}

// eachBlend calls fn for every blend of a session and the group that holds its frame now.
func eachBlend(ctx context.Context, tx *sql.Tx, sessionID int64, fn func(group int64, b session.Blend)) error {
	return each(ctx, tx, `SELECT gf.group_id, b.file, b.made FROM blends b
		JOIN frames f ON f.session_id = b.session_id AND f.fingerprint = b.frame
		JOIN group_frames gf ON gf.frame_id = f.id
		WHERE b.session_id = ? ORDER BY b.made, b.file`, []any{sessionID}, func(scan func(...any) error) error {
		var group int64
		var b session.Blend
		var made string
		err := scan(&group, &b.File, &made)
		if err != nil {
			return err
		}
		if b.Made, err = parseTime(made); err != nil {
			return err
		}
		fn(group, b)
		return nil
	})
}

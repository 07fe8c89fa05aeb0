package store

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"time"

	"stillbench/session"
)

// RecordBlend notes that a stack of a session, known by its group, was blended into a file.
// A file that is noted already is noted anew. What became of the file later is not watched.
func (s *Store) RecordBlend(ctx context.Context, sessionID, group int64, file string, made time.Time) error {
	return s.changeSession(ctx, sessionID, "note a blend", func(tx *sql.Tx) error {
		file, err := filepath.Abs(file)
		if err != nil {
			return err
		}
		var frame string
		var setup sql.NullInt64
		err = tx.QueryRowContext(ctx, `SELECT f.fingerprint, g.setup_id FROM group_frames gf
			JOIN frame_groups g ON g.session_id = gf.session_id AND g.id = gf.group_id
			JOIN frames f ON f.id = gf.frame_id
			WHERE gf.session_id = ? AND gf.group_id = ? ORDER BY gf.place LIMIT 1`, sessionID, group).Scan(&frame, &setup)
		if err != nil {
			return fmt.Errorf("group %d of the session: %w", group, err)
		}
		if err := insertBlend(ctx, tx, sessionID, frame, session.Blend{File: file, Made: made}); err != nil {
			return err
		}
		if setup.Valid {
			return sumUpOne(ctx, tx, setup.Int64)
		}
		return nil
	})
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
	err := s.view(ctx, "read blends", func(tx *sql.Tx) error {
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

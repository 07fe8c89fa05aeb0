package store

import (
	"context"
	"database/sql"
	"errors"
	"path/filepath"

	"stillbench/session"
)

// OpenSession finds the session of a folder (absolute path), or starts one.
func (s *Store) OpenSession(ctx context.Context, dir string) (session.Session, error) {
	out := session.Session{Dir: filepath.Clean(dir)}
	var at string
	err := s.change(ctx, session.Say("open session"), func(tx *sql.Tx) error {
		var started string
		var err error
		if at, err = epoch(ctx, tx); err != nil {
			return err
		}
		err = tx.QueryRowContext(ctx, `SELECT id, started FROM sessions WHERE dir = ?`, out.Dir).Scan(&out.ID, &started)
		if err == nil {
			out.Started, err = parseTime(started)
			return err
		}
		if !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		started = timeText(s.Now())
		if out.Started, err = parseTime(started); err != nil {
			return err
		}
		r, err := tx.ExecContext(ctx, `INSERT INTO sessions (uid, dir, started) VALUES (?, ?, ?)`, newUID(), out.Dir, started)
		if err != nil {
			return err
		}
		out.ID, err = r.LastInsertId()
		return err
	})
	if err == nil {
		s.mu.Lock()
		s.opened[out.ID] = at
		s.mu.Unlock()
	}
	return out, err
}

package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"stillbench/session"
)

// SaveGrouping keeps how a session is grouped, under a key that stands for all that it follows
// from, in place of what was kept of it before. Unlike SaveGroups it is no part of what the log
// must not lose: it saves finding the same groups again.
func (s *Store) SaveGrouping(ctx context.Context, sessionID int64, key string, groups []session.Group) error {
	text, err := json.Marshal(groups)
	if err != nil {
		return err
	}
	return s.figures.change(ctx, session.Say("keep a grouping"), func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO groupings (session, key, groups) VALUES (?, ?, ?)`, sessionID, key, text)
		return err
	})
}

// Grouping gives what SaveGrouping kept last of a session, with its key; "" and nil when there is
// nothing.
func (s *Store) Grouping(ctx context.Context, sessionID int64) (key string, groups []session.Group, err error) {
	var text []byte
	err = s.figures.view(ctx, session.Say("read a grouping"), func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `SELECT key, groups FROM groupings WHERE session = ?`, sessionID).Scan(&key, &text)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	if err != nil || key == "" || json.Unmarshal(text, &groups) != nil { // a form that is gone: found again
		return "", nil, err
	}
	return key, groups, nil
}

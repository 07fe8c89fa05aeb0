package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"stillbench/session"
)

// keptChecks is how many verdicts are kept of stacks that begin with the same frame: a
// stack gets one with every frame that joins it, and an undo goes back a few.
const keptChecks = 12

// SaveCheck keeps a verdict under its key. stack is the fingerprint of the stack's first
// frame.
func (s *Store) SaveCheck(ctx context.Context, stack, key string, c *session.Check) error {
	// JSON and not gob: a place of exactly 0 behind a pointer would come back as unknown.
	text, err := json.Marshal(c)
	if err != nil {
		return err
	}
	return s.figures.change(ctx, session.Say("save a verdict"), func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO checks (key, stack, verdict) VALUES (?, ?, ?)`, key, stack, text); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM checks WHERE stack = ?1 AND number NOT IN
			(SELECT number FROM checks WHERE stack = ?1 ORDER BY number DESC LIMIT ?2)`, stack, keptChecks)
		return err
	})
}

// Check gives the verdict with that key; nil when there is none.
func (s *Store) Check(ctx context.Context, key string) (*session.Check, error) {
	var c *session.Check
	err := s.figures.view(ctx, session.Say("read a verdict"), func(tx *sql.Tx) error {
		var text []byte
		err := tx.QueryRowContext(ctx, `SELECT verdict FROM checks WHERE key = ?`, key).Scan(&text)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		found := new(session.Check)
		if json.Unmarshal(text, found) == nil { // else a form that is gone: found again
			c = found
		}
		return nil
	})
	return c, err
}

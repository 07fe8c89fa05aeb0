package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"path/filepath"

	"stillbench/session"
)

// keptProofs is how many proofs are kept of stacks that begin with the same frame: an undo
// goes back a few.
const keptProofs = 3

// SaveProof keeps a proof and its picture (a JPEG) under its key. stack is the fingerprint of
// the stack's first frame.
func (s *Store) SaveProof(ctx context.Context, stack string, p session.Proof, picture []byte) error {
	text, err := json.Marshal(p)
	if err != nil {
		return err
	}
	return s.figures.change(ctx, session.Say("save a proof"), func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO proofs (key, version, stack, about, picture) VALUES (?, ?, ?, ?, ?)`,
			p.Key, session.ProofVersion, stack, text, nonNil(picture)); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `DELETE FROM proofs WHERE stack = ?1 AND number NOT IN
			(SELECT number FROM proofs WHERE stack = ?1 ORDER BY number DESC LIMIT ?2)`, stack, keptProofs)
		return err
	})
}

// Proof gives the proof with that key; nil when there is none.
func (s *Store) Proof(ctx context.Context, key string) (*session.Proof, error) {
	return s.oneProof(ctx, `SELECT about FROM proofs WHERE key = ? AND version = ?`, key)
}

// RecallProof gives the proof with that key, which is from now on the newest of its stack; nil
// when there is none.
func (s *Store) RecallProof(ctx context.Context, key string) (*session.Proof, error) {
	p, err := s.Proof(ctx, key)
	if p == nil || err != nil {
		return nil, err
	}
	newest := false
	if err := s.figures.view(ctx, session.Say("read a proof"), func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, `SELECT number = (SELECT max(number) FROM proofs o WHERE o.stack = p.stack) FROM proofs p WHERE key = ?`, key).Scan(&newest)
	}); err != nil || newest {
		return p, err
	}
	return p, s.figures.change(ctx, session.Say("keep a proof"), func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE proofs SET number = (SELECT max(number) + 1 FROM proofs) WHERE key = ?`, key)
		return err
	})
}

// ProofPicture gives the picture of the proof with that key, a JPEG that stands upright;
// session.ErrNotFound when there is none.
func (s *Store) ProofPicture(ctx context.Context, key string) ([]byte, error) {
	var picture []byte
	err := s.figures.view(ctx, session.Say("read a proof"), func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, `SELECT picture FROM proofs WHERE key = ?`, key).Scan(&picture)
	})
	return picture, err
}

// ProofOf gives the newest proof of the stack that holds the frame called name in the session
// of a folder; nil when it has none, or is no stack.
func (s *Store) ProofOf(ctx context.Context, dir, name string) (*session.Proof, error) {
	var first string
	err := s.view(ctx, session.Say("find a proof"), func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, `SELECT
			(SELECT a.fingerprint FROM group_frames b JOIN frames a ON a.id = b.frame_id
				WHERE b.session_id = g.session_id AND b.group_id = g.id ORDER BY b.place LIMIT 1)
			FROM sessions s
			JOIN frames f ON f.session_id = s.id
			JOIN group_frames gf ON gf.frame_id = f.id
			JOIN frame_groups g ON g.session_id = gf.session_id AND g.id = gf.group_id
			WHERE s.dir = ? AND f.name = ? AND g.kind = 'stack'`, filepath.Clean(dir), name).Scan(&first)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	if err != nil || first == "" {
		return nil, err
	}
	return s.oneProof(ctx, `SELECT about FROM proofs WHERE stack = ? AND version = ? ORDER BY number DESC LIMIT 1`, first)
}

func (s *Store) oneProof(ctx context.Context, query, about string) (*session.Proof, error) {
	var p *session.Proof
	err := s.figures.view(ctx, session.Say("read a proof"), func(tx *sql.Tx) error {
		var text []byte
		err := tx.QueryRowContext(ctx, query, about, session.ProofVersion).Scan(&text)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		found := new(session.Proof)
		if json.Unmarshal(text, found) == nil { // else a form that is gone: made again
			p = found
		}
		return nil
	})
	return p, err
}

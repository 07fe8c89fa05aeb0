package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/gob"
	"errors"

	"stillbench/session"
)

// saveFigures keeps what was computed of frames. It runs before the frames themselves
// are written: figures without a frame are never seen, a frame without figures is read
// once more.
func (s *Store) saveFigures(ctx context.Context, frames []session.Frame) error {
	return s.figures.change(ctx, session.Say("save figures"), func(tx *sql.Tx) error {
		for i := range frames {
			f := frames[i].Figures
			if !f.Whole() {
				continue // none, or what is left of figures that were kept before
			}
			var version int
			err := tx.QueryRowContext(ctx, `SELECT version FROM figures WHERE fingerprint = ?`, frames[i].Fingerprint).Scan(&version)
			if err == nil && version == f.Version {
				continue // the same bytes have the same figures
			}
			if err != nil && !errors.Is(err, sql.ErrNoRows) {
				return err
			}
			var b bytes.Buffer
			if err := gob.NewEncoder(&b).Encode(f); err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO figures (fingerprint, version, figures) VALUES (?, ?, ?)`,
				frames[i].Fingerprint, f.Version, b.Bytes()); err != nil {
				return err
			}
		}
		return nil
	})
}

// loadFigures reads the figures of one fingerprint; nil when there are none of the
// present version.
func loadFigures(ctx context.Context, stmt *sql.Stmt, fingerprint string) (*session.Figures, error) {
	var blob []byte
	err := stmt.QueryRowContext(ctx, fingerprint, session.FiguresVersion).Scan(&blob)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	f := new(session.Figures)
	if err := gob.NewDecoder(bytes.NewReader(blob)).Decode(f); err != nil {
		return nil, nil // written by a form of the type that is gone: computed again
	}
	return f, nil
}

// Figures gives the figures of the bytes with this fingerprint; nil when there are none of the
// present session.FiguresVersion.
func (s *Store) Figures(ctx context.Context, fingerprint string) (*session.Figures, error) {
	one := []session.Frame{{Fingerprint: fingerprint}}
	err := s.withFigures(ctx, one)
	return one[0].Figures, err
}

// withFigures fills in the figures of frames.
func (s *Store) withFigures(ctx context.Context, frames []session.Frame) error {
	return s.figures.view(ctx, session.Say("read figures"), func(tx *sql.Tx) error {
		stmt, err := tx.PrepareContext(ctx, `SELECT figures FROM figures WHERE fingerprint = ? AND version = ?`)
		if err != nil {
			return err
		}
		defer stmt.Close()
		for i := range frames {
			if frames[i].Figures, err = loadFigures(ctx, stmt, frames[i].Fingerprint); err != nil {
				return err
			}
		}
		return nil
	})
}

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
			if err := gob.NewEncoder(&b).Encode(f.Slim()); err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO figures (fingerprint, version, figures) VALUES (?, ?, ?)`,
				frames[i].Fingerprint, f.Version, b.Bytes()); err != nil {
				return err
			}
			if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO pictures (fingerprint, small, grey) VALUES (?, ?, ?)`,
				frames[i].Fingerprint, nonNil(f.Small), nonNil(f.Grey)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Figures gives the figures of the bytes with this fingerprint, Small and Grey among them; nil when
// there are none of the present session.FiguresVersion.
func (s *Store) Figures(ctx context.Context, fingerprint string) (*session.Figures, error) {
	var f *session.Figures
	err := s.figures.view(ctx, session.Say("read figures"), func(tx *sql.Tx) (err error) {
		if f, err = readFigures(tx.QueryRowContext(ctx, selectFigures, fingerprint, session.FiguresVersion)); f == nil {
			return err
		}
		return tx.QueryRowContext(ctx, `SELECT small, grey FROM pictures WHERE fingerprint = ?`, fingerprint).Scan(&f.Small, &f.Grey)
	})
	if err != nil {
		return nil, err
	}
	return f, nil
}

// withFigures fills in the figures of frames, without Small and Grey.
func (s *Store) withFigures(ctx context.Context, frames []session.Frame) error {
	return s.figures.view(ctx, session.Say("read figures"), func(tx *sql.Tx) error {
		stmt, err := tx.PrepareContext(ctx, selectFigures)
		if err != nil {
			return err
		}
		defer stmt.Close()
		for i := range frames {
			if frames[i].Figures, err = readFigures(stmt.QueryRowContext(ctx, frames[i].Fingerprint, session.FiguresVersion)); err != nil {
				return err
			}
		}
		return nil
	})
}

const selectFigures = `SELECT figures FROM figures WHERE fingerprint = ? AND version = ?`

// readFigures reads what selectFigures finds, nil when it finds nothing.
func readFigures(row *sql.Row) (*session.Figures, error) {
	var blob []byte
	err := row.Scan(&blob)
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

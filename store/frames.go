package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"stillbench/session"
)

// metaVersion is the form of session.Meta's JSON in the log.
const metaVersion = 1

// Known gives what the log knows of the bytes with this fingerprint, from any session;
// ok is false when it knows nothing. Figures come without Small and Grey (see Figures); they are nil when
// they were computed by another session.FiguresVersion.
func (s *Store) Known(ctx context.Context, fingerprint string) (m session.Meta, f *session.Figures, ok bool, err error) {
	err = s.view(ctx, session.Say("look a frame up"), func(tx *sql.Tx) error {
		var text string
		err := tx.QueryRowContext(ctx, `SELECT meta FROM frames WHERE fingerprint = ? ORDER BY id DESC LIMIT 1`, fingerprint).Scan(&text)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		if err != nil {
			return err
		}
		ok = true
		m, err = parseMeta(text)
		return err
	})
	if err != nil || !ok {
		return session.Meta{}, nil, false, err
	}
	one := []session.Frame{{Fingerprint: fingerprint}}
	if err := s.withFigures(ctx, one); err != nil {
		return session.Meta{}, nil, false, err
	}
	return m, one[0].Figures, true, nil
}

// SaveFrames inserts or updates frames of a session, by fingerprint.
func (s *Store) SaveFrames(ctx context.Context, sessionID int64, frames []session.Frame) error {
	if err := s.saveFigures(ctx, frames); err != nil {
		return err
	}
	return s.changeSession(ctx, sessionID, session.Say("save frames"), func(tx *sql.Tx) error {
		touched := map[int64]bool{}
		for i := range frames {
			id, err := saveFrame(ctx, tx, sessionID, &frames[i])
			if err != nil {
				return err
			}
			var setup sql.NullInt64
			err = tx.QueryRowContext(ctx, `SELECT g.setup_id FROM group_frames gf
				JOIN frame_groups g ON g.session_id = gf.session_id AND g.id = gf.group_id
				WHERE gf.frame_id = ?`, id).Scan(&setup)
			if err != nil && !errors.Is(err, sql.ErrNoRows) {
				return err
			}
			if setup.Valid {
				touched[setup.Int64] = true
			}
		}
		return sumUp(ctx, tx, touched)
	})
}

// saveFrame writes one frame and gives its number.
func saveFrame(ctx context.Context, tx *sql.Tx, sessionID int64, f *session.Frame) (id int64, err error) {
	if f.Fingerprint == "" {
		return 0, fmt.Errorf("%w: %s has no fingerprint", session.ErrInvalid, f.Name)
	}
	meta := writable(f.Meta)
	metaText, err := jsonText(meta)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", f.Name, err)
	}
	pairs, err := jsonText(nonNil(f.Pairs))
	if err != nil {
		return 0, fmt.Errorf("%s: %w", f.Name, err)
	}
	taken := sql.NullString{String: timeText(meta.Taken), Valid: !meta.Taken.IsZero()}
	err = tx.QueryRowContext(ctx, `INSERT INTO frames
		(session_id, fingerprint, name, pairs, size, modified, set_aside, gone, taken, f_number, meta_version, meta)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (session_id, fingerprint) DO UPDATE SET
			name = excluded.name, pairs = excluded.pairs, size = excluded.size, modified = excluded.modified,
			set_aside = excluded.set_aside, gone = excluded.gone, taken = excluded.taken,
			f_number = excluded.f_number, meta_version = excluded.meta_version, meta = excluded.meta
		RETURNING id`,
		sessionID, f.Fingerprint, f.Name, pairs, f.Size, timeText(f.Modified), f.SetAside, f.Gone,
		taken, nullFloat(meta.FNumber), metaVersion, metaText).Scan(&id)
	return id, err
}

// Frames gives the frames of a session that the log knows, in no order, their figures without Small and
// Grey.
func (s *Store) Frames(ctx context.Context, sessionID int64) ([]session.Frame, error) {
	var out []session.Frame
	err := s.view(ctx, session.Say("read frames"), func(tx *sql.Tx) (err error) {
		out, err = framesOf(ctx, tx, sessionID)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, s.withFigures(ctx, out)
}

// framesOf reads the frames of a session without their figures, oldest row first.
func framesOf(ctx context.Context, tx *sql.Tx, sessionID int64) ([]session.Frame, error) {
	rows, err := tx.QueryContext(ctx, `SELECT id, fingerprint, name, pairs, size, modified, set_aside, gone, meta
		FROM frames WHERE session_id = ? ORDER BY id`, sessionID)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []session.Frame
	for rows.Next() {
		var f session.Frame
		var pairs, modified, meta string
		if err := rows.Scan(&f.ID, &f.Fingerprint, &f.Name, &pairs, &f.Size, &modified, &f.SetAside, &f.Gone, &meta); err != nil {
			return nil, err
		}
		if f.Modified, err = parseTime(modified); err != nil {
			return nil, err
		}
		if f.Meta, err = parseMeta(meta); err != nil {
			return nil, err
		}
		if err := json.Unmarshal([]byte(pairs), &f.Pairs); err != nil {
			return nil, err
		}
		if len(f.Pairs) == 0 {
			f.Pairs = nil
		}
		out = append(out, f)
	}
	return out, rows.Err()
}

func parseMeta(text string) (m session.Meta, err error) {
	err = json.Unmarshal([]byte(text), &m)
	return m, err
}

// writable leaves out of a frame's metadata what JSON cannot hold, since a camera may
// write 1/0: such a value is not known.
func writable(m session.Meta) session.Meta {
	for _, v := range []**float64{&m.FNumber, &m.ShutterSeconds, &m.ExposureBiasEV, &m.FocalLengthMM, &m.FocalLength35MM} {
		*v = finite(*v)
	}
	if m.FocusDistance != nil {
		d := *m.FocusDistance
		d.NearM, d.FarM = finite(d.NearM), finite(d.FarM)
		if math.IsNaN(d.StepM) || math.IsInf(d.StepM, 0) {
			d.StepM = 0
		}
		m.FocusDistance = &d
	}
	if _, err := m.Taken.MarshalJSON(); err != nil { // a year or an offset out of range
		m.Taken, m.TakenHasOffset = time.Time{}, false
	}
	return m
}

func finite(v *float64) *float64 {
	if v == nil || math.IsNaN(*v) || math.IsInf(*v, 0) {
		return nil
	}
	return v
}

func nonNil[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

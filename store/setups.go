package store

import (
	"context"
	"database/sql"

	"stillbench/session"
)

// Setups gives the session's setups, oldest first, hidden ones left out.
func (s *Store) Setups(ctx context.Context, sessionID int64) ([]session.Setup, error) {
	var out []session.Setup
	err := s.view(ctx, session.Say("read setups"), func(tx *sql.Tx) (err error) {
		out, err = setupsWhere(ctx, tx, `session_id = ? AND NOT hidden ORDER BY id`, sessionID)
		return err
	})
	return out, err
}

// setupsWhere reads whole setups; where ends the query of their table.
func setupsWhere(ctx context.Context, tx *sql.Tx, where string, args ...any) ([]session.Setup, error) {
	var out []session.Setup
	at := map[int64]int{}
	err := each(ctx, tx, `SELECT id, session_id, after_frame, logged, subject, background, support, lens, notes, magnification
		FROM setups WHERE `+where, args, func(scan func(...any) error) error {
		var s session.Setup
		var logged string
		var m sql.NullFloat64
		err := scan(&s.ID, &s.SessionID, &s.AfterFrame, &logged, &s.Subject, &s.Background, &s.Support, &s.Lens, &s.Notes, &m)
		if err != nil {
			return err
		}
		s.Magnification = floatOrNil(m)
		if s.Logged, err = parseTime(logged); err != nil {
			return err
		}
		at[s.ID] = len(out)
		out = append(out, s)
		return nil
	})
	if err != nil || len(out) == 0 {
		return nil, err
	}
	ids := make([]int64, len(out))
	for i := range out {
		ids[i] = out[i].ID
	}
	list, err := jsonText(ids)
	if err != nil {
		return nil, err
	}
	err = each(ctx, tx, `SELECT setup_id, kind, azimuth_deg, elevation_deg, distance_cm, modifier, power, colour_k
		FROM lights WHERE setup_id IN (SELECT value FROM json_each(?)) ORDER BY setup_id, place`, []any{list}, func(scan func(...any) error) error {
		var id int64
		var l session.Light
		var distance sql.NullFloat64
		var colour sql.NullInt64
		if err := scan(&id, &l.Kind, &l.AzimuthDeg, &l.ElevationDeg, &distance, &l.Modifier, &l.Power, &colour); err != nil {
			return err
		}
		l.DistanceCM, l.ColourK = floatOrNil(distance), intOrNil(colour)
		s := &out[at[id]]
		s.Lights = append(s.Lights, l)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = each(ctx, tx, `SELECT setup_id, tag FROM tags WHERE setup_id IN (SELECT value FROM json_each(?)) ORDER BY setup_id, place`,
		[]any{list}, func(scan func(...any) error) error {
			var id int64
			var tag string
			if err := scan(&id, &tag); err != nil {
				return err
			}
			s := &out[at[id]]
			s.Tags = append(s.Tags, tag)
			return nil
		})
	return out, err
}

// writeSetup inserts a setup (ID 0, given back) under uid or puts it in place of what it
// was, and shows it; changed is when that was decided.
func writeSetup(ctx context.Context, tx *sql.Tx, v *session.Setup, uid, changed string) error {
	if err := v.Validate(); err != nil {
		return err
	}
	if v.ID == 0 {
		r, err := tx.ExecContext(ctx, `INSERT INTO setups
			(uid, session_id, after_frame, logged, changed, subject, background, support, lens, notes, magnification)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			uid, v.SessionID, v.AfterFrame, timeText(v.Logged), changed, v.Subject, v.Background, v.Support, v.Lens, v.Notes, nullFloat(v.Magnification))
		if err != nil {
			return err
		}
		if v.ID, err = r.LastInsertId(); err != nil {
			return err
		}
	} else {
		r, err := tx.ExecContext(ctx, `UPDATE setups SET after_frame = ?, logged = ?, changed = ?, subject = ?, background = ?,
			support = ?, lens = ?, notes = ?, magnification = ?, hidden = 0 WHERE id = ? AND session_id = ?`,
			v.AfterFrame, timeText(v.Logged), changed, v.Subject, v.Background, v.Support, v.Lens, v.Notes, nullFloat(v.Magnification), v.ID, v.SessionID)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n != 1 {
			return session.Missing("setup %d of this session", v.ID)
		}
		for _, q := range []string{`DELETE FROM lights WHERE setup_id = ?`, `DELETE FROM tags WHERE setup_id = ?`} {
			if _, err := tx.ExecContext(ctx, q, v.ID); err != nil {
				return err
			}
		}
	}
	for i, l := range v.Lights {
		if _, err := tx.ExecContext(ctx, `INSERT INTO lights
			(setup_id, place, kind, azimuth_deg, elevation_deg, distance_cm, modifier, power, colour_k)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
			v.ID, i, l.Kind, l.AzimuthDeg, l.ElevationDeg, nullFloat(l.DistanceCM), l.Modifier, l.Power, nullInt(l.ColourK)); err != nil {
			return err
		}
	}
	for i, t := range v.Tags {
		if _, err := tx.ExecContext(ctx, `INSERT INTO tags (setup_id, place, tag) VALUES (?, ?, ?)`, v.ID, i, t); err != nil {
			return err
		}
	}
	if err := indexWords(ctx, tx, v); err != nil {
		return err
	}
	return sumUpOne(ctx, tx, v.ID)
}

// hideSetup takes a setup out of every list without forgetting it.
func hideSetup(ctx context.Context, tx *sql.Tx, id int64, changed string) error {
	if _, err := tx.ExecContext(ctx, `UPDATE setups SET hidden = 1, changed = ? WHERE id = ?`, changed, id); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `DELETE FROM shot WHERE setup_id = ?`, id); err != nil {
		return err
	}
	if err := wordPages.put(ctx, tx, id, nil); err != nil {
		return err
	}
	return facetPages.put(ctx, tx, id, nil)
}

package store

import (
	"context"
	"database/sql"
	"fmt"
	"reflect"

	"stillbench/session"
)

// SaveGroups replaces the groups and seams of a session. Its frames and setups must be
// in the log.
func (s *Store) SaveGroups(ctx context.Context, sessionID int64, groups []session.Group) error {
	return s.changeSession(ctx, sessionID, session.Say("save groups"), func(tx *sql.Tx) error { return saveGroups(ctx, tx, sessionID, groups) })
}

// saveGroups writes the groups that differ from what is there: in a long session most
// frames that arrive touch the last group only.
func saveGroups(ctx context.Context, tx *sql.Tx, sessionID int64, groups []session.Group) error {
	was, err := groupsOf(ctx, tx, sessionID)
	if err != nil {
		return err
	}
	at := make(map[int64]int, len(was))
	for i := range was {
		at[was[i].ID] = i
	}
	touched := map[int64]bool{}
	same := make([]bool, len(groups))
	for i := range groups {
		j, ok := at[groups[i].ID]
		same[i] = ok && i == j && reflect.DeepEqual(tidy(groups[i]), was[j])
		if same[i] {
			delete(at, groups[i].ID)
		} else {
			touched[groups[i].SetupID] = true
		}
	}
	for id, j := range at { // gone or changed; their frames are free before any is taken
		if _, err := tx.ExecContext(ctx, `DELETE FROM frame_groups WHERE session_id = ? AND id = ?`, sessionID, id); err != nil {
			return err
		}
		touched[was[j].SetupID] = true
	}
	for i := range groups {
		if same[i] {
			continue
		}
		if err := insertGroup(ctx, tx, sessionID, i, groups[i]); err != nil {
			return err
		}
	}
	delete(touched, 0)
	return sumUp(ctx, tx, touched)
}

// tidy gives a group the form in which it is read back: empty lists are nil, and the log knows
// the English of what is said.
func tidy(g session.Group) session.Group {
	g.Question = session.Text{Form: g.Question.String()}
	if len(g.Frames) == 0 {
		g.Frames = nil
	}
	if g.Seam != nil {
		seam := &session.Seam{Confidence: g.Seam.Confidence}
		for _, why := range g.Seam.Reasons {
			seam.Reasons = append(seam.Reasons, session.Reason{Rule: why.Rule, Detail: session.Text{Form: why.Detail.String()}})
		}
		g.Seam = seam
	}
	return g
}

func insertGroup(ctx context.Context, tx *sql.Tx, sessionID int64, place int, g session.Group) error {
	if _, err := tx.ExecContext(ctx, `INSERT INTO frame_groups (session_id, id, place, kind, confidence, question, name, setup_id)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		sessionID, g.ID, place, g.Kind, g.Confidence, g.Question.String(), g.Name, nullID(g.SetupID)); err != nil {
		return fmt.Errorf("group %d: %w", g.ID, err)
	}
	for i, fp := range g.Frames {
		r, err := tx.ExecContext(ctx, `INSERT INTO group_frames (session_id, group_id, place, frame_id)
			SELECT ?, ?, ?, id FROM frames WHERE session_id = ? AND fingerprint = ?`, sessionID, g.ID, i, sessionID, fp)
		if err != nil {
			return fmt.Errorf("group %d: %w", g.ID, err)
		}
		if n, err := r.RowsAffected(); err != nil || n != 1 {
			return fmt.Errorf("group %d: %w: frame %s", g.ID, session.ErrNotFound, fp)
		}
	}
	if g.Seam == nil {
		return nil
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO seams (session_id, group_id, confidence) VALUES (?, ?, ?)`, sessionID, g.ID, g.Seam.Confidence); err != nil {
		return err
	}
	for i, r := range g.Seam.Reasons {
		if _, err := tx.ExecContext(ctx, `INSERT INTO seam_reasons (session_id, group_id, place, rule, detail) VALUES (?, ?, ?, ?, ?)`,
			sessionID, g.ID, i, r.Rule, r.Detail.String()); err != nil {
			return err
		}
	}
	return nil
}

// Groups gives the groups of a session back, in time order.
func (s *Store) Groups(ctx context.Context, sessionID int64) ([]session.Group, error) {
	var out []session.Group
	err := s.view(ctx, session.Say("read groups"), func(tx *sql.Tx) (err error) {
		out, err = groupsOf(ctx, tx, sessionID)
		return err
	})
	return out, err
}

func groupsOf(ctx context.Context, tx *sql.Tx, sessionID int64) ([]session.Group, error) {
	var out []session.Group
	at := map[int64]int{}
	err := each(ctx, tx, `SELECT g.id, g.kind, g.confidence, g.question, g.name, g.setup_id, s.confidence
		FROM frame_groups g LEFT JOIN seams s ON s.session_id = g.session_id AND s.group_id = g.id
		WHERE g.session_id = ? ORDER BY g.place`, []any{sessionID}, func(scan func(...any) error) error {
		var g session.Group
		var setup sql.NullInt64
		var seam sql.NullFloat64
		if err := scan(&g.ID, &g.Kind, &g.Confidence, &g.Question.Form, &g.Name, &setup, &seam); err != nil {
			return err
		}
		g.SetupID = setup.Int64
		if seam.Valid {
			g.Seam = &session.Seam{Confidence: seam.Float64}
		}
		at[g.ID] = len(out)
		out = append(out, g)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = each(ctx, tx, `SELECT gf.group_id, f.fingerprint FROM group_frames gf JOIN frames f ON f.id = gf.frame_id
		WHERE gf.session_id = ? ORDER BY gf.group_id, gf.place`, []any{sessionID}, func(scan func(...any) error) error {
		var id int64
		var fp string
		if err := scan(&id, &fp); err != nil {
			return err
		}
		g := &out[at[id]]
		g.Frames = append(g.Frames, fp)
		return nil
	})
	if err != nil {
		return nil, err
	}
	err = each(ctx, tx, `SELECT group_id, rule, detail FROM seam_reasons WHERE session_id = ? ORDER BY group_id, place`,
		[]any{sessionID}, func(scan func(...any) error) error {
			var id int64
			var r session.Reason
			if err := scan(&id, &r.Rule, &r.Detail.Form); err != nil {
				return err
			}
			seam := out[at[id]].Seam
			seam.Reasons = append(seam.Reasons, r)
			return nil
		})
	return out, err
}

// each calls fn for every row of a query.
func each(ctx context.Context, tx *sql.Tx, query string, args []any, fn func(scan func(...any) error) error) error {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := fn(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"slices"

	"stillbench/session"
)

// VerdictsUnder gives, by setup, the newest verdict on each stack shot under it, in the order
// of the stacks. A verdict counts while the stack holds the frames that it was found on; a
// stack without one is left out, and so is a setup without any.
func (s *Store) VerdictsUnder(ctx context.Context, setups []int64) (map[int64][]session.Verdict, error) {
	type stack struct {
		setup  int64
		frames []string
	}
	var stacks []stack
	list, err := jsonText(nonNil(setups))
	if err != nil {
		return nil, err
	}
	err = s.view(ctx, session.Say("read verdicts"), func(tx *sql.Tx) error {
		var session, group int64
		return each(ctx, tx, `SELECT g.setup_id, g.session_id, g.id, f.fingerprint FROM frame_groups g
			JOIN group_frames gf ON gf.session_id = g.session_id AND gf.group_id = g.id
			JOIN frames f ON f.id = gf.frame_id
			WHERE g.setup_id IN (SELECT value FROM json_each(?)) AND g.kind = 'stack' AND NOT f.set_aside
			ORDER BY g.session_id, g.place, gf.place`, []any{list}, func(scan func(...any) error) error {
			var setup, inSession, inGroup int64
			var frame string
			if err := scan(&setup, &inSession, &inGroup, &frame); err != nil {
				return err
			}
			if len(stacks) == 0 || inSession != session || inGroup != group {
				stacks = append(stacks, stack{setup: setup})
				session, group = inSession, inGroup
			}
			at := &stacks[len(stacks)-1]
			at.frames = append(at.frames, frame)
			return nil
		})
	})
	if err != nil || len(stacks) == 0 {
		return nil, err
	}
	out := map[int64][]session.Verdict{}
	err = s.figures.view(ctx, session.Say("read verdicts"), func(tx *sql.Tx) error {
		for _, st := range stacks {
			v, err := newestOn(ctx, tx, st.frames)
			if err != nil {
				return err
			}
			if v != "" {
				out[st.setup] = append(out[st.setup], v)
			}
		}
		return nil
	})
	return out, err
}

// newestOn gives the newest verdict that was found on just these frames, "" when there is none.
func newestOn(ctx context.Context, tx *sql.Tx, frames []string) (session.Verdict, error) {
	rows, err := tx.QueryContext(ctx, `SELECT verdict FROM checks WHERE stack = ? ORDER BY number DESC`, frames[0])
	if err != nil {
		return "", err
	}
	defer rows.Close()
	for rows.Next() {
		var text []byte
		if err := rows.Scan(&text); err != nil {
			return "", err
		}
		var c struct { // the map, which is most of it, is passed over
			Verdict session.Verdict
			Frames  []struct{ Fingerprint string }
		}
		if json.Unmarshal(text, &c) != nil {
			continue // a form that is gone
		}
		same := slices.EqualFunc(c.Frames, frames, func(a struct{ Fingerprint string }, b string) bool { return a.Fingerprint == b })
		if same {
			return c.Verdict, nil
		}
	}
	return "", rows.Err()
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"slices"
	"strings"

	"stillbench/session"
)

// SubjectOverDays gives everything but markers that was shot of one subject, in all
// sessions, in time order. Subjects are compared by what stands before their first comma
// (session.SubjectName), without case, accents and punctuation.
func (s *Store) SubjectOverDays(ctx context.Context, subject string) ([]session.Shot, error) {
	var out []session.Shot
	err := s.view(ctx, session.Say("read all of a subject"), func(tx *sql.Tx) error {
		setups, err := setupsOfSubject(ctx, tx, subject)
		if err != nil {
			return err
		}
		bySession := map[int64]map[int64]session.Setup{}
		for _, v := range setups {
			if bySession[v.SessionID] == nil {
				bySession[v.SessionID] = map[int64]session.Setup{}
			}
			bySession[v.SessionID][v.ID] = v
		}
		for id, setups := range bySession {
			shots, err := shotsUnder(ctx, tx, id, setups)
			if err != nil {
				return err
			}
			out = append(out, shots...)
		}
		return nil
	})
	slices.SortFunc(out, func(a, b session.Shot) int {
		return cmp.Or(cmp.Compare(reading(a.Taken), reading(b.Taken)), cmp.Compare(a.SessionID, b.SessionID), cmp.Compare(a.Group, b.Group))
	})
	return out, err
}

// setupsOfSubject reads the shown setups of a subject.
func setupsOfSubject(ctx context.Context, tx *sql.Tx, subject string) ([]session.Setup, error) {
	named := func(text string) string {
		name, _ := session.SubjectName(text)
		return folded(name)
	}
	want := named(subject)
	if want == "" {
		return nil, nil
	}
	var spellings []string
	err := each(ctx, tx, `SELECT DISTINCT subject FROM setups`, nil, func(scan func(...any) error) error {
		var text string
		if err := scan(&text); err != nil {
			return err
		}
		if named(text) == want {
			spellings = append(spellings, text)
		}
		return nil
	})
	if err != nil || len(spellings) == 0 {
		return nil, err
	}
	list, err := jsonText(spellings)
	if err != nil {
		return nil, err
	}
	return setupsWhere(ctx, tx, `NOT hidden AND subject IN (SELECT value FROM json_each(?))`, list)
}

// folded is a text as it is compared: its words.
func folded(text string) string { return strings.Join(tokens(text), " ") }

// shotsUnder reads the groups of a session that were shot under some of its setups.
func shotsUnder(ctx context.Context, tx *sql.Tx, sessionID int64, setups map[int64]session.Setup) ([]session.Shot, error) {
	var dir string
	if err := tx.QueryRowContext(ctx, `SELECT dir FROM sessions WHERE id = ?`, sessionID).Scan(&dir); err != nil {
		return nil, err
	}
	var out []session.Shot
	at := map[int64]int{}
	err := each(ctx, tx, `SELECT g.id, g.kind, g.name, g.setup_id, f.name, f.gone OR f.set_aside, f.taken
		FROM frame_groups g
		JOIN group_frames gf ON gf.session_id = g.session_id AND gf.group_id = g.id
		JOIN frames f ON f.id = gf.frame_id
		WHERE g.session_id = ? AND g.kind <> 'marker' AND g.setup_id IS NOT NULL ORDER BY g.place, gf.place`, []any{sessionID}, func(scan func(...any) error) error {
		shot := session.Shot{SessionID: sessionID, Dir: dir}
		var setup int64
		var frame string
		var away bool
		var taken sql.NullString
		err := scan(&shot.Group, &shot.Kind, &shot.Name, &setup, &frame, &away, &taken)
		if err != nil {
			return err
		}
		var wanted bool
		if shot.Setup, wanted = setups[setup]; !wanted {
			return nil
		}
		i, there := at[shot.Group]
		if !there {
			i = len(out)
			at[shot.Group] = i
			shot.Taken = shot.Setup.Logged
			if taken.Valid {
				if shot.Taken, err = parseTime(taken.String); err != nil {
					return err
				}
			}
			out = append(out, shot)
		}
		if !away {
			out[i].Frames = append(out[i].Frames, frame)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i := range out {
		out[i].Cover = coverOf(out[i].Kind, out[i].Frames)
	}
	err = eachBlend(ctx, tx, sessionID, func(group int64, b session.Blend) {
		if i, ok := at[group]; ok {
			out[i].Blends = append(out[i].Blends, b)
		}
	})
	return out, err
}

// coverOf picks the frame to show for a group: the middle one of a stack, else the last.
func coverOf(kind session.Kind, frames []string) string {
	switch {
	case len(frames) == 0:
		return ""
	case kind == session.KindStack:
		return frames[len(frames)/2]
	}
	return frames[len(frames)-1]
}

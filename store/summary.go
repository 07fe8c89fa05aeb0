package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"stillbench/session"
)

// sumUp writes afresh what was shot under each of the setups.
func sumUp(ctx context.Context, tx *sql.Tx, setups map[int64]bool) error {
	for id := range setups {
		if err := sumUpOne(ctx, tx, id); err != nil {
			return err
		}
	}
	return nil
}

// sumUpOne counts the frames of all groups under a setup but markers. Its day is that of
// the first of them, and that of logging as long as there is none. Its cover is the
// middle frame of the last stack, or the last frame where there is no stack. A hidden
// setup is left alone.
func sumUpOne(ctx context.Context, tx *sql.Tx, id int64) error {
	var loggedText string
	var magnification sql.NullFloat64
	err := tx.QueryRowContext(ctx, `SELECT logged, magnification FROM setups WHERE id = ? AND NOT hidden`, id).Scan(&loggedText, &magnification)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	day, err := parseTime(loggedText)
	if err != nil {
		return err
	}
	facet := facet{id: id, magnification: magnification.Float64}
	err = each(ctx, tx, `SELECT kind, azimuth_deg, elevation_deg FROM lights WHERE setup_id = ?`, []any{id}, func(scan func(...any) error) error {
		var l session.Light
		if err := scan(&l.Kind, &l.AzimuthDeg, &l.ElevationDeg); err != nil {
			return err
		}
		k := slices.Index(facetKinds[:], l.Kind)
		if k < 0 {
			return fmt.Errorf("%w: %q is no kind of light", session.ErrInvalid, l.Kind)
		}
		facet.lit[k] |= cellOf(l)
		return nil
	})
	if err != nil {
		return err
	}
	type frame struct {
		group int64
		kind  session.Kind
		name  string
	}
	var shot, showable []frame
	var taken sql.NullString
	var apertures []float64
	err = each(ctx, tx, `SELECT g.id, g.kind, f.name, f.gone OR f.set_aside, f.taken, f.f_number
		FROM frame_groups g
		JOIN group_frames gf ON gf.session_id = g.session_id AND gf.group_id = g.id
		JOIN frames f ON f.id = gf.frame_id
		WHERE g.setup_id = ? AND g.kind <> 'marker' ORDER BY g.place, gf.place`, []any{id}, func(scan func(...any) error) error {
		var f frame
		var away bool
		var when sql.NullString
		var aperture sql.NullFloat64
		if err := scan(&f.group, &f.kind, &f.name, &away, &when, &aperture); err != nil {
			return err
		}
		shot = append(shot, f)
		if !away {
			showable = append(showable, f)
		}
		if !taken.Valid {
			taken = when
		}
		if aperture.Valid && !slices.Contains(apertures, aperture.Float64) {
			apertures = append(apertures, aperture.Float64)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if taken.Valid {
		if day, err = parseTime(taken.String); err != nil {
			return err
		}
	}
	stacks, last := 0, int64(0)
	for i, f := range shot {
		if f.kind == session.KindStack && (i == 0 || f.group != last) {
			stacks++
		}
		last = f.group
	}
	cover := ""
	if n := len(showable); n > 0 {
		cover = showable[n-1].name
	}
	for i := len(showable) - 1; i >= 0; i-- {
		if showable[i].kind == session.KindStack {
			from := i
			for from > 0 && showable[from-1].group == showable[i].group {
				from--
			}
			cover = showable[from+(i-from+1)/2].name
			break
		}
	}
	slices.Sort(apertures)
	list, err := jsonText(nonNil(apertures))
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO shot (setup_id, stacks, frames, taken, apertures, cover) VALUES (?, ?, ?, ?, ?, ?)`,
		id, stacks, len(shot), taken, list, cover); err != nil {
		return err
	}
	facet.at, facet.apertures = reading(day), apertures
	return writeFacet(ctx, tx, id, facet.line())
}

// indexWords makes the words of a setup findable, in place of those it had.
func indexWords(ctx context.Context, tx *sql.Tx, s *session.Setup) error {
	lights := make([]string, len(s.Lights))
	for i, l := range s.Lights {
		lights[i] = l.Words()
	}
	fields := []string{s.Subject, s.Background, s.Support, s.Lens, s.Notes, strings.Join(s.Tags, " "), strings.Join(lights, " ")}
	args := []any{s.ID}
	var all []string
	for _, f := range fields {
		t := tokens(f)
		all = append(all, t...)
		args = append(args, strings.Join(t, " "))
	}
	if _, err := tx.ExecContext(ctx, `DELETE FROM setup_words WHERE rowid = ?`, s.ID); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO setup_words (rowid, subject, background, support, lens, notes, tags, lights)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?)`, args...); err != nil {
		return err
	}
	list, err := jsonText(nonNil(all))
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT OR IGNORE INTO words (term) SELECT value FROM json_each(?)`, list)
	return err
}

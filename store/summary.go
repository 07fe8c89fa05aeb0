package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"
	"strings"

	"stillbench/session"
)

// kindColumns names the facet column of each kind of light.
var kindColumns = map[session.LightKind]string{
	session.LightLED: "lit_led", session.LightFlash: "lit_flash", session.LightLamp: "lit_lamp",
	session.LightWindow: "lit_window", session.LightCard: "lit_card", session.LightFlag: "lit_flag",
}

// cellBit is the bit of a wheel cell in a lit column.
func cellBit(side, height int) int64 { return 1 << (len(session.Heights)*side + height) }

// lit is the bit of the cell that a light stands in.
func lit(l session.Light) int64 {
	return cellBit(slices.Index(session.Sides, l.Side()), slices.Index(session.Heights, l.Height()))
}

// writeFacets writes what a shown setup is filtered by, and what was shot under it.
func writeFacets(ctx context.Context, tx *sql.Tx, s *session.Setup) error {
	var all int64
	by := map[session.LightKind]int64{}
	for _, l := range s.Lights {
		all |= lit(l)
		by[l.Kind] |= lit(l)
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO facets
		(setup_id, at, lit, lit_led, lit_flash, lit_lamp, lit_window, lit_card, lit_flag, magnification)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (setup_id) DO UPDATE SET at = excluded.at, lit = excluded.lit, lit_led = excluded.lit_led,
			lit_flash = excluded.lit_flash, lit_lamp = excluded.lit_lamp, lit_window = excluded.lit_window,
			lit_card = excluded.lit_card, lit_flag = excluded.lit_flag, magnification = excluded.magnification`,
		s.ID, reading(s.Logged), all, by[session.LightLED], by[session.LightFlash], by[session.LightLamp],
		by[session.LightWindow], by[session.LightCard], by[session.LightFlag], nullFloat(s.Magnification)); err != nil {
		return err
	}
	return sumUp(ctx, tx, map[int64]bool{s.ID: true})
}

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
// middle frame of the last stack, or the last frame where there is no stack.
func sumUpOne(ctx context.Context, tx *sql.Tx, id int64) error {
	var loggedText string
	err := tx.QueryRowContext(ctx, `SELECT logged FROM setups WHERE id = ? AND NOT hidden`, id).Scan(&loggedText)
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
	var fMin, fMax sql.NullFloat64
	if slices.Sort(apertures); len(apertures) > 0 {
		fMin, fMax = nullFloat(&apertures[0]), nullFloat(&apertures[len(apertures)-1])
	}
	list, err := jsonText(nonNil(apertures))
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO shot (setup_id, stacks, frames, taken, apertures, cover) VALUES (?, ?, ?, ?, ?, ?)`,
		id, stacks, len(shot), taken, list, cover); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE facets SET at = ?, f_min = ?, f_max = ? WHERE setup_id = ?`, reading(day), fMin, fMax, id)
	return err
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

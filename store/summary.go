package store

import (
	"context"
	"database/sql"
	"errors"
	"slices"

	"stillbench/session"
)

// derive makes anew all that is derived from the setups and what was shot under them, where
// a migration asks for it.
func derive(ctx context.Context, tx *sql.Tx) error {
	var stale bool
	if err := tx.QueryRowContext(ctx, `SELECT stale FROM search_state`).Scan(&stale); err != nil || !stale {
		return err
	}
	for _, q := range []string{`DELETE FROM facet_pages`, `DELETE FROM word_pages`, `DELETE FROM shot`, `UPDATE search_state SET stale = 0`} {
		if _, err := tx.ExecContext(ctx, q); err != nil {
			return err
		}
	}
	var ids []int64
	err := each(ctx, tx, `SELECT id FROM setups WHERE NOT hidden`, nil, func(scan func(...any) error) error {
		ids = append(ids, 0)
		return scan(&ids[len(ids)-1])
	})
	if err != nil {
		return err
	}
	for some := range slices.Chunk(ids, 1000) {
		list, err := jsonText(some)
		if err != nil {
			return err
		}
		setups, err := setupsWhere(ctx, tx, `id IN (SELECT value FROM json_each(?))`, list)
		if err != nil {
			return err
		}
		for i := range setups {
			if err := indexWords(ctx, tx, &setups[i]); err != nil {
				return err
			}
			if err := sumUpOne(ctx, tx, setups[i].ID); err != nil {
				return err
			}
		}
	}
	return nil
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
	facet := facet{magnification: magnification.Float64}
	var lights []session.Light
	err = each(ctx, tx, `SELECT kind, azimuth_deg, elevation_deg, modifier FROM lights WHERE setup_id = ? ORDER BY place`, []any{id}, func(scan func(...any) error) error {
		var l session.Light
		if err := scan(&l.Kind, &l.AzimuthDeg, &l.ElevationDeg, &l.Modifier); err != nil {
			return err
		}
		lights = append(lights, l)
		return nil
	})
	if err != nil {
		return err
	}
	for _, l := range lights {
		light, err := facetLightOf(ctx, tx, l)
		if err != nil {
			return err
		}
		facet.lights = append(facet.lights, light)
	}
	type frame struct {
		group int64
		kind  session.Kind
		name  string
	}
	var shot, showable []frame
	var taken sql.NullString
	var apertures, shutters []float64
	err = each(ctx, tx, `SELECT g.id, g.kind, f.name, f.gone OR f.set_aside, f.taken, f.f_number, json_extract(f.meta, '$.ShutterSeconds')
		FROM frame_groups g
		JOIN group_frames gf ON gf.session_id = g.session_id AND gf.group_id = g.id
		JOIN frames f ON f.id = gf.frame_id
		WHERE g.setup_id = ? AND g.kind <> 'marker' ORDER BY g.place, gf.place`, []any{id}, func(scan func(...any) error) error {
		var f frame
		var away bool
		var when sql.NullString
		var aperture, shutter sql.NullFloat64
		if err := scan(&f.group, &f.kind, &f.name, &away, &when, &aperture, &shutter); err != nil {
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
		if shutter.Float64 > 0 && !slices.Contains(shutters, shutter.Float64) {
			shutters = append(shutters, shutter.Float64)
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
	slices.Sort(shutters)
	numbers, err := jsonText(nonNil(apertures))
	if err != nil {
		return err
	}
	times, err := jsonText(nonNil(shutters))
	if err != nil {
		return err
	}
	if err := tx.QueryRowContext(ctx, `SELECT count(DISTINCT g.id) FROM frame_groups g
		JOIN group_frames gf ON gf.session_id = g.session_id AND gf.group_id = g.id
		JOIN frames f ON f.id = gf.frame_id
		JOIN blends b ON b.session_id = g.session_id AND b.frame = f.fingerprint
		WHERE g.setup_id = ? AND g.kind = 'stack'`, id).Scan(&facet.blended); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT OR REPLACE INTO shot (setup_id, stacks, frames, taken, apertures, shutters, blended, cover)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?)`, id, stacks, len(shot), taken, numbers, times, facet.blended, cover); err != nil {
		return err
	}
	facet.at, facet.apertures, facet.shutters = reading(day), apertures, shutters
	return facetPages.put(ctx, tx, id, facet.record())
}

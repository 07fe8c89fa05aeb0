package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"stillbench/session"
)

// Gear gives what is remembered of cameras and lenses, from all sessions, and the circle
// of confusion chosen.
func (s *Store) Gear(ctx context.Context) (session.Gear, error) {
	var g session.Gear
	err := s.view(ctx, session.Say("read cameras and lenses"), func(tx *sql.Tx) error {
		r, err := recordGear(ctx, tx)
		if err != nil {
			return err
		}
		if g.Lenses, err = seenLenses(ctx, tx); err != nil {
			return err
		}
		for _, c := range r.Cameras {
			if c.SensorWidthMM != nil && c.SensorHeightMM != nil {
				g.Cameras = append(g.Cameras, session.Camera{Make: c.Make, Model: c.Model, SensorWidthMM: *c.SensorWidthMM, SensorHeightMM: *c.SensorHeightMM})
			}
		}
		for _, l := range r.Lenses {
			i := slices.IndexFunc(g.Lenses, func(seen session.Lens) bool { return seen.Name == l.Name })
			switch {
			case l.PupilMagnification == nil:
			case i >= 0:
				g.Lenses[i].PupilMagnification = l.PupilMagnification
			default:
				g.Lenses = append(g.Lenses, session.Lens{Name: l.Name, PupilMagnification: l.PupilMagnification})
			}
		}
		if r.Circle != nil {
			g.Circle.Convention = r.Circle.Convention
			if r.Circle.MM != nil {
				g.Circle.MM = *r.Circle.MM
			}
		}
		return nil
	})
	slices.SortFunc(g.Lenses, func(a, b session.Lens) int {
		return cmp.Or(cmp.Compare(b.Frames, a.Frames), cmp.Compare(a.Name, b.Name))
	})
	return g, err
}

// seenLenses sums up the lenses that frames named.
func seenLenses(ctx context.Context, tx *sql.Tx) ([]session.Lens, error) {
	var out []session.Lens
	// The index frames_by_lens holds all that this needs, in this order.
	err := each(ctx, tx, `SELECT lens, focal_mm, count(*), max(taken) FROM frames WHERE lens <> '' GROUP BY lens, focal_mm`, nil, func(scan func(...any) error) error {
		var name string
		var focal sql.NullFloat64
		var taken sql.NullString
		var n int
		if err := scan(&name, &focal, &n, &taken); err != nil {
			return err
		}
		if len(out) == 0 || out[len(out)-1].Name != name {
			out = append(out, session.Lens{Name: name})
		}
		l := &out[len(out)-1]
		l.Frames += n
		if focal.Float64 > 0 {
			if l.ShortestMM == 0 { // focal lengths come in ascending order
				l.ShortestMM = focal.Float64
			}
			l.LongestMM = focal.Float64
		}
		if !taken.Valid {
			if l.FocalMM == 0 {
				l.FocalMM = focal.Float64
			}
			return nil
		}
		at, err := parseTime(taken.String)
		if err == nil && at.After(l.LastUsed) {
			l.LastUsed = at
			if focal.Float64 > 0 {
				l.FocalMM = focal.Float64
			}
		}
		return err
	})
	return out, err
}

// RememberCamera keeps, or forgets, the size of a model's sensor.
func (s *Store) RememberCamera(ctx context.Context, c session.Camera) error {
	r := cameraRecord{Make: c.Make, Model: c.Model, Changed: timeText(s.Now())}
	if c.SensorWidthMM != 0 {
		r.SensorWidthMM, r.SensorHeightMM = &c.SensorWidthMM, &c.SensorHeightMM
	}
	return s.change(ctx, session.Say("remember a camera"), func(tx *sql.Tx) error { return r.write(ctx, tx) })
}

// RememberLens keeps, or forgets, the pupil magnification of a lens. What frames tell of it
// is not looked at.
func (s *Store) RememberLens(ctx context.Context, l session.Lens) error {
	r := lensRecord{l.Name, l.PupilMagnification, timeText(s.Now())}
	return s.change(ctx, session.Say("remember a lens"), func(tx *sql.Tx) error { return r.write(ctx, tx) })
}

// RememberCircle keeps the choice of the circle of confusion.
func (s *Store) RememberCircle(ctx context.Context, c session.Circle) error {
	r := circleRecord{Convention: c.Convention, Changed: timeText(s.Now())}
	if c.MM != 0 {
		r.MM = &c.MM
	}
	return s.change(ctx, session.Say("remember the circle of confusion"), func(tx *sql.Tx) error { return r.write(ctx, tx) })
}

// gearRecord is what was told of gear, as JSON. What frames tell is not in it.
type gearRecord struct {
	Cameras []cameraRecord `json:"cameras"`
	Lenses  []lensRecord   `json:"lenses"`
	Circle  *circleRecord  `json:"circle"`
}

// cameraRecord is the size of a model's sensor; both null where it was forgotten.
type cameraRecord struct {
	Make           string   `json:"make"`
	Model          string   `json:"model"`
	SensorWidthMM  *float64 `json:"sensorWidthMM"`
	SensorHeightMM *float64 `json:"sensorHeightMM"`
	Changed        string   `json:"changed"`
}

// lensRecord is the pupil magnification of a lens; null where it was forgotten.
type lensRecord struct {
	Name               string   `json:"name"`
	PupilMagnification *float64 `json:"pupilMagnification"`
	Changed            string   `json:"changed"`
}

type circleRecord struct {
	Convention string   `json:"convention"`
	MM         *float64 `json:"mm"`
	Changed    string   `json:"changed"`
}

func recordGear(ctx context.Context, tx *sql.Tx) (gearRecord, error) {
	g := gearRecord{Cameras: []cameraRecord{}, Lenses: []lensRecord{}}
	err := each(ctx, tx, `SELECT make, model, sensor_width_mm, sensor_height_mm, changed FROM cameras ORDER BY make, model`, nil, func(scan func(...any) error) error {
		g.Cameras = append(g.Cameras, cameraRecord{})
		p := &g.Cameras[len(g.Cameras)-1]
		return scan(&p.Make, &p.Model, &p.SensorWidthMM, &p.SensorHeightMM, &p.Changed)
	})
	if err != nil {
		return g, err
	}
	err = each(ctx, tx, `SELECT name, pupil_magnification, changed FROM lenses ORDER BY name`, nil, func(scan func(...any) error) error {
		g.Lenses = append(g.Lenses, lensRecord{})
		p := &g.Lenses[len(g.Lenses)-1]
		return scan(&p.Name, &p.PupilMagnification, &p.Changed)
	})
	if err != nil {
		return g, err
	}
	err = each(ctx, tx, `SELECT convention, mm, changed FROM circle`, nil, func(scan func(...any) error) error {
		g.Circle = &circleRecord{}
		return scan(&g.Circle.Convention, &g.Circle.MM, &g.Circle.Changed)
	})
	return g, err
}

func (r cameraRecord) write(ctx context.Context, tx *sql.Tx) error {
	c := session.Camera{Make: r.Make, Model: r.Model}
	if r.SensorWidthMM != nil && r.SensorHeightMM != nil {
		c.SensorWidthMM, c.SensorHeightMM = *r.SensorWidthMM, *r.SensorHeightMM
	}
	if err := c.Validate(); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO cameras (make, model, sensor_width_mm, sensor_height_mm, changed) VALUES (?, ?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET sensor_width_mm = excluded.sensor_width_mm, sensor_height_mm = excluded.sensor_height_mm, changed = excluded.changed`,
		r.Make, r.Model, nullFloat(r.SensorWidthMM), nullFloat(r.SensorHeightMM), r.Changed)
	return err
}

func (r lensRecord) write(ctx context.Context, tx *sql.Tx) error {
	if err := (session.Lens{Name: r.Name, PupilMagnification: r.PupilMagnification}).Validate(); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO lenses (name, pupil_magnification, changed) VALUES (?, ?, ?)
		ON CONFLICT DO UPDATE SET pupil_magnification = excluded.pupil_magnification, changed = excluded.changed`,
		r.Name, nullFloat(r.PupilMagnification), r.Changed)
	return err
}

func (r circleRecord) write(ctx context.Context, tx *sql.Tx) error {
	c := session.Circle{Convention: r.Convention}
	if r.MM != nil {
		c.MM = *r.MM
	}
	if err := c.Validate(); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO circle (one, convention, mm, changed) VALUES (1, ?, ?, ?)
		ON CONFLICT DO UPDATE SET convention = excluded.convention, mm = excluded.mm, changed = excluded.changed`,
		r.Convention, nullFloat(r.MM), r.Changed)
	return err
}

// gear merges what was told of gear: of each thing, what was told last.
func (m *merger) gear(ctx context.Context, tx *sql.Tx, r gearRecord) error {
	for _, c := range r.Cameras {
		if err := m.newest(ctx, tx, c.Changed, c.write, `SELECT changed FROM cameras WHERE make = ? AND model = ?`, c.Make, c.Model); err != nil {
			return fmt.Errorf("camera %s: %w", c.Model, err)
		}
	}
	for _, l := range r.Lenses {
		if err := m.newest(ctx, tx, l.Changed, l.write, `SELECT changed FROM lenses WHERE name = ?`, l.Name); err != nil {
			return fmt.Errorf("lens %s: %w", l.Name, err)
		}
	}
	if r.Circle == nil {
		return nil
	}
	return m.newest(ctx, tx, r.Circle.Changed, r.Circle.write, `SELECT changed FROM circle`)
}

// newest calls write unless the log holds what was changed as late or later.
func (m *merger) newest(ctx context.Context, tx *sql.Tx, changed string, write func(context.Context, *sql.Tx) error, query string, args ...any) error {
	theirs, err := parseTime(changed)
	if err != nil {
		return fmt.Errorf("%w: %w", session.ErrInvalid, err)
	}
	var text string
	err = tx.QueryRowContext(ctx, query, args...).Scan(&text)
	if err == nil {
		ours, err := parseTime(text)
		if err != nil || !theirs.After(ours) {
			return err
		}
	} else if !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	m.Gear++
	return write(ctx, tx)
}

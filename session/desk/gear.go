package desk

import (
	"context"
	"math"

	"stillbench/session"
	"stillbench/session/optics"
)

// Gear gives what is remembered of cameras and lenses, from all sessions.
func (d *Desk) Gear(ctx context.Context) (session.Gear, error) { return d.log.Gear(ctx) }

// RememberCamera keeps the size of a camera model's sensor, for every frame of that model
// whose metadata does not give one; sides of 0 forget it. It is in the log, and in the
// snapshot that is out, when the call returns; so with the other two.
func (d *Desk) RememberCamera(ctx context.Context, c session.Camera) error {
	return d.learn(ctx, func() error { return d.log.RememberCamera(ctx, c) })
}

// RememberLens keeps the pupil magnification of a lens; nil forgets it.
func (d *Desk) RememberLens(ctx context.Context, l session.Lens) error {
	return d.learn(ctx, func() error { return d.log.RememberLens(ctx, l) })
}

// RememberCircle keeps the choice of the circle of confusion, and has every stack judged
// by it.
func (d *Desk) RememberCircle(ctx context.Context, c session.Circle) error {
	return d.learn(ctx, func() error { return d.log.RememberCircle(ctx, c) })
}

func (d *Desk) learn(ctx context.Context, tell func() error) error {
	return d.do(ctx, func() error {
		if err := tell(); err != nil {
			return err
		}
		g, err := d.log.Gear(ctx)
		if err == nil {
			d.gear = g
		}
		return err
	})
}

// hearOfLenses reads the gear anew when frames just saved showed a lens, or a focal length
// of one, that was not known.
func (d *Desk) hearOfLenses(ctx context.Context, fresh []session.Frame) error {
	for _, f := range fresh {
		if f.Meta.Lens == "" {
			continue
		}
		l, ok := d.gear.Lens(f.Meta.Lens)
		if mm := f.Meta.FocalLengthMM; ok && l.Frames > 0 && (mm == nil || l.LongestMM > 0 && *mm >= l.ShortestMM && *mm <= l.LongestMM) {
			continue
		}
		g, err := d.log.Gear(ctx)
		if err == nil {
			d.gear = g
		}
		return err
	}
	return nil
}

// circleFor gives the largest blur that counts as sharp as a part of the picture's
// diagonal, for frames like m; 0, the default, where the choice needs what is not known.
func circleFor(g session.Gear, m session.Meta) float64 {
	if g.Circle.MM > 0 {
		s, ok := g.Sensor(m)
		if !ok {
			return 0
		}
		return g.Circle.MM / math.Hypot(s.WidthMM, s.HeightMM)
	}
	// Conventions go by the diagonal and by the pixels: a sensor of any size will do.
	f, pitch := optics.Format{WidthMM: 36, HeightMM: 24}, 0.0
	if m.Width != nil && m.Height != nil && *m.Width > 0 && *m.Height > 0 {
		pitch = 1000 * f.DiagonalMM() / math.Hypot(float64(*m.Width), float64(*m.Height))
	}
	for _, c := range optics.Conventions {
		if c.Key == g.Circle.Convention {
			if part := c.CoCMM(f, pitch) / f.DiagonalMM(); part > 0 {
				return part
			}
		}
	}
	return 0
}

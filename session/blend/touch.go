package blend

import (
	"context"
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

// touchUp puts pieces of single frames over the blend.
func (b *blending) touchUp(ctx context.Context, out *plane.RGB16, touches []session.Touch, step func(int)) error {
	for _, t := range touches {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		i := slices.IndexFunc(b.sources, func(s Source) bool { return s.Fingerprint == t.From })
		if i < 0 {
			return session.Missing("a touch-up takes its picture from a frame that is not in the blend")
		}
		if err := t.Validate(); err != nil {
			return err
		}
		p, err := b.sources[i].Full()
		if err != nil {
			return session.Fail("%s, for a touch-up: %s", b.sources[i].Name, err)
		}
		fr, _ := b.frame(i, p)
		put(out.Pix, out.W, out.H, fr, t)
		step(fuseSteps)
	}
	return nil
}

// put fades a frame into a picture of w x h, of 8 or 16 bits a channel, where a touch says. Frames lie on each other and are
// equally bright, so a plain fade does, and nothing changes beyond it.
func put[T uint8 | uint16](pix []T, w, h int, fr *laid, t session.Touch) {
	top := float32(^T(0))
	mask := maskOf(t, w, h)
	for y0 := 0; y0 < h; y0 += stripRows {
		y1 := min(y0+stripRows, h)
		if !slices.ContainsFunc(mask.Pix[y0*w:y1*w], func(m float32) bool { return m > 0 }) {
			continue
		}
		rgb, cover := fr.rows(y0, y1)
		for c, p := range rgb {
			for i, v := range p.Pix {
				m := mask.Pix[y0*w+i]
				if cover != nil {
					m *= cover.Pix[i]
				}
				if m > 0 {
					to := &pix[3*(y0*w+i)+c]
					*to = T(float32(*to) + m*(min(max(v, 0), 1)*top-float32(*to)) + 0.5)
				}
			}
		}
	}
}

// maskOf draws a touch's area, filled by the even-odd rule and softened, on a picture of w x h.
func maskOf(t session.Touch, w, h int) *plane.Plane {
	m := plane.New(w, h)
	var cuts []float64
	for y := range h {
		cuts = cuts[:0]
		at := (float64(y) + 0.5) / float64(h)
		for i, p := range t.Area {
			q := t.Area[(i+1)%len(t.Area)]
			if (p[1] <= at) != (q[1] <= at) {
				cuts = append(cuts, (p[0]+(at-p[1])/(q[1]-p[1])*(q[0]-p[0]))*float64(w))
			}
		}
		slices.Sort(cuts)
		row := m.Row(y)
		for i := 0; i+1 < len(cuts); i += 2 {
			for x := max(0, int(math.Ceil(cuts[i]-0.5))); x < min(w, int(math.Ceil(cuts[i+1]-0.5))); x++ {
				row[x] = 1
			}
		}
	}
	// The fade runs over four standard deviations, two on either side of the outline.
	return plane.Blur(m, m, max(t.Soft*math.Hypot(float64(w), float64(h))/4, 0.5))
}

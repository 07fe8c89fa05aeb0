package scene

import "math"

// surface is what a point of a part looks like.
type surface struct {
	at     vec     // millimetres
	colour vec     // diffuse reflectance, linear; of a metal its mirror colour
	gloss  float32 // 0 matt .. 1 polished
	metal  bool
	thin   float32 // share of the light that passes through (leaves), 0..1
}

// patch is a net of nu x nv points on a surface, close enough together that a quad of
// the net is about a pixel.
type patch struct {
	nu, nv int
	at     []vec
	normal []vec
	colour []vec
	gloss  []float32 // negative: a metal
	thin   []float32 // nil: opaque
	lit    []vec     // radiance to the camera, filled in by shade
	skip   []bool    // nil, or points where there is no surface
	// twoSided: both faces can be seen. Otherwise only the face with the normal.
	twoSided bool
}

// nature says how a net of points closes and which side of it is outside.
type nature struct {
	wrapU    bool // the last column lies beside the first
	twoSided bool
	inward   bool // the normal du x dv points inside
	skip     func(u, v float64) bool
}

// net divides a surface with parameters u, v in 0..1. With wrapU, u runs to just before 1.
func net(nu, nv int, n nature, f func(u, v float64) surface) *patch {
	nu, nv = max(nu, 4), max(nv, 4)
	cols := nu
	if n.wrapU {
		cols++ // the first column again, so that quads close
	}
	p := &patch{nu: cols, nv: nv, twoSided: n.twoSided}
	size := cols * nv
	p.at, p.normal, p.colour, p.gloss = make([]vec, size), make([]vec, size), make([]vec, size), make([]float32, size)
	p.lit = make([]vec, size)
	thin := make([]float32, size)
	if n.skip != nil {
		p.skip = make([]bool, size)
	}
	anyThin := false
	for j := range nv {
		v := float64(j) / float64(nv-1)
		for i := range cols {
			u := float64(i) / float64(nu-1)
			if n.wrapU {
				u = float64(i%nu) / float64(nu)
			}
			k := j*cols + i
			s := f(u, v)
			p.at[k], p.colour[k], p.gloss[k], thin[k] = s.at, s.colour, s.gloss, s.thin
			if s.metal {
				p.gloss[k] = -max(s.gloss, 0.01)
			}
			anyThin = anyThin || s.thin > 0
			if n.skip != nil {
				p.skip[k] = n.skip(u, v)
			}
		}
	}
	if anyThin {
		p.thin = thin
	}
	sign := float32(1)
	if n.inward {
		sign = -1
	}
	for j := range nv {
		for i := range cols {
			l, r := max(i-1, 0), min(i+1, cols-1)
			if n.wrapU {
				if i == 0 {
					l = cols - 2
				}
				if i == cols-1 {
					r = 1
				}
			}
			d, u := max(j-1, 0), min(j+1, nv-1)
			du := p.at[j*cols+r].sub(p.at[j*cols+l])
			dv := p.at[u*cols+i].sub(p.at[d*cols+i])
			p.normal[j*cols+i] = du.cross(dv).unit().mul(sign)
		}
	}
	return p
}

// count is how many points a length needs at a spacing.
func count(length, spacing float64) int { return int(math.Ceil(length/spacing)) + 1 }

// ground is the table: its height and surface at any place.
type ground func(x, y float64) surface

// patch divides the ground over a rectangle, in strips that can be worked on at once.
func (g ground) patches(x0, y0, x1, y1, spacing float64) []*patch {
	nu, nv := count(x1-x0, spacing), count(y1-y0, spacing)
	const strips = 8
	out := make([]*patch, strips)
	share(strips, func(i int) {
		// Neighbouring strips share a row of points.
		from, to := (nv-1)*i/strips, (nv-1)*(i+1)/strips
		out[i] = net(nu, to-from+1, nature{}, func(u, v float64) surface {
			y := y0 + (y1-y0)*(float64(from)+v*float64(to-from))/float64(nv-1)
			return g(x0+(x1-x0)*u, y)
		})
	})
	return out
}

package scene

import "math"

// Light is one lamp, window or card. The zero Size is a small source with hard shadows.
type Light struct {
	AzimuthDeg   float64 // 0 at the camera, 90 to its right, 180 behind the subject
	ElevationDeg float64 // 0 level with the subject, 90 overhead
	// SizeDeg is half the angle the source fills as seen from the subject: 2 for a bare
	// lamp, 15 for a diffuser, 30 for a window near by.
	SizeDeg float64
	Power   float64 // illuminance on a surface that faces it, any unit
	Colour  [3]float64
}

// Neutral is white light.
var Neutral = [3]float64{1, 1, 1}

// ray is one sample of a light or of the sky, with what can be seen from it.
type ray struct {
	dir    vec // towards the source
	power  vec // illuminance that it brings to a surface that faces it
	seen   shadow
	isLamp bool
}

// shadow is what a direction sees of the scene: how far along the direction the
// outermost surface stands, by place across it.
type shadow struct {
	x, y   vec // axes across
	w, h   int
	x0, y0 float32
	scale  float32 // texels a millimetre
	top    []float32
	bias   float32
}

// newShadow looks at all patches along dir with texels of the given size in millimetres. Of
// each net every stride-th point along either axis is taken; they must be a texel apart or
// less.
func newShadow(patches []*patch, dir vec, texel float64, stride int) shadow {
	s := shadow{scale: float32(1 / texel), bias: float32(texel) * 1.5}
	up := vec{0, 0, 1}
	if math.Abs(float64(dir.Z)) > 0.9 {
		up = vec{0, 1, 0}
	}
	s.x = up.cross(dir).unit()
	s.y = dir.cross(s.x)
	x0, y0, x1, y1 := float32(math.MaxFloat32), float32(math.MaxFloat32), float32(-math.MaxFloat32), float32(-math.MaxFloat32)
	for _, p := range patches {
		for i := 0; i < len(p.at); i += 7 {
			x, y := p.at[i].dot(s.x), p.at[i].dot(s.y)
			x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
		}
	}
	s.x0, s.y0 = x0-float32(texel)*2, y0-float32(texel)*2
	s.w, s.h = int((x1-s.x0)*s.scale)+4, int((y1-s.y0)*s.scale)+4
	s.top = make([]float32, s.w*s.h)
	for i := range s.top {
		s.top[i] = -math.MaxFloat32
	}
	for _, p := range patches {
		for j := 0; j < p.nv; j += stride {
			for i := j * p.nu; i < (j+1)*p.nu; i += stride {
				if p.skip == nil || !p.skip[i] {
					s.put(p.at[i].dot(s.x), p.at[i].dot(s.y), p.at[i].dot(dir))
				}
			}
		}
	}
	return s
}

// put notes a point's height along the direction in the 2 x 2 texels around it: points are
// no farther apart than texels, so no hole is left.
func (s *shadow) put(x, y, height float32) {
	i, j := int((x-s.x0)*s.scale-0.5), int((y-s.y0)*s.scale-0.5)
	if i < 0 || j < 0 || i+1 >= s.w || j+1 >= s.h {
		return
	}
	k := j*s.w + i
	s.top[k] = max(s.top[k], height)
	s.top[k+1] = max(s.top[k+1], height)
	s.top[k+s.w] = max(s.top[k+s.w], height)
	s.top[k+s.w+1] = max(s.top[k+s.w+1], height)
}

// sees reports how much of a point, lifted off its surface, the direction sees: 0 or 1, soft
// across the margin. cos is the cosine of the angle between the direction and the surface's
// normal: the flatter the light, the more height differs within a texel.
func (s *shadow) sees(at vec, dir vec, cos float32) float32 {
	x, y := int((at.dot(s.x)-s.x0)*s.scale), int((at.dot(s.y)-s.y0)*s.scale)
	if x < 0 || y < 0 || x >= s.w || y >= s.h {
		return 1
	}
	d := s.top[y*s.w+x] - at.dot(dir) // how far the outermost surface is above
	bias := s.bias * min(0.35/max(cos, 0.02)+0.6, 3)
	if d <= bias {
		return 1
	}
	if d >= 2*bias {
		return 0
	}
	return 2 - d/bias
}

// towards is the direction of an azimuth and elevation in degrees.
func towards(azimuth, elevation float64) vec {
	sa, ca := math.Sincos(azimuth * math.Pi / 180)
	se, ce := math.Sincos(elevation * math.Pi / 180)
	return v3(sa*ce, -ca*ce, se)
}

// rays samples the lights and the sky. Sunflower spirals spread the samples evenly over
// each source (H. Vogel, "A better way to construct the sunflower head", 1979).
func rays(o *ViewOptions, perLight, sky int) []ray {
	golden := math.Pi * (3 - math.Sqrt(5))
	var out []ray
	strongest := 1e-9
	for _, l := range o.Lights {
		strongest = max(strongest, l.Power)
	}
	for _, l := range o.Lights {
		d := towards(l.AzimuthDeg, l.ElevationDeg)
		x := vec{0, 0, 1}.cross(d).unit()
		if math.Abs(float64(d.Z)) > 0.99 {
			x = vec{1, 0, 0}
		}
		y := d.cross(x)
		// A small or weak source needs fewer samples: their steps do not show.
		n := max(4, int(float64(perLight)*min(1, l.SizeDeg/4, 2*l.Power/strongest+0.1)))
		size := math.Tan(max(l.SizeDeg, 0.3) * math.Pi / 180)
		for i := range n {
			r, a := size*math.Sqrt((float64(i)+0.5)/float64(n)), golden*float64(i)
			dir := d.add(x.mul(float32(r * math.Cos(a)))).add(y.mul(float32(r * math.Sin(a)))).unit()
			if dir.Z <= 0.01 {
				continue // below the table
			}
			p := l.Power / float64(n)
			out = append(out, ray{dir: dir, power: v3(p*l.Colour[0], p*l.Colour[1], p*l.Colour[2]), isLamp: true})
		}
	}
	for i := range sky {
		// Even over the half sphere; the room is brighter above than at the horizon.
		z := (float64(i) + 0.5) / float64(sky)
		a := golden * float64(i)
		s := math.Sqrt(1 - z*z)
		p := o.Ambient * 2 * (0.35 + 0.9*z) / float64(sky)
		out = append(out, ray{dir: v3(s*math.Cos(a), s*math.Sin(a), z),
			power: v3(p*0.92, p*0.97, p*1.08)})
	}
	return out
}

// shade fills in the radiance that each point sends to the camera, where it matters.
func shade(patches []*patch, rs []ray, eye vec, spacing float64, o *ViewOptions, matters func(at vec) bool) {
	share(len(rs), func(i int) {
		stride := 2
		if !rs[i].isLamp {
			stride = 4 // the sky's shadows are soft
		}
		rs[i].seen = newShadow(patches, rs[i].dir, spacing*1.2*float64(stride), stride)
	})
	// Light that the table throws back up, as if a grey board filled the lower half.
	var down vec
	for _, r := range rs {
		down = down.add(r.power.mul(r.dir.Z))
	}
	bounce := down.mul(0.10).times(v3(1.05, 1, 0.92))
	lift := float32(spacing * 2)
	share(len(patches), func(k int) {
		p := patches[k]
		for i := range p.at {
			if matters(p.at[i]) {
				p.lit[i] = shadePoint(p, i, rs, eye, lift, bounce, o)
			}
		}
	})
}

func shadePoint(p *patch, i int, rs []ray, eye vec, lift float32, bounce vec, o *ViewOptions) vec {
	at, n := p.at[i], p.normal[i]
	view := eye.sub(at).unit()
	facing := n.dot(view)
	if facing < 0 {
		if !p.twoSided {
			return vec{} // never seen
		}
		n, facing = n.mul(-1), -facing
	}
	colour, gloss := p.colour[i], p.gloss[i]
	metal := gloss < 0
	if metal {
		gloss = -gloss
	}
	var thin float32
	if p.thin != nil {
		thin = p.thin[i]
	}
	above := at.add(n.mul(lift))
	below := at.sub(n.mul(lift))
	// Blinn's exponent for the gloss, normalised to keep the energy (J. Blinn, "Models
	// of light reflection for computer synthesized pictures", 1977).
	shine := float32(math.Exp2(float64(2 + 8*gloss)))
	norm := (shine + 8) / (8 * math.Pi)
	var diffuse, through, mirror vec
	var open, all float32
	for j := range rs {
		r := &rs[j]
		c := n.dot(r.dir)
		if c <= 0 {
			if thin > 0 && c < 0 {
				if s := r.seen.sees(below, r.dir, -c); s > 0 {
					through = through.add(r.power.mul(-c * s))
				}
			}
			continue
		}
		if !r.isLamp {
			all += c
		}
		s := r.seen.sees(above, r.dir, c)
		if s == 0 {
			continue
		}
		if !r.isLamp {
			open += c * s
		}
		diffuse = diffuse.add(r.power.mul(c * s))
		if gloss > 0.02 && (r.isLamp || gloss < 0.5) {
			h := view.add(r.dir).unit()
			// nh^shine, for the large exponents that matter as a Gaussian of the angle.
			if nh := n.dot(h); (1-nh)*shine < 8 {
				mirror = mirror.add(r.power.mul(s * c * norm * float32(math.Exp(float64((nh-1)*shine)))))
			}
		}
	}
	ao := float32(1)
	if all > 0 {
		ao = open / all
	}
	diffuse = diffuse.add(bounce.mul((0.5 - 0.5*n.Z) + 0.25).mul(0.3 + 0.7*ao))
	f := float32(math.Pow(float64(1-facing), 5)) // Schlick's Fresnel term, 1994
	const invPi = 1 / math.Pi
	if metal {
		out := mirror.add(environment(n.mul(2*facing).sub(view), o, gloss).mul(ao)).times(colour.mix(vec{1, 1, 1}, f*0.6))
		return out.add(diffuse.times(colour).mul(0.12 * invPi))
	}
	out := diffuse.mul(1 - thin).add(through.mul(thin)).times(colour).mul(invPi)
	k := (0.04 + 0.96*f*gloss) * gloss
	out = out.add(mirror.mul(k))
	if gloss > 0.3 {
		out = out.add(environment(n.mul(2*facing).sub(view), o, gloss).mul(k * ao))
	}
	return out
}

// environment is what a polished surface sees in a direction: a dim room with a paler
// ceiling, and the lamps as bright fields with a soft rim.
func environment(dir vec, o *ViewOptions, gloss float32) vec {
	z := float64(dir.Z)
	room := o.Ambient / math.Pi * (0.25 + 1.1*smooth(-0.2, 0.9, z))
	if z < 0 {
		room *= 0.4
	}
	out := v3(room*0.95, room, room*1.05)
	for _, l := range o.Lights {
		c := float64(dir.dot(towards(l.AzimuthDeg, l.ElevationDeg)))
		angle := math.Acos(min(max(c, -1), 1)) * 180 / math.Pi
		soft := 4 + 22*float64(1-gloss)
		in := 1 - smooth(l.SizeDeg-soft*0.4, l.SizeDeg+soft, angle)
		if in <= 0 {
			continue
		}
		// The radiance of a source is its illuminance over the solid angle it fills.
		half := (l.SizeDeg + soft*0.5) * math.Pi / 180
		rad := min(l.Power/(2*math.Pi*(1-math.Cos(half))), 12*l.Power) * in
		out = out.add(v3(rad*l.Colour[0], rad*l.Colour[1], rad*l.Colour[2]))
	}
	return out
}

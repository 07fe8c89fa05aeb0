package scene

import (
	"math"
	"math/rand/v2"
)

var (
	brass = v3(0.93, 0.68, 0.33)
	steel = v3(0.62, 0.62, 0.63)
	blued = v3(0.07, 0.13, 0.42)
	gilt  = v3(0.86, 0.62, 0.36)
)

// gears lays out a wheel train on a finished plate: wheels that drive pinions, a bridge
// over the last of them, screws and jewels.
func (s *Scene) gears(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = plate(seed, gilt)
	const module = 0.62
	angle := 2 * math.Pi * r.Float64()
	x, y, z := -13.0, -4.0, 1.6
	teeth := 64 + r.IntN(8)
	dir := 0.15 + 0.3*r.Float64()
	for i := range 4 {
		radius := module * float64(teeth) / 2
		leaves := 12 + 2*r.IntN(3)
		pinion := module * float64(leaves) / 2
		metal := brass
		if i == 3 {
			metal = steel
		}
		s.wheel(x, y, z, radius, module, teeth, 1.3, 4+i%2, angle+float64(i), metal, seed+uint32(i)*13)
		s.arbor(x, y, z+8.2-float64(i)*0.4, seed+uint32(i))
		// The next arbor stands where its pinion meets this wheel.
		d := radius + pinion
		s.wheel(x+d*math.Cos(dir), y+d*math.Sin(dir), z-0.3, pinion, module, leaves, 2.4, 0, angle, steel, seed+uint32(i)*17+5)
		x, y = x+d*math.Cos(dir), y+d*math.Sin(dir)
		z += 2.5
		dir += 1.75 + 0.3*r.Float64()
		teeth = teeth * 3 / 4
	}
	// A bridge across a corner, with two screws and a jewel.
	bx, by, yaw := -14.0, 13.0, -0.35
	f := turned(v3(bx, by, 11.2), 0, 0, yaw)
	s.relief(f, 15, 6, 2.6, 0.5, func(px, py float64) float64 {
		// Two discs and the bar that joins them.
		bar := math.Hypot(max(math.Abs(px)-9, 0), py) - 3.4
		end := math.Hypot(px+9, py) - 5
		return min(bar, end)
	}, func(px, py float64) (vec, float32, float64) {
		stripe := 0.006 * math.Sin(px*2.1) * 1.4
		return steel.mul(0.9), 0.72, stripe + 0.002*noise(px*0.4, py*22, 0, seed)
	})
	for _, px := range []float64{-9.5, 9.3} {
		at := f.point(v3(px, 0, 0.9))
		s.screw(at, 2.3, 2*math.Pi*r.Float64())
	}
	s.jewel(f.point(v3(1.2, 0, 0.1)), 2.1)
	for range 5 {
		a := 2 * math.Pi * r.Float64()
		s.screw(v3(30*math.Cos(a), 24*math.Sin(a), 0.9), 1.7+0.5*r.Float64(), a)
	}
}

// plate is a gilt plate finished in overlapping round polish marks.
func plate(seed uint32, colour vec) ground {
	return func(x, y float64) surface {
		const pitch = 2.4
		row := math.Round(y / pitch)
		shift := 0.5 * math.Mod(math.Abs(row), 2)
		col := math.Round(x/pitch - shift)
		dx, dy := x-(col+shift)*pitch, y-row*pitch
		d := math.Hypot(dx, dy)
		h := 0.004*noise(d*16, col*7.7, row*5.1, seed) + 0.05*d*d/pitch/pitch
		wear := fbm(x/9, y/9, 1, 4, seed+2)
		c := colour.mul(float32(0.92 + 0.12*wear))
		return surface{at: v3(x, y, h), colour: c, gloss: float32(0.55 + 0.1*wear), metal: true}
	}
}

// relief is a flat metal part of any outline: inside where distance (mm) is negative, its
// edge broken by a bevel, its walls straight down. finish gives colour, gloss and a fine
// height in millimetres.
func (s *Scene) relief(f frame, halfX, halfY, thick, bevel float64, distance func(x, y float64) float64, finish func(x, y float64) (vec, float32, float64)) {
	s.parts = append(s.parts, func(spacing float64) []*patch {
		step := spacing * 0.8
		nu, nv := count(2*halfX, step), count(2*halfY, step)
		wall := 2.6 * step // so that points at full depth stand all along the edge
		at := func(u, v float64) (float64, float64) { return halfX * (2*u - 1), halfY * (2*v - 1) }
		p := net(nu, nv, nature{skip: func(u, v float64) bool {
			return distance(at(u, v)) > wall
		}}, func(u, v float64) surface {
			x, y := at(u, v)
			d := distance(x, y)
			c, g, fine := finish(x, y)
			z := fine
			switch {
			case d > 0:
				z = -thick * clamp01(d/(0.55*wall))
			case d > -bevel:
				t := (d + bevel) / bevel
				z -= 0.6 * bevel * t * t
			}
			return surface{at: f.point(v3(x, y, z)), colour: c, gloss: g, metal: true}
		})
		return []*patch{p}
	})
}

// wheel is a toothed wheel with its top at z, crossed out into arms where arms is over 0.
func (s *Scene) wheel(x, y, z, radius, module float64, teeth int, thick float64, arms int, turn float64, metal vec, seed uint32) {
	outer := radius + 1.1*module
	rim, hub, arm := radius-2.3*module-0.6, radius*0.26+0.8, 0.09*radius+0.35
	s.relief(turned(v3(x, y, z), 0, 0, turn), outer+0.3, outer+0.3, thick, 0.14, func(px, py float64) float64 {
		d, a := math.Hypot(px, py), math.Atan2(py, px)
		_, t := math.Modf(a/(2*math.Pi)*float64(teeth) + 1000)
		tooth := smooth(0.16, 0.36, t) * (1 - smooth(0.64, 0.84, t))
		out := 0.6 * (d - (radius - 1.1*module + 2.1*module*tooth))
		if arms > 0 {
			k := 2 * math.Pi / float64(arms)
			b := math.Mod(a+20*math.Pi+k/2, k) - k/2
			across := math.Abs(d * math.Sin(b))
			hole := max(d-rim, hub-d, arm-across) // negative in the openings
			// Corners of the openings are filed round.
			if hole > -0.8 {
				hole += 0.25 * smooth(-0.8, 0, hole)
			}
			out = max(out, -hole)
		}
		return max(out, 0.5-d)
	}, func(px, py float64) (vec, float32, float64) {
		d, a := math.Hypot(px, py), math.Atan2(py, px)
		lathe := noise(d*15, a*0.8, 0, seed)
		stain := fbm(px/5, py/5, 1, 4, seed+3)
		return metal.mul(float32(0.9 + 0.14*stain)), float32(0.66 + 0.12*stain), 0.0035 * lathe
	})
}

// turnedPart is a body of revolution about the vertical; the profile runs from its foot to
// its top, radius and height in millimetres.
func (s *Scene) turnedPart(at vec, girth, length float64, profile func(v float64) (r, z float64), look func(v float64) surface) {
	s.parts = append(s.parts, func(spacing float64) []*patch {
		return []*patch{net(count(girth, spacing), count(length, spacing), nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			r, z := profile(v)
			p := look(v)
			p.at = at.add(v3(r*ca, r*sa, z))
			return p
		})}
	})
}

// arbor is a steel axle with a shoulder and a rounded pivot, its top at z.
func (s *Scene) arbor(x, y, z float64, seed uint32) {
	s.turnedPart(v3(x, y, 0), 7, 14, func(v float64) (float64, float64) {
		switch {
		case v < 0.7:
			return 1.05, lerp(0, z-1.6, v/0.7)
		case v < 0.76:
			return lerp(1.05, 0.5, (v-0.7)/0.06), z - 1.6 + 0.1*(v-0.7)/0.06
		case v < 0.92:
			return 0.5, lerp(z-1.5, z-0.25, (v-0.76)/0.16)
		}
		t := (v - 0.92) / 0.08
		return 0.5 * math.Sqrt(1-t*t), z - 0.25 + 0.25*t
	}, func(v float64) surface {
		return surface{colour: steel.mul(float32(0.9 + 0.1*noise(v*60, 0, 0, seed))), gloss: 0.85, metal: true}
	})
}

// screw is a blued screw head with a slot.
func (s *Scene) screw(at vec, radius, turn float64) {
	s.relief(turned(at, 0, 0, turn), radius+0.2, radius+0.2, 1.6, 0.3, func(px, py float64) float64 {
		return math.Hypot(px, py) - radius
	}, func(px, py float64) (vec, float32, float64) {
		d := math.Hypot(px, py)
		slot := 1 - smooth(0.16*radius, 0.16*radius+0.08, math.Abs(py))
		return blued.mix(v3(0.02, 0.02, 0.03), float32(slot)), 0.9, 0.12*radius*(1-d*d/radius/radius) - 0.5*slot
	})
}

// jewel is a ruby bearing in a gilt ring, its top at the given place.
func (s *Scene) jewel(at vec, radius float64) {
	s.turnedPart(at, 6.3*radius, 3*radius, func(v float64) (float64, float64) {
		a := math.Pi * (0.1 + 0.9*v)
		return radius * (1.15 + 0.16*math.Cos(a)), 0.2 * math.Sin(a)
	}, func(float64) surface { return surface{colour: gilt, gloss: 0.9, metal: true} })
	s.turnedPart(at, 6.3*radius, 3*radius, func(v float64) (float64, float64) {
		return radius * max(0.24, 1-v), 0.12 + 0.22*math.Sqrt(clamp01(v*1.3)) - 0.5*smooth(0.55, 0.9, v)
	}, func(v float64) surface {
		return surface{colour: v3(0.42, 0.015, 0.05).mul(float32(1 - 0.8*smooth(0.7, 0.8, v))), gloss: 1}
	})
}

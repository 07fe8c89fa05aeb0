package scene

import (
	"math"
	"math/rand/v2"
)

// shell lays a ribbed, coiled shell on sand, half sunk and a little tilted, among pebbles.
// Its coil is a logarithmic spiral (R. A. McGhee's and D. M. Raup's geometry: a whorl's
// section that grows by a constant factor a turn).
func (s *Scene) shell(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = sand(seed, vec{1, 1, 1})
	const turns = 4
	outer := 15 + 2*r.Float64() // mm from the axis to the last whorl's middle
	growth := 1.95 + 0.25*r.Float64()
	b := math.Log(growth) / (2 * math.Pi)
	ribs := float64(30 + r.IntN(8))
	f := turned(v3(0, 0, 2.6), -0.10+0.05*r.Float64(), 0.1*(r.Float64()-0.5), 2*math.Pi*r.Float64())
	warm := float32(r.Float64())
	end := 2 * math.Pi * turns
	piece := func(t0, t1 float64) part {
		return func(spacing float64) []*patch {
			radius := outer * math.Exp(b*(t1-end))
			nu := count(radius*1.3*(t1-t0), spacing)
			nv := count(radius*0.48*4.6, spacing)
			return []*patch{net(nu, nv, nature{}, func(u, v float64) surface {
				return shellAt(lerp(t0, t1, u), lerp(-0.9, math.Pi+0.9, v), outer, b, end, ribs, seed, f, warm)
			})}
		}
	}
	// Inner turns are smaller and take fewer points: a net for each third of a turn.
	for k := range 12 {
		t1 := end - float64(k)*2*math.Pi/3
		s.parts = append(s.parts, piece(max(t1-2*math.Pi/3, 0.5), t1))
	}
	for range 9 + r.IntN(4) {
		a, d := 2*math.Pi*r.Float64(), 24+20*r.Float64()
		s.parts = append(s.parts, pebble(s.ground, d*math.Cos(a), d*math.Sin(a), 1.6+3.2*r.Float64()*r.Float64(), 0.6+0.25*r.Float64(), 6*r.Float64(), r.Uint32()>>1))
	}
}

func shellAt(t, phi, outer, b, end, ribs float64, seed uint32, f frame, warm float32) surface {
	rad := outer * math.Exp(b*(t-end))
	section := 0.47 * rad
	if t > end-0.12 { // the mouth closes inwards
		section *= math.Sqrt(max(0, 1-math.Pow((t-end+0.12)/0.12, 2)))
	}
	sp, cp := math.Sincos(phi)
	// Ribs sweep forward over the flank and divide on the outer side.
	sweep := 0.16 * sp * sp
	wave := func(n float64) float64 { return 0.5 + 0.5*math.Cos(n*(t-sweep)) }
	outside := smooth(0.1, 0.75, cp)
	rib := lerp(math.Pow(wave(ribs), 1.6), math.Pow(wave(2*ribs), 1.4)*0.8, outside)
	lines := noise(t*70, phi*2, 0, seed+1)
	wear := fbm(math.Cos(t)*rad/4, math.Sin(t)*rad/4, phi*2, 4, seed+2)
	fine := fbm(math.Cos(t)*rad*2.2, math.Sin(t)*rad*2.2, sp*rad, 3, seed+11)
	grow := section * (1 + 0.085*rib*(0.35+0.65*smooth(-0.7, 0.2, sp)) + 0.008*lines + 0.012*fine + 0.018*wear)
	st, ct := math.Sincos(t)
	// The whorl's section is a little higher than wide.
	x, z := rad+grow*cp, 1.02*grow*sp
	at := v3(x*ct, x*st, z)
	cream := v3(0.64, 0.51, 0.37).mix(v3(0.66, 0.56, 0.44), warm)
	brown := v3(0.34, 0.165, 0.085)
	k := smooth(-0.12, 0.42, wear+0.25*noise(t*9, phi*3, 4, seed+6))
	c := cream.mix(brown, float32(0.9*k))
	// Dust and shade stay in the furrows, the ribs' crests are worn pale.
	c = c.mul(float32(0.62 + 0.46*rib))
	c = c.mix(v3(0.30, 0.22, 0.15), float32(0.45*(1-rib)*smooth(-0.3, 0.5, fine+0.2)))
	c = c.mul(float32(1 + 0.16*lines + 0.2*fine))
	if pit := noise(math.Cos(t)*rad*4.3, math.Sin(t)*rad*4.3, sp*rad*4, seed+13); pit > 0.42 {
		c = c.mul(float32(1 - 1.5*(pit-0.42)))
	}
	return surface{at: f.point(at), colour: c, gloss: float32(0.28 + 0.2*rib - 0.1*fine)}
}

// cone stands an open pine cone on slate: scales along a spiral by the golden angle.
func (s *Scene) cone(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = slate(seed)
	n := 78 + r.IntN(14)
	height := 34 + 6*r.Float64()
	turn := 2 * math.Pi * r.Float64()
	for i := range n {
		t := (float64(i) + 0.5) / float64(n) // 0 at the foot, 1 at the top
		yaw := turn + float64(i)*math.Pi*(3-math.Sqrt(5)) + 0.06*(r.Float64()-0.5)
		rise := lerp(-0.12, 1.32, math.Pow(t, 1.15)) + 0.1*(r.Float64()-0.5)
		length := (9 + 12*math.Pow(math.Sin(math.Pi*(0.16+0.78*t)), 0.9)) * (0.94 + 0.12*r.Float64())
		if t > 0.85 {
			length *= lerp(1, 0.6, (t-0.85)/0.15)
		}
		sa, ca := math.Sincos(yaw)
		stem := lerp(3.4, 0.8, t)
		at := v3(stem*ca, stem*sa, 5+height*t)
		s.parts = append(s.parts, coneScale(at, yaw, rise, length, seed+uint32(i)*31))
	}
	for range 4 {
		a, d := 2*math.Pi*r.Float64(), 22+16*r.Float64()
		fallen := coneScale(v3(d*math.Cos(a), d*math.Sin(a), 1.2), 6*r.Float64(), 0.04, 10+3*r.Float64(), r.Uint32()>>1)
		s.parts = append(s.parts, fallen)
	}
	s.parts = append(s.parts, func(spacing float64) []*patch { // the core that the scales sit on
		nu, nv := count(24, spacing*2), count(height, spacing*2)
		return []*patch{net(nu, nv, nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			rad := lerp(4, 1.2, v)
			return surface{at: v3(rad*ca, rad*sa, 3+(height+2)*v), colour: v3(0.06, 0.03, 0.017)}
		})}
	})
}

// coneScale is one scale: a spoon with a thick, keeled end that bears a small point.
func coneScale(at vec, yaw, rise, length float64, seed uint32) part {
	f := turned(at, 0, -rise, yaw)
	half := length * 0.31
	return func(spacing float64) []*patch {
		nu, nv := count(4.4*half, spacing), count(length*1.15, spacing)
		return []*patch{net(nu, nv, nature{wrapU: true}, func(u, v float64) surface {
			sp, cp := math.Sincos(2 * math.Pi * u)
			// More points towards the end, where the form turns.
			v = 1 - (1-v)*(1-v)*0.35 - (1-v)*0.65
			width := half * (0.42 + 0.58*smooth(0, 0.68, v))
			thick := lerp(0.5, 0.34, smooth(0, 0.5, v)) + 1.25*smooth(0.66, 0.86, v)*length/17
			if v > 0.8 {
				round := math.Sqrt(max(0, 1-math.Pow((v-0.8)/0.2, 2)))
				width *= round
				thick *= 0.25 + 0.75*round
				if v > 0.995 {
					thick = 0
				}
			}
			b := width * cp
			c := thick * sp
			if sp > 0 {
				c *= 0.8
			}
			a := v * length
			knob := smooth(0.68, 0.8, v)
			// A keel across the thick end, the point in its middle.
			keel := math.Exp(-math.Pow((v-0.88)/0.035, 2)) * (1 - 0.7*math.Pow(cp, 4))
			point := math.Exp(-math.Pow((v-0.885)/0.03, 2) - math.Pow(b/(0.16*half), 2))
			if sp > 0 {
				c += sp * (0.28*keel + 0.75*point) * length / 17
			}
			stria := noise(b*4.5, a*0.35, 1, seed)
			grain := fbm(a*0.9, b*1.4, c, 4, seed+3)
			c += (0.05*stria*(1-knob) + 0.06*grain*(0.4+knob)) * math.Abs(sp)
			// It curls up along its length and cups across.
			c += 0.11*length*v*v + 0.10*b*b/half - 0.02*length
			edge := smooth(0.86, 0.99, math.Abs(cp)) * smooth(0.3, 0.6, v)
			inner := v3(0.155, 0.062, 0.03).mix(v3(0.26, 0.125, 0.06), float32(smooth(0.1, 0.7, v)))
			tip := v3(0.27, 0.155, 0.085).mix(v3(0.17, 0.105, 0.068), float32(smooth(-0.2, 0.4, grain)))
			col := inner.mix(tip, float32(knob))
			col = col.mix(v3(0.50, 0.34, 0.19), float32(0.6*edge))
			col = col.mix(v3(0.36, 0.26, 0.17), float32(0.55*keel*knob))
			col = col.mix(v3(0.13, 0.10, 0.08), float32(0.8*point))
			col = col.mul(float32(1 + 0.28*stria + 0.35*grain))
			return surface{at: f.point(v3(a, b, c)), colour: col, gloss: float32(0.2 + 0.12*knob)}
		})}
	}
}

// bracts puts thin smooth leaves about a stem, as of a dried seed husk.
func (s *Scene) bracts(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = board(seed, v3(0.6, 0.62, 0.66))
	n := 26 + r.IntN(8)
	hue := float32(r.Float64())
	for i := range n {
		t := (float64(i) + 0.5) / float64(n)
		yaw := float64(i)*math.Pi*(3-math.Sqrt(5)) + 0.15*(r.Float64()-0.5)
		rise := lerp(0.1, 1.35, t)
		length := lerp(24, 9, t) * (0.92 + 0.16*r.Float64())
		half := length * (0.24 + 0.05*r.Float64())
		sa, ca := math.Sincos(yaw)
		f := turned(v3(1.6*ca, 1.6*sa, 3+11*t), 0.25*(r.Float64()-0.5), -rise, yaw)
		own := seed + uint32(i)*17
		s.parts = append(s.parts, func(spacing float64) []*patch {
			return []*patch{net(count(length, spacing), count(2.2*half, spacing), nature{twoSided: true}, func(u, v float64) surface {
				w := half * math.Pow(math.Sin(math.Pi*math.Pow(lerp(0.03, 1, u), 0.8)), 0.8)
				b := w * (2*v - 1)
				side := 2*v - 1
				c := 0.16*length*u*u + 0.35*b*b/half + 0.35*fbm(u*2, v*1.5, 0, 2, own) - 0.12*math.Exp(-side*side*160)
				vein := math.Abs(noise(b*2.2-u*length*0.5*math.Copysign(1, side), 0.2*u*length, 3, own+4))
				col := v3(0.46, 0.37, 0.22).mix(v3(0.30, 0.34, 0.16), hue).mix(v3(0.42, 0.2, 0.12), float32(smooth(0.55, 1.05, u+0.3*fbm(u*3, v*3, 2, 3, own))))
				col = col.mul(float32(1 + 0.10*fbm(u*6, v*4, 1, 3, own+2) - 0.22*smooth(0.06, 0, vein)))
				return surface{at: f.point(v3(u*length, b, c)), colour: col, gloss: 0.3, thin: 0.32}
			})}
		})
	}
}

// acorns puts a few acorns, in their cups and out of them, on a board.
func (s *Scene) acorns(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = board(seed, vec{1, 1, 1})
	places := [][3]float64{{-8, -4, 0.4}, {12, 5, 2.4}, {-3, 15, 3.9}, {20, -11, 5.1}}
	for i, p := range places[:3+r.IntN(2)] {
		size := 0.85 + 0.3*r.Float64()
		yaw := p[2] + 0.5*(r.Float64()-0.5)
		f := turned(v3(p[0]+2*r.Float64(), p[1]+2*r.Float64(), 7.2*size), math.Pi/2-0.06, 0, yaw)
		s.acorn(f, size, i != 2, seed+uint32(i)*101, float32(r.Float64()))
	}
	// An empty cup, lying open.
	s.cup(turned(v3(-19+2*r.Float64(), 9, 5.4), 0.5, 0.3, 1), 0.95, seed+77)
}

// acorn has its axis along z of the frame, the cup at the lower end.
func (s *Scene) acorn(f frame, size float64, cup bool, seed uint32, green float32) {
	s.parts = append(s.parts, func(spacing float64) []*patch {
		return []*patch{net(count(2*math.Pi*7.4*size, spacing), count(34*size, spacing), nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			z := lerp(-13, 13.4, v)
			k := z / 13
			rad := 7.2 * math.Pow(max(0, 1-math.Pow(math.Abs(k), 2.7)), 0.5)
			if z > 11 { // the nib
				rad = max(rad*(1-smooth(11, 12.6, z)), 0.9*math.Sqrt(max(0, (13.4-z)/2.4)))
			}
			streak := noise(math.Cos(2*math.Pi*u)*9, math.Sin(2*math.Pi*u)*9, z*0.06, seed)
			fineS := noise(math.Cos(2*math.Pi*u)*34, math.Sin(2*math.Pi*u)*34, z*0.15, seed+2)
			blot := fbm(ca*1.6, sa*1.6, z*0.14, 4, seed+4)
			rad *= 1 + 0.010*streak + 0.02*blot + 0.003*fineS
			col := v3(0.33, 0.165, 0.06).mix(v3(0.24, 0.21, 0.065), green*0.8)
			col = col.mul(float32(1 + 0.35*streak + 0.22*fineS))
			col = col.mix(v3(0.16, 0.065, 0.025), float32(smooth(0.05, 0.5, blot)*0.75))
			col = col.mix(v3(0.5, 0.38, 0.2), float32(smooth(-4, -11, z)*0.7))
			col = col.mix(v3(0.07, 0.04, 0.02), float32(smooth(11.4, 12.8, z)))
			return surface{at: f.point(v3(size*rad*ca, size*rad*sa, size*z)), colour: col, gloss: float32(0.82 - 0.25*smooth(0, 0.4, blot))}
		})}
	})
	if cup {
		g := f
		g.at = f.point(v3(0, 0, -7.5*size))
		s.cup(g, size, seed+5)
	}
}

// cup is a bowl that opens towards z, covered in scales.
func (s *Scene) cup(f frame, size float64, seed uint32) {
	s.parts = append(s.parts, func(spacing float64) []*patch {
		nu := count(2*math.Pi*8.6*size, spacing)
		return []*patch{net(nu, count(32*size, spacing), nature{wrapU: true, inward: false}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			// From the stalk round the outside to the rim (v = 0.7), and in again.
			var rad, z, up float64
			outside := v < 0.7
			if outside {
				a := lerp(0.02, 1.65, v/0.7)
				rad, z = 8.7*math.Sin(a), -7.6*math.Cos(a)
				up = v / 0.7
			} else {
				a := lerp(1.65, 0.02, (v-0.7)/0.3)
				rad, z = 7.5*math.Sin(a), -5.8*math.Cos(a)+0.15
			}
			col := v3(0.30, 0.21, 0.13)
			if outside {
				// Rows of scales, each row half a scale on, smaller towards the rim.
				rows := 11.0
				row := math.Floor(up * rows)
				around := 2*math.Pi*u*(4+3.2*math.Sin(math.Min(1.5, up*1.65))) + 0.5*row
				_, fr := math.Modf(around + 100)
				fv := up*rows - row
				tip := clamp01(1-math.Pow(2*math.Abs(fr-0.5), 2)*0.9) * (1 - 0.72*fv)
				rough := fbm(ca*8, sa*8, z, 3, seed)
				rad += size * (0.62*tip + 0.16*rough)
				col = col.mul(float32(0.45 + 0.75*tip + 0.3*rough))
				if up < 0.03 {
					rad = 0
				}
			} else {
				col = v3(0.42, 0.31, 0.19).mul(float32(0.9 + 0.25*fbm(ca*4, sa*4, z, 3, seed+1)))
			}
			return surface{at: f.point(v3(size*rad*ca, size*rad*sa, size*z)), colour: col, gloss: 0.12}
		})}
	})
	s.parts = append(s.parts, func(spacing float64) []*patch { // the stalk
		return []*patch{net(count(6, spacing), count(9, spacing), nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			rad := size * lerp(0.75, 1.1, v) * (1 + 0.1*noise(ca*2, sa*2, v*6, seed))
			if v < 0.04 {
				rad = 0
			}
			bend := 1.8 * (1 - v) * (1 - v)
			return surface{at: f.point(v3(rad*ca+bend, rad*sa, size*(-15+8*v))), colour: v3(0.2, 0.13, 0.075), gloss: 0.1}
		})}
	})
}

// fibres plants tufts of bristle in felt.
func (s *Scene) fibres(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = felt(seed, []vec{v3(0.09, 0.13, 0.16), v3(0.16, 0.06, 0.06), v3(0.10, 0.13, 0.07)}[r.IntN(3)])
	tufts := 9 + r.IntN(5)
	for range tufts {
		x, y := 40*(r.Float64()-0.5), 30*(r.Float64()-0.5)
		base := v3(0.45, 0.33, 0.18).mix(v3(0.62, 0.58, 0.52), float32(r.Float64())).mul(float32(0.5 + 0.6*r.Float64()))
		for range 46 {
			a, lean := 2*math.Pi*r.Float64(), 0.75*math.Sqrt(r.Float64())
			length := 9 + 7*r.Float64()
			bend := 0.6 * (r.Float64() - 0.3)
			width := 0.06 + 0.05*r.Float64()
			root := v3(x+1.1*r.NormFloat64(), y+1.1*r.NormFloat64(), -0.2)
			col := base.mul(float32(0.65 + 0.7*r.Float64()))
			sa, ca := math.Sincos(a)
			s.parts = append(s.parts, func(spacing float64) []*patch {
				at := func(t float64) vec {
					l := lean + bend*t
					return root.add(v3(length*t*math.Sin(l)*ca, length*t*math.Sin(l)*sa, length*t*math.Cos(l)))
				}
				return []*patch{net(8, count(length, spacing), nature{wrapU: true, inward: true}, func(u, v float64) surface {
					p, q := at(v), at(min(v+0.02, 1.02))
					d := q.sub(p).unit()
					x := d.cross(vec{0, 1, 0.1}).unit()
					y := d.cross(x)
					sp, cp := math.Sincos(-2 * math.Pi * u)
					w := width * (1 - 0.75*v)
					return surface{at: p.add(x.mul(float32(w * cp))).add(y.mul(float32(w * sp))), colour: col.mul(float32(0.75 + 0.5*v)), gloss: 0.45}
				})}
			})
		}
	}
}

// pebbles strews pebbles of many sizes over sand.
func (s *Scene) pebbles(r *rand.Rand) {
	seed := uint32(r.Uint32())
	s.ground = sand(seed, v3(0.8, 0.85, 0.9))
	type lying struct{ x, y, size float64 }
	var all []lying
	for range 400 {
		p := lying{90 * (r.Float64() - 0.5), 90 * (r.Float64() - 0.5), 2 + 7*math.Pow(r.Float64(), 2)}
		free := true
		for _, q := range all {
			free = free && math.Hypot(p.x-q.x, p.y-q.y) > 1.2*(p.size+q.size)
		}
		if free && len(all) < 45 {
			all = append(all, p)
			s.parts = append(s.parts, pebble(s.ground, p.x, p.y, p.size, 0.55+0.3*r.Float64(), 6*r.Float64(), r.Uint32()>>1))
		}
	}
}

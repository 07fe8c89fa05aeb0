package scene

import "math"

// sand is dunes a millimetre high under round grains of half a millimetre, most of them
// ochre, some dark, some clear quartz.
func sand(seed uint32, tint vec) ground {
	return func(x, y float64) surface {
		h := 1.3*fbm(x/19, y/19, 1, 3, seed) + 0.5*fbm(x/5, y/5, 2, 2, seed+7)
		size := 0.62
		near, margin, name := cells(x/size+0.3*noise(x, y, 0, seed), y/size, seed+3)
		round := math.Sqrt(max(0, 1-near*near/0.5))
		h += size * 0.42 * round * (0.45 + 0.8*spread(name, 0))
		h += 0.035 * noise(x*7, y*7, 3, seed+5)
		t := spread(name, 1)
		c := v3(0.42, 0.29, 0.17).mix(v3(0.66, 0.53, 0.37), float32(t))
		gloss := 0.15
		switch k := spread(name, 2); {
		case k < 0.11:
			c = v3(0.10, 0.075, 0.06).mul(float32(0.6 + t))
		case k < 0.26:
			c, gloss = v3(0.74, 0.69, 0.6).mul(float32(0.8+0.35*t)), 0.55
		case k < 0.33:
			c = v3(0.45, 0.2, 0.11).mul(float32(0.7 + 0.5*t))
		}
		dark := 0.45 + 0.55*smooth(0, 0.3, margin)
		c = c.mul(float32(dark * (1 + 0.25*noise(x*3, y*3, 5, seed)))).times(tint)
		return surface{at: v3(x, y, h), colour: c, gloss: float32(gloss)}
	}
}

// slate is split stone: terraces of a third of a millimetre, rough and dark.
func slate(seed uint32) ground {
	return func(x, y float64) surface {
		t := 3.2*fbm(x/26, y/34, 0, 4, seed) + 0.25*fbm(x/2.5, y/2.5, 1, 3, seed+9)
		step, rest := math.Modf(t + 40)
		h := 0.36*(step-40+smooth(0.72, 1, rest)) + 0.05*fbm(x*1.3, y*1.3, 2, 4, seed+4)
		k := 1 + 0.35*fbm(x/7, y/11, 5, 3, seed+2) + 0.3*noise(x*5, y*5, 0, seed+6)
		edge := smooth(0.65, 0.8, rest) * (1 - smooth(0.92, 1, rest))
		c := v3(0.040, 0.043, 0.047).mul(float32(k)).add(v3(0.026, 0.027, 0.027).mul(float32(edge)))
		if rust := fbm(x/16, y/12, 8, 4, seed+12); rust > 0.22 {
			c = c.mix(v3(0.12, 0.07, 0.04).mul(float32(k)), float32(min(0.7, 3*(rust-0.22))))
		}
		return surface{at: v3(x, y, h), colour: c, gloss: float32(0.22 + 0.1*noise(x*2, y*2, 1, seed))}
	}
}

// board is planed oak: rings drawn out along x, pores as fine dark strokes.
func board(seed uint32, tint vec) ground {
	return func(x, y float64) surface {
		r := y/4.6 + 1.5*fbm(x/75, y/16, 0, 3, seed) + 0.05*noise(x/9, y/2, 1, seed)
		_, ring := math.Modf(r + 1000)
		late := smooth(0.2, 0.85, ring) * (1 - smooth(0.93, 1, ring))
		pore := smooth(0.28, 0.5, noise(x/3.5, y/0.16, 2, seed+4)+0.35*noise(x/9, y/0.5, 5, seed+8)-0.18*late)
		fibre := noise(x/5, y/0.09, 7, seed+5)
		ray := smooth(0.45, 0.6, noise(x/1.1, y/7, 11, seed+15))
		c := v3(0.40, 0.255, 0.135).mix(v3(0.23, 0.125, 0.055), float32(late))
		c = c.mul(float32(1 + 0.16*fibre + 0.2*fbm(x/30, y/11, 3, 3, seed+6) + 0.18*ray))
		c = c.mix(v3(0.07, 0.036, 0.016), float32(0.75*pore)).times(tint)
		h := -0.16*pore + 0.05*late + 0.022*fibre + 0.12*fbm(x/22, y/9, 1, 2, seed+1)
		return surface{at: v3(x, y, h), colour: c, gloss: float32(0.26 - 0.2*pore)}
	}
}

// felt is pressed wool: fibres in every direction.
func felt(seed uint32, colour vec) ground {
	return func(x, y float64) surface {
		h, k := 0.0, 0.0
		for i := range 4 {
			s, c := math.Sincos(float64(i)*0.83 + 0.6*noise(x/3, y/3, float64(i), seed))
			u, v := c*x+s*y, c*y-s*x
			f := 1 - math.Abs(noise(u/1.6, v/0.16, float64(i)*3.1, seed+uint32(i)))*3.2
			if f > 0 {
				h = max(h, f*(0.6+0.4*noise(u/0.7, v/0.7, 9, seed)))
				k += f * 0.35 * (0.5 + spread(uint32(i), 4))
			}
		}
		h = 0.22*h + 0.4*fbm(x/4, y/4, 0, 3, seed+20)
		return surface{at: v3(x, y, h), colour: colour.mul(float32(0.55 + k + 0.25*fbm(x/6, y/6, 4, 3, seed+30)))}
	}
}

// pebble is a worn stone lying at a place of the ground.
func pebble(g ground, x, y, size, flat, yaw float64, seed uint32) part {
	base := float64(g(x, y).at.Z)
	f := turned(v3(x, y, base+size*flat*0.62), 0.15*noise(x, y, 1, seed), 0.12*noise(x, y, 2, seed), yaw)
	long := 1.15 + 0.25*spread(seed, 0)
	palette := []vec{v3(0.16, 0.14, 0.13), v3(0.30, 0.28, 0.26), v3(0.42, 0.34, 0.26), v3(0.55, 0.5, 0.44), v3(0.24, 0.13, 0.09), v3(0.13, 0.15, 0.14)}
	c0 := palette[int(seed)%len(palette)]
	c1 := palette[int(seed/7+1)%len(palette)]
	gloss := float32(0.12 + 0.35*spread(seed, 1))
	return func(spacing float64) []*patch {
		n := count(2*math.Pi*size*long, spacing)
		return []*patch{net(n, n/2, nature{wrapU: true}, func(u, v float64) surface {
			sa, ca := math.Sincos(2 * math.Pi * u)
			sb, cb := math.Sincos(math.Pi * (1 - v))
			px, py, pz := sb*ca, sb*sa, cb
			r := 1 + 0.22*fbm(px*1.1, py*1.1, pz*1.1, 2, seed) + 0.015*fbm(px*size*1.5, py*size*1.5, pz*size*1.5, 3, seed+5)
			at := v3(px*size*long*r, py*size*r, pz*size*flat*r)
			band := fbm(px*1.5+0.4*pz, pz*5, py*1.3, 3, seed+3)
			speck := noise(px*size*6, py*size*6, pz*size*6, seed+8)
			c := c0.mix(c1, float32(smooth(0.05, 0.35, band)*0.7)).mul(float32(1 + 0.3*speck + 0.25*band))
			if speck > 0.55 {
				c = c.mix(v3(0.7, 0.68, 0.62), 0.6)
			}
			return surface{at: f.point(at), colour: c, gloss: gloss}
		})}
	}
}

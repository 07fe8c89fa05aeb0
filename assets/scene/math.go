package scene

import (
	"math"
	"runtime"
	"sync"
)

// vec is a point or direction in millimetres, and a colour in linear light.
type vec struct{ X, Y, Z float32 }

func v3(x, y, z float64) vec { return vec{float32(x), float32(y), float32(z)} }

func (a vec) add(b vec) vec            { return vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }
func (a vec) sub(b vec) vec            { return vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }
func (a vec) mul(k float32) vec        { return vec{a.X * k, a.Y * k, a.Z * k} }
func (a vec) times(b vec) vec          { return vec{a.X * b.X, a.Y * b.Y, a.Z * b.Z} }
func (a vec) dot(b vec) float32        { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }
func (a vec) mix(b vec, t float32) vec { return a.mul(1 - t).add(b.mul(t)) }
func (a vec) cross(b vec) vec {
	return vec{a.Y*b.Z - a.Z*b.Y, a.Z*b.X - a.X*b.Z, a.X*b.Y - a.Y*b.X}
}
func (a vec) len() float32 { return float32(math.Sqrt(float64(a.dot(a)))) }

// unit is a at length 1; the zero vector gives straight up.
func (a vec) unit() vec {
	l := a.len()
	if l < 1e-12 {
		return vec{0, 0, 1}
	}
	return a.mul(1 / l)
}

// frame is a placed system of axes: columns of a rotation, and an origin.
type frame struct{ x, y, z, at vec }

func (f frame) point(p vec) vec {
	return f.at.add(f.x.mul(p.X)).add(f.y.mul(p.Y)).add(f.z.mul(p.Z))
}

// turned is a frame at a point, first pitched about x, then rolled about y, then turned
// about z (radians).
func turned(at vec, pitch, roll, yaw float64) frame {
	rot := func(p vec) vec {
		s, c := math.Sincos(pitch)
		p = vec{p.X, float32(c)*p.Y - float32(s)*p.Z, float32(s)*p.Y + float32(c)*p.Z}
		s, c = math.Sincos(roll)
		p = vec{float32(c)*p.X + float32(s)*p.Z, p.Y, -float32(s)*p.X + float32(c)*p.Z}
		s, c = math.Sincos(yaw)
		return vec{float32(c)*p.X - float32(s)*p.Y, float32(s)*p.X + float32(c)*p.Y, p.Z}
	}
	return frame{rot(vec{1, 0, 0}), rot(vec{0, 1, 0}), rot(vec{0, 0, 1}), at}
}

func clamp01(x float64) float64 { return min(max(x, 0), 1) }

// smooth rises from 0 at a to 1 at b.
func smooth(a, b, x float64) float64 {
	t := clamp01((x - a) / (b - a))
	return t * t * (3 - 2*t)
}

func lerp(a, b, t float64) float64 { return a + (b-a)*t }

// hash scrambles lattice coordinates to 32 even bits.
func hash(x, y, z int32, seed uint32) uint32 {
	h := uint32(x)*0x8da6b343 ^ uint32(y)*0xd8163841 ^ uint32(z)*0xcb1ab31f ^ seed*0x9e3779b9
	h ^= h >> 15
	h *= 0x2c1b3c6d
	h ^= h >> 12
	h *= 0x297a2d39
	return h ^ h>>15
}

// noise is gradient noise about -1..1 with features one unit large (K. Perlin, "Improving
// noise", 2002: its fade curve and its twelve edge directions).
func noise(x, y, z float64, seed uint32) float64 {
	fx, fy, fz := math.Floor(x), math.Floor(y), math.Floor(z)
	ix, iy, iz := int32(fx), int32(fy), int32(fz)
	x, y, z = x-fx, y-fy, z-fz
	u, v, w := x*x*x*(x*(x*6-15)+10), y*y*y*(y*(y*6-15)+10), z*z*z*(z*(z*6-15)+10)
	g := func(dx, dy, dz int32) float64 {
		h := hash(ix+dx, iy+dy, iz+dz, seed) & 15
		px, py, pz := x-float64(dx), y-float64(dy), z-float64(dz)
		a, b := px, py
		if h >= 8 {
			a = py
		}
		if h >= 4 {
			b = pz
			if h == 12 || h == 14 {
				b = px
			}
		}
		if h&1 != 0 {
			a = -a
		}
		if h&2 != 0 {
			b = -b
		}
		return a + b
	}
	return lerp(
		lerp(lerp(g(0, 0, 0), g(1, 0, 0), u), lerp(g(0, 1, 0), g(1, 1, 0), u), v),
		lerp(lerp(g(0, 0, 1), g(1, 0, 1), u), lerp(g(0, 1, 1), g(1, 1, 1), u), v), w)
}

// fbm adds up octaves of noise, each half as large and half as strong, about -1..1.
func fbm(x, y, z float64, octaves int, seed uint32) float64 {
	sum, k := 0.0, 0.5
	for i := range octaves {
		sum += k * noise(x, y, z, seed+uint32(i))
		x, y, z, k = 2*x+17.3, 2*y-9.1, 2*z+4.7, k/2
	}
	return sum * 1.6
}

// cells gives, for cells of size 1 about random points in the plane, the distance to
// the nearest point, how much farther the second is, and a number that names the cell
// (S. Worley, "A cellular texture basis function", 1996).
func cells(x, y float64, seed uint32) (near, margin float64, name uint32) {
	fx, fy := math.Floor(x), math.Floor(y)
	d1, d2 := 9.0, 9.0
	for dy := int32(-1); dy <= 1; dy++ {
		for dx := int32(-1); dx <= 1; dx++ {
			h := hash(int32(fx)+dx, int32(fy)+dy, 7, seed)
			px := fx + float64(dx) + float64(h&0xffff)/65536
			py := fy + float64(dy) + float64(h>>16)/65536
			d := (px-x)*(px-x) + (py-y)*(py-y)
			if d < d1 {
				d1, d2, name = d, d1, h
			} else if d < d2 {
				d2 = d
			}
		}
	}
	near = math.Sqrt(d1)
	return near, math.Sqrt(d2) - near, name
}

// spread is the i-th of a name's even random numbers, 0..1.
func spread(name uint32, i int32) float64 {
	return float64(hash(int32(name), i, 3, 99)&0xffffff) / (1 << 24)
}

// share calls do for 0..n-1 on all processors.
func share(n int, do func(i int)) {
	var wg sync.WaitGroup
	p := min(runtime.GOMAXPROCS(0), n)
	for k := range p {
		wg.Go(func() {
			for i := k; i < n; i += p {
				do(i)
			}
		})
	}
	wg.Wait()
}

package scene

import (
	"math"
	"math/rand/v2"

	"stillbench/session/plane"
)

// Thing is what is held before the lens.
type Thing string

// The things.
const (
	Hand  Thing = "hand"  // bare; Tone says how dark its skin is
	Glove Thing = "glove" // Tone 0 is white cotton, 0.5 blue, 1 black
	Card  Thing = "card"  // grey or white card, straight edge
	Paper Thing = "paper" // a sheet, lit from behind as well
	Cap   Thing = "cap"   // the lens cap: black
)

// Occluder is something held before the lens: far inside its nearest focus, so a large
// blur without detail.
type Occluder struct {
	Thing Thing
	// Tone is 0 for the lightest to 1 for the darkest.
	Tone float64
	// DistanceMM from the lens; 0 is 45. Its blur follows from the lens like any other.
	DistanceMM float64
	// Cover is the share of the frame that it hides, by area, 0..1; 0 is all of it.
	Cover float64
	// FromDeg is the side it comes from: 0 right, 90 below.
	FromDeg float64
	// EV is how brightly it is lit, against a white card on the table, in stops; the
	// side towards the lens gets little light, so -1 to -5 is likely.
	EV float64
	// MotionMM is how far it moved during the exposure, along FromDeg.
	MotionMM float64
	// Picture, if not nil, is a picture of a hand on a plain ground to take shape and
	// colours from in place of the built-in ones; it is taken to be 120 mm wide.
	Picture *plane.RGB
	Seed    uint64
}

// Reflectance of skin in linear sRGB, light to dark. The ends are invented to enclose the
// range of human skin; the path between follows its reddening.
var skin = []vec{v3(0.66, 0.44, 0.34), v3(0.50, 0.29, 0.19), v3(0.30, 0.155, 0.095), v3(0.13, 0.063, 0.042), v3(0.045, 0.025, 0.02)}

func pick(colours []vec, t float64) vec {
	x := clamp01(t) * float64(len(colours)-1)
	i := min(int(x), len(colours)-2)
	return colours[i].mix(colours[i+1], float32(x-float64(i)))
}

// grid is how many cells the frame's long side has while an occluder is drawn; what is drawn is
// a blur over many of them. As much again is drawn on every side.
const grid = 32

// hide lays the occluder over a frame.
func (v *View) hide(frame []float32, s Shot) {
	o := &v.Options
	oc := *s.Before
	if oc.DistanceMM == 0 {
		oc.DistanceMM = 45
	}
	if oc.Cover == 0 {
		oc.Cover = 1
	}
	cell := float64(max(o.W, o.H)) / grid // pixels
	// Size of a cell at the occluder, and the radius of its blur in cells.
	mm := cell * v.pitch() * oc.DistanceMM / sensorDistance(o.FocalMM, v.focus(s))
	shot := s
	if shot.FNumber == 0 {
		shot.FNumber = 22
	}
	r := math.Abs(v.blur(shot, oc.DistanceMM)) / cell
	w, h := int(float64(o.W)/cell+0.5), int(float64(o.H)/cell+0.5)
	pw, ph := w+2*grid, h+2*grid

	shape := oc.shape()
	sin, cos := math.Sincos(oc.FromDeg * math.Pi / 180)
	var planes [4]*plane.Plane
	draw := func(offset float64) float64 {
		for c := range planes {
			planes[c] = plane.New(pw, ph)
		}
		steps := 1 + int(2*oc.MotionMM/mm)
		for y := range ph {
			for x := range pw {
				fx, fy := (float64(x)-float64(pw-1)/2)*mm, (float64(y)-float64(ph-1)/2)*mm
				for i := range steps {
					// u runs along FromDeg into the thing, w across.
					at := offset + oc.MotionMM*(float64(i)+0.5)/float64(steps) - oc.MotionMM/2
					u, across := fx*cos+fy*sin+at, -fx*sin+fy*cos
					c, a := shape(u, across)
					k := float32(a / float64(steps))
					p := y*pw + x
					planes[0].Pix[p] += c.X * k
					planes[1].Pix[p] += c.Y * k
					planes[2].Pix[p] += c.Z * k
					planes[3].Pix[p] += k
				}
			}
		}
		sum := 0.0
		for c := range planes {
			plane.Blur(planes[c], planes[c], min(r/2, grid/3)) // a disc has the variance r*r/4
		}
		for y := range h {
			for x := range w {
				sum += float64(planes[3].Pix[(y+grid)*pw+x+grid])
			}
		}
		return sum / float64(w*h)
	}
	// How far it is pushed in decides what it hides.
	lo, hi := -80.0, 160.0
	if oc.Cover >= 1 {
		draw(70)
	} else {
		for range 14 {
			mid := (lo + hi) / 2
			if draw(mid) < oc.Cover {
				lo = mid
			} else {
				hi = mid
			}
		}
	}
	light := float32(math.Exp2(oc.EV))
	for y := range o.H {
		fy := (float64(y)+0.5)/cell - 0.5 + grid
		for x := range o.W {
			fx := (float64(x)+0.5)/cell - 0.5 + grid
			i, j := int(fx), int(fy)
			tx, ty := float32(fx)-float32(i), float32(fy)-float32(j)
			p := frame[4*(y*o.W+x):]
			keep := 1 - bilinear(planes[3], i, j, tx, ty)
			for c := range 3 {
				p[c] = p[c]*keep + light*bilinear(planes[c], i, j, tx, ty)
			}
		}
	}
}

func bilinear(p *plane.Plane, i, j int, tx, ty float32) float32 {
	k := j*p.W + i
	a, b := p.Pix[k]+(p.Pix[k+1]-p.Pix[k])*tx, p.Pix[k+p.W]+(p.Pix[k+p.W+1]-p.Pix[k+p.W])*tx
	return a + (b-a)*ty
}

// shape gives the thing's colour and cover at a place in millimetres: u from its tip inwards,
// across from its middle line.
func (oc *Occluder) shape() func(u, across float64) (vec, float64) {
	r := rand.New(rand.NewPCG(oc.Seed, 0x4a4d))
	seed := r.Uint32()
	tilt := r.Float64() - 0.5
	// Light falls off over it, and skin and cloth are never quite even.
	even := func(c vec, u, across float64) vec {
		k := 1 + 0.35*tilt*across/20 + 0.18*fbm(u/22, across/22, 0, 2, seed)
		return c.mul(float32(max(0.2, k)))
	}
	if oc.Picture != nil {
		return pictured(oc.Picture)
	}
	switch oc.Thing {
	case Cap:
		return func(u, across float64) (vec, float64) { return v3(0.004, 0.004, 0.0042), inside(u) }
	case Card:
		c := pick([]vec{v3(0.86, 0.86, 0.85), v3(0.18, 0.18, 0.18), v3(0.03, 0.03, 0.03)}, oc.Tone)
		return func(u, across float64) (vec, float64) { return even(c, u, across), inside(u + tilt*across*0.3) }
	case Paper:
		c := v3(0.95, 0.94, 0.9)
		return func(u, across float64) (vec, float64) {
			return even(c, u, across).mul(1.6), inside(u + tilt*across*0.3)
		}
	}
	colour := pick(skin, oc.Tone)
	if oc.Thing == Glove {
		colour = pick([]vec{v3(0.78, 0.77, 0.74), v3(0.06, 0.17, 0.46), v3(0.012, 0.012, 0.014)}, oc.Tone)
	}
	// Four fingers beside each other, a palm behind them, all with rounded ends.
	spread := 19 + 5*r.Float64()
	var fingers [4][3]float64 // across, length short of the longest, half width
	for i := range fingers {
		fingers[i] = [3]float64{(float64(i) - 1.5) * spread, []float64{9, 0, 3, 16}[i] + 3*r.Float64(), 8.2 + r.Float64()}
	}
	return func(u, across float64) (vec, float64) {
		d := 99.0
		for _, f := range fingers {
			du := max(f[1]+f[2]-u, 0)
			d = min(d, math.Hypot(du, across-f[0]*(1+max(0, 50-u)/400))-f[2])
		}
		palm := max(52-u, math.Abs(across)-46)
		d = min(d, palm)
		// Skin is redder and darker where it turns away.
		c := even(colour, u, across).mul(float32(0.7 + 0.3*smooth(0, -7, d)))
		return c, inside(-d)
	}
}

// inside is the cover at a depth (mm) within an edge.
func inside(d float64) float64 { return clamp01(d*0.5 + 0.5) }

// pictured takes the shape from a picture: what differs from the plain ground in its corners.
func pictured(p *plane.RGB) func(u, across float64) (vec, float64) {
	var back vec
	for _, k := range []int{0, p.W - 1, (p.H - 1) * p.W, p.H*p.W - 1} {
		back = back.add(v3(float64(plane.Linear8(p.Pix[3*k])), float64(plane.Linear8(p.Pix[3*k+1])), float64(plane.Linear8(p.Pix[3*k+2]))).mul(0.25))
	}
	scale := float64(p.W) / 120
	return func(u, across float64) (vec, float64) {
		// The hand comes in with its fingers first: the picture's top is its tip.
		x, y := int(across*scale+float64(p.W)/2), int(u*scale)
		if x < 0 || x >= p.W || y < 0 {
			return vec{}, 0
		}
		k := min(y, p.H-1)*p.W + x
		c := v3(float64(plane.Linear8(p.Pix[3*k])), float64(plane.Linear8(p.Pix[3*k+1])), float64(plane.Linear8(p.Pix[3*k+2])))
		d := c.sub(back)
		far := math.Sqrt(float64(d.dot(d))) / (0.02 + float64(back.len()))
		return c, smooth(0.15, 0.4, far)
	}
}

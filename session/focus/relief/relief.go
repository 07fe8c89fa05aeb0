// Package relief makes stacks of made-up textured reliefs with a known depth, for the tests
// and the bench of alignment and of the verdict. No surface hides another: what counts
// here is that every number is exactly known.
//
// Depth is told in units of blur. A thin lens draws a point of image distance v1, on a
// sensor at v0, as a disc of diameter (f/N) |v0 - v1| / v1: nearly linear in v1. So a
// relief gives every pixel a place, a frame is focused at a place, and the difference of the two is the
// diameter of the blur disc, in pixels.
package relief

import (
	"math"
	"math/rand/v2"
	"runtime"
	"sync"

	"stillbench/session/plane"
)

// Kind names a texture.
type Kind string

// The textures.
const (
	Fine   Kind = "fine"   // detail at every scale, amplitude falling as 1/f, as in most photographs
	Coarse Kind = "coarse" // blotches a few pixels wide, little below
	Smooth Kind = "smooth" // petals: faint veins on gradients
	Glossy Kind = "glossy" // fine grain and highlights that clip, and change from frame to frame
	Hairs  Kind = "hairs"  // thin crossing lines on a plain ground
)

// Kinds lists every texture.
var Kinds = []Kind{Fine, Coarse, Smooth, Glossy, Hairs}

// Subject is a relief with its texture, which can be shot at any focus.
type Subject struct {
	W, H  int
	Kind  Kind
	Place *plane.Plane // W x H: where each pixel is in focus

	margin  int
	places  *plane.Plane // with the margin
	lo, hi  float64      // least and greatest of them
	blurred under        // light, with the margin
	gleam   under        // and that of highlights whose strength a shot sets; empty but for Glossy
}

// diameters of the discs that the texture is kept under; between them it is interpolated.
var diameters = []float64{0, 0.7, 1.3, 2, 2.8, 3.8, 5, 6.6, 8.6, 11.5, 15.5, 21, 29, 40, 55}

// New makes a subject of w x h pixels. place gives, for x and y in 0..1 of the picture
// (beyond it in the margin), where the surface is in focus.
func New(kind Kind, w, h int, seed uint64, place func(x, y float64) float64) *Subject {
	s := laidOut(kind, w, h, place)
	mw, mh := s.places.W, s.places.H
	s.blurred.see(material(kind, mw, mh, rand.New(rand.NewPCG(seed, 0x7e11))))
	if kind == Glossy {
		s.gleam.see(gleams(mw, mh, rand.New(rand.NewPCG(seed, 0x91ea))))
	}
	return s
}

// laidOut is a subject without its texture.
func laidOut(kind Kind, w, h int, place func(x, y float64) float64) *Subject {
	s := &Subject{W: w, H: h, Kind: kind, margin: max(16, max(w, h)/14)}
	mw, mh := w+2*s.margin, h+2*s.margin
	s.places = plane.New(mw, mh)
	s.Place = plane.New(w, h)
	s.lo, s.hi = math.Inf(1), math.Inf(-1)
	for y := range mh {
		for x := range mw {
			v := float32(place((float64(x-s.margin)+0.5)/float64(w), (float64(y-s.margin)+0.5)/float64(h)))
			s.places.Pix[y*mw+x] = v
			s.lo, s.hi = min(s.lo, float64(v)), max(s.hi, float64(v))
			if ix, iy := x-s.margin, y-s.margin; ix >= 0 && iy >= 0 && ix < w && iy < h {
				s.Place.Pix[iy*w+ix] = v
			}
		}
	}
	return s
}

// under is light under discs of the diameters, the smaller ones first, as far as they were asked for.
type under struct {
	mu    sync.Mutex
	discs []*plane.Plane
}

// see takes in light without any blur.
func (u *under) see(sharp *plane.Plane) {
	// A lens is never sharper than this: diffraction, and the sensor's own filter.
	u.discs = append(u.discs, plane.Blur(sharp, sharp, 0.5))
}

// upTo gives the first n diameters' at least, nil where there is no light.
func (u *under) upTo(n int) []*plane.Plane {
	u.mu.Lock()
	defer u.mu.Unlock()
	for len(u.discs) > 0 && len(u.discs) < n {
		u.discs = append(u.discs, disc(u.discs[0], diameters[len(u.discs)]))
	}
	return u.discs
}

// between gives the last diameter that is no larger than d and has one after it.
func between(d float64) int {
	i := 0
	for i+2 < len(diameters) && d >= diameters[i+1] {
		i++
	}
	return i
}

// Shot says how one frame is taken.
type Shot struct {
	Place    float64          // in focus
	Move     plane.Similarity // how the frame lies on the unmoved one; the zero value is unmoved
	EV       float64          // exposure against the others
	Red      float64          // gain of red against the others, as EV
	Blue     float64          // and of blue
	Gleam    float64          // strength of the highlights that change, 0 to 1 (Glossy only)
	Noise    float64          // standard deviation of the noise at white, linear light 0..1; see ISO
	Camera   bool             // the noise is what a camera leaves of it (camera.go); else it is white
	SmearPX  float64          // length of a straight smear in pixels
	SmearDeg float64          // its direction, clockwise from the right
	ShakePX  float64          // blur without a direction, as the diameter of a disc of its variance
	Patch    *Patch           // a part of the subject that moved
	Seed     uint64
}

// Patch is a disc of the subject, in 0..1 of the picture's width and height, that lies
// shifted by DX, DY pixels.
type Patch struct{ X, Y, Radius, DX, DY float64 }

// ISO gives Noise for a sensitivity: photon noise of a full-frame sensor of about 24
// megapixels, whose pixels hold some 50 000 electrons at ISO 100 (common practice).
func ISO(iso float64) float64 { return math.Sqrt(iso / 100 / 50000) }

// Shoot takes a frame.
func (s *Subject) Shoot(shot Shot) *plane.RGB {
	if shot.Move.Scale == 0 {
		shot.Move = plane.Identity
	}
	mw, mh := s.places.W, s.places.H
	light := plane.New(mw, mh)
	most := between(max(math.Abs(s.lo-shot.Place), math.Abs(s.hi-shot.Place))) + 2
	blurred, gleam := s.blurred.upTo(most), s.gleam.upTo(most)
	share(mh, func(y int) {
		at := s.places.Row(y)
		out := light.Row(y)
		for x := range out {
			sx, sy := x, y
			if p := shot.Patch; p != nil {
				fx := (float64(x-s.margin)+0.5)/float64(s.W) - p.X
				fy := (float64(y-s.margin)+0.5)/float64(s.H) - p.Y
				if math.Hypot(fx*float64(s.W), fy*float64(s.H)) < p.Radius*float64(s.W) {
					sx, sy = min(max(x-int(p.DX), 0), mw-1), min(max(y-int(p.DY), 0), mh-1)
				}
			}
			d := math.Abs(float64(at[x]) - shot.Place)
			i := between(d)
			// Variance, and with it most of what a blur does, goes with the square.
			t := (d*d - diameters[i]*diameters[i]) / (diameters[i+1]*diameters[i+1] - diameters[i]*diameters[i])
			t = min(t, 1)
			a, b := blurred[i].Pix[sy*mw+sx], blurred[i+1].Pix[sy*mw+sx]
			out[x] = a + float32(t)*(b-a)
			if gleam != nil && shot.Gleam > 0 {
				a, b := gleam[i].Pix[sy*mw+sx], gleam[i+1].Pix[sy*mw+sx]
				out[x] += float32(shot.Gleam) * (a + float32(t)*(b-a))
			}
		}
	})
	if shot.ShakePX > 0 {
		// A disc's variance along an axis is a sixteenth of its diameter's square.
		plane.Blur(light, light, shot.ShakePX/4)
	}
	if shot.SmearPX > 0 {
		light = smear(light, shot.SmearPX, shot.SmearDeg)
	}
	if shot.Move != plane.Identity {
		// Warp brings a frame onto a reference; here the reference is brought to where the
		// frame has it.
		light = plane.Warp(nil, light, shot.Move.Inverse())
	}
	return s.expose(light, shot)
}

// expose cuts the margin off and makes a picture of light: tint, exposure, noise, encoding.
func (s *Subject) expose(light *plane.Plane, shot Shot) *plane.RGB {
	out := plane.NewRGB(s.W, s.H)
	gain := math.Exp2(shot.EV)
	tint := [3]float64{1.05 * math.Exp2(shot.Red), 1, 0.8 * math.Exp2(shot.Blue)}
	var noise [3]*plane.Plane
	if shot.Noise > 0 && shot.Camera {
		noise = cameraNoise(s.W, s.H, shot.Noise, shot.Seed)
	}
	share(s.H, func(y int) {
		r := rand.New(rand.NewPCG(shot.Seed, uint64(y)+0x9015e))
		row := light.Row(y + s.margin)[s.margin:]
		for x := range s.W {
			for c := range 3 {
				v := float64(row[x]) * gain * tint[c]
				if shot.Noise > 0 {
					unit := 0.0
					if shot.Camera {
						unit = float64(noise[c].Row(y)[x])
					} else {
						unit = r.NormFloat64()
					}
					v += unit * shot.Noise * math.Sqrt(max(v, 0)+0.002)
				}
				out.Pix[3*(y*s.W+x)+c] = plane.Encode8(float32(v))
			}
		}
	})
	return out
}

// texture makes light, about 0.03 to 0.6 (glossy: over 1 in highlights).
func texture(kind Kind, w, h int, r *rand.Rand) *plane.Plane {
	white := func() *plane.Plane {
		p := plane.New(w, h)
		for i := range p.Pix {
			p.Pix[i] = float32(r.NormFloat64())
		}
		return p
	}
	out := plane.New(w, h)
	// add puts in noise of one octave, made to unit variance, times amount.
	add := func(sigma, amount float64) {
		n := plane.Blur(nil, white(), sigma)
		sum := 0.0
		for _, v := range n.Pix {
			sum += float64(v * v)
		}
		k := float32(amount / math.Sqrt(sum/float64(len(n.Pix))))
		for i, v := range n.Pix {
			out.Pix[i] += k * v
		}
	}
	switch kind {
	case Fine:
		for _, s := range []float64{0, 1, 2, 4, 8, 16, 32} {
			add(s, 0.22)
		}
	case Coarse:
		add(0, 0.03)
		add(1, 0.06)
		for _, s := range []float64{2.5, 4, 8, 20} {
			add(s, 0.3)
		}
	case Smooth:
		add(0, 0.012)
		add(1, 0.02)
		add(2.5, 0.03)
		add(6, 0.05)
		add(40, 0.3)
		veins(out, r, 0.06)
	case Glossy:
		for _, s := range []float64{0, 1, 2, 4, 8, 16} {
			add(s, 0.12)
		}
		for range w * h / 9000 {
			spot(out, float64(r.IntN(w)), float64(r.IntN(h)), 0.7+1.5*r.Float64(), 1+2*r.Float64())
		}
	case Hairs:
		add(1, 0.03)
		add(30, 0.2)
		for range w * h / 1500 {
			line(out, r, 30+80*r.Float64(), 0.6*(r.Float64()-0.35))
		}
	}
	for i, v := range out.Pix {
		out.Pix[i] = float32(0.16 * math.Exp(1.1*float64(v)))
	}
	return out
}

// gleams are small highlights on nothing, up to twice as bright as white.
func gleams(w, h int, r *rand.Rand) *plane.Plane {
	out := plane.New(w, h)
	for range w * h / 12000 {
		spot(out, float64(r.IntN(w)), float64(r.IntN(h)), 0.6+1.6*r.Float64(), 0.3+1.7*r.Float64())
	}
	return out
}

// veins draws faint, long, nearly parallel curves.
func veins(p *plane.Plane, r *rand.Rand, depth float32) {
	for range p.W / 14 {
		x := float64(r.IntN(p.W))
		slope := 0.2 * r.NormFloat64()
		for y := range p.H {
			x += slope + 0.05*r.NormFloat64()
			if i := int(x); i >= 0 && i+1 < p.W {
				f := float32(x - math.Floor(x))
				p.Pix[y*p.W+i] -= depth * 2 * (1 - f)
				p.Pix[y*p.W+i+1] -= depth * 2 * f
			}
		}
	}
}

// spot adds a small bright disc.
func spot(p *plane.Plane, x, y, radius, height float64) {
	for j := int(y - radius - 1); j <= int(y+radius+1); j++ {
		for i := int(x - radius - 1); i <= int(x+radius+1); i++ {
			if i < 0 || j < 0 || i >= p.W || j >= p.H {
				continue
			}
			in := min(max(radius+0.5-math.Hypot(float64(i)-x, float64(j)-y), 0), 1)
			p.Pix[j*p.W+i] += float32(in * height)
		}
	}
}

// line draws a hair of the given length.
func line(p *plane.Plane, r *rand.Rand, length, height float64) {
	x, y := float64(r.IntN(p.W)), float64(r.IntN(p.H))
	s, c := math.Sincos(2 * math.Pi * r.Float64())
	bend := 0.01 * r.NormFloat64()
	for t := 0.0; t < length; t += 0.5 {
		i, j := int(x), int(y)
		if i >= 0 && j >= 0 && i+1 < p.W && j+1 < p.H {
			fx, fy := x-float64(i), y-float64(j)
			for k, w := range []float64{(1 - fx) * (1 - fy), fx * (1 - fy), (1 - fx) * fy, fx * fy} {
				p.Pix[(j+k/2)*p.W+i+k%2] += float32(height * w)
			}
		}
		x, y = x+0.5*c, y+0.5*s
		c, s = c-bend*s, s+bend*c
	}
}

// disc convolves with a uniform disc.
func disc(p *plane.Plane, diameter float64) *plane.Plane {
	if diameter == 0 {
		return p
	}
	if diameter > 12 {
		// A large disc, at half size: four times as fast, and nothing as fine is left.
		half := plane.Down(nil, p)
		return plane.Up(nil, disc(half, diameter/2), p.W, p.H)
	}
	weights, dx, dy := kernel(diameter)
	out := plane.New(p.W, p.H)
	share(p.H, func(y int) {
		row := out.Row(y)
		for k, w := range weights {
			src := p.Row(min(max(y+dy[k], 0), p.H-1))
			off := dx[k]
			lo, hi := max(0, -off), min(p.W, p.W-off)
			in, to := src[lo+off:hi+off], row[lo:hi]
			for i, v := range in {
				to[i] += w * v
			}
			for i := 0; i < lo; i++ {
				row[i] += w * src[0]
			}
			for i := hi; i < p.W; i++ {
				row[i] += w * src[p.W-1]
			}
		}
	})
	return out
}

// kernel samples a disc as far as pixels can hold it: the inverse transform of the
// disc's own, 2 J1(pi d f)/(pi d f), up to Nyquist. (Pixels weighed by how much of them the
// disc covers would be the disc blurred by a pixel, and no blur at all below a diameter of 1.)
func kernel(diameter float64) (weights []float32, dx, dy []int) {
	const n = 48 // frequencies along an axis
	r := int(diameter/2) + 5
	var transfer [n][n]float64
	for j := range n {
		for i := range n {
			f := math.Hypot(float64(i-n/2)/n, float64(j-n/2)/n)
			if x := math.Pi * diameter * f; x > 1e-9 {
				transfer[j][i] = 2 * math.J1(x) / x
			} else {
				transfer[j][i] = 1
			}
		}
	}
	// Separable: first along the rows of frequencies.
	half := make([][n]float64, 2*r+1)
	for x := -r; x <= r; x++ {
		for j := range n {
			for i := range n {
				half[x+r][j] += transfer[j][i] * math.Cos(2*math.Pi*float64(i-n/2)*float64(x)/n) / n
			}
		}
	}
	sum := float32(0)
	for y := -r; y <= r; y++ {
		for x := -r; x <= r; x++ {
			w := 0.0
			for j := range n {
				w += half[x+r][j] * math.Cos(2*math.Pi*float64(j-n/2)*float64(y)/n) / n
			}
			if math.Abs(w) > 0.0008 {
				weights, dx, dy = append(weights, float32(w)), append(dx, x), append(dy, y)
				sum += float32(w)
			}
		}
	}
	for k := range weights {
		weights[k] /= sum
	}
	return weights, dx, dy
}

// smear averages along a straight line.
func smear(p *plane.Plane, length, deg float64) *plane.Plane {
	s, c := math.Sincos(deg * math.Pi / 180)
	out := plane.New(p.W, p.H)
	n := max(3, int(4*length+0.5))
	for k := range n {
		t := ((float64(k)+0.5)/float64(n) - 0.5) * length
		moved := plane.Warp(nil, p, plane.Similarity{Scale: 1, DX: t * c, DY: t * s})
		for i, v := range moved.Pix {
			out.Pix[i] += v / float32(n)
		}
	}
	return out
}

// share calls do for 0..n-1 on all processors.
func share(n int, do func(i int)) {
	workers := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for k := range workers {
		wg.Go(func() {
			for i := n * k / workers; i < n*(k+1)/workers; i++ {
				do(i)
			}
		})
	}
	wg.Wait()
}

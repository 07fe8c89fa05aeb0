package bench

import (
	"math"
	"math/rand/v2"

	"stillbench/session/plane"
)

// The frames of the bench are made here, by the optics: a height field with a texture,
// lit by one lamp with shadows and some light from all around, cut into layers by
// depth; each layer is blurred by the disc that a thin lens draws of its depth and laid
// over those behind it. Blur diameter on the sensor: c = dz m² / (N (1+m)), from the
// depth of field 2 N c (1+m)/m² (design sheet, 1c, solved for c).

const (
	frameW, frameH = 512, 342
	sensorMM       = 36.0
	canvasW        = 760 // the table that can be looked at, in frame pixels at scale 1
	canvasH        = 520
	layers         = 9
)

// relief is a stage whose scenes are height fields with photographs for texture.
type relief struct {
	textures, hands []*plane.RGB
	m               float64 // magnification
	breathing       float64
	noise           float64
	field           *field
	lamp            lamp
	lit             *lit
	view            view
	bright          float64 // correction that makes the exposure right, stops
}

func newRelief(r *rand.Rand, textures, hands []*plane.RGB) *relief {
	return &relief{textures: textures, hands: hands, m: 0.25 + 0.9*r.Float64(), breathing: 0.06 * r.Float64(), noise: 0.008 + 0.03*r.Float64()*r.Float64()}
}

func (s *relief) compose(r *rand.Rand, _ bool) {
	if s.field == nil || r.IntN(3) > 0 {
		s.field = newField(r, s.textures)
		switch r.IntN(8) {
		case 0: // nearly black
			s.field.dim = 0.3
		case 1: // lit through
			s.field.glow = 0.5 + r.Float64()
		}
	}
	old := s.view
	for {
		s.view.x, s.view.y = (r.Float64()-0.5)*180, (r.Float64()-0.5)*120
		s.view.scale, s.view.turn = 0.85+0.7*r.Float64(), (r.Float64()-0.5)*0.6
		if math.Hypot(s.view.x-old.x, s.view.y-old.y) > 60 {
			break
		}
	}
	s.relight(r)
}

func (s *relief) relight(r *rand.Rand) {
	old := s.lit
	for range 8 {
		a := s.lamp.azimuth + math.Pi/4 + r.Float64()*1.5*math.Pi
		s.lamp = lamp{azimuth: a, elevation: 0.2 + r.Float64(), power: 1.2 + 0.6*r.Float64(), around: 0.05 + 0.25*r.Float64()}
		s.lit = s.field.under(s.lamp)
		if old == nil || old.scene != s.field || s.lit.unlike(old) > 0.35 {
			break
		}
	}
	// The camera is set for this light: the mean of the lit field at middle grey, but
	// a black set-up stays black.
	sum, n := 0.0, 0
	for _, p := range s.lit.rgb[1].Pix {
		if p > 0.03 {
			sum += float64(p)
			n++
		}
	}
	s.bright = 0
	if n > 0 && s.field.dim == 1 {
		s.bright = math.Log2(0.25 / (sum / float64(n)))
	}
}

func (s *relief) middle(r *rand.Rand) float64 {
	x := canvasW/2 + int(s.view.x) + r.IntN(80) - 40
	y := canvasH/2 + int(s.view.y) + r.IntN(60) - 30
	z := s.field.depth.Pix[min(max(y, 0), canvasH-1)*canvasW+min(max(x, 0), canvasW-1)]
	return float64(z) / s.field.deep
}

func (s *relief) shoot(r *rand.Rand, t shot) *plane.RGB {
	v := s.view
	v.m, v.n, v.focus, v.breathing, v.noise = s.m, t.n, t.focus*s.field.deep, s.breathing, s.noise
	v.stops = t.stops + s.bright
	v.x, v.y, v.turn = v.x+t.dx, v.y+t.dy, v.turn+t.turn
	var over *occluder
	if t.before >= 0 {
		over = newOccluder(r, s.hands, t.before)
		// It is the light before the lens that counts, not the correction of the scene.
		gain := float32(math.Exp2(-s.bright))
		for c := range over.rgb {
			for i := range over.rgb[c].Pix {
				over.rgb[c].Pix[i] *= gain
			}
		}
	}
	return s.lit.shoot(r, v, over)
}

// field is a subject on a table.
type field struct {
	albedo [3]*plane.Plane // linear light, canvasW x canvasH
	depth  *plane.Plane    // mm behind the nearest point
	deep   float64         // mm: depth of the subject
	behind float64         // mm: depth of the background
	glow   float64         // share of light that comes through from behind
	dim    float64         // brightness of everything
}

// lamp is where the light stands.
type lamp struct {
	azimuth, elevation float64 // radians; azimuth 0 at the camera
	power              float64
	around             float64 // light from all sides
}

// lit is a scene under a lamp.
type lit struct {
	scene *field
	rgb   [3]*plane.Plane
}

// view is where the camera looks and how it is set.
type view struct {
	x, y, scale, turn float64 // canvas pixels from the middle, magnification of it, radians
	m, n              float64 // magnification and f-number
	focus             float64 // mm behind the nearest point
	breathing         float64 // change of scale over the depth of the scene
	stops             float64 // exposure against the right one
	noise             float64 // standard deviation at middle grey
}

func newField(r *rand.Rand, textures []*plane.RGB) *field {
	s := &field{deep: 8 + 25*r.Float64(), dim: 1}
	s.behind = s.deep * (1.2 + 4*r.Float64())
	ground := cut(r, textures)
	skin := cut(r, textures)
	tint := [3]float32{float32(0.5 + 0.6*r.Float64()), float32(0.5 + 0.6*r.Float64()), float32(0.5 + 0.6*r.Float64())}
	if r.IntN(6) == 0 { // the colour of skin
		for c, v := range [3]float32{0.6, 0.34, 0.24} {
			for i, x := range skin[c].Pix {
				skin[c].Pix[i] = v * (0.5 + x)
			}
			tint[c] = 1
		}
	}
	flat := r.IntN(3)
	s.depth = plane.New(canvasW, canvasH)
	for c := range s.albedo {
		s.albedo[c] = plane.New(canvasW, canvasH)
	}
	bumps := newHills(r)
	cx, cy := canvasW*(0.42+0.16*r.Float64()), canvasH*(0.42+0.16*r.Float64())
	rx, ry := canvasW*(0.2+0.16*r.Float64()), canvasH*(0.25+0.2*r.Float64())
	shape, lean := r.IntN(3), r.Float64()*2*math.Pi
	table := r.IntN(2) == 0
	for y := range canvasH {
		for x := range canvasW {
			i := y*canvasW + x
			u, v := (float64(x)-cx)/rx, (float64(y)-cy)/ry
			q := u*math.Cos(lean) + v*math.Sin(lean)
			d := math.Hypot(u, v) * (1 + 0.15*math.Sin(5*math.Atan2(v, u)+lean))
			var up float64 // 0 at the rim, 1 at the nearest point
			switch shape {
			case 0:
				up = math.Sqrt(max(0, 1-d*d))
			case 1:
				up = max(0, 1-d)
			default:
				up = max(0, min(1, 0.5-0.5*q))
			}
			hill := bumps.at(float64(x), float64(y))
			var z float64
			if d < 1 {
				z = s.deep * (1 - up + 0.12*hill)
				for c := range 3 {
					s.albedo[c].Pix[i] = skin[c].Pix[i] * tint[c]
				}
			} else {
				z = s.behind
				if table { // nearer at the bottom of the picture
					z = s.deep * (1.4 - 1.1*(float64(y)/canvasH) + 0.04*hill)
				}
				for c := range 3 {
					switch flat {
					case 0:
						s.albedo[c].Pix[i] = 0.012
					case 1:
						s.albedo[c].Pix[i] = 0.55 + 0.1*float32(hill)
					default:
						s.albedo[c].Pix[i] = ground[c].Pix[i]
					}
				}
			}
			s.depth.Pix[i] = float32(max(0, z))
		}
	}
	return s
}

// cut takes a piece of a texture, turned over at random, in linear light.
func cut(r *rand.Rand, textures []*plane.RGB) [3]*plane.Plane {
	t := textures[r.IntN(len(textures))].Linear()
	x0, y0 := r.Float64(), r.Float64()
	zoom := 0.5 + r.Float64()
	flipX, flipY := r.IntN(2) == 0, r.IntN(2) == 0
	var out [3]*plane.Plane
	for c := range out {
		out[c] = plane.New(canvasW, canvasH)
		for y := range canvasH {
			for x := range canvasW {
				u, v := float64(x)*zoom+x0*float64(t[c].W), float64(y)*zoom+y0*float64(t[c].H)
				sx, sy := mirror(int(u), t[c].W), mirror(int(v), t[c].H)
				if flipX {
					sx = t[c].W - 1 - sx
				}
				if flipY {
					sy = t[c].H - 1 - sy
				}
				out[c].Pix[y*canvasW+x] = t[c].Pix[sy*t[c].W+sx]
			}
		}
	}
	return out
}

func mirror(i, n int) int {
	i %= 2 * n
	if i >= n {
		i = 2*n - 1 - i
	}
	return i
}

// hills is a sum of waves, about -1..1.
type hills [12][4]float64

func newHills(r *rand.Rand) hills {
	var h hills
	for i := range h {
		f := 0.01 * math.Pow(1.35, float64(i))
		a := r.Float64() * 2 * math.Pi
		h[i] = [4]float64{f * math.Cos(a), f * math.Sin(a), r.Float64() * 2 * math.Pi, 0.5 / math.Pow(1.35, float64(i)*0.8)}
	}
	return h
}

func (h *hills) at(x, y float64) float64 {
	sum := 0.0
	for _, w := range h {
		sum += w[3] * math.Sin(w[0]*x+w[1]*y+w[2])
	}
	return sum
}

// under lights a scene: Lambert's law, and a shadow where a straight line to the lamp
// runs into the height field.
func (s *field) under(l lamp) *lit {
	out := &lit{scene: s}
	for c := range out.rgb {
		out.rgb[c] = plane.New(canvasW, canvasH)
	}
	// Pixels a millimetre at scale 1 and magnification 0.5.
	const pitch = frameW / sensorMM * 0.5
	lx := math.Sin(l.azimuth) * math.Cos(l.elevation)
	ly := -math.Cos(l.azimuth) * math.Cos(l.elevation) * 0.3
	lz := math.Sin(l.elevation) * 0.6
	// A lamp in front shines along the view, one above from the top of the picture.
	lz += math.Cos(l.azimuth) * math.Cos(l.elevation) * 0.7
	ly -= math.Sin(l.elevation) * 0.7
	k := 1 / math.Sqrt(lx*lx+ly*ly+lz*lz)
	lx, ly, lz = lx*k, ly*k, lz*k
	height := func(x, y int) float64 {
		return -float64(s.depth.Pix[min(max(y, 0), canvasH-1)*canvasW+min(max(x, 0), canvasW-1)]) * pitch
	}
	for y := range canvasH {
		for x := range canvasW {
			h := height(x, y)
			nx, ny := (height(x-1, y)-height(x+1, y))/2, (height(x, y-1)-height(x, y+1))/2
			nx, ny = min(max(nx, -3), 3), min(max(ny, -3), 3)
			cos := (nx*lx + ny*ly + lz) / math.Sqrt(nx*nx+ny*ny+1)
			shade := max(0, cos)
			if shade > 0 {
				for t := 6.0; t < 130; t *= 1.4 {
					if height(x+int(lx*t), y+int(ly*t)) > h+lz*t+2 {
						shade *= 0.12
						break
					}
				}
			}
			e := float32((l.power*shade + l.around + s.glow) * s.dim)
			i := y*canvasW + x
			for c := range 3 {
				out.rgb[c].Pix[i] = s.albedo[c].Pix[i] * e
			}
		}
	}
	return out
}

// unlike is the mean difference of two lights on one scene, in stops, after the overall
// brightness is taken out.
func (l *lit) unlike(o *lit) float64 {
	var ratio []float64
	sum := 0.0
	for y := 0; y < canvasH; y += 8 {
		for x := 0; x < canvasW; x += 8 {
			i := y*canvasW + x
			d := math.Log2(float64(l.rgb[1].Pix[i])+0.004) - math.Log2(float64(o.rgb[1].Pix[i])+0.004)
			ratio = append(ratio, d)
			sum += d
		}
	}
	mean, out := sum/float64(len(ratio)), 0.0
	for _, d := range ratio {
		out += math.Abs(d - mean)
	}
	return out / float64(len(ratio))
}

// shoot takes one frame; over, where there is one, stands before the lens.
func (l *lit) shoot(r *rand.Rand, v view, over *occluder) *plane.RGB {
	s := l.scene
	sin, cos := math.Sincos(v.turn)
	// The framing breathes with the focus.
	scale := 1 / (v.scale * (1 + v.breathing*(v.focus/s.deep-0.5)))
	edge := float32(s.deep * 0.999 / (layers - 2))
	var colour [layers][3]*plane.Plane
	var alpha [layers]*plane.Plane
	for y := range frameH {
		for x := range frameW {
			fx, fy := float64(x)-frameW/2, float64(y)-frameH/2
			u := canvasW/2 + v.x + scale*(cos*fx-sin*fy)
			w := canvasH/2 + v.y + scale*(sin*fx+cos*fy)
			i, du, dw := bilinear(u, w)
			z := s.depth.Pix[i]
			k := min(int(z/edge), layers-1)
			if alpha[k] == nil {
				alpha[k] = plane.New(frameW, frameH)
				for c := range 3 {
					colour[k][c] = plane.New(frameW, frameH)
				}
			}
			o := y*frameW + x
			alpha[k].Pix[o] = 1
			for c := range 3 {
				p := l.rgb[c].Pix
				a := p[i] + (p[i+1]-p[i])*du
				b := p[i+canvasW] + (p[i+canvasW+1]-p[i+canvasW])*du
				colour[k][c].Pix[o] = a + (b-a)*dw
			}
		}
	}
	var out [3]*plane.Plane
	for c := range out {
		out[c] = plane.New(frameW, frameH)
	}
	weight := plane.New(frameW, frameH)
	for k := layers - 1; k >= 0; k-- {
		if alpha[k] == nil {
			continue
		}
		z := (float64(k) + 0.5) * float64(edge)
		if k == layers-1 {
			z = max(s.behind, s.deep)
		}
		d := math.Abs(z-v.focus) * v.m * v.m / (v.n * (1 + v.m)) / sensorMM * frameW
		sigma := d / 4 // a disc's standard deviation along an axis is a quarter of its diameter
		a := alpha[k]
		if sigma > 0.3 {
			a = plane.Blur(nil, a, sigma)
		}
		for c := range 3 {
			col := colour[k][c]
			if sigma > 0.3 {
				col = plane.Blur(nil, col, sigma)
			}
			for i, w := range a.Pix {
				out[c].Pix[i] = out[c].Pix[i]*(1-w) + col.Pix[i]
			}
		}
		for i, w := range a.Pix {
			weight.Pix[i] = weight.Pix[i]*(1-w) + w
		}
	}
	gain := float32(math.Exp2(v.stops))
	pic := plane.NewRGB(frameW, frameH)
	for i := range weight.Pix {
		k := gain / max(weight.Pix[i], 0.02)
		var rgb [3]float32
		for c := range 3 {
			rgb[c] = out[c].Pix[i] * k
		}
		if over != nil {
			a := over.alpha.Pix[i]
			for c := range 3 {
				rgb[c] = rgb[c]*(1-a) + over.rgb[c].Pix[i]*a*gain
			}
		}
		for c := range 3 {
			// Photon noise grows with the root of the light, a little is always there.
			n := v.noise * math.Sqrt(float64(max(rgb[c], 0))/0.18+0.02) * 0.18
			pic.Pix[3*i+c] = plane.Encode8(rgb[c] + float32(n*r.NormFloat64()))
		}
	}
	return pic
}

// bilinear gives the index of the upper left of the four canvas pixels around a point,
// and the shares of the right and the lower ones.
func bilinear(x, y float64) (i int, dx, dy float32) {
	x, y = min(max(x, 0), canvasW-1.001), min(max(y, 0), canvasH-1.001)
	return int(y)*canvasW + int(x), float32(x - math.Floor(x)), float32(y - math.Floor(y))
}

package scene

import (
	"math"

	"stillbench/session/plane"
)

// ViewOptions says how a scene is framed and lit. Zero fields take the stated default.
type ViewOptions struct {
	// W x H is the size of the frames in pixels; 768 x 512.
	W, H int
	// FieldMM is how much of the table the long side takes in at the target; 60.
	FieldMM float64
	// Target is the place, in millimetres, that the camera is pointed at. The camera's
	// reference focus is on the plane through it.
	Target [3]float64
	// ElevationDeg is how high the camera stands over the table: 90 looks straight
	// down; 48. Below about 25 the table's far edge comes into the picture.
	ElevationDeg float64
	// YawDeg turns the subject under the camera, lights staying with the camera.
	YawDeg float64
	// RollDeg turns the camera about its axis, clockwise as seen from behind it; 90 is
	// an upright frame, whose stored picture has to be turned clockwise by 90 degrees
	// (EXIF orientation 6).
	RollDeg float64
	// FocalMM and SensorMM (long side) are the camera's; 100 and 36.
	FocalMM, SensorMM float64
	// Lights are the lamps; one diffused lamp from the back left by default.
	Lights []Light
	// Ambient is the light of the room, as the illuminance on the table with nothing in
	// the way, in the unit of Light.Power; 0.12 of a lamp of power 1.
	Ambient float64
	// Exposure multiplies the light; 0 exposes so that one pixel in a hundred is
	// brighter than 0.8 of white.
	Exposure float64
	// Fine samples the lights more often and draws large blurs more crisply: for pictures
	// that are looked at. It takes half as long again.
	Fine bool
}

func (o ViewOptions) withDefaults() ViewOptions {
	def := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	if o.W == 0 || o.H == 0 {
		o.W, o.H = 768, 512
	}
	def(&o.FieldMM, 60)
	def(&o.ElevationDeg, 48)
	def(&o.FocalMM, 100)
	def(&o.SensorMM, 36)
	def(&o.Ambient, 0.12)
	if o.Lights == nil {
		o.Lights = []Light{{AzimuthDeg: 225, ElevationDeg: 50, SizeDeg: 12, Power: 1, Colour: Neutral}}
	}
	return o
}

// View is a scene framed and lit. Its pictures have a margin around the frame, so that
// frames that are shifted or breathe have something to show at their edges. A View is
// not changed by shooting and may be shot from several goroutines.
type View struct {
	Options ViewOptions
	// MarginX and MarginY are the width of the margin in pixels.
	MarginX, MarginY int
	// ReferenceMM is the distance from the lens, along its axis, of the target.
	ReferenceMM float64
	// Exposure is the factor by which the light was multiplied.
	Exposure float64

	w, h int // with the margin
	// front is R G B and coverage 0..1, four values a pixel, not yet multiplied by each
	// other; back is what stands behind it where something does (coverage 0 or 1).
	front, back           []float32
	frontDepth, backDepth []float32
}

// camera projects points of the scene.
type camera struct {
	eye, right, down, forward vec
	scale                     float32 // pixels from the centre = scale x across / depth
	cx, cy                    float32
}

func newCamera(o *ViewOptions, super int, w, h int) (camera, float64) {
	m := o.SensorMM / o.FieldMM
	dist := o.FocalMM * (1 + 1/m)
	dir := towards(o.YawDeg, o.ElevationDeg)
	target := v3(o.Target[0], o.Target[1], o.Target[2])
	// The camera's right lies level, 90 degrees on in azimuth.
	right := towards(o.YawDeg+90, 0)
	up := dir.cross(right)
	s, c := math.Sincos(o.RollDeg * math.Pi / 180)
	r := right.mul(float32(c)).sub(up.mul(float32(s)))
	u := up.mul(float32(c)).add(right.mul(float32(s)))
	long := float64(max(o.W, o.H) * super)
	return camera{
		eye: target.add(dir.mul(float32(dist))), right: r, down: u.mul(-1), forward: dir.mul(-1),
		scale: float32(long / o.FieldMM * dist), cx: float32(w*super) / 2, cy: float32(h*super) / 2,
	}, dist
}

func (c *camera) project(p vec) (x, y, z float32) {
	d := p.sub(c.eye)
	z = d.dot(c.forward)
	k := c.scale / z
	return c.cx + d.dot(c.right)*k, c.cy + d.dot(c.down)*k, z
}

// super is how many samples a pixel has along either axis.
const super = 2

// View frames and lights the scene.
func (s *Scene) View(options ViewOptions) *View {
	o := options.withDefaults()
	v := &View{Options: o}
	v.MarginX, v.MarginY = max(8, o.W/16), max(8, o.H/16)
	v.w, v.h = o.W+2*v.MarginX, o.H+2*v.MarginY
	cam, dist := newCamera(&o, super, v.w, v.h)
	v.ReferenceMM = dist

	spacing := o.FieldMM / float64(max(o.W, o.H))
	perLight, sky := 12, 16
	if o.Fine {
		perLight, sky = 20, 24
	}
	patches := s.patches(&o, v.w, v.h, spacing)
	world := o
	world.Lights = append([]Light(nil), o.Lights...)
	for i := range world.Lights {
		world.Lights[i].AzimuthDeg += o.YawDeg
	}
	shade(patches, rays(&world, perLight, sky), cam.eye, spacing, &world, v.seen(patches, gap(spacing)))
	v.rasterise(patches, &cam, gap(spacing))
	v.expose()
	return v
}

// gap is how far behind what is in front something has to be, in millimetres, to be kept as
// what is behind it.
func gap(spacing float64) float32 { return float32(max(0.4, 8*spacing)) }

// seen tells, from a first drawing in pixels, whether a point can be in the view's front or
// back: light is reckoned for no other.
func (v *View) seen(patches []*patch, gap float32) func(at vec) bool {
	cam, _ := newCamera(&v.Options, 1, v.w, v.h)
	front, back := v.drawTwice(patches, &cam, 1, gap)
	return func(at vec) bool {
		px, py, z := cam.project(at)
		x, y := int(px), int(py)
		if z < 1 || px < -2 || py < -2 || x > v.w+1 || y > v.h+1 {
			return false
		}
		for j := max(y-1, 0); j <= min(y+1, v.h-1); j++ {
			for i := max(x-1, 0); i <= min(x+1, v.w-1); i++ {
				k := j*v.w + i
				if z <= front.depth[k]+gap || math.Abs(float64(z-back.depth[k])) <= float64(gap) {
					return true
				}
			}
		}
		return false
	}
}

// drawTwice draws what is in front, and what is at least gap behind it.
func (v *View) drawTwice(patches []*patch, cam *camera, super int, gap float32) (front, back *canvas) {
	w, h := v.w*super, v.h*super
	front, back = newCanvas(w, h), newCanvas(w, h)
	const bands = 8
	share(bands, func(i int) { draw(patches, cam, front, nil, 0, h*i/bands, h*(i+1)/bands) })
	share(bands, func(i int) { draw(patches, cam, back, front, gap, h*i/bands, h*(i+1)/bands) })
	return front, back
}

// patches divides the scene's parts and the ground that the camera sees.
func (s *Scene) patches(o *ViewOptions, w, h int, spacing float64) []*patch {
	made := make([][]*patch, len(s.parts))
	share(len(s.parts), func(i int) { made[i] = s.parts[i](spacing * 1.15) })
	var out []*patch
	for _, m := range made {
		out = append(out, m...)
	}
	// Where the picture's corners meet the table, with something to spare.
	cam, dist := newCamera(o, 1, w, h)
	x0, y0, x1, y1 := math.MaxFloat64, math.MaxFloat64, -math.MaxFloat64, -math.MaxFloat64
	for _, c := range [][2]float64{{0, 0}, {1, 0}, {0, 1}, {1, 1}} {
		px, py := (float32(float64(w)*c[0])-cam.cx)/cam.scale, (float32(float64(h)*c[1])-cam.cy)/cam.scale
		d := cam.forward.add(cam.right.mul(px)).add(cam.down.mul(py))
		t := float32(3 * dist) // a corner above the horizon
		if d.Z < 0 {
			t = min(t, (cam.eye.Z+3)/-d.Z)
		}
		p := cam.eye.add(d.mul(t))
		x0, y0 = min(x0, float64(p.X)), min(y0, float64(p.Y))
		x1, y1 = max(x1, float64(p.X)), max(y1, float64(p.Y))
	}
	// A table of three fields is enough; points grow sparser with its size.
	c, limit := o.Target, 1.6*o.FieldMM
	x0, y0 = max(x0-2, c[0]-limit), max(y0-2, c[1]-limit)
	x1, y1 = min(x1+2, c[0]+limit), min(y1+2, c[1]+limit)
	return append(out, s.ground.patches(x0, y0, x1, y1, spacing)...)
}

// target is a z-buffer with colour.
type canvas struct {
	w, h  int
	depth []float32
	pix   []vec
}

func newCanvas(w, h int) *canvas {
	c := &canvas{w: w, h: h, depth: make([]float32, w*h), pix: make([]vec, w*h)}
	for i := range c.depth {
		c.depth[i] = math.MaxFloat32
	}
	return c
}

// rasterise makes the view's two layers.
func (v *View) rasterise(patches []*patch, cam *camera, gap float32) {
	front, back := v.drawTwice(patches, cam, super, gap)
	n := v.w * v.h
	v.front, v.back = make([]float32, 4*n), make([]float32, 4*n)
	v.frontDepth, v.backDepth = make([]float32, n), make([]float32, n)
	far := float32(v.ReferenceMM * 2)
	share(v.h, func(y int) {
		for x := range v.w {
			v.resolve(x, y, front, back, gap, far)
		}
	})
	v.keepBackNearEdges()
}

// resolve makes one pixel of its samples: those on the nearest surface are the front, the
// others and what lies behind the front are the back.
func (v *View) resolve(x, y int, front, back *canvas, gap, far float32) {
	near := float32(math.MaxFloat32)
	var at [super * super]int
	for i := range at {
		at[i] = (y*super+i/super)*front.w + x*super + i%super
		near = min(near, front.depth[at[i]])
	}
	k := y*v.w + x
	if near == math.MaxFloat32 { // past the table's end: a dark room
		v.frontDepth[k], v.backDepth[k] = far, far
		v.front[4*k+3] = 1
		return
	}
	var fc, bc vec
	fn, bn, bd := 0, 0, float32(0)
	for _, i := range at {
		switch {
		case front.depth[i] <= near+gap:
			fc, fn = fc.add(front.pix[i]), fn+1
			if back.depth[i] < math.MaxFloat32 {
				bc, bn, bd = bc.add(back.pix[i]), bn+1, bd+back.depth[i]
			}
		case front.depth[i] < math.MaxFloat32:
			bc, bn, bd = bc.add(front.pix[i]), bn+1, bd+front.depth[i]
		default:
			bn, bd = bn+1, bd+far
		}
	}
	fc = fc.mul(1 / float32(fn))
	v.front[4*k], v.front[4*k+1], v.front[4*k+2] = fc.X, fc.Y, fc.Z
	v.front[4*k+3] = float32(fn) / (super * super)
	v.frontDepth[k] = near
	if bn > 0 {
		bc = bc.mul(1 / float32(bn))
		v.back[4*k], v.back[4*k+1], v.back[4*k+2], v.back[4*k+3] = bc.X, bc.Y, bc.Z, 1
		v.backDepth[k] = bd / float32(bn)
	} else {
		v.front[4*k+3] = 1
	}
}

// keepBackNearEdges forgets what is hidden far from any edge, where no blur would ever show
// it: it would only shine through.
func (v *View) keepBackNearEdges() {
	reach := max(8, v.Options.W/24)
	near := make([]bool, v.w*v.h)
	// An edge pixel is one beside which the front is farther away by half a percent.
	for y := range v.h - 1 {
		for x := range v.w - 1 {
			k := y*v.w + x
			a := v.frontDepth[k]
			for _, o := range []int{1, v.w} {
				if d := v.frontDepth[k+o] - a; d > 0.005*a || -d > 0.005*a {
					near[k], near[k+o] = true, true
				}
			}
		}
	}
	spreadBools(near, v.w, v.h, reach)
	for k, keep := range near {
		if !keep {
			v.back[4*k+3] = 0
			v.front[4*k+3] = 1
		}
	}
}

// spreadBools sets everything within reach (along rows, then columns) of a true.
func spreadBools(b []bool, w, h, reach int) {
	line := func(at func(i int) *bool, n int) {
		last := -reach - 1
		src := make([]bool, n)
		for i := range n {
			src[i] = *at(i)
		}
		for i := range n {
			if src[i] {
				last = i
			}
			*at(i) = i-last <= reach
		}
		last = n + reach
		for i := n - 1; i >= 0; i-- {
			if src[i] {
				last = i
			}
			if last-i <= reach {
				*at(i) = true
			}
		}
	}
	for y := range h {
		line(func(i int) *bool { return &b[y*w+i] }, w)
	}
	for x := range w {
		line(func(i int) *bool { return &b[i*w+x] }, h)
	}
}

// draw puts the quads of all patches on rows y0..y1 of a canvas, nearest first; behind
// another canvas only what is farther than it by more than gap.
func draw(patches []*patch, cam *camera, on, behind *canvas, gap float32, y0, y1 int) {
	var px, py, pz []float32
	for _, p := range patches {
		n := len(p.at)
		if cap(px) < n {
			px, py, pz = make([]float32, n), make([]float32, n), make([]float32, n)
		}
		px, py, pz = px[:n], py[:n], pz[:n]
		any := false
		for i, at := range p.at {
			px[i], py[i], pz[i] = cam.project(at)
			any = any || (py[i] >= float32(y0)-50 && py[i] <= float32(y1)+50)
		}
		if !any {
			continue
		}
		t := triangles{cam: cam, p: p, x: px, y: py, z: pz, on: on, behind: behind, gap: gap, y0: y0, y1: y1}
		for j := range p.nv - 1 {
			for i := range p.nu - 1 {
				a := j*p.nu + i
				b, c, d := a+1, a+p.nu, a+p.nu+1
				if p.skip != nil && (p.skip[a] || p.skip[b] || p.skip[c] || p.skip[d]) {
					continue
				}
				lo, hi := min(py[a], py[b], py[c], py[d]), max(py[a], py[b], py[c], py[d])
				if hi < float32(y0) || lo > float32(y1) || pz[a] < 1 {
					continue
				}
				if !p.twoSided {
					// Away from the camera by all four normals: the far side.
					to := cam.eye.sub(p.at[a])
					if p.normal[a].dot(to) < 0 && p.normal[b].dot(to) < 0 && p.normal[c].dot(to) < 0 && p.normal[d].dot(to) < 0 {
						continue
					}
				}
				t.fill(a, b, c)
				t.fill(d, c, b)
			}
		}
	}
}

type triangles struct {
	cam        *camera
	p          *patch
	x, y, z    []float32
	on, behind *canvas
	gap        float32
	y0, y1     int
}

func (t *triangles) fill(a, b, c int) {
	ax, ay, bx, by, cx, cy := t.x[a], t.y[a], t.x[b], t.y[b], t.x[c], t.y[c]
	area := (bx-ax)*(cy-ay) - (by-ay)*(cx-ax)
	if area == 0 || area != area {
		return
	}
	inv := 1 / area
	// Pixel centres are at halves.
	x0, x1 := max(int(min(ax, bx, cx)+0.5), 0), min(int(max(ax, bx, cx)+0.5), t.on.w)
	y0, y1 := max(int(min(ay, by, cy)+0.5), t.y0), min(int(max(ay, by, cy)+0.5), t.y1)
	for y := y0; y < y1; y++ {
		fy := float32(y) + 0.5
		for x := x0; x < x1; x++ {
			fx := float32(x) + 0.5
			wc := ((bx-ax)*(fy-ay) - (by-ay)*(fx-ax)) * inv
			wb := ((fx-ax)*(cy-ay) - (fy-ay)*(cx-ax)) * inv
			wa := 1 - wb - wc
			const e = -1e-4
			if wa < e || wb < e || wc < e {
				continue
			}
			z := wa*t.z[a] + wb*t.z[b] + wc*t.z[c]
			k := y*t.on.w + x
			if z >= t.on.depth[k] || (t.behind != nil && z <= t.behind.depth[k]+t.gap) {
				continue
			}
			t.on.depth[k] = z
			l := t.p.lit
			t.on.pix[k] = vec{
				wa*l[a].X + wb*l[b].X + wc*l[c].X,
				wa*l[a].Y + wb*l[b].Y + wc*l[c].Y,
				wa*l[a].Z + wb*l[b].Z + wc*l[c].Z,
			}
		}
	}
}

// expose multiplies the light so that it fits between black and white.
func (v *View) expose() {
	k := v.Options.Exposure
	if k == 0 {
		const bins = 4096
		var hist [bins]int
		for i := 0; i < len(v.front); i += 4 {
			y := 0.2126*v.front[i] + 0.7152*v.front[i+1] + 0.0722*v.front[i+2]
			hist[min(max(int(float64(y)*bins/4), 0), bins-1)]++
		}
		left := len(v.front) / 4 / 100
		b := bins - 1
		for b > 1 && left > hist[b] {
			left -= hist[b]
			b--
		}
		k = 0.8 / (float64(b) * 4 / bins)
	}
	v.Exposure = k
	for _, layer := range [][]float32{v.front, v.back} {
		for i := 0; i < len(layer); i += 4 {
			layer[i] *= float32(k)
			layer[i+1] *= float32(k)
			layer[i+2] *= float32(k)
		}
	}
}

// Sharp is the frame with everything in focus, as linear light in R, G and B (1 is white),
// W x H pixels, without margin, noise or vignetting.
func (v *View) Sharp() [3]*plane.Plane {
	out := [3]*plane.Plane{plane.New(v.Options.W, v.Options.H), plane.New(v.Options.W, v.Options.H), plane.New(v.Options.W, v.Options.H)}
	v.inside(func(k, i int) {
		a := v.front[4*i+3]
		for c := range 3 {
			out[c].Pix[k] = a*v.front[4*i+c] + (1-a)*v.back[4*i+c]
		}
	})
	return out
}

// Depth is the distance from the lens along its axis, in millimetres, of what the frame
// shows at each pixel: the truth that a depth map is to be held against. It is W x H pixels.
func (v *View) Depth() *plane.Plane {
	out := plane.New(v.Options.W, v.Options.H)
	v.inside(func(k, i int) { out.Pix[k] = v.frontDepth[i] })
	return out
}

// inside calls do for each pixel k of the frame, with its place i in the larger picture.
func (v *View) inside(do func(k, i int)) {
	for y := range v.Options.H {
		for x := range v.Options.W {
			do(y*v.Options.W+x, (y+v.MarginY)*v.w+x+v.MarginX)
		}
	}
}

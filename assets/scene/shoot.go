package scene

/*
#cgo CFLAGS: -O3 -std=c11
#cgo LDFLAGS: -lm
#include "lens.h"
*/
import "C"

import (
	"math"
	"math/rand/v2"
	"sync"
	"unsafe"

	"stillbench/session/plane"
)

// Shot is one exposure of a view. The zero Shot is a pinhole's: all sharp, noiseless, still.
type Shot struct {
	// FNumber is the marked f-number; 0 is a pinhole, everything sharp.
	FNumber float64
	// FocusMM is the distance from the lens of the plane in focus; 0 is the target's.
	FocusMM float64
	// Steady keeps the picture's size as the lens is focused; otherwise it breathes as a
	// thin lens does.
	Steady bool
	// ShiftX and ShiftY (pixels, right and down) and TurnDeg (clockwise) say how this
	// frame lies on one that is not moved.
	ShiftX, ShiftY, TurnDeg float64
	// MotionPX is how far the picture moved during the exposure, MotionDeg in which
	// direction (0 right, 90 down).
	MotionPX, MotionDeg float64
	// EV is the exposure against the view's, in stops.
	EV float64
	// Balance multiplies R, G and B, for a wrong white balance; zero is 1 1 1.
	Balance [3]float64
	// ISO sets the noise; 0 is none.
	ISO int
	// VignetteEV is how much darker the corners are, in stops.
	VignetteEV float64
	// Veil is stray light over the whole picture, as a share of white.
	Veil float64
	// Before is something held before the lens, or nil.
	Before *Occluder
	// Seed of the noise.
	Seed uint64
}

// sensorDistance is v = f z/(z - f), in millimetres.
func sensorDistance(f, z float64) float64 { return f * z / (z - f) }

// pitch is the size of a pixel on the sensor in millimetres.
func (v *View) pitch() float64 {
	return v.Options.SensorMM / float64(max(v.Options.W, v.Options.H))
}

func (v *View) focus(s Shot) float64 {
	if s.FocusMM == 0 {
		return v.ReferenceMM
	}
	return s.FocusMM
}

// Transform says how the shot lies on the view: where a detail of the view's Sharp and Depth
// pictures is in the shot.
func (v *View) Transform(s Shot) plane.Similarity {
	scale := 1.0
	if !s.Steady {
		f := v.Options.FocalMM
		scale = sensorDistance(f, v.focus(s)) / sensorDistance(f, v.ReferenceMM)
	}
	return plane.Similarity{Scale: scale, Turn: s.TurnDeg * math.Pi / 180, DX: s.ShiftX, DY: s.ShiftY}
}

// CircleOfConfusion is the diameter, in pixels of the shot, of the disc that each point of
// the view's frame is drawn as: W x H pixels, in the view's own place (before Transform).
func (v *View) CircleOfConfusion(s Shot) *plane.Plane {
	out := v.Depth()
	k := v.Transform(s).Scale
	for i, z := range out.Pix {
		out.Pix[i] = float32(2 * k * math.Abs(v.blur(s, float64(z))))
	}
	return out
}

// blur is the radius of a point's disc in pixels of the view, positive behind the plane in
// focus.
func (v *View) blur(s Shot, z float64) float64 {
	if s.FNumber == 0 {
		return 0
	}
	f := v.Options.FocalMM
	return f / s.FNumber * sensorDistance(f, v.ReferenceMM) * (1/v.focus(s) - 1/z) / 2 / v.pitch()
}

// MagnificationAt is the magnification of the shot in its plane of focus, f/(z - f).
func (v *View) MagnificationAt(s Shot) float64 {
	return v.Options.FocalMM / (v.focus(s) - v.Options.FocalMM)
}

// Shoot exposes one frame, W x H pixels. It panics if the focus is at the focal length or
// nearer, where no picture forms.
func (v *View) Shoot(s Shot) *plane.RGB {
	if v.focus(s) <= v.Options.FocalMM {
		panic("scene: the lens cannot focus as near as its focal length")
	}
	b := buffers.Get().(*scratch)
	defer buffers.Put(b)
	pix := v.expose4(b, s)
	frame := v.place(b, pix, s)
	if s.Before != nil {
		v.hide(frame, s)
	}
	return v.develop(frame, s)
}

// JPEG is Shoot, written as a JPEG of the given quality with colour at half resolution.
func (v *View) JPEG(s Shot, quality int) ([]byte, error) {
	return plane.EncodeJPEG(v.Shoot(s), quality, true)
}

// scratch is memory that shots reuse.
type scratch struct {
	s              []float32 // blur of each pixel
	lo, hi         []float32 // of each row
	out, behind    []float32
	cells, blurred []float32
	frame, extra   []float32
	first, last    []C.int
}

var buffers = sync.Pool{New: func() any { return &scratch{} }}

func grow(p *[]float32, n int) []float32 {
	if cap(*p) < n {
		*p = make([]float32, n)
	}
	*p = (*p)[:n]
	return *p
}

func ptr(p []float32) *C.float { return (*C.float)(unsafe.Pointer(unsafe.SliceData(p))) }

// steps are the blur radii that slices stand at, in pixels: fine where a difference shows.
// The last is never reached.
var steps = []float64{0, 0.5, 1.1, 1.8, 2.7, 3.8, 5.2, 7, 9.4, 12.5, 16.5, 22, 29, 38, 50, 66, 88, 116, 154, 204, 270, 1e6}

// expose4 is the picture in focus and out of it, with margin, in linear light. Each of the
// view's two layers is cut into slices of equal blur, which are blurred by their discs and laid
// over each other, the farthest first; then the front is laid over the back, so that where a
// blurred edge lets light by there is something behind it.
func (v *View) expose4(b *scratch, s Shot) []float32 {
	n := v.w * v.h
	out := grow(&b.out, 4*n)
	if s.FNumber == 0 {
		for i := 0; i < 4*n; i += 4 {
			a := v.front[i+3]
			for c := range 3 {
				out[i+c] = a*v.front[i+c] + (1-a)*v.back[i+c]
			}
			out[i+3] = 1
		}
		return out
	}
	behind := grow(&b.behind, 4*n)
	v.layAll(b, s, behind, v.back, v.backDepth)
	v.layAll(b, s, out, v.front, v.frontDepth)
	C.settle(ptr(out), ptr(behind), C.int(n))
	return out
}

// layAll draws one layer through the lens.
func (v *View) layAll(b *scratch, s Shot, out, layer, depth []float32) {
	clear(out)
	// blur(z) = p - q/z.
	p := v.blur(s, math.Inf(1))
	q := float32((p - v.blur(s, 1000)) * 1000)
	blur := grow(&b.s, v.w*v.h)
	rowLo, rowHi := grow(&b.lo, v.h), grow(&b.hi, v.h)
	lo, hi := float32(math.MaxFloat32), float32(-math.MaxFloat32)
	for y := range v.h {
		l, u := float32(math.MaxFloat32), float32(-math.MaxFloat32)
		for i := y * v.w; i < (y+1)*v.w; i++ {
			if layer[4*i+3] > 0 {
				d := float32(p) - q/depth[i]
				blur[i] = d
				l, u = min(l, d), max(u, d)
			}
		}
		rowLo[y], rowHi[y] = l, u
		lo, hi = min(lo, l), max(hi, u)
	}
	// Slices from the farthest to the nearest; the outermost stand at more blur than a
	// view can have.
	n := len(steps)
	at := func(k int) float32 {
		if k < n {
			return float32(steps[n-1-k])
		}
		return float32(-steps[k-n+1])
	}
	for k := 1; k < 2*n-2; k++ {
		if start, full, stop := at(k-1), at(k), at(k+1); lo < start && hi > stop {
			v.laySlice(b, out, layer, math.Abs(float64(full)), start, full, stop)
		}
	}
}

// laySlice blurs one slice of a layer by a disc of radius r and lays it over out.
func (v *View) laySlice(b *scratch, out, layer []float32, r float64, start, full, stop float32) {
	// Large discs are drawn on coarser cells, a crisp one of three to six of them in radius.
	level, most := 0, 2.8
	if v.Options.Fine {
		most = 6
	}
	for r/float64(int(1)<<level) > most {
		level++
	}
	w, h := (v.w+1<<level-1)>>level, (v.h+1<<level-1)>>level
	kernel, kr := disc(r, level)
	reach := kr + 1
	// Rows of the picture that have a part in the slice, and of cells that it can reach.
	y0, y1 := v.h, -1
	for y := range v.h {
		if b.lo[y] < start && b.hi[y] > stop {
			y0, y1 = min(y0, y), y
		}
	}
	if y1 < 0 {
		return
	}
	c0, c1 := max(y0>>level-reach, 0), min(y1>>level+reach+1, h)
	cells := grow(&b.cells, 4*w*h)
	clear(cells[4*w*c0 : 4*w*c1])
	if cap(b.first) < h {
		b.first, b.last = make([]C.int, h), make([]C.int, h)
	}
	first, last := b.first[:h], b.last[:h]
	for i := range first {
		first[i], last[i] = C.int(w), -1
	}
	weight := 1 / float64(int(1)<<(2*level)) // a cell is the mean of its pixels
	for y := y0; y <= y1; y++ {
		if b.lo[y] >= start || b.hi[y] <= stop {
			continue
		}
		a, c, t := cellsOf(y, level, h)
		from, to := min(first[a], first[c]), max(last[a], last[c])
		C.slice(ptr(cells[4*w*a:]), ptr(cells[4*w*c:]), C.float((1-t)*weight), C.float(t*weight),
			ptr(layer[4*v.w*y:]), ptr(b.s[v.w*y:]), C.int(v.w), C.int(w), C.int(level),
			C.float(start), C.float(full), C.float(stop), &from, &to)
		for _, i := range [2]int{a, c} {
			first[i], last[i] = min(first[i], from), max(last[i], to)
		}
	}
	blurred := cells
	if kr > 0 {
		blurred = grow(&b.blurred, 4*w*h)
		clear(blurred[4*w*c0 : 4*w*c1])
	}
	// The columns of each row of cells that the slice reaches.
	rows := make([]C.long, 2*kr+1)
	left, right := make([]int, h), make([]int, h)
	for y := c0; y < c1; y++ {
		x0, x1 := C.int(w), C.int(-1)
		for j := range rows {
			rows[j] = -1
			if i := y + j - kr; i >= 0 && i < h && last[i] >= 0 {
				rows[j] = C.long(i * w)
				x0, x1 = min(x0, first[i]), max(x1, last[i])
			}
		}
		left[y], right[y] = w, 0
		if x1 < 0 {
			continue
		}
		from, to := max(x0-C.int(kr), 0), min(x1+C.int(kr)+1, C.int(w))
		left[y], right[y] = int(from), int(to)
		if kr > 0 {
			C.convolve(ptr(blurred[4*w*y:]), ptr(cells), &rows[0], ptr(kernel), C.int(kr), C.int(w), from, to)
		}
	}
	for y := c0 << level; y < min(c1<<level, v.h); y++ {
		a, c, t := cellsOf(y, level, h)
		a, c = max(a, c0), min(c, c1-1)
		// Interpolation goes half a cell beyond.
		x0, x1 := min(left[a], left[c])<<level, max(right[a], right[c])<<level
		if level > 0 {
			x0, x1 = x0-(1<<level), x1+(1<<level)
		}
		if x0 = max(x0, 0); x0 < min(x1, v.w) {
			C.lay(ptr(out[4*v.w*y:]), C.int(x0), C.int(min(x1, v.w)), ptr(blurred[4*w*a:]), ptr(blurred[4*w*c:]),
				C.float(1-t), C.float(t), C.int(w), C.int(level))
		}
	}
}

// cellsOf gives the two rows of cells, of h in all, whose middles a row of pixels lies
// between, and how near it is to the second.
func cellsOf(y, level, h int) (a, b int, t float64) {
	if level == 0 {
		return y, y, 0
	}
	f := (float64(y)+0.5)/float64(int(1)<<level) - 0.5
	a = int(math.Floor(f))
	return max(a, 0), min(a+1, h-1), f - float64(a)
}

type discKey struct {
	r     float64
	level int
}

var discs sync.Map // discKey to discKernel

type discKernel struct {
	k []float32
	r int
}

// disc is the kernel of a disc of radius r pixels on cells of 1 << level pixels, and its
// reach in cells. Its variance along an axis is a disc's, r*r/4, less what sharing pixels out
// over cells and interpolating between cells bring of their own: 1/6 + 4^-level/12 square
// cells each, on average over a pixel's places in a cell.
func disc(r float64, level int) ([]float32, int) {
	if r == 0 {
		return nil, 0
	}
	key := discKey{r, level}
	if d, ok := discs.Load(key); ok {
		return d.(discKernel).k, d.(discKernel).r
	}
	rc := r / float64(int(1)<<level)
	want := rc * rc / 4
	if level > 0 {
		want -= 1.0/3 + math.Pow(4, -float64(level))/6
	}
	var d discKernel
	if want < 0.2 {
		// Too small to draw: three weights along either axis.
		e := float32(max(want, 0) / 2)
		line := []float32{e, 1 - 2*e, e}
		d = discKernel{make([]float32, 9), 1}
		for i := range 9 {
			d.k[i] = line[i/3] * line[i%3]
		}
	} else {
		// Drawing a disc on a grid adds to its variance; look for the one that has it.
		lo, hi := 0.0, rc
		for range 24 {
			d = drawDisc((lo + hi) / 2)
			if d.variance() < want {
				lo = (lo + hi) / 2
			} else {
				hi = (lo + hi) / 2
			}
		}
	}
	discs.Store(key, d)
	return d.k, d.r
}

// variance along one axis, in square cells.
func (d discKernel) variance() float64 {
	sum, w := 0.0, 2*d.r+1
	for i, k := range d.k {
		x := float64(i%w - d.r)
		sum += x * x * float64(k)
	}
	return sum
}

// drawDisc gives each cell the share of the disc that lies in it.
func drawDisc(r float64) discKernel {
	reach := max(int(math.Ceil(r-0.5)), 1)
	w := 2*reach + 1
	k := make([]float64, w*w)
	sum := 0.0
	const sub = 16
	for i := range w * w {
		for j := range sub * sub {
			x := float64(i%w-reach) + (float64(j%sub)+0.5)/sub - 0.5
			y := float64(i/w-reach) + (float64(j/sub)+0.5)/sub - 0.5
			if x*x+y*y <= r*r {
				k[i]++
				sum++
			}
		}
	}
	out := make([]float32, w*w)
	for i := range k {
		out[i] = float32(k[i] / sum)
	}
	return discKernel{out, reach}
}

const phases = 1024

// lanczos holds the weights of the six pixels around each fractional position.
var lanczos = func() []float32 {
	sinc := func(x float64) float64 {
		if x == 0 {
			return 1
		}
		return math.Sin(math.Pi*x) / (math.Pi * x)
	}
	out := make([]float32, 6*(phases+1))
	for i := range phases + 1 {
		var w [6]float64
		sum := 0.0
		for j := range w {
			x := float64(j-2) - float64(i)/phases
			w[j] = sinc(x) * sinc(x/3)
			sum += w[j]
		}
		for j := range w {
			out[6*i+j] = float32(w[j] / sum)
		}
	}
	return out
}()

// place cuts the frame out of the larger picture as the shot lies on it, smeared along
// its motion, and softened by diffraction where that shows.
func (v *View) place(b *scratch, pix []float32, s Shot) []float32 {
	o := &v.Options
	frame := grow(&b.frame, 4*o.W*o.H)
	samples := 1
	if s.MotionPX > 0 {
		samples = int(math.Ceil(s.MotionPX)) + 1
	}
	sin, cos := math.Sincos(s.MotionDeg * math.Pi / 180)
	extra := frame
	if samples > 1 {
		extra = grow(&b.extra, 4*o.W*o.H)
		clear(frame)
	}
	for i := range samples {
		moved := s
		if samples > 1 {
			along := s.MotionPX * (float64(i)/float64(samples-1) - 0.5)
			moved.ShiftX += along * cos
			moved.ShiftY += along * sin
		}
		v.resample(extra, pix, v.Transform(moved).Inverse())
		if samples > 1 {
			k := 1 / float32(samples)
			for j, x := range extra {
				frame[j] += k * x
			}
		}
	}
	return v.diffract(b, frame, s)
}

// resample fills the frame with what stands at inv applied to each of its pixels.
func (v *View) resample(frame, pix []float32, inv plane.Similarity) {
	o := &v.Options
	if inv == plane.Identity {
		for y := range o.H {
			copy(frame[4*o.W*y:4*o.W*(y+1)], pix[4*(v.w*(y+v.MarginY)+v.MarginX):])
		}
		return
	}
	sin, cos := math.Sincos(inv.Turn)
	dx, dy := inv.Scale*cos, inv.Scale*sin
	for y := range o.H {
		px, py := inv.Apply(-float64(o.W-1)/2, float64(y)-float64(o.H-1)/2)
		C.resample(ptr(frame[4*o.W*y:]), C.int(o.W), ptr(pix), C.int(v.w), C.int(v.h),
			C.double(px+float64(v.w-1)/2), C.double(py+float64(v.h-1)/2), C.double(dx), C.double(dy), ptr(lanczos), phases)
	}
}

// diffract softens by a Gaussian that stands for the Airy pattern at the effective f-number
// N(1+m): its standard deviation is 0.42 times wavelength times f-number (a common fit; from
// memory). Under a quarter of a pixel it does not show.
func (v *View) diffract(b *scratch, frame []float32, s Shot) []float32 {
	if s.FNumber == 0 {
		return frame
	}
	sigma := 0.42 * 550e-6 * s.FNumber * (1 + v.MagnificationAt(s)) / v.pitch()
	if sigma < 0.25 {
		return frame
	}
	r := int(math.Ceil(3 * sigma))
	side := 2*r + 1
	kernel, sum := make([]float32, side*side), float32(0)
	for i := range kernel {
		x, y := float64(i%side-r), float64(i/side-r)
		kernel[i] = float32(math.Exp(-(x*x + y*y) / (2 * sigma * sigma)))
		sum += kernel[i]
	}
	for i := range kernel {
		kernel[i] /= sum
	}
	o := &v.Options
	out := grow(&b.extra, 4*o.W*o.H)
	rows := make([]C.long, side)
	for y := range o.H {
		for j := range rows {
			rows[j] = C.long(min(max(y+j-r, 0), o.H-1) * o.W)
		}
		C.convolve(ptr(out[4*o.W*y:]), ptr(frame), &rows[0], ptr(kernel), C.int(r), C.int(o.W), 0, C.int(o.W))
	}
	// At the sides the kernel is cut; coverage tells by how much.
	C.settle(ptr(out), ptr(out), C.int(o.W*o.H))
	return out
}

// electronsAtWhite is the charge of a white pixel at ISO 100, and readElectrons the noise of
// reading it: the order of what full-frame sensors of about 24 megapixels do (from memory;
// made-up frames are smaller and would have less noise if their pixels were added up).
const (
	electronsAtWhite = 60000.0
	readElectrons    = 4.0
)

// gauss is 1024 values of a standard Gaussian, one from each of 1024 equal shares of it.
var gauss = func() []float32 {
	out := make([]float32, 1024)
	for i := range out {
		out[i] = float32(math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/1024-1))
	}
	return out
}()

const codes = 1 << 14

var code = func() []uint8 {
	out := make([]uint8, codes+1)
	for i := range out {
		out[i] = plane.Encode8(float32(i) / codes)
	}
	return out
}()

// develop makes bytes of light.
func (v *View) develop(frame []float32, s Shot) *plane.RGB {
	o := &v.Options
	out := plane.NewRGB(o.W, o.H)
	gain := make([]float32, 3)
	ev := math.Exp2(s.EV)
	for c := range gain {
		gain[c] = float32(ev)
		if s.Balance != [3]float64{} {
			gain[c] *= float32(s.Balance[c])
		}
	}
	electrons, read := 0.0, 0.0
	if s.ISO > 0 {
		// The charge that the view's white stands for, at the shot's exposure.
		electrons = electronsAtWhite * 100 / float64(s.ISO) * ev
		read = readElectrons / electrons
	}
	// Falls off as (1 + k r^2)^-2 over the radius; r is 1 in the corners. With k the
	// squared tangent of the field angle this is the cos^4 law.
	k := math.Exp2(s.VignetteEV/2) - 1
	cx, cy := float64(o.W-1)/2, float64(o.H-1)/2
	scale := 1 / math.Hypot(cx, cy)
	r := rand.New(rand.NewPCG(s.Seed, 0x90153))
	for y := range o.H {
		dy := (float64(y) - cy) * scale
		C.develop((*C.uchar)(unsafe.Pointer(&out.Pix[3*o.W*y])), ptr(frame[4*o.W*y:]), C.int(o.W), ptr(gain),
			C.float(k), C.float(dy*dy), C.float(cx), C.float(scale), C.float(s.Veil), C.float(electrons), C.float(read),
			ptr(gauss), C.uint(r.Uint32()), (*C.uchar)(unsafe.Pointer(&code[0])), codes)
	}
	return out
}

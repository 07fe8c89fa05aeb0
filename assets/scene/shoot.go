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
	s0, s1              []float32
	out, cells, blurred []float32
	frame, extra        []float32
	first, last         []C.int
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
var steps = []float64{0, 0.45, 0.9, 1.4, 2, 2.7, 3.5, 4.5, 5.7, 7.2, 9, 11.5, 14.5, 18, 23, 29, 37, 47, 60, 76, 96, 122, 155, 200}

// expose4 is the picture in focus and out of it, with margin: the layers are cut into slices
// of equal blur, each blurred by its disc and laid over those behind it, in linear light.
// Where a slice ends under a nearer one it goes on for two slices, so that blur finds
// something there; where something stands behind an edge the view knows what (back).
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
	clear(out)
	s0, s1 := grow(&b.s0, n), grow(&b.s1, n)
	// blur(z) = p - q/z.
	p := v.blur(s, math.Inf(1))
	q := float32((p - v.blur(s, 1000)) * 1000)
	lo, hi := float32(math.MaxFloat32), float32(-math.MaxFloat32)
	for i := range n {
		d := float32(p) - q/v.frontDepth[i]
		s0[i] = d
		lo, hi = min(lo, d), max(hi, d)
		s1[i] = float32(math.MaxFloat32)
		if v.back[4*i+3] > 0 {
			d = float32(p) - q/v.backDepth[i]
			s1[i] = d
			hi = max(hi, d)
		}
	}
	// Slices from the farthest to the nearest.
	var at []float64
	for i := len(steps) - 1; i > 0; i-- {
		at = append(at, steps[i])
	}
	for _, r := range steps {
		at = append(at, -r)
	}
	for k, r := range at {
		start, stop := math.Inf(1), math.Inf(-1)
		if k > 0 {
			start = at[k-1]
		}
		if k+2 < len(at) {
			stop = at[k+2]
		}
		full := r
		if k == 0 {
			full = math.Inf(1)
		}
		if float64(hi) <= stop || float64(lo) > start {
			continue
		}
		v.laySlice(b, out, math.Abs(r), float32(start), float32(full), float32(stop))
	}
	C.settle(ptr(out), C.int(n))
	return out
}

// laySlice blurs one slice by a disc of radius r and lays it over out.
func (v *View) laySlice(b *scratch, out []float32, r float64, start, full, stop float32) {
	// Large discs are drawn on coarser cells, a crisp one on three to six of them.
	level, most := 0, 3.0
	if v.Options.Fine {
		most = 6
	}
	for r/float64(int(1)<<level) > most {
		level++
	}
	w, h := (v.w+1<<level-1)>>level, (v.h+1<<level-1)>>level
	cells := grow(&b.cells, 4*w*h)
	clear(cells)
	if cap(b.first) < h {
		b.first, b.last = make([]C.int, h), make([]C.int, h)
	}
	first, last := b.first[:h], b.last[:h]
	for i := range first {
		first[i], last[i] = C.int(w), -1
	}
	weight := C.float(1 / float64(int(1)<<(2*level)))
	hard := C.int(0)
	if math.IsInf(float64(start), 1) {
		hard = 1
	}
	for y := range v.h {
		c := y >> level
		for _, layer := range []struct{ pix, s []float32 }{{v.back, b.s1}, {v.front, b.s0}} {
			C.slice(ptr(cells[4*w*c:]), ptr(layer.pix[4*v.w*y:]), ptr(layer.s[v.w*y:]), C.int(v.w), C.int(level),
				C.float(start), C.float(full), C.float(stop), hard, weight, &first[c], &last[c])
		}
	}
	kernel, kr := disc(r, level)
	blurred := cells
	if kr > 0 {
		blurred = grow(&b.blurred, 4*w*h)
		clear(blurred)
		rows := make([]C.long, 2*kr+1)
		for y := range h {
			x0, x1 := C.int(w), C.int(-1)
			for j := range rows {
				rows[j] = -1
				if i := y + j - kr; i >= 0 && i < h && last[i] >= 0 {
					rows[j] = C.long(i * w)
					x0, x1 = min(x0, first[i]), max(x1, last[i])
				}
			}
			if x1 < 0 {
				continue
			}
			C.convolve(ptr(blurred[4*w*y:]), ptr(cells), &rows[0], ptr(kernel), C.int(kr), C.int(w),
				max(x0-C.int(kr), 0), min(x1+C.int(kr)+1, C.int(w)))
		}
	}
	// Rows and columns that the slice can have reached.
	top, bottom, left, right := h, -1, w, -1
	for y := range h {
		if last[y] >= 0 {
			top, bottom = min(top, y), max(bottom, y)
			left, right = min(left, int(first[y])), max(right, int(last[y]))
		}
	}
	if bottom < 0 {
		return
	}
	reach := kr + 1
	y0, y1 := max((top-reach)<<level, 0), min((bottom+reach+1)<<level, v.h)
	x0, x1 := max((left-reach)<<level, 0), min((right+reach+1)<<level, v.w)
	size := 1 / float64(int(1)<<level)
	for y := y0; y < y1; y++ {
		a, t := y, 0.0
		c := a
		if level > 0 {
			f := (float64(y)+0.5)*size - 0.5
			a = int(math.Floor(f))
			t = f - float64(a)
			a, c = max(a, 0), min(a+1, h-1)
		}
		C.lay(ptr(out[4*v.w*y:]), C.int(x0), C.int(x1), ptr(blurred[4*w*a:]), ptr(blurred[4*w*c:]),
			C.float(1-t), C.float(t), C.int(w), C.int(level))
	}
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
// reach in cells. The blur that cells bring of their own, by averaging and by linear
// interpolation, is taken off the radius, variance for variance: a disc has r*r/4 along an
// axis, averaging over cells (1 - 4^-level)/12 more than pixels have, interpolation 1/6,
// drawing the disc by area 1/12.
func disc(r float64, level int) ([]float32, int) {
	if r == 0 {
		return nil, 0
	}
	key := discKey{r, level}
	if d, ok := discs.Load(key); ok {
		return d.(discKernel).k, d.(discKernel).r
	}
	rc := r / float64(int(1)<<level)
	own := 1.0 / 12
	if level > 0 {
		own += (1-math.Pow(4, -float64(level)))/12 + 1.0/6
	}
	var d discKernel
	if v := rc * rc / 4; v-own < 0.09 {
		// Too small to draw: three weights along either axis with the disc's variance.
		e := float32(v / 2)
		line := []float32{e, 1 - 2*e, e}
		d = discKernel{make([]float32, 9), 1}
		for i := range 9 {
			d.k[i] = line[i/3] * line[i%3]
		}
	} else {
		d = drawDisc(math.Sqrt(rc*rc - 4*own))
	}
	discs.Store(key, d)
	return d.k, d.r
}

// drawDisc gives each cell the share of the disc that lies in it.
func drawDisc(r float64) discKernel {
	reach := int(math.Ceil(r - 0.5))
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
	C.settle(ptr(out), C.int(o.W*o.H)) // at the sides the kernel is cut
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

// Package sameness compares two frames as pictures of a table: is it the same framing,
// the same light, whatever the lens was focused on? It works on the thumbnails that
// package figures measured, so a comparison takes microseconds. It decides nothing:
// package grouping weighs what it finds.
package sameness

/*
#cgo CFLAGS: -O3 -std=c11
#cgo LDFLAGS: -lm
#include "kernels.h"
*/
import "C"

import (
	"math"
	"sync"
	"unsafe"

	"stillbench/session"
)

const (
	gridSide   = 24 // cells along the long side, for colour and brightness
	levels     = 3  // pictures of growing blur
	blackLevel = 0.004
)

// View is a frame made ready for comparison. It is not changed after NewView.
type View struct {
	// W x H cells of the coarse grid (long side 24), as stored in the file.
	W, H int
	// lum is log2 of linear luminance (plus 0.004, so that black is near -8), at three
	// blurs of about 0, 1 and 2 cells, blur after blur; colour is log2 of red over green
	// likewise, then of blue over green.
	lum, colour []float32
	// lit weighs a cell from 0 (as good as black: nothing can be seen there) to 1.
	lit []float32
	// Crisp is log2 of the detail in the finest octave over the noise, by cell, from 0
	// (no more than noise) upward.
	Crisp []float32
	// Form is log2 of the structure of about a thirtieth of the long side over the noise,
	// by cell, from 0 upward. A subject that is merely out of focus keeps it; what stands
	// before the lens has none.
	Form []float32
	// edges of luma at a quarter of Grey's size (long side 64 pixels), and at half that.
	edges, half field
	// column is the cell across in which each column of edges lies.
	column []uint8
}

// field holds, by pixel, the direction of the gradient as a vector of doubled angle
// (so that a dark-to-light edge and its inverse, which a lamp on the other side makes,
// are the same), with a length from 0 (flat) to one (a clear edge).
type field struct {
	w, h int
	dir  []int16 // cosine and sine by turns
	mag  []int16
}

// one is what stands for 1 in a field.
const one = 1024

// NewView makes a frame's figures ready; nil gives nil.
func NewView(f *session.Figures) *View {
	if f == nil || f.SmallW <= 0 || f.SmallH <= 0 || len(f.Small) < 3*f.SmallW*f.SmallH {
		return nil
	}
	v := &View{}
	v.W, v.H = fit(f.SmallW, f.SmallH, gridSide)
	n := v.W * v.H
	s := scratch.Get().(*rooms)
	defer scratch.Put(s)
	rgb, across := room(&s.rgb, 3*n), room(&s.across, 3*n)
	C.coarse(floats(rgb), (*C.uchar)(unsafe.SliceData(f.Small)), C.int(f.SmallW), C.int(f.SmallH), C.int(v.W), C.int(v.H), floats(linear[:]))
	v.lit = make([]float32, n)
	v.lum, v.colour = make([]float32, levels*n), make([]float32, 2*levels*n)
	for k := range levels {
		if k > 0 {
			for range 2*k - 1 {
				C.soften(floats(rgb), floats(rgb), floats(across), C.int(v.W), C.int(v.H))
			}
		}
		lum, rg, bg := v.lum[k*n:][:n], v.colour[k*n:][:n], v.colour[(levels+k)*n:][:n]
		for i := range n {
			p := rgb[3*i:][:3]
			y := 0.2126*p[0] + 0.7152*p[1] + 0.0722*p[2]
			lg := log2(p[1] + 2*blackLevel)
			lum[i] = log2(y + blackLevel)
			rg[i] = log2(p[0]+2*blackLevel) - lg
			bg[i] = log2(p[2]+2*blackLevel) - lg
			if k == 0 {
				v.lit[i] = min(1, y/0.01)
			}
		}
	}
	v.Crisp = crisp(f, v)
	v.Form = make([]float32, n)
	if f.GreyW >= 2 && f.GreyH >= 2 && len(f.Grey) >= f.GreyW*f.GreyH {
		w, h := f.GreyW/2, f.GreyH/2
		pic, pixels := room(&s.half, w*h), room(&s.pixels, max(w*h/4, w))
		C.halve_grey((*C.ushort)(unsafe.SliceData(pic)), (*C.uchar)(unsafe.SliceData(f.Grey)), C.int(f.GreyW), C.int(w), C.int(h))
		v.edges = edgesOf(pic, w, h, pixels)
		v.half = v.edges.halved()
		v.column = make([]uint8, v.edges.w)
		for x := range v.column {
			v.column[x] = uint8(x * v.W / v.edges.w)
		}
		v.form(pic, w, h, f.NoiseSigma, pixels)
	}
	return v
}

// rooms is what NewView needs for its work and does not keep.
type rooms struct {
	rgb, across []float32
	half        []uint16 // Grey summed over two by two pixels: grey values times four
	pixels      []float32
}

var scratch = sync.Pool{New: func() any { return new(rooms) }}

// room gives n values of any content.
func room[T any](of *[]T, n int) []T {
	if cap(*of) < n {
		*of = make([]T, n)
	}
	return (*of)[:n]
}

func fit(w, h, side int) (int, int) {
	s := float64(side) / float64(max(w, h))
	return max(1, int(float64(w)*s+0.5)), max(1, int(float64(h)*s+0.5))
}

// cell is the run of n source pixels under cell i of m, at least one.
func cell(i, m, n int) (int, int) {
	a := i * n / m
	return a, max(a+1, (i+1)*n/m)
}

// crisp brings Figures.Sharp to the grid of v, in doublings above the noise.
func crisp(f *session.Figures, v *View) []float32 {
	out := make([]float32, v.W*v.H)
	if f.SharpW <= 0 || f.SharpH <= 0 || len(f.Sharp) < f.SharpW*f.SharpH {
		return out
	}
	// A third of a grey level of detail is none, noise or not.
	floor := float32(f.NoiseSigma*f.NoiseSigma)*0.3 + 2e-6
	for y := range v.H {
		y0, y1 := cell(y, v.H, f.SharpH)
		for x := range v.W {
			x0, x1 := cell(x, v.W, f.SharpW)
			var e float32
			for sy := y0; sy < y1; sy++ {
				for sx := x0; sx < x1; sx++ {
					e = max(e, f.Sharp[sy*f.SharpW+sx])
				}
			}
			out[y*v.W+x] = log2(1 + e/floor)
		}
	}
	return out
}

// form measures Form on half of Grey: the square of what a pixel has over the mean of the
// four two pixels off, which is greatest for structure of a period of four to five pixels.
func (v *View) form(pic []uint16, w, h int, sigma float64, squares []float32) {
	if w < 5 || h < 5 {
		return
	}
	C.form(floats(v.Form), (*C.ushort)(unsafe.SliceData(pic)), C.int(w), C.int(h), C.int(v.W), C.int(v.H), floats(squares))
	// Averaging to half of Grey leaves a quarter of the noise at 512 pixels; the response
	// to it has 20/16 of its variance. Half a grey value squared is no structure.
	noise := float32(sigma * 255 / 4)
	floor := 0.5 + 1.25*noise*noise
	for i, square := range v.Form {
		v.Form[i] = log2(1 + square/256/floor)
	}
}

// edgesOf measures the direction of edges on half of Grey, averaged over two by two
// pixels again.
func edgesOf(half []uint16, hw, hh int, pixels []float32) field {
	out := newField(hw/2, hh/2)
	C.edges(shorts(out.dir), shorts(out.mag), (*C.ushort)(unsafe.SliceData(half)), C.int(hw), C.int(out.w), C.int(out.h), floats(pixels))
	return out
}

func newField(w, h int) field {
	return field{w: w, h: h, dir: make([]int16, 2*w*h), mag: make([]int16, w*h)}
}

// halved averages a field over 2 x 2 pixels.
func (f field) halved() field {
	out := newField(f.w/2, f.h/2)
	C.halve(shorts(out.dir), shorts(out.mag), shorts(f.dir), C.int(f.w), C.int(out.w), C.int(out.h))
	return out
}

func floats(p []float32) *C.float { return (*C.float)(unsafe.SliceData(p)) }

func shorts(p []int16) *C.short { return (*C.short)(unsafe.SliceData(p)) }

// linear maps an sRGB byte to linear light (IEC 61966-2-1).
var linear = func() (t [256]float32) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		t[i] = float32(v)
	}
	return t
}()

// logSteps divide a doubling; mantissa holds log2 of 1..2.
const logSteps = 1 << 10

var mantissa = func() (t [logSteps]float32) {
	for i := range t {
		t[i] = float32(math.Log2(1 + (float64(i)+0.5)/logSteps))
	}
	return t
}()

// log2 of a positive normal float32, to within 0.001.
func log2(v float32) float32 {
	b := math.Float32bits(v)
	return float32(int(b>>23)-127) + mantissa[(b>>13)&(logSteps-1)]
}

// exp2 undoes log2 to within 0.1 %.
func exp2(l float32) float32 { return float32(math.Exp2(float64(l))) }

// Mean gives the mean of log2 luminance and of log2 red and blue over green.
func (v *View) Mean() (lum, rg, bg float64) {
	n := v.W * v.H
	for i := range n {
		lum += float64(v.lum[i])
		rg += float64(v.colour[i])
		bg += float64(v.colour[levels*n+i])
	}
	return lum / float64(n), rg / float64(n), bg / float64(n)
}

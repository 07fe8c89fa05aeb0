// Package sameness compares two frames as pictures of a table: is it the same framing,
// the same light, whatever the lens was focused on? It works on the thumbnails that
// package figures measured, so a comparison takes microseconds. It decides nothing:
// package grouping weighs what it finds.
package sameness

import (
	"encoding/binary"
	"math"

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
	// blurs of about 0, 1 and 2 cells; rg and bg are log2 of red and blue over green,
	// likewise.
	lum, rg, bg [levels][]float32
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
// are the same), with a length from 0 (flat) to 1 (a clear edge).
type field struct {
	w, h   int
	re, im []float32
	mag    []float32
}

// NewView makes a frame's figures ready; nil gives nil.
func NewView(f *session.Figures) *View {
	if f == nil || f.SmallW <= 0 || f.SmallH <= 0 || len(f.Small) < 3*f.SmallW*f.SmallH {
		return nil
	}
	v := &View{}
	v.W, v.H = fit(f.SmallW, f.SmallH, gridSide)
	rgb := coarse(f, v.W, v.H)
	n := v.W * v.H
	v.lit = make([]float32, n)
	for k := range levels {
		if k > 0 {
			rgb = soften(rgb, v.W, v.H, 2*k-1)
		}
		v.lum[k], v.rg[k], v.bg[k] = make([]float32, n), make([]float32, n), make([]float32, n)
		for i := range n {
			r, g, b := rgb[3*i], rgb[3*i+1], rgb[3*i+2]
			y := 0.2126*r + 0.7152*g + 0.0722*b
			lg := log2(g + 2*blackLevel)
			v.lum[k][i] = log2(y + blackLevel)
			v.rg[k][i] = log2(r+2*blackLevel) - lg
			v.bg[k][i] = log2(b+2*blackLevel) - lg
			if k == 0 {
				v.lit[i] = min(1, y/0.01)
			}
		}
	}
	v.Crisp = crisp(f, v)
	v.Form = make([]float32, n)
	if f.GreyW >= 2 && f.GreyH >= 2 && len(f.Grey) >= f.GreyW*f.GreyH {
		pic, w, h := halvedGrey(f)
		v.edges = edgesOf(pic, w, h)
		v.half = v.edges.halved()
		v.column = make([]uint8, v.edges.w)
		for x := range v.column {
			v.column[x] = uint8(x * v.W / v.edges.w)
		}
		v.form(pic, w, h, f.NoiseSigma)
	}
	return v
}

func fit(w, h, side int) (int, int) {
	s := float64(side) / float64(max(w, h))
	return max(1, int(float64(w)*s+0.5)), max(1, int(float64(h)*s+0.5))
}

// coarse averages Small over w x h cells in linear light.
func coarse(f *session.Figures, w, h int) []float32 {
	out := make([]float32, 3*w*h)
	for y := range h {
		y0, y1 := cell(y, h, f.SmallH)
		for x := range w {
			x0, x1 := cell(x, w, f.SmallW)
			var r, g, b float32
			for sy := y0; sy < y1; sy++ {
				row := f.Small[3*(sy*f.SmallW+x0) : 3*(sy*f.SmallW+x1)]
				for i := 0; i+2 < len(row); i += 3 {
					r += linear[row[i]]
					g += linear[row[i+1]]
					b += linear[row[i+2]]
				}
			}
			k := 1 / float32((y1-y0)*(x1-x0))
			i := 3 * (y*w + x)
			out[i], out[i+1], out[i+2] = r*k, g*k, b*k
		}
	}
	return out
}

// cell is the run of n source pixels under cell i of m, at least one.
func cell(i, m, n int) (int, int) {
	a := i * n / m
	return a, max(a+1, (i+1)*n/m)
}

// soften gives a colour picture blurred with 1 2 1 along both axes, the given number
// of times; the edge cells are repeated.
func soften(src []float32, w, h, times int) []float32 {
	across := make([]float32, len(src))
	out := make([]float32, len(src))
	n := 3 * w
	for range times {
		for y := range h {
			in, to := src[y*n:(y+1)*n], across[y*n:(y+1)*n]
			left, mid, right := in, in[min(3, n-3):], in[min(6, n-3):]
			for i := 3; i < n-3; i++ {
				to[i] = (left[i-3] + 2*mid[i-3] + right[i-3]) / 4
			}
			for c := range 3 {
				to[c] = (3*in[c] + in[min(3, n-3)+c]) / 4
				to[n-3+c] = (in[max(n-6, 0)+c] + 3*in[n-3+c]) / 4
			}
		}
		for y := range h {
			up, mid, down := across[n*max(y-1, 0):][:n], across[n*y:][:n], across[n*min(y+1, h-1):][:n]
			to := out[n*y:][:n]
			for i := range to {
				to[i] = (up[i] + 2*mid[i] + down[i]) / 4
			}
		}
		src = out
	}
	return out
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

// halvedGrey sums Grey over two by two pixels: grey values times four.
func halvedGrey(f *session.Figures) (pic []uint16, w, h int) {
	w, h = f.GreyW/2, f.GreyH/2
	pic = make([]uint16, w*h)
	const even = 0x00ff00ff00ff00ff // every second byte of eight
	for y := range h {
		a := f.Grey[2*y*f.GreyW:][:2*w]
		b := f.Grey[(2*y+1)*f.GreyW:][:2*w]
		row := pic[y*w : (y+1)*w]
		// Four sums at a time, side by side in one word.
		for len(row) >= 4 {
			p, q := binary.LittleEndian.Uint64(a), binary.LittleEndian.Uint64(b)
			sums := p&even + p>>8&even + q&even + q>>8&even
			row[0], row[1], row[2], row[3] = uint16(sums), uint16(sums>>16), uint16(sums>>32), uint16(sums>>48)
			row, a, b = row[4:], a[8:], b[8:]
		}
		for x := range row {
			row[x] = uint16(a[2*x]) + uint16(a[2*x+1]) + uint16(b[2*x]) + uint16(b[2*x+1])
		}
	}
	return pic, w, h
}

// form measures Form on half of Grey: the square of what a pixel has over the mean of the
// four two pixels off, which is greatest for structure of a period of four to five pixels.
// Every second row is enough.
func (v *View) form(pic []uint16, w, h int, sigma float64) {
	if w < 5 || h < 5 {
		return
	}
	n := v.W * v.H
	sum, count := make([]float32, n), make([]int32, n)
	for y := 2; y < h-2; y += 2 {
		row, up, down := pic[y*w:(y+1)*w], pic[(y-2)*w:(y-1)*w], pic[(y+2)*w:(y+3)*w]
		cells := y * v.H / h * v.W
		for c := range v.W {
			x0, x1 := max(2, c*w/v.W), min(w-2, (c+1)*w/v.W)
			if x1 <= x0 {
				continue
			}
			mid, left, right := row[x0:x1], row[x0-2:x1-2], row[x0+2:x1+2]
			above, below := up[x0:x1], down[x0:x1]
			var e float32
			for x, m := range mid {
				d := float32(4*int32(m) - int32(left[x]) - int32(right[x]) - int32(above[x]) - int32(below[x]))
				e += d * d
			}
			sum[cells+c] += e
			count[cells+c] += int32(x1 - x0)
		}
	}
	// Averaging to half of Grey leaves a quarter of the noise at 512 pixels; the response
	// to it has 20/16 of its variance. Half a grey value squared is no structure.
	noise := float32(sigma * 255 / 4)
	floor := 0.5 + 1.25*noise*noise
	for i := range v.Form {
		v.Form[i] = log2(1 + sum[i]/float32(max(count[i], 1))/256/floor)
	}
}

// edgesOf measures the direction of edges on half of Grey, averaged over two by two
// pixels again.
func edgesOf(half []uint16, hw, hh int) field {
	w, h := hw/2, hh/2
	pic := make([]float32, w*h)
	for y := range h {
		a, b := half[2*y*hw:2*y*hw+2*w], half[(2*y+1)*hw:(2*y+1)*hw+2*w]
		row := pic[y*w : (y+1)*w]
		for x := range row {
			row[x] = float32(a[0]+a[1]+b[0]+b[1]) / 16
			a, b = a[2:], b[2:]
		}
	}
	out := newField(w, h)
	// distinct is the difference of grey values (0..255) over two pixels from which on
	// an edge is more than the noise of a good frame.
	const distinct = 3
	for y := 1; y < h-1; y++ {
		up, row, down := pic[(y-1)*w:y*w], pic[y*w:(y+1)*w], pic[(y+1)*w:(y+2)*w]
		re, im, mag := out.re[y*w:(y+1)*w], out.im[y*w:(y+1)*w], out.mag[y*w:(y+1)*w]
		for x := 1; x < w-1; x++ {
			// Sobel's weights, without their factor of 4.
			gx := (2*(row[x+1]-row[x-1]) + up[x+1] - up[x-1] + down[x+1] - down[x-1]) / 4
			gy := (2*(down[x]-up[x]) + down[x-1] - up[x-1] + down[x+1] - up[x+1]) / 4
			m := gx*gx + gy*gy
			k := 1 / (m + distinct*distinct)
			re[x], im[x], mag[x] = (gx*gx-gy*gy)*k, 2*gx*gy*k, m*k
		}
	}
	return out
}

func newField(w, h int) field {
	return field{w: w, h: h, re: make([]float32, w*h), im: make([]float32, w*h), mag: make([]float32, w*h)}
}

// halved averages a field over 2 x 2 pixels.
func (f field) halved() field {
	out := newField(f.w/2, f.h/2)
	for y := range out.h {
		for x := range out.w {
			a := 2*y*f.w + 2*x
			b := a + f.w
			re := (f.re[a] + f.re[a+1] + f.re[b] + f.re[b+1]) / 4
			im := (f.im[a] + f.im[a+1] + f.im[b] + f.im[b+1]) / 4
			i := y*out.w + x
			out.re[i], out.im[i] = re, im
			out.mag[i] = float32(math.Sqrt(float64(re*re + im*im)))
		}
	}
	return out
}

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
	for i := range v.lum[0] {
		lum += float64(v.lum[0][i])
		rg += float64(v.rg[0][i])
		bg += float64(v.bg[0][i])
	}
	n := float64(len(v.lum[0]))
	return lum / n, rg / n, bg / n
}

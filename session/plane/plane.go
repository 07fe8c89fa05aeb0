// Package plane holds pictures as plain arrays and does the arithmetic on them that
// every room needs: decoding at reduced size, area averages, blurs, pyramids and
// resampling. It knows nothing of frames, focus or files.
//
// Kernels take their destination first and reuse it where its size fits; a nil
// destination is made. A destination must not be the source unless a function says
// so. Rows are shared out over the processors where a picture is large enough for
// that to pay.
package plane

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// RGB is a picture in 8-bit sRGB.
type RGB struct {
	// W x H is the size in pixels.
	W, H int
	// Pix holds R G B, row by row, without padding: 3*W*H bytes.
	Pix []uint8
	// FullW x FullH is the size of the picture in the file, of which this is a
	// reduced decode; equal to W x H where nothing was reduced.
	FullW, FullH int
}

// Plane is one channel of a picture.
type Plane struct {
	// W x H is the size in pixels.
	W, H int
	// Pix holds the values row by row, without padding; 0..1 unless a function
	// says otherwise.
	Pix []float32
}

// NewRGB returns a black picture of w x h pixels.
func NewRGB(w, h int) *RGB {
	return &RGB{W: w, H: h, Pix: make([]uint8, 3*w*h), FullW: w, FullH: h}
}

// New returns a plane of w x h zeros.
func New(w, h int) *Plane {
	return &Plane{W: w, H: h, Pix: make([]float32, w*h)}
}

// Row is the y-th row, W values that share memory with the plane.
func (p *Plane) Row(y int) []float32 { return p.Pix[y*p.W : (y+1)*p.W] }

// Sized returns dst if it is w x h, else a plane of that size that reuses dst's memory
// where there is enough. Its contents are undefined.
func Sized(dst *Plane, w, h int) *Plane {
	if dst == nil {
		return New(w, h)
	}
	if cap(dst.Pix) < w*h {
		dst.Pix = make([]float32, w*h)
	}
	dst.W, dst.H, dst.Pix = w, h, dst.Pix[:w*h]
	return dst
}

// Luma weights of ITU-R BT.601 section 2.5.1, as JFIF uses them.
const (
	lumaR = 0.299
	lumaG = 0.587
	lumaB = 0.114
)

// Luma is the luma Y' = 0.299 R' + 0.587 G' + 0.114 B' (ITU-R BT.601) of the sRGB-encoded
// values, 0..1: a quantity for comparing pictures, not a measure of light.
func (p *RGB) Luma() *Plane {
	out := New(p.W, p.H)
	rows(p.H, p.W, func(y0, y1 int) {
		src := p.Pix[3*y0*p.W : 3*y1*p.W]
		dst := out.Pix[y0*p.W : y1*p.W]
		for i := range dst {
			s := src[3*i : 3*i+3]
			dst[i] = (lumaR*float32(s[0]) + lumaG*float32(s[1]) + lumaB*float32(s[2])) * (1.0 / 255)
		}
	})
	return out
}

// Channels are the sRGB-encoded values of R, G and B, 0..1.
func (p *RGB) Channels() [3]*Plane { return p.channels(&encoded) }

// Linear is the light in R, G and B: the values with the sRGB encoding undone, 0..1.
func (p *RGB) Linear() [3]*Plane { return p.channels(&linear) }

func (p *RGB) channels(table *[256]float32) [3]*Plane {
	out := [3]*Plane{New(p.W, p.H), New(p.W, p.H), New(p.W, p.H)}
	rows(p.H, p.W, func(y0, y1 int) {
		src := p.Pix[3*y0*p.W : 3*y1*p.W]
		r, g, b := out[0].Pix[y0*p.W:y1*p.W], out[1].Pix[y0*p.W:y1*p.W], out[2].Pix[y0*p.W:y1*p.W]
		for i := range r {
			s := src[3*i : 3*i+3]
			r[i], g[i], b[i] = table[s[0]], table[s[1]], table[s[2]]
		}
	})
	return out
}

// Crop copies the w x h rectangle with its upper left pixel at (x, y). It panics if the
// rectangle is not inside the picture.
func (p *RGB) Crop(x, y, w, h int) *RGB {
	if x < 0 || y < 0 || w < 0 || h < 0 || x+w > p.W || y+h > p.H {
		panic(badCrop)
	}
	out := NewRGB(w, h)
	for r := range h {
		copy(out.Pix[3*w*r:3*w*(r+1)], p.Pix[3*((y+r)*p.W+x):])
	}
	return out
}

// Oriented returns the picture as it is to be looked at, by EXIF's orientation (CIPA
// DC-008 tag 0x0112): 1 as stored, 2 mirrored left to right, 3 turned by 180 degrees, 4
// mirrored top to bottom, 5 mirrored and turned (0th row is the left side), 6 to be turned
// by 90 degrees clockwise, 7 (0th row is the right side, mirrored), 8 to be turned by 90
// degrees anticlockwise. Any other value counts as 1. Where nothing is to be done the
// picture itself is returned.
func (p *RGB) Oriented(orientation int) *RGB {
	if orientation < 2 || orientation > 8 {
		return p
	}
	out := NewRGB(p.W, p.H)
	out.FullW, out.FullH = p.FullW, p.FullH
	if orientation >= 5 {
		out.W, out.H = p.H, p.W
		out.FullW, out.FullH = p.FullH, p.FullW
	}
	turn(out.Pix, p.Pix, p.W, p.H, orientation, out.W, out.H)
	return out
}

// turn copies a picture of w x h pixels to where an orientation puts them in one of toW x toH.
func turn[T uint8 | uint16](to, from []T, w, h, orientation, toW, toH int) {
	start, dx, dy := stepsOf(orientation, toW, toH)
	rows(h, w, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			at := start + y*dy
			row := from[3*y*w : 3*(y+1)*w]
			for i := 0; i < len(row); i += 3 {
				d := to[3*at : 3*at+3]
				d[0], d[1], d[2] = row[i], row[i+1], row[i+2]
				at += dx
			}
		}
	})
}

// stepsOf tells where the stored pixel (0, 0) goes in an oriented picture of w x h, and the
// steps along a stored row and column.
func stepsOf(orientation, w, h int) (start, dx, dy int) {
	switch orientation {
	case 2:
		start, dx, dy = w-1, -1, w
	case 3:
		start, dx, dy = w*h-1, -1, -w
	case 4:
		start, dx, dy = (h-1)*w, 1, -w
	case 5:
		start, dx, dy = 0, w, 1
	case 6:
		start, dx, dy = w-1, w, -1
	case 7:
		start, dx, dy = w*h-1, -w, -1
	case 8:
		start, dx, dy = (h-1)*w, -w, 1
	}
	return start, dx, dy
}

// What a caller can get wrong.
const (
	badCrop   = "plane: crop outside the picture"
	badSize   = "plane: a size must be at least 1 x 1"
	badReduce = "plane: Reduce cannot enlarge"
	badSigma  = "plane: the blur's sigma must be finite and not negative"
	badLevels = "plane: a pyramid has at least one level"
	badTurn   = "plane: Warp turns by 45 degrees at most and its scale is positive"
	badUp     = "plane: the finer level's size does not fit the coarser"
)

// shareFrom is the number of pixels from which rows are shared out: below it, waking
// other processors costs more than it saves.
const shareFrom = 1 << 16

// rows calls do for bands that together make up 0..h, at once where w x h is large.
func rows(h, w int, do func(y0, y1 int)) {
	n := runtime.GOMAXPROCS(0)
	if n == 1 || h < 2*n || h*w < shareFrom {
		do(0, h)
		return
	}
	share(h, n, do)
}

// Share calls do for stretches that together make up 0..n, at once on all processors where there
// are enough.
func Share(n int, do func(from, to int)) {
	workers := runtime.GOMAXPROCS(0)
	if workers == 1 || n < 2*workers {
		do(0, n)
		return
	}
	share(n, workers, do)
}

// stretches is how many of them a worker gets, about: another program may hold one of them up.
const stretches = 4

// share has workers take stretches of 0..n until there are none left.
func share(n, workers int, do func(from, to int)) {
	parts := min(n, workers*stretches)
	var next atomic.Int32
	work := func() {
		for k := int(next.Add(1)) - 1; k < parts; k = int(next.Add(1)) - 1 {
			do(n*k/parts, n*(k+1)/parts)
		}
	}
	var wg sync.WaitGroup
	for range workers - 1 {
		wg.Go(work)
	}
	work()
	wg.Wait()
}

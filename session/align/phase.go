package align

import (
	"math"
	"math/bits"
	"math/cmplx"

	"stillbench/session/plane"
)

// phaseSide is the side of the square that phase correlation is done on.
const phaseSide = 256

// minPeak is the share of the correlation's energy that its peak must hold to be believed
// as a start.
const minPeak = 0.02

// phaseStart finds the shift between two frames by phase correlation at a coarse level.
func phaseStart(reference, frame *Frame) (plane.Similarity, bool) {
	k := 0
	for k+1 < len(reference.levels) && max(reference.levels[k].flat.W, reference.levels[k].flat.H) > phaseSide {
		k++
	}
	r, f := &reference.levels[k], &frame.levels[k]
	if max(r.flat.W, r.flat.H) > phaseSide {
		return plane.Identity, false
	}
	dx, dy, peak := phaseShift(windowed(r), windowed(f))
	ratio := float64(reference.W) / float64(r.flat.W)
	return plane.Similarity{Scale: 1, DX: dx * ratio, DY: dy * ratio}, peak >= minPeak
}

// windowed lays a level's detail under a Hann window, so that its edges do not correlate.
func windowed(l *level) []complex128 {
	out := make([]complex128, phaseSide*phaseSide)
	w, h := l.flat.W, l.flat.H
	for y := range h {
		wy := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(y)+0.5)/float64(h))
		for x := range w {
			wx := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(x)+0.5)/float64(w))
			i := y*w + x
			out[y*phaseSide+x] = complex(wx*wy*float64(l.flat.Pix[i]*l.weight.Pix[i]), 0)
		}
	}
	return out
}

// phaseShift gives by how much b lies to the right of and below a, and how much of the
// correlation stands in the 5 x 5 pixels around its peak.
func phaseShift(a, b []complex128) (dx, dy, peak float64) {
	const n = phaseSide
	fft2(a, n, false)
	fft2(b, n, false)
	for i := range a {
		c := b[i] * cmplx.Conj(a[i])
		if m := cmplx.Abs(c); m > 1e-12 {
			a[i] = c / complex(m, 0)
		} else {
			a[i] = 0
		}
	}
	fft2(a, n, true)
	// The peak is spread by scale and blur: look for it in sums of 3 x 3.
	best, bx, by := math.Inf(-1), 0, 0
	sum := func(x, y, r int) (s, sx, sy float64) {
		for j := -r; j <= r; j++ {
			for i := -r; i <= r; i++ {
				v := real(a[((y+j)&(n-1))*n+((x+i)&(n-1))])
				s += v
				v = max(v, 0)
				sx += v * float64(i)
				sy += v * float64(j)
			}
		}
		return s, sx, sy
	}
	for y := range n {
		for x := range n {
			if s, _, _ := sum(x, y, 1); s > best {
				best, bx, by = s, x, y
			}
		}
	}
	s, sx, sy := sum(bx, by, 2)
	if s > 0 {
		sx, sy = sx/s, sy/s
	}
	signed := func(i int) float64 {
		if i >= n/2 {
			return float64(i - n)
		}
		return float64(i)
	}
	return signed(bx) + clamp1(sx), signed(by) + clamp1(sy), s
}

func clamp1(v float64) float64 { return min(max(v, -1), 1) }

// fft2 transforms an n x n square in place, n a power of two; inverse divides by n*n.
func fft2(a []complex128, n int, inverse bool) {
	twiddle := make([]complex128, n/2)
	sign := -2 * math.Pi / float64(n)
	if inverse {
		sign = -sign
	}
	for i := range twiddle {
		s, c := math.Sincos(sign * float64(i))
		twiddle[i] = complex(c, s)
	}
	line := make([]complex128, n)
	for y := range n {
		fft(a[y*n:(y+1)*n], twiddle)
	}
	for x := range n {
		for y := range n {
			line[y] = a[y*n+x]
		}
		fft(line, twiddle)
		for y := range n {
			a[y*n+x] = line[y]
		}
	}
	if inverse {
		k := complex(1/float64(n*n), 0)
		for i := range a {
			a[i] *= k
		}
	}
}

// fft is the radix-2 transform of J. W. Cooley and J. W. Tukey (1965), in place.
func fft(a, twiddle []complex128) {
	n := len(a)
	shift := bits.LeadingZeros32(uint32(n)) + 1
	for i := range a {
		if j := int(bits.Reverse32(uint32(i)) >> shift); j > i {
			a[i], a[j] = a[j], a[i]
		}
	}
	for size := 2; size <= n; size *= 2 {
		half, step := size/2, n/size
		for i := 0; i < n; i += size {
			for k := range half {
				t := a[i+k+half] * twiddle[k*step]
				a[i+k+half] = a[i+k] - t
				a[i+k] += t
			}
		}
	}
}

package plane

import "math"

// Similarity says how one picture lies on another: a detail at p in the one, measured
// in pixels from the picture's centre, x to the right and y down, is at
//
//	Scale * R(Turn) * p + (DX, DY)
//
// in the other, also from the centre. The centre of a picture W x H is at pixel
// ((W-1)/2, (H-1)/2).
type Similarity struct {
	Scale  float64 // 1 is the same size
	Turn   float64 // radians, clockwise as seen
	DX, DY float64 // pixels
}

// Identity leaves everything where it is.
var Identity = Similarity{Scale: 1}

// Apply gives where p, from the centre, lies in the other picture.
func (s Similarity) Apply(x, y float64) (float64, float64) {
	sin, cos := math.Sincos(s.Turn)
	return s.Scale*(cos*x-sin*y) + s.DX, s.Scale*(sin*x+cos*y) + s.DY
}

// Inverse is the similarity that takes the other picture's details back.
func (s Similarity) Inverse() Similarity {
	inv := Similarity{Scale: 1 / s.Scale, Turn: -s.Turn}
	x, y := inv.Apply(s.DX, s.DY)
	inv.DX, inv.DY = -x, -y
	return inv
}

// Then is s followed by next.
func (s Similarity) Then(next Similarity) Similarity {
	x, y := next.Apply(s.DX, s.DY)
	return Similarity{Scale: s.Scale * next.Scale, Turn: s.Turn + next.Turn, DX: x, DY: y}
}

const (
	lobes  = 4         // Lanczos-4
	taps   = 2 * lobes // source pixels along an axis
	phases = 1024      // fractional positions that weights are kept for
)

// lanczos holds, for each fractional position, the weights of the eight pixels around it:
// sinc(x) sinc(x/4), made to add up to 1 so that flat areas stay flat. (Against six pixels,
// blends of made-up fine texture come 0.6 dB closer to the truth.)
var lanczos [phases + 1][taps]float32

func init() {
	sinc := func(x float64) float64 {
		if x == 0 {
			return 1
		}
		return math.Sin(math.Pi*x) / (math.Pi * x)
	}
	for i := range lanczos {
		t := float64(i) / phases
		var w [taps]float64
		sum := 0.0
		for j := range w {
			x := float64(j-lobes+1) - t
			w[j] = sinc(x) * sinc(x/lobes)
			sum += w[j]
		}
		for j := range w {
			lanczos[i][j] = float32(w[j] / sum)
		}
	}
}

// Warp makes a picture of src's size whose pixel p holds what stands at s applied to p in
// src: given how a frame lies on a reference, it brings the frame onto the reference.
// Lanczos-4 in two passes, first along the rows and then along the columns (E. Catmull and
// A. R. Smith, "3-D transformations of images in scanline order", 1980), positions to 1/1024
// pixel; beyond the edge the nearest edge pixel is repeated, and overshoot is not clipped. It is meant for scales near 1:
// much below (over 1 in s.Scale) fine detail aliases. It panics if Turn is over 45 degrees
// or Scale is not positive.
func Warp(dst, src *Plane, s Similarity) *Plane {
	if !(s.Scale > 0) || !(math.Abs(s.Turn) <= math.Pi/4) {
		panic(badTurn)
	}
	dst = Sized(dst, src.W, src.H)
	if src.W == 0 || src.H == 0 {
		return dst
	}
	sin, cos := math.Sincos(s.Turn)
	cx, cy := float64(src.W-1)/2, float64(src.H-1)/2
	// Source (u, v) of a destination pixel (x, y): u = a x - b y + u0, v = b x + a y + v0.
	a, b := s.Scale*cos, s.Scale*sin
	u0 := cx + s.DX - a*cx + b*cy
	v0 := cy + s.DY - b*cx - a*cy

	// First pass, into mid(x, v): source row v at the u that destination column x needs
	// there. With y = (v - b x - v0)/a, u = (a + b b/a) x - b/a v + u0 + b v0 / a.
	step := a + b*b/a
	mid := New(src.W, src.H)
	rows(src.H, src.W, func(r0, r1 int) {
		pad := make([]float32, src.W+2*taps)
		for v := r0; v < r1; v++ {
			row := src.Row(v)
			clamped(pad, row)
			out := mid.Row(v)
			u := u0 + (v0-float64(v))*b/a
			from, to := within(u, step, src.W, len(out))
			for x := range out {
				var i, phase int
				if t := u + step*float64(x); x >= from && x < to {
					i = int(t)
					phase = int((t-float64(i))*phases + 0.5)
					i += taps - lobes + 1
				} else {
					i, phase = position(t, src.W)
				}
				at, w := pad[i:i+taps:i+taps], &lanczos[phase]
				out[x] = w[0]*at[0] + w[1]*at[1] + w[2]*at[2] + w[3]*at[3] + w[4]*at[4] + w[5]*at[5] + w[6]*at[6] + w[7]*at[7]
			}
		}
	})
	rows(src.H, src.W, func(y0, y1 int) {
		var r [taps][]float32
		for y := y0; y < y1; y++ {
			out := dst.Row(y)
			have := math.MinInt
			v := a*float64(y) + v0
			from, to := within(v, b, src.H, len(out))
			for x := range out {
				var i, phase int
				if t := v + b*float64(x); x >= from && x < to {
					i = int(t)
					phase = int((t-float64(i))*phases + 0.5)
					i += taps - lobes + 1
				} else {
					i, phase = position(t, src.H)
				}
				if i != have {
					have = i
					for j := range r {
						r[j] = mid.Row(min(max(i+j-taps, 0), src.H-1))
					}
				}
				w := &lanczos[phase]
				out[x] = w[0]*r[0][x] + w[1]*r[1][x] + w[2]*r[2][x] + w[3]*r[3][x] + w[4]*r[4][x] + w[5]*r[5][x] + w[6]*r[6][x] + w[7]*r[7][x]
			}
		}
	})
	return dst
}

// within gives the stretch from <= x < to of 0..width in which start + step x lies in 0..n-1,
// so that its whole part needs no care; it may leave out a little.
func within(start, step float64, n, width int) (from, to int) {
	if step == 0 {
		if start >= 0 && start <= float64(n-1) {
			return 0, width
		}
		return 0, 0
	}
	lo, hi := -start/step, (float64(n-1)-start)/step
	if lo > hi {
		lo, hi = hi, lo
	}
	from = int(min(max(math.Ceil(lo)+1, 0), float64(width)))
	to = int(min(max(math.Floor(hi), float64(from)), float64(width)))
	return from, to
}

// position gives the index of the first of the eight pixels around t, counted in a line that
// has taps more pixels in front, and the phase of the weights. Positions far outside are
// brought to where all eight pixels are the edge's.
func position(t float64, n int) (int, int) {
	t = min(max(t, -lobes), float64(n-1+lobes))
	f := math.Floor(t)
	phase := int((t-f)*phases + 0.5)
	return int(f) - lobes + 1 + taps, phase
}

// clamped copies row into pad with its edges repeated taps times on either side.
func clamped(pad, row []float32) {
	copy(pad[taps:], row)
	first, last := row[0], row[len(row)-1]
	for i := range taps {
		pad[i] = first
		pad[taps+len(row)+i] = last
	}
}

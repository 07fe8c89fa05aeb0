package plane

import "math"

// mirror folds an index into 0..n-1 by reflection at the middle of the edge pixels
// (... 2 1 0 1 2 ...), for any distance outside.
func mirror(i, n int) int {
	if n == 1 {
		return 0
	}
	period := 2 * (n - 1)
	i %= period
	if i < 0 {
		i += period
	}
	if i >= n {
		i = period - i
	}
	return i
}

// boxFrom is the sigma from which Blur goes over from sampling the Gaussian to repeated
// boxes, whose cost does not grow with sigma.
const boxFrom = 3.0

// boxPasses is how often the box is applied.
const boxPasses = 4

// Blur convolves with a Gaussian of standard deviation sigma pixels; the picture is
// mirrored at its edges. Up to a sigma of 3 the Gaussian is sampled out to 4 sigma (below about
// 0.8 pixels such samples have less than its variance); above, four extended boxes of the same
// variance stand for it (P. Gwosdek, S. Grewenig, A. Bruhn and J. Weickert, "Theoretical
// foundations of Gaussian convolution by extended box filtering", 2011): an impulse's peak is then
// lower by 7 %. A sigma of 0 copies. It panics if sigma is negative or not finite. dst may be src.
func Blur(dst, src *Plane, sigma float64) *Plane {
	if !(sigma >= 0) || math.IsInf(sigma, 1) {
		panic(badSigma)
	}
	if dst != src {
		dst = Sized(dst, src.W, src.H)
		copy(dst.Pix, src.Pix)
	}
	switch {
	case sigma == 0 || src.W == 0 || src.H == 0:
	case sigma < boxFrom:
		blurSampled(dst, gaussian(sigma))
	default:
		b := newBox(sigma)
		for range boxPasses {
			blurBox(dst, b)
		}
	}
	return dst
}

// gaussian samples a Gaussian at 0, 1, ... out to 4 sigma, both sides together adding to 1.
func gaussian(sigma float64) []float32 {
	n := int(math.Ceil(4 * sigma))
	k := make([]float64, n+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += 2 * k[i]
	}
	sum -= k[0]
	out := make([]float32, n+1)
	for i := range k {
		out[i] = float32(k[i] / sum)
	}
	return out
}

func blurSampled(p *Plane, k []float32) {
	r := len(k) - 1
	rows(p.H, p.W, func(y0, y1 int) {
		pad := make([]float32, p.W+2*r)
		for y := y0; y < y1; y++ {
			row := p.Row(y)
			padded(pad, row, r)
			for x := range row {
				at := pad[x : x+2*r+1]
				sum := k[0] * at[r]
				for i := 1; i <= r; i++ {
					sum += k[i] * (at[r-i] + at[r+i])
				}
				row[x] = sum
			}
		}
	})
	src := append([]float32(nil), p.Pix...)
	rows(p.H, p.W, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			row := p.Row(y)
			for x, v := range src[y*p.W : (y+1)*p.W] {
				row[x] = k[0] * v
			}
			for i := 1; i <= r; i++ {
				a, b := mirror(y-i, p.H)*p.W, mirror(y+i, p.H)*p.W
				up, down, w := src[a:a+p.W], src[b:b+p.W], k[i]
				for x := range row {
					row[x] += w * (up[x] + down[x])
				}
			}
		}
	})
}

// padded copies row into pad with r mirrored values on either side.
func padded(pad, row []float32, r int) {
	copy(pad[r:], row)
	n := len(row)
	for i := 1; i <= r; i++ {
		pad[r-i] = row[mirror(-i, n)]
		pad[r+n-1+i] = row[mirror(n-1+i, n)]
	}
}

// box is an extended box: 2r+1 full weights and a smaller one at either end.
type box struct {
	r         int
	inner, ds float32 // weight of the full cells, and of the two outermost
}

// newBox sizes the box so that boxPasses of it have the Gaussian's variance.
func newBox(sigma float64) box {
	v := sigma * sigma / boxPasses
	r := math.Floor((math.Sqrt(12*v+1) - 1) / 2)
	a := (2*r + 1) * (r*(r+1) - 3*v) / (6 * (v - (r+1)*(r+1)))
	full := 2*r + 1 + 2*a
	return box{r: int(r), inner: float32(1 / full), ds: float32(a / full)}
}

func blurBox(p *Plane, b box) {
	pass := b.r + 1
	rows(p.H, p.W, func(y0, y1 int) {
		pad := make([]float32, p.W+2*pass)
		for y := y0; y < y1; y++ {
			row := p.Row(y)
			padded(pad, row, pass)
			// Sums in float64: a running sum in float32 would drift along the row.
			sum := 0.0
			for _, v := range pad[1 : 2*b.r+2] {
				sum += float64(v)
			}
			for x := range row {
				row[x] = b.inner*float32(sum) + b.ds*(pad[x]+pad[x+2*pass])
				sum += float64(pad[x+2*pass]) - float64(pad[x+1])
			}
		}
	})
	// Down the columns, bands of columns at once so that every step is along memory.
	src := append([]float32(nil), p.Pix...)
	at := func(y int) []float32 { y = mirror(y, p.H); return src[y*p.W : (y+1)*p.W] }
	rows(p.W, p.H, func(x0, x1 int) {
		sum := make([]float64, x1-x0)
		for y := -b.r; y <= b.r; y++ {
			for i, v := range at(y)[x0:x1] {
				sum[i] += float64(v)
			}
		}
		for y := range p.H {
			out := p.Row(y)[x0:x1]
			up, down, leave := at(y - pass)[x0:x1], at(y + pass)[x0:x1], at(y - b.r)[x0:x1]
			for i := range out {
				out[i] = b.inner*float32(sum[i]) + b.ds*(up[i]+down[i])
				sum[i] += float64(down[i]) - float64(leave[i])
			}
		}
	})
}

// Binomial blurs by [1 4 6 4 1]/16 along either axis, edges repeated. dst may be src.
func Binomial(dst, src *Plane) *Plane {
	w, h := src.W, src.H
	across := New(w, h)
	Share(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			s, t := src.Row(y), across.Row(y)
			edge := func(x int) {
				at := func(i int) float32 { return s[min(max(i, 0), w-1)] }
				t[x] = (at(x-2) + at(x+2) + 4*(at(x-1)+at(x+1)) + 6*at(x)) * (1.0 / 16)
			}
			for x := 0; x < min(2, w); x++ {
				edge(x)
			}
			for x := 2; x < w-2; x++ {
				t[x] = (s[x-2] + s[x+2] + 4*(s[x-1]+s[x+1]) + 6*s[x]) * (1.0 / 16)
			}
			for x := max(w-2, 2); x < w; x++ {
				edge(x)
			}
		}
	})
	dst = Sized(dst, w, h)
	Share(h, func(y0, y1 int) {
		row := func(y int) []float32 { return across.Row(min(max(y, 0), h-1)) }
		for y := y0; y < y1; y++ {
			a, b, c, d, e, o := row(y-2), row(y-1), row(y), row(y+1), row(y+2), dst.Row(y)
			for x := range o {
				o[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) * (1.0 / 16)
			}
		}
	})
	return dst
}

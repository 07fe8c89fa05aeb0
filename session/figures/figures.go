// Package figures measures what grouping needs to know of a frame from a reduced
// decode of its picture: a thumbnail in colour, a larger one in grey, detail by
// octave, detail by tile, noise, brightness and clipping. It decides nothing.
package figures

import (
	"math"

	"stillbench/session"
	"stillbench/session/plane"
)

// Sizes in pixels (long side) and counts of what Measure gives.
const (
	workSide  = 512 // detail and noise are measured at this size
	greySide  = 256
	smallSide = 96
	tileSide  = 24 // tiles along the long side
	octaves   = 6
)

// noiseGain is the share of the variance of white noise that is left in the finest
// band, picture minus binomial blur: 1 - 2 c0 + sum c^2, with c the 5 x 5 binomial
// kernel, c0 = (6/16)^2 its centre and sum c^2 = (70/256)^2.
const noiseGain = 1 - 2*36.0/256 + (70.0/256)*(70.0/256)

// Measure computes the figures of a picture as stored in the file. The picture's long
// side should be 512 pixels or more; a smaller one is measured as it is, with the
// coarser thumbnails never larger than the picture. All averaging is done in linear
// light, as a lens does it, so that a picture out of focus and its sharp twin have the
// same coarse thumbnail; Grey, Detail, Sharp and NoiseSigma are then measured on
// sRGB-encoded luminance (IEC 61966-2-1; luminance weights of ITU-R BT.709). Measure
// returns nil for a nil or empty picture.
func Measure(pic *plane.RGB) *session.Figures {
	if pic == nil || pic.W <= 0 || pic.H <= 0 || len(pic.Pix) < 3*pic.W*pic.H {
		return nil
	}
	f := &session.Figures{Version: session.FiguresVersion}
	f.Clipped = clipped(pic)

	w, h := within(pic.W, pic.H, workSide)
	work := reduceLinear(pic, w, h)
	f.MeanEV = meanEV(work)

	f.SmallW, f.SmallH = within(w, h, smallSide)
	small := reduce(work, w, h, 3, f.SmallW, f.SmallH)
	f.Small = make([]byte, len(small))
	for i, v := range small {
		f.Small[i] = encodeByte(v)
	}

	lum := make([]float32, w*h)
	for i := range lum {
		lum[i] = 0.2126*work[3*i] + 0.7152*work[3*i+1] + 0.0722*work[3*i+2]
	}
	f.GreyW, f.GreyH = within(w, h, greySide)
	f.Grey = make([]byte, f.GreyW*f.GreyH)
	for i, v := range reduce(lum, w, h, 1, f.GreyW, f.GreyH) {
		f.Grey[i] = encodeByte(v)
	}

	for i, v := range lum {
		lum[i] = encode(v)
	}
	f.SharpW, f.SharpH = within(w, h, tileSide)
	f.NoiseSigma = noise(lum, w, h, f.SharpW, f.SharpH)
	f.Detail, f.Sharp = detail(lum, w, h, f.SharpW, f.SharpH, f.NoiseSigma)
	return f
}

// within gives the size of a w x h picture whose long side is at most side.
func within(w, h, side int) (int, int) {
	long := max(w, h)
	if long <= side {
		return w, h
	}
	scale := float64(side) / float64(long)
	return max(1, int(float64(w)*scale+0.5)), max(1, int(float64(h)*scale+0.5))
}

// clipped is the share of pixels at 255, by channel.
func clipped(pic *plane.RGB) [3]float64 {
	var n [3]int
	pix := pic.Pix[:3*pic.W*pic.H]
	for i := 0; i+2 < len(pix); i += 3 {
		for c := range 3 {
			if pix[i+c] == 255 {
				n[c]++
			}
		}
	}
	area := float64(pic.W * pic.H)
	return [3]float64{float64(n[0]) / area, float64(n[1]) / area, float64(n[2]) / area}
}

// meanEV is log2 of the mean linear luminance, not below -20 (a picture of zeros).
func meanEV(rgb []float32) float64 {
	sum := 0.0
	for i := 0; i+2 < len(rgb); i += 3 {
		sum += 0.2126*float64(rgb[i]) + 0.7152*float64(rgb[i+1]) + 0.0722*float64(rgb[i+2])
	}
	return math.Log2(max(sum/float64(len(rgb)/3), 0x1p-20))
}

// reduceLinear decodes sRGB bytes to linear light and averages them over the area of
// each of w x h cells.
func reduceLinear(pic *plane.RGB, w, h int) []float32 {
	out := make([]float32, 3*w*h)
	xs := spans(pic.W, w)
	ys := spans(pic.H, h)
	row := make([]float32, 3*w)
	for y, sy := range ys {
		dst := out[3*w*y : 3*w*(y+1)]
		for sry := sy.from; sry < sy.to; sry++ {
			src := pic.Pix[3*pic.W*sry : 3*pic.W*(sry+1)]
			for x, sx := range xs {
				var r, g, b float32
				for i := sx.from; i < sx.to; i++ {
					k := sx.weight(i)
					r += k * linear[src[3*i]]
					g += k * linear[src[3*i+1]]
					b += k * linear[src[3*i+2]]
				}
				row[3*x], row[3*x+1], row[3*x+2] = r, g, b
			}
			k := sy.weight(sry)
			for i, v := range row {
				dst[i] += k * v
			}
		}
	}
	return out
}

// reduce averages a picture of the given number of channels over the area of each of
// dw x dh cells.
func reduce(src []float32, w, h, channels, dw, dh int) []float32 {
	out := make([]float32, channels*dw*dh)
	xs := spans(w, dw)
	row := make([]float32, channels*dw)
	for y, sy := range spans(h, dh) {
		dst := out[channels*dw*y : channels*dw*(y+1)]
		for sry := sy.from; sry < sy.to; sry++ {
			line := src[channels*w*sry : channels*w*(sry+1)]
			for i := range row {
				row[i] = 0
			}
			for x, sx := range xs {
				for i := sx.from; i < sx.to; i++ {
					k := sx.weight(i)
					for c := range channels {
						row[channels*x+c] += k * line[channels*i+c]
					}
				}
			}
			k := sy.weight(sry)
			for i, v := range row {
				dst[i] += k * v
			}
		}
	}
	return out
}

// span is the run of source pixels that one cell averages: all weigh inner, but the
// first and the last, which the cell may hold in part.
type span struct {
	from, to           int
	first, inner, last float32
}

func (s span) weight(i int) float32 {
	switch {
	case i == s.from:
		return s.first
	case i == s.to-1:
		return s.last
	}
	return s.inner
}

// spans cuts n source pixels into m <= n cells of equal width.
func spans(n, m int) []span {
	out := make([]span, m)
	step := float64(n) / float64(m)
	for i := range out {
		a, b := float64(i)*step, float64(i+1)*step
		from, to := int(a+1e-9), min(n, int(math.Ceil(b-1e-9)))
		s := span{from: from, to: to, inner: float32(1 / step)}
		s.first = float32((math.Min(float64(from+1), b) - a) / step)
		s.last = float32((b - math.Max(float64(to-1), a)) / step)
		out[i] = s
	}
	return out
}

// linear maps an sRGB byte to linear light in 0..1.
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

// The encoding curve, sampled over the square root of linear light, where it is
// nearly straight: the error of the interpolation is far below a thousandth.
const curveSteps = 1024

var curve = func() (t [curveSteps + 2]float32) {
	for i := range t {
		r := float64(i) / curveSteps
		v := r * r
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		t[i] = float32(v)
	}
	return t
}()

// encode maps linear light in 0..1 to an sRGB value in 0..1.
func encode(v float32) float32 {
	r := float32(math.Sqrt(float64(min(max(v, 0), 1)))) * curveSteps
	i := int(r)
	return curve[i] + (curve[i+1]-curve[i])*(r-float32(i))
}

func encodeByte(v float32) byte { return byte(min(255, encode(v)*255+0.5)) }

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
// sRGB-encoded luminance (IEC 61966-2-1; luminance weights of ITU-R BT.709). MeanEV is not below -20. Measure
// returns nil for a nil or empty picture.
func Measure(pic *plane.RGB) *session.Figures {
	if pic == nil || pic.W <= 0 || pic.H <= 0 || len(pic.Pix) < 3*pic.W*pic.H {
		return nil
	}
	f := &session.Figures{Version: session.FiguresVersion}
	f.Clipped = clipped(pic)

	// Everything is averaged in linear light.
	var rgb [3]*plane.Plane
	w, h := within(pic.W, pic.H, workSide)
	for c, p := range pic.Linear() {
		rgb[c] = plane.Reduce(nil, p, w, h)
	}
	light := plane.New(w, h)
	sum := 0.0
	for i := range light.Pix {
		y := 0.2126*rgb[0].Pix[i] + 0.7152*rgb[1].Pix[i] + 0.0722*rgb[2].Pix[i]
		light.Pix[i] = y
		sum += float64(y)
	}
	f.MeanEV = math.Log2(max(sum/float64(w*h), 0x1p-20))

	f.SmallW, f.SmallH = within(w, h, smallSide)
	f.Small = make([]byte, 3*f.SmallW*f.SmallH)
	for c, p := range rgb {
		for i, v := range plane.Reduce(nil, p, f.SmallW, f.SmallH).Pix {
			f.Small[3*i+c] = plane.Encode8(v)
		}
	}
	f.GreyW, f.GreyH = within(w, h, greySide)
	f.Grey = make([]byte, f.GreyW*f.GreyH)
	for i, v := range plane.Reduce(nil, light, f.GreyW, f.GreyH).Pix {
		f.Grey[i] = plane.Encode8(v)
	}

	luma := light.Pix
	for i, v := range luma {
		luma[i] = encode(v)
	}
	f.SharpW, f.SharpH = within(w, h, tileSide)
	f.Detail, f.Sharp, f.NoiseSigma = detail(luma, w, h, f.SharpW, f.SharpH)
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

// The sRGB encoding, sampled over the square root of linear light, where it is nearly
// straight: interpolation is wrong by far less than a thousandth.
const curveSteps = 1024

var curve = func() (t [curveSteps + 2]float32) {
	for i := range t {
		r := float64(i) / curveSteps
		t[i] = float32(plane.Encode(r * r))
	}
	return t
}()

// encode maps linear light in 0..1 to an sRGB value in 0..1.
func encode(v float32) float32 {
	r := float32(math.Sqrt(float64(min(max(v, 0), 1)))) * curveSteps
	i := int(r)
	return curve[i] + (curve[i+1]-curve[i])*(r-float32(i))
}

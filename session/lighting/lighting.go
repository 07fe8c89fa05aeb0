// Package lighting measures what a light does to a picture, from the reduced picture that
// every frame has, and does the arithmetic of lamps on a table: how much is in shadow and
// in highlight, how strongly form is modelled, what changed since the frame before, what
// distance and a second lamp do. It judges nothing.
package lighting

import (
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

// Measures is what one frame's light does.
type Measures struct {
	// Shadow and Highlight are the shares of the picture more than two stops below and
	// above middle grey (18 %): below Zone III and above Zone VII, where texture begins to
	// go (A. Adams, The Negative; the reading of the zones is common practice).
	Shadow, Highlight float64
	// Modelling is how far shading alone varies, in stops: half the distance from the 16th
	// to the 84th percentile, which of a normal distribution is its standard deviation. See
	// Shading.
	Modelling float64
	// Clipped is the share of pixels at the top value, by channel R, G, B.
	Clipped [3]float64
}

const (
	middleGrey = 0.18
	zones      = 4 // two stops, as a factor
	// darkest bounds what is looked at: below, an 8-bit picture holds noise.
	darkest = 1.0 / 1024
)

// Measure measures a frame; ok is false when its pixels are not known.
func Measure(f *session.Figures) (m Measures, ok bool) {
	p, ok := pictureOf(f)
	if !ok {
		return m, false
	}
	for _, y := range p.luma {
		switch {
		case y < middleGrey/zones:
			m.Shadow++
		case y > middleGrey*zones:
			m.Highlight++
		}
	}
	n := float64(len(p.luma))
	m.Shadow, m.Highlight = m.Shadow/n, m.Highlight/n
	m.Clipped = f.Clipped
	half := p.half()
	m.Modelling = spread(half.shading())
	return m, true
}

// Change is how one frame is lit against another of the same framing.
type Change struct {
	// ExposureEV is how much brighter the whole is, by the median.
	ExposureEV float64
	// Moved is the share of the picture that differs by more than half a stop once that
	// is taken out: what the light itself did.
	Moved float64
}

// Compare compares a frame with the one before; ok is false when either is not known or
// they are not of one shape.
func Compare(before, after *session.Figures) (c Change, ok bool) {
	a, okA := pictureOf(before)
	b, okB := pictureOf(after)
	if !okA || !okB || a.w != b.w || a.h != b.h {
		return c, false
	}
	diff := make([]float64, len(a.luma))
	for i := range diff {
		diff[i] = b.ev(i) - a.ev(i)
	}
	c.ExposureEV = percentile(diff, 0.5)
	for _, d := range diff {
		if math.Abs(d-c.ExposureEV) > 0.5 {
			c.Moved++
		}
	}
	c.Moved /= float64(len(diff))
	return c, true
}

// picture is the reduced picture in linear light.
type picture struct {
	w, h int
	rgb  []float64 // three a pixel
	luma []float64 // relative luminance, white 1
}

func pictureOf(f *session.Figures) (p picture, ok bool) {
	if f == nil || f.SmallW <= 0 || f.SmallH <= 0 || len(f.Small) != 3*f.SmallW*f.SmallH {
		return p, false
	}
	p = picture{w: f.SmallW, h: f.SmallH, rgb: make([]float64, len(f.Small)), luma: make([]float64, f.SmallW*f.SmallH)}
	for i, v := range f.Small {
		p.rgb[i] = float64(plane.Linear8(v))
	}
	for i := range p.luma { // IEC 61966-2-1, ITU-R BT.709
		p.luma[i] = 0.2126*p.rgb[3*i] + 0.7152*p.rgb[3*i+1] + 0.0722*p.rgb[3*i+2]
	}
	return p, true
}

// half is the picture at half its size: form shows in it as well, in an eighth of the time.
func (p *picture) half() picture {
	out := picture{w: p.w / 2, h: p.h / 2}
	if out.w == 0 || out.h == 0 {
		return *p
	}
	out.rgb, out.luma = make([]float64, 3*out.w*out.h), make([]float64, out.w*out.h)
	for y := range out.h {
		for x := range out.w {
			i, j := y*out.w+x, 2*y*p.w+2*x
			for c := range 3 {
				out.rgb[3*i+c] = (p.rgb[3*j+c] + p.rgb[3*(j+1)+c] + p.rgb[3*(j+p.w)+c] + p.rgb[3*(j+p.w+1)+c]) / 4
			}
			out.luma[i] = (p.luma[j] + p.luma[j+1] + p.luma[j+p.w] + p.luma[j+p.w+1]) / 4
		}
	}
	return out
}

// ev is a pixel's luminance in stops, white 0.
func (p *picture) ev(i int) float64 { return math.Log2(max(p.luma[i], darkest)) }

// spread is half the distance from the 16th to the 84th percentile.
func spread(v []float64) float64 { return (percentile(v, 0.84) - percentile(v, 0.16)) / 2 }

func percentile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[int(math.Round(q*float64(len(s)-1)))]
}

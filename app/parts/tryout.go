package parts

import (
	"image"
	"math"
	"slices"
)

// tried is the part of a picture inside an outline, as it was cut out last.
type tried struct {
	from *image.RGBA
	of   Outline
	img  *image.RGBA
}

// inside gives what stands inside the area in place of the picture, nil for nothing.
func (s *FrameView) inside() *image.RGBA {
	o := s.shown()
	if s.Inside == nil || len(o) < 3 || s.draft != nil && s.free {
		return nil
	}
	if t := &s.tried; t.from != s.Inside || !slices.Equal(t.of, o) {
		*t = tried{s.Inside, slices.Clone(o), o.cutOut(s.Inside, s.Soft)}
	}
	return s.tried.img
}

// trying: what is drawn is only tried until it is kept.
func (s *FrameView) trying() bool { return s.OnTry != nil }

// try takes an area in without keeping it.
func (s *FrameView) try(o Outline) {
	s.drop()
	s.Wanted = o
	s.Refresh()
	s.OnTry(o)
}

// cutOut gives img see-through outside an outline. It fades over soft of the diagonal, half of
// it on either side of the outline: four standard deviations of a Gaussian, as blends do it.
func (o Outline) cutOut(img *image.RGBA, soft float64) *image.RGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	sigma := max(soft*math.Hypot(float64(w), float64(h))/4, 0.5)
	reach := int(math.Ceil(3 * sigma))
	b := o.bounds()
	in := image.Rect(int(b.X0*float64(w))-reach, int(b.Y0*float64(h))-reach, int(b.X1*float64(w))+reach+1, int(b.Y1*float64(h))+reach+1).Intersect(out.Rect)
	if in.Empty() {
		return out
	}
	mask := make([]float32, w*h)
	o.spans(w, h, func(y, from, to int) {
		for x := from; x < to; x++ {
			mask[y*w+x] = 1
		}
	})
	kernel := make([]float32, 2*reach+1)
	sum := float32(0)
	for i := range kernel {
		d := float64(i-reach) / sigma
		kernel[i] = float32(math.Exp(-d * d / 2))
		sum += kernel[i]
	}
	// The picture's border continues beyond it.
	across := make([]float32, w*h)
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			v := float32(0)
			for i, k := range kernel {
				v += k * mask[y*w+min(max(x+i-reach, 0), w-1)]
			}
			across[y*w+x] = v / sum
		}
	}
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			v := float32(0)
			for i, k := range kernel {
				v += k * across[min(max(y+i-reach, 0), h-1)*w+x]
			}
			v /= sum
			s, d := img.PixOffset(img.Rect.Min.X+x, img.Rect.Min.Y+y), out.PixOffset(x, y)
			for c := range 4 {
				out.Pix[d+c] = uint8(float32(img.Pix[s+c])*v + 0.5)
			}
		}
	}
	return out
}

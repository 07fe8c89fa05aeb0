package parts

import (
	"image"

	"stillbench/app/look"
)

// Measures of the drawing of a traced part, in pixels of the screen: the hatching's pitch,
// and the width of the line inside the part's edge and of the black outside it. A picture
// with a long side below traceSmall has both finer.
const (
	tracePitch, traceLine           = 14, 2
	traceSmallPitch, traceSmallLine = 10, 1
	traceSmall                      = 560
)

// Traced draws the edge of what a mask marks (any pixels; 255 where marked) as an overlay
// of the mask's proportions, as large as maxW x maxH pixels hold: a white line on black, so that it shows on bright and dark alike, with a
// wide hatching inside that leaves the picture to be seen.
func Traced(mask *image.Alpha, maxW, maxH int) *image.RGBA {
	if mask == nil || mask.Rect.Empty() || maxW <= 0 || maxH <= 0 {
		return image.NewRGBA(image.Rectangle{})
	}
	fw, fh := fit(mask.Rect.Dx(), mask.Rect.Dy(), float32(maxW), float32(maxH))
	return TracedPart(mask, Area{0, 0, 1, 1}, max(int(fw+0.5), 1), max(int(fh+0.5), 1))
}

// TracedPart draws the same for a part of the mask, as w x h pixels.
func TracedPart(mask *image.Alpha, part Area, w, h int) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	in := magnifyPart(mask, part, w, h)
	pitch, line := tracePitch, traceLine
	if max(w, h) < traceSmall {
		pitch, line = traceSmallPitch, traceSmallLine
	}
	// near tells whether the other side of the edge is within d pixels of (x, y).
	near := func(x, y, d int) bool {
		own := in[y*w+x]
		for _, s := range [8][2]int{{-d, 0}, {d, 0}, {0, -d}, {0, d}, {-d + 1, -d + 1}, {d - 1, -d + 1}, {-d + 1, d - 1}, {d - 1, d - 1}} {
			i, j := x+s[0], y+s[1]
			if i >= 0 && j >= 0 && i < w && j < h && in[j*w+i] != own {
				return true
			}
		}
		return false
	}
	white := look.Ink1.Now()
	put := func(x, y int, v, a uint32) {
		i := out.PixOffset(x, y)
		c := uint8(v * a / 255)
		out.Pix[i], out.Pix[i+1], out.Pix[i+2], out.Pix[i+3] = c, c, c, uint8(a)
	}
	for y := range h {
		for x := range w {
			switch inside := in[y*w+x]; {
			case inside && near(x, y, line):
				put(x, y, uint32(white.R), 255)
			case !inside && near(x, y, line):
				put(x, y, 0, 255)
			case inside && (x+y)%pitch == 0:
				put(x, y, uint32(white.R), 190)
			case inside && (x+y)%pitch == 1:
				put(x, y, 0, 120)
			}
		}
	}
	return out
}

// Magnify gives, for each of w x h pixels, whether the mask marks it: the mask averaged over
// 3 x 3 and taken linearly between its pixels, so that its steps do not show.
func Magnify(mask *image.Alpha, w, h int) []bool { return magnifyPart(mask, Area{0, 0, 1, 1}, w, h) }

func magnifyPart(mask *image.Alpha, part Area, w, h int) []bool {
	mw, mh := mask.Rect.Dx(), mask.Rect.Dy()
	soft := make([]float32, mw*mh)
	for y := range mh {
		for x := range mw {
			sum, n := float32(0), float32(0)
			for j := max(y-1, 0); j <= min(y+1, mh-1); j++ {
				for i := max(x-1, 0); i <= min(x+1, mw-1); i++ {
					sum += float32(mask.Pix[j*mask.Stride+i])
					n++
				}
			}
			soft[y*mw+x] = sum / n
		}
	}
	in := make([]bool, w*h)
	for y := range h {
		v := min(max(float32(part.Y0+(float64(y)+0.5)/float64(h)*(part.Y1-part.Y0))*float32(mh)-0.5, 0), float32(mh-1))
		j := min(int(v), max(mh-2, 0))
		fv, below := v-float32(j), min(j+1, mh-1)
		for x := range w {
			u := min(max(float32(part.X0+(float64(x)+0.5)/float64(w)*(part.X1-part.X0))*float32(mw)-0.5, 0), float32(mw-1))
			i := min(int(u), max(mw-2, 0))
			fu, right := u-float32(i), min(i+1, mw-1)
			top := soft[j*mw+i]*(1-fu) + soft[j*mw+right]*fu
			bottom := soft[below*mw+i]*(1-fu) + soft[below*mw+right]*fu
			in[y*w+x] = top*(1-fv)+bottom*fv > 127.5
		}
	}
	return in
}

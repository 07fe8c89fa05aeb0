package stacks

import (
	"image"
	"image/color"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/present"
)

// neverSharp draws the map of what no frame holds sharp over an upright picture of the
// middle frame: the picture in grey at 0.42 of its brightness, the area hatched and
// outlined in accent.
func neverSharp(img *image.RGBA, r present.Row) *image.RGBA {
	b := img.Rect
	w, h := b.Dx(), b.Dy()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	accent := look.Accent.Now()
	mark := color.RGBA{accent.R, accent.G, accent.B, 255}
	marked := parts.Magnify(uprightMap(r), w, h)
	in := func(x, y int) bool { return x >= 0 && y >= 0 && x < w && y < h && marked[y*w+x] }
	const pitch, stroke, edge = 7, 2, 2
	for y := range h {
		for x := range w {
			i := out.PixOffset(x, y)
			if in(x, y) {
				border := !in(x-edge, y) || !in(x+edge, y) || !in(x, y-edge) || !in(x, y+edge)
				if border || (x+y)%pitch < stroke {
					out.SetRGBA(x, y, mark)
					continue
				}
			}
			s := img.PixOffset(b.Min.X+x, b.Min.Y+y)
			// Luma of Rec. 601, whole numbers.
			luma := (299*int(img.Pix[s]) + 587*int(img.Pix[s+1]) + 114*int(img.Pix[s+2])) / 1000
			grey := uint8(luma * 42 / 100)
			out.Pix[i], out.Pix[i+1], out.Pix[i+2], out.Pix[i+3] = grey, grey, grey, 255
		}
	}
	return out
}

// uprightMap is the map as it lies on the upright picture, each cell so many pixels that
// magnifying rounds its corners and no more.
func uprightMap(r present.Row) *image.Alpha {
	const fine = 3
	w, h := r.NeverW*fine, r.NeverH*fine
	if r.Turn >= 5 {
		w, h = h, w
	}
	m := image.NewAlpha(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			u, v := present.Stored(r.Turn, (float64(x)+0.5)/float64(w), (float64(y)+0.5)/float64(h))
			if r.NeverSharp[min(int(v*float64(r.NeverH)), r.NeverH-1)*r.NeverW+min(int(u*float64(r.NeverW)), r.NeverW-1)] != 0 {
				m.Pix[y*m.Stride+x] = 255
			}
		}
	}
	return m
}

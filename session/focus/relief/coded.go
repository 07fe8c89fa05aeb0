package relief

import (
	"bytes"
	"image"
	"image/jpeg"

	"stillbench/session/plane"
)

// Coded is a picture as a camera's file gives it back: through JPEG at a quality of 1 to 100 (ITU-T T.81, with the tables of
// its annex K scaled as the Independent JPEG Group does).
func Coded(p *plane.RGB, quality int) *plane.RGB {
	m := image.NewRGBA(image.Rect(0, 0, p.W, p.H))
	for i := range p.W * p.H {
		copy(m.Pix[4*i:], p.Pix[3*i:3*i+3])
		m.Pix[4*i+3] = 255
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}); err != nil {
		panic(err) // nothing but a picture's size can be wrong
	}
	out, err := plane.DecodeJPEG(b.Bytes(), max(p.W, p.H))
	if err != nil {
		panic(err)
	}
	out.FullW, out.FullH = p.FullW, p.FullH
	return out
}

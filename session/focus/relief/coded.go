package relief

import "stillbench/session/plane"

// Coded is a picture as a camera's file gives it back: through JPEG at a quality of 1 to 100 (ITU-T T.81, with the tables of
// its annex K scaled as the Independent JPEG Group does), colour at half resolution.
func Coded(p *plane.RGB, quality int) *plane.RGB {
	data, err := plane.EncodeJPEG(p, quality, true)
	if err != nil {
		panic(err) // nothing but a picture's size can be wrong
	}
	out, err := plane.DecodeJPEG(data, max(p.W, p.H))
	if err != nil {
		panic(err)
	}
	out.FullW, out.FullH = p.FullW, p.FullH
	return out
}

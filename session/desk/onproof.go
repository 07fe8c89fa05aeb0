package desk

import (
	"context"
	"errors"
	"image"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/plane"
)

// PictureOnProof decodes a frame of this session as it lies on a proof that it is in, upright,
// as it fits into maxW x maxH pixels (never enlarged): as large as Proof gives that proof, as
// bright, and see-through where the frame has no picture there. It is what a touch-up takes
// from the frame. It works in the caller's goroutine, for tens of milliseconds.
func (d *Desk) PictureOnProof(ctx context.Context, f session.ProofFrame, maxW, maxH int) (*image.RGBA, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if maxW <= 0 || maxH <= 0 {
		return nil, errors.New("no room for a picture")
	}
	frame, ok := d.Snapshot().Frame(f.Fingerprint)
	if !ok || d.proofs == nil {
		return nil, session.ErrNotFound
	}
	pic, err := d.proofs.decode(frame)
	if err != nil {
		return nil, err
	}
	turn := orientation(frame.Meta)
	move := plane.Similarity{Scale: f.Scale, Turn: f.Turn, DX: f.DX, DY: f.DY}
	laid, cover := blend.Lie{Move: move, Gain: f.Gain}.Lay(pic)
	out := rgba(shrunk(laid.Oriented(turn), maxW, maxH))
	if cover == nil {
		return out, nil
	}
	grey := plane.NewRGB(cover.W, cover.H)
	for i, v := range cover.Pix {
		grey.Pix[3*i] = uint8(min(max(v, 0), 1)*255 + 0.5)
	}
	mask := shrunk(grey.Oriented(turn), maxW, maxH)
	for i := range mask.W * mask.H { // premultiplied, as image.RGBA is
		a := uint32(mask.Pix[3*i])
		for c := range 3 {
			out.Pix[4*i+c] = uint8((uint32(out.Pix[4*i+c])*a + 127) / 255)
		}
		out.Pix[4*i+3] = uint8(a)
	}
	return out, nil
}

// shrunk makes a picture fit into maxW x maxH pixels.
func shrunk(p *plane.RGB, maxW, maxH int) *plane.RGB {
	if p.W <= maxW && p.H <= maxH {
		return p
	}
	w, h := fit(p.W, p.H, maxW, maxH)
	return plane.ReduceRGB(nil, p, w, h)
}

package desk_test

import (
	"fmt"
	"image"
	"path/filepath"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/plane"
)

// TestPictureOnProof: where a touch-up takes the picture from a frame, the proof becomes what
// was shown of that frame before.
func TestPictureOnProof(t *testing.T) {
	dir := t.TempDir()
	for i, data := range demoStack(t, 4) {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+1), data)
	}
	d := proofing(t, dir, openStore(t, filepath.Join(t.TempDir(), "setups.db")))
	plain, g := onlyProof(t, d)
	const side = 2000 // as they are, without making them smaller
	before, err := d.Proof(t.Context(), plain.Key, side, side)
	if err != nil {
		t.Fatal(err)
	}
	last := plain.Frames[3]
	laid, err := d.PictureOnProof(t.Context(), last, side, side)
	if err != nil {
		t.Fatal(err)
	}
	if laid.Rect != before.Rect {
		t.Fatalf("the frame has %v pixels, the proof %v", laid.Rect, before.Rect)
	}
	touch := session.Touch{Area: session.Area{{0.3, 0.3}, {0.7, 0.3}, {0.7, 0.7}, {0.3, 0.7}}, From: last.Fingerprint, Soft: 0.01}
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditTouch, Frame: g.Frames[0], Touch: &touch}); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	touched, _ := onlyProof(t, d)
	after, err := d.Proof(t.Context(), touched.Key, side, side)
	if err != nil {
		t.Fatal(err)
	}
	inner := image.Rect(laid.Rect.Dx()*4/10, laid.Rect.Dy()*4/10, laid.Rect.Dx()*6/10, laid.Rect.Dy()*6/10)
	// Proofs are kept as JPEG; a tenth of a level is for rounding.
	cost := meanApart(coded(t, laid), laid, inner)
	if got := meanApart(after, laid, inner); got > cost+0.1 {
		t.Errorf("%.2f levels from what was shown, %.2f of them the JPEG's", got, cost)
	}
	if got := meanApart(before, laid, inner); got < cost+1 {
		t.Errorf("the blend was like the frame already (%.2f levels): nothing is shown by this", got)
	}
	if _, err := d.PictureOnProof(t.Context(), session.ProofFrame{Fingerprint: "nobody", Scale: 1}, side, side); err == nil {
		t.Error("a picture of a frame that is not there")
	}
}

// TestPictureOnProofIsOpenBesideTheFrame: a frame that lies a quarter of its width to the left
// has no picture at the right.
func TestPictureOnProofIsOpenBesideTheFrame(t *testing.T) {
	dir := t.TempDir()
	for i, data := range demoStack(t, 3) {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+1), data)
	}
	d := proofing(t, dir, openStore(t, filepath.Join(t.TempDir(), "setups.db")))
	p, _ := onlyProof(t, d)
	f := p.Frames[1]
	f.DX += float64(p.W) / 4
	img, err := d.PictureOnProof(t.Context(), f, 400, 400)
	if err != nil {
		t.Fatal(err)
	}
	w, y := img.Rect.Dx(), img.Rect.Dy()/2
	for x, want := range map[int]uint8{w / 10: 255, w * 6 / 10: 255, w * 9 / 10: 0} {
		if got := img.RGBAAt(x, y); got.A != want || want == 0 && got.R != 0 {
			t.Errorf("at %d of %d: %v, want alpha %d", x, w, got, want)
		}
	}
}

// coded is a picture after it was kept as a JPEG of the quality of proofs.
func coded(t *testing.T, img *image.RGBA) *image.RGBA {
	t.Helper()
	p := plane.NewRGB(img.Rect.Dx(), img.Rect.Dy())
	for i := range p.W * p.H {
		copy(p.Pix[3*i:3*i+3], img.Pix[4*i:])
	}
	data, err := plane.EncodeJPEG(p, 90, false)
	if err != nil {
		t.Fatal(err)
	}
	out, err := desk.DecodeProof(data, p.W, p.H)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func meanApart(a, b *image.RGBA, in image.Rectangle) float64 {
	sum, n := 0.0, 0
	for y := in.Min.Y; y < in.Max.Y; y++ {
		for x := in.Min.X; x < in.Max.X; x++ {
			for c := range 3 {
				d := float64(a.Pix[a.PixOffset(x, y)+c]) - float64(b.Pix[b.PixOffset(x, y)+c])
				sum, n = sum+max(d, -d), n+1
			}
		}
	}
	return sum / float64(n)
}

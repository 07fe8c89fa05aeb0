package desk_test

import (
	"math/rand/v2"
	"path/filepath"
	"testing"

	"stillbench/exifread/exiftest"
	"stillbench/session/plane"
)

// TestSharpPartsAreMarkedUpright: the stored left half of an invented picture is full of
// fine patches, the right one is the same, out of focus. Orientation 6 (CIPA DC-008, tag
// 0x0112) shows the stored left side at the top.
func TestSharpPartsAreMarkedUpright(t *testing.T) {
	const w, h = 900, 600
	r := rand.New(rand.NewPCG(9, 2))
	p := plane.New(w, h)
	for y := 0; y < h; y += 4 {
		for x := 0; x < w; x += 4 {
			v := 0.2 + 0.6*r.Float32()
			for j := range 4 {
				for i := range 4 {
					p.Pix[(y+j)*w+x+i] = v
				}
			}
		}
	}
	soft := plane.Blur(nil, p, 4)
	pic := plane.NewRGB(w, h)
	for i := range p.Pix {
		v := p.Pix[i]
		if i%w >= w/2 {
			v = soft.Pix[i]
		}
		b := byte(255*v + 0.5)
		pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = b, b, b
	}
	data, err := plane.EncodeJPEG(pic, 95, false)
	if err != nil {
		t.Fatal(err)
	}
	turn, ww, hh := 6, w, h
	data, err = exiftest.InsertJPEG(data, exiftest.Fields{Taken: noon, HasOffset: true, Orientation: &turn, Width: &ww, Height: &hh})
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	put(t, dir, "VTX_0001.JPG", data)
	d := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "setups.db")), true)
	m, err := d.Sharp(t.Context(), d.Snapshot().Frames[0].Fingerprint)
	if err != nil {
		t.Fatal(err)
	}
	if m.Rect.Dx() >= m.Rect.Dy() {
		t.Fatalf("the mask lies: %v", m.Rect)
	}
	var marked, all [2]int
	for y := range m.Rect.Dy() {
		if near := m.Rect.Dy() / 2; y > near-8 && y < near+8 {
			continue
		}
		for x := range m.Rect.Dx() {
			half := 2 * y / m.Rect.Dy()
			all[half]++
			if m.AlphaAt(x, y).A > 0 {
				marked[half]++
			}
		}
	}
	if up, down := float64(marked[0])/float64(all[0]), float64(marked[1])/float64(all[1]); up < 0.9 || down > 0.02 {
		t.Errorf("%.2f of the upper half is marked, %.2f of the lower", up, down)
	}
	if _, err := d.Sharp(t.Context(), "no such frame"); err == nil {
		t.Error("a frame that is not there has a mask")
	}
}

package desk

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"testing"

	"stillbench/session"
	"stillbench/session/plane"
)

// A part that is decoded alone is that part of the upright picture, whichever way the camera was
// held, in the middle as at the edges.
func TestCropEachWay(t *testing.T) {
	src := plane.NewRGB(173, 97)
	for i := range src.Pix {
		src.Pix[i] = uint8(i*7919>>4 + i/300)
	}
	data, err := plane.EncodeJPEG(src, 90, true)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "frame.jpg")
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	for o := 1; o <= 8; o++ {
		m := session.Meta{Container: "jpeg", Orientation: &o}
		whole, err := upright(path, m, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, spot := range [][2]float64{{0.5, 0.4}, {0, 0}, {1, 0.2}, {0.3, 1}} {
			got, err := crop(path, m, spot[0], spot[1], 40, 30)
			if err != nil {
				t.Fatal(err)
			}
			r := window(spot[0], spot[1], 40, 30, whole.W, whole.H)
			want := rgba(whole.Crop(r.Min.X, r.Min.Y, r.Dx(), r.Dy()))
			if got.Rect != image.Rect(0, 0, 40, 30) || !bytes.Equal(got.Pix, want.Pix) {
				t.Errorf("held as by orientation %d: the part round %v is another one (%v)", o, spot, got.Rect)
			}
		}
	}
}

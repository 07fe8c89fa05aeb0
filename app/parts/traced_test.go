package parts

import (
	"image"
	"math"
	"testing"

	"stillbench/app/look"
)

// The edge of a disc lies on its circle, white inside and black outside, so that one of
// the two shows on any picture; away from it the picture is left mostly bare.
func TestTracedEdgeShowsOnBrightAndDark(t *testing.T) {
	look.Set(look.State{Scale: 1})
	mask := image.NewAlpha(image.Rect(0, 0, 150, 100))
	for y := range 100 {
		for x := range 150 {
			if math.Hypot(float64(x)+0.5-75, float64(y)+0.5-50) < 30 {
				mask.Pix[y*mask.Stride+x] = 255
			}
		}
	}
	const w, h = 900, 600
	img := Traced(mask, w, 4*h)
	if img.Rect.Dx() != w || img.Rect.Dy() != h {
		t.Fatalf("drawn %v large", img.Rect)
	}
	covered := 0
	for y := range h {
		for x := range w {
			c := img.RGBAAt(x, y)
			if c.A > 0 {
				covered++
			}
			r := math.Hypot(float64(x)+0.5-450, float64(y)+0.5-300) / 6
			if r > 31 && c.A > 0 {
				t.Fatalf("something is drawn at %d, %d outside", x, y)
			}
			if c.A == 255 && c.R > 100 && math.Abs(r-30) > 1 {
				t.Fatalf("a line at %d, %d, %.1f of 30 from the middle", x, y, r)
			}
		}
	}
	for a := range 360 {
		sin, cos := math.Sincos(float64(a) * math.Pi / 180)
		white, black := false, false
		for r := 28.5; r < 31.5; r += 0.1 {
			c := img.RGBAAt(int(450+6*r*cos), int(300+6*r*sin))
			white = white || c.A == 255 && c.R > 200
			black = black || c.A == 255 && c.R == 0
		}
		if !white || !black {
			t.Fatalf("at %d degrees: white %v, black %v", a, white, black)
		}
	}
	if share := float64(covered) / (math.Pi * 180 * 180); share > 0.25 {
		t.Errorf("%.2f of the part is covered", share)
	}
	Traced(nil, 10, 10)
	Traced(mask, 0, 0)
}

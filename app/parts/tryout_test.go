package parts

import (
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

// An edge that a Gaussian softens is the integral of that Gaussian, so 0.5 on the outline and
// (1 + erf(d / (sigma sqrt 2))) / 2 at a distance d inside it.
func TestCutOutFadesLikeAGaussian(t *testing.T) {
	const w, h, soft = 400, 300, 0.04 // the diagonal is 500, sigma so 5
	img := plain(w, h, color.RGBA{200, 100, 50, 255})
	out := RectOutline(Area{0.25, 0.2, 0.75, 0.8}).cutOut(img, soft)
	for x := 60; x < 200; x++ {
		d := float64(x) + 0.5 - 100
		want := (1 + math.Erf(d/(5*math.Sqrt2))) / 2
		got := out.RGBAAt(x, 150)
		if math.Abs(float64(got.A)/255-want) > 0.01 || math.Abs(float64(got.R)-200*float64(got.A)/255) > 1 {
			t.Fatalf("%.1f inside the edge: %v, want a share of %.3f", d, got, want)
		}
	}
	if got := out.RGBAAt(200, 150); got != (color.RGBA{200, 100, 50, 255}) {
		t.Errorf("in the middle: %v", got)
	}
	if got := out.RGBAAt(20, 20); got != (color.RGBA{}) {
		t.Errorf("outside: %v", got)
	}
}

func TestCutOutOfThePicturesCornerIsWholeThere(t *testing.T) {
	out := RectOutline(Area{0, 0, 0.5, 0.5}).cutOut(plain(90, 60, color.RGBA{9, 9, 9, 255}), 0.05)
	if got := out.RGBAAt(0, 0); got.A != 255 {
		t.Errorf("the picture's own corner fades: %v", got)
	}
}

func TestTryingShowsTheOtherPictureInsideAndKeepsOnEnter(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(60, 40, color.RGBA{100, 100, 100, 255})
	v.Inside, v.Soft = plain(60, 40, color.RGBA{200, 40, 40, 255}), 0.01
	v.Start = &Area{0.4, 0.4, 0.6, 0.6}
	var tried, kept []Outline
	v.OnTry = func(o Outline) { tried = append(tried, o) }
	v.OnWanted = func(o Outline) { kept = append(kept, o) }
	v.Draw = true
	win := window(t, v, 600, 400)
	win.Canvas().Focus(v)
	if got := seen(win).NRGBAAt(300, 200); got.G != 100 {
		t.Errorf("without an area the other picture shows: %v", got)
	}
	v.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(150, 100)}})
	v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(450, 300)}})
	if got := seen(win).NRGBAAt(300, 200); got.R != 200 || got.G != 40 {
		t.Errorf("while it is drawn the middle of the area is %v", got)
	}
	v.DragEnd()
	if len(tried) != 1 || len(kept) != 0 || !nearArea(tried[0].bounds(), Area{0.25, 0.25, 0.75, 0.75}) {
		t.Fatalf("tried %v, kept %v", tried, kept)
	}
	if in, out := seen(win).NRGBAAt(300, 200), seen(win).NRGBAAt(60, 60); in.R != 200 || out.R != 100 {
		t.Errorf("inside %v, outside %v: want the other picture and the picture as bright as it is", in, out)
	}
	v.TypedKey(key(fyne.KeyDelete))
	if len(tried) != 2 || tried[1] != nil || len(kept) != 0 || seen(win).NRGBAAt(300, 200).R != 100 {
		t.Errorf("Delete: tried %v, kept %v", tried, kept)
	}
	v.TypedKey(key(fyne.KeyRight))
	if len(tried) != 3 || !nearArea(tried[2].bounds(), Area{0.42, 0.4, 0.62, 0.6}) {
		t.Fatalf("an arrow begins at %v", tried[len(tried)-1])
	}
	v.TypedKey(key(fyne.KeyReturn))
	if len(kept) != 1 || !nearArea(kept[0].bounds(), tried[2].bounds()) {
		t.Errorf("Enter keeps %v", kept)
	}
}

package parts

import (
	"image"
	"image/color"
	"math/rand/v2"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
)

func TestPictureFitsWithoutBeingBent(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	for range 500 {
		pw, ph := 1+rng.IntN(8000), 1+rng.IntN(8000)
		w, h := 10+1400*rng.Float32(), 10+900*rng.Float32()
		fw, fh := fit(pw, ph, w, h)
		if fw > w+0.01 || fh > h+0.01 {
			t.Fatalf("%dx%d in %gx%g: %gx%g", pw, ph, w, h, fw, fh)
		}
		if !near(float64(fw)*float64(ph), float64(fh)*float64(pw), 1e-2*float64(pw+ph)) {
			t.Fatalf("%dx%d becomes %gx%g", pw, ph, fw, fh)
		}
		if !near(float64(fw), float64(w), 0.01) && !near(float64(fh), float64(h), 0.01) {
			t.Fatalf("%dx%d in %gx%g: %gx%g could be larger", pw, ph, w, h, fw, fh)
		}
	}
}

func TestFitPixels(t *testing.T) {
	for _, c := range []struct {
		pw, ph int
		box    fyne.Size
		scale  float32
		w, h   int
	}{
		{6000, 4000, fyne.NewSize(864, 576), 1, 864, 576},
		{6000, 4000, fyne.NewSize(864, 576), 2, 1728, 1152},
		{4000, 6000, fyne.NewSize(864, 576), 1, 384, 576},
		{300, 200, fyne.NewSize(864, 576), 1, 300, 200}, // never made larger
		{6000, 1, fyne.NewSize(600, 400), 1, 600, 1},
	} {
		if w, h := FitPixels(c.pw, c.ph, c.box, c.scale); w != c.w || h != c.h {
			t.Errorf("%dx%d into %v at %g: %dx%d, not %dx%d", c.pw, c.ph, c.box, c.scale, w, h, c.w, c.h)
		}
	}
}

func TestPartOfAPictureIsNotSheared(t *testing.T) {
	whole := plain(300, 200, color.RGBA{250, 0, 0, 255})
	for y := 50; y < 150; y++ {
		for x := 100; x < 200; x++ {
			whole.SetRGBA(x, y, color.RGBA{0, 0, 250, 255})
		}
	}
	v := NewFrameView()
	v.Picture = whole.SubImage(image.Rect(100, 50, 200, 150)).(*image.RGBA)
	win := window(t, v, 100, 100)
	img := seen(win)
	for _, p := range [][2]int{{5, 5}, {95, 5}, {5, 95}, {95, 95}, {50, 50}} {
		if got := img.NRGBAAt(p[0], p[1]); got.B != 250 {
			t.Errorf("at %v: %v", p, got)
		}
	}
}

func TestGroundRoundThePicture(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(20, 30, color.RGBA{250, 0, 0, 255}) // upright in a wide box
	win := window(t, v, 300, 150)
	img := seen(win)
	for _, x := range []float32{10, 90, 210, 290} {
		if colourAt(img, x, 75) != int(look.Ground) {
			t.Errorf("at x %g: %v", x, img.NRGBAAt(int(x), 75))
		}
	}
}

func TestWantedAreaHasFourCorners(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(600, 400, color.RGBA{128, 128, 128, 255})
	v.Wanted = RectOutline(Area{0.25, 0.25, 0.75, 0.75})
	win := window(t, v, 600, 400)
	img := seen(win)
	for _, x := range []int{150, 450} {
		for _, y := range []int{100, 300} {
			if got := img.NRGBAAt(x, y); got.R < 200 {
				t.Errorf("no corner at %d, %d: %v", x, y, got)
			}
		}
	}
	if got := img.NRGBAAt(300, 102); got.R != 128 {
		t.Errorf("the side is drawn as well as the corners: %v", got)
	}
	// Outside it the picture is darker by a shadeAlpha of black.
	if got := float64(img.NRGBAAt(50, 50).R); !near(got, 128*(255-shadeAlpha)/255, 2) {
		t.Errorf("outside the area the picture is at %g", got)
	}
}

func TestDrawingTheWantedArea(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
	window(t, v, 600, 400)
	var got Outline
	calls := 0
	v.OnWanted = func(o Outline) { got, calls = o, calls+1 }
	drag := func(x0, y0, x1, y1 float32) {
		v.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x0, y0)}})
		v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x1, y1)}})
		v.DragEnd()
	}
	drag(450, 300, 150, 100)
	if calls != 0 {
		t.Fatal("an area was drawn while that was not asked for")
	}
	v.Draw = true
	drag(450, 300, 150, 100) // from the lower right to the upper left
	want := Area{0.25, 0.25, 0.75, 0.75}
	if !got.rect() || !nearArea(got.bounds(), want) {
		t.Fatalf("%v, not %v", got, want)
	}
	drag(100, 100, 103, 103) // a slip of the hand
	if calls != 1 || !nearArea(v.Wanted.bounds(), want) {
		t.Error("a slip of the hand changed the area")
	}
	drag(-50, -50, 900, 900)
	if !nearArea(got.bounds(), Area{0, 0, 1, 1}) {
		t.Errorf("outside the picture: %v", got)
	}
}

func nearArea(a, b Area) bool {
	return near(a.X0, b.X0, 0.01) && near(a.Y0, b.Y0, 0.01) && near(a.X1, b.X1, 0.01) && near(a.Y1, b.Y1, 0.01)
}

func TestDrawingByKeys(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
	v.Wanted, v.Draw = RectOutline(Area{0.1, 0.1, 0.5, 0.5}), true
	win := window(t, v, 600, 400)
	win.Canvas().Focus(v)
	var got Outline
	v.OnWanted = func(o Outline) { got = o }
	cancelled := false
	v.OnCancel = func() { cancelled = true }
	v.TypedKey(key(fyne.KeyRight))
	v.TypedKey(key(fyne.KeyDown))
	if v.Wanted.bounds().X0 != 0.1 {
		t.Error("the wanted area changed before Enter")
	}
	v.TypedKey(key(fyne.KeyReturn))
	if got == nil || !nearArea(got.bounds(), Area{0.12, 0.12, 0.52, 0.52}) {
		t.Errorf("%v", got)
	}
	v.TypedKey(key(fyne.KeyLeft))
	v.TypedKey(key(fyne.KeyEscape))
	if !cancelled || !nearArea(v.shown().bounds(), Area{0.12, 0.12, 0.52, 0.52}) {
		t.Errorf("Esc leaves %v", v.shown())
	}
	v.TypedKey(key(fyne.KeyDelete))
	if got != nil || v.Wanted != nil {
		t.Error("Delete does not take the whole picture")
	}
}

func TestSteppedAreaStaysInside(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	keys := []fyne.KeyName{fyne.KeyLeft, fyne.KeyRight, fyne.KeyUp, fyne.KeyDown}
	a := Area{0.2, 0.2, 0.8, 0.8}
	for range 5000 {
		a, _ = steppedArea(a, keys[rng.IntN(4)], rng.IntN(2) == 0)
		if a.X0 < -1e-9 || a.Y0 < -1e-9 || a.X1 > 1+1e-9 || a.Y1 > 1+1e-9 || a.X1-a.X0 < leastArea-1e-9 || a.Y1-a.Y0 < leastArea-1e-9 {
			t.Fatalf("%+v", a)
		}
	}
}

func TestPointOfThePicture(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(20, 30, color.RGBA{128, 128, 128, 255})
	window(t, v, 300, 150) // the picture is 100 wide, from x 100
	var x, y float64
	v.OnPoint = func(px, py float64) { x, y = px, py }
	test.TapAt(v, fyne.NewPos(125, 75))
	if !near(x, 0.25, 1e-6) || !near(y, 0.5, 1e-6) {
		t.Errorf("%g, %g, not 0.25, 0.5", x, y)
	}
}

func TestEmptyViewSaysWhatWillFillIt(t *testing.T) {
	v := NewFrameView()
	v.Empty = "The newest frame will stand here."
	window(t, v, 600, 400)
	if !hasText(v, v.Empty) {
		t.Error("nothing is said")
	}
}

package parts

import (
	"image"
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
)

// graded is a picture whose pixels tell where they are.
func graded(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, color.RGBA{uint8(20 + x), uint8(20 + y), 100, 255})
		}
	}
	return img
}

func TestCutPartIsThePartAndNothingElse(t *testing.T) {
	img, block := graded(100, 80), image.Rect(1000, 500, 1100, 580)
	out := CutPart(img, block, image.Rect(1030, 520, 1070, 560))
	if out.Rect != image.Rect(0, 0, 40, 40) || out.RGBAAt(0, 0) != img.RGBAAt(30, 20) || out.RGBAAt(39, 39) != img.RGBAAt(69, 59) {
		t.Errorf("%v: %v", out.Rect, out.RGBAAt(0, 0))
	}
	out = CutPart(img, block, image.Rect(1080, 480, 1120, 520))
	if out.RGBAAt(0, 19) != (color.RGBA{}) || out.RGBAAt(20, 20) != (color.RGBA{}) || out.RGBAAt(19, 20) != img.RGBAAt(99, 0) {
		t.Errorf("past the block: %v %v %v", out.RGBAAt(0, 19), out.RGBAAt(20, 20), out.RGBAAt(19, 20))
	}
	if CutPart(img, block, image.Rect(0, 0, 40, 40)) != nil {
		t.Error("far from the block there is a picture")
	}
}

func TestUnderFollowsTheMap(t *testing.T) {
	img := graded(100, 80)
	// Four pixels across show one: between the middles of pixels it rises evenly.
	out := Under(img, [6]float64{0.25, 0, 30, 0, 0.25, 20}, 80, 60)
	for _, at := range []image.Point{{2, 2}, {40, 30}, {77, 57}} {
		want := 20 + 30 + (float64(at.X)+0.5)/4 - 0.5
		if got := out.RGBAAt(at.X, at.Y); math.Abs(float64(got.R)-want) > 1 || got.A != 255 {
			t.Errorf("at %v: %v, want red %.2f", at, got, want)
		}
	}
	// A quarter turn about the middle of a square: (x, y) shows (y, 40 - x).
	out = Under(img, [6]float64{0, 1, 0, -1, 0, 40}, 40, 40)
	if got, want := out.RGBAAt(10, 25), img.RGBAAt(25, 29); got != want {
		t.Errorf("turned: %v, want %v", got, want)
	}
}

func TestClippedCountsAndMarksBothEnds(t *testing.T) {
	look.Set(look.State{Scale: 1})
	img := plain(100, 50, color.RGBA{120, 120, 120, 255})
	for y := range 30 {
		for x := range 30 {
			img.SetRGBA(10+x, 10+y, color.RGBA{255, 200, 180, 255}) // one channel is enough
			img.SetRGBA(60+x, 10+y, color.RGBA{30, 0, 20, 255})
		}
	}
	img.SetRGBA(5, 5, color.RGBA{255, 255, 255, 255})
	img.SetRGBA(6, 45, color.RGBA{254, 254, 254, 255})
	over, bright, dark := Clipped(img, 1)
	if math.Abs(bright-901.0/5000) > 1e-12 || math.Abs(dark-900.0/5000) > 1e-12 {
		t.Errorf("%v bright, %v dark", bright, dark)
	}
	if over.RGBAAt(5, 5).A != 255 {
		t.Error("a speck is not marked")
	}
	if over.RGBAAt(50, 25) != (color.RGBA{}) || over.RGBAAt(6, 45) != (color.RGBA{}) {
		t.Error("what is not clipped is marked")
	}
	// Inside, strokes go on up to the right where it is bright and down to the right where it is
	// dark, and leave some of the picture to be seen.
	rises, falls, clear := 0, 0, 0
	for y := 13; y < 37; y++ {
		for x := 13; x < 37; x++ {
			if over.RGBAAt(x, y) == over.RGBAAt(x+1, y-1) {
				rises++
			}
			if over.RGBAAt(x+50, y) == over.RGBAAt(x+51, y+1) {
				falls++
			}
			if over.RGBAAt(x, y).A == 0 {
				clear++
			}
		}
	}
	if rises != 24*24 || falls != 24*24 || clear < 24*24/4 {
		t.Errorf("%d rise, %d fall, %d are clear, of %d", rises, falls, clear, 24*24)
	}
	if twice, b, d := Clipped(img, 2); twice.Rect.Dx() != 200 || b != bright || d != dark {
		t.Error("enlarged, the shares are others")
	}
	if over, b, d := Clipped(plain(9, 9, color.RGBA{1, 254, 99, 255}), 1); over != nil || b != 0 || d != 0 {
		t.Error("1 and 254 are not clipped")
	}
	if _, b, _ := Clipped(image.NewRGBA(image.Rect(0, 0, 9, 9)), 1); b != 0 {
		t.Error("what is not there is clipped")
	}
}

// A part of the mask, magnified, is that part of the mask magnified.
func TestTracedPartIsThePartOfTheWhole(t *testing.T) {
	mask := image.NewAlpha(image.Rect(0, 0, 60, 40))
	for y := range 40 {
		for x := range 60 {
			if (x-30)*(x-30)+(y-20)*(y-20) < 150 {
				mask.Pix[y*60+x] = 255
			}
		}
	}
	whole := Magnify(mask, 600, 400)
	part := magnifyPart(mask, Area{0.25, 0.25, 0.75, 0.5}, 300, 100)
	marked := 0
	for y := range 100 {
		for x := range 300 {
			if part[y*300+x] != whole[(y+100)*600+x+150] {
				t.Fatalf("(%d, %d) differs", x, y)
			}
			if part[y*300+x] {
				marked++
			}
		}
	}
	if marked == 0 {
		t.Fatal("nothing is marked")
	}
}

// Two to one, each pixel of the picture is a square of two by two pixels of the screen.
func TestCloseupViewShowsPixelsAsTheyAre(t *testing.T) {
	v := NewCloseupView()
	v.Picture, v.Zoom = image.NewRGBA(image.Rect(0, 0, 100, 60)), 2
	for i := range 100 * 60 {
		g := uint8(40)
		if i%100%2 == 0 {
			g = 210
		}
		v.Picture.SetRGBA(i%100, i/100, color.RGBA{g, g, g, 255})
	}
	win := window(t, v, 300, 200)
	x, y, fw, fh := v.frame(300, 200)
	if fw != 200 || fh != 120 || x != 50 || y != 40 {
		t.Fatalf("it lies at %v, %v, %v x %v", x, y, fw, fh)
	}
	for i, want := range []uint8{210, 210, 40, 40, 210, 210, 40, 40} {
		if got := seen(win).NRGBAAt(50+i, 100).R; got != want {
			t.Errorf("pixel %d is %d, want %d", i, got, want)
		}
	}
}

func TestCloseupViewReportsWhereInWhatIsSeen(t *testing.T) {
	v := NewCloseupView()
	v.Picture, v.Pixels = plain(300, 100, color.RGBA{9, 9, 9, 255}), 2
	window(t, v, 600, 400) // whole: 600 x 200 at the top
	var x, y float64
	var dx float32
	in := 0
	v.OnPoint = func(px, py float64) { x, y = px, py }
	v.OnDrag = func(d, _ float32) { dx = d }
	v.OnWheel = func(i bool, _, _ float64) {
		if i {
			in++
		} else {
			in--
		}
	}
	v.Tapped(&fyne.PointEvent{Position: fyne.NewPos(150, 50)})
	if math.Abs(x-0.25) > 1e-6 || math.Abs(y-0.25) > 1e-6 {
		t.Errorf("clicked at (%v, %v)", x, y)
	}
	v.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(-7, 0)})
	if dx != -14 {
		t.Errorf("dragged by %v pixels", dx)
	}
	v.Scrolled(&fyne.ScrollEvent{Scrolled: fyne.NewDelta(0, 10)})
	if in != 1 {
		t.Error("the wheel turned away from the hand does not enlarge")
	}
}

package parts

import (
	"image/color"
	"math"
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
)

// round is a circle of radius r about the middle, drawn with n corners.
func round(n int, r float64) Outline {
	var o Outline
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		o = append(o, [2]float64{0.5 + r*cos, 0.5 + r*sin})
	}
	return o
}

// The area of a circle is pi r squared, and a smoothed line lies within its tolerance.
func TestSmoothedLineKeepsItsShapeWithFewCorners(t *testing.T) {
	o := round(400, 0.3)
	s := o.smoothed(handSlack)
	if len(s) > 60 || len(s) < 12 {
		t.Errorf("%d corners of 400 are left", len(s))
	}
	if !near(o.size(), math.Pi*0.09, 1e-4) || !near(s.size(), math.Pi*0.09, 2*math.Pi*0.3*handSlack) {
		t.Errorf("areas %g and %g of %g", o.size(), s.size(), math.Pi*0.09)
	}
	for _, p := range o {
		d := math.Inf(1)
		for i := range s {
			d = min(d, fromSegment(p, s[i], s[(i+1)%len(s)]))
		}
		if d > handSlack+1e-12 {
			t.Fatalf("%v is %g from the smoothed line", p, d)
		}
	}
}

func TestOutsideIsOutside(t *testing.T) {
	o := round(200, 0.3)
	img := o.outside(300, 200, 90)
	for y := range 200 {
		for x := range 300 {
			r := math.Hypot((float64(x)+0.5)/300-0.5, (float64(y)+0.5)/200-0.5)
			want := uint8(0)
			if r > 0.3 {
				want = 90
			}
			if math.Abs(r-0.3) > 0.005 && img.RGBAAt(x, y).A != want {
				t.Fatalf("at %d, %d (%.3f from the middle): %d", x, y, r, img.RGBAAt(x, y).A)
			}
		}
	}
}

func TestFreeLineIsDrawnWithShiftOrWithFree(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
	v.Draw = true
	window(t, v, 600, 400)
	var got Outline
	v.OnWanted = func(o Outline) { got = o }
	follow := func(shift bool) {
		got = nil
		e := &desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(480, 200)}}
		if shift {
			e.Modifier = fyne.KeyModifierShift
		}
		v.MouseDown(e)
		line := round(120, 0.3)
		if v.Free == shift {
			line = line[:80] // a rectangle from where the drag begins to where it ends
		}
		for _, p := range line {
			v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(float32(p[0]*600), float32(p[1]*400))}})
		}
		v.DragEnd()
	}
	for _, free := range []bool{false, true} {
		for _, shift := range []bool{false, true} {
			v.Free = free
			follow(shift)
			if drawn := free != shift; drawn && !near(got.size(), math.Pi*0.09, 0.01) || drawn == got.rect() {
				t.Errorf("free %v, shift %v: %v", free, shift, got)
			}
		}
	}
}

func TestOnlyRectanglesShowAsCorners(t *testing.T) {
	if !RectOutline(Area{0.1, 0.2, 0.3, 0.9}).rect() {
		t.Error("a rectangle is none")
	}
	for _, o := range []Outline{nil, {{0, 0}, {1, 0}, {1, 1}}, {{0, 0}, {1, 0.1}, {1, 1}, {0, 1}}, round(4, 0.3)} {
		if o.rect() {
			t.Errorf("%v is a rectangle", o)
		}
	}
}

// An outline of any form is drawn with the keys alone: a triangle whose corners and area are known.
func TestOutlineByKeys(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
	v.Draw = true
	window(t, v, 600, 400)
	var got Outline
	calls := 0
	v.OnWanted = func(o Outline) { got, calls = o, calls+1 }
	key := func(name fyne.KeyName, times int) {
		for range times {
			v.TypedKey(&fyne.KeyEvent{Name: name})
		}
	}
	v.Corner() // from now on the point is moved; it begins in the middle
	key(fyne.KeyLeft, 10)
	v.Corner()
	v.Corner() // a corner is not set twice
	key(fyne.KeyRight, 20)
	v.Corner()
	key(fyne.KeyReturn, 1)
	if n, on := v.Corners(); calls != 0 || n != 2 || !on {
		t.Fatalf("two corners were kept as an area: %d calls, %d corners", calls, n)
	}
	key(fyne.KeyUp, 99) // stops at the edge
	v.Corner()
	key(fyne.KeyDelete, 1) // and is taken back
	key(fyne.KeyDown, 5)
	v.Corner()
	key(fyne.KeyReturn, 1)
	want := Outline{{0.3, 0.5}, {0.7, 0.5}, {0.7, 0.1}}
	if calls != 1 || len(got) != 3 || !near(got.size(), 0.08, 1e-9) {
		t.Fatalf("%v after %d calls", got, calls)
	}
	for i := range want {
		if !near(got[i][0], want[i][0], 1e-9) || !near(got[i][1], want[i][1], 1e-9) {
			t.Errorf("corner %d at %v, not %v", i, got[i], want[i])
		}
	}
	if _, on := v.Corners(); on {
		t.Error("the point is still there")
	}
	v.Corner()
	key(fyne.KeyDelete, 1) // without a corner: the keys move a rectangle again
	if _, on := v.Corners(); on {
		t.Error("the point cannot be left")
	}
}

// Where an area is tried, each corner from the third on is tried at once.
func TestOutlineByKeysIsTried(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
	v.Draw, v.Start = true, &Area{0.2, 0.2, 0.4, 0.4}
	window(t, v, 600, 400)
	var tried []int
	v.OnTry = func(o Outline) { tried = append(tried, len(o)) }
	v.Corner()
	for _, k := range []fyne.KeyName{fyne.KeyLeft, fyne.KeyUp, fyne.KeyRight} {
		v.Corner()
		v.TypedKey(&fyne.KeyEvent{Name: k})
	}
	v.Corner()
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete})
	v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete})
	if want := []int{0, 0, 3, 4, 3, 0}; !slices.Equal(tried, want) {
		t.Errorf("tried outlines of %v corners, not %v", tried, want)
	}
	if len(v.Wanted) != 0 {
		t.Errorf("%v is wanted though two corners are left", v.Wanted)
	}
}

// Three corners set by keys are shown closed, as they would be kept; a line that the pointer is drawing is not.
func TestOutlineIsShownClosedWhereItWouldBeKept(t *testing.T) {
	at := func(p [2]float64) fyne.Position { return fyne.NewPos(float32(p[0]*600), float32(p[1]*400)) }
	triangle := Outline{{0.3, 0.5}, {0.7, 0.5}, {0.7, 0.1}} // its last side runs through 0.5, 0.3
	for _, tries := range []bool{false, true} {
		v := NewFrameView()
		v.Picture = plain(30, 20, color.RGBA{128, 128, 128, 255})
		v.Draw, v.Free = true, true
		if tries {
			v.OnTry = func(Outline) {}
		}
		win := window(t, v, 600, 400)
		closed := func() bool { return seen(win).NRGBAAt(300, 120).R > 200 }
		v.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: at(triangle[0])}})
		for _, p := range triangle[1:] {
			v.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: at(p)}})
		}
		if closed() {
			t.Errorf("tried %v: what the pointer is drawing is closed", tries)
		}
		v.GiveUp()
		v.Corner()
		for _, p := range triangle {
			if closed() {
				t.Errorf("tried %v: closed before the third corner", tries)
			}
			v.point = &p
			v.Corner()
		}
		if !closed() {
			t.Errorf("tried %v: three corners are open", tries)
		}
	}
}

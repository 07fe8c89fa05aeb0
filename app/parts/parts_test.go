package parts

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
)

// window shows o at the given size in a window of the look, and gives the window.
func window(t *testing.T, o fyne.CanvasObject, w, h float32) fyne.Window {
	t.Helper()
	before := look.Current()
	t.Cleanup(func() { look.Set(before) })
	test.NewTempApp(t).Settings().SetTheme(look.Theme{})
	win := test.NewTempWindow(t, o)
	win.SetPadded(false)
	win.Resize(fyne.NewSize(w, h))
	return win
}

// seen is what the window shows, as Fyne's software painter paints it.
func seen(win fyne.Window) *image.NRGBA {
	img := win.Canvas().Capture()
	out := image.NewNRGBA(img.Bounds())
	draw.Draw(out, out.Rect, img, out.Rect.Min, draw.Src)
	return out
}

// colourAt says which of the design's colours a pixel has, -1 for a mixture.
func colourAt(img *image.NRGBA, x, y float32) int {
	got := img.NRGBAAt(int(x), int(y))
	for _, c := range look.Colours {
		if got == c.Now() {
			return int(c)
		}
	}
	return -1
}

// drawn gives the objects that a widget consists of at the moment.
func drawn(w fyne.Widget) []fyne.CanvasObject { return test.WidgetRenderer(w).Objects() }

// textOf finds a text among the objects of a widget.
func textOf(t *testing.T, w fyne.Widget, s string) *canvas.Text {
	t.Helper()
	for _, o := range drawn(w) {
		if text, ok := o.(*canvas.Text); ok && text.Text == s {
			return text
		}
	}
	t.Fatalf("%q is not written", s)
	return nil
}

func hasText(w fyne.Widget, s string) bool {
	for _, o := range drawn(w) {
		if text, ok := o.(*canvas.Text); ok && text.Text == s {
			return true
		}
	}
	return false
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }

// key is a key pressed and let go.
func key(name fyne.KeyName) *fyne.KeyEvent { return &fyne.KeyEvent{Name: name} }

func TestHatchingRisesAt45DegreesInsideItsBox(t *testing.T) {
	const w, h, pitch, stroke = 68, 66, 8, 1.6
	lines := hatching(w, h, pitch, stroke)
	if len(lines) < 10 {
		t.Fatalf("only %d strokes", len(lines))
	}
	corner := stroke / 2 / math.Sqrt2 // how far a stroke's corners stand out of its ends
	for i, l := range lines {
		dx, dy := float64(l[2]-l[0]), float64(l[3]-l[1])
		if dx <= 0 || !near(dx, -dy, 1e-3) {
			t.Errorf("stroke %d goes (%g, %g): it should rise to the right at 45 degrees", i, dx, dy)
		}
		for j, v := range l {
			limit := float64(w)
			if j%2 == 1 {
				limit = h
			}
			if float64(v) < corner-1e-3 || float64(v) > limit-corner+1e-3 {
				t.Errorf("stroke %d: %v leaves the box", i, l)
			}
		}
		if i > 0 {
			if step := float64(l[0] + l[1] - lines[i-1][0] - lines[i-1][1]); !near(step, pitch, 1e-3) {
				t.Errorf("strokes %d and %d are %g apart along the edge", i-1, i, step)
			}
		}
	}
	if got := hatching(0, 10, 8, 1.6); got != nil {
		t.Errorf("a box without width is hatched: %v", got)
	}
}

func TestTightPicture(t *testing.T) {
	whole := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for i := range whole.Pix {
		whole.Pix[i] = byte(i * 7)
	}
	if tightRGBA(whole) != whole {
		t.Error("a picture whose rows follow each other was copied")
	}
	part := whole.SubImage(image.Rect(5, 6, 25, 16)).(*image.RGBA)
	got := tightRGBA(part)
	if got.Stride != 4*20 || got.Rect != image.Rect(0, 0, 20, 10) {
		t.Fatalf("stride %d, bounds %v", got.Stride, got.Rect)
	}
	for y := range 10 {
		for x := range 20 {
			if got.RGBAAt(x, y) != whole.RGBAAt(x+5, y+6) {
				t.Fatalf("pixel %d,%d differs", x, y)
			}
		}
	}
}

func TestCrispTextKeepsItsTexturesSize(t *testing.T) {
	// What Fyne 2.7.1's GL painter does: a texture of the length rounded up, shown from
	// the rounded start to the rounded end.
	round := func(v float32) float32 { return float32(math.Round(float64(v))) }
	for i := range 400 {
		v, length := float32(i)*1.37, float32(i)*0.83+1
		at := crisp(v, length)
		texture := float32(math.Ceil(float64(length)))
		if got := round(at+length) - round(at); got != texture {
			t.Errorf("%g px from %g: a texture of %g px is shown at %g", length, v, texture, got)
		}
		if !near(float64(round(at)), float64(v), 0.5) {
			t.Errorf("moved from %g to %g", v, round(at))
		}
	}
}

func TestWrapAndShorten(t *testing.T) {
	window(t, NewSentence(), 100, 100)
	st := of(look.Base)
	const text = "Turn back past frame 4 and shoot; then go on after 9."
	for _, width := range []float32{90, 200, 333} {
		joined := ""
		for _, line := range wrap(text, st, width) {
			if textWidth(line, st) > width {
				t.Errorf("%q is wider than %g", line, width)
			}
			if joined != "" {
				joined += " "
			}
			joined += line
		}
		if joined != text {
			t.Errorf("wrapping lost words: %q", joined)
		}
		if cut := shorten(text, st, width); textWidth(cut, st) > width {
			t.Errorf("%q is wider than %g", cut, width)
		}
	}
	if shorten(text, st, 10000) != text {
		t.Error("a text that fits was cut")
	}
}

func TestRefreshShowsWhatIsSet(t *testing.T) {
	s := NewSentence()
	window(t, s, 900, 104)
	s.Headline = "Hold still."
	s.Refresh()
	if !hasText(s, "Hold still.") {
		t.Error("the new headline is not drawn")
	}
	s.Headline = "Free to move."
	s.Refresh()
	if hasText(s, "Hold still.") {
		t.Error("the old headline is still drawn")
	}
}

func TestPicturesAreReplaced(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{200, 0, 0, 255})
	win := window(t, v, 300, 200)
	v.Picture = plain(30, 20, color.RGBA{0, 0, 200, 255})
	v.Refresh()
	if got := seen(win).NRGBAAt(150, 100); got.B != 200 || got.R != 0 {
		t.Errorf("the old picture still shows: %v", got)
	}
}

func TestPicturesNoLongerShownAreLetGo(t *testing.T) {
	v := NewFrameView()
	v.Picture, v.Overlay = plain(30, 20, color.RGBA{200, 0, 0, 255}), plain(30, 20, color.RGBA{})
	window(t, v, 300, 200)
	r := test.WidgetRenderer(v).(*sketchRenderer)
	if len(r.p.sources) != 2 {
		t.Fatalf("%d pictures shown", len(r.p.sources))
	}
	v.Overlay = nil
	v.Refresh()
	if r.p.sources[1] != nil || r.p.images.all[1].Image != nil {
		t.Error("the overlay is still held")
	}
	// A part of a picture is copied once, not on every drawing.
	v.Picture = plain(30, 20, color.RGBA{0, 200, 0, 255}).SubImage(image.Rect(5, 5, 25, 15)).(*image.RGBA)
	v.Refresh()
	first := r.p.images.all[0].Image
	v.Refresh()
	if r.p.images.all[0].Image != first {
		t.Error("the picture was copied again")
	}
}

func plain(w, h int, c color.RGBA) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func TestEverythingGrowsWithTheScale(t *testing.T) {
	ribbon := NewRibbon(RibbonLarge)
	ribbon.Data = threeBars()
	for _, w := range []fyne.Widget{NewWheel(), NewLightPlan(146), ribbon, NewKeyWord("T", "sharp parts", nil), NewPlaces([]string{"Table"}, nil)} {
		window(t, w, 1400, 900)
		look.Set(look.State{Scale: 1})
		small := w.MinSize()
		look.Set(look.State{Scale: 2})
		w.Refresh()
		large := w.MinSize()
		if !near(float64(large.Width), 2*float64(small.Width), 4) || !near(float64(large.Height), 2*float64(small.Height), 4) {
			t.Errorf("%T: %v at scale 1, %v at 2", w, small, large)
		}
	}
}

func TestDimLaysBlackOverPictures(t *testing.T) {
	v := NewFrameView()
	v.Picture = plain(30, 20, color.RGBA{200, 100, 60, 255})
	win := window(t, v, 300, 200)
	for _, c := range []struct {
		state look.State
		want  float64
	}{
		{look.State{}, 200},
		{look.State{Dim: true}, 120},             // 40 % of black over it
		{look.State{Dim: true, Full: true}, 200}, // for as long as the key is held
	} {
		look.Set(c.state)
		v.Refresh()
		if got := seen(win).NRGBAAt(150, 100); !near(float64(got.R), c.want, 2) {
			t.Errorf("%+v: red is %d, not %g", c.state, got.R, c.want)
		}
	}
}

// TestOnlyTheAccentIsNotGrey looks at every pixel of drawings without pictures.
func TestOnlyTheAccentIsNotGrey(t *testing.T) {
	ribbon := NewRibbon(RibbonLarge)
	ribbon.Data = threeBars()
	ribbon.Data.Gaps = []RibbonGap{{From: 0.3, To: 0.4, Label: "0.4 mm held by no frame"}}
	plan := NewLightPlan(146)
	plan.Lights = twoLights()
	for name, w := range map[string]fyne.Widget{"ribbon": ribbon, "plan": plan, "wheel": NewWheel()} {
		win := window(t, w, 700, 420)
		img := seen(win)
		for i := 0; i < len(img.Pix); i += 4 {
			r, g, b := int(img.Pix[i]), int(img.Pix[i+1]), int(img.Pix[i+2])
			grey := max(r, g, b)-min(r, g, b) <= 1 // mixtures are rounded
			accent := b < r && r <= g+1
			if !grey && !accent {
				t.Fatalf("%s: pixel %d has the colour %d %d %d", name, i/4, r, g, b)
			}
		}
	}
}

// What is wrapped for a sentence takes no more lines than it must, and no word stands alone in the last where
// the lines could be as long as each other.
func TestBalancedLines(t *testing.T) {
	window(t, NewSentence(), 100, 100)
	st := of(look.WhatToDo)
	const text = "The steps are too wide: shoot the stack again with smaller ones, or put a frame into each gap."
	width := textWidth(strings.TrimSuffix(text, " gap."), st) + 1
	if lines := wrap(text, st, width); lines[len(lines)-1] != "gap." {
		t.Fatalf("the width leaves %q alone", lines[len(lines)-1])
	}
	lines := balanced(text, st, width)
	if len(lines) != 2 || strings.Join(lines, " ") != text {
		t.Fatalf("%q", lines)
	}
	if a, b := textWidth(lines[0], st), textWidth(lines[1], st); b < a*0.8 {
		t.Errorf("the lines are %g and %g long", a, b)
	}
	if one := balanced(text, st, 10*width); len(one) != 1 {
		t.Errorf("%q", one)
	}
	if got := balanced("a b", st, 1); len(got) != 2 {
		t.Errorf("two words wider than the room: %q", got)
	}
}

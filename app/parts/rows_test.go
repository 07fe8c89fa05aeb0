package parts

import (
	"image/color"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/session"
)

func row() *GroupRow {
	r := NewGroupRow()
	d := threeBars()
	r.Time, r.Name, r.Note, r.Ribbon = "13:58", "Stack 1", "pine cone, 13 frames", &d
	r.Verdict, r.VerdictWords, r.Outcome = ShapeFree, "covered", "blended, handed off"
	r.Proof = plain(72, 48, color.RGBA{120, 90, 60, 255})
	return r
}

func TestRowStandsOnTheGrid(t *testing.T) {
	r := row()
	win := window(t, r, 1440, RowHeight)
	img := seen(win)
	for _, c := range []struct {
		what string
		x, y float32
		want look.Colour
	}{
		{"thread at x 160", 160, 5, look.Edge},
		{"its knot", 160, 26, look.Ink2},
		{"first bar of a ribbon 520 wide", 1080 - 520 + 40, 16, look.Bar},
		{"cover line", 900, 37, look.Ink1},
		{"inside the ring of the verdict", 1118, 25, look.Ground},
	} {
		if got := colourAt(img, c.x, c.y); got != int(c.want) {
			t.Errorf("%s: %v", c.what, img.NRGBAAt(int(c.x), int(c.y)))
		}
	}
	if got := img.NRGBAAt(180, 20); got != (color.NRGBA{120, 90, 60, 255}) {
		t.Errorf("the proof does not begin at the content's edge: %v", got)
	}
	for _, o := range drawn(r) {
		if c, ok := o.(*canvas.Circle); ok && c.StrokeWidth == 3 {
			// Ring r 8, stroke 3, its middle at x 1118.
			if c.Size() != fyne.NewSquareSize(19) || c.Position() != fyne.NewPos(1118-9.5, 25-9.5) {
				t.Errorf("the verdict's ring is %v at %v", c.Size(), c.Position())
			}
		}
	}
	outcome := textOf(t, r, "blended, handed off")
	if end := outcome.Position().X + outcome.MinSize().Width; !near(float64(end), 1408, 1) {
		t.Errorf("what came of it ends at %g, not 1408", end)
	}
}

func TestNothingInARowOverlaps(t *testing.T) {
	for _, w := range []float32{1024, 1280, 1440, 1920, 2400} {
		r := row()
		r.Note = "a pine cone upright on slate, lit from the back-left, 113 frames"
		r.VerdictWords = "fill in between 16 and 17"
		window(t, r, w, RowHeight)
		l := rowIn(w)
		if l.ribbonW < 120 || l.ribbon < l.name+150 {
			t.Errorf("%g: the ribbon is %g wide from %g, the name from %g", w, l.ribbonW, l.ribbon, l.name)
		}
		for _, o := range drawn(r) {
			text, ok := o.(*canvas.Text)
			if !ok {
				continue
			}
			x, end := text.Position().X, text.Position().X+text.MinSize().Width
			if x < l.ribbon && end > l.ribbon {
				t.Errorf("%g: %q runs into the ribbon", w, text.Text)
			}
			if end > l.right+1 {
				t.Errorf("%g: %q runs out of the content", w, text.Text)
			}
		}
	}
}

func TestRowWithoutRibbonOrProof(t *testing.T) {
	r := NewGroupRow()
	r.Name, r.Note = "Marker", "a hand over the lens"
	win := window(t, r, 1440, RowHeight)
	if colourAt(seen(win), 180, 20) != int(look.Field) {
		t.Error("no place is kept for a proof that is still to come")
	}
}

func TestStitches(t *testing.T) {
	// Pitch 16, 9 wide, across the content; none under the reason.
	xs := stitches(176, 1408, 240-16, 400)
	for i, x := range xs {
		if step := (x - 176) / 16; step != float32(int(step)) {
			t.Errorf("stitch at %g is off the pitch", x)
		}
		if x+9 > 1408 {
			t.Errorf("stitch %d ends at %g", i, x+9)
		}
		if x+9 > 240-16 && x < 400 {
			t.Errorf("stitch at %g lies under the reason", x)
		}
	}
	if len(xs) < 60 || xs[0] != 176 {
		t.Errorf("%d stitches from %g", len(xs), xs[0])
	}
}

func TestSeamSaysWhy(t *testing.T) {
	s := NewSeam()
	s.Reason, s.More = "the light moved", ", then a pause of 4 min"
	window(t, s, 1440, SeamHeight)
	reason := textOf(t, s, "the light moved")
	if !reason.TextStyle.Bold || textOf(t, s, s.More).TextStyle.Bold {
		t.Error("the strongest reason alone is bold")
	}
	if x := reason.Position().X; !near(float64(x), 176+64, 0.6) {
		t.Errorf("the reason begins at %g, not 240", x)
	}
	if hasText(s, "join") {
		t.Error("the key shows without the focus")
	}
	s.Focused = true
	s.Refresh()
	hint := textOf(t, s, "join")
	if end := hint.Position().X + hint.MinSize().Width; !near(float64(end), 1408, 1) {
		t.Errorf("the key's word ends at %g, not 1408", end)
	}
	var tapped, joined int
	s.OnTap, s.OnJoin = func() { tapped++ }, func() { joined++ }
	test.TapAt(s, fyne.NewPos(300, 20))
	test.TapAt(s, fyne.NewPos(1395, 20))
	if tapped != 1 || joined != 1 {
		t.Errorf("tapped %d, joined %d", tapped, joined)
	}
}

func TestThreadIsCutAtASeam(t *testing.T) {
	s := NewSeam()
	s.Reason = "by hand"
	win := window(t, s, 1440, SeamHeight)
	img := seen(win)
	for y := range int(SeamHeight) {
		if colourAt(img, look.Wide.ThreadX, float32(y)) != int(look.Ground) {
			t.Fatalf("the thread goes on at %d", y)
		}
	}
}

func TestSpotsShowTheCurrentFrame(t *testing.T) {
	s := NewSpots()
	s.Ribbon = RibbonData{Near: session.EndClosed, Far: session.EndClosed}
	for i := range 60 {
		s.Items = append(s.Items, Spot{Picture: plain(30, 20, color.RGBA{90, 90, 90, 255}), Place: float64(i) / 59, Index: 100 + i})
	}
	window(t, s, 1232, 120)
	for _, current := range []int{0, 1, 30, 58, 59} {
		s.Current = current
		from, to, cw := s.window(1232)
		if current < from || current >= to {
			t.Errorf("frame %d is not among %d to %d", current, from, to)
		}
		if cw < spotLeast || spotX(to-from-1, cw)+cw > 1232.01 {
			t.Errorf("crops %g wide, the last ends at %g", cw, spotX(to-from-1, cw)+cw)
		}
	}
	s.Items = s.Items[:12]
	s.Current = 5
	s.Refresh()
	if _, _, cw := s.window(1232); !near(float64(cw), 92, 0.5) {
		t.Errorf("twelve crops are %g wide; the mock's are 92", cw)
	}
	hit := 0
	s.OnTap = func(i int) { hit = i }
	test.TapAt(s, fyne.NewPos(104+40, 50))
	if hit != 101 {
		t.Errorf("the second crop is frame %d", hit)
	}
	if w, h := s.CropSize(1232); !near(float64(w/h), 92.0/59, 1e-3) {
		t.Errorf("crops %g x %g", w, h)
	}
}

// What the program would like to know of a stack has the room it needs: below the verdict's word where
// there is none beside it.
func TestQuestionStandsBelowTheVerdict(t *testing.T) {
	const asks = "One stack or two?"
	r := row()
	const verdict = "the settings changed"
	r.VerdictWords, r.Outcome = verdict, asks
	window(t, r, 1440, RowHeight)
	words, question := textOf(t, r, verdict), textOf(t, r, asks)
	if question.Position().X != words.Position().X || question.Position().Y < words.Position().Y+20 {
		t.Errorf("the question stands at %v, the verdict's word at %v", question.Position(), words.Position())
	}
	if end := question.Position().Y + question.MinSize().Height; end > RowHeight {
		t.Errorf("the question ends at %g of %g", end, RowHeight)
	}
}

// In a wide window a row's ribbon grows, so that the eye has no way to go from the name to it.
func TestRibbonGrowsWithTheWindow(t *testing.T) {
	for _, w := range []float32{1440, 1920, 2400} {
		l := rowIn(w)
		if gap := l.ribbon - l.name; gap > 600 || w == 1440 && l.ribbonW != 520 {
			t.Errorf("at %g the ribbon is %g wide and begins %g right of the name", w, l.ribbonW, gap)
		}
	}
}

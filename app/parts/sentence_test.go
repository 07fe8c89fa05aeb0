package parts

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/session"
)

// sizes gives the sizes of the bold texts of a widget from the largest, each once.
func headlineSize(s *Sentence) (px float32, lines int) {
	for _, o := range drawn(s) {
		if text, ok := o.(*canvas.Text); ok && text.TextStyle.Bold {
			px, lines = text.TextSize, lines+1
		}
	}
	return px, lines
}

func TestSentenceStepsDownThenWraps(t *testing.T) {
	s := NewSentence()
	window(t, s, 1232, 104)
	last := float32(1000)
	for n := 1; n < 40; n++ {
		s.Headline = strings.TrimSpace(strings.Repeat("covered ", n))
		s.Refresh()
		px, lines := headlineSize(s)
		if px != 52 && px != 44 && px != 38 {
			t.Fatalf("%d words at %g px", n, px)
		}
		if px > last {
			t.Errorf("%d words are larger than fewer", n)
		}
		if lines > 1 && px != 38 {
			t.Errorf("%d words wrap at %g px: it steps down first", n, px)
		}
		last = px
	}
	if _, lines := headlineSize(s); lines < 3 {
		t.Errorf("39 words in %d lines", lines)
	}
}

func TestSentenceKeepsWithinItsWidth(t *testing.T) {
	s := NewSentence()
	s.Headline = "Fill in between frames 12 and 13, then go on farther."
	s.WhatToDo = "Turn back to just before frame 13, shoot two frames closer together, and only then go on with your usual steps."
	for _, w := range []float32{520, 976, 1232} {
		s.Narrow = w < 1000
		window(t, s, w, 300)
		for _, o := range drawn(s) {
			if text, ok := o.(*canvas.Text); ok {
				if end := text.Position().X + text.MinSize().Width; end > w+1 {
					t.Errorf("%g px wide: %q ends at %g", w, text.Text, end)
				}
			}
		}
		size, _ := headlineSize(s)
		if size < 38 {
			t.Errorf("%g px wide: %g px", w, size)
		}
	}
}

func TestSentenceHeight(t *testing.T) {
	s := NewSentence()
	window(t, s, 1232, 104)
	s.Headline, s.WhatToDo = "Free to move.", "Stack 4 is covered from near to far."
	if got := s.HeightFor(1232); got != 104 {
		t.Errorf("one line each: %g high, the band is 104", got)
	}
	s.Headline = strings.Repeat("covered ", 30)
	tall := s.HeightFor(1232)
	if tall <= 104 {
		t.Error("three lines fit into the band of one")
	}
	s.Resize(fyne.NewSize(1232, tall))
	for _, o := range drawn(s) {
		if text, ok := o.(*canvas.Text); ok && text.Position().Y+text.TextSize > tall {
			t.Errorf("%q is below the sentence's height", text.Text)
		}
	}
	s.Narrow, s.Headline = true, "Free to move."
	if got := s.HeightFor(976); got != 96 {
		t.Errorf("in a small window: %g high, the band is 96", got)
	}
}

func TestSentenceStandsOnItsLines(t *testing.T) {
	// Words at x 292 of the window, the content's edge being 176; the mock's base lines
	// are at y 78 and 116, the band beginning at 28.
	s := NewSentence()
	s.Headline, s.WhatToDo = "Shoot frame 5 again.", "It is blurred."
	window(t, s, 1232, 104)
	for words, want := range map[string][2]float32{s.Headline: {292 - 176, 78 - 28}, s.WhatToDo: {292 - 176, 116 - 28}} {
		text := textOf(t, s, words)
		_, base := fyne.CurrentApp().Driver().RenderedTextSize(words, text.TextSize, text.TextStyle, nil)
		if x, y := text.Position().X, text.Position().Y+base; !near(float64(x), float64(want[0]), 0.6) || !near(float64(y), float64(want[1]), 0.6) {
			t.Errorf("%q stands at %g, %g, not %v", words, x, y, want)
		}
	}
}

func TestEveryVerdictHasItsOwnShape(t *testing.T) {
	looks := map[string]session.Verdict{}
	for _, v := range session.Verdicts {
		if ShapeOf(v) == ShapeNone {
			t.Errorf("%s has no shape", v)
		}
		s := NewSmallShape(ShapeOf(v))
		win := window(t, s, 20, 20)
		pix := string(seen(win).Pix)
		if other, ok := looks[pix]; ok {
			t.Errorf("%s looks like %s in a row", v, other)
		}
		looks[pix] = v
	}
}

func TestShapesKeepTheirBoxAndColour(t *testing.T) {
	for shape := ShapeAgain; shape <= ShapeFrame; shape++ {
		s := NewSentence()
		s.Shape, s.Number = shape, "12"
		win := window(t, s, 400, 104)
		img := seen(win)
		marked := 0
		for y := range 104 {
			for x := range 400 {
				c := colourAt(img, float32(x), float32(y))
				if c == int(shape.colour()) {
					marked++
					if shape == ShapeFrame && (x > 88 || y > 88) {
						t.Fatalf("shape %d marks %d, %d; its box is 88", shape, x, y)
					}
				}
			}
		}
		for _, o := range drawn(s) {
			end := o.Position().Add(o.Size())
			if shape > ShapeWheel {
				break // of triangles more is made than is seen
			}
			if o.Position().X < 0 || o.Position().Y < 0 || end.X > 88.01 || end.Y > 88.01 {
				t.Errorf("shape %d: %T from %v to %v; its box is 88", shape, o, o.Position(), end)
			}
		}
		if marked < 300 {
			t.Errorf("shape %d has only %d pixels of its colour", shape, marked)
		}
	}
}

func TestPlacesStandOnTheirLines(t *testing.T) {
	s := NewPlaces([]string{"Table", "Stacks", "Setups", "Plan"}, nil)
	s.Current = 2
	win := window(t, s, 152, 140)
	// Base lines 47, 70, 93, 116; the bar of accent 20 x 14 at the window's edge.
	for word, want := range map[string]float32{"Table": 47, "Stacks": 70, "Setups": 93, "Plan": 116} {
		text := textOf(t, s, word)
		if got := text.Position().Y + 15; !near(float64(got), float64(want), 0.6) {
			t.Errorf("%s stands at %g, not %g", word, got, want)
		}
		if text.TextStyle.Bold != (word == "Setups") {
			t.Errorf("%s bold: %v", word, text.TextStyle.Bold)
		}
	}
	img := seen(win)
	if colourAt(img, 1, 86) != int(look.Accent) || colourAt(img, 19, 86) != int(look.Accent) || colourAt(img, 22, 86) != int(look.Ground) {
		t.Error("no bar of accent, 20 px wide, before the current place")
	}
	chosen := -1
	s.OnChoose = func(i int) { chosen = i }
	for y, want := range map[float32]int{42: 0, 66: 1, 88: 2, 112: 3, 10: -1} {
		chosen = -1
		test.TapAt(s, fyne.NewPos(60, y))
		if chosen != want {
			t.Errorf("a click at height %g chooses %d, not %d", y, chosen, want)
		}
	}
}

func TestKeyWord(t *testing.T) {
	taps := 0
	k := NewKeyWord("T", "sharp parts", func() { taps++ })
	window(t, k, 200, 22)
	test.Tap(k)
	k.Off = true
	test.Tap(k)
	if taps != 1 {
		t.Errorf("%d taps", taps)
	}
	// The cap is 22 x 22, the word 9 px after it.
	if x := textOf(t, k, "sharp parts").Position().X; !near(float64(x), 31, 0.6) {
		t.Errorf("the word stands at %g, not 31", x)
	}
	if cap := drawn(k)[0]; cap.Size() != fyne.NewSquareSize(22) {
		t.Errorf("the cap is %v", cap.Size())
	}
	rows := NewKeyRows(NewKeyWord("T", "a", nil), nil, NewKeyWord("W", "b", nil))
	window(t, rows, 200, 100)
	if y := test.WidgetRenderer(rows).Objects()[1].Position().Y; y != 60 {
		t.Errorf("the third row is at %g, not 60", y)
	}
}

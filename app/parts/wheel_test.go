package parts

import (
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/assets/words"
	"stillbench/session"
)

func wheel(t *testing.T) (*Wheel, fyne.Window) {
	s := NewWheel()
	w, h := s.least()
	return s, window(t, s, w, h)
}

func TestWheelCellsAtTheBordersOfTheEighths(t *testing.T) {
	s, _ := wheel(t)
	cx, cy := s.middle()
	for i := range 8 {
		border := 22.5 + 45*float64(i)
		for _, off := range []float64{-0.5, 0.5} {
			az := border + off
			x, y := planPoint(cx, cy, 130, az)
			c := s.cellAt(x, y)
			if c == nil {
				t.Fatalf("no cell at azimuth %g", az)
			}
			// The sides by the table of words: eighths centred on 0, 45, 90, ...
			want := session.Sides[int((az+22.5)/45)%8]
			if got := c.cell().Side; got != want {
				t.Errorf("azimuth %g is %s, not %s", az, got, want)
			}
		}
	}
}

func TestWheelCellsByRadius(t *testing.T) {
	s, _ := wheel(t)
	cx, cy := s.middle()
	// The design: overhead r 0-24, high 26-66, middle 68-108, low 110-149.
	for r, want := range map[float32]session.Height{
		0: session.HeightOverhead, 23: session.HeightOverhead, 27: session.HeightHigh, 65: session.HeightHigh,
		69: session.HeightMiddle, 107: session.HeightMiddle, 111: session.HeightLow, 148: session.HeightLow,
	} {
		x, y := planPoint(cx, cy, r, 90)
		c := s.cellAt(x, y)
		if c == nil || c.cell().Height != want {
			t.Errorf("radius %g: %v, not %s", r, c, want)
		}
	}
	if c := s.cellAt(cx+151, cy); c != nil {
		t.Errorf("outside the wheel lies %v", c.cell())
	}
}

func TestWheelPaintsTheChosenCell(t *testing.T) {
	// A cell of every side and height: its middle is accent, its neighbours are not. This also holds
	// Fyne's arcs to the angles that the wheel reckons with.
	s, win := wheel(t)
	cx, cy := s.middle()
	for side := range session.Sides {
		c := wheelCell{side, side % overhead}
		s.Chosen = map[session.Cell]bool{c.cell(): true}
		s.Refresh()
		img := seen(win)
		eachWheelCell(func(other wheelCell) {
			mid := (wheelRings[other.height][0] + wheelRings[other.height][1]) / 2
			x, y := planPoint(cx, cy, mid, 45*float64(other.side))
			want := look.Field
			if other == c {
				want = look.Accent
			}
			if got := colourAt(img, x, y); got != int(want) {
				t.Errorf("%v chosen: the middle of %v is %v", c.cell(), other.cell(), img.NRGBAAt(int(x), int(y)))
			}
		})
	}
}

func TestWheelKeepsGroundBetweenTheCells(t *testing.T) {
	s, win := wheel(t)
	cx, cy := s.middle()
	img := seen(win)
	for _, r := range []float32{25, 67, 109} {
		x, y := planPoint(cx, cy, r, 90)
		if got := colourAt(img, x, y); got == int(look.Field) {
			t.Errorf("no ground between the heights at radius %g: %v", r, img.NRGBAAt(int(x), int(y)))
		}
	}
}

func TestWheelChoosesSeveral(t *testing.T) {
	s, _ := wheel(t)
	var got []session.Cell
	s.OnChange = func(c []session.Cell) { got = c }
	cx, cy := s.middle()
	tap := func(r float32, az float64) {
		x, y := planPoint(cx, cy, r, az)
		test.TapAt(s, fyne.NewPos(x, y))
	}
	tap(130, 90)
	tap(50, 225)
	want := []session.Cell{{Side: session.SideRight, Height: session.HeightLow}, {Side: session.SideBackLeft, Height: session.HeightHigh}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("%v, not %v", got, want)
	}
	tap(130, 90)
	if len(got) != 1 || got[0] != want[1] {
		t.Errorf("after another press: %v", got)
	}
	tap(0, 0)
	if len(got) != 9 {
		t.Errorf("overhead stands for its eight cells: %v", got)
	}
	tap(0, 0)
	if len(got) != 1 {
		t.Errorf("overhead taken back: %v", got)
	}
}

func TestWheelByKeys(t *testing.T) {
	s, win := wheel(t)
	win.Canvas().Focus(s)
	var got []session.Cell
	s.OnChange = func(c []session.Cell) { got = c }
	handed := 0
	s.OnKey = func(*fyne.KeyEvent) { handed++ }
	// It starts at the front, high.
	for _, k := range []fyne.KeyName{fyne.KeyRight, fyne.KeyRight, fyne.KeyDown, fyne.KeyDown, fyne.KeyDown, fyne.KeySpace, fyne.KeyF5} {
		s.TypedKey(key(k))
	}
	if want := (session.Cell{Side: session.SideRight, Height: session.HeightLow}); len(got) != 1 || got[0] != want {
		t.Errorf("%v, not %v", got, want)
	}
	if handed != 1 {
		t.Errorf("%d keys handed on", handed)
	}
	for range 3 {
		s.TypedKey(key(fyne.KeyUp))
	}
	s.TypedKey(key(fyne.KeyUp)) // there is nothing above overhead
	s.TypedKey(key(fyne.KeySpace))
	if len(got) != 9 {
		t.Errorf("overhead by keys: %v", got)
	}
	// All eight sides can be reached, and one comes back.
	s.TypedKey(key(fyne.KeyDown))
	start := s.at
	for range 8 {
		s.TypedKey(key(fyne.KeyLeft))
	}
	if s.at != start {
		t.Errorf("eight steps round end at %v, not %v", s.at, start)
	}
}

func TestWheelShowsItsCounts(t *testing.T) {
	s, _ := wheel(t)
	s.Counts = map[session.Cell]int{
		{Side: session.SideBack, Height: session.HeightLow}: 12,
		// A setup with two lights overhead counts at two sides, and once in the middle.
		{Side: session.SideLeft, Height: session.HeightOverhead}:  3,
		{Side: session.SideRight, Height: session.HeightOverhead}: 3,
		{Height: session.HeightOverhead}:                          5,
	}
	s.Refresh()
	for _, n := range []string{"12", "5"} {
		if !hasText(s, n) {
			t.Errorf("%s is not written", n)
		}
	}
	if hasText(s, "0") {
		t.Error("empty cells are numbered")
	}
	// In the middle of its cell: 129.5 px above the wheel's middle.
	text := textOf(t, s, "12")
	cx, cy := s.middle()
	mid := text.Position().X + text.Size().Width/2
	if !near(float64(mid), float64(cx), 1.5) {
		t.Errorf("its middle is at x %g, not %g", mid, cx)
	}
	base := text.Position().Y + 15
	if !near(float64(base-capHeight*15/2), float64(cy-129.5), 1.5) {
		t.Errorf("its middle is at y %g, not %g", base-capHeight*15/2, cy-129.5)
	}
}

func TestCountsInFourSigns(t *testing.T) {
	for n, want := range map[int]string{
		0: "0", 999: "999", 1000: "1.0k", 6702: "6.7k", 9949: "9.9k", 9950: "10k", 35418: "35k", 100021: "100k", 999499: "999k", 999500: "1M", 2_400_000: "2M",
	} {
		if got := Count(n); got != want {
			t.Errorf("%d is written %s, not %s", n, got, want)
		}
	}
}

// TestLargeCountsStandApart: numbers of a log of a hundred thousand setups do not touch in
// either size of the wheel.
func TestLargeCountsStandApart(t *testing.T) {
	for _, high := range []float32{0, 1, 1000, 200} { // 0: in a wide window
		s, _ := wheel(t)
		narrow := high > 0
		s.Narrow, s.High = narrow, high
		s.Counts = map[session.Cell]int{{Height: session.HeightOverhead}: 35341}
		n := 5800 // every count is another, so that it is found by its text
		for i := range 24 {
			n += 100
			s.Counts[wheelCell{i / 3, i % 3}.cell()] = n
		}
		s.Refresh()
		type place struct {
			text string
			box
		}
		var all []place
		for _, n := range s.Counts {
			text := textOf(t, s, Count(n))
			px := text.TextSize / look.Current().Scale
			x, y := text.Position().X, text.Position().Y+px
			all = append(all, place{text.Text, box{x, y - px*capHeight, x + text.MinSize().Width, y}})
		}
		for i, a := range all {
			for _, b := range all[:i] {
				if a.meets(b.box) {
					t.Errorf("narrow %v: %s at %v and %s at %v", narrow, a.text, a.box, b.text, b.box)
				}
			}
		}
	}
}

// In a low window the wheel is no higher than it may be, as far as its numbers stand in their cells.
func TestNarrowWheelGivesWay(t *testing.T) {
	s := NewWheel()
	s.Narrow = true
	_, designed := s.least()
	for _, high := range []float32{designed + 50, designed, designed - 1, 230} {
		s.High = high
		if _, h := s.least(); h > min(high, designed) {
			t.Errorf("it takes %g of %g", h, high)
		}
	}
	s.High = 1
	if _, h := s.least(); h != 2*leastR+wheelTop+wheelFoot {
		t.Errorf("it takes %g at least", h)
	}
}

// In a small window the words left and right of the wheel stand within it, however long they are in
// the language.
func TestWordsBesideTheNarrowWheelHaveRoom(t *testing.T) {
	s := NewWheel()
	s.Narrow = true
	for _, word := range []string{words.Of("left"), words.Of("right")} {
		if room := s.side() - wheelGap; textWidth(word, of(look.Base)) > room {
			t.Errorf("%q has %.0f beside the wheel", word, room)
		}
	}
	w, _ := s.least()
	if w > 320 { // to the cards beside it, at 1024 px (app/setups)
		t.Errorf("the wheel and its words take %.0f", w)
	}
}

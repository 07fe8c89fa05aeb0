package parts

import (
	"runtime"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/session"
)

func TestInput(t *testing.T) {
	in := NewInput(look.Typed, "words", "")
	box := container.NewWithoutLayout(in)
	win := window(t, box, 340, 60)
	in.Move(fyne.NewPos(10, 10))
	in.Resize(fyne.NewSize(312, 36))
	var entered string
	escaped, arrows := 0, 0
	in.Entry.OnEnter = func(s string) { entered = s }
	in.Entry.OnEscape = func() { escaped++ }
	in.Entry.OnArrow = func(fyne.KeyName) { arrows++ }
	if accentPixels(win) != 0 {
		t.Error("the ring shows without the focus")
	}
	win.Canvas().Focus(in.Entry)
	if accentPixels(win) == 0 {
		t.Error("the focus cannot be seen")
	}
	test.Type(in.Entry, "rough surface")
	for _, k := range []fyne.KeyName{fyne.KeyReturn, fyne.KeyEscape, fyne.KeyUp, fyne.KeyDown} {
		in.Entry.TypedKey(key(k))
	}
	if entered != "rough surface" || escaped != 1 || arrows != 2 {
		t.Errorf("entered %q, escaped %d, arrows %d", entered, escaped, arrows)
	}
	if in.MinSize().Height < 22*1.5 || in.MinSize().Height > 22*1.5+4 {
		t.Errorf("%g high: it is a line of 22 px type and the line under it", in.MinSize().Height)
	}
	win.Canvas().Unfocus()
	if accentPixels(win) != 0 {
		t.Error("the ring stays")
	}
}

func TestChoice(t *testing.T) {
	c := NewChoice(Option{Word: "low"}, Option{Word: "middle"}, Option{Word: "high", Chosen: true}, Option{Word: "overhead"})
	win := window(t, c, 400, 40)
	var got []int
	c.OnChoose = func(i int) { got = append(got, i) }
	before := c.slots()
	c.Options[0].Chosen = true
	after := c.slots()
	for i := range before {
		if before[i].x != after[i].x {
			t.Errorf("choosing moves %q", c.Options[i].Word)
		}
	}
	test.TapAt(c, fyne.NewPos(after[1].x+5, 14))
	win.Canvas().Focus(c)
	for _, k := range []fyne.KeyName{fyne.KeyRight, fyne.KeyRight, fyne.KeyRight, fyne.KeySpace} {
		c.TypedKey(key(k))
	}
	if len(got) != 2 || got[0] != 1 || got[1] != 3 {
		t.Errorf("%v chosen, not [1 3]", got)
	}
	kinds := NewChoice()
	for _, k := range session.LightKinds {
		kinds.Options = append(kinds.Options, Option{Word: string(k), Light: k})
	}
	kinds.Columns = 2
	window(t, kinds, 330, 120)
	for i, s := range kinds.slots() {
		if s.x != 160*float32(i%2) {
			t.Errorf("word %d at %g", i, s.x)
		}
	}
	// With counts of five digits no word reaches into the column beside it.
	kinds.Columns, kinds.Gap = 3, 12
	for i := range kinds.Options {
		kinds.Options[i].Note = "12345"
	}
	fitted := kinds.slots()
	for i, s := range fitted {
		if i%3 > 0 && s.x < fitted[i-1].x+fitted[i-1].w+12 || i >= 3 && s.x != fitted[i-3].x {
			t.Errorf("with notes word %d at %g, %g wide", i, s.x, s.w)
		}
	}
	kinds.Columns, kinds.Gap = 2, 0
	got = nil
	kinds.OnChoose = func(i int) { got = append(got, i) }
	kinds.TypedKey(key(fyne.KeyDown))
	kinds.TypedKey(key(fyne.KeySpace))
	if len(got) != 1 || got[0] != 2 {
		t.Errorf("one down is %v, not [2]", got)
	}
}

func TestProgressGrowsInSteps(t *testing.T) {
	p := NewProgress()
	window(t, p, 400, 34)
	p.Total = 500
	seenShares := map[float32]bool{}
	last := float32(0)
	for p.Done = 0; p.Done <= 500; p.Done++ {
		s := p.share()
		if s < last || s > float32(p.Done)/500+1e-6 {
			t.Fatalf("%d of 500: %g after %g", p.Done, s, last)
		}
		last = s
		seenShares[s] = true
	}
	if last != 1 || len(seenShares) != progressSteps+1 {
		t.Errorf("ends at %g after %d steps", last, len(seenShares))
	}
	for _, c := range [][2]int{{5, 0}, {-1, 10}, {20, 10}} {
		p.Done, p.Total = c[0], c[1]
		if s := p.share(); s < 0 || s > 1 {
			t.Errorf("%d of %d: %g", p.Done, p.Total, s)
		}
	}
	stopped := 0
	p.Key, p.KeyWord, p.OnStop = "Esc", "stop", func() { stopped++ }
	p.Refresh()
	test.TapAt(p, fyne.NewPos(50, 20))
	test.TapAt(p, fyne.NewPos(390, 20))
	if stopped != 1 {
		t.Errorf("stopped %d times", stopped)
	}
}

func TestCautionGrowsWithItsWords(t *testing.T) {
	c := NewCaution("Do not look into it; let it cool before you turn it. Tape its cable to the floor. Its maker's sheet goes before this note.")
	win := window(t, c, 340, 90)
	if wide, tight := c.HeightFor(1200), c.HeightFor(240); wide >= tight {
		t.Errorf("%g high when wide, %g when not", wide, tight)
	}
	if accentPixels(win) == 0 {
		t.Error("no triangle")
	}
}

func TestNotice(t *testing.T) {
	n := NewNotice()
	window(t, n, 500, 26)
	if len(drawn(n)) != 0 {
		t.Error("an empty notice draws something")
	}
	n.Words, n.Key, n.KeyWord = "Stack 4 was split after frame 12.", "U", "undo"
	taps := 0
	n.OnTap = func() { taps++ }
	n.Refresh()
	test.Tap(n)
	if !hasText(n, n.Words) || !hasText(n, "undo") || taps != 1 {
		t.Error("words, key or tap are missing")
	}
}

func TestScales(t *testing.T) {
	bar := NewShareBar()
	bar.Share, bar.Words = 0.5, "50 %"
	win := window(t, bar, 240+scaleWords, 22)
	img := seen(win)
	if colourAt(img, 118, 10) != int(look.Ink2) || colourAt(img, 123, 10) != int(look.Ground) {
		t.Error("half is not filled to the half")
	}
	scale := NewStepScale("flat", "soft", "clear", "hard")
	scale.At, scale.Words = 0.25, "soft"
	win = window(t, scale, 240+scaleWords, 36)
	if img := seen(win); colourAt(img, 60, 11) != int(look.Ink1) || colourAt(img, 75, 11) != int(look.Edge) {
		t.Error("the disc is not at a quarter")
	}
}

func TestLinesKeepEveryWord(t *testing.T) {
	l := NewLines([]Line{{Name: "PA240017.JPG", Text: "breaks off half way: copy it again."}, {Text: "The log is locked."}})
	window(t, l, 600, 200)
	for _, words := range []string{"PA240017.JPG", "breaks off half way: copy it again.", "The log is locked."} {
		if !hasText(l, words) {
			t.Errorf("%q is missing", words)
		}
	}
}

// Fyne reads the fonts, some two megabytes of them, for every theme of its own that it meets, and keeps
// them: one input more may not cost that again.
func TestInputsShareTheirFonts(t *testing.T) {
	held := func() float64 {
		var m runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m)
		return float64(m.HeapAlloc) / 1e6
	}
	box := container.NewWithoutLayout()
	win := window(t, box, 340, 400)
	// shown adds n inputs, of two sizes, types into them, and draws them.
	shown := func(n int) {
		for i := range n {
			in := NewInput([]look.Role{look.Typed, look.Base}[i%2], "words", "rough surface")
			box.Add(in)
			in.Move(fyne.NewPos(10, float32(36*len(box.Objects))))
			in.Resize(fyne.NewSize(312, 36))
			win.Canvas().Focus(in.Entry)
			test.Type(in.Entry, "ab")
			in.Refresh()
			win.Canvas().Capture()
		}
	}
	shown(2)
	before := held()
	if shown(8); held() > before+4 {
		t.Errorf("eight inputs more hold %.0f MB", held()-before)
	}
}

// The words grow with the scale of the look, also in an input that was drawn at another.
func TestInputFollowsTheScale(t *testing.T) {
	in := NewInput(look.Typed, "", "HHHH")
	box := container.NewWithoutLayout(in)
	win := window(t, box, 400, 90)
	in.Resize(fyne.NewSize(380, 60))
	// tall is how many rows of the picture the words stand in.
	tall := func() (n int) {
		img := seen(win)
		for y := range img.Rect.Max.Y {
			for x := range 60 {
				if img.NRGBAAt(x, y).R > 0x90 {
					n++
					break
				}
			}
		}
		return n
	}
	small := tall()
	s := look.Current()
	s.Scale = 1.5
	look.Set(s)
	in.Refresh()
	if large := tall(); small < 12 || large*4 < small*5 || large*4 > small*7 {
		t.Errorf("the words stand in %d rows, and in %d at a scale of 1.5", small, large)
	}
}

// A name is typed over the one that it changes, which does not show through.
func TestInputHidesWhatItLiesOver(t *testing.T) {
	row := NewGroupRow()
	row.Name = "HHHHHHHH"
	in := NewInput(look.Input, "", "")
	win := window(t, container.NewWithoutLayout(row, in), 1440, 60)
	row.Resize(fyne.NewSize(1440, RowHeight))
	x, room := NameIn(1440)
	in.Move(fyne.NewPos(x, 4))
	in.Resize(fyne.NewSize(room, in.MinSize().Height))
	shows := func() bool {
		img := seen(win)
		for y := 6; y < 28; y++ {
			for px := int(x); px < int(x+room); px++ {
				if img.NRGBAAt(px, y).R > 0x60 {
					return true
				}
			}
		}
		return false
	}
	if shows() {
		t.Error("the name shows through the field")
	}
	if in.Hide(); !shows() {
		t.Error("there is no name below the field")
	}
	if l := rowIn(1440); x != l.name || x+room > l.ribbon {
		t.Errorf("the field goes from %v to %v, the name begins at %v and the ribbon at %v", x, x+room, l.name, l.ribbon)
	}
}

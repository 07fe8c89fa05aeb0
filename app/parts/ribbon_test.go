package parts

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/session"
)

// threeBars is a ribbon of three frames that overlap, both ends closed.
func threeBars() RibbonData {
	return RibbonData{
		Bars: []Bar{{From: 0, To: 0.4, Number: "1"}, {From: 0.3, To: 0.7, Number: "2"}, {From: 0.6, To: 1, Number: "3"}},
		Near: session.EndClosed, Far: session.EndClosed,
	}
}

func TestPlaceRunsOverTheWidth(t *testing.T) {
	// The design: x = 8 + p(w - 16) when both ends are closed.
	const w = 1232
	d := threeBars()
	for _, p := range []float64{0, 0.25, 0.5, 1} {
		if got, want := d.X(p, w), 8+p*(w-16); !near(float64(got), want, 1e-3) {
			t.Errorf("place %g stands at %g, not %g", p, got, want)
		}
	}
}

func TestPlannedFramesTakeUpTheirRoom(t *testing.T) {
	// With the far end open, reckon with the planned number of frames: the last planned
	// bar ends where the last bar of a closed ribbon does.
	d := threeBars()
	d.Far = session.EndOpen
	d.Bars = append(d.Bars, Bar{From: 0.9, To: 1.6, State: BarPlanned})
	if got := d.X(1.6, 1000); !near(float64(got), 992, 1e-3) {
		t.Errorf("the last planned bar ends at %g, not 992", got)
	}
	if got, want := d.X(0.8, 1000), 8+984*0.5; !near(float64(got), want, 1e-3) {
		t.Errorf("place 0.8 of 1.6 stands at %g, not %g", got, want)
	}
}

func TestOpenEndLeavesRoomForItsDashes(t *testing.T) {
	d := threeBars()
	d.Far = session.EndOpen
	// Dashes of 10, 8, 6 and 4 at a pitch of 18, 8 after the line.
	if end := d.X(1, 1000) + 8 + 3*18 + 4; end > 1000 {
		t.Errorf("the dashes end at %g of 1000", end)
	}
}

func TestNeighboursLieInDifferentLanes(t *testing.T) {
	d := threeBars()
	d.Bars = append([]Bar{{From: 0.9, To: 1, Number: "x", State: BarSetAside}}, d.Bars...)
	d.Bars[1], d.Bars[3] = d.Bars[3], d.Bars[1] // shot in another order than near to far
	laid := bricks(d, axisFor(d, RibbonLarge.metrics(), 1000))
	if len(laid) != 3 {
		t.Fatalf("%d bars in the lanes; the one set aside has none", len(laid))
	}
	for i, k := range laid {
		if k.lane != i%2 {
			t.Errorf("bar %d from the near end lies in lane %d", i, k.lane)
		}
		if i > 0 && d.Bars[k.index].From < d.Bars[laid[i-1].index].From {
			t.Error("not from near to far")
		}
	}
}

func TestNinetyBarsStayInsideAndApart(t *testing.T) {
	d := RibbonData{Near: session.EndClosed, Far: session.EndClosed}
	for i := range 90 {
		from := float64(i) / 90
		d.Bars = append(d.Bars, Bar{From: from, To: from + 2.0/90, Number: strconv.Itoa(i + 1)})
	}
	const w = 976 // of a window 1024 wide
	for _, k := range bricks(d, axisFor(d, RibbonOpened.metrics(), w)) {
		if k.x < 8-0.01 || k.x+k.w > w-8+leastBar {
			t.Errorf("bar %d from %g to %g", k.index, k.x, k.x+k.w)
		}
		if k.seen <= 0 {
			t.Errorf("bar %d cannot be seen", k.index)
		}
	}
}

func TestCoverIsTheUnionOfSoundBars(t *testing.T) {
	got := cover([]Bar{
		{From: 0.5, To: 0.7}, {From: 0, To: 0.2}, {From: 0.1, To: 0.3},
		{From: 0.3, To: 0.5, State: BarBlurred},
		{From: 0.3, To: 0.5, State: BarSetAside},
		{From: 0.7, To: 1, State: BarPlanned},
		{From: 0.7, To: 0.8, State: BarLightDiffers},
		{From: 0.9, To: 0.9},
	})
	want := []span{{0, 0.3}, {0.5, 0.8}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("%v, not %v", got, want)
	}
}

func TestCoverAgainstACount(t *testing.T) {
	// For random bars, a depth is covered exactly when some bar that counts holds it.
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200 {
		var bars []Bar
		for range rng.IntN(12) {
			from := rng.Float64()
			bars = append(bars, Bar{From: from, To: from + 0.3*rng.Float64(), State: BarState(rng.IntN(6))})
		}
		spans := cover(bars)
		for range 50 {
			p := 1.3 * rng.Float64()
			held, covered := false, false
			for _, b := range bars {
				counts := b.State == BarSound || b.State == BarMoved || b.State == BarLightDiffers
				held = held || counts && b.From <= p && p <= b.To
			}
			for _, s := range spans {
				covered = covered || s.from <= p && p <= s.to
			}
			if held != covered {
				t.Fatalf("depth %g: held %v, covered %v by %v", p, held, covered, spans)
			}
		}
	}
}

func TestLabelsNeverOverlap(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		var ls []label
		for range 1 + rng.IntN(8) {
			ls = append(ls, label{x: 1000*rng.Float32() - 100, w: 40 + 200*rng.Float32(), rank: rng.IntN(4)})
		}
		out := pack(append([]label(nil), ls...), 1000)
		for i, l := range out {
			if len(out) > 1 && (l.x < -0.01 || l.x+l.w > 1000.01) {
				t.Fatalf("label from %g to %g", l.x, l.x+l.w)
			}
			if i > 0 && out[i-1].x+out[i-1].w > l.x {
				t.Fatal("labels overlap")
			}
		}
		lowest := 0
		if len(out) < len(ls) { // what was left out ranks no higher than what was kept
			lowest = 3
			for _, l := range out {
				lowest = min(lowest, l.rank)
			}
			dropped := len(ls) - len(out)
			below := 0
			for _, l := range ls {
				if l.rank <= lowest {
					below++
				}
			}
			if below < dropped {
				t.Fatal("a label was left out before one of a lower rank")
			}
		}
	}
}

func TestRibbonHeights(t *testing.T) {
	// Lanes 32 (opened 22, in a row 9), 2 between, the cover line 8 under them and 4
	// thick (in a row, by the mock, 3 and 2); above them the room of the pointer.
	for _, c := range []struct {
		size RibbonSize
		want float32
	}{{RibbonLarge, 18 + 32 + 2 + 32 + 8 + 4}, {RibbonOpened, 18 + 22 + 2 + 22 + 8 + 4}, {RibbonRow, 9 + 2 + 9 + 3 + 2}} {
		r := NewRibbon(c.size)
		window(t, r, 800, 200)
		r.Data = threeBars()
		r.Refresh()
		if got := r.MinSize().Height; got != c.want {
			t.Errorf("size %d: %g high, not %g", c.size, got, c.want)
		}
	}
}

func TestRibbonPixels(t *testing.T) {
	r := NewRibbon(RibbonLarge)
	r.Data = threeBars()
	r.Data.Bars[2].Current = true
	r.Data.Bars[1].State = BarBlurred
	win := window(t, r, 1000, 130)
	img := seen(win)
	// Bar 1 covers 0 to 0.4: x 8 to 401.6, upper lane y 18 to 50; the cover line is at
	// y 92 to 96; bar 3 is in the upper lane and 5 higher.
	for _, c := range []struct {
		what string
		x, y float32
		want look.Colour
	}{
		{"bar 1", 60, 30, look.Bar},
		{"under bar 1", 60, 60, look.Ground},
		{"inside the blurred bar", 480, 56, look.Ground},
		{"current bar", 700, 30, look.Ink1},
		{"5 px above its lane", 700, 14, look.Ink1},
		{"above that", 700, 11, look.Ground},
		{"pointer over it", 795, 2, look.Ink1},
		{"cover line under bar 1", 200, 94, look.Ink1},
		{"no cover line under the blurred one", 500, 94, look.Ground},
		{"near end", 1, 60, look.Ink1},
		{"far end", 998, 60, look.Ink1},
	} {
		if got := colourAt(img, c.x, c.y); got != int(c.want) {
			t.Errorf("%s: %v, not %v", c.what, img.NRGBAAt(int(c.x), int(c.y)), c.want)
		}
	}
}

func TestOpenEndHasNoUpright(t *testing.T) {
	r := NewRibbon(RibbonLarge)
	r.Data = threeBars()
	r.Data.Far = session.EndOpen
	win := window(t, r, 1000, 130)
	img := seen(win)
	if got := colourAt(img, 998, 60); got != int(look.Ground) {
		t.Errorf("an upright stands at the open end: %v", img.NRGBAAt(998, 60))
	}
	end := r.Data.X(1, 1000)
	for i, dash := range []float32{10, 8, 6, 4} {
		x := end + 8 + 18*float32(i)
		if colourAt(img, x+dash/2, 94) != int(look.Ink1) {
			t.Errorf("no dash at %g", x)
		}
		if colourAt(img, x+dash+3, 94) != int(look.Ground) {
			t.Errorf("no space after the dash at %g", x)
		}
	}
}

func TestRibbonTellsWhichBarWasHit(t *testing.T) {
	r := NewRibbon(RibbonLarge)
	r.Data = threeBars()
	window(t, r, 1000, 130)
	hit := -1
	r.OnTap = func(i int) { hit = i }
	for _, c := range []struct {
		x, y float32
		want int
	}{{100, 30, 0}, {500, 60, 1}, {900, 30, 2}, {500, 30, -1}, {100, 94, -1}, {394, 60, 1}, {394, 30, 0}} {
		hit = -1
		test.TapAt(r, fyne.NewPos(c.x, c.y))
		if hit != c.want {
			t.Errorf("a click at %g, %g hits bar %d, not %d", c.x, c.y, hit, c.want)
		}
	}
	var hovered []int
	r.OnHover = func(i int) { hovered = append(hovered, i) }
	win := fyne.CurrentApp().Driver().CanvasForObject(r)
	test.MoveMouse(win, fyne.NewPos(100, 30))
	test.MoveMouse(win, fyne.NewPos(110, 30))
	test.MoveMouse(win, fyne.NewPos(500, 60))
	test.MoveMouse(win, fyne.NewPos(500, 94))
	if len(hovered) != 3 || hovered[0] != 0 || hovered[1] != 1 || hovered[2] != -1 {
		t.Errorf("hovered %v, not [0 1 -1]", hovered)
	}
}

func TestCurrentNumberIsAlwaysWritten(t *testing.T) {
	r := NewRibbon(RibbonOpened)
	for i := range 120 {
		r.Data.Bars = append(r.Data.Bars, Bar{From: float64(i) / 121, To: float64(i+1) / 120, Number: strconv.Itoa(i + 1), Current: i == 110})
	}
	window(t, r, 976, 120)
	if !hasText(r, "111") {
		t.Error("the current frame has no number")
	}
	// Fewer than half of the others have room.
	n := 0
	for _, o := range drawn(r) {
		if _, ok := o.(*canvas.Text); ok {
			n++
		}
	}
	if n > 60 {
		t.Errorf("%d numbers are squeezed in", n)
	}
}

func TestRibbonMaster(t *testing.T) {
	r := NewRibbon(RibbonLarge)
	r.Data = RibbonData{
		Bars: []Bar{
			{From: 0, To: 0.15, Number: "1"}, {From: 0.12, To: 0.3, Number: "2", State: BarMoved},
			{From: 0.25, To: 0.4, Number: "3", State: BarBlurred}, {From: 0.45, To: 0.6, Number: "4", State: BarLightDiffers},
			{From: 0.57, To: 0.72, Number: "5"}, {From: 0.7, To: 0.85, Number: "6", Current: true},
			{From: 0.83, To: 1.1, State: BarPlanned}, {From: 0.3, To: 0.4, State: BarSetAside, Words: "3 blurred, set aside"},
		},
		Gaps: []RibbonGap{{From: 0.3, To: 0.45, Label: "0.4 mm held by no frame"}},
		Near: session.EndClosed, Far: session.EndOpen, NearLabel: "near end", FarLabel: "far end still open",
	}
	win := window(t, r, 760, 124)
	test.AssertRendersToImage(t, "ribbon.png", win.Canvas())
}

func BenchmarkRibbonRedraw(b *testing.B) {
	test.NewTempApp(b).Settings().SetTheme(look.Theme{})
	r := NewRibbon(RibbonOpened)
	for i := range 90 {
		r.Data.Bars = append(r.Data.Bars, Bar{From: float64(i) / 91, To: float64(i+1) / 90, Number: strconv.Itoa(i + 1)})
	}
	r.Resize(fyne.NewSize(1232, 100))
	b.ReportAllocs()
	for b.Loop() {
		r.Refresh()
	}
}

// Frames of which nothing is known stand side by side, in the order they are given, and
// nothing is drawn that would say what they hold.
func TestUnmeasuredFramesSayNothingOfDepth(t *testing.T) {
	d := RibbonData{Unmeasured: true}
	for i := range 9 {
		d.Bars = append(d.Bars, Bar{From: 0.4, To: 0.4, Number: strconv.Itoa(i + 1)})
	}
	d.Bars[3].State = BarSetAside
	for _, size := range []RibbonSize{RibbonLarge, RibbonOpened, RibbonRow} {
		m := size.metrics()
		laid := d.laid(m, 520)
		if len(laid) != 8 {
			t.Fatalf("%d of 8 bars", len(laid))
		}
		for i, k := range laid {
			if k.lane != 0 || k.x+k.w > 520 || i > 0 && (k.x < laid[i-1].x+laid[i-1].w || !near(float64(k.w), float64(laid[0].w), 0.01) || k.index < laid[i-1].index) {
				t.Errorf("size %d, bar %d: %+v after %+v", size, i, k, laid[max(i-1, 0)])
			}
		}
		r := NewRibbon(size)
		r.Data = d
		window(t, r, 520, 120)
		y, h := d.barBox(m, 0)
		for _, o := range drawn(r) {
			box, ok := o.(*canvas.Rectangle)
			if !ok {
				continue
			}
			if box.FillColor != look.Ground.Now() {
				t.Errorf("size %d: a box at %v is filled", size, box.Position())
			}
			if at := box.Position().Y; box.Size().Height != 14 && (at < y-0.01 || at+box.Size().Height > y+h+0.01) { // 14: the mark of the one set aside
				t.Errorf("size %d: a box from %g, %g high, outside the lane", size, at, box.Size().Height)
			}
		}
	}
	if a, b := d.Middle(0, 520), d.Middle(8, 520); !near(float64(a), 31, 2) || !near(float64(b), 520-34, 2) {
		t.Errorf("middles at %g and %g", a, b)
	}
}

// A gap is hatched from bar to bar, and the cover line goes on thin where the frames only
// just meet.
func TestBreaksAreGapsOrThinLines(t *testing.T) {
	d := RibbonData{
		Bars: []Bar{{From: 0, To: 0.2}, {From: 0.25, To: 0.4}, {From: 0.4, To: 0.5}, {From: 0.8, To: 1}},
		Gaps: []RibbonGap{{From: 0.6, To: 0.7}},
	}
	if from, to := d.unheld(d.Gaps[0]); from != 0.5 || to != 0.8 {
		t.Errorf("hatched from %g to %g", from, to)
	}
	if b := d.barely(); len(b) != 1 || b[0] != (span{0.2, 0.25}) {
		t.Errorf("only just held: %v", b)
	}
	// A gap at which bars overlap stays as it is.
	d.Gaps[0] = RibbonGap{From: 0.1, To: 0.3}
	if from, to := d.unheld(d.Gaps[0]); from != 0.1 || to != 0.4 && to != 0.8 {
		t.Errorf("hatched from %g to %g", from, to)
	}
}

// In a row, too, the cover line goes on as dashes at an open end, within the room that is left for them.
func TestOpenEndInARow(t *testing.T) {
	r := NewRibbon(RibbonRow)
	r.Data = threeBars()
	r.Data.Near, r.Data.Far = session.EndClosed, session.EndOpen
	window(t, r, 520, 24)
	m := RibbonRow.metrics()
	end := axisFor(r.Data, m, 520).x(1)
	var at []float32
	for _, o := range drawn(r) {
		if o.Position().X > end && o.Position().Y == m.coverTop() {
			at = append(at, o.Position().X, o.Size().Width)
		}
	}
	if len(at) != 6 || at[4]+at[5] > 520 || at[1] <= at[3] || at[3] <= at[5] {
		t.Errorf("dashes after %g at and so wide: %v", end, at)
	}
}

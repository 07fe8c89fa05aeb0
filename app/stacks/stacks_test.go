package stacks

import (
	"context"
	"image"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// bench is the place alone in a window. Edits are done at once, and pictures never come.
type bench struct {
	*Place
	t    *testing.T
	desk *placetest.Desk
	told string
	win  fyne.Window
}

func newBench(t *testing.T, b *placetest.Builder) *bench {
	t.Helper()
	look.Set(look.State{Scale: 1})
	test.NewTempApp(t)
	w := &bench{t: t, desk: placetest.New(&b.S)}
	loader := pictures.New(func(ctx context.Context, _ pictures.Want) (*image.RGBA, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}, func(func()) {})
	t.Cleanup(loader.Close)
	win := test.NewTempWindow(t, nil)
	w.Place = New(&place.Host{
		HandOn:   func() place.Action { return place.Does(words.HandOn, func() {}, "H") },
		Pictures: loader, Pixels: func() float32 { return 1 }, Say: func() {}, Now: func() time.Time { return placetest.Began },
		Focus: func(f fyne.Focusable) {
			if f == nil {
				win.Canvas().Unfocus()
				return
			}
			win.Canvas().Focus(f)
		},
		Tell: func(s string) { w.told = s },
		Run: func(fn func(context.Context, place.Desk) error) {
			if err := fn(context.Background(), w.desk); err != nil {
				w.told = err.Error()
			}
		},
	})
	w.win = win
	win.SetPadded(false)
	win.SetContent(w.Body())
	win.Resize(fyne.NewSize(1440, 700))
	w.Show(w.desk.Snapshot())
	return w
}

func (w *bench) keys(keys ...place.Key) {
	for _, k := range keys {
		if !place.Press(w.Actions(), k) {
			w.t.Errorf("key %s does nothing", k)
		}
		w.Show(w.desk.Snapshot())
	}
}

func (w *bench) edit(kind session.EditKind, frame string) {
	w.t.Helper()
	if n := len(w.desk.Edits); n == 0 || w.desk.Edits[n-1].Kind != kind || w.desk.Edits[n-1].Frame != frame {
		w.t.Errorf("edits are %+v, want %s of %s last", w.desk.Edits, kind, frame)
	}
}

// three is a session whose second stack follows the first without a marker.
func three() *placetest.Builder {
	pause := session.Reason{Rule: session.RuleGap, Detail: session.Say("4 min pause")}
	return placetest.NewSession().Marker().Stack(4).Group(session.KindStack, 5, pause).Group(session.KindSingle, 1, pause)
}

func TestFocusStartsAtTheGroupAtWork(t *testing.T) {
	w := newBench(t, three())
	if w.at.group != 4 || w.at.seam {
		t.Errorf("focus at %+v", w.at)
	}
}

func TestSeamsAreInTheWayOfTheArrowsAndShowTheirReasons(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyUp)
	if !w.at.seam || w.at.group != 4 {
		t.Fatalf("focus at %+v, want the seam above the single", w.at)
	}
	s, ok := w.rows[w.at].(*parts.Seam)
	if !ok || s.Reason != "4 min pause" || !s.Focused {
		t.Errorf("the seam shows %+v", s)
	}
}

func TestJoinPullsTheSeamAway(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, "J")
	w.edit(session.EditJoin, "fp6")
	if n := len(w.view.Rows); n != 3 {
		t.Errorf("%d rows are left, want 3", n)
	}
}

func TestFirstGroupCannotBeJoined(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyHome)
	if place.Press(w.Actions(), "J") || len(w.desk.Edits) != 0 {
		t.Error("J did something at the first group")
	}
}

func TestOpenedStackIsSteppedAndSplit(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, place.KeyEnter)
	if w.open != 3 || w.detail.frame().Number != 3 {
		t.Fatalf("open %d at frame %d, want stack 2 at its middle", w.open, w.detail.frame().Number)
	}
	w.keys(place.KeyLeft, place.KeyLeft, place.KeyLeft)
	if w.detail.frame().Number != 1 {
		t.Errorf("at frame %d, want 1", w.detail.frame().Number)
	}
	if place.Press(w.Actions(), "/") {
		t.Error("a split before the first frame")
	}
	w.keys(place.KeyRight, "/")
	w.edit(session.EditSplit, "fp7")
	if n := len(w.view.Rows); n != 5 {
		t.Errorf("%d rows, want 5", n)
	}
	for _, r := range w.view.Rows {
		if r.Seam.ByHand && r.Seam.Strongest != "by hand" {
			t.Errorf("the new seam says %q", r.Seam.Strongest)
		}
	}
}

func TestFrameIsSetAsideAndPutBack(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, place.KeyEnter, "X")
	w.edit(session.EditSetAside, "fp8")
	if w.detail.frame().Fingerprint != "fp8" || !w.detail.frame().SetAside {
		t.Errorf("stepped away to %+v", w.detail.frame())
	}
	w.keys("X")
	w.edit(session.EditPutBack, "fp8")
}

func TestMarkerAndBack(t *testing.T) {
	w := newBench(t, three())
	w.keys("M") // at the single
	w.edit(session.EditMark, "fp11")
	w.keys("M")
	w.edit(session.EditUnmark, "fp11")
}

func TestKindIsChosen(t *testing.T) {
	w := newBench(t, three())
	w.keys("K")
	if !strings.Contains(w.Sentence().Headline, "What are these") {
		t.Errorf("asks %q", w.Sentence().Headline)
	}
	w.keys("T")
	w.edit(session.EditKindOf, "fp11")
	w.keys("K", place.KeyEscape)
	if len(w.desk.Edits) != 1 {
		t.Error("leaving the question did something")
	}
}

// Where the program asks what a group is, one key answers with what it was not taken for, closed or
// opened; without a question it is the key that lets one choose.
func TestOneKeyAnswersWhatAGroupIs(t *testing.T) {
	for _, open := range []bool{false, true} {
		b := three()
		b.S.Groups[3].Question = session.AskKind(session.KindSingle, session.KindTest)
		w := newBench(t, b)
		w.keys("C") // to what is left to do
		if w.at.group != 4 {
			t.Fatalf("the question is in group 4, the key goes to %+v", w.at)
		}
		if !open {
			w.keys(place.KeyEscape)
		}
		at := slices.IndexFunc(w.Actions(), func(a place.Action) bool { return slices.Contains(a.Keys, "K") })
		if a := w.Actions()[at]; a.Word != words.CallTest || !a.Margin || !a.Strong {
			t.Errorf("open %v: the key says %q, shown with the others: %v, whatever the room: %v", open, a.Word, a.Margin, a.Strong)
		}
		w.keys("K")
		w.edit(session.EditKindOf, "fp11")
		if k := w.desk.Edits[0].Group; k != session.KindTest {
			t.Errorf("open %v: answered with a %s", open, k)
		}
		w.keys("K") // it is answered
		if len(w.desk.Edits) != 1 || !strings.Contains(w.Sentence().Headline, "What are these") {
			t.Errorf("open %v: after the answer the key does %+v and asks %q", open, w.desk.Edits, w.Sentence().Headline)
		}
	}
}

func TestNameIsTyped(t *testing.T) {
	w := newBench(t, three())
	w.keys("N")
	test.Type(w.field.Entry, "left valve")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	w.edit(session.EditName, "fp11")
	if got := w.desk.Edits[0].Text; got != "left valve" || w.field != nil {
		t.Errorf("named %q", got)
	}
	w.Show(w.desk.Snapshot())
	w.keys("N")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape})
	if len(w.desk.Edits) != 1 || w.field != nil {
		t.Error("Esc kept what was typed")
	}
}

func TestLookingElsewhereMovesTheSpotAndStaysInside(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, place.KeyEnter, "O", place.KeyRight, place.KeyUp)
	if w.detail.x != 0.55 || w.detail.y != 0.45 {
		t.Errorf("spot at %v, %v", w.detail.x, w.detail.y)
	}
	for range 30 {
		w.keys(place.KeyRight)
	}
	if w.detail.x != 1 {
		t.Errorf("spot at %v", w.detail.x)
	}
	w.keys(place.KeyEnter, place.KeyRight) // steps again
	if w.detail.frame().Number != 4 {
		t.Errorf("at frame %d", w.detail.frame().Number)
	}
}

func TestOnlyRowsInViewAreMade(t *testing.T) {
	b := placetest.NewSession()
	for range 120 {
		b.Marker().Stack(3)
	}
	w := newBench(t, b)
	if n := len(w.rows); n == 0 || n > 40 {
		t.Errorf("%d rows were made", n)
	}
	w.keys(place.KeyHome)
	if w.rows[stop{group: 1}] == nil {
		t.Error("the first row is not in view")
	}
}

func TestGroupThatVanishesTakesTheFocusAlong(t *testing.T) {
	b := three()
	w := newBench(t, b)
	w.Open(4)
	s := placetest.Copy(&b.S)
	s.Groups = s.Groups[:3]
	w.Show(s)
	if w.open != 0 || w.at.group != 3 {
		t.Errorf("open %d, focus %+v", w.open, w.at)
	}
	s = placetest.Copy(s)
	s.Groups = nil
	w.Show(s)
	if len(w.Actions()) != 0 {
		t.Error("keys for groups that are not there")
	}
}

// The map is 2 x 1 cells on the picture as stored, its left half never sharp. How the
// halves come to lie follows from EXIF's orientation (CIPA DC-008, tag 0x0112): value
// 6, say, has the stored left side at the top of the upright picture.
func TestNeverSharpFollowsTheOrientation(t *testing.T) {
	for turn, want := range map[int][2]image.Point{ // a point in the area, one outside
		1: {{1, 5}, {9, 5}}, 2: {{9, 5}, {1, 5}}, 3: {{9, 5}, {1, 5}}, 4: {{1, 5}, {9, 5}},
		5: {{5, 1}, {5, 9}}, 6: {{5, 1}, {5, 9}}, 7: {{5, 9}, {5, 1}}, 8: {{5, 9}, {5, 1}},
	} {
		u, _ := present.Stored(turn, (float64(want[0].X)+0.5)/11, (float64(want[0].Y)+0.5)/11)
		v, _ := present.Stored(turn, (float64(want[1].X)+0.5)/11, (float64(want[1].Y)+0.5)/11)
		if u >= 0.5 || v < 0.5 {
			t.Errorf("orientation %d: the area's point is at %v, the other at %v", turn, u, v)
		}
	}
	grey := image.NewRGBA(image.Rect(0, 0, 40, 40))
	for i := range grey.Pix {
		grey.Pix[i] = 200
	}
	out := neverSharp(grey, present.Row{Turn: 6, NeverW: 2, NeverH: 1, NeverSharp: []byte{1, 0}})
	if c := out.RGBAAt(20, 35); c.R != 84 || c.G != 84 || c.B != 84 { // 0.42 of 200
		t.Errorf("outside the area: %v", c)
	}
	accent := look.Accent.Now()
	if c := out.RGBAAt(20, 19); c.R != accent.R || c.B != accent.B {
		t.Errorf("the area's edge: %v", c)
	}
}

func TestStackIsMovedToAnotherSetupWithTwoKeys(t *testing.T) {
	b := placetest.NewSession().Setup("shell on sand", placetest.LED()).Marker().Stack(4)
	b.Setup("", placetest.Lamp()).Marker().Stack(5)
	w := newBench(t, b)
	w.keys("S")
	if s := w.Sentence(); !strings.Contains(s.WhatToDo, "Now: 2 lamp. Or 1 shell on sand.") {
		t.Errorf("asks %q, says %q", s.Headline, s.WhatToDo)
	}
	w.keys("A")
	e := w.desk.Edits[0]
	if e.Kind != session.EditUseSetup || e.Setup.ID != 1 || e.Frame != "fp7" || len(w.desk.Edits) != 1 {
		t.Errorf("edited %+v", w.desk.Edits)
	}
	if r := w.row(4); !strings.HasPrefix(r.About, "shell on sand") {
		t.Errorf("the row says %q", r.About)
	}
	w.keys("S", place.KeyEscape)
	if len(w.desk.Edits) != 1 {
		t.Error("leaving the question did something")
	}
}

func TestWantedAreaIsDrawnOnTheOpenedStack(t *testing.T) {
	w := newBench(t, three())
	w.keys(place.KeyPageUp, place.KeyEnter, "W", place.KeyDown)
	if w.Sentence().Mark != present.MarkDraw || w.detail.frame().Number != 3 {
		t.Errorf("says %q at frame %d", w.Sentence().Headline, w.detail.frame().Number)
	}
	w.keys(place.KeyEnter)
	w.edit(session.EditWanted, "fp8")
	// It is seen on every frame of the stack, and on none of another.
	w.keys(place.KeyRight)
	if w.detail.frame().Number != 4 || len(w.detail.whole.Wanted) != 4 {
		t.Errorf("frame %d shows %v", w.detail.frame().Number, w.detail.whole.Wanted)
	}
	w.keys(place.KeyEscape, place.KeyPageUp, place.KeyEnter)
	if w.open != 2 || w.detail.whole.Wanted != nil {
		t.Errorf("group %d shows %v", w.open, w.detail.whole.Wanted)
	}
	w.keys("W", place.KeyEscape, "T")
	if !w.detail.asked[3].Sharp || w.detail.asked[3].Fingerprint != w.detail.current {
		t.Errorf("sharp parts were asked for: %+v", w.detail.asked[3])
	}
}

// While the wanted area is drawn its picture has the room of all the others; a group of one frame has no
// ribbon and no crops to compare.
func TestPictureThatIsDrawnOnIsLarge(t *testing.T) {
	for _, size := range []fyne.Size{fyne.NewSize(1024, 450), fyne.NewSize(1440, 700)} {
		w := newBench(t, three())
		w.win.Resize(size)
		w.Open(3)
		d := w.detail
		before := d.whole.Size()
		w.keys("W")
		if now := d.whole.Size(); now.Width < 1.5*before.Width || now.Height < 1.5*before.Height {
			t.Errorf("%v: %v while it is drawn on, %v before", size, now, before)
		}
		for _, o := range []fyne.CanvasObject{d.atSpot, d.strip, d.ribbon.Drawing, d.never} {
			if o.Visible() {
				t.Errorf("%v: %T is still there", size, o)
			}
		}
		if end := d.whole.Position().Y + d.whole.Size().Height; end > d.body.Size().Height {
			t.Errorf("%v: it ends at %g of %g", size, end, d.body.Size().Height)
		}
		w.keys(place.KeyEscape)
		if now := d.whole.Size(); now != before || !d.strip.Visible() {
			t.Errorf("%v: %v afterwards, %v before", size, now, before)
		}
	}
	w := newBench(t, placetest.NewSession().Group(session.KindSingle, 1).Marker().Stack(4))
	w.win.Resize(fyne.NewSize(1440, 700))
	w.Open(1)
	if d := w.detail; len(d.row.Frames) != 1 || d.strip.Visible() || d.ribbon.Drawing.Visible() {
		t.Errorf("a ribbon and crops of %d frame", len(d.row.Frames))
	}
}

// No edge of the view cuts through a row's words: a row is drawn whole or not at all.
func TestRowsAreShownWhole(t *testing.T) {
	b := placetest.NewSession()
	for range 30 {
		b = b.Group(session.KindSingle, 1, session.Reason{Rule: session.RuleGap, Detail: session.Say("4 min pause")})
	}
	w := newBench(t, b)
	for y := float32(0); y < 200; y += 7 {
		w.scroll.ScrollToOffset(fyne.NewPos(0, y))
		w.fill()
		if len(w.list.Objects) == 0 {
			t.Fatal("nothing is shown")
		}
		for _, o := range w.list.Objects {
			top, end := o.Position().Y-y, o.Position().Y+o.Size().Height-y
			if top < -lineAir || end > w.scroll.Size().Height+lineAir {
				t.Errorf("scrolled to %g a row lies from %g to %g of %g", y, top, end, w.scroll.Size().Height)
			}
		}
	}
}

// A click on the words of a single, on its time, or beside them opens it, as one on a stack does.
func TestAClickOpensASingle(t *testing.T) {
	for _, x := range []float32{40, 190, 1200} {
		w := newBench(t, three())
		single := w.view.Rows[len(w.view.Rows)-1].GroupID
		for _, it := range w.items() {
			if it.stop == (stop{group: single}) {
				test.TapCanvas(w.win.Canvas(), fyne.NewPos(x, it.top+it.h/2-w.scroll.Offset.Y))
			}
		}
		if w.open != single {
			t.Errorf("a click at %g opened %d", x, w.open)
		}
	}
}

package setups

import (
	"context"
	"image"
	"reflect"
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
	"stillbench/session"
	"stillbench/session/desk"
)

// bench is the place alone in a window. Answers come when the test takes them.
type bench struct {
	*Place
	t       *testing.T
	log     *placetest.Desk
	answers chan func()
	opened  int64
	told    string

	reopened bool
}

func newBench(t *testing.T) *bench {
	t.Helper()
	look.Set(look.State{Scale: 1})
	test.NewTempApp(t)
	w := &bench{t: t, log: placetest.New(&desk.Snapshot{}), answers: make(chan func(), 20)}
	for i := range 7 {
		w.log.Found.Setups = append(w.log.Found.Setups, session.FoundSetup{
			Setup: session.Setup{ID: int64(i + 1), Lights: []session.Light{placetest.LED()}}, Dir: "/pictures/old", Cover: "A.JPG",
		})
	}
	w.log.Found.Total, w.log.Found.Logged = 7, 9
	loader := pictures.New(func(ctx context.Context, _ pictures.Want) (*image.RGBA, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}, func(func()) {})
	t.Cleanup(loader.Close)
	win := test.NewTempWindow(t, nil)
	w.Place = New(&place.Host{
		Log: w.log, Pictures: loader, Pixels: func() float32 { return 1 }, Say: func() {}, Key: func(*fyne.KeyEvent) {}, Rune: func(rune) {},
		Now: func() time.Time { return placetest.Began }, Focus: func(fyne.Focusable) {},
		Deliver: func(fn func()) { w.answers <- fn },
		Run: func(fn func(ctx context.Context, d place.Desk) error) {
			if err := fn(context.Background(), w.log); err != nil {
				w.told = err.Error()
			}
		},
		Show:   func(id int64) bool { w.opened = id; return id == 2 },
		Tell:   func(s string) { w.told = s },
		Reopen: func() { w.reopened = true },
	})
	win.SetPadded(false)
	win.SetContent(w.Body())
	win.Resize(fyne.NewSize(1440, 700))
	w.Show(&desk.Snapshot{})
	w.take(1)
	return w
}

// take takes n answers in.
func (w *bench) take(n int) {
	for range n {
		(<-w.answers)()
	}
}

func (w *bench) keys(keys ...place.Key) {
	for _, k := range keys {
		if !place.Press(w.Actions(), k) {
			w.t.Errorf("key %s does nothing", k)
		}
	}
}

func TestEverythingIsShownAtFirst(t *testing.T) {
	w := newBench(t)
	if len(w.view.Cards) != 7 || len(w.cards.shown) == 0 {
		t.Errorf("%d cards, %d in view", len(w.view.Cards), len(w.cards.shown))
	}
}

func TestQuestionIsMadeOfTheFields(t *testing.T) {
	w := newBench(t)
	cell := session.Cell{Side: session.SideBackLeft, Height: session.HeightHigh}
	f := w.fields
	f.wheel.Chosen[cell] = true
	f.heights.OnChoose(0)
	f.kinds.OnChoose(2)
	f.only.OnChoose(onlyBlended)
	f.aperture.Entry.SetText("f/8 to f/11")
	f.shutter.Entry.SetText("1/60")
	f.size.Entry.SetText("0.5..1")
	f.day.Entry.SetText("2 May")
	f.modifier.Entry.SetText("diffuser, grid")
	f.words.Entry.SetText("rough surface")
	w.take(9)
	q := w.query
	if q.Words != "rough surface" || len(q.Cells) != 1 || q.Cells[0] != cell || q.Heights[0] != session.Heights[0] ||
		q.Kinds[0] != session.LightKinds[2] || q.ApertureMin != 8 || q.ApertureMax != 11 || q.ShutterMax != 1.0/60 ||
		q.MagnificationMin != 0.5 || !q.Blended || len(q.Modifiers) != 2 || q.Until.Sub(q.Since) != 24*time.Hour {
		t.Errorf("asked %+v", q)
	}
	f.set(q) // a search gone back to asks the same
	if again := f.read(w.h.Now()); !reflect.DeepEqual(again, q) {
		t.Errorf("%+v reads back as %+v", q, again)
	}
	w.keys("C")
	w.take(1)
	if q := w.query; q.Words != "" || len(q.Cells)+len(q.Heights)+len(q.Kinds) != 0 || q.ApertureMin != 0 {
		t.Errorf("after clearing: %+v", q)
	}
}

func TestLateAnswerToAnOldQuestionIsDropped(t *testing.T) {
	w := newBench(t)
	w.fields.words.Entry.SetText("a")
	old := <-w.answers
	w.log.Found = session.SetupResults{Logged: 9}
	w.fields.words.Entry.SetText("ab")
	w.take(1)
	old()
	if n := len(w.view.Cards); n != 0 {
		t.Errorf("the old answer's %d cards show", n)
	}
}

func TestTwoCardsSideBySide(t *testing.T) {
	w := newBench(t)
	w.keys(place.KeySpace, place.KeyRight, place.KeyRight, place.KeySpace)
	if w.pair != [2]int{0, 2} || !w.cards.paired() {
		t.Fatalf("pair %v", w.pair)
	}
	w.keys(place.KeyRight, place.KeySpace) // a third one takes the place of the first
	if w.pair != [2]int{2, 3} {
		t.Errorf("pair %v", w.pair)
	}
	w.keys(place.KeySpace)
	if w.cards.paired() {
		t.Error("still side by side")
	}
}

func TestCardOpensItsStacksOrSaysWhereTheyAre(t *testing.T) {
	w := newBench(t)
	w.keys(place.KeyRight, place.KeyEnter)
	if w.opened != 2 || w.told != "" {
		t.Errorf("opened %d, told %q", w.opened, w.told)
	}
	w.keys(place.KeyRight, place.KeyEnter)
	if w.opened != 3 || w.told == "" {
		t.Errorf("opened %d, told %q", w.opened, w.told)
	}
}

func TestFocusStaysOnItsCardAndInView(t *testing.T) {
	w := newBench(t)
	for range 10 {
		w.keys(place.KeyRight)
	}
	if w.at != 6 {
		t.Errorf("at card %d", w.at)
	}
	seen := false
	for _, c := range w.cards.shown {
		seen = seen || c.card.ID == 7
	}
	if !seen {
		t.Error("the card in focus is not in view")
	}
	w.log.Found.Setups = w.log.Found.Setups[3:]
	w.fields.words.Entry.SetText("x")
	w.take(1)
	if w.view.Cards[w.at].ID != 7 {
		t.Errorf("the focus went to setup %d", w.view.Cards[w.at].ID)
	}
}

func TestCountsAreShownBeforeTheyArePressed(t *testing.T) {
	w := newBench(t)
	w.log.Found.Kinds = map[session.LightKind]int{session.LightFlash: 4}
	w.log.Found.Heights = map[session.Height]int{session.HeightHigh: 3}
	w.log.Found.Blended = 2
	w.log.Found.Apertures = []session.Band{{Min: 8, Max: 8, Setups: 5}, {Min: 11, Max: 11, Setups: 1}}
	w.log.Found.Modifiers = []session.Counted{{Text: "tracing paper", Setups: 6}}
	w.log.Found.Years = map[int]int{2025: 1, 2026: 6}
	w.fields.words.Entry.SetText("x")
	w.take(1)
	f := w.fields
	if f.kinds.Options[2].Note != "4" || f.heights.Options[2].Note != "3" || f.only.Options[onlyBlended].Note != "2" || f.kinds.Options[0].Note != "" {
		t.Errorf("%+v, %+v", f.kinds.Options, f.heights.Options)
	}
	if got := f.aperture.Suggest("1"); len(got) != 1 || got[0].Text != "f/11" || got[0].Note != "1" {
		t.Errorf("apertures %v", got)
	}
	if got := f.day.Suggest(""); len(got) != 2 || got[0].Text != "2026" {
		t.Errorf("days %v", got)
	}
	if got := f.modifier.Suggest("grid, tra"); len(got) != 1 || got[0].Text != "grid, tracing paper" {
		t.Errorf("modifiers %v", got)
	}
}

func TestOrderIsTurnedByOneKey(t *testing.T) {
	w := newBench(t)
	w.keys("O") // without words: oldest first, then newest, then oldest
	w.take(1)
	if w.query.Order != session.OrderOldest {
		t.Errorf("order %q", w.query.Order)
	}
	w.fields.words.Entry.SetText("cone")
	w.take(1)
	for _, want := range []session.SetupOrder{session.OrderBest, session.OrderNewest, session.OrderOldest} {
		w.keys("O")
		w.take(1)
		if w.query.Order != want {
			t.Errorf("order %q, want %q", w.query.Order, want)
		}
	}
}

func TestCardsShowTheVerdictsOnTheirStacks(t *testing.T) {
	w := newBench(t)
	w.log.Found.Setups[2].Stacks = 2
	w.log.Kept.Verdicts = map[int64][]session.Verdict{3: {session.VerdictCovered, session.VerdictGap}}
	w.ask()
	w.take(2)
	for _, k := range w.cards.shown {
		want, shape := "", parts.ShapeNone
		if k.card.ID == 3 {
			want, shape = "1 of 2: a gap", parts.ShapeFill
		}
		if k.card.State != want || k.shape.Shape != shape || k.shape.Hidden != (want == "") {
			t.Errorf("setup %d says %q with shape %d", k.card.ID, k.card.State, k.shape.Shape)
		}
	}
	if len(w.cards.shown) < 3 {
		t.Fatalf("%d cards show", len(w.cards.shown))
	}
}

// TestCardsKeepTheirPictures: cards are made anew whenever the place is laid out or the focus
// moves; a picture that was there stays, and a card without one is read.
func TestCardsKeepTheirPictures(t *testing.T) {
	w := newBench(t)
	picture := image.NewRGBA(image.Rect(0, 0, 3, 2))
	w.cards.shown[0].frame.Picture = picture
	w.keys(place.KeyRight)
	if got := w.cards.shown[0].frame.Picture; got != picture {
		t.Error("moving on takes the picture away")
	}
}

// However low the window is, all that can be asked for is in view above the row of keys.
func TestFieldsKeepToALowWindow(t *testing.T) {
	w := newBench(t)
	for _, high := range []float32{470, 440, 410, 390} {
		if used := w.fields.arrange(24, high, look.Narrow); used > high {
			t.Errorf("%g of %g are used", used, high)
		}
	}
	for _, high := range []float32{700, 642, 600, 560, 520, 500, 459} { // these two: screens of 1366 x 768 and 1280 x 720
		for _, two := range []bool{false, true} {
			if two { // words as long as French ones
				for i := range w.fields.kinds.Options {
					w.fields.kinds.Options[i].Word = "panneau électrique"
				}
			}
			used := w.fields.arrange(176, high, look.Wide)
			if used > high {
				t.Errorf("%g of %g are used, long words: %v", used, high, two)
			}
			if n := w.fields.names[2]; n.Visible() != w.fields.heights.Visible() {
				t.Errorf("at %g the heights are there: %v, their name: %v", high, w.fields.heights.Visible(), n.Visible())
			}
		}
	}
	if w.fields.arrange(176, 700, look.Wide); !w.fields.heights.Visible() || w.fields.wheel.High != 0 {
		t.Error("with room enough something is still missing")
	}
}

// A click on the words of a card goes to it, as one on its picture does.
func TestAClickOnACardsWords(t *testing.T) {
	n := 0
	c := newCard(present.Card{Subject: "shell", Heading: "Setup 4", Date: "16 May", State: "covered"}, false, false, func() { n++ })
	for _, l := range []*place.Label{c.text, c.subject, c.state, c.date} {
		test.Tap(l)
	}
	if n != 4 {
		t.Errorf("%d of 4 clicks on words went to the card", n)
	}
}

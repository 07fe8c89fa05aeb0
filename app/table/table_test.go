package table

import (
	"context"
	"image"
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
	"stillbench/session"
)

// bench is the Table alone in a window. Edits are done at once, and pictures never come.
type bench struct {
	*Place
	t    *testing.T
	desk *placetest.Desk
	told string
	late chan func() // what was done off the UI goroutine
}

func newBench(t *testing.T, b *placetest.Builder) *bench {
	t.Helper()
	look.Set(look.State{Scale: 1})
	test.NewTempApp(t)
	w := &bench{t: t, desk: placetest.New(&b.S), late: make(chan func(), 20)}
	loader := pictures.New(func(ctx context.Context, _ pictures.Want) (*image.RGBA, error) {
		<-ctx.Done()
		return nil, ctx.Err()
	}, func(func()) {})
	t.Cleanup(loader.Close)
	win := test.NewTempWindow(t, nil)
	press := func(k place.Key) { place.Press(w.Actions(), k) }
	w.Place = New(&place.Host{
		Pictures: loader, Pixels: func() float32 { return 1 }, Say: func() {},
		Now: func() time.Time { return b.S.LastArrival },
		Focus: func(f fyne.Focusable) {
			if f == nil {
				win.Canvas().Unfocus()
				return
			}
			win.Canvas().Focus(f)
		},
		Key: func(e *fyne.KeyEvent) {
			switch e.Name {
			case fyne.KeyReturn:
				press(place.KeyEnter)
			case fyne.KeyEscape:
				press(place.KeyEscape)
			}
		},
		Rune:    func(r rune) {},
		Deliver: func(fn func()) { w.late <- fn },
		Tell:    func(s string) { w.told = s },
		Run: func(fn func(context.Context, place.Desk) error) {
			if err := fn(context.Background(), w.desk); err != nil {
				t.Error(err)
			}
		},
	})
	win.SetPadded(false)
	win.SetContent(w.Body())
	win.Resize(fyne.NewSize(1440, 748))
	w.Show(w.desk.Snapshot())
	return w
}

func (w *bench) keys(keys ...place.Key) {
	w.t.Helper()
	for _, k := range keys {
		if !place.Press(w.Actions(), k) {
			w.t.Errorf("key %s does nothing", k)
		}
		w.Show(w.desk.Snapshot())
	}
}

// typed gives the editor, which has the focus, a key.
func (w *bench) typed(names ...fyne.KeyName) {
	for _, n := range names {
		w.editor.TypedKey(&fyne.KeyEvent{Name: n})
	}
	w.Show(w.desk.Snapshot())
}

func shell() *placetest.Builder {
	return placetest.NewSession().Setup("shell on sand", placetest.LED()).Marker().Stack(5)
}

func TestLightMovedStartsFromTheLastPlanAndLogsANewSetup(t *testing.T) {
	w := newBench(t, shell())
	w.keys("L")
	w.typed(fyne.KeyRight, fyne.KeyUp, fyne.KeyPageDown, fyne.KeyReturn)
	if len(w.desk.Edits) != 1 {
		t.Fatalf("%d edits", len(w.desk.Edits))
	}
	e := w.desk.Edits[0]
	was := placetest.LED()
	got := e.Setup.Lights[0]
	if e.Kind != session.EditSetup || e.Setup.ID != 0 || e.Setup.Subject != "shell on sand" {
		t.Errorf("edit %+v", e.Setup)
	}
	if got.AzimuthDeg <= was.AzimuthDeg || *got.DistanceCM <= *was.DistanceCM || got.ElevationDeg >= was.ElevationDeg {
		t.Errorf("the light went from %+v to %+v", was, got)
	}
	if w.draft != nil {
		t.Error("the draft stands after it was logged")
	}
	if l := w.desk.Snapshot().Setups[0].Lights[0]; l.AzimuthDeg != was.AzimuthDeg {
		t.Error("the old setup was changed")
	}
}

func TestEscLeavesTheLightAsItWas(t *testing.T) {
	w := newBench(t, shell())
	w.keys("L")
	w.typed(fyne.KeyRight, fyne.KeyEscape)
	if len(w.desk.Edits) != 0 || w.draft != nil || w.editor.Lights[0].AzimuthDeg != placetest.LED().AzimuthDeg {
		t.Errorf("edits %v, draft %v, shown %v", w.desk.Edits, w.draft, w.editor.Lights)
	}
}

func TestCorrectingChangesTheSetupItself(t *testing.T) {
	w := newBench(t, shell())
	w.keys("L", "K", "E")
	if e := w.desk.Edits[0]; e.Setup.ID != 1 || e.Setup.Lights[0].Kind != session.LightWindow {
		t.Errorf("edit %+v", e.Setup)
	}
	if n := len(w.desk.Snapshot().Setups); n != 1 {
		t.Errorf("%d setups", n)
	}
}

func TestFirstLightCanBeLogged(t *testing.T) {
	w := newBench(t, placetest.NewSession().Stack(3))
	if w.Actions()[0].Word != "Log the light" {
		t.Errorf("L says %q", w.Actions()[0].Word)
	}
	w.keys("L", "A", "M", place.KeyEnter)
	s := w.desk.Edits[0].Setup
	if len(s.Lights) != 2 || s.Lights[1].Modifier != "diffuser" && s.Lights[0].Modifier != "diffuser" {
		t.Errorf("lights %+v", s.Lights)
	}
	if err := s.Validate(); err != nil {
		t.Error(err)
	}
}

func TestLightCanBeLoggedBeforeTheFirstFrame(t *testing.T) {
	w := newBench(t, placetest.NewSession())
	w.keys("L")
	if !w.editor.Visible() || w.frame.Empty == "" {
		t.Fatal("the lights are not in view")
	}
	w.typed(fyne.KeyRight, fyne.KeyReturn)
	if len(w.desk.Edits) != 1 {
		t.Errorf("%d edits", len(w.desk.Edits))
	}
}

func TestLightIsRemoved(t *testing.T) {
	w := newBench(t, shell())
	w.keys("L", place.KeyDelete, place.KeyDelete, place.KeyEnter)
	if n := len(w.desk.Edits[0].Setup.Lights); n != 0 {
		t.Errorf("%d lights are left", n)
	}
}

func TestNewFrameDoesNotDisturbALightBeingMoved(t *testing.T) {
	b := shell()
	w := newBench(t, b)
	w.keys("L")
	w.typed(fyne.KeyRight)
	b.Group(session.KindSingle, 1)
	w.Show(placetest.Copy(&b.S))
	if w.draft == nil || w.editor.Lights[0].AzimuthDeg == placetest.LED().AzimuthDeg {
		t.Error("the light jumped back")
	}
}

func TestSubjectAndNotesAreTyped(t *testing.T) {
	w := newBench(t, shell())
	off := func(want bool) {
		t.Helper()
		for _, k := range []*parts.KeyWord{w.textKeys[0], w.textKeys[1], w.moveKey} {
			if k.Off != want {
				t.Errorf("%v is greyed: %v", k.Keys, k.Off)
			}
		}
	}
	off(false)
	w.keys("S")
	off(true) // the field takes these letters
	if w.field.Entry.Text != "shell on sand" {
		t.Errorf("starts as %q", w.field.Entry.Text)
	}
	w.field.Entry.SetText("shell on slate")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	off(false)
	w.Show(w.desk.Snapshot())
	w.keys("N")
	w.field.Entry.SetText("shutter by cable")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	s := w.desk.Snapshot().Setups
	if len(s) != 1 || s[0].Subject != "shell on slate" || s[0].Notes != "shutter by cable" || len(s[0].Lights) != 1 {
		t.Errorf("setups %+v", s)
	}
	w.Show(w.desk.Snapshot())
	w.keys("S")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	if len(w.desk.Edits) != 2 {
		t.Error("Enter without a change was logged")
	}
}

func TestTrialPutsALightBackOnTheTable(t *testing.T) {
	w := newBench(t, placetest.NewSession().Setup("shell", placetest.Lamp()).Group(session.KindTest, 1).
		Setup("shell", placetest.LED()).Group(session.KindTest, 1))
	if w.view.Mode != present.TableTrials || !w.trials.body.Visible() || w.frame.Visible() {
		t.Fatal("the trial is not shown")
	}
	w.keys("B")
	if len(w.desk.Edits) != 0 || w.told == "" {
		t.Error("the light that stands was logged again")
	}
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEscape}) // why that one is left open
	w.keys("A")
	w.Show(w.desk.Snapshot())
	w.field.Entry.SetText("the ribs read")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	s := w.desk.Snapshot().Setups
	if !strings.Contains(s[len(s)-1].Notes, "A0001.JPG") || !strings.HasSuffix(s[len(s)-1].Notes, ": the ribs read") {
		t.Errorf("notes %q", s[len(s)-1].Notes)
	}
	if len(s) != 3 || s[2].Lights[0].Kind != session.LightLamp {
		t.Errorf("setups %+v", s)
	}
}

func TestRibbonGoesAwayWhenTheNewestFrameIsInNoStack(t *testing.T) {
	b := shell()
	w := newBench(t, b)
	if !w.ribbon.Drawing.Visible() {
		t.Error("no ribbon for a stack")
	}
	b.Group(session.KindSingle, 1)
	w.Show(placetest.Copy(&b.S))
	if w.ribbon.Drawing.Visible() {
		t.Error("a ribbon for a single")
	}
}

// upright is a session whose newest frame stands upright: the camera was turned so that
// the picture is stored lying (EXIF orientation 6).
func upright() *placetest.Builder {
	b := placetest.NewSession().Marker().Stack(5)
	turn := 6
	for i := range b.S.Frames {
		b.S.Frames[i].Meta.Orientation = &turn
	}
	return b
}

func TestWantedAreaIsDrawnAsShownAndKeptAsStored(t *testing.T) {
	w := newBench(t, upright())
	w.keys("W")
	if s := w.Sentence(); s.Mark != present.MarkDraw || !w.frame.Draw {
		t.Errorf("it says %q", s.Headline)
	}
	// By the arrows, from the middle: one step right on the screen, then kept.
	w.keys(place.KeyRight, place.KeyEnter)
	e := w.desk.Edits[len(w.desk.Edits)-1]
	if e.Kind != session.EditWanted || e.Frame != "fp6" || len(e.Area) != 4 {
		t.Fatalf("edited %+v", e)
	}
	// The right edge as shown is the upper edge as stored: 0.02 up.
	lo, hi := e.Area[0], e.Area[0]
	for _, p := range e.Area {
		lo, hi = [2]float64{min(lo[0], p[0]), min(lo[1], p[1])}, [2]float64{max(hi[0], p[0]), max(hi[1], p[1])}
	}
	for i, want := range [2][2]float64{{0.2, 0.8}, {0.18, 0.78}} {
		if d := [2]float64{lo[i] - want[0], hi[i] - want[1]}; d[0]*d[0]+d[1]*d[1] > 1e-12 {
			t.Errorf("axis %d as stored: %g to %g, not %v", i, lo[i], hi[i], want)
		}
	}
	if _, on := w.drawing.On(); on || w.frame.Draw || len(w.frame.Wanted) != 4 {
		t.Errorf("still drawing, or nothing is shown: %v", w.frame.Wanted)
	}
	// Esc leaves it; nothing is kept that did not change.
	n := len(w.desk.Edits)
	w.keys("W", place.KeyLeft, place.KeyEscape, "W", place.KeyEnter)
	if len(w.desk.Edits) != n {
		t.Errorf("edited %+v", w.desk.Edits[n:])
	}
	w.keys(place.KeyDelete)
	if e := w.desk.Edits[len(w.desk.Edits)-1]; len(e.Area) != 0 || w.frame.Wanted != nil || w.told == "" {
		t.Errorf("all of it: %+v, shown %v, told %q", e, w.frame.Wanted, w.told)
	}
}

func TestFrameDrawnOnStaysUntilTheAreaIsDrawn(t *testing.T) {
	b := upright()
	w := newBench(t, b)
	w.keys("W")
	b.Group(session.KindStack, 1)
	w.desk.Put(placetest.Copy(&b.S))
	w.Show(w.desk.Snapshot())
	if w.view.Frame.Fingerprint != "fp6" || w.asked.Fingerprint != "fp6" {
		t.Errorf("while drawing, %s is shown", w.view.Frame.Fingerprint)
	}
	w.keys(place.KeyEnter)
	if w.view.Frame.Fingerprint != "fp7" {
		t.Errorf("after drawing, %s is shown", w.view.Frame.Fingerprint)
	}
}

func TestNoAreaWithoutAStack(t *testing.T) {
	w := newBench(t, placetest.NewSession().Group(session.KindSingle, 1))
	w.keys("W")
	if _, on := w.drawing.On(); on || w.told == "" {
		t.Error("an area of a single is drawn")
	}
}

func TestSharpPartsAreAskedForAndTakenAway(t *testing.T) {
	w := newBench(t, upright())
	w.keys("T")
	if !w.overlay.Sharp || w.overlay.Fingerprint != "fp6" {
		t.Errorf("asked for %+v", w.overlay)
	}
	w.keys("T")
	if w.overlay.Fingerprint != "" {
		t.Errorf("still asked for %+v", w.overlay)
	}
}

func TestLastTrialIsCalledBackAndStaysUntilAFrameComes(t *testing.T) {
	b := placetest.NewSession().Setup("cone", placetest.LED()).Group(session.KindTest, 1).
		Setup("cone", placetest.Lamp()).Group(session.KindTest, 1).Marker().Stack(4)
	w := newBench(t, b)
	w.keys("V")
	if w.view.Mode != present.TableTrials || len(w.view.Trials) != 2 || w.Sentence().Mark != present.MarkTrial {
		t.Fatalf("mode %d, %d trials, says %q", w.view.Mode, len(w.view.Trials), w.Sentence().Headline)
	}
	w.Show(w.desk.Snapshot()) // and stays
	if w.view.Mode != present.TableTrials {
		t.Error("it went away by itself")
	}
	w.keys("V")
	if w.view.Mode != present.TableFrame {
		t.Error("it does not go away")
	}
	w.keys("V")
	s := placetest.Copy(w.desk.Snapshot())
	s.Newest = "fp3" // a frame that is no test has come
	w.Show(s)
	if w.view.Mode != present.TableFrame {
		t.Error("the trial hides a new frame's verdict")
	}
	w = newBench(t, placetest.NewSession().Marker().Stack(3))
	for _, a := range w.Actions() {
		if len(a.Keys) > 0 && a.Keys[0] == "V" {
			t.Error("a trial can be called back where none was shot")
		}
	}
}

// The Table is drawn anew while nothing comes where its words on how long it has been quiet have grown
// old, a minute at a time, and not else.
func TestGrowsOlderWithTheMinute(t *testing.T) {
	b := placetest.NewSession().Stack(3)
	b.S.Checks = nil
	w := newBench(t, b)
	now := b.S.LastArrival
	w.h.Now = func() time.Time { return now }
	for _, c := range []struct {
		after time.Duration
		older bool
	}{
		{30 * time.Second, false}, {4 * time.Minute, false}, // "hold still" until it counts as quiet
		{present.Quiet, true}, {present.Quiet + 30*time.Second, false}, {present.Quiet + time.Minute, true},
	} {
		now = b.S.LastArrival.Add(c.after)
		if got := w.Older(); got != c.older {
			t.Errorf("after %v: older is %v, want %v (it said %q)", c.after, got, c.older, w.Sentence().Headline)
		}
		w.Show(w.desk.Snapshot())
	}
}

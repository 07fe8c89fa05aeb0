package plan

import (
	"context"
	"image"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

func TestMain(m *testing.M) {
	os.Setenv("LANG", "en_US.UTF-8")
	os.Exit(m.Run())
}

// bench is the place alone in a window. What comes from elsewhere arrives when the test
// takes it.
type bench struct {
	*Place
	t       *testing.T
	host    *place.Host
	desk    *placetest.Desk
	window  fyne.Window
	answers chan func()
	went    []place.Number
	told    string
}

func newBench(t *testing.T, s *desk.Snapshot) *bench {
	t.Helper()
	look.Set(look.State{Scale: 1})
	test.NewTempApp(t)
	w := &bench{t: t, desk: placetest.New(s), answers: make(chan func(), 50)}
	w.window = test.NewTempWindow(t, nil)
	deliver := func(fn func()) { w.answers <- fn }
	loader := pictures.New(func(ctx context.Context, want pictures.Want) (*image.RGBA, error) {
		return w.desk.Picture(ctx, want.Fingerprint, want.W, want.H)
	}, deliver)
	t.Cleanup(loader.Close)
	w.host = &place.Host{
		Log: w.desk, Pictures: loader, Pixels: func() float32 { return 1 }, Say: func() {}, Key: func(*fyne.KeyEvent) {}, Rune: func(rune) {},
		Now: func() time.Time { return placetest.Began }, Deliver: deliver,
		Focus: func(f fyne.Focusable) {
			if f == nil {
				w.window.Canvas().Unfocus()
				return
			}
			w.window.Canvas().Focus(f)
		},
		Go:   func(n place.Number) { w.went = append(w.went, n) },
		Tell: func(s string) { w.told = s },
		Run: func(fn func(context.Context, place.Desk) error) {
			if err := fn(t.Context(), w.desk); err != nil {
				t.Error(err)
			}
		},
	}
	w.Place = New(w.host)
	w.window.SetPadded(false)
	w.window.SetContent(w.Body())
	w.window.Resize(fyne.NewSize(1440, 678))
	w.Show(s)
	return w
}

// take takes in one thing that comes from elsewhere.
func (w *bench) take() {
	w.t.Helper()
	select {
	case fn := <-w.answers:
		fn()
	case <-time.After(10 * time.Second):
		w.t.Fatal("nothing came")
	}
}

func (w *bench) keys(keys ...place.Key) {
	w.t.Helper()
	for _, k := range keys {
		if !place.Press(w.Actions(), k) {
			w.t.Errorf("key %s does nothing", k)
		}
	}
}

// write types into a field by the keys alone.
func (w *bench) write(at present.PlanField, text string) {
	w.t.Helper()
	w.into(at)
	focused := w.window.Canvas().Focused()
	if focused != w.fields[at].input.Entry {
		w.t.Fatalf("the keys are in %v", focused)
	}
	e := w.fields[at].input.Entry
	if e.Text != "" {
		e.TypedShortcut(&fyne.ShortcutSelectAll{})
		e.TypedKey(&fyne.KeyEvent{Name: fyne.KeyBackspace})
	}
	test.Type(e, text)
}

func (w *bench) press(k fyne.KeyName) {
	w.window.Canvas().Focused().TypedKey(&fyne.KeyEvent{Name: k})
}

func TestPlanByKeys(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	if w.view.Ready || w.rows.Size().IsZero() {
		t.Fatalf("ready %v before anything was typed", w.view.Ready)
	}
	w.keys("F")
	if w.window.Canvas().Focused() != w.fields[present.PlanFieldWidth].input.Entry {
		t.Error("F does not go to what is missing first")
	}
	w.write(present.PlanFieldWidth, "36")
	w.press(fyne.KeyEscape)
	w.keys("F")
	if w.window.Canvas().Focused() != w.fields[present.PlanDepth].input.Entry {
		t.Error("F does not go to what is missing next")
	}
	w.write(present.PlanDepth, "10")
	w.press(fyne.KeyReturn)
	if w.window.Canvas().Focused() != nil || !w.view.Ready {
		t.Fatalf("not ready: %v", w.view.Problems)
	}
	if !strings.HasPrefix(w.Sentence().Headline, "f/") || len(w.ribbon.Data.Bars) != w.view.Frames {
		t.Errorf("%q, %d bars", w.Sentence().Headline, len(w.ribbon.Data.Bars))
	}
	w.keys(place.KeyEnter)
	if w.host.Planned == nil || w.host.Planned.Frames != w.view.Frames || len(w.went) != 1 || w.went[0] != place.Table {
		t.Errorf("planned %+v, went %v", w.host.Planned, w.went)
	}
}

func TestArrowsGoThroughEveryField(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.into(present.PlanSensor)
	for i := range present.PlanFields {
		f := w.fields[i]
		if w.window.Canvas().Focused() != f.input.Entry || !f.input.Visible() {
			t.Fatalf("field %d: the keys are elsewhere, or out of sight", i)
		}
		w.press(fyne.KeyDown)
	}
	if !w.fields[present.PlanSensor].focused {
		t.Error("from the last field the keys do not go to the first")
	}
}

// TestTypingOverWhatWasReckoned makes another size the given one.
func TestTypingOverWhatWasReckoned(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36")
	w.into(present.PlanMagnification)
	if got := w.fields[present.PlanMagnification].input.Entry.Text; got != "×1.00" {
		t.Errorf("offered to type over: %q", got)
	}
	w.press(fyne.KeyEscape)
	if w.asked.Size != present.PlanFieldWidth {
		t.Error("looking at a reckoned field made it the given one")
	}
	w.write(present.PlanMagnification, "2")
	if w.asked.Size != present.PlanMagnification || w.view.Inputs[present.PlanFieldWidth].Computed != "18 mm" {
		t.Errorf("given %d, field width %q", w.asked.Size, w.view.Inputs[present.PlanFieldWidth].Computed)
	}
}

func TestErrorsWhileTyping(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36")
	w.write(present.PlanDepth, "-")
	if len(w.view.Problems) != 1 {
		t.Fatalf("%v", w.view.Problems)
	}
	w.fields[present.PlanDepth].input.Entry.TypedRune('5') // without the keys going there anew
	if len(w.view.Problems) != 1 || !strings.Contains(w.view.Problems[0].Words, "negative") {
		t.Errorf("%v", w.view.Problems)
	}
	w.write(present.PlanDepth, "5")
	if !w.view.Ready || w.problems.Visible() {
		t.Errorf("still %v", w.view.Problems)
	}
}

func TestOtherApertures(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36")
	w.write(present.PlanDepth, "10")
	w.press(fyne.KeyEscape)
	best := w.view.FNumber
	w.keys(place.KeyDown, place.KeyDown)
	if w.view.FNumber <= best || w.view.Chosen != w.view.Recommended+2 {
		t.Errorf("f/%g after f/%g", w.view.FNumber, best)
	}
	w.keys(place.KeyHome)
	if w.view.FNumber != best {
		t.Errorf("f/%g, not the recommended f/%g", w.view.FNumber, best)
	}
}

func TestWhatIsKnownIsFilledInAndTypedWordsStay(t *testing.T) {
	s := placetest.Afternoon()
	m := 0.5
	s.S.Setups[0].Magnification = &m
	w := newBench(t, &s.S)
	if w.asked.Size != present.PlanMagnification || w.fields[present.PlanExposure].input.Entry.Text != "f/10 · 1/6 s · ISO 100" {
		t.Errorf("%v %q", w.asked.Size, w.fields[present.PlanExposure].input.Entry.Text)
	}
	w.write(present.PlanExposure, "f/8 · 1/2 s")
	next := placetest.Copy(&s.S)
	w.Show(next)
	if got := w.asked.Text[present.PlanExposure]; got != "f/8 · 1/2 s" {
		t.Errorf("typed over: %q", got)
	}
}

// TestCircleIsRemembered: the circle of confusion chosen is told to the session, which the
// log outlives, and a Plan that is opened on it takes it up.
func TestCircleIsRemembered(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	again := func() *Place {
		p := New(w.host)
		p.Show(w.desk.Snapshot())
		return p
	}
	before := w.view.Convention
	w.keys("K")
	if w.view.Convention == before {
		t.Fatal("K changes nothing")
	}
	if w.desk.Snapshot().Gear.Circle.Convention != w.asked.Convention || again().view.Convention != w.view.Convention {
		t.Errorf("told %+v; at the next start it is %q, not %q", w.desk.Snapshot().Gear.Circle, again().view.Convention, w.view.Convention)
	}
	w.write(present.PlanSharp, "0.05")
	w.press(fyne.KeyEscape)
	if p := again(); w.desk.Snapshot().Gear.Circle.MM != 0.05 || p.asked.Text[present.PlanSharp] != "0.05 mm" || p.asked.Convention != "" {
		t.Errorf("told %+v; at the next start: %q, %q", w.desk.Snapshot().Gear.Circle, p.asked.Text[present.PlanSharp], p.asked.Convention)
	}
	// What cannot be is not told, and stands as typed with what is wrong.
	w.write(present.PlanSharp, "-1")
	w.press(fyne.KeyEscape)
	if w.desk.Snapshot().Gear.Circle.MM != 0.05 || len(w.view.Inputs) == 0 {
		t.Errorf("told %+v", w.desk.Snapshot().Gear.Circle)
	}
}

// TestGearIsRemembered: a sensor and a pupil magnification typed are kept for the camera and
// the lens without being asked, and come back with them. The makes are invented.
func TestGearIsRemembered(t *testing.T) {
	f, wide, high := 105.0, 6000, 4000
	other := 60.0
	s := &desk.Snapshot{
		Newest: "a",
		Frames: []session.Frame{{Fingerprint: "a", Meta: session.Meta{Make: "Vantor", Model: "VTX 2", Lens: "Vantor 105", FocalLengthMM: &f, Width: &wide, Height: &high}}},
		Gear: session.Gear{Lenses: []session.Lens{
			{Name: "Vantor 105", FocalMM: f, ShortestMM: f, LongestMM: f, Frames: 1}, {Name: "Meridian 60", FocalMM: other, PupilMagnification: &other, ShortestMM: other, LongestMM: other}}},
	}
	half := 0.5
	s.Gear.Lenses[1].PupilMagnification = &half
	w := newBench(t, s)
	w.write(present.PlanSensor, "23.6 x 15.7 mm")
	w.press(fyne.KeyEscape)
	if c, ok := w.desk.Snapshot().Gear.Camera("Vantor", "VTX 2"); !ok || c.SensorWidthMM != 23.6 || !strings.Contains(w.told, "VTX 2") {
		t.Errorf("%+v, told %q", w.desk.Snapshot().Gear.Cameras, w.told)
	}
	w.write(present.PlanLens, "105 mm, pupil 0.8")
	w.press(fyne.KeyReturn)
	if l, _ := w.desk.Snapshot().Gear.Lens("Vantor 105"); l.PupilMagnification == nil || *l.PupilMagnification != 0.8 || !strings.Contains(w.told, "Vantor 105") {
		t.Errorf("%+v, told %q", l, w.told)
	}
	w.Show(w.desk.Snapshot())
	if !w.remembered.Visible() || len(w.remembered.Lines) != 1 || !strings.Contains(w.remembered.Lines[0][0].Text, "VTX 2") {
		t.Errorf("what is remembered is not told: %v", w.remembered.Lines)
	}
	again := New(w.host)
	again.Show(w.desk.Snapshot())
	if got := again.asked.Text; got[present.PlanSensor] != "23.6 × 15.7 mm" || got[present.PlanLens] != "105 mm, pupil 0.8" {
		t.Errorf("at the next start: %q", got)
	}
	w.keys("L")
	if got := w.asked.Text[present.PlanLens]; got != "60 mm, pupil 0.5" {
		t.Errorf("the other lens: %q", got)
	}
	// A focal length that this lens has not is another lens, with nothing to know it by.
	w.write(present.PlanLens, "200 mm, pupil 2")
	w.press(fyne.KeyEscape)
	if l, _ := w.desk.Snapshot().Gear.Lens("Meridian 60"); *l.PupilMagnification != 0.5 {
		t.Errorf("%+v", l)
	}
}

func TestLastTime(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	m := 0.6
	w.desk.Found.Setups = []session.FoundSetup{{Setup: session.Setup{ID: 6, Subject: "gear train", Magnification: &m}, Stacks: 1, Frames: 21}}
	w.write(present.PlanFieldWidth, "9")
	w.take()
	if !strings.Contains(w.alike, "gear train") || len(w.foot.Lines) != 1 {
		t.Errorf("%q", w.alike)
	}
}

// TestMeasuring: the invented picture is 3:2; two marks half its width apart, 9 mm on
// the ruler, on a 36 mm wide sensor are life size times two.
func TestMeasuring(t *testing.T) {
	s := placetest.Afternoon()
	w := newBench(t, &s.S)
	w.keys("M")
	if !w.measure.open || w.planning.Visible() {
		t.Fatal("no sheet to measure on")
	}
	for w.measure.frame.Picture == nil {
		w.take()
	}
	x, y, bw, bh := w.measure.box()
	w.measure.clicked(x+bw/4, y+bh/2)
	w.measure.clicked(x+bw*3/4, y+bh/2)
	if w.window.Canvas().Focused() != w.measure.apart.Entry {
		t.Error("after the second mark the keys are not in the length")
	}
	test.Type(w.measure.apart.Entry, "9")
	if m := w.measure.magnification(); math.Abs(m-2) > 1e-3 {
		t.Fatalf("×%g", m)
	}
	w.press(fyne.KeyReturn)
	if w.measure.open || w.asked.Size != present.PlanMagnification || w.asked.Text[present.PlanMagnification] != "2.00" {
		t.Errorf("open %v, %q", w.measure.open, w.asked.Text[present.PlanMagnification])
	}
	edits := w.desk.Edits
	if len(edits) != 1 || edits[0].Kind != session.EditSetup || edits[0].Setup.Magnification == nil || math.Abs(*edits[0].Setup.Magnification-2) > 1e-3 || edits[0].Before == nil {
		t.Errorf("%+v", edits)
	}
}

// TestMeasuringByKeys sets both marks without a mouse.
func TestMeasuringByKeys(t *testing.T) {
	s := placetest.Afternoon()
	w := newBench(t, &s.S)
	w.keys("M")
	for w.measure.frame.Picture == nil {
		w.take()
	}
	w.keys(place.KeyLeft, place.KeyUp, place.KeySpace, "S", place.KeyRight, place.KeyRight, place.KeySpace)
	if len(w.measure.marks) != 2 || w.measure.marks[0].x >= w.measure.marks[1].x {
		t.Fatalf("%v", w.measure.marks)
	}
	w.host.Focus(nil)
	w.keys(place.KeyEscape)
	if w.measure.open || !w.planning.Visible() || len(w.desk.Edits) != 0 {
		t.Error("Esc does not leave it as it was")
	}
}

func TestMeasuringWithoutAFrame(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.keys("M")
	if w.measure.open || w.told == "" {
		t.Errorf("open %v, told %q", w.measure.open, w.told)
	}
}

// TestNothingOverlaps: at every size the table ends above what stands below it, and
// everything lies in the window.
func TestNothingOverlaps(t *testing.T) {
	for _, size := range []fyne.Size{{Width: 960, Height: 390}, {Width: 1024, Height: 450}, {Width: 1280, Height: 560}, {Width: 1440, Height: 678}, {Width: 2560, Height: 1218}} {
		w := newBench(t, &desk.Snapshot{})
		w.write(present.PlanFieldWidth, "36")
		w.write(present.PlanDepth, "10")
		w.fields[present.PlanLight].input.Entry.SetText("LED panel, 40 W")
		w.window.Resize(size)
		rowsEnd := w.rows.Position().Y + w.rows.heightFor(w.rows.to-w.rows.from)
		below := w.ribbon.Position().Y
		if w.side.Visible() {
			below = w.side.Position().Y
		}
		if rowsEnd > below+1 {
			t.Errorf("%v: the table reaches down to %g, what is below begins at %g", size, rowsEnd, below)
		}
		for _, o := range w.planning.Objects {
			end := o.Position().Add(o.Size())
			if o.Visible() && (end.X > size.Width+1 || end.Y > size.Height+9) {
				t.Errorf("%v: %T reaches to %v", size, o, end)
			}
		}
		if n := w.rows.to - w.rows.from; n < 3 {
			t.Errorf("%v: %d rows", size, n)
		}
	}
}

// TestALongTextIsShortened where the line ends, comes whole when the keys go there, and is
// what is reckoned with all the time. The lights that the line has no room for stand below it.
func TestALongTextIsShortened(t *testing.T) {
	const long = "lamp, 12 W, tracing paper; card, white, 30 cm; LED panel, 40 W"
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanLight, long)
	w.press(fyne.KeyEscape)
	shown := w.fields[present.PlanLight].input.Entry
	for _, size := range []fyne.Size{fyne.NewSize(1440, 748), fyne.NewSize(1024, 496)} {
		w.window.Resize(size)
		w.refresh()
		rest := ""
		for _, line := range w.otherLights.Lines {
			rest += line[0].Text
		}
		if w.asked.Text[present.PlanLight] != long || shown.Text+" "+rest != long || place.TextWidth(shown.Text, look.Input) > 244 {
			t.Errorf("%v: shown %q and %q, reckoned with %q", size, shown.Text, rest, w.asked.Text[present.PlanLight])
		}
		if !w.otherLights.Visible() {
			t.Errorf("%v: there is no room for the other lights", size)
		}
	}
	w.into(present.PlanLight)
	if shown.Text != long {
		t.Errorf("to be changed: %q", shown.Text)
	}
}

func TestAllCautions(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36")
	w.write(present.PlanDepth, "10")
	w.write(present.PlanLight, "LED panel, lamp")
	w.press(fyne.KeyEscape)
	w.keys("C")
	if len(w.all) != len(w.view.Cautions) || len(w.all) < 3 || !w.makers.Visible() || w.ribbon.Visible() {
		t.Errorf("%d of %d cautions", len(w.all), len(w.view.Cautions))
	}
	w.keys("C")
	if len(w.all) != 0 || !w.ribbon.Visible() {
		t.Error("no way back")
	}
}

// As long as there is no answer, what is asked stands drawn where the answer will: the missing length
// by the accent and a thicker line, the known ones with their values, all within the window.
func TestWhatIsAskedIsDrawn(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36 mm")
	drawn := func() (accents int, texts []string) {
		size := w.asks.Size()
		for _, o := range test.WidgetRenderer(w.asks.drawing).Objects() {
			if r, ok := o.(*canvas.Rectangle); ok && r.FillColor == look.Accent.Now() {
				accents++
			}
			if c, ok := o.(*canvas.Text); ok {
				texts = append(texts, c.Text)
			}
			if at, end := o.Position(), o.Position().Add(o.Size()); at.X < -1 || at.Y < -1 || end.X > size.Width+1 || end.Y > size.Height+1 {
				t.Errorf("%T from %v to %v leaves the drawing of %v", o, at, end, size)
			}
		}
		return accents, texts
	}
	for _, size := range []fyne.Size{fyne.NewSize(1440, 720), fyne.NewSize(1024, 450)} {
		w.window.Resize(size)
		accents, texts := drawn()
		if !w.asks.Visible() || accents != 3 || !slices.Contains(texts, words.PlanDepth) || !slices.Contains(texts, "36 mm") {
			t.Errorf("at %v: seen %v, %d marks, %q", size, w.asks.Visible(), accents, texts)
		}
	}
	w.write(present.PlanDepth, "12")
	if w.asks.Visible() {
		t.Error("with an answer the question is still drawn")
	}
}

// A small window shows a whole exposure, and a light with its distance, without the keys being there.
func TestExposureAndLightAreWholeInASmallWindow(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.window.Resize(fyne.NewSize(1024, 450))
	for at, text := range map[present.PlanField]string{present.PlanExposure: "f/3.5 · 1/80 s · ISO 100", present.PlanLight: "LED panel, 40 W, 40 cm"} {
		w.write(at, text)
		w.press(fyne.KeyEscape)
		w.window.Resize(fyne.NewSize(1024, 451)) // as it is laid out anew
		w.refresh()
		f := w.fields[at]
		if f.input.Entry.Text != text || place.TextWidth(text, look.Input) > f.width {
			t.Errorf("%q stands as %q on %g", text, f.input.Entry.Text, f.width)
		}
	}
	var end float32
	for i, f := range w.fields {
		if top := f.name.Position().Y; i > 0 && top < end-1 {
			t.Errorf("%q begins at %g, above the end of the line before at %g", f.said, top, end)
		}
		end = f.input.Position().Y + inputRise
	}
}

// What stands in a field is typed over when the keys go there, and what is asked for is in view first.
func TestFieldIsTypedOver(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanDepth, "10")
	w.press(fyne.KeyEscape)
	w.into(present.PlanDepth)
	test.Type(w.fields[present.PlanDepth].input.Entry, "12")
	if got := w.asked.Text[present.PlanDepth]; got != "12" {
		t.Errorf("the depth is %q", got)
	}
	w.press(fyne.KeyEscape)
	for _, a := range w.Actions() {
		if a.Word == words.PlanFill && !a.Strong {
			t.Error("the key that fills the plan in is not what to press next")
		}
	}
}

// What is wrong is said once: the sentence has the first, the lines below the inputs the others.
func TestWrongIsSaidOnce(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanSensor, "1236 × 24 mm")
	if n := len(w.view.Problems); n != 1 || len(w.problems.Lines) != 0 {
		t.Errorf("%d problems, %d lines", n, len(w.problems.Lines))
	}
}

// In a low window the side view gives way to the inputs.
func TestSideViewStandsClearOfTheInputs(t *testing.T) {
	w := newBench(t, &desk.Snapshot{})
	w.write(present.PlanFieldWidth, "36")
	w.write(present.PlanDepth, "10")
	for _, size := range []fyne.Size{fyne.NewSize(1280, 440), fyne.NewSize(1366, 510), fyne.NewSize(1440, 700)} {
		w.planning.Resize(size)
		last := w.fields[len(w.fields)-1].input
		end := last.Position().Y + last.Size().Height
		if w.side.drawing.Visible() && w.side.drawing.Position().Y < end {
			t.Errorf("%v: the side view begins at %g, the inputs end at %g", size, w.side.drawing.Position().Y, end)
		}
		if size.Height >= 700 && !w.side.drawing.Visible() {
			t.Errorf("%v: no side view", size)
		}
	}
}

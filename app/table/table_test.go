package table

import (
	"context"
	"image"
	"testing"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
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
		Rune: func(r rune) {},
		Tell: func(s string) { w.told = s },
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
	w.keys("S")
	if w.field.Entry.Text != "shell on sand" {
		t.Errorf("starts as %q", w.field.Entry.Text)
	}
	w.field.Entry.SetText("shell on slate")
	w.field.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
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
	w.keys("A")
	s := w.desk.Snapshot().Setups
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

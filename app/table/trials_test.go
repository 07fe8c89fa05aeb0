package table

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
)

func TestTrialSaysWhatWasMeasured(t *testing.T) {
	b := placetest.NewSession().Setup("shell on sand", placetest.LED()).Group(session.KindTest, 2)
	for i, v := range []byte{10, 250} { // an invented frame all in shadow, then one all bright
		small := make([]byte, 3*96*64)
		for j := range small {
			small[j] = v
		}
		b.S.Frames[i].Figures = &session.Figures{SmallW: 96, SmallH: 64, Small: small, Clipped: [3]float64{0.02 * float64(i), 0, 0}}
	}
	w := newBench(t, b)
	for range 2 {
		(<-w.late)()
	}
	text := func(c *trial) string {
		var out []string
		for _, line := range c.said.Lines {
			for _, s := range line {
				out = append(out, s.Text)
			}
		}
		return strings.Join(out, "|")
	}
	if c := w.trials.cols[0]; c.shadow.Words != "100 %" || c.model.Words != "flat" || text(c) != "0 %|nothing|the first" {
		t.Errorf("the first: %s, %s, %s", c.shadow.Words, c.model.Words, text(c))
	}
	c := w.trials.cols[1]
	if got := text(c); c.shadow.Words != "0 %" || !strings.HasPrefix(got, "100 %|red 2 %|") || !strings.Contains(got, "stops brighter") {
		t.Errorf("the second: %s, %s", c.shadow.Words, got)
	}
	w.Show(w.desk.Snapshot())
	if len(w.late) != 0 {
		t.Error("it was measured again")
	}
}

// In a low window the pictures keep a size to judge the light by, and the figures stand below them in words.
func TestTrialPicturesKeepTheirSize(t *testing.T) {
	w := newBench(t, placetest.NewSession().Setup("shell on sand", placetest.LED()).Group(session.KindTest, 3))
	for _, c := range []struct {
		size    fyne.Size
		compact bool
		high    float32
	}{
		{fyne.NewSize(1440, 690), false, 263}, // the design's
		{fyne.NewSize(1366, 500), true, 235},  // a screen of 1366 x 768
		{fyne.NewSize(1024, 440), true, 220},
	} {
		w.trials.body.Resize(c.size)
		w.trials.fill() // something was measured
		if got := w.trials.cols[0].frame.Size().Height; w.trials.compact != c.compact || got < c.high {
			t.Errorf("%v: compact %v, pictures %g high, at least %g wanted", c.size, w.trials.compact, got, c.high)
		}
		for i, v := range w.trials.inView() {
			col := w.trials.cols[i]
			for _, line := range append(v.Where, "back-left · middle · 45 cm") { // the longest side in English
				if room := col.where.Size().Width; place.TextWidth(line, look.Base) > room {
					t.Errorf("%v: %q has %g beside the plan", c.size, line, room)
				}
			}
			if end := col.where.Position().X + col.where.Size().Width; end > col.plan.Position().X {
				t.Errorf("%v: the words end at %g on the plan", c.size, end)
			}
		}
		for _, col := range w.trials.cols {
			for _, o := range col.objects() {
				if end := o.Position().Y + o.Size().Height; o.Visible() && end > c.size.Height {
					t.Errorf("%v: %T ends at %g", c.size, o, end)
				}
			}
		}
	}
}

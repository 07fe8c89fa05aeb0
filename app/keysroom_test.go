package app

import (
	"fmt"
	"os"
	"os/exec"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/assets/words"
)

// Keys and their words stay out of the margin at the window's edge, out of the picture beside them
// and out of each other, in every language. The language is chosen once at start, so the test
// starts itself again.
func TestKeysHaveRoom(t *testing.T) {
	if os.Getenv("STILLBENCH_TEST_ROOM") == "" {
		for _, locale := range []string{"de_DE.UTF-8", "fr_FR.UTF-8", "en_GB.UTF-8"} {
			cmd := exec.Command(os.Args[0], "-test.run=^TestKeysHaveRoom$")
			cmd.Env = append(os.Environ(), "LC_ALL=", "LANG="+locale, "STILLBENCH_TEST_ROOM=1")
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Errorf("%s: %v\n%s", locale, err, out)
			}
		}
		return
	}
	// While something is blended this stands in the margin as well.
	queue := parts.NewKeyWord("Q", fmt.Sprintf(words.QueueWordF, "100 %"), nil).MinSize().Width
	if room := look.Wide.ContentX - look.Space12 - look.Wide.Margin; queue > room {
		t.Errorf("the queue's key takes %.0f of %.0f", queue, room)
	}
	for _, size := range []fyne.Size{fyne.NewSize(1440, 900), fyne.NewSize(1280, 800), fyne.NewSize(1024, 640)} {
		w := opened(t, placetest.Afternoon())
		w.window.Resize(size)
		look := func(at string) {
			t.Helper()
			w.settle()
			w.keysHaveRoom(at, size)
		}
		look("Table")
		w.keys("T")
		look("Table, traced")
		w.keys("L")
		look("Table, the light moved")
		w.keys(place.KeyEscape, "2")
		look("Stacks")
		for _, k := range []place.Key{"K", place.KeyEscape, "S", place.KeyEscape} {
			w.keys(k)
			look("Stacks, " + string(k))
		}
		for i, g := range w.desk.Snapshot().Groups {
			if i > 0 && g.Kind == w.desk.Snapshot().Groups[i-1].Kind {
				continue
			}
			w.places[place.Stacks].(interface{ Open(int64) }).Open(g.ID)
			look("Stacks, a " + string(g.Kind) + " opened")
			w.keys("?")
			look("all keys of a " + string(g.Kind) + " opened")
			w.keys(place.KeyEscape, "T", place.KeyEnd)
			look("Stacks, traced")
		}
		w.keys("H")
		look("handing on")
		w.keys(place.KeyEscape, "3")
		look("Setups")
		w.keys("S")
		look("set it up like this")
		w.keys(place.KeyEscape, "4")
		look("Plan")
		w.keys("?")
		look("all keys")
		w.keys(place.KeyEscape, place.KeyHelp)
		look("help")
	}
}

// keysHaveRoom says where the keys that are seen do not.
func (w *bench) keysHaveRoom(at string, size fyne.Size) {
	w.t.Helper()
	g := look.GridFor(size.Width)
	if room, need := g.ContentX-look.Space12-g.Margin, w.shell.keys.MinSize().Width; !w.shell.keys.Hidden && need > room {
		w.t.Errorf("%s at %g: the keys take %.0f of the %.0f beside the picture", at, size.Width, need, room)
	}
	type box struct{ x0, y0, x1, y1 float32 }
	var seen []box
	var called []string
	d := fyne.CurrentApp().Driver()
	root := d.AbsolutePositionForObject(w.window.Content()) // the test driver's canvas does not begin at 0, 0
	var walk func(o fyne.CanvasObject)
	walk = func(o fyne.CanvasObject) {
		if !o.Visible() {
			return
		}
		if k, ok := o.(*parts.KeyWord); ok {
			p, m := d.AbsolutePositionForObject(k).Subtract(root), k.MinSize()
			seen, called = append(seen, box{p.X, p.Y, p.X + m.Width, p.Y + m.Height}), append(called, k.Word)
			return
		}
		switch o := o.(type) {
		case *fyne.Container:
			for _, c := range o.Objects {
				walk(c)
			}
		case fyne.Widget:
			for _, c := range test.WidgetRenderer(o).Objects() {
				walk(c)
			}
		}
	}
	walk(w.window.Content())
	if len(seen) == 0 {
		w.t.Errorf("%s: no keys are seen", at)
	}
	for i, a := range seen {
		if a.x1 > size.Width-g.Margin+0.5 || a.x0 < g.Margin-0.5 {
			w.t.Errorf("%s at %g: %q stands from %.0f to %.0f, in the margin", at, size.Width, called[i], a.x0, a.x1)
		}
		for j, b := range seen[:i] {
			if a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 {
				w.t.Errorf("%s at %g: %q and %q lie on each other", at, size.Width, called[i], called[j])
			}
		}
	}
}

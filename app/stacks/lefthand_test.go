package stacks

import (
	"slices"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/session"
)

// What is done most in Stacks is under the left hand on every keyboard: the letters of these keys lie
// left of the middle on QWERTY, QWERTZ and AZERTY alike.
func TestStacksByTheLeftHand(t *testing.T) {
	const lefts = "QWERTASDFGXCV" // all three have these there; Y, Z and B lie at the middle or change sides
	w := newBench(t, three())
	w.keys("F")
	if !w.at.seam {
		t.Fatalf("back does not go to the seam: %+v", w.at)
	}
	w.keys("X")
	w.edit(session.EditJoin, w.desk.Edits[len(w.desk.Edits)-1].Frame)

	w = newBench(t, three())
	w.keys("F", "F", place.KeySpace) // by the seam to the second stack
	if w.open != 3 {
		t.Fatalf("opened %d", w.open)
	}
	at := w.detail.index()
	w.keys("G")
	if w.detail.index() != at+1 {
		t.Errorf("on goes from frame %d to %d", at, w.detail.index())
	}
	f := w.detail.frame().Fingerprint
	w.keys("V")
	w.edit(session.EditSplit, f)
	w = newBench(t, three())
	w.keys("F", "F", place.KeySpace, "G", "A")
	w.edit(session.EditMark, w.desk.Edits[0].Frame)

	w = newBench(t, three())
	w.keys("F", "F", place.KeySpace)
	for _, a := range w.Actions() {
		for _, k := range a.Also {
			if !strings.Contains(lefts, string(k)) && !(k == "Y" && slices.Contains(a.Keys, "Z")) { // Y and Z change places
				t.Errorf("%s for %q lies elsewhere on one of the keyboards", k, a.Word)
			}
		}
	}
	// No key does two things.
	seen := map[place.Key]int{}
	for _, a := range w.Actions() {
		for _, k := range slices.Concat(a.Keys, a.Also) {
			if a.Do != nil {
				seen[k]++
			}
		}
	}
	for k, n := range seen {
		if n > 1 {
			t.Errorf("%s does %d things", k, n)
		}
	}
}

// The key goes from one thing that is left to do to the next, round and round, and opens it at the frame
// that it is about.
func TestNextThingToDo(t *testing.T) {
	b := three()
	ids := stacksOf(b.S.Groups)
	b.S.Checks = map[int64]*session.Check{}
	for i, id := range ids {
		g := b.S.Groups[slices.IndexFunc(b.S.Groups, func(g session.Group) bool { return g.ID == id })]
		c := &session.Check{Verdict: session.VerdictFarOpen, FarEnd: session.EndOpen}
		for j, fp := range g.Frames {
			c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: fp, Place: new(float64(j) / float64(len(g.Frames)-1)), Near: new(float64(j) / 10), Far: new(float64(j+1) / 10), Aligned: true})
		}
		if i == 1 {
			c.Verdict = session.VerdictBlurred
			c.Frames[2].Blurred = true
		}
		b.S.Checks[id] = c
	}
	w := newBench(t, b)
	w.keys("C")
	if w.open != ids[0] || w.detail.current != b.S.Checks[ids[0]].Frames[3].Fingerprint {
		t.Errorf("opened %d at %s, want the first stack at its last frame", w.open, w.detail.current)
	}
	w.keys("C")
	if w.open != ids[1] || w.detail.current != b.S.Checks[ids[1]].Frames[2].Fingerprint {
		t.Errorf("opened %d at %s, want the second stack at the blurred frame", w.open, w.detail.current)
	}
	w.keys("C")
	if w.open != ids[0] {
		t.Errorf("after the last comes %d, not the first again", w.open)
	}
}

func stacksOf(groups []session.Group) (ids []int64) {
	for _, g := range groups {
		if g.Kind == session.KindStack {
			ids = append(ids, g.ID)
		}
	}
	return ids
}

// In a low window an opened group shrinks its pictures until it is in view as a whole, down to its strip,
// and stays so when a longer sentence above leaves less room.
func TestOpenedGroupIsInViewAsAWhole(t *testing.T) {
	w := newBench(t, three())
	for _, size := range []fyne.Size{fyne.NewSize(1024, 450), fyne.NewSize(1024, 440), fyne.NewSize(1440, 678)} {
		w.win.Resize(size)
		w.Open(3)
		w.win.Resize(fyne.NewSize(size.Width, size.Height-30)) // the sentence has become longer
		k := w.scroll.Offset.Y
		top, end := w.detail.body.Position().Y, w.detail.body.Position().Y+w.detail.body.Size().Height
		if k > top || end > k+size.Height-30+1 {
			t.Errorf("%v: the group lies from %g to %g, in view is %g to %g", size, top, end, k, k+size.Height-30)
		}
	}
}

// The ring round a row with a long name stays in the window.
func TestRingStaysInTheWindow(t *testing.T) {
	for _, width := range []float32{1024, 1440} {
		s := newSlim(present.Row{Name: "Single", About: strings.Repeat("a very long name of a subject ", 9)}, true, func() {})
		s.Resize(fyne.NewSize(width, slimHeight))
		test.WidgetRenderer(s).Layout(s.Size())
		if end := s.ring.Position().X + s.ring.Size().Width; end > width-look.GridFor(width).Margin+6 {
			t.Errorf("at %g the ring ends at %g", width, end)
		}
	}
}

// The pictures are as high as designed at the design's size and higher where there is room for it.
func TestPicturesGrowWithTheWindow(t *testing.T) {
	w := newBench(t, three())
	var highs []float32
	for _, size := range []fyne.Size{fyne.NewSize(1440, 678), fyne.NewSize(1920, 860), fyne.NewSize(2194, 1020)} {
		w.win.Resize(size)
		w.Open(3)
		highs = append(highs, w.detail.whole.Size().Height)
	}
	if highs[0] != detailHigh || highs[1] <= highs[0] || highs[2] <= highs[1] {
		t.Errorf("pictures %v high", highs)
	}
}

// The keys beside an opened stack's pictures end above the ribbon's pointer, and the words of a frame set
// aside stand above the crops.
func TestNothingLiesOnTheRibbon(t *testing.T) {
	w := newBench(t, three())
	w.Open(3)
	d := w.detail
	for _, high := range []float32{500, 460, 420, 678} {
		w.win.Resize(fyne.NewSize(1280, high))
		pointer := d.ribbon.Drawing.Position().Y
		if end := d.keys.Position().Y + d.keys.MinSize().Height; end > pointer {
			t.Errorf("at %g the keys end at %g, the ribbon begins at %g", high, end, pointer)
		}
	}
	before := d.strip.Position().Y - d.ribbon.Drawing.Position().Y
	w.keys("X")
	if after := d.strip.Position().Y - d.ribbon.Drawing.Position().Y; after != before+asideHigh {
		t.Errorf("the crops stand %g below the ribbon's top, %g before a frame was set aside", after, before)
	}
}

// On a screen of 1024 x 640 with a title bar the pictures of an opened stack get what bare ground and the crops can
// spare: of five frames they were 90 high, the least there is, and of thirteen 129.
func TestPicturesInALowWindow(t *testing.T) {
	w := newBench(t, three())
	w.win.Resize(fyne.NewSize(1024, 400))
	w.Open(3)
	if high := w.detail.whole.Size().Height; high < 140 {
		t.Errorf("the pictures are %g high", high)
	}
}

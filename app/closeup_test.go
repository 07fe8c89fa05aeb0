package app

import (
	"context"
	"image"
	"image/color"
	"strconv"
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/assets/words"
	"stillbench/session"
)

// gridDesk is an invented session whose pictures tell where they are from: in crops red and
// green are the pixel's place in the frame, modulo 200, and blue is the frame's number. The
// frames are 6000 x 4000, frame 3 is at the top of the scale in every tenth column.
type gridDesk struct{ *placetest.Desk }

func number(fp string) uint8 {
	n, _ := strconv.Atoi(strings.TrimPrefix(fp, "fp"))
	return uint8(n)
}

func (d gridDesk) Crop(_ context.Context, fp string, x, y float64, w, h int) (*image.RGBA, error) {
	w, h = min(w, 6000), min(h, 4000)
	left, top := min(max(int(x*6000)-w/2, 0), 6000-w), min(max(int(y*4000)-h/2, 0), 4000-h)
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	row := make([]byte, 4*w)
	for u := range w {
		row[4*u], row[4*u+2], row[4*u+3] = uint8(1+(left+u)%200), number(fp), 255
		if fp == "fp3" && (left+u)%10 == 0 {
			row[4*u] = 255
		}
	}
	for v := range h {
		for u := range w {
			row[4*u+1] = uint8(1 + (top+v)%200)
		}
		copy(img.Pix[v*img.Stride:], row)
	}
	return img, nil
}

func (d gridDesk) Picture(_ context.Context, fp string, maxW, maxH int) (*image.RGBA, error) {
	w := min(maxW, maxH*3/2)
	img := image.NewRGBA(image.Rect(0, 0, w, w*2/3))
	for i := range w * (w * 2 / 3) {
		img.SetRGBA(i%w, i/w, color.RGBA{70, 70, number(fp), 255})
	}
	return img, nil
}

// Proof is 960 x 640; red is the column, counted by fives.
func (d gridDesk) Proof(context.Context, string, int, int) (*image.RGBA, error) {
	img := image.NewRGBA(image.Rect(0, 0, 960, 640))
	for i := range 960 * 640 {
		img.SetRGBA(i%960, i/960, color.RGBA{uint8(1 + i%960/5), 50, 200, 255})
	}
	return img, nil
}

// closely is a bench whose window looks at the first frame of a stack of five, numbers 2 to 6
// of the session.
func closely(t testing.TB) *bench {
	t.Helper()
	w := pictured(t, placetest.NewSession().Marker().Stack(5).Proof())
	w.keys("2", place.KeyEnter)
	w.presses("Z")
	return w
}

// pictured is a bench on a session with pictures.
func pictured(t testing.TB, b *placetest.Builder) *bench {
	t.Helper()
	w := opened(t, b)
	var d place.Desk = gridDesk{w.desk}
	w.source.Store(&d)
	return w
}

// presses presses keys a second apart, and waits for the pictures after each.
func (w *bench) presses(keys ...place.Key) {
	w.t.Helper()
	for _, k := range keys {
		w.now = w.now.Add(time.Second)
		w.keys(k)
		w.pictured()
	}
}

// pictured waits until all that is needed has come.
func (w *bench) pictured() {
	w.t.Helper()
	c := w.closeup
	for end := time.Now().Add(time.Minute); c.on(); time.Sleep(time.Millisecond) {
		missing := 0
		for _, fc := range c.faces() {
			want := c.wantOf(fc, c.frameOf(fc))
			if c.have[want] == nil {
				missing++
			}
			if want.Sharp = true; c.trace && !fc.proof && c.have[want] == nil {
				missing++
			}
		}
		if missing == 0 {
			return
		}
		if time.Now().After(end) {
			w.t.Fatalf("%d pictures never come", missing)
		}
		w.settle()
	}
}

// shows tells which frame of the session is in view.
func (w *bench) shows() int {
	img := w.closeup.view.Picture
	if img == nil {
		return 0
	}
	return int(img.RGBAAt(img.Rect.Dx()/2, img.Rect.Dy()/2).B)
}

// at checks that the view shows a frame, pixel by pixel, from a place in it on.
func (w *bench) at(frame int, from image.Point) {
	w.t.Helper()
	img := w.closeup.view.Picture
	if img == nil {
		w.t.Fatal("no picture is shown")
	}
	for _, p := range []image.Point{{0, 0}, {img.Rect.Dx() - 1, 0}, {img.Rect.Dx() / 3, img.Rect.Dy() - 1}} {
		want := color.RGBA{uint8(1 + (from.X+p.X)%200), uint8(1 + (from.Y+p.Y)%200), uint8(frame), 255}
		got := img.RGBAAt(p.X, p.Y)
		if got.R == 255 && want.B == 3 {
			got.R = want.R
		}
		if got != want {
			w.t.Fatalf("at %v: %v, want %v", p, got, want)
		}
	}
}

// middle is from where n x m pixels of a frame of 6000 x 4000 are seen about a point.
func middle(x, y int, size image.Point) image.Point { return image.Pt(x-size.X/2, y-size.Y/2) }

func (w *bench) inView() image.Point { return w.closeup.view.Picture.Rect.Max }

// TestCloseupKeepsTheSpot: one to one shows the frame's own pixels; stepping shows the same ones
// of the next frame, and going back shows that frame in the stack.
func TestCloseupKeepsTheSpot(t *testing.T) {
	w := closely(t)
	w.says("Frame 3, whole.") // the middle one stands for a stack
	if w.shows() != 4 {
		t.Errorf("frame %d of the session is shown", w.shows())
	}
	w.presses("Z")
	w.says("Frame 3, one to one.")
	one := w.inView()
	if room, _ := w.closeup.room(); one.X != room {
		t.Errorf("%v pixels are seen in a view %d wide", one, room)
	}
	w.at(4, middle(3000, 2000, one))
	w.presses("F", "W")
	spot := middle(3000, 2000, one).Add(image.Pt(one.X/4, -(one.Y / 4)))
	w.at(4, spot)
	w.presses("B")
	w.says("Frame 4, one to one.")
	w.at(5, spot)
	w.presses(place.KeyLeft, place.KeyLeft)
	w.says("Frame 2,")
	w.at(3, spot)
	w.presses("Z")
	w.says("Frame 2, two to one.")
	two := w.inView()
	if two != one.Div(2) {
		t.Errorf("two to one shows %v pixels, one to one %v", two, one)
	}
	w.at(3, spot.Add(one.Div(2)).Sub(two.Div(2)))
	eye := w.closeup.eye
	w.presses(place.KeyEscape, "Z") // back, and again
	w.says("Frame 2, whole.")
	if e := w.closeup.eye; e.X != eye.X || e.Y != eye.Y {
		t.Errorf("the spot was %+v and is %+v", eye, e)
	}
	w.presses("Z", "Z", "Z")
	w.says("whole")
}

func TestCloseupStopsAtTheEnds(t *testing.T) {
	w := closely(t)
	w.presses("V", "V", "V", "V")
	w.says("Frame 1,")
	w.presses("B", "B", "B", "B", "B", "B")
	w.says("Frame 5,")
	w.presses("Z", "A", "A", "A", "A", "A", "A", "A", "A", "A", "A", "A", "A", "A", "A")
	w.at(6, image.Pt(0, middle(0, 2000, w.inView()).Y))
	w.presses("F") // and back at once
	w.at(6, image.Pt(w.inView().X/4, middle(0, 2000, w.inView()).Y))
}

// TestCloseupByPointer: what is clicked stays under the pointer, the picture goes with a drag,
// and the wheel enlarges and reduces.
func TestCloseupByPointer(t *testing.T) {
	w := closely(t)
	c := w.closeup
	c.view.OnPoint(0.25, 0.5)
	w.pictured()
	w.says("one to one")
	at := image.Pt(1500-w.inView().X/4, middle(0, 2000, w.inView()).Y)
	w.at(4, at)
	c.view.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(-130, 45)})
	w.pictured()
	w.at(4, at.Add(image.Pt(130, -45)))
	w.now = w.now.Add(time.Second)
	c.view.OnWheel(true, 0, 0)
	w.pictured()
	w.says("two to one")
	w.at(4, at.Add(image.Pt(130, -45)))
	c.view.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(-3, 0)})
	c.view.Dragged(&fyne.DragEvent{Dragged: fyne.NewDelta(-3, 0)})
	w.pictured()
	w.at(4, at.Add(image.Pt(133, -45))) // half pixels are not lost
	for range 3 {
		w.now = w.now.Add(time.Second)
		c.view.OnWheel(false, 0.5, 0.5)
	}
	w.pictured()
	w.says("whole")
}

// TestCloseupFlickers: the frame that was held and the one stepped to are shown in turn, at most
// three times a second, whatever is pressed (WCAG 2.2, success criterion 2.3.1).
func TestCloseupFlickers(t *testing.T) {
	if 6*flickerEvery < time.Second || 6*leastTurn < time.Second {
		t.Error("more than three flashes in a second")
	}
	w := closely(t)
	c := w.closeup
	w.presses("Z", "E")
	c.stop() // the test is the clock
	w.says("Frame 3 is held.")
	c.turn()
	if w.shows() != 4 {
		t.Error("with nothing to compare it turns")
	}
	w.presses("B", "B")
	w.says("Frame 3, frame 5, in turn.")
	var seen []int
	for range 4 {
		seen = append(seen, w.shows())
		c.turn()
	}
	if seen[0] != 6 || seen[1] != 4 || seen[2] != 6 || seen[3] != 4 {
		t.Errorf("in turn: %v", seen)
	}
	w.says("Frame 3, frame 5, in turn.") // nothing large changes with it
	w.keys("E", "E", "E")                // held down: the first one counts
	w.says("Frame 5, one to one.")
	if c.turn(); w.shows() != 6 || c.held != nil || c.stop != nil {
		t.Error("it goes on after its end")
	}
}

// A key that is held down changes the whole picture at most five times a second.
func TestCloseupHeldKeyDoesNotFlash(t *testing.T) {
	w := closely(t)
	changes := 0
	for _, k := range []place.Key{"P", "C", "T", "E"} {
		for range 30 { // in a second
			w.now = w.now.Add(time.Second / 30)
			c := w.closeup
			before := [4]bool{c.proof, c.clip, c.trace, c.held != nil}
			w.press(k)
			if before != [4]bool{c.proof, c.clip, c.trace, c.held != nil} {
				changes++
			}
		}
		if changes == 0 || changes > 5 {
			t.Errorf("%s held for a second makes %d changes", k, changes)
		}
		changes = 0
	}
}

// TestCloseupEndsWithThePlace: another place, and nothing turns any more.
func TestCloseupEndsWithThePlace(t *testing.T) {
	w := closely(t)
	w.presses("E", "B")
	w.keys("1")
	w.closeup.turn()
	if w.closeup.held != nil || w.closeup.stop != nil {
		t.Error("it goes on turning")
	}
	w.keys("2")
	w.presses("Z")
	w.says("whole")
}

// TestCloseupShowsTheProof: the same region of it, enlarged, and that is said.
func TestCloseupShowsTheProof(t *testing.T) {
	w := closely(t)
	w.presses("Z", "G")
	w.says("The proof, one to one.", "At preview size, enlarged 6.2 times")
	img := w.closeup.view.Picture
	from := middle(3000, 2000, w.inView()).X
	for _, x := range []int{10, 400, 900} {
		want := 1 + int((float64(from+x)+0.5)/6.25)/5
		if got := int(img.RGBAAt(x, 50).R); got < want-1 || got > want+1 {
			t.Errorf("column %d shows column %d of the proof by fives, want %d", x, got, want)
		}
	}
	// Held, it is compared with the frame at once.
	w.presses("E")
	w.closeup.stop() // the test is the clock
	w.says("The proof, frame 3, in turn.")
	w.closeup.turned = false
	if w.closeup.turn(); w.shows() != 200 {
		t.Errorf("the proof does not come up: %d", w.shows())
	}
	if w.closeup.turn(); w.shows() != 4 {
		t.Errorf("nor the frame: %d", w.shows())
	}
	w.presses("E", "P", "T")
	w.says("Frame 3,") // what is sharp is a frame's
}

// TestCloseupSetsAside: the frame looked at is set aside by the key that does so in Stacks, at the
// same spot, and put back by it; the proof is no frame.
func TestCloseupSetsAside(t *testing.T) {
	w := closely(t)
	w.presses("Z")
	frame, seen := w.closeup.now(), w.inView()
	w.presses("X")
	if e := w.lastEdit(); e.Kind != session.EditSetAside || e.Frame != frame.Fingerprint {
		t.Fatalf("%+v", e)
	}
	w.says("Frame 3 is set aside. X puts it back.")
	w.show(w.desk.Snapshot())
	w.pictured()
	if !w.closeup.now().SetAside || !w.closeup.on() || w.inView() != seen {
		t.Errorf("%+v, in view %v, before %v", w.closeup.now(), w.inView(), seen)
	}
	if a := w.closeup.asideAction(); a.Word != words.PutBack {
		t.Errorf("the key says %q", a.Word)
	}
	w.presses("X")
	if e := w.lastEdit(); e.Kind != session.EditPutBack || e.Frame != frame.Fingerprint {
		t.Fatalf("%+v", e)
	}
	w.presses("G")
	n := len(w.desk.Edits)
	if w.presses("X"); len(w.desk.Edits) != n {
		t.Error("the proof was set aside")
	}
}

// The zoom is under the thumb too, and at the lower left of a QWERTZ keyboard, where that writes Y.
func TestCloseupZoomsByOtherKeys(t *testing.T) {
	w := closely(t)
	for _, c := range []struct {
		key  place.Key
		says string
	}{{place.KeySpace, "one to one"}, {"Y", "two to one"}, {"Z", "whole"}} {
		w.presses(c.key)
		w.says(c.says)
	}
	w.presses(place.KeyEscape, "Y")
	w.says("whole")
}

// What is said of the frame stands clear of the keys below it, in low windows as well.
func TestCloseupCaptionStandsClearOfTheKeys(t *testing.T) {
	w := closely(t)
	w.presses("Z", "X")
	w.show(w.desk.Snapshot())
	for _, high := range []float32{640, 680, 728, 900} {
		w.window.Resize(fyne.NewSize(1280, high))
		c := w.closeup.caption
		end := w.shell.body.Position().Y + c.Position().Y + look.LineStep*float32(len(c.Lines)-1)
		if top := w.shell.keys.Position().Y; end > top {
			t.Errorf("at %g the caption ends at %g, the keys begin at %g", high, end, top)
		}
	}
}

func TestCloseupMarksWhatIsClipped(t *testing.T) {
	w := closely(t)
	w.presses("Z", "C")
	w.says("Nothing is clipped in view.")
	w.presses("V")
	w.says("Too bright, in view: 10 %")
	if len(w.closeup.view.Overlays) == 0 || w.closeup.view.Overlays[0] == nil {
		t.Fatal("nothing is marked")
	}
	w.presses("C")
	if strings.Contains(w.shell.sentence.WhatToDo, "bright") {
		t.Error("it is said for ever")
	}
}

// TestCloseupTracesWhatIsSharp: the invented session is sharp in the left half of every frame.
func TestCloseupTracesWhatIsSharp(t *testing.T) {
	w := closely(t)
	w.presses("Z", "T")
	over := w.closeup.view.Overlays[0]
	if over == nil || over.Rect.Max != w.inView() {
		t.Fatal("nothing is traced, or not where it is")
	}
	marked := func(x int) (n int) {
		for y := range over.Rect.Dy() {
			if over.RGBAAt(x, y).A > 0 {
				n++
			}
		}
		return n
	}
	w2 := over.Rect.Dx() / 2 // the frame's middle is the view's
	edge := 0
	for x := w2 - 30; x < w2+30; x++ {
		edge = max(edge, marked(x))
	}
	if marked(w2/2) == 0 || marked(w2/2) > over.Rect.Dy()/2 || marked(w2+w2/2) != 0 || edge < over.Rect.Dy() {
		t.Errorf("%d marked on the left, %d on the right, %d at the edge", marked(w2/2), marked(w2+w2/2), edge)
	}
}

// TestCloseupFromTheTable: at the newest frame, and back there.
func TestCloseupFromTheTable(t *testing.T) {
	w := pictured(t, placetest.NewSession().Stack(2).Marker())
	w.presses("1", "Z")
	w.says("Frame 1, whole.")
	w.presses("?")
	w.says("The keys here.")
	w.presses(place.KeyEscape)
	w.says("Frame 1, whole.") // and not the place below
	w.presses(place.KeyEscape)
	w.says("Begin the stack.")
}

// TestCloseupFollowsTheSession: frames that come are there to step to, and a group that is gone
// is looked at on.
func TestCloseupFollowsTheSession(t *testing.T) {
	w := closely(t)
	w.presses("B", "B", "B")
	w.says("Frame 5,")
	b := placetest.NewSession().Marker().Stack(6).Proof()
	b.S.Version = 9
	w.desk.Put(&b.S)
	w.settle()
	w.presses("B")
	w.says("Frame 6,")
	if err := w.desk.Edit(context.Background(), session.Edit{Kind: session.EditJoin, Frame: "fp2"}); err != nil {
		t.Fatal(err)
	}
	w.settle()
	w.presses("V")
	w.says("Frame 5,")
}

// TestCloseupStandsIn: until a frame's own pixels come the picture that is at hand is shown,
// enlarged, it is said that they are being read, and nothing is said of what is clipped.
func TestCloseupStandsIn(t *testing.T) {
	w := closely(t)
	w.presses("C")
	w.now = w.now.Add(time.Second)
	w.pictures.Close() // from now on nothing comes that is not at hand
	w.press("Z")
	delete(w.closeup.have, w.closeup.crop(w.closeup.now())) // it may have been read ahead
	w.closeup.block = block{}
	w.closeup.draw()
	w.say()
	w.says("Frame 3, one to one.", "Reading the picture.")
	if img := w.closeup.view.Picture; img.RGBAAt(9, 9) != (color.RGBA{70, 70, 4, 255}) || img.Rect.Dx() < 1000 || len(w.closeup.view.Overlays) > 1 {
		t.Errorf("%v stands in, with %d drawings over it", img.RGBAAt(9, 9), len(w.closeup.view.Overlays))
	}
}

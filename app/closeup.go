package app

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"image/draw"
	"slices"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/app/stacks"
	"stillbench/assets/words"
	"stillbench/session"
)

// closeup is the sheet on which the frames of a group are looked at closely: whole, one to one
// or two to one, at the same spot in each. Its fields belong to the UI goroutine.
type closeup struct {
	w     *App
	about present.Closeup
	frame string // fingerprint of the frame stepped to
	eye   present.Eye
	proof bool // the proof is shown in place of the frame
	clip  bool // what is clipped is marked
	trace bool // the sharp parts are traced
	ahead int  // 1 or -1: which way was stepped last, and is read ahead first

	// held is what is compared with in turn, nil for nothing; turned: it is shown now.
	held    *face
	turned  bool
	stop    context.CancelFunc // of the goroutine that turns; nil when none does
	turning sync.WaitGroup
	changed time.Time // when a key last changed the whole picture

	have    map[pictures.Want]*image.RGBA // what has come of what is needed now
	failed  pictures.Want                 // this could not be read
	block   block                         // the last one of a frame that came
	loading bool
	shots   *pictures.Scope
	drag    [2]float32 // pixels of the screen that are not yet a pixel of the picture

	sheet   *sheet
	view    *parts.CloseupView
	caption *place.Label
	body    *fyne.Container
}

// face is one of the pictures that can be compared.
type face struct {
	frame string
	proof bool
}

// block is a part of a frame that has come, and where it lies in the frame.
type block struct {
	frame string
	part  image.Rectangle
	img   *image.RGBA
}

const (
	// flickerEvery is how long each of two pictures stands while they are compared in turn. Two
	// changes a second make one flash a second, whatever the pictures. More than three in a
	// second can cause seizures: WCAG 2.2, success criterion 2.3.1.
	flickerEvery = 500 * time.Millisecond
	// leastTurn is the least time between two keys that change the whole picture. A key that is
	// held down comes thirty times a second; this makes at most five changes, two and a half
	// flashes, of it.
	leastTurn = 200 * time.Millisecond
	// aheadBytes bounds the parts of frames that are read ahead. It leaves the loader room for
	// the pictures of the place below.
	aheadBytes = 40 << 20
	// panShare is how far a key moves the view, in shares of what is in view.
	panShare = 0.25
)

func newCloseup(w *App) *closeup {
	c := &closeup{w: w, view: parts.NewCloseupView(), caption: place.NewLabel(), shots: w.pictures.Scope()}
	c.view.OnDrag, c.view.OnPoint, c.view.OnWheel = c.dragged, c.clicked, c.wheeled
	c.body = container.New(place.Layout(c.arrange), c.view, c.caption)
	return c
}

// close ends the comparison and waits until it has ended.
func (c *closeup) close() {
	c.steady()
	c.turning.Wait()
}

// show opens the sheet on a frame of a group, at a spot in shares of the upright picture.
func (c *closeup) show(group int64, frame string, x, y float64) {
	about, ok := present.CloseupOf(c.w.newest(), group)
	if !ok {
		return
	}
	c.steady()
	c.about, c.frame, c.eye = about, about.Frames[about.Index(frame)].Fingerprint, present.Eye{X: x, Y: y}
	c.proof, c.ahead = false, 1
	c.have, c.block, c.view.Picture = nil, block{}, nil
	c.shots.Begin()
	c.shots = c.w.pictures.Scope()
	c.sheet = &sheet{body: c.body, more: true}
	c.w.cover = c.sheet
	c.w.say() // and lays it out: what is asked for goes by its size
	c.changes()
}

// on tells whether the sheet lies over the place.
func (c *closeup) on() bool { return c.sheet != nil && c.w.cover == c.sheet }

// leave goes back to the place, at the frame stepped to.
func (c *closeup) leave() {
	c.steady()
	c.shots.Begin()
	c.have, c.block = nil, block{}
	if p, ok := c.w.places[c.w.current].(*stacks.Place); ok {
		p.LookedAt(c.about.Group, c.frame, c.eye.X, c.eye.Y)
	}
	c.w.uncover()
}

// now is the frame stepped to.
func (c *closeup) now() present.CloseFrame { return c.about.Frames[c.about.Index(c.frame)] }

// follow takes in the group as it is now, as long as the frame stepped to is in it.
func (c *closeup) follow() {
	about, ok := present.CloseupOf(c.w.newest(), c.about.Group)
	if !ok || about.Frames[about.Index(c.frame)].Fingerprint != c.frame {
		return
	}
	c.about = about
	if c.held != nil && !c.held.proof && about.Frames[about.Index(c.held.frame)].Fingerprint != c.held.frame {
		c.steady()
	}
	c.proof = c.proof && about.Proof.Key != ""
}

// changes shows what a key or the pointer has changed.
func (c *closeup) changes() {
	c.follow()
	c.load()
	c.w.say()
}

func (c *closeup) arrange(w, h float32, g look.Grid) {
	right, top := w-g.Margin, float32(0)
	if g.Column == 0 {
		c.caption.Put(g.ContentX, 16, right-g.ContentX)
		top = 32
	} else {
		c.caption.Put(g.Margin, 15, g.Column)
		h -= g.Margin
	}
	place.Put(c.view, g.ContentX, top, right-g.ContentX, h-top)
	if c.on() {
		c.load()
	}
}

// room is the view's size in pixels of the screen.
func (c *closeup) room() (w, h int) {
	k := c.w.pixels()
	return int(c.view.Size().Width * k), int(c.view.Size().Height * k)
}

// wantOf is what shows a face of which f is the frame, the frame stepped to for the proof.
func (c *closeup) wantOf(fc face, f present.CloseFrame) pictures.Want {
	switch {
	case fc.proof:
		return pictures.Want{Proof: c.about.Proof.Key, W: c.about.Proof.W, H: c.about.Proof.H}
	case c.zoom(f) == present.ZoomWhole:
		return c.whole(f)
	}
	return c.crop(f)
}

func (c *closeup) whole(f present.CloseFrame) pictures.Want {
	vw, vh := c.room()
	return pictures.Want{Fingerprint: f.Fingerprint, W: vw, H: vh}
}

// crop is the block of a frame that holds what is seen one to one and two to one.
func (c *closeup) crop(f present.CloseFrame) pictures.Want {
	vw, vh := c.room()
	b := c.eye.Block(f.W, f.H, vw, vh)
	w := pictures.Want{Fingerprint: f.Fingerprint, Crop: true, W: b.Dx(), H: b.Dy()}
	w.X, w.Y = present.Spot(b, f.W, f.H)
	return w
}

// zoom is the eye's, as far as the frame's size is known.
func (c *closeup) zoom(f present.CloseFrame) present.Zoom {
	if f.W <= 0 || f.H <= 0 {
		return present.ZoomWhole
	}
	return c.eye.Zoom
}

// faces are those that are shown, the one stepped to last.
func (c *closeup) faces() []face {
	out := []face{{c.frame, c.proof}}
	if c.held != nil && *c.held != out[0] {
		out = slices.Insert(out, 0, *c.held)
	}
	return out
}

// frameOf is the frame of a face; the proof lies under the frame stepped to.
func (c *closeup) frameOf(fc face) present.CloseFrame {
	if fc.proof {
		return c.now()
	}
	return c.about.Frames[c.about.Index(fc.frame)]
}

// load asks for what is needed, what is looked at hardest last, so that it comes first.
func (c *closeup) load() {
	if w, h := c.room(); w <= 0 || h <= 0 {
		return
	}
	var need []pictures.Want
	for _, fc := range c.faces() {
		if f := c.frameOf(fc); f.Picture {
			w := c.wantOf(fc, f)
			if c.trace && !fc.proof {
				t := w
				t.Sharp = true
				need = append([]pictures.Want{t}, need...)
			}
			if w.Crop && !c.shots.Has(w) {
				need = append([]pictures.Want{c.whole(f)}, need...) // stands in until that comes
			}
			need = append(need, w)
		}
	}
	c.loading = true
	old := c.have
	c.have = map[pictures.Want]*image.RGBA{}
	c.shots.Begin()
	for _, w := range need {
		if img := old[w]; img != nil {
			c.have[w] = img // even where the loader has let go of it
			continue
		}
		c.shots.Want(w, func(img *image.RGBA, err error) { c.came(w, img, err) })
	}
	c.loading = false
	c.readAhead()
	c.draw()
}

// came takes a picture in.
func (c *closeup) came(w pictures.Want, img *image.RGBA, err error) {
	if err != nil {
		c.failed = w
	} else {
		c.have[w] = img
	}
	if c.loading {
		return
	}
	c.readAhead()
	if c.draw() && c.on() {
		c.w.say()
	}
}

// readAhead has the pictures at hand that are stepped to next, once the one that is looked at
// has come, the nearest first.
func (c *closeup) readAhead() {
	f := c.now()
	now := c.wantOf(face{frame: c.frame}, f)
	if c.have[now] == nil {
		return
	}
	// Whole frames are at hand once they were read, however many; of parts there is room for so many.
	at, n := c.about.Index(c.frame), len(c.about.Frames)
	if now.Crop {
		n = aheadBytes / (4 * now.W * now.H)
	}
	for by := 1; by <= max(1, len(c.about.Frames)-1); by++ {
		for _, i := range []int{at + c.ahead*by, at - c.ahead*by} {
			if i >= 0 && i < len(c.about.Frames) && c.about.Frames[i].Picture && n > 0 {
				n--
				next := c.about.Frames[i]
				c.shots.Ahead(c.wantOf(face{frame: next.Fingerprint}, next))
			}
		}
		if by == 1 { // a step is nearer than another zoom or the proof
			if !now.Crop && f.W > 0 && f.H > 0 {
				c.shots.Ahead(c.crop(f))
			}
			if c.about.Proof.Key != "" {
				c.shots.Ahead(c.wantOf(face{proof: true}, f))
			}
		}
	}
}

// draw shows what has come, and reports whether the words have changed.
func (c *closeup) draw() bool {
	shown := c.faces()[len(c.faces())-1]
	if c.turned && c.held != nil {
		shown = *c.held
	}
	f := c.frameOf(shown)
	img, trace := c.picture(shown, f)
	want := c.wantOf(shown, f)
	s := present.Sight{Frame: c.now(), Zoom: c.zoom(f), Proof: c.proof, Coming: c.have[want] == nil && c.failed != want}
	c.view.Pixels, c.view.Empty = c.w.pixels(), words.PictureComing
	if !f.Picture || img == nil && !s.Coming {
		c.view.Picture, c.view.Empty = nil, words.NoPicture
	}
	if img != nil {
		c.view.Picture, c.view.Zoom, c.view.Overlays = img, int(c.zoom(f)), nil
		if c.clip && !s.Coming {
			over, bright, dark := parts.Clipped(img, max(c.view.Zoom, 1))
			s.Clipped = &present.Clipping{Bright: bright, Dark: dark}
			c.view.Overlays = append(c.view.Overlays, over)
		}
		c.view.Overlays = append(c.view.Overlays, trace)
		if shown.proof {
			s.Enlarged = float64(img.Rect.Dx()*max(c.view.Zoom, 1)) / float64(c.seen(f).Dx()) * float64(f.W) / float64(max(c.about.Proof.W, 1))
		}
	} // else the one before stays until it comes
	c.view.Refresh()
	return c.describe(s, shown)
}

// seen is the part of a frame that is in view.
func (c *closeup) seen(f present.CloseFrame) image.Rectangle {
	vw, vh := c.room()
	eye := c.eye
	eye.Zoom = c.zoom(f)
	return eye.Seen(f.W, f.H, vw, vh)
}

// picture gives what is in view of a face, and its sharp parts where they are traced; nil for
// what has not come. Until the pixels of a frame come, what there is of them and the enlarged
// picture stand in.
func (c *closeup) picture(fc face, f present.CloseFrame) (img, trace *image.RGBA) {
	want := c.wantOf(fc, f)
	whole := c.have[want]
	part := c.seen(f)
	switch {
	case fc.proof && whole != nil:
		n, m := part.Dx(), part.Dy()
		if c.zoom(f) == present.ZoomWhole {
			n, m = parts.FitPixels(f.W, f.H, c.view.Size(), c.w.pixels())
		}
		return parts.Under(whole, c.about.ProofUnder(f, part, n, m), n, m), nil
	case fc.proof:
		return nil, nil
	}
	sharp := want
	sharp.Sharp = true
	if !want.Crop {
		return whole, c.have[sharp]
	}
	vw, vh := c.room()
	b := c.eye.Block(f.W, f.H, vw, vh)
	if whole != nil && fc.frame == c.frame {
		c.block = block{fc.frame, b, whole}
	}
	if whole != nil {
		img = parts.CutPart(whole, b, part)
	} else {
		img = c.standIn(f, part)
	}
	if t := c.have[sharp]; t != nil {
		trace = parts.CutPart(t, b, part)
	}
	return img, trace
}

// standIn gives what there is of a part of a frame before its pixels come; nil for nothing.
func (c *closeup) standIn(f present.CloseFrame, part image.Rectangle) *image.RGBA {
	var there, under *image.RGBA
	if c.block.frame == f.Fingerprint {
		there = parts.CutPart(c.block.img, c.block.part, part)
	}
	if whole := c.have[c.whole(f)]; whole != nil {
		kx, ky := float64(whole.Rect.Dx())/float64(f.W), float64(whole.Rect.Dy())/float64(f.H)
		under = parts.Under(whole, [6]float64{kx, 0, kx * float64(part.Min.X), 0, ky, ky * float64(part.Min.Y)}, part.Dx(), part.Dy())
	}
	if there == nil || under == nil {
		return cmp.Or(there, under)
	}
	draw.Draw(under, under.Rect, there, image.Point{}, draw.Over)
	return under
}

// describe puts what is shown into words, and reports whether they have changed.
func (c *closeup) describe(s present.Sight, shown face) bool {
	if c.held != nil {
		s.Held, s.Same = words.CloseProof, *c.held == face{c.frame, c.proof}
		if !c.held.proof {
			s.Held = c.about.Frames[c.about.Index(c.held.frame)].Heading
		}
	}
	heads := []place.Span{{Text: s.Frame.Heading, Role: look.Name, Strong: true}}
	if s.Proof {
		heads[0].Text = words.Proof
	}
	if s.Held != "" && !s.Same {
		// Which of the two is shown stands beside them: nothing large changes.
		held := place.Span{Text: s.Held, Role: look.Name, Strong: shown == *c.held, Faint: shown != *c.held}
		heads[0].Strong, heads[0].Faint = !held.Strong, held.Strong
		heads = append([]place.Span{held}, heads...)
	}
	lines := c.about.Lines(s)
	if _, _, g := place.Grid(c.body); g.Column == 0 {
		for _, l := range lines {
			heads = append(heads, place.Span{Text: l, Role: look.Base})
		}
		c.caption.Set(heads)
	} else {
		var out [][]place.Span
		for _, h := range heads {
			out = append(out, []place.Span{h})
		}
		for _, l := range lines {
			out = append(out, place.Line(l, look.Base))
		}
		c.caption.Set(out...)
	}
	said := c.about.Sentence(s)
	changed := said.Headline != c.sheet.said.Headline || said.WhatToDo != c.sheet.said.WhatToDo
	c.sheet.said, c.sheet.actions = said, c.actions()
	return changed
}

func (c *closeup) actions() []place.Action {
	either := func(on bool, yes, no string) string {
		if on {
			return yes
		}
		return no
	}
	pan := func(dx, dy float64) func() { return func() { c.pan(dx, dy) } }
	proof := place.InMargin(place.Does(either(c.proof, words.CloseShowFrame, words.CloseShowProof), c.proofOrNot, "P", "G"))
	proof.Off = c.about.Proof.Key == ""
	// All of it is under the left hand. A narrow window lists the last ones.
	out := []place.Action{
		place.InMargin(place.Does(either(c.clip, words.CloseClipOff, words.CloseClip), c.clipOrNot, "C")),
		place.InMargin(place.Does(either(c.trace && !c.proof, words.SharpPartsOff, words.SharpParts), c.traceOrNot, "T")),
		proof,
		place.InMargin(place.Does(words.CloseMove, nil, "W A S F")),
		place.InMargin(place.Does(either(c.held != nil, words.CloseSteady, words.CloseFlicker), c.flickerOrNot, "E")),
		place.InMargin(c.asideAction()),
		place.InMargin(place.Does(words.CloseFrames, nil, "V", "B")),
		place.Does(words.CloseStepKey, nil, place.KeyLeft, place.KeyRight),
		place.Does(words.CloseMoveKey, nil, "Shift ←→↑↓"),
		place.Does("", pan(0, -1), "W"), place.Does("", pan(-1, 0), "A"), place.Does("", pan(0, 1), "S"), place.Does("", pan(1, 0), "F"),
		place.Does("", func() { c.step(-1) }, "V"), place.Does("", func() { c.step(1) }, "B"),
		place.Does("", func() { c.arrow(-1, 0) }, place.KeyLeft), place.Does("", func() { c.arrow(1, 0) }, place.KeyRight),
		place.Does("", func() { c.arrow(0, -1) }, place.KeyUp), place.Does("", func() { c.arrow(0, 1) }, place.KeyDown),
	}
	zoom := place.InMargin(place.Does(present.ZoomWord(c.eye.Zoom), c.zoomNext, "Z"))
	zoom.Strong = true
	return append(out, place.Does(fmt.Sprintf(words.CloseAlsoF, zoom.Word), c.zoomNext, place.KeySpace, "Y"), zoom, place.InMargin(place.Does(words.Back, c.leave, place.KeyEscape)))
}

// asideAction sets the frame stepped to aside, by the key that does so in Stacks, or puts it back.
func (c *closeup) asideAction() place.Action {
	f := c.now()
	word, kind, said := words.CloseAside, session.EditSetAside, words.AsideDoneF
	if f.SetAside {
		word, kind, said = words.PutBack, session.EditPutBack, words.AsideBackF
	}
	a := place.Does(word, func() {
		if !c.may() {
			return // held down it would come and go
		}
		c.w.run(func(ctx context.Context, d place.Desk) error {
			return d.Edit(ctx, session.Edit{Kind: kind, Frame: f.Fingerprint})
		})
		c.w.tell(fmt.Sprintf(said, f.Heading))
	}, "X")
	a.Off = c.proof
	return a
}

// arrow steps to the frame before or after; with Shift, and up and down, it moves the view.
func (c *closeup) arrow(dx, dy int) {
	d, ok := fyne.CurrentApp().Driver().(desktop.Driver)
	if dy != 0 || ok && d.CurrentKeyModifiers()&fyne.KeyModifierShift != 0 {
		c.pan(float64(dx), float64(dy))
		return
	}
	c.step(dx)
}

// step goes on by so many frames; the spot stays.
func (c *closeup) step(by int) {
	c.follow()
	i := min(max(c.about.Index(c.frame)+by, 0), len(c.about.Frames)-1)
	c.frame, c.ahead, c.turned = c.about.Frames[i].Fingerprint, by, false
	c.changes()
}

// pan moves the view by a share of what is in view.
func (c *closeup) pan(dx, dy float64) {
	s := c.seen(c.now())
	c.move(int(dx*panShare*float64(s.Dx())), int(dy*panShare*float64(s.Dy())))
}

// move moves the view by pixels of the picture.
func (c *closeup) move(dx, dy int) {
	f := c.now()
	if c.zoom(f) == present.ZoomWhole {
		return
	}
	vw, vh := c.room()
	c.eye = c.eye.Moved(dx, dy, f.W, f.H, vw, vh)
	c.changes()
}

// dragged moves the picture with the pointer.
func (c *closeup) dragged(dx, dy float32) {
	z := float32(max(c.eye.Zoom, 1))
	c.drag[0], c.drag[1] = c.drag[0]-dx/z, c.drag[1]-dy/z
	x, y := int(c.drag[0]), int(c.drag[1])
	c.drag[0], c.drag[1] = c.drag[0]-float32(x), c.drag[1]-float32(y)
	if x != 0 || y != 0 {
		c.move(x, y)
	}
}

// clicked enlarges the whole picture at the point that was clicked.
func (c *closeup) clicked(x, y float64) {
	if c.eye.Zoom == present.ZoomWhole {
		c.zoomTo(present.ZoomOne, x, y)
	}
}

func (c *closeup) wheeled(in bool, x, y float64) {
	z := c.eye.Zoom - 1
	if in {
		z = c.eye.Zoom + 1
	}
	if z >= present.ZoomWhole && z <= present.ZoomTwo {
		c.zoomTo(z, x, y)
	}
}

// zoomNext changes the zoom round the spot.
func (c *closeup) zoomNext() {
	if c.may() {
		c.eye.Zoom = c.eye.Zoom.Next()
		c.zoomed()
	}
}

// zoomTo changes the zoom round a point of what is in view.
func (c *closeup) zoomTo(z present.Zoom, x, y float64) {
	if c.may() {
		f := c.now()
		vw, vh := c.room()
		c.eye = c.eye.Zoomed(z, x, y, f.W, f.H, vw, vh)
		c.zoomed()
	}
}

func (c *closeup) zoomed() {
	if f := c.now(); f.W <= 0 || f.H <= 0 {
		c.eye.Zoom = present.ZoomWhole
		c.w.tell(words.CloseSizeNone)
		return
	}
	c.drag = [2]float32{}
	c.changes()
}

// may tells whether the whole picture may be changed by a key again.
func (c *closeup) may() bool {
	now := c.w.o.Now()
	if d := now.Sub(c.changed); d >= 0 && d < leastTurn {
		return false
	}
	c.changed = now
	return true
}

// proofOrNot shows the proof in place of the frame, or the frame again.
func (c *closeup) proofOrNot() {
	if c.about.Proof.Key == "" || !c.may() {
		return
	}
	c.proof, c.turned = !c.proof, false
	c.changes()
}

func (c *closeup) clipOrNot() {
	if c.may() {
		c.clip = !c.clip
		c.changes()
	}
}

func (c *closeup) traceOrNot() {
	if c.may() {
		c.trace = !c.trace || c.proof
		c.proof = false // what is sharp is a frame's
		c.changes()
	}
}

// flickerOrNot holds what is shown, to be compared in turn with the frame stepped to; or ends
// that.
func (c *closeup) flickerOrNot() {
	switch {
	case !c.may():
		return
	case c.held != nil:
		c.steady()
	case len(c.about.Frames) < 2 && !c.proof:
		c.w.tell(words.CloseOnlyOne)
		return
	default:
		c.held = &face{c.frame, c.proof}
		c.proof = false // the proof is compared with the frame at once
		ctx, stop := context.WithCancel(c.w.ctx)
		c.stop = stop
		c.turning.Go(func() { c.turns(ctx) })
	}
	c.changes()
}

// steady ends the comparison.
func (c *closeup) steady() {
	if c.stop != nil {
		c.stop()
	}
	c.stop, c.held, c.turned = nil, nil, false
}

// turns has the two pictures turned until it is stopped.
func (c *closeup) turns(ctx context.Context) {
	t := time.NewTicker(flickerEvery)
	defer t.Stop()
	for {
		select {
		case <-t.C:
			c.w.do(func() {
				if ctx.Err() == nil {
					c.turn()
				}
			})
		case <-ctx.Done():
			return
		}
	}
}

// turn shows the other of the two pictures that are compared, where both are at hand.
func (c *closeup) turn() {
	if !c.on() {
		c.steady() // another place or sheet is shown
		return
	}
	all := c.faces()
	if len(all) < 2 {
		return
	}
	for _, fc := range all {
		if c.have[c.wantOf(fc, c.frameOf(fc))] == nil {
			return
		}
	}
	c.turned = !c.turned
	c.draw()
}

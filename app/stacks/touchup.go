package stacks

import (
	"context"
	"fmt"
	"image"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session/desk"
)

// touchUp shows the proof of the opened stack alone and large: an outline is drawn on it, and a
// frame chosen that the picture inside is taken from.
type touchUp struct {
	h  *place.Host
	on bool

	row   present.Row
	about present.Touching
	from  string // fingerprint of the frame that lends its picture
	// kept is how many touch-ups the stack has with the one kept last, until the proof shows
	// it; 0 when none is waited for. Counted tells that a snapshot had as many.
	kept    int
	counted bool

	asked [3]pictures.Want // the proof, the frame on it, the frame at the outline
	shots *pictures.Scope

	body       *fyne.Container
	heading    *place.Label
	view       *parts.FrameView
	there      *parts.FrameView
	thereName  *place.Label
	made       *place.Label
	ribbon     *place.Ribbon
	ribbonName *place.Label
	end        func(from string) // the stack is shown again
}

func newTouchUp(h *place.Host, end func(from string)) *touchUp {
	t := &touchUp{
		h: h, end: end, shots: h.Pictures.Scope(), heading: place.NewLabel(), view: parts.NewFrameView(),
		there: parts.NewFrameView(), thereName: place.NewLabel(), made: place.NewLabel(),
		ribbon: place.NewRibbon(parts.RibbonOpened), ribbonName: place.NewLabel(),
	}
	t.view.Soft = present.TouchSoft
	t.view.OnTry, t.view.OnWanted, t.view.OnCancel = t.tried, t.keep, t.leave
	t.view.OnKey, t.view.OnRune = h.Key, h.Rune
	t.ribbon.OnFrame = t.take
	t.body = container.New(place.Layout(t.arrange), t.heading, t.view, t.there, t.thereName, t.made, t.ribbon.Drawing, t.ribbonName)
	t.body.Hide()
	return t
}

// begin touches up a stack, with a frame of it suggested and its keys beginning at a spot, in
// shares of the picture.
func (t *touchUp) begin(s *desk.Snapshot, r present.Row, frame string, x, y float64) {
	about, ok := present.TouchingOf(s, r)
	if !ok {
		t.h.Tell(words.NoProofYet)
		return
	}
	t.on, t.about, t.kept = true, about, 0
	t.from = about.Frames[about.Suggest(frame)].Fingerprint
	t.view.Picture, t.view.Inside, t.view.Wanted, t.there.Picture = nil, nil, nil, nil
	t.startAt(x, y)
	t.view.Draw, t.view.Free = true, true
	t.view.Empty, t.there.Empty = words.PictureComing, words.PictureComing
	t.asked = [3]pictures.Want{}
	t.body.Show()
	t.set(s, r)
}

// startAt has the keys begin with a small rectangle about a spot.
func (t *touchUp) startAt(x, y float64) {
	const half = 0.06
	x, y = min(max(x, half), 1-half), min(max(y, half), 1-half)
	t.view.Start = &parts.Area{X0: x - half, Y0: y - half, X1: x + half, Y1: y + half}
}

// set takes in the stack as it is now.
func (t *touchUp) set(s *desk.Snapshot, r present.Row) {
	t.row = r
	if about, ok := present.TouchingOf(s, r); ok { // else the last whole proof goes on being shown
		t.about = about
		t.from = about.Frames[about.Suggest(t.from)].Fingerprint
	}
	if t.kept > 0 {
		enough := len(s.Touches[r.GroupID]) >= t.kept
		if t.counted && !enough {
			t.none() // taken back before the proof showed it
		}
		t.counted = enough
	}
	t.show()
}

// frame is the one that lends its picture.
func (t *touchUp) frame() present.RowFrame { return t.about.Frames[t.about.Suggest(t.from)] }

// drawn: there is an outline, and it was not kept already.
func (t *touchUp) drawn() bool { return len(t.view.Wanted) >= 3 && t.kept == 0 }

// none takes the outline away.
func (t *touchUp) none() { t.view.Wanted, t.kept, t.counted = nil, 0, false }

// show draws everything anew.
func (t *touchUp) show() {
	f := t.frame()
	t.heading.Set([]place.Span{
		{Text: t.row.Name, Role: look.Heading}, {Text: words.Proof, Role: look.Input}, {Text: t.about.Note, Role: look.Base, Faint: true},
	})
	t.thereName.Set([]place.Span{{Text: f.Heading, Role: look.Name, Strong: true}, {Text: words.TouchThere, Role: look.Note}})
	var made [][]place.Span
	if n := len(t.about.Made); n > 0 {
		made = append(made, []place.Span{{Text: present.Count(n, words.TouchOne, words.TouchMany), Role: look.Name, Strong: true}})
	}
	for _, line := range t.about.Made {
		made = append(made, place.Line(line, look.Base))
	}
	t.made.Set(made...)
	ribbon := t.row.Ribbon
	ribbon.NearWords, ribbon.FarWords = "", ""
	ribbon.Bars = slices.Clone(ribbon.Bars)
	for i := range ribbon.Bars {
		ribbon.Bars[i].Current = ribbon.Bars[i].Fingerprint == t.from
	}
	t.ribbon.Set(ribbon)
	name := words.InOrder
	if t.about.Measured {
		name = words.NearFar
	}
	t.ribbonName.Set(place.Line(name, look.Base), []place.Span{{Text: fmt.Sprintf(words.OfF, t.about.Suggest(t.from)+1, len(t.about.Frames)), Role: look.Base, Faint: true}})
	t.body.Refresh()
}

func (t *touchUp) arrange(w, h float32, g look.Grid) {
	const head, below, shown = 40, 8, 8 // under the heading, the ribbon and the list's name
	right := w - g.Margin
	width := right - g.ContentX
	high := max(h-head-look.Space16-ribbonHigh-below, 60)
	aspect := wholeAspect
	if p := t.about.Proof; p.W > 0 && p.H > 0 {
		if aspect = float32(p.W) / float32(p.H); p.Turn >= 5 && p.Turn <= 8 {
			aspect = 1 / aspect
		}
	}
	const side = 240 // the least width of what stands beside it
	wide := min(high*aspect, width-side-pictureGap)
	place.Put(t.view, g.ContentX, head, wide, high)
	x := g.ContentX + wide + pictureGap
	crop := min((right-x)/wholeAspect, high*0.6)
	t.thereName.Put(x, 25, right-x)
	t.heading.Put(g.ContentX, 25, wide)
	place.Put(t.there, x, head, right-x, crop)
	t.made.Put(x, head+crop+look.Space24+shown, right-x)
	y := h - ribbonHigh - below
	place.Put(t.ribbon.Drawing, g.ContentX, y, width, ribbonHigh)
	t.ribbonName.Put(g.Margin, y+37, g.Column)
	show(t.ribbonName, g.Column > 0)
	t.load()
}

// load asks for the pictures: the proof last, so that it comes first.
func (t *touchUp) load() {
	if !t.on || t.view.Size().IsZero() {
		return
	}
	k := t.h.Pixels()
	f := t.frame()
	whole := pictures.Want{Proof: t.about.Proof.Key, W: px(t.view.Size().Width, k), H: px(t.view.Size().Height, k)}
	lent := pictures.Want{OnProof: t.about.Lie(f), W: whole.W, H: whole.H}
	crop := pictures.Want{Fingerprint: f.Fingerprint, Crop: true, W: px(t.there.Size().Width, k), H: px(t.there.Size().Height, k)}
	x, y := (t.view.Start.X0+t.view.Start.X1)/2, (t.view.Start.Y0+t.view.Start.Y1)/2
	if len(t.view.Wanted) >= 3 {
		x, y = t.view.Wanted.Middle()
	}
	crop.X, crop.Y = t.about.In(f, x, y)
	asked := [3]pictures.Want{whole, lent, crop}
	if t.asked == asked {
		return
	}
	t.asked = asked
	t.shots.Begin()
	i := t.about.Suggest(t.from)
	for _, n := range []int{i - 1, i + 1} {
		if n >= 0 && n < len(t.about.Frames) {
			next := lent
			next.OnProof = t.about.Lie(t.about.Frames[n])
			t.shots.Want(next, func(*image.RGBA, error) {})
		}
	}
	t.want(crop, t.there, func(img *image.RGBA) { t.there.Picture = img })
	t.want(lent, t.view, func(img *image.RGBA) { t.view.Inside = img })
	t.want(whole, t.view, func(img *image.RGBA) {
		t.view.Picture = img
		if t.kept > 0 && t.about.Proof.Touches >= t.kept {
			t.none() // the proof shows it
			t.h.Say()
		}
	})
}

func (t *touchUp) want(w pictures.Want, v *parts.FrameView, put func(*image.RGBA)) {
	t.shots.Want(w, func(img *image.RGBA, err error) {
		if err != nil {
			v.Empty = words.NoPicture
		}
		put(img)
		v.Refresh()
	})
}

// tried takes in another outline.
func (t *touchUp) tried(parts.Outline) {
	t.kept = 0
	t.load()
	t.h.Tell("") // what was said of the last one is over
}

// take has a frame lend its picture, where it can.
func (t *touchUp) take(fingerprint string) {
	if !slices.ContainsFunc(t.about.Frames, func(f present.RowFrame) bool { return f.Fingerprint == fingerprint }) {
		return
	}
	if t.kept > 0 {
		t.none()
	}
	t.from = fingerprint
	t.show()
	t.load()
	t.h.Tell("")
}

func (t *touchUp) step(by int) {
	if i := t.about.Suggest(t.from) + by; i >= 0 && i < len(t.about.Frames) {
		t.take(t.about.Frames[i].Fingerprint)
	}
}

// keep takes what lies inside the outline from the frame.
func (t *touchUp) keep(o parts.Outline) {
	if !t.drawn() {
		return
	}
	f := t.frame()
	e := t.about.Edit(f, o)
	t.startAt(o.Middle()) // what is touched up next lies near
	t.kept, t.counted = len(t.about.Made)+1, false
	t.h.Run(func(ctx context.Context, d place.Desk) error {
		err := d.Edit(ctx, e)
		if err != nil {
			t.h.Deliver(func() { t.kept = 0 })
		}
		return err
	})
	t.h.Tell(present.TouchKept(f))
}

// leave ends touching up.
func (t *touchUp) leave() {
	if t.on {
		t.stop()
		t.end(t.from)
	}
}

// stop ends it without a word.
func (t *touchUp) stop() {
	if !t.on {
		return
	}
	t.on, t.view.Draw = false, false
	t.view.GiveUp()
	t.shots.Begin()
	t.body.Hide()
	t.h.Focus(nil)
}

// sentence says what to do.
func (t *touchUp) sentence() present.Sentence {
	n, corners := t.view.Corners()
	return t.about.Sentence(t.frame(), t.drawn(), corners && n < 3)
}

// actions are its keys.
func (t *touchUp) actions() []place.Action {
	key := func(n fyne.KeyName) func() { return func() { t.view.TypedKey(&fyne.KeyEvent{Name: n}) } }
	before, after := words.TouchNearer, words.TouchFarther
	if !t.about.Measured {
		before, after = words.TouchBefore, words.TouchAfter
	}
	i := t.about.Suggest(t.from)
	steps := place.DrawSteps(t.view, t.h.Say)
	steps[0].Margin = true // the arrows; what they do with Shift stands on "?"
	none := place.Action{Keys: []place.Key{place.KeyDelete}, Word: words.TouchNoOutline, Do: key(fyne.KeyDelete), Off: !t.drawn()}
	if _, corners := t.view.Corners(); corners {
		none = place.CornerBack(t.view, t.h.Say)
	}
	// In the order in which one does it; a narrow window lists the last ones.
	return append(steps, []place.Action{
		place.OtherForm(t.view, "O", t.h.Say),
		none,
		place.InMargin(place.Does(words.TouchEnd, t.leave, place.KeyEscape, "E")),
		{Keys: []place.Key{"N"}, Word: before, Do: func() { t.step(-1) }, Margin: true, Off: i == 0},
		{Keys: []place.Key{"F"}, Word: after, Do: func() { t.step(1) }, Margin: true, Off: i == len(t.about.Frames)-1},
		{Keys: []place.Key{place.KeyEnter}, Word: words.DrawKeep, Do: t.view.Keep, Margin: true, Strong: true, Off: !t.drawn()},
	}...)
}

// Package stacks is the place where the session is looked through: a row a group, the
// seams between with their reasons, and an opened group with its frames under one
// spot. Seams are pulled away and set here, frames set aside or called markers.
package stacks

import (
	"image"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Place is the place Stacks.
type Place struct {
	h    *place.Host
	view present.Stacks
	snap *desk.Snapshot

	// at is where the focus is. It stays with its group when groups come and go.
	at   stop
	open int64 // the opened group, 0 for none

	choosing question // what is being chosen for the group in focus
	field    *parts.Input

	detail *detail
	touch  *touchUp
	covers *pictures.Scope
	shown  map[int64]*image.RGBA // covers that have come
	rows   map[stop]fyne.CanvasObject
	body   *fyne.Container
	scroll *container.Scroll
	list   *fyne.Container
	high   float32 // of what is in view, in px at scale 1; 0 before it was laid out
}

// question is what the photographer is asked.
type question uint8

const (
	nothing    question = iota
	whatKind            // what the group is
	whichSetup          // under which setup it was shot
)

// stop is what the focus can be at: a group's row, or the seam above it.
type stop struct {
	group int64
	seam  bool
}

// item is a stop and where it lies in the list, in px at scale 1.
type item struct {
	stop
	row    int // index in view.Rows
	top, h float32
}

// New makes the place.
func New(h *place.Host) *Place {
	p := &Place{h: h, snap: &desk.Snapshot{}, covers: h.Pictures.Scope(), shown: map[int64]*image.RGBA{}, rows: map[stop]fyne.CanvasObject{}}
	p.detail = newDetail(h, p)
	p.touch = newTouchUp(h, p.touched)
	p.list = container.New(listLayout{p})
	p.scroll = container.NewVScroll(p.list)
	p.scroll.OnScrolled = func(fyne.Position) { p.fill() }
	p.body = container.New(place.Layout(func(w, h float32, _ look.Grid) {
		was := p.high
		p.high = h
		place.Put(p.scroll, 0, 0, w, h)
		place.Put(p.touch.body, 0, 0, w, h)
		if was != h && (was == 0 || p.inView(was)) {
			p.reveal() // a longer sentence above leaves less room
			return
		}
		p.fill()
	}), p.scroll, p.touch.body)
	return p
}

// Body is the drawing.
func (p *Place) Body() fyne.CanvasObject { return p.body }

// Sentence is the most urgent thing in the session.
func (p *Place) Sentence() present.Sentence {
	switch p.choosing {
	case whatKind:
		return present.Sentence{Mark: present.MarkHold, Headline: words.WhatIsIt, WhatToDo: words.WhatIsItAdvice}
	case whichSetup:
		return present.SetupQuestion(p.snap, p.at.group)
	}
	if p.touch.on {
		return p.touch.sentence()
	}
	if _, on := p.detail.drawing.On(); on {
		return p.detail.drawing.Sentence()
	}
	return p.view.Sentence
}

// KeysBelow: the margin holds the times.
func (p *Place) KeysBelow() bool { return true }

// Leave ends what was begun.
func (p *Place) Leave() {
	p.choosing = nothing
	p.detail.looking = false
	p.detail.drawing.End()
	p.touch.stop()
	p.scroll.Show()
	p.closeField()
}

// Show takes in a snapshot.
func (p *Place) Show(s *desk.Snapshot) {
	p.view, p.snap = present.StacksOf(s), s
	if p.row(p.at.group) == nil && len(p.view.Rows) > 0 {
		// The group in focus is gone, or none was: the last one is the one at work.
		p.at = stop{group: p.view.Rows[len(p.view.Rows)-1].GroupID}
	}
	if p.row(p.open) == nil {
		p.open = 0
		p.detail.drawing.End()
	}
	if r := p.row(p.open); p.touch.on && (r == nil || r.Kind != session.KindStack) {
		p.touch.stop()
		p.scroll.Show()
	} else if p.touch.on {
		p.touch.set(s, *r)
	}
	p.refresh()
}

func (p *Place) row(id int64) *present.Row {
	for i := range p.view.Rows {
		if p.view.Rows[i].GroupID == id {
			return &p.view.Rows[i]
		}
	}
	return nil
}

// refresh draws everything anew.
func (p *Place) refresh() {
	clear(p.rows)
	if r := p.row(p.open); r != nil {
		p.detail.set(*r)
	}
	p.list.Refresh()
	p.scroll.Refresh()
	p.fill()
}

// lineAir is bare ground above and below the words of every row and seam.
const lineAir float32 = 4

// slimHeight is the height of the row of a marker, a test or a single.
const slimHeight float32 = 32

// items lays the list out from the top.
func (p *Place) items() []item {
	var out []item
	y := listTop
	add := func(s stop, row int, h float32) {
		out = append(out, item{s, row, y, h})
		y += h
	}
	for i, r := range p.view.Rows {
		if r.SeamShown {
			add(stop{r.GroupID, true}, i, parts.SeamHeight)
		}
		switch {
		case r.GroupID == p.open:
			add(stop{r.GroupID, false}, i, p.detail.height(p.width()))
		case r.Kind == session.KindStack:
			add(stop{r.GroupID, false}, i, parts.RowHeight)
		default:
			add(stop{r.GroupID, false}, i, slimHeight)
		}
	}
	return out
}

func (p *Place) width() float32 {
	w, _, _ := place.Grid(p.body)
	return w
}

// Bare ground above the first row, for its focus ring, and below the last.
const (
	listTop  float32 = 8
	listFoot float32 = 48
)

// listLayout gives the list its height; fill places what is in view.
type listLayout struct{ p *Place }

func (l listLayout) MinSize([]fyne.CanvasObject) fyne.Size {
	items := l.p.items()
	h := listFoot
	if n := len(items); n > 0 {
		h += items[n-1].top + items[n-1].h
	}
	return fyne.NewSize(1, h*look.Current().Scale)
}

func (l listLayout) Layout([]fyne.CanvasObject, fyne.Size) {}

// fill makes the rows in view, and only those: a session has hundreds of frames. Lines that an edge of the view
// would cut through are left out.
func (p *Place) fill() {
	k := look.Current().Scale
	w, h, _ := place.Grid(p.body)
	if w == 0 {
		return
	}
	from, to := p.scroll.Offset.Y/k, p.scroll.Offset.Y/k+h
	var objects []fyne.CanvasObject
	keep := map[stop]fyne.CanvasObject{}
	p.covers.Begin()
	for _, it := range p.items() {
		switch in := min(it.top+it.h, to) - max(it.top, from); {
		case it.stop == (stop{group: p.open}): // as much of it as there is room for
			if in < 0 {
				continue
			}
		case in < it.h-lineAir:
			continue
		}
		o := p.rows[it.stop]
		if o == nil {
			o = p.make(it)
		}
		keep[it.stop] = o
		place.Put(o, 0, it.top, w, it.h)
		objects = append(objects, o)
		p.wantCover(it)
	}
	p.rows = keep
	if p.field != nil {
		for _, it := range p.items() {
			if it.stop == (stop{p.at.group, false}) {
				x, room := p.nameIn(it.row)
				high, down := p.field.MinSize().Height/k, float32(2)
				if p.at.group != p.open { // in the middle of the row, and in place of all words there
					down = (it.h - high) / 2
					ground := canvas.NewRectangle(look.Ground.Now())
					place.Put(ground, x, it.top, room, it.h)
					objects = append(objects, ground)
				}
				place.Put(p.field, x, it.top+down, room, high)
				objects = append(objects, p.field)
			}
		}
	}
	p.list.Objects = objects
	p.list.Refresh()
	if p.open != 0 {
		p.detail.load()
	}
}

// nameIn is where the name of a row stands, and the room that there is to type it.
func (p *Place) nameIn(row int) (x, room float32) {
	const most = 640 // a name is not longer than that
	w, _, g := place.Grid(p.body)
	switch r := p.view.Rows[row]; {
	case r.GroupID == p.open:
		x = g.ContentX
	case r.Kind == session.KindStack:
		return parts.NameIn(w)
	default:
		x = textIn(g)
	}
	return x, min(most, w-g.Margin-x)
}

// make draws one item.
func (p *Place) make(it item) fyne.CanvasObject {
	r := p.view.Rows[it.row]
	focused := it.stop == p.at
	tap := func() { p.focus(it.stop, true) }
	switch {
	case it.seam:
		s := parts.NewSeam()
		s.Reason = r.Seam.Strongest
		if r.Seam.Others != "" {
			s.More = ", " + r.Seam.Others
		}
		s.Focused, s.KeyWords = focused, words.Join
		s.OnTap = func() { p.focus(it.stop, false) }
		s.OnJoin = p.join
		return s
	case r.GroupID == p.open:
		return p.detail.body
	case r.Kind == session.KindStack:
		row := parts.NewGroupRow()
		row.Time, row.Name, row.Note = r.Time, r.Name, r.About
		d := place.RibbonData(r.Ribbon)
		row.Ribbon = &d
		if r.State != "" && r.Verdict != "" {
			row.Verdict = parts.ShapeOf(r.Verdict)
		}
		row.VerdictWords, row.Outcome = r.State, r.Asks()
		row.Proof = p.shown[r.GroupID]
		row.Focused = focused
		row.OnTap = tap
		return row
	}
	return newSlim(r, focused, tap)
}

// wantCover asks for the picture that stands for a stack.
func (p *Place) wantCover(it item) {
	r := p.view.Rows[it.row]
	if it.seam || r.Kind != session.KindStack || r.GroupID == p.open {
		return
	}
	k := p.h.Pixels() * look.Current().Scale
	want := pictures.Want{Fingerprint: r.Cover, W: int(72 * k), H: int(48 * k)}
	if r.Proof.Key != "" {
		want = pictures.Want{Proof: r.Proof.Key, W: want.W, H: want.H}
	}
	p.covers.Want(want, func(img *image.RGBA, err error) {
		if err != nil || p.shown[r.GroupID] == img {
			return
		}
		p.shown[r.GroupID] = img
		if row, ok := p.rows[it.stop].(*parts.GroupRow); ok {
			row.Proof = img
			row.Refresh()
		}
	})
}

// Open opens a group and brings it into view.
func (p *Place) Open(id int64) {
	if p.row(id) == nil {
		return
	}
	p.at = stop{group: id}
	p.open = id
	p.detail.start(*p.row(id))
	p.refresh()
	p.reveal()
	p.h.Say()
}

// touchUp has the proof of the opened stack touched up.
func (p *Place) touchUp() {
	d := p.detail
	p.touch.begin(p.snap, d.row, d.current, d.x, d.y)
	if p.touch.on {
		p.scroll.Hide()
		p.h.Say()
	}
}

// touched shows the opened stack again, its proof and the frame that was tried last.
func (p *Place) touched(frame string) {
	p.scroll.Show()
	p.detail.current, p.detail.proof = frame, true
	p.refresh()
	p.h.Say()
}

func (p *Place) close() {
	p.open = 0
	p.detail.looking = false
	p.detail.drawing.End()
	p.refresh()
	p.reveal()
	p.h.Say()
}

func (p *Place) openOrClose() {
	switch {
	case p.at.seam, p.at.group != p.open:
		p.Open(p.at.group)
	default:
		p.close()
	}
}

// focus goes to a stop, and opens it when asked to.
func (p *Place) focus(s stop, open bool) {
	p.closeField()
	p.at = s
	if open {
		p.openOrClose()
		return
	}
	p.refresh()
	p.reveal()
	p.h.Say()
}

// move goes on by so many stops, over all of them or only from stack to stack.
func (p *Place) move(by int, stacksOnly bool) {
	items := p.items()
	if stacksOnly {
		items = slices.DeleteFunc(items, func(it item) bool {
			return it.stop != p.at && (it.seam || p.view.Rows[it.row].Kind != session.KindStack)
		})
	}
	i := slices.IndexFunc(items, func(it item) bool { return it.stop == p.at })
	if len(items) == 0 {
		return
	}
	i = max(0, min(i+by, len(items)-1))
	p.focus(items[i].stop, false)
}

// inView tells that the focus is in a view so high, or what of it that can hold.
func (p *Place) inView(high float32) bool {
	y := p.scroll.Offset.Y / look.Current().Scale
	for _, it := range p.items() {
		if it.stop == p.at {
			return it.top >= y-1 && min(it.top+it.h, it.top-parts.SeamHeight+high) <= y+high+1
		}
	}
	return false
}

// reveal scrolls so that the focus is in view, an opened group with its whole height
// where that fits.
func (p *Place) reveal() {
	k := look.Current().Scale
	_, h, _ := place.Grid(p.body)
	for _, it := range p.items() {
		if it.stop != p.at {
			continue
		}
		y := p.scroll.Offset.Y / k
		top, bottom := it.top-parts.SeamHeight, it.top+it.h+look.Space24
		if bottom-top > h {
			top = it.top - listTop // then without the seam above it
		}
		y = min(max(y, bottom-h), max(top, 0))
		if y*k != p.scroll.Offset.Y {
			p.scroll.ScrollToOffset(fyne.NewPos(0, y*k))
		}
	}
	p.fill()
}

package setups

import (
	"context"
	"image"
	"math"

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
)

// days is all that was shot of one subject, in time order, to leaf through: the picture as
// large as the window allows and always in the same box, so that what changed shows.
type days struct {
	p       *Place
	subject string
	list    []present.Day
	at      int
	first   int // row at the top

	root    *fyne.Container
	rows    []*place.Label
	here    *canvas.Rectangle
	count   *place.Label
	plan    *parts.LightPlan
	picture *parts.FrameView
	shots   *pictures.Scope
	asked   pictures.Want

	// framings are those found so far, of the first pictures; what shows is laid by them.
	framings []session.Framing
	// held is what one key flips to and back from; from is where it came from, -1 at first.
	held, from int
	holdMark   *canvas.Rectangle
	stop       func() // ends the laying; nil before it began
}

// overDays opens the series of the subject of the card in focus.
func (p *Place) overDays() {
	subject := p.found[p.at].Subject
	if subject == "" {
		p.h.Tell(words.NoSubject)
		return
	}
	p.note()
	d := &days{
		p: p, subject: subject, here: canvas.NewRectangle(look.Accent.Now()), count: place.NewLabel(),
		plan: parts.NewLightPlan(planSmall), picture: parts.NewFrameView(), shots: p.h.Pictures.Scope(),
		from: -1, holdMark: canvas.NewRectangle(look.Ink2.Now()),
	}
	d.picture.Empty = words.PictureComing
	d.root = container.New(place.Layout(d.arrange))
	now := p.found[p.at].Taken
	p.openLeaf(d)
	fetch(p, d, func(ctx context.Context) ([]session.Shot, error) { return p.h.Log.SubjectOverDays(ctx, subject) },
		func(found []session.Shot) {
			d.list = present.DaysOf(subject, found, p.h.Now())
			for i, s := range found { // begin at the card's own
				if !s.Taken.After(now) {
					d.at = i
				}
			}
			d.goTo(d.at)
			d.lay()
		})
}

// lay finds how the pictures lie on each other, off the UI goroutine; it ends with the leaf.
func (d *days) lay() {
	list := make([]session.PictureFile, len(d.list))
	for i, day := range d.list {
		list[i] = session.PictureFile{Dir: day.Dir, Name: day.File}
	}
	ctx, cancel := context.WithCancel(context.Background())
	d.stop = cancel
	go func() {
		// An error is the context's end, and nobody waits any more.
		_ = d.p.h.Log.LaySeries(ctx, list, func(_ int, f session.Framing) {
			d.p.h.Deliver(func() {
				if d.p.leaf != d {
					return
				}
				d.framings = append(d.framings, f)
				d.load()
				d.p.h.Say()
			})
		})
	}()
}

// close goes back to the cards.
func (d *days) close() {
	if d.stop != nil {
		d.stop()
	}
	d.p.closeLeaf()
}

// flip goes to the held day, and from there back to where it came from.
func (d *days) flip() {
	switch {
	case d.at != d.held:
		d.from = d.at
		d.goTo(d.held)
	case d.from >= 0:
		d.goTo(d.from)
	}
}

// hold makes the day in focus the one that is flipped to.
func (d *days) hold() {
	d.held, d.from = d.at, -1
	d.goTo(d.at)
}

const planSmall float32 = 48

func (d *days) body() fyne.CanvasObject { return d.root }

func (d *days) sentence() present.Sentence {
	if len(d.list) == 0 {
		return present.Sentence{Mark: present.MarkSetups, Headline: present.Capital(d.subject) + ".", WhatToDo: words.NothingShotOf}
	}
	return present.Framed(d.list, d.framings, d.at)
}

func (d *days) actions() []place.Action {
	next := place.InMargin(place.Does(words.DayNext, func() { d.goTo(d.at + 1) }, place.KeyRight))
	before := place.InMargin(place.Does(words.DayBefore, func() { d.goTo(d.at - 1) }, place.KeyLeft))
	next.Off, before.Off = d.at >= len(d.list)-1, d.at == 0
	flip, hold := place.InMargin(place.Does(words.DayFlip, d.flip, "F")), place.InMargin(place.Does(words.DayHold, d.hold, "H"))
	flip.Off, hold.Off = d.at == d.held && d.from < 0, d.at == d.held
	return []place.Action{
		before, next, flip, hold,
		place.Does(words.DayFirst, func() { d.goTo(0) }, place.KeyHome),
		place.Does(words.DayLast, func() { d.goTo(len(d.list) - 1) }, place.KeyEnd),
		place.Does("", next.Do, place.KeyDown, place.KeySpace, place.KeyPageDown),
		place.Does("", before.Do, place.KeyUp, place.KeyPageUp),
		place.InMargin(place.Does(words.BackToCards, d.close, place.KeyEscape)),
	}
}

func (d *days) goTo(i int) {
	d.at = max(0, min(i, len(d.list)-1))
	d.root.Refresh()
	if w, h, g := place.Grid(d.root); w > 0 && h > 0 {
		d.arrange(w, h, g)
		canvas.Refresh(d.root)
	}
	d.p.h.Say()
}

const (
	dayPitch float32 = 30
	dayWide  float32 = 300
)

func (d *days) arrange(w, h float32, g look.Grid) {
	d.root.Objects = nil
	if len(d.list) == 0 {
		return
	}
	k := look.Current().Scale
	left, right := g.ContentX, w-g.Margin
	listFoot := h - 2*planSmall - 48
	fits := max(1, int(listFoot/dayPitch))
	d.first = max(0, min(d.first, d.at, len(d.list)-fits), d.at-fits+1)
	d.rows = nil
	y := look.Space16 + look.Space4
	for i := d.first; i < len(d.list) && i < d.first+fits; i++ {
		role := look.Base
		if i == d.at {
			role = look.Name
			d.here.FillColor = look.Accent.Now()
			place.Put(d.here, max(left-look.Space32, 0), y-13, 20, 14)
			d.root.Objects = append(d.root.Objects, d.here)
		}
		if i == d.held && len(d.list) > 1 {
			d.holdMark.FillColor = look.Ink2.Now()
			place.Put(d.holdMark, left-look.Space8, y-13, 3, 18)
			d.root.Objects = append(d.root.Objects, d.holdMark)
		}
		row := place.NewLabel(place.Line(d.list[i].Name, role))
		row.OnTap = func() { d.goTo(i) }
		row.Put(left, y, dayWide-look.Space16)
		d.rows = append(d.rows, row)
		d.root.Objects = append(d.root.Objects, row)
		y += dayPitch
	}
	d.plan.Lights = d.list[d.at].Lights
	size := d.plan.MinSize()
	place.Put(d.plan, left, h-size.Height/k, size.Width/k, size.Height/k)
	d.plan.Refresh()
	place.Put(d.picture, left+dayWide, 0, right-left-dayWide, h-look.Space8)
	d.root.Objects = append(d.root.Objects, d.plan, d.picture)
	if g.Column > 0 {
		d.count.Set(place.Line(present.OfAll(d.at+1, len(d.list)), look.Base))
		d.count.Put(g.Margin, look.Space16+look.Space4, g.Column)
		d.root.Objects = append(d.root.Objects, d.count)
	}
	d.load()
}

// load asks for the picture, and for those beside it so that leafing does not wait.
func (d *days) load() {
	k := d.p.h.Pixels()
	size := d.picture.Size()
	w, h := int(math.Round(float64(size.Width*k))), int(math.Round(float64(size.Height*k)))
	want := func(i int) pictures.Want {
		out := pictures.Want{Dir: d.list[i].Dir, Name: d.list[i].File, W: w, H: h}
		if i < len(d.framings) {
			out.Laid = d.framings[i].Laid
		}
		return out
	}
	now := want(d.at)
	if now == d.asked {
		return
	}
	d.asked = now
	d.shots.Begin()
	for _, i := range []int{d.from, d.held, d.at - 1, d.at + 1} {
		if i >= 0 && i != d.at && i < len(d.list) && d.list[i].File != "" {
			d.shots.Want(want(i), func(*image.RGBA, error) {})
		}
	}
	if now.Name == "" {
		d.picture.Picture, d.picture.Empty = nil, words.NoPicture
		d.picture.Refresh()
		return
	}
	d.shots.Want(now, func(img *image.RGBA, err error) {
		if err != nil {
			d.picture.Empty = words.NoPicture
		}
		d.picture.Picture = img
		d.picture.Refresh()
	})
}

package plan

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// measure is the sheet on which the magnification is measured: a frame of a ruler, two
// marks on it, and how far apart they are.
type measure struct {
	p    *Place
	open bool
	shot string // fingerprint of the frame
	// marks are in shares of the upright picture; at is where the next one goes.
	marks []point
	at    point
	fine  bool

	body  *fyne.Container
	frame *parts.FrameView
	over  *drawing
	name  *place.Label
	apart *parts.Input
	shots *pictures.Scope
}

func newMeasure(p *Place) *measure {
	m := &measure{p: p, frame: parts.NewFrameView(), name: place.NewLabel(place.Line(words.MeasureApart, look.Base)), apart: parts.NewInput(look.Typed, "10 mm", ""), shots: p.h.Pictures.Scope()}
	m.over = newDrawing(m.drawMarks)
	m.over.onTap = m.clicked
	m.apart.Entry.OnChanged = func(string) { p.h.Say() }
	m.apart.Entry.OnEnter = func(string) {
		if v := m.magnification(); v > 0 {
			m.keep()
			return
		}
		p.h.Focus(nil)
	}
	m.apart.Entry.OnEscape = func() { p.h.Focus(nil) }
	m.apart.Entry.OnFocus = func(bool) { p.h.Say() }
	m.body = container.New(place.Layout(m.arrange), m.frame, m.over, m.name, m.apart)
	return m
}

// start opens the sheet on the newest frame.
func (m *measure) start() {
	if len(m.p.snap.Frames) == 0 {
		m.p.h.Tell(words.MeasureNone)
		return
	}
	m.open, m.marks, m.at = true, nil, point{0.5, 0.5}
	m.shot = m.p.snap.Newest
	if _, ok := m.p.snap.Frame(m.shot); !ok {
		m.shot = m.p.snap.Frames[len(m.p.snap.Frames)-1].Fingerprint
	}
	m.p.planning.Hide()
	m.body.Show()
	m.load()
	m.p.h.Say()
}

func (m *measure) close() {
	if !m.open {
		return
	}
	m.open = false
	m.shots.Begin()
	m.frame.Picture = nil
	m.body.Hide()
	m.p.planning.Show()
}

// show takes in a new snapshot: the frame stays as long as there is one.
func (m *measure) show() {
	if _, ok := m.p.snap.Frame(m.shot); m.open && !ok {
		m.close()
	}
}

// step goes to another frame.
func (m *measure) step(by int) {
	frames := m.p.snap.Frames
	i := slices.IndexFunc(frames, func(f session.Frame) bool { return f.Fingerprint == m.shot }) + by
	if i < 0 || i >= len(frames) {
		return
	}
	m.shot, m.marks = frames[i].Fingerprint, nil
	m.frame.Picture = nil
	m.load()
	m.p.h.Say()
}

func (m *measure) load() {
	m.frame.Empty = words.PictureComing
	m.frame.Refresh()
	size, k := m.frame.Size(), m.p.h.Pixels()
	shot := m.shot
	m.shots.Begin()
	m.shots.Want(pictures.Want{Fingerprint: shot, W: int(size.Width * k), H: int(size.Height * k)}, func(img *image.RGBA, err error) {
		if err != nil {
			m.frame.Empty = words.NoPicture
		}
		m.frame.Picture = img
		m.frame.Refresh()
		m.over.Refresh()
	})
}

// box is where the picture lies in the view, in px at scale 1.
func (m *measure) box() (x, y, w, h float32) {
	k := look.Current().Scale
	vw, vh := m.frame.Size().Width/k, m.frame.Size().Height/k
	if m.frame.Picture == nil {
		return 0, 0, vw, vh
	}
	pw, ph := float32(m.frame.Picture.Rect.Dx()), float32(m.frame.Picture.Rect.Dy())
	s := min(vw/pw, vh/ph)
	return (vw - pw*s) / 2, 0, pw * s, ph * s
}

func (m *measure) clicked(x, y float32) {
	bx, by, bw, bh := m.box()
	at := point{(x - bx) / bw, (y - by) / bh}
	if m.frame.Picture == nil || at.x < 0 || at.x > 1 || at.y < 0 || at.y > 1 {
		return
	}
	m.at = at
	m.mark()
}

// mark sets a mark; after the second the length is asked for, and a third begins anew.
func (m *measure) mark() {
	if len(m.marks) == 2 {
		m.marks = nil
	}
	m.marks = append(m.marks, m.at)
	m.over.Refresh()
	m.p.h.Say()
	if len(m.marks) == 2 {
		m.p.h.Focus(m.apart.Entry)
	}
}

// move moves the cross by a step in px on screen.
func (m *measure) move(dx, dy float32) {
	_, _, w, h := m.box()
	step := float32(24)
	if m.fine {
		step = 1
	}
	m.at = point{min(max(m.at.x+dx*step/w, 0), 1), min(max(m.at.y+dy*step/h, 0), 1)}
	m.over.Refresh()
}

// magnification is what was measured, NaN as long as something is missing.
func (m *measure) magnification() float64 {
	if len(m.marks) < 2 || m.frame.Picture == nil {
		return math.NaN()
	}
	w, h := float64(m.frame.Picture.Rect.Dx()), float64(m.frame.Picture.Rect.Dy())
	dx, dy := float64(m.marks[1].x-m.marks[0].x)*w, float64(m.marks[1].y-m.marks[0].y)*h
	return present.MeasuredMagnification(m.p.asked, math.Hypot(dx, dy), max(w, h), m.apart.Entry.Text)
}

func (m *measure) sentence() present.Sentence {
	s := present.Sentence{Mark: present.MarkPlan, WhatToDo: words.MeasureAdvice, Headline: words.MeasureFirst}
	switch v := m.magnification(); {
	case v > 0:
		s.Headline = fmt.Sprintf(words.MeasureIsF, present.PlainMagnification(v))
		s.WhatToDo = fmt.Sprintf(words.MeasureKeepF, present.FieldWidthAt(m.p.asked, v))
	case len(m.marks) == 2 && m.apart.Entry.Text != "":
		s.Headline = words.MeasureLength
		s.WhatToDo = fmt.Sprintf(words.MeasureNoSizeF, m.apart.Entry.Text)
	case len(m.marks) == 2:
		s.Headline = words.MeasureLength
	case len(m.marks) == 1:
		s.Headline = words.MeasureSecond
	}
	return s
}

func (m *measure) actions() []place.Action {
	fine := words.MeasureFine
	if m.fine {
		fine = words.MeasureCoarse
	}
	out := []place.Action{
		place.InMargin(place.Does(words.MeasureMove, nil, place.KeyLeft, place.KeyRight, place.KeyUp, place.KeyDown)),
		place.Does("", func() { m.move(-1, 0) }, place.KeyLeft),
		place.Does("", func() { m.move(1, 0) }, place.KeyRight),
		place.Does("", func() { m.move(0, -1) }, place.KeyUp),
		place.Does("", func() { m.move(0, 1) }, place.KeyDown),
		place.InMargin(place.Does(words.MeasureMark, m.mark, place.KeySpace)),
		place.InMargin(place.Does(fine, func() { m.fine = !m.fine; m.p.h.Say() }, "S")),
		place.InMargin(place.Does(words.MeasureOther, nil, place.KeyPageUp, place.KeyPageDown)),
		place.Does("", func() { m.step(-1) }, place.KeyPageUp),
		place.Does("", func() { m.step(1) }, place.KeyPageDown),
		place.Does(words.MeasureApart, func() { m.p.h.Focus(m.apart.Entry) }, "F"),
		place.InMargin(place.Does(words.Back, func() { m.close(); m.p.refresh(); m.p.h.Say() }, place.KeyEscape)),
	}
	if m.magnification() > 0 {
		keep := place.InMargin(place.Does(words.MeasureKeep, m.keep, place.KeyEnter))
		keep.Strong = true
		out = append(out, keep)
	}
	return out
}

func (m *measure) keep() {
	v := m.magnification()
	m.p.h.Focus(nil)
	m.close()
	m.p.keepMagnification(v)
}

func (m *measure) arrange(w, h float32, g look.Grid) {
	right := w - g.Margin
	x := g.ContentX
	place.Put(m.frame, x, 0, right-x, h-56)
	place.Put(m.over, x, 0, right-x, h-56)
	m.name.Put(x, h-14, 170)
	place.Put(m.apart, x+180, h-36, 200, m.apart.MinSize().Height/look.Current().Scale)
	if m.open {
		m.load()
	}
}

// drawMarks draws the marks, the line between them, and the cross that the keys move,
// on black so that they show on any picture.
func (m *measure) drawMarks(p *pen, _, _ float32) {
	if m.frame.Picture == nil {
		return
	}
	bx, by, bw, bh := m.box()
	on := func(s point) point { return point{bx + s.x*bw, by + s.y*bh} }
	cross := func(at point, c look.Colour) {
		const arm, hole = 16, 4
		for _, d := range []point{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			a, b := point{at.x + d.x*hole, at.y + d.y*hole}, point{at.x + d.x*arm, at.y + d.y*arm}
			p.box(min(a.x, b.x)-2, min(a.y, b.y)-2, abs(a.x-b.x)+4, abs(a.y-b.y)+4, 0, 0, black, black)
			p.fill(min(a.x, b.x)-0.8, min(a.y, b.y)-0.8, abs(a.x-b.x)+1.6, abs(a.y-b.y)+1.6, 0, c)
		}
	}
	if len(m.marks) == 2 {
		p.dashed([]point{on(m.marks[0]), on(m.marks[1])}, 10, 6, 1.6, look.Ink1)
	}
	for _, mark := range m.marks {
		cross(on(mark), look.Ink1)
	}
	if len(m.marks) < 2 {
		cross(on(m.at), look.Accent)
	}
}

var black = color.NRGBA{A: 0xFF}

func abs(v float32) float32 { return max(v, -v) }

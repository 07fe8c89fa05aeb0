package parts

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// Sentence is what every place opens with, in the same spot and at the same size: a
// shape, the answer, what to do about it. Its left edge is the content's.
type Sentence struct {
	widget.BaseWidget

	Shape  Shape
	Number string         // the frame's number, in ShapeAgain and ShapeFrame
	Cells  []session.Cell // the directions marked in ShapeWheel
	// Headline is read from two metres; it steps down in size, then wraps, but is
	// never smaller than 38 px. WhatToDo stands under it, and wraps.
	Headline, WhatToDo string
	// Narrow draws it for a small window.
	Narrow bool
}

// NewSentence makes an empty sentence.
func NewSentence() *Sentence {
	s := &Sentence{}
	s.ExtendBaseWidget(s)
	return s
}

// HeightFor gives the height that the sentence needs when it is so wide, both in
// Fyne's units: the height of the band as a rule, more when a line must wrap.
func (s *Sentence) HeightFor(width float32) float32 {
	scale := look.Current().Scale
	return s.set(width/scale).height * scale
}

// CreateRenderer draws the sentence.
func (s *Sentence) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Sentence) least() (w, h float32) {
	width := s.Size().Width / look.Current().Scale
	if width == 0 {
		return 400, s.band()
	}
	return 400, s.set(width).height
}

func (s *Sentence) band() float32 {
	if s.Narrow {
		return look.Narrow.SentenceH
	}
	return look.Wide.SentenceH
}

// setting is how a sentence is broken into lines.
type setting struct {
	side, x        float32 // of the shape; where the words begin
	head, todo     style
	headAt, todoAt float32 // first base lines
	headStep       float32
	todoStep       float32
	heads, todos   []string
	height         float32
}

func (s *Sentence) set(width float32) setting {
	t := setting{side: shapeBox, x: 116, head: of(look.Verdict), todo: of(look.WhatToDo), headAt: 50, headStep: 44, todoStep: 34}
	steps := look.VerdictSteps
	below := float32(38) // from the last base line of the headline to what to do
	if s.Narrow {
		t.side, t.x, t.todo.px, t.headAt, t.todoStep = 76, 98, 22, 42, 29
		steps, below = steps[1:], 34
	}
	room := width - t.x
	for _, px := range steps {
		t.head.px = px
		if textWidth(s.Headline, t.head) <= room {
			break
		}
	}
	t.heads = balanced(s.Headline, t.head, room)
	if len(t.heads) > 1 {
		t.headAt = 36
	}
	t.todos = balanced(s.WhatToDo, t.todo, room)
	lines := float32(max(len(t.heads)-1, 0))
	t.todoAt = t.headAt + lines*t.headStep + below
	t.height = s.band()
	if n := len(t.todos); n > 0 {
		t.height = max(t.height, t.todoAt+float32(n-1)*t.todoStep+14)
	}
	return t
}

func (s *Sentence) draw(p *pen, w, _ float32) {
	t := s.set(w)
	p.shape(0, 0, t.side, s.Shape, s.Shape.colour(), s.Number, s.Cells)
	for i, line := range t.heads {
		p.text(t.x, t.headAt+float32(i)*t.headStep, line, t.head, left)
	}
	for i, line := range t.todos {
		p.text(t.x, t.todoAt+float32(i)*t.todoStep, line, t.todo, left)
	}
}

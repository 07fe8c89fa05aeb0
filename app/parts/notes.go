package parts

import (
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Line is a thing by its name and a sentence about it.
type Line struct {
	Name, Text string
	// Key stands on a cap beside the name where a key changes the thing, and a click on the line
	// does the same by OnTap.
	Key   string
	OnTap func()
	// Shape stands before its first line; where one line has one, all are set in.
	Shape Shape
	// Bar draws how far it has come below the name, and Share is that, from 0 to 1.
	Bar   bool
	Share float32
}

// Lines lists things and sentences under each other: the name in bold, its sentence
// below, wrapped.
type Lines struct {
	widget.BaseWidget
	Items []Line

	hover int // index of the line under the pointer that can be clicked, plus one
}

var (
	_ fyne.Tappable     = (*Lines)(nil)
	_ desktop.Hoverable = (*Lines)(nil)
)

// NewLines makes the list.
func NewLines(items []Line) *Lines {
	w := &Lines{Items: items}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the list.
func (s *Lines) CreateRenderer() fyne.WidgetRenderer { return render(s) }

// linesWide is the measure of a line that is still read with ease.
const linesWide float32 = 760

// linesIn is how far the words are set in beside shapes.
const linesIn float32 = 32

// in is how far the words are set in.
func (s *Lines) in() float32 {
	if slices.ContainsFunc(s.Items, func(l Line) bool { return l.Shape != ShapeNone }) {
		return linesIn
	}
	return 0
}

// each calls f with every line of text, which item it is of, whether it is its name, and its base
// line, and gives the height. What is set in is not part of the width.
func (s *Lines) each(width float32, f func(i int, name bool, base float32, text string)) float32 {
	width -= s.in()
	base := float32(17)
	for i, item := range s.Items {
		if i > 0 {
			base += look.Space12
		}
		if item.Name != "" {
			room := width
			if item.Key != "" {
				room -= capWidth(item.Key) + look.Space12
			}
			f(i, true, base, shorten(item.Name, of(look.Name), room))
			base += look.LineStep
		}
		if item.Bar {
			base += look.Space8
		}
		for _, line := range wrap(item.Text, of(look.Base), min(width, linesWide)) {
			f(i, false, base, line)
			base += look.LineStep
		}
	}
	return base - look.LineStep + 6
}

func (s *Lines) least() (w, h float32) {
	width := s.Size().Width / look.Current().Scale
	if width == 0 {
		width = linesWide
	}
	return 200, max(0, s.each(width, func(int, bool, float32, string) {}))
}

func (s *Lines) draw(p *pen, w, _ float32) {
	before := -1
	s.each(w, func(i int, name bool, base float32, text string) {
		first := i != before
		before = i
		st := of(look.Base)
		if name {
			st = of(look.Name)
		}
		if i == s.hover-1 {
			st = st.in(look.Ink1)
		}
		in, item := s.in(), s.Items[i]
		p.text(in, base, text, st, left)
		if first && item.Shape == ShapeNotice {
			p.warning(9, base-16, 11, 2)
		} else if first {
			p.shape(0, base-15, 18, item.Shape, look.Ink2, "", nil)
		}
		if !name {
			return
		}
		if item.Key != "" {
			p.cap(in+textWidth(text, st)+look.Space12, base-16, item.Key)
		}
		if item.Bar {
			wide := min(w-in, linesWide)
			p.fill(in, base+10, wide, 4, 0, look.Line)
			p.fill(in, base+10, wide*min(max(item.Share, 0), 1), 4, 0, look.Ink1)
		}
	})
}

// itemAt gives the index of the item at a position that can be clicked, -1 for none.
func (s *Lines) itemAt(pos fyne.Position) int {
	_, y := at(pos)
	found := -1
	s.each(s.Size().Width/look.Current().Scale, func(i int, _ bool, base float32, _ string) {
		if s.Items[i].OnTap != nil && y >= base-look.LineStep+6 && y < base+6 {
			found = i
		}
	})
	return found
}

// Tapped does what the line's key does.
func (s *Lines) Tapped(e *fyne.PointEvent) {
	if i := s.itemAt(e.Position); i >= 0 {
		s.Items[i].OnTap()
	}
}

// MouseIn is part of desktop.Hoverable.
func (s *Lines) MouseIn(e *desktop.MouseEvent) { s.MouseMoved(e) }

// MouseMoved brightens the line under the pointer that can be clicked.
func (s *Lines) MouseMoved(e *desktop.MouseEvent) { s.light(s.itemAt(e.Position)) }

// MouseOut is part of desktop.Hoverable.
func (s *Lines) MouseOut() { s.light(-1) }

func (s *Lines) light(i int) {
	if s.hover != i+1 {
		s.hover = i + 1
		s.Refresh()
	}
}

// Caution is a warning in place: a triangle and a sentence of one breath.
type Caution struct {
	widget.BaseWidget
	Words string
}

// NewCaution makes a caution.
func NewCaution(words string) *Caution {
	w := &Caution{Words: words}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the caution.
func (s *Caution) CreateRenderer() fyne.WidgetRenderer { return render(s) }

const (
	cautionText float32 = 43 // from the triangle's edge to the words
	cautionStep float32 = 21
)

// HeightFor gives the height, in Fyne's units, that the caution needs when it is so
// wide.
func (s *Caution) HeightFor(width float32) float32 {
	scale := look.Current().Scale
	return s.height(width/scale) * scale
}

func (s *Caution) height(width float32) float32 {
	return max(28, 8+cautionStep*float32(len(wrap(s.Words, s.style(), width-cautionText))))
}

func (s *Caution) style() style { return of(look.Note).in(look.Ink2) }

func (s *Caution) least() (w, h float32) {
	width := s.Size().Width / look.Current().Scale
	if width == 0 {
		width = 340
	}
	return 200, s.height(width)
}

func (s *Caution) draw(p *pen, w, _ float32) {
	if s.Words == "" {
		return
	}
	p.caution(0, 1)
	for i, line := range wrap(s.Words, s.style(), w-cautionText) {
		p.text(cautionText, 16+cautionStep*float32(i), line, s.style(), left)
	}
}

// Progress is a bar 4 px high that grows in steps, with words below it.
type Progress struct {
	widget.BaseWidget

	Done, Total int
	Words       string // "Reading in: 120 of 500 frames"
	// Key and KeyWord, when set, stand at the right end: how to stop.
	Key, KeyWord string
	OnStop       func()
}

// NewProgress makes an empty bar.
func NewProgress() *Progress {
	w := &Progress{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the bar.
func (s *Progress) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Progress) least() (w, h float32) { return 160, 34 }

// progressSteps is in how many steps a bar grows: enough to tell, few enough not to
// draw the eye.
const progressSteps = 40

// share gives how much of the bar is filled, a whole number of steps; full only when
// all is done.
func (s *Progress) share() float32 {
	if s.Total <= 0 {
		return 0
	}
	done := float64(min(max(s.Done, 0), s.Total)) / float64(s.Total)
	return float32(math.Floor(done*progressSteps) / progressSteps)
}

func (s *Progress) draw(p *pen, w, _ float32) {
	p.fill(0, 0, w, 4, 0, look.Line)
	if share := s.share(); share > 0 {
		p.fill(0, 0, w*share, 4, 0, look.Ink2)
	}
	room := w
	if s.Key != "" {
		hint := s.hintWidth()
		room -= hint + 16
		cw := p.cap(w-hint, 11, s.Key)
		p.text(w-hint+cw+9, 27, s.KeyWord, of(look.Base), left)
	}
	p.text(0, 27, shorten(s.Words, of(look.Base), room), of(look.Base), left)
}

func (s *Progress) hintWidth() float32 {
	return capWidth(s.Key) + 9 + textWidth(s.KeyWord, of(look.Base))
}

// Tapped stops the work when it hits the key's cap or word.
func (s *Progress) Tapped(e *fyne.PointEvent) {
	x, y := at(e.Position)
	if s.Key != "" && s.OnStop != nil && y >= 8 && x >= s.Size().Width/look.Current().Scale-s.hintWidth() {
		s.OnStop()
	}
}

// Notice is one line that says what has happened and what can be done about it. It
// stays until it is replaced; nothing slides in or fades.
type Notice struct {
	widget.BaseWidget

	Words string
	// Problem puts the warning triangle's mark before the words.
	Problem bool
	// Key and KeyWord stand after the words: "Z", "undo".
	Key, KeyWord string
	OnTap        func()
}

// NewNotice makes an empty line.
func NewNotice() *Notice {
	w := &Notice{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the line.
func (s *Notice) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Notice) least() (w, h float32) { return 160, 26 }

func (s *Notice) draw(p *pen, w, _ float32) {
	if s.Words == "" {
		return
	}
	x := float32(0)
	if s.Problem {
		p.caution(0, 0)
		x = cautionText
	}
	hint := float32(0)
	if s.Key != "" {
		hint = 16 + capWidth(s.Key) + 9 + textWidth(s.KeyWord, of(look.Base))
	}
	words := shorten(s.Words, of(look.Base), w-x-hint)
	p.text(x, 18, words, of(look.Base), left)
	if s.Key != "" {
		x += textWidth(words, of(look.Base)) + 16
		cw := p.cap(x, 2, s.Key)
		p.text(x+cw+9, 18, s.KeyWord, of(look.Base).in(look.Ink1), left)
	}
}

// Tapped does what the key does.
func (s *Notice) Tapped(*fyne.PointEvent) {
	if s.OnTap != nil && s.Words != "" {
		s.OnTap()
	}
}

package parts

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Places is the list of the places: words under each other, each behind its key, the
// current one in bold with a bar of accent at the window's edge. It stands in the
// window's upper left corner.
type Places struct {
	widget.BaseWidget

	// Words are the places' names; place i has the key i+1.
	Words   []string
	Current int
	// OnChoose is called with the index of the place that was clicked.
	OnChoose func(i int)

	hover int // index + 1
}

// NewPlaces makes the list.
func NewPlaces(words []string, onChoose func(i int)) *Places {
	w := &Places{Words: words, OnChoose: onChoose}
	w.ExtendBaseWidget(w)
	return w
}

var _ desktop.Hoverable = (*Places)(nil)

// CreateRenderer draws the list.
func (s *Places) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Places) least() (w, h float32) { return 152, 47 + look.LineStep*float32(len(s.Words)-1) + 16 }

func (s *Places) draw(p *pen, _, _ float32) {
	for i, word := range s.Words {
		y := 47 + look.LineStep*float32(i)
		key, st := of(look.Base).in(look.Ink3), of(look.Base).in(look.Ink3)
		switch i {
		case s.Current:
			p.fill(0, y-13, 20, 14, 0, look.Accent)
			key, st = of(look.Base).in(look.Ink1), of(look.Name)
		case s.hover - 1:
			key, st = of(look.Base), of(look.Base)
		}
		p.text(32, y, string(rune('1'+i)), key, left)
		p.text(52, y, word, st, left)
	}
}

// placeAt gives the index of the word at a height in the widget, or -1.
func (s *Places) placeAt(y float32) int {
	i := int((y - 47 + 17) / look.LineStep)
	if y < 30 || i >= len(s.Words) {
		return -1
	}
	return i
}

// Tapped chooses the place under the pointer.
func (s *Places) Tapped(e *fyne.PointEvent) {
	_, y := at(e.Position)
	if i := s.placeAt(y); i >= 0 && s.OnChoose != nil {
		s.OnChoose(i)
	}
}

// MouseIn is part of desktop.Hoverable.
func (s *Places) MouseIn(e *desktop.MouseEvent) { s.MouseMoved(e) }

// MouseMoved brightens the word under the pointer.
func (s *Places) MouseMoved(e *desktop.MouseEvent) {
	_, y := at(e.Position)
	s.light(s.placeAt(y) + 1)
}

// MouseOut is part of desktop.Hoverable.
func (s *Places) MouseOut() { s.light(0) }

func (s *Places) light(hover int) {
	if s.hover != hover {
		s.hover = hover
		s.Refresh()
	}
}

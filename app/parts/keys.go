package parts

import (
	"unicode/utf8"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// KeyWord is a key's cap and what the key does. A click does the same as the key.
type KeyWord struct {
	widget.BaseWidget

	Keys []string // as they stand on the caps: "T", "←", "↵"
	Word string
	// Strong sets the word in ink 1: what one would do next.
	Strong bool
	// Off greys word and cap: the key does nothing now.
	Off   bool
	OnTap func()

	hover bool
}

// NewKeyWord makes a key and its word; onTap may be nil.
func NewKeyWord(key, word string, onTap func()) *KeyWord {
	w := &KeyWord{Keys: []string{key}, Word: word, OnTap: onTap}
	w.ExtendBaseWidget(w)
	return w
}

var _ desktop.Hoverable = (*KeyWord)(nil)

// CreateRenderer draws cap and word.
func (s *KeyWord) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *KeyWord) word() style {
	switch {
	case s.Off:
		return of(look.Base).in(look.Edge)
	case s.Strong || s.hover:
		return of(look.Base).in(look.Ink1)
	}
	return of(look.Base)
}

func (s *KeyWord) least() (w, h float32) {
	for _, k := range s.Keys {
		w += capWidth(k) + 6
	}
	return w + 3 + textWidth(s.Word, s.word()), 22
}

func (s *KeyWord) draw(p *pen, _, h float32) {
	x, y := float32(0), (h-22)/2
	for _, k := range s.Keys {
		x += p.cap(x, y, k) + 6
	}
	p.text(x+3, y+16, s.Word, s.word(), left)
}

// Tapped does what the key does.
func (s *KeyWord) Tapped(*fyne.PointEvent) {
	if s.OnTap != nil && !s.Off {
		s.OnTap()
	}
}

// MouseIn brightens the word.
func (s *KeyWord) MouseIn(*desktop.MouseEvent) { s.light(s.OnTap != nil) }

// MouseMoved is part of desktop.Hoverable.
func (s *KeyWord) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (s *KeyWord) MouseOut() { s.light(false) }

func (s *KeyWord) light(on bool) {
	if s.hover != on {
		s.hover = on
		s.Refresh()
	}
}

// capWidth gives the width of a key's cap: square for one letter, however wide that is, so that
// words under each other begin at one place.
func capWidth(key string) float32 {
	if utf8.RuneCountInString(key) == 1 {
		return 22
	}
	return max(22, textWidth(key, capStyle)+12)
}

var capStyle = style{13, true, look.Ink2}

// cap draws a key's cap with its upper left corner at (x, y), and gives its width.
func (p *pen) cap(x, y float32, key string) float32 {
	w := capWidth(key)
	p.outline(x, y, w, 22, 4, 1, look.Edge)
	p.textIn(x+w/2, y+11, key, capStyle)
	return w
}

// KeyRows is keys and their words under each other, 30 px apart, or closer where there is less room.
type KeyRows struct {
	widget.BaseWidget
	rows []*KeyWord
	room float32 // in px at scale 1, 0 for as much as they need
	crop bool    // rows without room are left out
}

// NewKeyRows makes the rows; a nil row leaves a space.
func NewKeyRows(rows ...*KeyWord) *KeyRows {
	w := &KeyRows{rows: rows}
	w.ExtendBaseWidget(w)
	return w
}

// Fit has the rows stand in a room so high, in px at scale 1, as far as their caps do not touch. Crop leaves
// those out that have no room even then, the last ones first.
func (s *KeyRows) Fit(room float32, crop bool) {
	if s.room != room || s.crop != crop {
		s.room, s.crop = room, crop
		s.Refresh()
	}
}

// shown are the rows that have room.
func (s *KeyRows) shown() []*KeyWord {
	if n := int((s.room-22)/keyRowLeast) + 1; s.crop && s.room > 0 && n < len(s.rows) {
		return s.rows[:max(n, 1)]
	}
	return s.rows
}

// step is from one row to the next.
func (s *KeyRows) step() float32 {
	if n := len(s.shown()); s.room > 0 && n > 1 {
		return min(keyRowStep, max((s.room-22)/float32(n-1), keyRowLeast))
	}
	return keyRowStep
}

// Set changes the rows.
func (s *KeyRows) Set(rows ...*KeyWord) {
	s.rows = rows
	s.Refresh()
}

// CreateRenderer lays the rows out.
func (s *KeyRows) CreateRenderer() fyne.WidgetRenderer {
	r := &keyRowsRenderer{s: s}
	r.Refresh()
	return r
}

const (
	keyRowStep  float32 = 30
	keyRowLeast float32 = 25
)

type keyRowsRenderer struct {
	s       *KeyRows
	objects []fyne.CanvasObject
}

func (r *keyRowsRenderer) Layout(size fyne.Size) {
	scale := look.Current().Scale
	for i, row := range r.s.shown() {
		if row != nil {
			row.Move(fyne.NewPos(0, float32(i)*r.s.step()*scale))
			row.Resize(fyne.NewSize(row.MinSize().Width, 22*scale))
		}
	}
}

func (r *keyRowsRenderer) MinSize() fyne.Size {
	scale := look.Current().Scale
	size := fyne.NewSize(0, max(0, r.s.step()*float32(len(r.s.shown())-1)+22)*scale)
	if len(r.s.rows) == 0 {
		size.Height = 0
	}
	for _, row := range r.s.rows {
		if row != nil {
			size.Width = max(size.Width, row.MinSize().Width)
		}
	}
	return size
}

func (r *keyRowsRenderer) Refresh() {
	r.objects = nil
	for _, row := range r.s.shown() {
		if row != nil {
			r.objects = append(r.objects, row)
		}
	}
	r.Layout(r.s.Size())
	for _, o := range r.objects {
		o.Refresh()
	}
}

func (r *keyRowsRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *keyRowsRenderer) Destroy()                     {}

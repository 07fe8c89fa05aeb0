package parts

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// Option is a word that can be chosen, and what stands before it.
type Option struct {
	Word string
	// Light, when set, puts the mark of that kind of light before the word.
	Light  session.LightKind
	Chosen bool
	// Note stands behind the word: how many would be found by it.
	Note string
}

// Choice is a few words of which any number may be chosen: the chosen ones are bold,
// and underlined in accent where no mark stands before them. While it has the focus
// the arrow keys go from word to word and Space chooses; all other keys go on.
type Choice struct {
	widget.BaseWidget

	Options []Option
	// Columns lays the words out in so many columns; 0 puts them one
	// after another.
	Columns int
	// Gap, when set, makes each column as wide as its widest word and stands between
	// them, in px at scale 1; 0 makes all columns 160 wide.
	Gap float32
	// Tight draws smaller marks in lower rows, for a small window.
	Tight bool

	// OnChoose is called with the index of the word that was pressed; Options are not
	// changed by the part.
	OnChoose func(i int)
	OnKey    func(*fyne.KeyEvent)
	OnRune   func(rune)

	at      int
	focused bool
	hover   int // index + 1
}

var (
	_ fyne.Focusable    = (*Choice)(nil)
	_ desktop.Hoverable = (*Choice)(nil)
)

// NewChoice makes a choice between words.
func NewChoice(options ...Option) *Choice {
	w := &Choice{Options: options}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the words.
func (s *Choice) CreateRenderer() fyne.WidgetRenderer { return render(s) }

const (
	choiceGap    float32 = 24
	choiceColumn float32 = 160
	choiceRow    float32 = 38
	choiceMark   float32 = 32 // from a mark's left edge to its word
	tightRow     float32 = 27
	tightMark    float32 = 26
	noteGap      float32 = 6
)

// slot is where a word stands: its left edge, base line, and width with its mark.
type slot struct{ x, base, w, mark, word float32 }

func (s *Choice) slots() []slot {
	var out []slot
	x := float32(0)
	for i, o := range s.Options {
		k := slot{x: x, base: 18}
		if o.Light != "" {
			k.mark, k.base = choiceMark, 24
			if s.Tight {
				k.mark, k.base = tightMark, 18
			}
		}
		// The wider of both weights, so that choosing moves nothing.
		k.word = max(textWidth(o.Word, of(look.Name)), textWidth(o.Word, of(look.Base)))
		k.w = k.mark + k.word
		if o.Note != "" {
			k.w += noteGap + textWidth(o.Note, of(look.Ring))
		}
		if s.Columns > 0 {
			k.x = choiceColumn * float32(i%s.Columns)
			row := choiceRow
			if s.Tight {
				row = tightRow
			}
			k.base += row * float32(i/s.Columns)
		}
		x += k.w + choiceGap
		out = append(out, k)
	}
	if s.Columns > 0 && s.Gap > 0 {
		s.fit(out)
	}
	return out
}

// fit makes the columns as wide as their widest words.
func (s *Choice) fit(all []slot) {
	x := float32(0)
	for column := range s.Columns {
		wide := float32(0)
		for i := column; i < len(all); i += s.Columns {
			all[i].x = x
			wide = max(wide, all[i].w)
		}
		x += wide + s.Gap
	}
}

func (s *Choice) least() (w, h float32) {
	for _, k := range s.slots() {
		w, h = max(w, k.x+k.w), max(h, k.base+14)
	}
	return w, h
}

func (s *Choice) draw(p *pen, _, _ float32) {
	for i, k := range s.slots() {
		o := s.Options[i]
		st := of(look.Base).in(look.Ink3)
		switch {
		case o.Chosen:
			st = of(look.Name)
		case s.hover == i+1:
			st = of(look.Base).in(look.Ink1)
		}
		if o.Light != "" {
			size := float32(1)
			if s.Tight {
				size = 0.7
			}
			p.lightMark(k.x+11*size, k.base-6, 270, size, session.Light{Kind: o.Light}, st.colour)
		}
		p.text(k.x+k.mark, k.base, o.Word, st, left)
		p.text(k.x+k.mark+k.word+noteGap, k.base, o.Note, of(look.Ring), left)
		if o.Chosen && o.Light == "" {
			p.fill(k.x, k.base+8, textWidth(o.Word, st), 3, 1, look.Accent)
		}
		if s.focused && s.at == i {
			p.focus(k.x, k.base-16, k.w, 24, ringOutClose)
		}
	}
}

func (s *Choice) slotAt(pos fyne.Position) int {
	x, y := at(pos)
	for i, k := range s.slots() {
		if x >= k.x-4 && x < k.x+k.w+4 && y >= k.base-20 && y < k.base+14 {
			return i
		}
	}
	return -1
}

func (s *Choice) choose(i int) {
	if i >= 0 && i < len(s.Options) && s.OnChoose != nil {
		s.OnChoose(i)
	}
}

// Tapped chooses the word under the pointer.
func (s *Choice) Tapped(e *fyne.PointEvent) {
	if i := s.slotAt(e.Position); i >= 0 {
		s.at = i
		if c := fyne.CurrentApp().Driver().CanvasForObject(s); c != nil {
			c.Focus(s)
		}
		s.choose(i)
	}
}

// MouseIn is part of desktop.Hoverable.
func (s *Choice) MouseIn(e *desktop.MouseEvent) { s.MouseMoved(e) }

// MouseMoved brightens the word under the pointer.
func (s *Choice) MouseMoved(e *desktop.MouseEvent) { s.light(s.slotAt(e.Position) + 1) }

// MouseOut is part of desktop.Hoverable.
func (s *Choice) MouseOut() { s.light(0) }

func (s *Choice) light(hover int) {
	if s.hover != hover {
		s.hover = hover
		s.Refresh()
	}
}

// FocusGained shows which word the keys are at.
func (s *Choice) FocusGained() { s.focused = true; s.Refresh() }

// FocusLost hides it.
func (s *Choice) FocusLost() { s.focused = false; s.Refresh() }

// TypedRune hands letters on; Space comes as a key.
func (s *Choice) TypedRune(r rune) {
	if s.OnRune != nil && r != ' ' {
		s.OnRune(r)
	}
}

// TypedKey goes from word to word and chooses.
func (s *Choice) TypedKey(e *fyne.KeyEvent) {
	step := map[fyne.KeyName]int{fyne.KeyLeft: -1, fyne.KeyRight: 1, fyne.KeyUp: -s.Columns, fyne.KeyDown: s.Columns}[e.Name]
	switch {
	case e.Name == fyne.KeySpace:
		s.choose(s.at)
	case step != 0:
		if next := s.at + step; next >= 0 && next < len(s.Options) {
			s.at = next
			s.Refresh()
		}
	case s.OnKey != nil:
		s.OnKey(e)
	}
}

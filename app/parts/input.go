package parts

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Input is a line of words being typed: no box, a line under it, and the focus ring
// while it has the focus.
type Input struct {
	widget.BaseWidget

	// Entry is where the words are; hand it to Canvas.Focus.
	Entry *InputEntry
	// Suggest gives what could be meant by what was typed, the best first; nil when
	// nothing is ever suggested. While the field has the focus the first is shown behind
	// the words: Right at their end takes it, Down and Up go through the others.
	Suggest func(typed string) []Suggestion
	// Wrong marks what was typed as not to be understood: its line in the accent, a caution at the end.
	Wrong bool
	// Completes has Tab take the suggestion, as Right does.
	Completes bool

	drawing bool
	offers  []Suggestion
	offer   int
	role    look.Role
}

// Suggestion is a text that could be meant, and a note on it: "12".
type Suggestion struct{ Text, Note string }

// InputEntry is the text field inside an Input.
type InputEntry struct {
	widget.Entry

	// OnEnter is called with the text on Enter, OnEscape on Esc, OnArrow with the keys
	// Up and Down, OnFocus when the focus comes or goes.
	OnEnter  func(text string)
	OnEscape func()
	OnArrow  func(fyne.KeyName)
	OnFocus  func(has bool)
	// Keep: what was typed goes the way of Enter when the window is closed over it.
	Keep bool

	focused bool
	outer   *Input
}

// NewInput makes an input with type of the given role: look.Typed for words looked
// up, look.Input for the value of something.
func NewInput(role look.Role, hint, text string) *Input {
	w := &Input{role: role}
	w.ExtendBaseWidget(w)
	w.Entry = &InputEntry{outer: w}
	w.Entry.ExtendBaseWidget(w.Entry)
	w.Entry.SetPlaceHolder(hint)
	w.Entry.SetText(text)
	w.Entry.CursorColumn = len([]rune(text))
	w.Entry.Scroll = fyne.ScrollHorizontalOnly
	w.Entry.OnCursorChanged = w.lookUp
	giveInputTheme(w.Entry, role)
	return w
}

// CreateRenderer draws the words. What they are drawn with is made anew whenever they were out of sight
// for a minute.
func (e *InputEntry) CreateRenderer() fyne.WidgetRenderer {
	r := e.Entry.CreateRenderer()
	giveInputTheme(container.NewWithoutLayout(r.Objects()...), e.outer.role)
	return r
}

// lookUp asks anew what could be meant.
func (s *Input) lookUp() {
	// An entry laid out anew tells of its cursor too: then nothing has changed.
	if s.Suggest == nil || !s.Entry.focused && len(s.offers) == 0 || s.drawing {
		return
	}
	s.offers, s.offer = nil, 0
	if s.Entry.focused {
		s.offers = s.Suggest(s.Entry.Text)
	}
	s.Refresh()
}

// offered gives what is suggested now; ok is false when nothing is, or the cursor is not
// at the words' end.
func (s *Input) offered() (o Suggestion, ok bool) {
	e := s.Entry
	if !e.focused || len(s.offers) == 0 || e.CursorColumn < len([]rune(e.Text)) {
		return o, false
	}
	o = s.offers[s.offer]
	return o, o.Text != e.Text
}

// SuggestAgain asks anew: what could be meant has become known.
func (s *Input) SuggestAgain() { s.lookUp() }

// Set puts a text in place of what was typed.
func (s *Input) Set(text string) { s.take(Suggestion{Text: text}) }

// take puts the suggestion in place of what was typed.
func (s *Input) take(o Suggestion) {
	s.Entry.SetText(o.Text)
	s.Entry.CursorColumn = len([]rune(o.Text))
	s.lookUp()
}

// ghost is how a suggestion stands behind what was typed: the rest of it where it begins
// so, else the whole behind an arrow.
func ghost(typed string, o Suggestion) string {
	rest := "  → " + o.Text
	if n := len(typed); n <= len(o.Text) && strings.EqualFold(typed, o.Text[:n]) {
		rest = o.Text[n:]
	}
	if o.Note != "" {
		rest += "  · " + o.Note
	}
	return rest
}

// step goes through what is suggested; false when nothing is.
func (s *Input) step(by int) bool {
	n := len(s.offers)
	if n < 2 {
		return n == 1
	}
	s.offer = (s.offer + by + n) % n
	s.Refresh()
	return true
}

// AcceptsTab is part of fyne.Tabbable: where Tab completes it does not lead away.
func (e *InputEntry) AcceptsTab() bool { return e.outer.Completes }

// TypedKey keeps or leaves what was typed.
func (e *InputEntry) TypedKey(k *fyne.KeyEvent) {
	switch k.Name {
	case fyne.KeyTab:
		if o, ok := e.outer.offered(); ok {
			e.outer.take(o)
		}
	case fyne.KeyRight, fyne.KeyEnd:
		if o, ok := e.outer.offered(); ok {
			e.outer.take(o)
			return
		}
		e.Entry.TypedKey(k)
	case fyne.KeyReturn, fyne.KeyEnter:
		if e.OnEnter != nil {
			e.OnEnter(e.Text)
		}
	case fyne.KeyEscape:
		if e.OnEscape != nil {
			e.OnEscape()
		}
	case fyne.KeyUp, fyne.KeyDown:
		by := 1
		if k.Name == fyne.KeyUp {
			by = -1
		}
		if e.outer.step(by) {
			return
		}
		if e.OnArrow != nil {
			e.OnArrow(k.Name)
		}
	default:
		e.Entry.TypedKey(k)
	}
}

// TypedShortcut hands on what is the window's and no editing of the words: a toolkit that finds the
// focus in a field asks nobody else.
func (e *InputEntry) TypedShortcut(s fyne.Shortcut) {
	if c, ok := s.(*desktop.CustomShortcut); ok && c.Modifier == fyne.KeyModifierShortcutDefault {
		if window, ok := fyne.CurrentApp().Driver().CanvasForObject(e).(fyne.Shortcutable); ok {
			window.TypedShortcut(s)
		}
	}
	e.Entry.TypedShortcut(s)
}

// FocusGained shows the focus ring.
func (e *InputEntry) FocusGained() { e.Entry.FocusGained(); e.focus(true) }

// FocusLost hides it.
func (e *InputEntry) FocusLost() { e.Entry.FocusLost(); e.focus(false) }

func (e *InputEntry) focus(has bool) {
	e.focused = has
	e.outer.lookUp()
	e.outer.Refresh()
	if e.OnFocus != nil {
		e.OnFocus(has)
	}
}

// CreateRenderer draws the entry, its line and its ring.
func (s *Input) CreateRenderer() fyne.WidgetRenderer {
	r := &inputRenderer{s: s}
	r.redraw(s.Size())
	return r
}

type inputRenderer struct {
	s     *Input
	p     pen
	scale float32 // that the words were last drawn at
}

// inputLine is how far the line is below the words' own line.
const inputLine float32 = 1

func (r *inputRenderer) redraw(size fyne.Size) {
	p := &r.p
	r.s.drawing = true
	defer func() { r.s.drawing = false }()
	p.begin()
	if r.scale != p.scale { // the words keep their size of before otherwise
		r.scale = p.scale
		r.s.Entry.Refresh()
	}
	h := r.s.Entry.MinSize().Height
	r.s.Entry.Resize(fyne.NewSize(size.Width, h))
	w, bottom := size.Width/p.scale, h/p.scale+inputLine
	// It may lie over what it changes, a name: behind the words is bare ground.
	p.fill(-ringOutClose, -ringOutClose, w+2*ringOutClose, bottom+2+2*ringOutClose, 0, look.Ground)
	p.put(r.s.Entry)
	if o, ok := r.s.offered(); ok {
		st := of(r.s.role).in(look.Ink3)
		st.bold = false
		_, base := textSize("x", look.TextPx(st.px), false)
		x := textWidth(r.s.Entry.Text, st) + 2
		p.fill(x, 0, w-x, bottom, 0, look.Ground) // the hint
		p.text(x, base/p.scale, shorten(ghost(r.s.Entry.Text, o), st, w-x), st, left)
	}
	stroke := float32(1)
	if r.s.role == look.Typed {
		stroke = 2
	}
	line := look.Edge
	if r.s.Wrong {
		line, stroke = look.Accent, 2
		p.warning(w-10, bottom-17, 8.5, 1.6)
	}
	p.fill(0, bottom, w, stroke, 0, line)
	if r.s.Entry.focused {
		p.focus(0, 0, w, bottom+stroke, ringOutClose)
	}
}

func (r *inputRenderer) Layout(size fyne.Size) { r.redraw(size) }
func (r *inputRenderer) MinSize() fyne.Size {
	k := look.Current().Scale
	return fyne.NewSize(60*k, r.s.Entry.MinSize().Height+(inputLine+2)*k)
}
func (r *inputRenderer) Refresh() {
	r.redraw(r.s.Size())
	canvas.Refresh(r.s)
}
func (r *inputRenderer) Objects() []fyne.CanvasObject { return r.p.objects }
func (r *inputRenderer) Destroy()                     {}

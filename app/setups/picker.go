package setups

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// row is a line of a picker: what it is called, what is in it, a note at the right.
type row struct {
	name, text, note string
	faint            bool // it has no name of its own
}

// picker is a list to pick from: earlier searches, templates, copies of the log. A line
// at its top takes a name or a path when one is asked for.
type picker struct {
	p    *Place
	said func() present.Sentence
	// more are its keys besides the arrows and Esc; none while something is typed.
	more func() []place.Action
	rows []row
	at   int

	root   *fyne.Container
	lines  []*place.Label
	notes  []*place.Label
	here   *canvas.Rectangle
	typing *parts.Input // nil when nothing is asked for
	what   *place.Label // what the line is for
	first  int          // row at the top
}

func newPicker(p *Place, said func() present.Sentence, more func() []place.Action) *picker {
	k := &picker{p: p, said: said, more: more, here: place.NewRing(), what: place.NewLabel()}
	k.what.Wrap = true
	k.root = container.New(place.Layout(k.arrange))
	return k
}

func (k *picker) body() fyne.CanvasObject    { return k.root }
func (k *picker) sentence() present.Sentence { return k.said() }

func (k *picker) actions() []place.Action {
	if k.typing != nil {
		return nil
	}
	out := k.more()
	return append(out,
		place.Does("", func() { k.move(-1) }, place.KeyUp),
		place.Does("", func() { k.move(1) }, place.KeyDown),
		place.Does("", func() { k.move(-len(k.rows)) }, place.KeyHome),
		place.Does("", func() { k.move(len(k.rows)) }, place.KeyEnd),
		place.InMargin(place.Does(words.BackToCards, k.p.closeLeaf, place.KeyEscape)))
}

func (k *picker) move(by int) {
	k.at = max(0, min(k.at+by, len(k.rows)-1))
	k.set(k.rows)
}

// set shows rows; the one in focus stays where it is as far as it can.
func (k *picker) set(rows []row) {
	k.rows = rows
	k.at = max(0, min(k.at, len(rows)-1))
	k.again()
	k.p.h.Say()
}

// ask has a text typed; then is called with it on Enter, and Esc takes the line away.
func (k *picker) ask(what, hint, text string, suggest func(string) []parts.Suggestion, then func(string)) {
	k.what.Set(place.Line(what, look.Base))
	k.typing = parts.NewInput(look.Typed, hint, text)
	k.typing.Suggest = suggest
	k.typing.Entry.OnEnter = func(typed string) {
		k.endTyping()
		then(typed)
	}
	k.typing.Entry.OnEscape = k.endTyping
	k.again()
	k.p.h.Say()
	k.p.h.Focus(k.typing.Entry)
}

func (k *picker) endTyping() {
	k.typing = nil
	k.p.h.Focus(nil)
	k.again()
	k.p.h.Say()
}

func (k *picker) again() {
	k.root.Refresh()
	if w, h, g := place.Grid(k.root); w > 0 && h > 0 {
		k.arrange(w, h, g)
		canvas.Refresh(k.root)
	}
}

const pickPitch float32 = 38

func (k *picker) arrange(w, h float32, g look.Grid) {
	k.root.Objects = nil
	left, wide := g.ContentX, min(w-g.Margin-g.ContentX, 1040)
	y := look.Space24
	if k.typing != nil {
		k.what.Put(left, y, wide)
		y += k.what.HeightFor(wide) - look.Space4
		high := k.typing.MinSize().Height / look.Current().Scale
		place.Put(k.typing, left, y, min(wide, 720), high)
		k.root.Objects = append(k.root.Objects, k.what, k.typing)
		y += high + look.Space48
	}
	fits := max(1, int((h-y)/pickPitch)+1)
	k.first = max(0, min(k.first, k.at), min(k.at-fits+1, len(k.rows)-1))
	k.lines, k.notes = nil, nil
	for i := k.first; i < len(k.rows) && i < k.first+fits; i++ {
		r := k.rows[i]
		name := place.Span{Text: r.name, Role: look.Card, Strong: true}
		if r.faint {
			name = place.Span{Text: r.name, Role: look.Input, Faint: true}
		}
		l, n := place.NewLabel([]place.Span{name, {Text: r.text, Role: look.Input}}), place.NewLabel(place.Line(r.note, look.Note))
		n.Right = true
		l.OnTap = func() { k.at = i; k.set(k.rows) }
		const noteWide = 230
		l.Put(left, y, wide-noteWide-look.Space16)
		n.Put(left+wide-noteWide, y, noteWide)
		if i == k.at && k.typing == nil {
			k.here.StrokeColor = look.Accent.Now()
			place.Put(k.here, left-look.Space8, y-24, wide+2*look.Space8, 34)
			k.root.Objects = append(k.root.Objects, k.here)
		}
		k.root.Objects = append(k.root.Objects, l, n)
		k.lines, k.notes = append(k.lines, l), append(k.notes, n)
		y += pickPitch
	}
}

package plan

import (
	"strings"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
)

// field is one input: its name, the line of words, and, while it is not given, what was
// reckoned for it, which stands without a line.
type field struct {
	at       present.PlanField
	name     *place.Label
	said     string // by it
	input    *parts.Input
	computed *place.Label
	focused  bool
	offered  bool // what was reckoned stands in the line to be typed over
	setting  bool // the text changes by itself, not by hand
	reckoned bool // it is not given
	width    float32
}

func (p *Place) newField(at present.PlanField) *field {
	f := &field{at: at, name: place.NewLabel(), input: parts.NewInput(look.Input, "", ""), computed: place.NewLabel()}
	e := f.input.Entry
	f.name.OnTap = func() { p.into(at) }
	f.computed.OnTap = f.name.OnTap
	e.OnChanged = func(text string) {
		if !f.setting {
			p.typed(at, text)
		}
	}
	e.OnEnter = func(string) { p.h.Focus(nil) }
	e.OnEscape = func() { p.h.Focus(nil) }
	e.OnArrow = func(k fyne.KeyName) {
		step := present.PlanField(1)
		if k == fyne.KeyUp {
			step = -1
		}
		p.into((at + step + present.PlanFields) % present.PlanFields)
	}
	e.OnFocus = func(has bool) {
		f.offered = f.offered && f.focused == has
		f.focused = has
		if has {
			p.last, p.changed = at, false
			if !f.offered {
				f.set(p.asked.Text[at]) // all of it, which may have been too long to show
			}
		} else {
			p.left(at)
		}
		p.refresh()
		if has && e.Text != "" {
			e.TypedShortcut(&fyne.ShortcutSelectAll{}) // to be typed over
		}
		p.h.Say()
	}
	return f
}

// fit shows what was typed, shortened to the line: what is cut off is not lost, and shows
// when the keys go there. Of lights the line holds whole ones, or whole words of one, and the rest, which
// stands below, is given back.
func (f *field) fit(text string) (rest string) {
	if place.TextWidth(text, look.Input) <= f.width || f.width == 0 {
		f.set(text)
		return ""
	}
	if f.at == present.PlanLight {
		for _, between := range []string{"; ", ", "} {
			for i := strings.LastIndex(text, between); i > 0; i = strings.LastIndex(text[:i], between) {
				if place.TextWidth(text[:i+1], look.Input) <= f.width {
					f.set(text[:i+1])
					return text[i+2:]
				}
			}
		}
	}
	f.cut(text)
	return ""
}

// cut shows as much as there is room for.
func (f *field) cut(text string) {
	runes := []rune(text)
	for len(runes) > 0 && place.TextWidth(string(runes)+"…", look.Input) > f.width {
		runes = runes[:len(runes)-1]
	}
	f.set(strings.TrimRight(string(runes), " ,;") + "…")
}

// set puts a text in that was not typed.
func (f *field) set(text string) {
	if f.input.Entry.Text == text {
		return
	}
	f.setting = true
	f.input.Entry.SetText(text)
	f.setting = false
}

// show brings the field up to date. What was reckoned is offered for typing over when
// the keys go there.
func (f *field) show(in present.PlanInput) {
	f.said = in.Name
	f.name.Set(place.Line(in.Name, look.Base))
	if f.input.Entry.PlaceHolder != in.Hint {
		f.input.Entry.SetPlaceHolder(in.Hint)
	}
	f.reckoned = in.Reckoned
	if f.input.Wrong != in.Wrong {
		f.input.Wrong = in.Wrong
		f.input.Refresh()
	}
	f.computed.Set([]place.Span{{Text: in.Computed, Role: look.Input, Faint: true}})
	// What is being typed is never written over.
	if (in.Reckoned || in.Computed != "") && !(f.focused && f.offered) {
		f.set(in.Computed)
		f.offered = true
	}
	show(f.input, !in.Reckoned || f.focused)
	show(f.computed, in.Reckoned && !f.focused)
}

func show(o fyne.CanvasObject, on bool) {
	if on == o.Visible() {
		return
	}
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// inputRise is how far above its base line the words of an input begin.
const inputRise float32 = 17

// put places name and value on one line.
func (f *field) put(x, value, base, width float32) {
	f.name.Put(x, base, value-x-look.Space8)
	f.putValue(value, base, width)
}

// putBelow places the value below its name.
func (f *field) putBelow(x, name, base, width float32) {
	f.name.Put(x, name, width)
	f.putValue(x, base, width)
}

func (f *field) putValue(value, base, width float32) {
	k := look.Current().Scale
	f.width = width - look.Space4
	f.computed.Put(value, base, width)
	place.Put(f.input, value, base-inputRise, width, f.input.MinSize().Height/k)
}

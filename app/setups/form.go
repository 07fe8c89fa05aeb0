package setups

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// form is a setup being written down: all of it as text, with what was typed before
// offered in every field and the plan drawn as it is typed. It begins as the last setup.
type form struct {
	p    *Place
	last session.Setup // as it was logged; ID 0 when none was

	root   *fyne.Container
	texts  []*formField
	lights [][]*formField // kind, round, up, away, modifier, power, kelvin
	plan   *parts.LightPlan
	arc    *parts.SideArc
	names  []*place.Label
	typed  map[session.SetupField][]string
	inside bool // a field has the focus
	back   func()
}

type formField struct {
	*parts.Input
	name string
	kind session.SetupField // "" when nothing is remembered of it
}

// writeDown opens the form on the setup on the table.
func (p *Place) writeDown() {
	if !p.live {
		p.h.Tell(words.NoSession)
		return
	}
	p.WriteDown(p.onTable.Lights, func() {})
}

// WriteDown opens the form on the setup on the table, with these lights; back is called
// when it is done with.
func (p *Place) WriteDown(lights []session.Light, back func()) {
	f := &form{back: back, p: p, last: p.onTable, plan: parts.NewLightPlan(formPlan), arc: parts.NewSideArc(), typed: map[session.SetupField][]string{}}
	s := p.onTable
	magnification := ""
	if s.Magnification != nil {
		magnification = strings.TrimPrefix(present.Magnification(s.Magnification), "×")
	}
	for _, t := range []struct {
		name, hint, text string
		kind             session.SetupField
	}{
		{words.SubjectField, words.SubjectHint, s.Subject, session.FieldSubject},
		{words.BackgroundName, "", s.Background, session.FieldBackground},
		{words.SupportName, "", s.Support, session.FieldSupport},
		{words.LensName, "", s.Lens, session.FieldLens},
		{words.Magnification, "", magnification, ""},
		{words.FieldTags, words.FieldTagsHint, strings.Join(s.Tags, ", "), session.FieldTag},
		{words.NotesField, words.NotesHint, s.Notes, ""},
	} {
		f.texts = append(f.texts, f.field(t.name, t.hint, t.text, t.kind))
	}
	f.root = container.New(place.Layout(f.arrange))
	for _, l := range lights {
		f.add(l)
	}
	p.openLeaf(f)
	f.draw()
	f.remember()
	p.h.Focus(f.texts[0].Entry)
}

const formPlan float32 = 120

func (f *form) field(name, hint, text string, kind session.SetupField) *formField {
	in := &formField{parts.NewInput(look.Base, hint, text), name, kind}
	in.Suggest = func(typed string) []parts.Suggestion {
		var out []parts.Suggestion
		for _, t := range f.offers(in) {
			if holds(t, typed) && t != typed {
				out = append(out, parts.Suggestion{Text: t})
			}
		}
		if typed == "" && kind == "" {
			return nil
		}
		return out
	}
	in.Entry.OnChanged = func(string) { f.draw() }
	in.Entry.OnEnter = func(string) { f.p.h.Focus(nil) }
	in.Entry.OnEscape = func() { f.p.h.Focus(nil) }
	in.Entry.OnArrow = func(key fyne.KeyName) { f.step(in, key == fyne.KeyUp) }
	in.Entry.OnFocus = func(has bool) {
		f.inside = has
		f.p.h.Say()
	}
	return in
}

// offers are what a field may be meant to hold.
func (f *form) offers(in *formField) []string {
	switch in.name {
	case words.FieldKind:
		var out []string
		for _, k := range session.LightKinds {
			out = append(out, present.Kind(k))
		}
		return out
	case words.FieldSide:
		var out []string
		for _, s := range session.Sides {
			out = append(out, present.Side(s))
		}
		return out
	}
	return f.typed[in.kind]
}

// remember reads what was typed before, off the UI goroutine.
func (f *form) remember() {
	for _, kind := range []session.SetupField{
		session.FieldSubject, session.FieldBackground, session.FieldSupport, session.FieldLens, session.FieldTag, session.FieldModifier, session.FieldPower,
	} {
		fetch(f.p, f, func(ctx context.Context) ([]string, error) { return f.p.h.Log.TypedBefore(ctx, kind, "", 200) },
			func(found []string) { f.typed[kind] = found })
	}
}

func (f *form) add(l session.Light) {
	v := present.FormLightOf(l)
	var row []*formField
	for _, t := range []struct {
		name, text string
		kind       session.SetupField
	}{
		{words.FieldKind, v.Kind, ""}, {words.FieldSide, v.Round, ""}, {words.FieldHeight, v.Up, ""}, {words.FieldAway, v.Away, ""},
		{words.ModifierName, v.Modifier, session.FieldModifier}, {words.FieldPower, v.Power, session.FieldPower}, {words.FieldColour, v.Kelvin, ""},
	} {
		row = append(row, f.field(t.name, t.name, t.text, t.kind))
	}
	f.lights = append(f.lights, row)
}

func (f *form) all() []*formField {
	out := append([]*formField(nil), f.texts...)
	for _, row := range f.lights {
		out = append(out, row...)
	}
	return out
}

// step goes to the next field, or the one before.
func (f *form) step(from *formField, back bool) {
	all := f.all()
	for i, in := range all {
		if in != from {
			continue
		}
		next := (i + 1) % len(all)
		if back {
			next = (i + len(all) - 1) % len(all)
		}
		f.p.h.Focus(all[next].Entry)
		return
	}
}

// read makes a setup of what is typed; wrong says what cannot be.
func (f *form) read() (s session.Setup, wrong string) {
	s = f.last
	text := func(i int) string { return strings.TrimSpace(f.texts[i].Entry.Text) }
	s.Subject, s.Background, s.Support, s.Lens, s.Notes = text(0), text(1), text(2), text(3), text(6)
	s.Tags = present.ReadTags(text(5))
	s.Magnification = nil
	if m := text(4); m != "" {
		v := present.ReadMagnifications(m).Min
		if v <= 0 {
			return s, fmt.Sprintf(words.FormWrongF, present.Capital(words.Magnification), m)
		}
		s.Magnification = &v
	}
	s.Lights = nil
	for _, row := range f.lights {
		t := func(i int) string { return row[i].Entry.Text }
		l, wrong := present.FormLight{Kind: t(0), Round: t(1), Up: t(2), Away: t(3), Modifier: t(4), Power: t(5), Kelvin: t(6)}.Read()
		if wrong != "" {
			return s, wrong
		}
		s.Lights = append(s.Lights, l)
	}
	return s, ""
}

// draw brings the plan to what is typed, as far as it can be read.
func (f *form) draw() {
	s, wrong := f.read()
	if wrong == "" {
		f.plan.Lights, f.arc.Lights = s.Lights, s.Lights
	}
	f.plan.Background = s.Background != ""
	f.plan.Refresh()
	f.arc.Refresh()
}

func (f *form) body() fyne.CanvasObject { return f.root }

func (f *form) sentence() present.Sentence {
	s := present.Sentence{Mark: present.MarkTrial, Headline: words.FormHead, WhatToDo: words.FormTodo}
	if !f.inside {
		s.WhatToDo = words.FormTodoKeys
		if f.last.ID != 0 {
			s.WhatToDo = fmt.Sprintf(words.FormTodoKeysF, f.last.ID)
		}
	}
	return s
}

func (f *form) actions() []place.Action {
	if f.inside {
		return []place.Action{
			place.InMargin(place.Does(words.FormDone, func() { f.p.h.Focus(nil) }, place.KeyEnter, place.KeyEscape)),
			place.InMargin(place.Does(words.FormFields, nil, place.KeyUp, place.KeyDown)),
		}
	}
	log := place.InMargin(place.Does(words.FormLog, func() { f.log(0) }, place.KeyEnter))
	log.Strong = true
	out := []place.Action{
		log,
		place.InMargin(place.Does(words.FormEdit, func() { f.p.h.Focus(f.texts[0].Entry) }, place.KeyDown)),
		place.InMargin(place.Does(words.FormAddLight, f.another, "A")),
		place.InMargin(place.Does(words.FormDropLight, f.drop, place.KeyDelete)),
	}
	if f.last.ID != 0 {
		out = append(out, place.InMargin(place.Does(fmt.Sprintf(words.FormCorrectF, f.last.ID), func() { f.log(f.last.ID) }, "E")))
	}
	return append(out, place.InMargin(place.Does(words.FormLeave, f.leave, place.KeyEscape)))
}

func (f *form) another() {
	var lights []session.Light
	if s, wrong := f.read(); wrong == "" {
		lights = s.Lights
	}
	f.add(present.AnotherLight(lights))
	f.again()
	f.p.h.Focus(f.lights[len(f.lights)-1][0].Entry)
}

func (f *form) drop() {
	if n := len(f.lights); n > 0 {
		f.lights = f.lights[:n-1]
		f.again()
	}
}

func (f *form) again() {
	f.draw()
	if w, h, g := place.Grid(f.root); w > 0 && h > 0 {
		f.arrange(w, h, g)
		canvas.Refresh(f.root)
	}
	f.p.h.Say()
}

func (f *form) leave() {
	f.p.closeLeaf()
	f.back()
}

// log keeps what is typed: as a new setup (id 0), or in place of what was logged.
func (f *form) log(id int64) {
	s, wrong := f.read()
	if wrong != "" {
		f.p.h.Tell(wrong)
		return
	}
	if s.ID = id; id == 0 {
		notes := s.Notes
		s = s.Again()
		s.Notes = notes
	}
	f.leave()
	f.p.h.Run(func(ctx context.Context, d place.Desk) error {
		return d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s})
	})
}

// Measures of the form in px at scale 1.
const (
	formPitch float32 = 38
	formText  float32 = 420
)

// lightColumns are how wide a light's fields are.
var lightColumns = [...]float32{96, 86, 54, 66, 130, 72, 64}

func (f *form) arrange(w, h float32, g look.Grid) {
	f.root.Objects = nil
	f.names = nil
	k := look.Current().Scale
	left, right := g.ContentX, w-g.Margin
	high := f.texts[0].MinSize().Height / k
	name := func(text string, x, base, wide float32, role look.Role) {
		l := place.NewLabel(place.Line(text, role))
		l.Put(x, base, wide)
		f.names = append(f.names, l)
		f.root.Objects = append(f.root.Objects, l)
	}
	nameX, x := g.Margin, left
	if g.Column == 0 {
		nameX, x = left, left+120
	}
	y := look.Space8
	for _, in := range f.texts {
		name(in.name, nameX, y+16, 116, look.Base)
		place.Put(in.Input, x, y, min(formText, right-x), high)
		f.root.Objects = append(f.root.Objects, in.Input)
		y += min(formPitch, h/14)
	}
	y += look.Space16
	table := y // its upper edge, and where it ends
	end := x
	for _, wide := range lightColumns {
		end += wide + look.Space12
	}
	for i, row := range f.lights {
		if i == 0 {
			at := x
			for j, in := range row {
				name(in.name, at, y+10, lightColumns[j], look.Ring)
				at += lightColumns[j] + look.Space12
			}
			y += look.Space24
		}
		name(fmt.Sprintf(words.FieldLightF, i+1), nameX, y+16, 116, look.Base)
		at := x
		for j, in := range row {
			place.Put(in.Input, at, y, lightColumns[j], high)
			f.root.Objects = append(f.root.Objects, in.Input)
			at += lightColumns[j] + look.Space12
		}
		y += min(formPitch, h/14)
	}
	f.plan.Radius = formPlan
	if room := right - x - formText - look.Space48; room > 2*146+48 && h > 520 {
		f.plan.Radius = 146
	}
	pw, ph := least(f.plan)
	if end > right-pw && ph > table { // in a small window it stands above the table
		f.plan.Radius -= (ph - table) / 2
		pw, ph = least(f.plan)
	}
	place.Put(f.plan, right-pw, 0, pw, ph)
	arc := f.arc.MinSize()
	place.Put(f.arc, right-pw/2-arc.Width/k/2, ph+look.Space8, arc.Width/k, arc.Height/k)
	f.root.Objects = append(f.root.Objects, f.plan)
	if ph+look.Space8+arc.Height/k < h && g.Column > 0 {
		f.root.Objects = append(f.root.Objects, f.arc)
	}
}

package stacks

import (
	"context"
	"fmt"
	"slices"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// Actions are the keys of the place.
func (p *Place) Actions() []place.Action {
	switch {
	case p.field != nil || len(p.view.Rows) == 0:
		return nil
	case p.choosing == whatKind:
		return p.kindActions()
	case p.choosing == whichSetup:
		return p.setupActions()
	case p.detail.looking && p.open != 0:
		return p.detail.lookActions()
	}
	if p.touch.on {
		return p.touch.actions()
	}
	if _, on := p.detail.drawing.On(); on && p.open != 0 {
		return p.detail.drawing.Actions()
	}
	opened := p.open != 0 && p.at == stop{group: p.open}
	enter := words.OpenIt
	if opened {
		enter = words.CloseIt
	}
	upDown, join := place.InMargin(place.Does(words.UpDown, nil, place.KeyUp, place.KeyDown)), place.InMargin(place.Does(words.JoinBefore, p.join, "J"))
	join.Off = p.first()
	by := func(n int) func() { return func() { p.detail.step(n) } }
	if !opened {
		upDown.Also = stepKeys
		by = func(n int) func() { return func() { p.move(n, false) } }
	}
	if p.at.seam {
		join.Also = []place.Key{"X"}
	}
	out := []place.Action{
		upDown,
		place.InMargin(place.Does(enter, p.openOrClose, place.KeyEnter)),
		place.Does("", p.openOrClose, place.KeySpace),
		place.Does("", func() { p.move(-1, false) }, place.KeyUp),
		place.Does("", func() { p.move(1, false) }, place.KeyDown),
		place.Does(words.StackBefore, func() { p.move(-1, true) }, place.KeyPageUp),
		place.Does(words.StackNext, func() { p.move(1, true) }, place.KeyPageDown),
		place.Does(words.GoTop, func() { p.move(-1<<20, false) }, place.KeyHome),
		place.Does(words.GoBottom, func() { p.move(1<<20, false) }, place.KeyEnd),
		place.Does("", by(-1), stepKeys[0]),
		place.Does("", by(1), stepKeys[1]),
		join,
		place.InMargin(place.Does(words.NameIt, p.name, "N")),
		// In an opened group the row below is full without these and the next.
		p.kindAction(opened),
		{Keys: []place.Key{"S"}, Word: words.OtherSetup, Do: p.ask(whichSetup), Margin: !opened, Off: len(p.snap.Setups) == 0},
	}
	hand := p.h.HandOn()
	hand.Margin = !opened
	out = append(out, hand)
	next := place.Does(words.NextToDo, p.nextToDo, "C")
	next.Off = p.toDo() == nil
	out = append(out, next)
	if p.open != 0 {
		out = append(out, place.Does("", p.close, place.KeyEscape))
	}
	if opened {
		return append(out, p.frameActions()...)
	}
	if r := p.row(p.at.group); r != nil && !p.at.seam && len(r.Frames) == 1 {
		out = append(out, p.markAction(r.Frames[0], r))
	}
	return out
}

// stepKeys step back and on under the left hand.
var stepKeys = []place.Key{"F", "G"}

// toDo is the next row, after the focus and from the top again, where something is left to do; nil when
// nothing is.
func (p *Place) toDo() *present.Row {
	n := len(p.view.Rows)
	at := slices.IndexFunc(p.view.Rows, func(r present.Row) bool { return r.GroupID == p.at.group })
	for i := 1; i <= n; i++ {
		if r := &p.view.Rows[(at+i+n)%n]; r.YourTurn || r.Question != "" {
			return r
		}
	}
	return nil
}

// nextToDo opens it at the frame that it is about.
func (p *Place) nextToDo() {
	r := p.toDo()
	if r == nil {
		return
	}
	frame := r.Ribbon.ToDo(r.Verdict)
	p.Open(r.GroupID)
	if frame != "" {
		p.detail.proof = false
		p.detail.goTo(frame)
	}
}

// splitAction splits the group before a frame.
func (p *Place) splitAction(f present.RowFrame) place.Action {
	a := place.Or(place.Does(fmt.Sprintf(words.SplitBeforeF, f.Number), func() { p.edit(session.Edit{Kind: session.EditSplit, Frame: f.Fingerprint}) }, "/"), "V")
	a.Off = f.First
	return a
}

// frameActions are the keys of an opened group, that stand beside its pictures.
func (p *Place) frameActions() []place.Action {
	d := p.detail
	f := d.frame()
	if f == nil {
		return nil
	}
	aside := place.Does(words.SetAside, func() { p.edit(session.Edit{Kind: session.EditSetAside, Frame: f.Fingerprint}) }, "X")
	if f.SetAside {
		aside = place.Does(words.PutBack, func() { p.edit(session.Edit{Kind: session.EditPutBack, Frame: f.Fingerprint}) }, "X")
	}
	split := p.splitAction(*f)
	back := place.Does(words.MoveBack, func() { p.edit(session.Edit{Kind: session.EditMoveBack, Frame: f.Fingerprint}) }, "<")
	back.Off = d.row.First
	on := place.Does(words.MoveOn, func() { p.edit(session.Edit{Kind: session.EditMoveOn, Frame: f.Fingerprint}) }, ">")
	on.Off = p.view.Rows[len(p.view.Rows)-1].GroupID == d.row.GroupID
	trace := words.SharpParts
	if d.traced {
		trace = words.SharpPartsOff
	}
	step := place.Or(place.Does(words.Step, nil, place.KeyLeft, place.KeyRight), stepKeys...)
	step.Off = d.alone()
	out := []place.Action{
		place.Or(place.Does(words.LookClosely, p.closely, "Z"), "Y"),
		step,
		place.Does("", func() { d.step(-1) }, place.KeyLeft),
		place.Does("", func() { d.step(1) }, place.KeyRight),
	}
	look := place.Does(words.LookElsewhere, d.look, "O")
	if d.row.Kind == session.KindStack {
		// Beside the pictures there is room for eight lines: these three stand below.
		out = append(out, place.InMargin(look), place.InMargin(place.Does(words.TouchUp, p.touchUp, "E")), place.InMargin(place.Does(words.WantedArea, func() { d.drawOn(f.Fingerprint) }, "W")),
			place.Does("", func() { d.drawing.All(p.snap, f.Fingerprint) }, place.KeyDelete))
		out = append(out, d.proofActions()...)
		either := place.Does(words.MoveEither, nil, "<", ">")
		either.Off = back.Off && on.Off
		back.Word, on.Word = "", ""
		out = append(out, place.Does(trace, d.traceOrNot, "T"), aside, place.Or(p.markAction(*f, &d.row), "A"), split, either)
	} else {
		out = append(out, look, place.Does(trace, d.traceOrNot, "T"), aside, place.Or(p.markAction(*f, &d.row), "A"), split)
	}
	return append(out, back, on)
}

// closely looks at the frame stepped to, at the spot.
func (p *Place) closely() {
	d := p.detail
	if f := d.frame(); f != nil {
		p.h.Closely(d.row.GroupID, f.Fingerprint, d.x, d.y)
	}
}

// markAction calls a frame a marker, or no longer one.
func (p *Place) markAction(f present.RowFrame, r *present.Row) place.Action {
	if r.Kind == session.KindMarker {
		return place.Does(words.Unmark, func() { p.edit(session.Edit{Kind: session.EditUnmark, Frame: f.Fingerprint}) }, "M")
	}
	return place.Does(words.CallMarker, func() { p.edit(session.Edit{Kind: session.EditMark, Frame: f.Fingerprint}) }, "M")
}

func (p *Place) edit(e session.Edit) {
	p.h.Run(func(ctx context.Context, d place.Desk) error { return d.Edit(ctx, e) })
}

// first reports that nothing lies before the group in focus.
func (p *Place) first() bool {
	r := p.row(p.at.group)
	return r == nil || r.First
}

// join pulls away the seam before the group in focus.
func (p *Place) join() {
	r := p.row(p.at.group)
	if r == nil || r.First {
		return
	}
	for _, f := range r.Frames {
		if f.First {
			p.edit(session.Edit{Kind: session.EditJoin, Frame: f.Fingerprint})
			return
		}
	}
}

// ask puts a question about the group in focus.
func (p *Place) ask(q question) func() {
	return func() {
		p.choosing = q
		p.h.Say()
	}
}

// setupActions choose under which setup the group in focus was shot.
func (p *Place) setupActions() []place.Action {
	var out []place.Action
	for _, c := range present.SetupChoices(p.snap, p.at.group) {
		a := place.InMargin(place.Does(c.Words, func() {
			p.choosing = nothing
			if r := p.row(p.at.group); r != nil {
				p.edit(session.Edit{Kind: session.EditUseSetup, Frame: r.Frames[0].Fingerprint, Setup: &session.Setup{ID: c.ID}})
			}
			p.h.Say()
		}, place.Key(c.Key)))
		out = append(out, a)
	}
	return append(out, place.InMargin(place.Does(words.Back, p.ask(nothing), place.KeyEscape)))
}

// callIt is what the key does that answers what a group is.
var callIt = map[session.Kind]string{session.KindStack: words.CallStack, session.KindSingle: words.CallSingle, session.KindTest: words.CallTest}

// kindAction asks what the group in focus is; where the program asks that itself, between two kinds, it
// answers with the one that it was not taken for.
func (p *Place) kindAction(opened bool) place.Action {
	if r := p.row(p.at.group); r != nil && r.OrElse != "" {
		answer := place.InMargin(place.Does(callIt[r.OrElse], func() {
			p.edit(session.Edit{Kind: session.EditKindOf, Frame: r.Frames[0].Fingerprint, Group: r.OrElse})
		}, "K"))
		answer.Strong = true // it is shown however full the row is
		return answer
	}
	return place.Action{Keys: []place.Key{"K"}, Word: words.KindIs, Do: p.ask(whatKind), Margin: !opened}
}

// kindActions choose what the group in focus is.
func (p *Place) kindActions() []place.Action {
	done := func(k session.Kind) func() {
		return func() {
			p.choosing = nothing
			if r := p.row(p.at.group); r != nil && k != "" && k != r.Kind {
				p.edit(session.Edit{Kind: session.EditKindOf, Frame: r.Frames[0].Fingerprint, Group: k})
			}
			p.h.Say()
		}
	}
	return []place.Action{
		place.InMargin(place.Does(words.KindStack, done(session.KindStack), "S")),
		place.InMargin(place.Does(words.KindSingle, done(session.KindSingle), "I")),
		place.InMargin(place.Does(words.KindTest, done(session.KindTest), "T")),
		place.InMargin(place.Does(words.KindMarker, done(session.KindMarker), "M")),
		place.InMargin(place.Does(words.Back, done(""), place.KeyEscape)),
	}
}

// name lets a name be typed for the group in focus.
func (p *Place) name() {
	r := p.row(p.at.group)
	if r == nil {
		return
	}
	p.closeField()
	frame, was := r.Frames[0].Fingerprint, r.Own
	p.at.seam = false
	p.field = parts.NewInput(look.Input, words.NameHint, was)
	p.field.Entry.OnEnter = func(text string) {
		p.closeField()
		if text != was {
			p.edit(session.Edit{Kind: session.EditName, Frame: frame, Text: text})
		}
	}
	p.field.Entry.OnEscape, p.field.Entry.Keep = p.closeField, true
	p.reveal()
	p.h.Focus(p.field.Entry)
	p.h.Say()
}

func (p *Place) closeField() {
	if p.field == nil {
		return
	}
	p.field = nil
	p.h.Focus(nil)
	p.fill()
	p.h.Say()
}

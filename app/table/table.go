// Package table is the place that stands open beside the camera: the newest frame, what
// the program makes of the stack it belongs to, and where the lights stand.
package table

import (
	"context"
	"image"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Place is the Table.
type Place struct {
	h    *place.Host
	snap *desk.Snapshot
	view present.Table

	// draft is the light being moved, nil when none is.
	draft *draft
	shown string // fingerprint of the picture in the frame view
	asked pictures.Want
	shots *pictures.Scope

	drawing  *place.Drawing
	held     present.Frame // the frame that is drawn on, whatever comes meanwhile
	traced   bool          // the sharp parts are shown
	proof    bool          // the stack's proof is shown in place of its newest frame
	recalled recalled
	overlay  pictures.Want // what the sharp parts were asked for

	narrow     bool // the window has no margin column
	body       *fyne.Container
	ribbon     *place.Ribbon
	ribbonName *place.Label
	frame      *parts.FrameView
	caption    *place.Label
	setup      *place.Label
	editor     *parts.LightEditor
	notes      *place.Label
	moveKey    *parts.KeyWord
	textKeys   [2]*parts.KeyWord
	field      *parts.Input
	trials     *trials
}

// draft is where the lights stand now, before it is logged.
type draft struct {
	lights []session.Light
}

// New makes the Table.
func New(h *place.Host) *Place {
	p := &Place{
		h: h, snap: &desk.Snapshot{}, shots: h.Pictures.Scope(),
		ribbon: place.NewRibbon(parts.RibbonLarge), ribbonName: place.NewLabel(), frame: parts.NewFrameView(),
		caption: place.NewLabel(), setup: place.NewLabel(), editor: parts.NewLightEditor(), notes: place.NewLabel(),
	}
	p.trials = newTrials(h)
	p.moveKey = parts.NewKeyWord("L", "", p.begin)
	p.moveKey.Strong = true
	p.textKeys = [2]*parts.KeyWord{parts.NewKeyWord("S", words.SubjectField, p.typeSubject), parts.NewKeyWord("N", words.NotesField, p.typeNotes)}
	p.notes.Wrap = true
	p.drawing = place.NewDrawing(h, p.frame, p.drawn)
	p.editor.OnChange, p.editor.Help = p.moved, p.lightHelp
	p.editor.OnKey, p.editor.OnRune = h.Key, h.Rune
	p.trials.onChoose = p.choose
	p.body = container.New(place.Layout(p.arrange), p.ribbon.Drawing, p.ribbonName, p.frame, p.caption, p.setup,
		p.editor, p.notes, p.moveKey, p.textKeys[0], p.textKeys[1], p.trials.body)
	return p
}

// Body is the drawing.
func (p *Place) Body() fyne.CanvasObject { return p.body }

// Show takes in a snapshot.
func (p *Place) Show(s *desk.Snapshot) {
	p.snap = s
	p.view = present.TableOf(s, p.h.Now())
	p.view.Plan(s, p.h.Planned)
	p.recalled.follow(s, &p.view)
	if fp, on := p.drawing.On(); on {
		if _, ok := s.Frame(fp); ok {
			p.view.Frame, p.view.Mode = p.held, present.TableFrame
		} else {
			p.drawing.End()
		}
	}
	p.drawing.Show(s, p.view.Frame.Fingerprint)
	if p.proofShown() {
		p.frame.Wanted = nil // it lies on a frame
	}
	p.refresh()
}

// Older tells that the Table would open with other words by now than when it was last shown.
func (p *Place) Older() bool {
	return p.view.Mode != present.TableTrials && present.TableOf(p.snap, p.h.Now()).Headline != p.view.Headline
}

// drawn shows that drawing the wanted area began or ended.
func (p *Place) drawn() {
	p.held = p.view.Frame
	if _, on := p.drawing.On(); on {
		p.refresh()
	} else {
		p.Show(p.snap) // a newer frame may have come
	}
	p.h.Say()
}

// Sentence is the verdict, or what a light being moved asks for.
func (p *Place) Sentence() present.Sentence {
	if p.draft != nil {
		s := present.Sentence{Mark: present.MarkTrial, Headline: words.DraftHead, WhatToDo: words.DraftAdvice}
		if p.view.Setup.ID == 0 {
			s.WhatToDo = words.DraftAdviceFirst
		}
		return s
	}
	if _, on := p.drawing.On(); on {
		return p.drawing.Sentence()
	}
	return p.view.Sentence
}

// KeysBelow: a light trial needs the margin for its own names.
func (p *Place) KeysBelow() bool { return p.view.Mode == present.TableTrials && p.draft == nil }

// Leave drops a draft and what was being typed.
func (p *Place) Leave() {
	p.draft = nil
	p.drawing.End()
	p.closeField()
}

func (p *Place) refresh() {
	v := p.view
	trial := v.Mode == present.TableTrials && p.draft == nil
	for _, o := range []fyne.CanvasObject{p.frame, p.setup, p.editor, p.notes} {
		show(o, !trial) // before the first frame as well: the light can be logged
	}
	if p.field != nil {
		p.setup.Hide() // the field stands in its place
	}
	show(p.caption, !trial && v.Mode != present.TableEmpty)
	show(p.trials.body, trial)
	show(p.ribbon.Drawing, !trial && len(v.RibbonName) > 0)
	show(p.ribbonName, !trial && len(v.RibbonName) > 0)
	p.frame.Left = !v.Frame.Upright // on one edge with what stands above and below; upright in the middle
	p.ribbon.Set(v.Ribbon)
	p.setSetup()
	p.trials.set(v.Trials)
	p.body.Refresh() // and lays it out anew
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

func (p *Place) setCaption(g look.Grid) {
	v := p.view
	heading, about := p.captionOf()
	if g.Column == 0 {
		line := place.Line(heading, look.Heading)
		for _, l := range about {
			line = append(line, place.Span{Text: l, Role: look.Base})
		}
		p.caption.Set(line)
	} else {
		lines := [][]place.Span{place.Line(heading, look.Heading)}
		for _, l := range about {
			lines = append(lines, place.Line(l, look.Base))
		}
		p.caption.Set(lines...)
	}
	var names [][]place.Span
	for _, l := range v.RibbonName {
		names = append(names, place.Line(l, look.Base))
	}
	p.ribbonName.Set(names...)
	switch {
	case v.Mode == present.TableEmpty:
		p.frame.Empty = words.FrameComes
	case v.Frame.Picture:
		p.frame.Empty = words.PictureComing
	default:
		p.frame.Empty = words.NoPicture
	}
}

func (p *Place) setSetup() {
	s := p.view.Setup
	p.setup.Set([]place.Span{{Text: s.Heading, Role: look.Heading}, {Text: s.Subject, Role: look.Input}})
	lights := s.Lights
	if p.draft != nil {
		lights = p.draft.lights
	}
	p.editor.Lights, p.editor.Background = slices.Clone(lights), s.Background
	p.editor.Selected = min(p.editor.Selected, max(len(lights)-1, 0))
	p.editor.Refresh()
	p.notes.Set(place.Line(s.Notes, look.Note))
	p.moveKey.Word = p.lightWord()
	p.moveKey.Refresh()
}

func (p *Place) lightWord() string {
	if p.view.Setup.ID == 0 {
		return words.LogFirstSetup
	}
	if a, ok := p.ask(); ok {
		return a.Words
	}
	return words.LightMoved
}

func (p *Place) arrangeAgain() {
	if w, h, g := place.Grid(p.body); w > 0 && h > 0 {
		p.arrange(w, h, g)
	}
}

// Measures of the Table in px at scale 1, from the sentence down.
const (
	sideWidth  float32 = 336 // the column of the setup
	ribbonFoot float32 = 140 // where the picture begins below a ribbon
	keysHeight float32 = 52
)

// arrange lays the Table out.
func (p *Place) arrange(w, h float32, g look.Grid) {
	right := w - g.Margin
	place.Put(p.trials.body, 0, 0, w, h)
	narrow := g.Column == 0
	p.ribbon.Drawing.Height = parts.RibbonLarge
	top, foot := ribbonFoot, g.Margin
	if narrow {
		p.ribbon.Drawing.Height = parts.RibbonOpened
		top, foot = 112, 0
	}
	place.Put(p.ribbon.Drawing, g.ContentX, -2, right-g.ContentX, p.ribbonHeight())
	p.ribbonName.Put(g.Margin, 37, g.Column)
	p.setCaption(g)
	if !p.ribbon.Drawing.Visible() {
		top = 0
	}
	side := sideWidth
	if narrow {
		side = 364
	}
	sideX := right - side
	box := fyne.NewSize(sideX-look.Space32-g.ContentX, h-top-foot)
	if narrow {
		p.caption.Put(g.ContentX, top+18, box.Width)
		place.Put(p.frame, g.ContentX, top+28, box.Width, box.Height-28)
	} else {
		p.caption.Put(g.Margin, top+15, g.Column)
		place.Put(p.frame, g.ContentX, top, box.Width, box.Height)
	}
	p.setup.Put(sideX, top+15, side)
	if p.field != nil {
		high := p.field.MinSize().Height / look.Current().Scale
		if p.trials.body.Visible() {
			place.Put(p.field, g.ContentX, h-high+look.Space8, right-g.ContentX, high) // below the last figures
		} else {
			place.Put(p.field, sideX, top-6, side, high)
		}
	}
	p.editor.Narrow = narrow || h-top < 560
	need := p.editor.MinSize().Height / look.Current().Scale
	place.Put(p.editor, sideX, top+36, side, need)
	p.narrow = narrow
	keys := !narrow && p.editor.Visible() && p.draft == nil
	for _, w := range []*parts.KeyWord{p.moveKey, p.textKeys[0], p.textKeys[1]} {
		show(w, keys)
		w.Off = p.field != nil // the field takes what is typed
		w.Refresh()
	}
	keysTop := h - foot
	if keys {
		keysTop -= keysHeight
	}
	x := sideX
	for _, w := range p.textKeys {
		wide := w.MinSize().Width / look.Current().Scale
		place.Put(w, x, keysTop, wide, 22)
		x += wide + look.Space24
	}
	place.Put(p.moveKey, sideX, keysTop+30, side, 22)
	notesTop := top + 36 + need
	p.notes.Put(sideX, notesTop+16, side)
	show(p.notes, p.editor.Visible() && p.draft == nil && notesTop+p.notes.HeightFor(side) < keysTop)
	p.load()
}

func (p *Place) ribbonHeight() float32 {
	return p.ribbon.Drawing.MinSize().Height / look.Current().Scale
}

// load asks for the newest frame's picture at the pixels that are there for it. The
// one before stays until it comes.
func (p *Place) load() {
	k := p.h.Pixels()
	size := p.frame.Size()
	want := pictures.Want{Fingerprint: p.view.Frame.Fingerprint, W: int(size.Width * k), H: int(size.Height * k)}
	if p.proofShown() {
		want = pictures.Want{Proof: p.view.Proof.Key, W: want.W, H: want.H}
	}
	defer p.trace(want)
	if want == p.asked {
		return
	}
	p.asked = want
	p.shots.Begin()
	p.overlay = pictures.Want{}
	if want.Proof == "" && (want.Fingerprint == "" || !p.view.Frame.Picture) {
		p.setPicture("", nil)
		return
	}
	p.shots.Want(want, func(img *image.RGBA, err error) {
		if err != nil {
			p.frame.Empty = words.NoPicture
			img = nil
		}
		p.setPicture(want.Fingerprint, img)
	})
}

// trace draws the sharp parts over the picture that is shown, or takes them away.
func (p *Place) trace(want pictures.Want) {
	want.Sharp = true
	if !p.traced || want.Fingerprint == "" || !p.view.Frame.Picture {
		want = pictures.Want{}
	}
	if want == p.overlay {
		return
	}
	p.overlay, p.frame.Overlay = want, nil
	p.frame.Refresh()
	if want.Fingerprint == "" {
		return
	}
	p.shots.Want(want, func(img *image.RGBA, err error) {
		if err == nil && want == p.overlay {
			p.frame.Overlay = img
			p.frame.Refresh()
		}
	})
}

// traceOrNot shows the sharp parts, or no longer.
func (p *Place) traceOrNot() {
	p.traced = !p.traced
	p.load()
	p.h.Say()
}

func (p *Place) setPicture(fp string, img *image.RGBA) {
	p.shown = fp
	p.frame.Picture = img
	p.frame.Refresh()
}

// Actions are the keys of the Table.
func (p *Place) Actions() []place.Action {
	switch {
	case p.field != nil:
		return nil
	case p.draft != nil:
		return p.draftActions()
	}
	if _, on := p.drawing.On(); on {
		return p.drawing.Actions()
	}
	out := []place.Action{
		place.Or(place.Does(p.lightWord(), p.begin, "L"), "G"),
		place.Does(words.SubjectField, p.typeSubject, "S"),
		place.Does(words.NotesField, p.typeNotes, "N"),
	}
	if p.narrow {
		for i := range out {
			out[i].Margin = true // there is no room for them beside the plan
		}
	}
	if _, ok := p.ask(); ok {
		out = append(out, place.Does(words.NotMoved, p.notMoved, place.KeyEscape))
	}
	if p.view.Mode == present.TableFrame {
		out = append(out, p.frameActions()...)
	}
	if p.view.Mode == present.TableTrials {
		out[0].Margin = true
		out = append(out, p.trials.actions()...)
	}
	return append(out, p.recallActions()...)
}

// frameActions are the keys of the frame that is shown.
func (p *Place) frameActions() []place.Action {
	trace := words.SharpParts
	if p.traced {
		trace = words.SharpPartsOff
	}
	fp := p.view.Frame.Fingerprint
	if p.proofShown() {
		return []place.Action{
			place.InMargin(place.Does(words.Lower(p.view.Frame.Heading), p.proofOrNot, "P")),
			p.blendAction(),
		}
	}
	proof := place.Does(words.ShowProof, p.proofOrNot, "P")
	proof.Margin = p.stack()
	return []place.Action{
		proof,
		p.blendAction(),
		place.Or(place.InMargin(place.Does(words.LookClosely, p.lookClosely, "Z")), "Y"),
		place.InMargin(place.Does(trace, p.traceOrNot, "T")),
		place.InMargin(place.Does(words.WantedArea, func() { p.drawing.Begin(p.snap, fp) }, "W")),
		place.Does(words.WantAll, func() { p.drawing.All(p.snap, fp) }, place.KeyDelete),
	}
}

// begin opens the lights to be moved, from where they were logged last.
func (p *Place) begin() {
	lights := slices.Clone(p.view.Setup.Lights)
	if len(lights) == 0 {
		lights = []session.Light{present.AnotherLight(nil)}
	}
	p.edit(lights)
}

func (p *Place) edit(lights []session.Light) {
	p.draft = &draft{lights: lights}
	p.refresh()
	p.h.Say()
	p.h.Focus(p.editor)
}

// moved follows a light being moved; moving one begins a draft.
func (p *Place) moved(lights []session.Light) {
	if p.draft == nil {
		p.draft = &draft{lights: lights}
		defer p.refreshAfter()
	}
	p.draft.lights = lights
	// The editor asks for an Enter of its own to end a move by keys. Here Enter logs
	// the whole plan, so each step is ended at once.
	p.editor.FocusLost()
	p.editor.FocusGained()
}

// refreshAfter shows that a draft has begun.
func (p *Place) refreshAfter() {
	p.refresh()
	p.h.Say()
}

func (p *Place) draftActions() []place.Action {
	out := []place.Action{
		{Keys: []place.Key{place.KeyEnter}, Also: []place.Key{place.KeySpace}, Word: words.DraftLog, Do: p.log, Margin: true, Strong: true},
		place.InMargin(place.Does(words.DraftLeave, p.leaveDraft, place.KeyEscape)),
		place.InMargin(place.Does(words.DraftAdd, p.addLight, "A")),
		place.InMargin(place.Does(words.DraftKind, p.nextKind, "K")),
		place.InMargin(place.Does(words.DraftDiffuser, p.diffuse, "M")),
		place.InMargin(place.Does(words.DraftRemove, p.removeLight, place.KeyDelete)),
		place.InMargin(place.Does(words.DraftNumbers, p.typeNumbers, "N")),
		place.Does(words.DraftRound, nil, place.KeyLeft, place.KeyRight),
		place.Does(words.DraftFar, nil, place.KeyUp, place.KeyDown),
		place.Does(words.DraftHigh, nil, place.KeyPageUp, place.KeyPageDown),
		place.Does(words.DraftNext, nil, place.KeyTab),
	}
	if p.view.Setup.ID != 0 {
		out = append(out, place.InMargin(place.Does(words.DraftCorrect, p.correct, "E")))
	}
	return out
}

// log keeps the draft as a new setup, that holds from the next frame on.
func (p *Place) log() {
	s := p.last()
	s.ID = 0
	s.Lights = p.draft.lights
	p.keep(s)
}

// correct keeps the draft as what the setup had been all along.
func (p *Place) correct() {
	s := p.last()
	s.Lights = p.draft.lights
	p.keep(s)
}

// last is the setup on the table, the zero one when none was logged.
func (p *Place) last() session.Setup {
	if n := len(p.snap.Setups); n > 0 {
		s := p.snap.Setups[n-1]
		s.Tags = slices.Clone(s.Tags)
		return s
	}
	return session.Setup{}
}

func (p *Place) keep(s session.Setup) {
	from := p.answered()
	if s.ID != 0 {
		from = "" // what is corrected holds where it held
	}
	p.leaveDraft()
	p.h.Run(func(ctx context.Context, d place.Desk) error { return logFrom(ctx, d, s, from) })
}

func (p *Place) leaveDraft() {
	p.draft = nil
	p.h.Focus(nil)
	p.refresh()
	p.h.Say()
}

// change does something with the light that is selected.
func (p *Place) change(fn func(lights []session.Light, i int) []session.Light) {
	lights := slices.Clone(p.draft.lights)
	p.draft.lights = fn(lights, min(p.editor.Selected, max(len(lights)-1, 0)))
	p.setSetup()
	p.arrangeAgain()
	p.h.Say()
}

func (p *Place) addLight() {
	p.change(func(lights []session.Light, _ int) []session.Light {
		p.editor.Selected = len(lights)
		return append(lights, present.AnotherLight(lights))
	})
}

func (p *Place) removeLight() {
	p.change(func(lights []session.Light, i int) []session.Light {
		if len(lights) == 0 {
			return lights
		}
		return slices.Delete(lights, i, i+1)
	})
}

func (p *Place) nextKind() {
	p.change(func(lights []session.Light, i int) []session.Light {
		if i < len(lights) {
			at := slices.Index(session.LightKinds, lights[i].Kind)
			lights[i].Kind = session.LightKinds[(at+1)%len(session.LightKinds)]
		}
		return lights
	})
}

func (p *Place) diffuse() {
	p.change(func(lights []session.Light, i int) []session.Light {
		if i < len(lights) {
			if lights[i].Modifier == words.Diffuser {
				lights[i].Modifier = ""
			} else {
				lights[i].Modifier = words.Diffuser
			}
		}
		return lights
	})
}

func (p *Place) typeSubject() {
	p.open(words.SubjectHint, p.view.Setup.Subject, func(s *session.Setup, text string) { s.Subject = text })
}

func (p *Place) typeNotes() {
	p.open(words.NotesHint, p.view.Setup.Notes, func(s *session.Setup, text string) { s.Notes = text })
}

// open lets a text of the setup be typed over its heading; Enter keeps it.
func (p *Place) open(hint, text string, set func(*session.Setup, string)) {
	p.closeField()
	p.field = parts.NewInput(look.Input, hint, text)
	p.field.Entry.OnEnter = func(typed string) {
		s := p.last()
		set(&s, typed)
		p.closeField()
		if typed == text {
			return
		}
		p.h.Run(func(ctx context.Context, d place.Desk) error {
			return d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s})
		})
	}
	p.field.Entry.OnEscape, p.field.Entry.Keep = p.closeField, true
	p.body.Add(p.field)
	p.setup.Hide()
	p.arrangeAgain()
	p.h.Focus(p.field.Entry)
	p.h.Say()
}

func (p *Place) closeField() {
	if p.field == nil {
		return
	}
	p.body.Remove(p.field)
	p.field = nil
	p.h.Focus(nil)
	p.refresh()
	p.h.Say()
}

// choose puts the light of a trial on the table again.
func (p *Place) choose(t present.Trial) {
	if len(t.Setup.Lights) == 0 {
		p.h.Tell(words.TrialNoLight)
		return
	}
	s := p.last()
	if s.ID == t.SetupID {
		p.h.Tell(words.TrialStands)
		p.typeWhy(t)
		return
	}
	s.ID = 0
	s.Lights = slices.Clone(t.Setup.Lights)
	p.h.Run(func(ctx context.Context, d place.Desk) error {
		return d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s})
	})
	p.typeWhy(t)
}

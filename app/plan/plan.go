// Package plan is the place before the shot: which aperture, how many frames, how far
// apart, and how the stack that was shot compares. The arithmetic is in
// session/optics, what is said of it in app/present.
package plan

import (
	"context"
	"fmt"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/optics"
)

// keepSensor is where the sensor is kept from one start to the next for as long as there
// is no frame to tell the camera by; what belongs to a camera or lens is kept in the log.
const keepSensor = "plan.sensor"

// Place is the place Plan.
type Place struct {
	h     *place.Host
	snap  *desk.Snapshot
	known present.PlanKnown
	asked present.PlanAsked
	view  present.Plan
	// touched are the fields that were typed in; the others follow the session.
	touched [present.PlanFields]bool
	last    present.PlanField // that the keys were in
	alike   string            // what was used last time
	alikeM  float64           // the magnification that was looked for
	alikeS  string            // and the subject
	gen     uint64            // of the search, so that a late answer is dropped
	lens    string            // the name of the lens planned with, "" for one without
	changed bool              // something was typed since the keys came into the field
	untold  bool              // a circle of confusion was chosen before there was a log

	body     *fyne.Container
	planning *fyne.Container
	fields   [present.PlanFields]*field
	rows     *rows
	side     *side
	asks     *asked
	sideName *place.Label
	ribbon   *parts.Ribbon
	depth    *place.Label
	problems *place.Label
	caution  *parts.Caution
	// otherLights are those that the light's own line has no room for.
	otherLights *place.Label
	// remembered says which inputs come from what was told before.
	remembered *place.Label
	all        []*parts.Caution // every caution, where the drawing stands
	makers     *place.Label     // what belongs under them
	showAll    bool
	foot       *place.Label
	measure    *measure
	// The caps of keys that the row below has no room for in a small window, beside what
	// they change.
	sharpKey, measureKey, cautionKey *parts.KeyWord
}

// New makes the place.
func New(h *place.Host) *Place {
	p := &Place{
		h: h, snap: &desk.Snapshot{}, last: present.PlanFieldWidth, side: newSide(), sideName: place.NewLabel(),
		ribbon: parts.NewRibbon(parts.RibbonOpened), depth: place.NewLabel(), problems: place.NewLabel(),
		caution: parts.NewCaution(""), foot: place.NewLabel(),
		makers: place.NewLabel([]place.Span{{Text: words.Of(optics.Deference), Role: look.Note}}),
	}
	p.remembered, p.otherLights = place.NewLabel(), place.NewLabel()
	p.otherLights.Wrap = true
	p.problems.Wrap, p.makers.Wrap, p.remembered.Wrap = true, true, true
	p.asks = newAsked(&p.asked.Text)
	p.rows = newRows(func(i int) { p.h.Focus(nil); p.choose(i) })
	p.planning = container.New(place.Layout(p.arrange), p.rows.drawing, p.side.drawing, p.asks.drawing, p.sideName, p.ribbon, p.depth, p.problems, p.caution, p.remembered, p.otherLights, p.makers, p.foot)
	p.sharpKey = parts.NewKeyWord("K", "", p.nextConvention)
	p.measureKey = parts.NewKeyWord("M", "", func() { p.measure.start() })
	p.cautionKey = parts.NewKeyWord("C", "", p.turnCautions)
	for _, key := range []*parts.KeyWord{p.sharpKey, p.measureKey, p.cautionKey} {
		p.planning.Add(key)
	}
	for i := range p.fields {
		f := p.newField(present.PlanField(i))
		p.fields[i] = f
		p.planning.Add(f.name)
		p.planning.Add(f.computed)
		p.planning.Add(f.input)
	}
	p.measure = newMeasure(p)
	p.body = container.NewStack(p.planning, p.measure.body)
	p.measure.body.Hide()
	p.restore()
	p.view = present.PlanOf(p.asked)
	p.refresh()
	return p
}

// restore takes up what was kept.
func (p *Place) restore() {
	p.asked.Size = present.PlanFieldWidth
	p.asked.Text[present.PlanSensor] = fyne.CurrentApp().Preferences().StringWithFallback(keepSensor, words.PlanSensorHint)
	p.asked.Convention, _ = present.ConventionOf(session.Circle{})
}

// Body is the drawing.
func (p *Place) Body() fyne.CanvasObject { return p.body }

// Sentence is the plan in a sentence.
func (p *Place) Sentence() present.Sentence {
	if p.measure.open {
		return p.measure.sentence()
	}
	return p.view.Sentence
}

// KeysBelow: the margin holds the inputs' names.
func (p *Place) KeysBelow() bool { return true }

// Leave ends measuring.
func (p *Place) Leave() { p.measure.close() }

// Show takes in what the session tells: what was not typed follows it.
func (p *Place) Show(s *desk.Snapshot) {
	p.snap, p.known = s, present.PlanKnownOf(s)
	p.asked.PixelsWide, p.asked.PixelsHigh = p.known.PixelsWide, p.known.PixelsHigh
	p.asked.Words = p.known.Words
	sized := p.touched[present.PlanFieldWidth] || p.touched[present.PlanMagnification] || p.touched[present.PlanDistance]
	if p.known.Text[present.PlanMagnification] != "" && !sized {
		p.asked.Size = present.PlanMagnification
	}
	for i, text := range p.known.Text {
		if text != "" && !p.touched[i] && !p.fields[i].focused {
			p.asked.Text[i] = text
		}
	}
	if !p.touched[present.PlanLens] {
		p.lens = p.known.Lens
	}
	switch {
	case p.untold && s.Session.ID != 0:
		p.untold = false
		p.tellCircle()
	case !p.touched[present.PlanSharp] && !p.fields[present.PlanSharp].focused:
		p.asked.Convention, p.asked.Text[present.PlanSharp] = present.ConventionOf(p.known.Gear.Circle)
	}
	p.measure.show()
	p.update()
}

// typed takes in what was typed into a field.
func (p *Place) typed(at present.PlanField, text string) {
	p.touched[at] = true
	p.asked.Text[at] = text
	p.changed = true
	switch at {
	case present.PlanFieldWidth, present.PlanMagnification, present.PlanDistance:
		p.asked.Size = at
	case present.PlanSensor:
		if p.known.Model == "" {
			fyne.CurrentApp().Preferences().SetString(keepSensor, text)
		}
	case present.PlanSharp:
		p.asked.Convention = ""
		if text == "" {
			p.asked.Convention, _ = present.ConventionOf(session.Circle{})
		}
	}
	p.update()
}

// left remembers what was typed into a field, once the keys have gone elsewhere.
func (p *Place) left(at present.PlanField) {
	if !p.changed {
		return
	}
	p.changed = false
	news := present.PlanNewsOf(p.asked, p.known, p.lens, at)
	switch {
	case news.Camera != nil:
		p.touched[at] = false // the frames of this camera tell it from now on
		p.h.Run(func(ctx context.Context, d place.Desk) error { return d.RememberCamera(ctx, *news.Camera) })
	case news.Lens != nil:
		p.h.Run(func(ctx context.Context, d place.Desk) error { return d.RememberLens(ctx, *news.Lens) })
	case news.Circle != nil:
		p.tellCircle()
	}
	if news.Words != "" {
		p.h.Tell(news.Words)
	}
}

// tellCircle has the log remember the circle of confusion, and the stacks judged by it.
func (p *Place) tellCircle() {
	c := present.CircleAsked(p.asked)
	p.untold = p.snap.Session.ID == 0
	p.h.Run(func(ctx context.Context, d place.Desk) error { return d.RememberCircle(ctx, c) })
}

// update reckons anew and shows it.
func (p *Place) update() {
	p.view = present.PlanOf(p.asked)
	if !p.view.Ready {
		p.asked.FNumber = 0
	}
	p.findAlike()
	p.refresh()
	p.h.Say()
}

// findAlike looks in the log for what was used last time, off the UI goroutine.
func (p *Place) findAlike() {
	m := present.MagnificationAsked(p.asked)
	if math.IsNaN(m) || m == p.alikeM && p.known.Subject == p.alikeS {
		return
	}
	p.alikeM, p.alikeS = m, p.known.Subject
	queries := present.AlikeQueries(p.known.Subject, m)
	p.gen++
	gen, onTable, log := p.gen, p.known.SetupID, p.h.Log
	go func() {
		text := ""
		for _, q := range queries {
			// A log that cannot be searched says so in Setups.
			if r, err := log.Find(context.Background(), q); err == nil && text == "" {
				text = present.Alike(r.Setups, onTable)
			}
		}
		p.h.Deliver(func() {
			if gen == p.gen {
				p.alike = text
				p.refresh()
			}
		})
	}()
}

// refresh shows the view.
func (p *Place) refresh() {
	v := &p.view
	inField := false
	for i, f := range p.fields {
		inField = inField || f.focused
		in := v.Inputs[i]
		if !in.Reckoned && in.Computed == "" && !f.focused {
			rest := f.fit(p.asked.Text[i])
			if f.at == present.PlanLight {
				p.otherLights.Set()
				if rest != "" {
					p.otherLights.Set(place.Line(rest, look.Base))
				}
			}
		}
		f.show(in)
	}
	p.rows.view, p.rows.choosing, p.side.view = v, !inField && v.Ready, v
	var side [][]place.Span
	for i, line := range v.Side.Words {
		side = append(side, []place.Span{{Text: line, Role: look.Base, Faint: i > 0}})
	}
	p.sideName.Set(side...)
	p.depth.Set()
	if v.Ready {
		p.depth.Set(place.Line(words.NearFar, look.Base), []place.Span{{Text: v.Side.Depth, Role: look.Base, Faint: true}})
	}
	var wrong [][]place.Span
	for _, problem := range v.Problems[min(len(v.Problems), 1):] { // the sentence says the first
		wrong = append(wrong, place.Line(fmt.Sprintf(words.PlanProblemF, present.Capital(problem.Name), problem.Words), look.Base))
	}
	if v.Note != "" {
		wrong = append(wrong, place.Line(v.Note, look.Note))
	}
	p.problems.Set(wrong...)
	p.remembered.Set()
	if text := present.PlanRemembered(p.asked, p.known, p.lens); text != "" {
		p.remembered.Set([]place.Span{{Text: text, Role: look.Note, Faint: true}})
	}
	p.caution.Words = ""
	if len(v.Cautions) > 0 {
		p.caution.Words = v.Cautions[0]
	}
	p.setAll()
	var foot [][]place.Span
	if against := present.AgainstPlan(p.snap, p.asked, *v); against != "" {
		foot = append(foot, []place.Span{{Text: words.PlanShot, Role: look.Name}, {Text: against, Role: look.Base}})
	}
	if p.alike != "" {
		foot = append(foot, []place.Span{{Text: words.PlanLastTime, Role: look.Name}, {Text: p.alike, Role: look.Base}})
	}
	p.foot.Set(foot...)
	p.planning.Refresh()
	if w, h, g := place.Grid(p.body); w > 0 && h > 0 {
		p.arrange(w, h, g)
	}
}

// setAll makes the list of every caution, where it is shown.
func (p *Place) setAll() {
	for _, c := range p.all {
		p.planning.Remove(c)
	}
	p.all = nil
	if p.showAll = p.showAll && p.view.Ready && len(p.view.Cautions) > 0; !p.showAll {
		return
	}
	for _, text := range p.view.Cautions {
		c := parts.NewCaution(text)
		p.all = append(p.all, c)
		p.planning.Add(c)
	}
}

// Actions are the keys of the place.
func (p *Place) Actions() []place.Action {
	if p.measure.open {
		return p.measure.actions()
	}
	v := &p.view
	// What is least needed comes first: a small window lists the last ones.
	fill := place.InMargin(place.Does(words.PlanFill, func() { p.into(p.next()) }, "F"))
	out := []place.Action{
		place.InMargin(place.Does(fmt.Sprintf(words.PlanSharpKeyF, v.Convention), p.nextConvention, "K")),
		place.InMargin(place.Does(words.PlanMeasure, p.measure.start, "M")),
	}
	if n := len(p.known.Lenses); n > 1 || n == 1 && p.known.Lenses[0].Name != p.lens {
		out = append(out, place.Does(words.PlanNextLens, p.nextLens, "L"))
	}
	if !v.Ready {
		fill.Strong = true
		return append(out, fill)
	}
	if n := len(v.Cautions); n > 0 {
		word := fmt.Sprintf(words.PlanCautionsF, n)
		if n == 1 {
			word = words.PlanCaution
		}
		if p.showAll {
			word = words.PlanCautionsUp
		}
		out = append(out, place.InMargin(place.Does(word, p.turnCautions, "C")))
	}
	take := place.InMargin(place.Does(words.PlanTake, p.take, place.KeyEnter))
	take.Strong = true
	return append(out, fill,
		place.Does(words.PlanFromRow, nil, place.KeyUp, place.KeyDown),
		place.Does("", func() { p.choose(v.Chosen - 1) }, place.KeyUp),
		place.Does("", func() { p.choose(v.Chosen + 1) }, place.KeyDown),
		place.Does(words.PlanBest, func() { p.choose(v.Recommended) }, place.KeyHome),
		take,
	)
}

// turnCautions shows every caution in place of the drawing, or the drawing again.
func (p *Place) turnCautions() {
	p.showAll = !p.showAll
	p.refresh()
	p.h.Say()
}

// into gives the keys to a field.
func (p *Place) into(at present.PlanField) {
	f := p.fields[at]
	show(f.input, true)
	p.h.Focus(f.input.Entry)
	f.input.Entry.CursorColumn = len([]rune(f.input.Entry.Text))
	f.input.Entry.Refresh()
}

// next is the field to fill in next: one that is missing, or the last one.
func (p *Place) next() present.PlanField {
	for _, f := range []present.PlanField{p.asked.Size, present.PlanDepth} {
		if p.asked.Text[f] == "" {
			return f
		}
	}
	if len(p.view.Problems) > 0 {
		return p.view.Problems[0].Field
	}
	return p.last
}

// choose takes another aperture than the recommended one.
func (p *Place) choose(row int) {
	if row < 0 || row >= len(p.view.Rows) {
		return
	}
	p.asked.FNumber = p.view.Rows[row].FNumber
	if row == p.view.Recommended {
		p.asked.FNumber = 0
	}
	p.update()
}

// nextConvention goes through the ways to choose the circle of confusion; one that
// needs what is not known is passed over.
func (p *Place) nextConvention() {
	at := -1
	for i, c := range optics.Conventions {
		if c.Key == p.asked.Convention {
			at = i
		}
	}
	at = (at + 1) % len(optics.Conventions)
	if optics.Conventions[at].Key == "pixels2" && p.asked.PixelsWide == 0 {
		at = (at + 1) % len(optics.Conventions)
	}
	p.asked.Convention = optics.Conventions[at].Key
	p.touched[present.PlanSharp] = true
	p.tellCircle()
	p.update()
}

// nextLens goes through the lenses that the log knows, from the one in use on.
func (p *Place) nextLens() {
	at := slices.IndexFunc(p.known.Lenses, func(l present.PlanLensKnown) bool { return l.Name == p.lens })
	l := p.known.Lenses[(at+1)%len(p.known.Lenses)]
	p.touched[present.PlanLens] = true
	p.lens, p.asked.Text[present.PlanLens] = l.Name, l.Text
	p.update()
	p.h.Tell(l.Name)
}

// take has the Table reckon with the plan, and goes there.
func (p *Place) take() {
	p.h.Planned = present.PlannedOf(p.view, p.snap)
	p.h.Go(place.Table)
}

// keepMagnification makes a measured magnification the given size, and remembers it
// with the setup on the table.
func (p *Place) keepMagnification(m float64) {
	p.typed(present.PlanMagnification, present.PlainMagnification(m))
	setup, ok := p.snap.Setup(p.known.SetupID)
	if !ok {
		return
	}
	before := setup
	setup.Magnification = &m
	if frame, found := p.snap.Frame(p.snap.Newest); found && setup.Lens == "" {
		setup.Lens = frame.Meta.Lens
	}
	edit := session.Edit{Kind: session.EditSetup, Setup: &setup, Before: &before, Words: fmt.Sprintf(words.MeasuredF, present.PlainMagnification(m)), Made: p.h.Now()}
	p.h.Run(func(ctx context.Context, d place.Desk) error { return d.Edit(ctx, edit) })
}

// Measures of the place in px at scale 1.
const (
	fieldBase    float32 = 30
	fieldPitch   float32 = 31
	narrowPitch  float32 = 29
	tableX       float32 = 456
	narrowTableX float32 = 284
	capRoom      float32 = 30 // of a key's cap at the end of a line
	ribbonHigh   float32 = 66
	sideLeast    float32 = 96
	sideMost     float32 = 260
)

// arrange lays the place out: what goes in on the left, the table and the curve on the
// right, the side view and the planned ribbon below.
func (p *Place) arrange(w, h float32, g look.Grid) {
	narrow := g.Column == 0
	left, value, width, x, pitch := g.Margin, g.ContentX, float32(244), tableX, fieldPitch
	if narrow {
		names := float32(0) // as wide as they are in the language: the values have what is left
		for _, f := range p.fields {
			names = max(names, place.TextWidth(f.said, look.Base)+look.Space16)
		}
		names = min(names, 120)
		value, width, x, pitch = g.Margin+names, 240-names, narrowTableX, narrowPitch
	}
	// The longest of what is typed has the whole column in a small window, below its name.
	long := narrow && fieldBase+float32(len(p.fields)+1)*pitch+look.LineStep*float32(len(p.foot.Lines)) <= h && len(p.problems.Lines) == 0
	base := fieldBase
	for _, f := range p.fields {
		wide := width
		for at, key := range map[present.PlanField]*parts.KeyWord{present.PlanSharp: p.sharpKey, present.PlanMagnification: p.measureKey} {
			if show(key, narrow); narrow && at == f.at {
				wide -= capRoom
				place.Put(key, value+wide+5, base-inputRise, capRoom, 22)
			}
		}
		if long && (f.at == present.PlanExposure || f.at == present.PlanLight) {
			f.putBelow(left, base, base+look.LineStep, value+width-left)
			base += look.LineStep
		} else {
			f.put(left, value, base, wide)
		}
		base += pitch
	}
	below := base - pitch + look.Space16
	right := w - g.Margin

	// From below: the foot, the planned ribbon, the side view, then as many rows as there
	// is room for.
	bottom := h
	if n := float32(len(p.foot.Lines)); n > 0 {
		p.foot.Put(g.ContentX, bottom-8-look.LineStep*(n-1), right-g.ContentX)
		bottom -= look.LineStep*n + look.Space8
	}
	foot := bottom
	ready := p.view.Ready
	sideH := float32(0)
	if !narrow && !p.showAll {
		sideH = min(max(h*0.21, sideLeast), sideMost)
		// In a low window it gives way to the inputs, which stand beside its nearest part.
		ribbonTop := bottom - p.ribbon.MinSize().Height/look.Current().Scale
		if room := ribbonTop - below; room < sideH {
			sideH = room
			if sideH < sideLeast {
				sideH = 0
			}
		}
	}
	drawn := ready && !p.showAll
	show(p.rows.drawing, !narrow || !p.showAll)
	show(p.ribbon, drawn)
	show(p.depth, drawn && !narrow)
	show(p.side, drawn && sideH > 0)
	show(p.sideName, p.side.Visible())
	show(p.makers, p.showAll)
	p.rows.narrow = narrow
	ribbonX, ribbonW := g.ContentX+cameraRoom-8, right-g.ContentX-cameraRoom-plateRoom+16
	if narrow {
		ribbonX, ribbonW = x, right-x
	}
	p.ribbon.Data = ribbonOf(&p.view, narrow)
	p.ribbon.Refresh()
	ribbonH := p.ribbon.MinSize().Height / look.Current().Scale
	bottom -= ribbonH
	place.Put(p.ribbon, ribbonX, bottom, ribbonW, ribbonH)
	p.depth.Put(g.Margin, bottom+34, g.Column)
	if sideH > 0 {
		bottom -= sideH
		place.Put(p.side, g.ContentX, bottom+look.Space8, right-g.ContentX, sideH)
		p.sideName.Put(g.Margin, bottom+22, g.Column)
		bottom -= look.Space16
	}
	if p.showAll {
		bottom = p.arrangeAll(x, right, h, narrow)
	}
	place.Put(p.rows, x, 0, right-x, min(bottom, p.rows.heightFor(max(len(p.view.Rows), 3))))
	p.arrangeAsked(x, right, foot)
	if narrow { // nothing stands below the inputs
		bottom = foot
	}
	if long { // as the light itself
		value, width = left, value+width-left
	}
	below = p.arrangeLights(value, below, width, bottom)
	p.arrangeNotes(left, below, x-left-look.Space24, bottom)
}

// arrangeLights puts the other lights below the inputs where there is room, and gives what is below them.
func (p *Place) arrangeLights(x, y, width, bottom float32) float32 {
	light := p.fields[present.PlanLight]
	if len(p.otherLights.Lines) == 0 || light.focused {
		p.otherLights.Hide()
		return y
	}
	base := y + look.Space16
	if p.rows.narrow {
		base = y + look.Space12
	}
	end := base + p.otherLights.HeightFor(width) - look.LineStep
	on := end <= bottom+look.Space4
	show(p.otherLights, on)
	if !on {
		light.cut(p.asked.Text[present.PlanLight])
		return y
	}
	p.otherLights.Put(x, base, width)
	return end + look.Space12
}

// arrangeAll lays the cautions out in two columns where the drawing stands, and gives
// their upper edge.
func (p *Place) arrangeAll(x, right, bottom float32, narrow bool) float32 {
	if n := float32(len(p.foot.Lines)); n > 0 {
		bottom -= look.LineStep*n + look.Space8
	}
	k := look.Current().Scale
	columns := 2
	if narrow {
		columns = 1
	}
	wide := (right - x - look.Space32*float32(columns-1)) / float32(columns)
	var heights [2]float32
	spots := make([][2]float32, len(p.all))
	for i, c := range p.all {
		col := 0
		if columns == 2 && heights[1] < heights[0] {
			col = 1
		}
		spots[i] = [2]float32{float32(col), heights[col]}
		heights[col] += c.HeightFor(wide*k)/k + look.Space12
	}
	under := p.makers.HeightFor(right - x)
	top := bottom - max(heights[0], heights[1]) - under
	p.makers.Put(x, bottom-under+18, right-x)
	for i, c := range p.all {
		place.Put(c, x+spots[i][0]*(wide+look.Space32), top+spots[i][1], wide, c.HeightFor(wide*k)/k)
	}
	return top - look.Space8
}

// arrangeNotes puts what is wrong, the first caution, and what was remembered below the
// inputs as far as there is room.
func (p *Place) arrangeNotes(x, y, width, bottom float32) {
	k := look.Current().Scale
	wrong := len(p.problems.Lines) > 0
	show(p.problems, wrong)
	if wrong {
		p.problems.Put(x, y+18, width)
		y += p.problems.HeightFor(width)
	}
	high := p.caution.HeightFor(width*k) / k
	show(p.caution, p.caution.Words != "" && !p.showAll && y+high <= bottom+look.Space8)
	place.Put(p.caution, x-3, y, width, high)
	show(p.cautionKey, p.caution.Visible() && p.rows.narrow)
	place.Put(p.cautionKey, x, y+34, capRoom, 22)
	if p.caution.Visible() {
		y += high + look.Space8
	}
	below := y + p.remembered.HeightFor(width)
	show(p.remembered, len(p.remembered.Lines) > 0 && !p.showAll && below <= bottom+look.Space8)
	p.remembered.Put(x, y+18, width)
}

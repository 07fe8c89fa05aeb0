// Package setups is the place where the setup log is searched: by words, by where the
// light stood, by what made it.
package setups

import (
	"context"
	"fmt"
	"image"
	"slices"
	"strconv"
	"strings"

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

// Place is the place Setups.
type Place struct {
	h    *place.Host
	view present.Setups
	// query is what is asked for; gen counts the searches, so that a late answer to an
	// old question is dropped.
	query  session.SetupQuery
	gen    uint64
	setups int // of the session, to search again when one was logged
	failed string

	live  bool                 // a session is open
	found []session.FoundSetup // what the cards show, in their order
	leaf  leaf                 // what lies over the cards, nil when nothing does

	at   int    // card in focus
	pair [2]int // cards laid side by side, as indices; -1 for none

	shots *pictures.Scope

	body    *fyne.Container
	names   []*place.Label
	words   *parts.Input
	wheel   *parts.Wheel
	heights *parts.Choice
	kinds   *parts.Choice
	opening *parts.Input
	cards   *cards
}

// New makes the place.
func New(h *place.Host) *Place {
	p := &Place{h: h, shots: h.Pictures.Scope(), wheel: parts.NewWheel(), pair: [2]int{-1, -1}, setups: -1}
	for _, n := range []string{words.WordsField, words.LightFrom, words.HeightName, words.MadeBy, words.ApertureName} {
		p.names = append(p.names, place.NewLabel(place.Line(n, look.Base)))
	}
	p.words = parts.NewInput(look.Typed, words.WordsHint, "")
	p.opening = parts.NewInput(look.Input, words.Any, "")
	for _, f := range []*parts.Input{p.words, p.opening} {
		f.Entry.OnChanged = func(string) { p.ask() }
		f.Entry.OnEnter = func(string) { h.Focus(nil) }
		f.Entry.OnEscape = func() { h.Focus(nil) }
		f.Entry.OnArrow = func(fyne.KeyName) { h.Focus(nil) }
	}
	p.wheel.OnChange = func([]session.Cell) { p.ask() }
	p.wheel.OnKey, p.wheel.OnRune = p.pass, h.Rune
	p.heights = parts.NewChoice()
	for _, v := range session.Heights {
		p.heights.Options = append(p.heights.Options, parts.Option{Word: string(v)})
	}
	p.kinds = parts.NewChoice()
	p.kinds.Columns = 2
	for _, v := range session.LightKinds {
		p.kinds.Options = append(p.kinds.Options, parts.Option{Word: string(v), Light: v})
	}
	for _, c := range []*parts.Choice{p.heights, p.kinds} {
		c.OnKey, c.OnRune = p.pass, h.Rune
		c.OnChoose = func(i int) {
			c.Options[i].Chosen = !c.Options[i].Chosen
			c.Refresh()
			p.ask()
		}
	}
	p.cards = newCards(p)
	p.body = container.New(place.Layout(p.arrange), p.words, p.wheel, p.heights, p.kinds, p.opening, p.cards.body)
	for _, n := range p.names {
		p.body.Add(n)
	}
	return p
}

// Body is the drawing.
func (p *Place) Body() fyne.CanvasObject {
	if p.leaf != nil {
		return p.leaf.body()
	}
	return p.body
}

// Sentence is the answer.
func (p *Place) Sentence() present.Sentence {
	if p.leaf != nil {
		return p.leaf.sentence()
	}
	if p.failed != "" {
		return present.Sentence{Mark: present.MarkSetups, Headline: words.SearchFailed, WhatToDo: p.failed}
	}
	return p.view.Sentence
}

// Show searches when the place is come to, and when the session has logged a setup.
func (p *Place) Show(s *desk.Snapshot) {
	p.live = s.Session.Dir != ""
	if p.setups != len(s.Setups) || p.gen == 0 {
		p.setups = len(s.Setups)
		p.ask()
	}
}

// KeysBelow: the margin holds the fields' names.
func (p *Place) KeysBelow() bool { return true }

// Leave keeps what was asked, and what lies over the cards.
func (p *Place) Leave() { p.setups = -1 }

// ask searches for what the fields say, off the UI goroutine. The answer that stands
// stays until the new one is there.
func (p *Place) ask() {
	p.query = p.read()
	p.gen++
	gen, q := p.gen, p.query
	go func() {
		r, err := p.h.Log.Find(context.Background(), q)
		p.h.Deliver(func() {
			if gen == p.gen {
				p.answer(q, r, err)
			}
		})
	}()
}

// read copies what is asked out of the fields.
func (p *Place) read() session.SetupQuery {
	q := session.SetupQuery{Words: p.words.Entry.Text}
	for _, side := range session.Sides {
		for _, height := range session.Heights {
			if c := (session.Cell{Side: side, Height: height}); p.wheel.Chosen[c] {
				q.Cells = append(q.Cells, c)
			}
		}
	}
	for i, o := range p.heights.Options {
		if o.Chosen {
			q.Heights = append(q.Heights, session.Heights[i])
		}
	}
	for i, o := range p.kinds.Options {
		if o.Chosen {
			q.Kinds = append(q.Kinds, session.LightKinds[i])
		}
	}
	q.ApertureMin, q.ApertureMax = Apertures(p.opening.Entry.Text)
	return q
}

// Apertures reads a range of f-numbers as people write it: "8", "f/8", "8-11", "f/8 to
// f/11", "8..". What cannot be read is open.
func Apertures(text string) (low, high float64) {
	text = strings.NewReplacer("f/", "", "F/", "", ",", ".", "to", "-", "..", "-", "–", "-").Replace(text)
	from, to, isRange := strings.Cut(text, "-")
	low = number(from)
	if !isRange {
		return low, low
	}
	return low, number(to)
}

func number(s string) float64 {
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil || v <= 0 {
		return 0
	}
	return v
}

func (p *Place) answer(q session.SetupQuery, r session.SetupResults, err error) {
	p.failed = ""
	if err != nil {
		p.failed = present.Failed(err)
		p.h.Say()
		return
	}
	var id int64
	if p.at < len(p.view.Cards) {
		id = p.view.Cards[p.at].ID
	}
	var pair [2]int64
	for i, at := range p.pair {
		if at >= 0 && at < len(p.view.Cards) {
			pair[i] = p.view.Cards[at].ID
		}
	}
	p.view, p.found = present.SetupsOf(q, r, p.h.Now()), r.Setups
	find := func(id int64) int {
		return slices.IndexFunc(p.view.Cards, func(c present.Card) bool { return id != 0 && c.ID == id })
	}
	p.at = max(find(id), 0)
	p.pair = [2]int{find(pair[0]), find(pair[1])}
	p.wheel.Counts = r.Wheel
	p.wheel.Refresh()
	p.refresh()
	p.h.Say()
}

func (p *Place) refresh() {
	p.cards.set()
	p.body.Refresh()
	if w, h, g := place.Grid(p.body); w > 0 && h > 0 {
		p.arrange(w, h, g)
	}
}

// Actions are the keys of the place.
func (p *Place) Actions() []place.Action {
	if p.leaf != nil {
		return p.leaf.actions()
	}
	out := []place.Action{
		place.InMargin(place.Does(words.Find, func() { p.h.Focus(p.words.Entry) }, "F")),
		place.InMargin(place.Does(words.ClearAll, p.clear, "C")),
		place.Does(words.ToWheel, func() { p.h.Focus(p.wheel) }, "W"),
		place.Does(words.ToHeights, func() { p.h.Focus(p.heights) }, "E"),
		place.Does(words.ToKinds, func() { p.h.Focus(p.kinds) }, "K"),
		place.Does(words.ToAperture, func() { p.h.Focus(p.opening.Entry) }, "A"),
	}
	if len(p.view.Cards) == 0 {
		return out
	}
	side := words.LayBeside
	if p.inPair(p.at) {
		side = words.TakeAway
	}
	enter := place.InMargin(place.Does(words.ShowStacks, p.openStacks, place.KeyEnter))
	return append(out, enter,
		place.InMargin(place.Does(words.SetItUp, p.setItUp, "S")),
		place.InMargin(place.Does(side, p.lay, place.KeySpace)),
		place.Does(words.OnTheTable, func() { p.putOnTable(p.found[p.at].Setup, p.view.Cards[p.at].Heading) }, "B"),
		place.Does(words.PrintPage, func() { p.print(p.found[p.at]) }, "P"),
		place.Does(words.FromCard, nil, place.KeyLeft, place.KeyRight, place.KeyUp, place.KeyDown),
		place.Does("", func() { p.move(-1) }, place.KeyLeft),
		place.Does("", func() { p.move(1) }, place.KeyRight),
		place.Does("", func() { p.move(-p.cards.columns()) }, place.KeyUp),
		place.Does("", func() { p.move(p.cards.columns()) }, place.KeyDown),
	)
}

// pass takes the keys that a drawing with the focus has no use for.
func (p *Place) pass(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyEscape {
		p.h.Focus(nil)
		return
	}
	p.h.Key(e)
}

func (p *Place) clear() {
	for _, f := range []*parts.Input{p.words, p.opening} {
		again := f.Entry.OnChanged
		f.Entry.OnChanged = nil // one search for all
		f.Entry.SetText("")
		f.Entry.OnChanged = again
	}
	p.wheel.Chosen = map[session.Cell]bool{}
	p.wheel.Refresh()
	for _, c := range []*parts.Choice{p.heights, p.kinds} {
		for i := range c.Options {
			c.Options[i].Chosen = false
		}
		c.Refresh()
	}
	p.ask()
}

func (p *Place) move(by int) {
	p.at = max(0, min(p.at+by, len(p.view.Cards)-1))
	p.refresh()
	p.h.Say()
}

func (p *Place) inPair(i int) bool { return p.pair[0] == i || p.pair[1] == i }

// lay lays the card in focus beside the one before, or takes it away.
func (p *Place) lay() {
	switch {
	case p.pair[0] == p.at:
		p.pair = [2]int{p.pair[1], -1}
	case p.pair[1] == p.at:
		p.pair[1] = -1
	case p.pair[0] < 0:
		p.pair[0] = p.at
	case p.pair[1] < 0:
		p.pair[1] = p.at
	default:
		p.pair = [2]int{p.pair[1], p.at}
	}
	p.refresh()
	p.h.Say()
}

// setItUp opens the page by which the setup in focus is built again.
func (p *Place) setItUp() { p.openLeaf(newPage(p, p.found[p.at], p.view.Cards[p.at])) }

// print writes a setup's page to a PDF file.
func (p *Place) print(s session.FoundSetup) {
	go func() {
		path, err := p.h.Log.PrintSetup(context.Background(), s)
		p.h.Deliver(func() {
			if err != nil {
				p.h.Tell(present.Failed(err))
				return
			}
			p.h.Tell(fmt.Sprintf(words.PrintedF, path))
		})
	}()
}

// openStacks goes to the stacks shot under the setup in focus.
func (p *Place) openStacks() {
	c := p.view.Cards[p.at]
	if p.h.Show(c.ID) {
		return
	}
	p.h.Tell(present.NotHere(c))
}

// arrange lays the place out: what is asked on the left, the answer on the right.
func (p *Place) arrange(w, h float32, g look.Grid) {
	k := look.Current().Scale
	right := w - g.Margin
	narrow := g.Column == 0
	p.wheel.Narrow = narrow || h < 660
	wheel := p.wheel.MinSize()
	ww, wh := wheel.Width/k, wheel.Height/k
	left := g.ContentX
	least := func(o fyne.CanvasObject) (w, h float32) {
		size := o.MinSize()
		return size.Width / k, size.Height / k
	}
	_, typed := least(p.words)
	wordsWide := float32(312)
	if narrow {
		wordsWide = 208
	}
	place.Put(p.words, left, 2, wordsWide, typed)
	names := []float32{20, 96, 0, 0, 0}
	y := float32(46)
	x := left + 155 - ww/2
	if narrow {
		x = left
	}
	place.Put(p.wheel, x, y, ww, wh)
	y += wh + look.Space8
	for i, o := range []fyne.CanvasObject{p.heights, p.kinds, p.opening} {
		ow, oh := least(o)
		switch {
		case o == p.opening && narrow: // beside the words
			place.Put(o, left+wordsWide+look.Space24, 6, 72, oh)
			continue
		case o == p.heights && narrow: // the wheel alone has them
			o.Hide()
			continue
		case o == p.opening:
			ow = 160
		}
		o.Show()
		place.Put(o, left, y, ow, oh)
		names[2+i] = y + 18
		y += oh + look.Space12
	}
	for i, n := range p.names {
		show(n, !narrow)
		n.Put(g.Margin, names[i], g.Column)
	}
	cardsX := left + 380
	if narrow {
		cardsX = left + 316
	}
	place.Put(p.cards.body, cardsX, 0, right-cardsX, h)
	p.load()
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// load asks for the pictures of the cards in view.
func (p *Place) load() {
	wants := p.cards.wants(p.h.Pixels())
	p.shots.Begin()
	for _, w := range slices.Backward(wants) {
		p.shots.Want(w.want, func(img *image.RGBA, err error) {
			if err != nil {
				w.view.Empty = words.NoPicture
			}
			w.view.Picture = img
			w.view.Refresh()
		})
	}
}

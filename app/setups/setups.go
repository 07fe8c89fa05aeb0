// Package setups is the place where the setup log is searched: by words, by where the
// light stood, by what made it.
package setups

import (
	"context"
	"fmt"
	"image"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
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

	live bool // a session is open
	// onTable is the setup that stands on the table, the zero one when none was logged.
	onTable session.Setup
	found   []session.FoundSetup // what the cards show, in their order
	leaf    leaf                 // what lies over the cards, nil when nothing does

	at   int    // card in focus
	pair [2]int // cards laid side by side, as indices; -1 for none

	shots *pictures.Scope

	body   *fyne.Container
	fields *fields
	cards  *cards
}

// New makes the place.
func New(h *place.Host) *Place {
	p := &Place{h: h, shots: h.Pictures.Scope(), pair: [2]int{-1, -1}, setups: -1}
	p.fields = newFields(h, p.ask, p.note, p.pass)
	p.cards = newCards(p)
	p.body = container.New(place.Layout(p.arrange), p.cards.body)
	for _, o := range p.fields.objects() {
		p.body.Add(o)
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
	s := p.view.Sentence
	if p.cards.paired() {
		s.WhatToDo = present.PairSentence(p.view.Cards[p.pair[0]], p.view.Cards[p.pair[1]])
	}
	return s
}

// Show searches when the place is come to, and when the session has logged a setup.
func (p *Place) Show(s *desk.Snapshot) {
	p.live, p.onTable = s.Session.Dir != "", session.Setup{}
	if n := len(s.Setups); n > 0 {
		p.onTable = s.Setups[n-1]
	}
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
	p.query = p.fields.read(p.h.Now())
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
	p.fields.count(r)
	p.refresh()
	p.h.Say()
	p.judge()
}

// judge has the verdicts on the stacks read, off the UI goroutine, and shown on the cards.
func (p *Place) judge() {
	gen := p.gen
	var ids []int64
	for _, s := range p.found {
		if s.Stacks > 0 {
			ids = append(ids, s.ID)
		}
	}
	if len(ids) == 0 {
		return
	}
	go func() {
		verdicts, err := p.h.Log.VerdictsUnder(context.Background(), ids)
		p.h.Deliver(func() {
			// Without them the cards show the rest: they are found again from the frames.
			if err != nil || gen != p.gen {
				return
			}
			for i := range p.view.Cards {
				p.view.Cards[i].Judge(verdicts[p.view.Cards[i].ID])
			}
			p.refresh()
		})
	}()
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
	f := p.fields
	out := []place.Action{
		place.InMargin(place.Does(words.Find, p.to(f.words.Entry), "F")),
		place.InMargin(place.Does(words.ClearAll, p.clear, "C")),
		place.InMargin(place.Does(p.orderWord(), p.turnOrder, "O")),
		place.Does(words.ToWheel, p.to(f.wheel), "W"),
		place.Does(words.ToHeights, p.to(f.heights), "E"),
		place.Does(words.ToKinds, p.to(f.kinds), "K"),
		place.Does(words.ToModifier, p.to(f.modifier.Entry), "V"),
		place.Does(words.ToAperture, p.to(f.aperture.Entry), "A"),
		place.Does(words.ToShutter, p.to(f.shutter.Entry), "X"),
		place.Does(words.ToSize, p.to(f.size.Entry), "M"),
		place.Does(words.ToDay, p.to(f.day.Entry), "Y"),
		place.Does(words.ToOnly, p.to(f.only), "J"),
		place.Does(words.EarlierSearches, p.searches, "H"),
		place.Does(words.TemplatesKey, p.templates, "T"),
		place.Does(words.WriteDown, p.writeDown, "N"),
		place.Does(words.LogFile, p.logFile, "L"),
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
		place.Does(words.OverDays, p.overDays, "G"),
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

// to gives the keys to a field.
func (p *Place) to(field fyne.Focusable) func() { return func() { p.h.Focus(field) } }

// clear asks for everything again.
func (p *Place) clear() {
	p.fields.set(session.SetupQuery{Order: p.fields.order})
	p.ask()
}

// orders in which the key goes through them.
var orders = []session.SetupOrder{session.OrderBest, session.OrderNewest, session.OrderOldest}

func (p *Place) nextOrder() session.SetupOrder {
	next := orders[(slices.Index(orders, p.fields.order)+1)%len(orders)]
	if next == session.OrderBest && strings.TrimSpace(p.fields.words.Entry.Text) == "" {
		next = session.OrderNewest // without words there is no better or worse
	}
	if next == session.OrderNewest && p.fields.order == session.OrderBest && strings.TrimSpace(p.fields.words.Entry.Text) == "" {
		next = session.OrderOldest // which they are in already
	}
	return next
}

// orderWord says what the key would sort by.
func (p *Place) orderWord() string {
	switch p.nextOrder() {
	case session.OrderNewest:
		return words.ByNewest
	case session.OrderOldest:
		return words.ByOldest
	}
	return words.ByBest
}

func (p *Place) turnOrder() {
	p.fields.order = p.nextOrder()
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
func (p *Place) setItUp() {
	p.note()
	g := newPage(p, p.found[p.at], p.view.Cards[p.at])
	p.openLeaf(g)
	g.findTrial()
}

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
	p.note()
	if p.h.Show(c.ID) {
		return
	}
	p.h.Tell(present.NotHere(c))
}

// arrange lays the place out: what is asked on the left, the answer on the right.
func (p *Place) arrange(w, h float32, g look.Grid) {
	p.fields.arrange(g.ContentX, h, g)
	cardsX := g.ContentX + 380
	if g.Column == 0 {
		cardsX = g.ContentX + 332
	}
	place.Put(p.cards.body, cardsX, 0, w-g.Margin-cardsX, h)
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

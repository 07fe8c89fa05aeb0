package setups

import (
	"fmt"
	"image"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// cards is the answer: at the top the two that are laid side by side, below it as many
// cards as there is room for, the one in focus among them.
type cards struct {
	p     *Place
	body  *fyne.Container
	w, h  float32
	first int // row of cards at the top
	shown []*card
	pair  [2]*half
	table *place.Label // names of what is compared
	more  *place.Label
	sense *wheelSense
	// differ marks the rows in which the two differ: a square before the name.
	differ [pairRows]*canvas.Rectangle
}

func newCards(p *Place) *cards {
	c := &cards{p: p, table: place.NewLabel(), more: place.NewLabel()}
	c.sense = &wheelSense{c: c}
	c.sense.ExtendBaseWidget(c.sense)
	for i := range c.pair {
		c.pair[i] = newHalf()
	}
	for i := range c.differ {
		c.differ[i] = canvas.NewRectangle(look.Ink1.Now())
	}
	c.body = container.New(place.Layout(func(w, h float32, _ look.Grid) {
		c.w, c.h = w, h
		c.set()
		c.p.load() // the cards are new ones
	}))
	return c
}

// wheelSense takes the turns of the mouse's wheel over the cards.
type wheelSense struct {
	widget.BaseWidget
	c *cards
}

// Scrolled goes on by a row.
func (s *wheelSense) Scrolled(e *fyne.ScrollEvent) {
	by := s.c.columns()
	if e.Scrolled.DY > 0 {
		by = -by
	}
	s.c.p.move(by)
}

// CreateRenderer draws nothing.
func (s *wheelSense) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(container.NewWithoutLayout())
}

// paired says whether two cards lie side by side. Where there is no room for more
// beside them, they show while the focus is at one of them.
func (c *cards) paired() bool {
	return c.p.pair[0] >= 0 && c.p.pair[1] >= 0 && (c.w >= smallCards || c.p.inPair(c.p.at))
}

// smallCards is the width below which two cards take all the room.
const smallCards float32 = 700

// columns is how many cards stand in a row.
func (c *cards) columns() int {
	switch {
	case c.w < smallCards:
		return 2
	case c.paired():
		return 4
	}
	return 3
}

// Measures in px at scale 1.
const (
	cardGap   float32 = 24
	rowGap    float32 = 18
	cardWords float32 = 70
	pairTable float32 = 198
	pairRows          = 7
	smallPlan float32 = 22
)

// set makes the cards that are in view.
func (c *cards) set() {
	if c.w == 0 {
		return
	}
	cols := c.columns()
	width := (c.w - cardGap*float32(cols-1)) / float32(cols)
	high := width * 2 / 3
	if c.w < smallCards { // two rows, whatever the height
		high = min(high, (c.h-rowGap-look.Space8)/2-cardWords)
	}
	pitch := high + cardWords + rowGap
	c.body.Objects = []fyne.CanvasObject{c.sense}
	place.Put(c.sense, 0, 0, c.w, c.h)
	top := float32(0)
	if c.paired() {
		top = c.setPair()
		if c.w < smallCards {
			c.shown = nil
			canvas.Refresh(c.body)
			return
		}
	}
	fits := max(1, int((c.h-top-look.Space8+rowGap)/pitch))
	row := c.p.at / cols
	c.first = max(min(c.first, row), row-fits+1)
	n := len(c.p.view.Cards)
	c.first = max(0, min(c.first, (n+cols-1)/cols-fits))
	seen := map[int64]*image.RGBA{} // a card made anew does not flicker
	for _, k := range c.shown {
		seen[k.card.ID] = k.frame.Picture
	}
	c.shown = nil
	for i := c.first * cols; i < n && i < (c.first+fits)*cols; i++ {
		k := newCard(c.p.view.Cards[i], i == c.p.at, c.p.inPair(i), func() { c.tapped(i) })
		k.frame.Picture = seen[k.card.ID]
		x := float32(i%cols) * (width + cardGap)
		y := top + 6 + float32(i/cols-c.first)*pitch
		place.Put(k, x, y, width, high+cardWords)
		c.shown = append(c.shown, k)
		c.body.Objects = append(c.body.Objects, k)
	}
	foot := top + float32(fits)*pitch + 14
	if left := n - (c.first+fits)*cols; left > 0 && foot <= c.h { // else the sentence says how many
		c.more.Set([]place.Span{{Text: fmt.Sprintf(words.MoreBelowF, left), Role: look.Note}})
		c.more.Put(0, foot, c.w)
		c.body.Objects = append(c.body.Objects, c.more)
	}
	canvas.Refresh(c.body)
}

// tapped goes to a card; a second click opens its stacks.
func (c *cards) tapped(i int) {
	if c.p.at == i {
		c.p.openStacks()
		return
	}
	c.p.at = i
	c.p.refresh()
	c.p.h.Say()
}

// setPair lays two cards side by side and gives the height that they take.
func (c *cards) setPair() float32 {
	width := (c.w - cardGap) / 2
	cols := float32(c.columns())
	below := (c.w-cardGap*(cols-1))/cols*2/3 + cardWords + 2*look.Space16 // a row of cards
	if c.w < smallCards {
		below = 0
	}
	high := max(min(width*2/3, c.h-pairTable-below), 120)
	a, b := c.p.view.Cards[c.p.pair[0]], c.p.view.Cards[c.p.pair[1]]
	var names [][]place.Span
	var left, right [][]place.Span
	rows := present.Compare(a, b)
	for _, row := range rows[:min(len(rows), pairRows)] {
		names = append(names, []place.Span{{Text: row.Name, Role: look.Note, Strong: row.Differs}})
		value := func(text string) []place.Span {
			role := look.Base
			if row.Differs {
				role = look.Name
			}
			return []place.Span{{Text: orUnknown(text), Role: role, Faint: !row.Differs}}
		}
		left, right = append(left, value(row.A)), append(right, value(row.B))
	}
	const nameWidth = 110
	values := width - nameWidth/2 - 12
	longest := float32(0)
	for _, side := range [][][]place.Span{left, right} {
		for _, line := range side {
			longest = max(longest, place.TextWidth(line[0].Text, look.Name))
		}
	}
	for i, v := range []struct {
		card   present.Card
		values [][]place.Span
	}{{a, left}, {b, right}} {
		h := c.pair[i]
		h.set(v.card, v.values, i == 0)
		x := float32(i) * (width + cardGap)
		place.Put(h.frame, x, 0, width, high)
		h.title.Put(x, high+26, width-80)
		h.date.Put(x+width-90, high+26, 90)
		k := look.Current().Scale
		size := h.plan.MinSize()
		pw, ph := size.Width/k, size.Height/k
		// Where the window is small the numbers stay and the drawing goes: it is on the card, too.
		if show(h.plan, longest <= values-pw-8); !h.plan.Visible() {
			pw = -8
		}
		if i == 0 {
			place.Put(h.plan, x, high+40, pw, ph)
			h.values.Put(x+pw+8, high+56, values-pw-8)
		} else {
			place.Put(h.plan, x+width-pw, high+40, pw, ph)
			h.values.Put(x+width-values, high+56, values-pw-8)
		}
		h.frame.Focused = c.w < smallCards && c.p.pair[i] == c.p.at
		c.body.Objects = append(c.body.Objects, h.frame, h.title, h.date, h.plan, h.values)
	}
	c.table.Set(names...)
	c.table.Put(c.w/2-nameWidth/2+14, high+56, nameWidth)
	c.body.Objects = append(c.body.Objects, c.table)
	for i, row := range rows[:min(len(rows), pairRows)] {
		c.differ[i].Show()
		if !row.Differs {
			c.differ[i].Hide()
		}
		c.differ[i].FillColor = look.Ink1.Now()
		place.Put(c.differ[i], c.w/2-nameWidth/2+1, high+46+look.LineStep*float32(i), 7, 7)
		c.body.Objects = append(c.body.Objects, c.differ[i])
	}
	return high + pairTable + look.Space16
}

func orUnknown(s string) string {
	if s == "" {
		return words.Unknown
	}
	return s
}

// half is one of the two cards laid side by side.
type half struct {
	frame       *parts.FrameView
	title, date *place.Label
	plan        *parts.LightPlan
	values      *place.Label
	dir, name   string
}

func newHalf() *half {
	h := &half{frame: parts.NewFrameView(), title: place.NewLabel(), date: place.NewLabel(), plan: parts.NewLightPlan(48), values: place.NewLabel()}
	h.date.Right = true
	h.frame.Left = true // above its name
	return h
}

func (h *half) set(c present.Card, values [][]place.Span, right bool) {
	h.title.Set([]place.Span{{Text: c.Heading, Role: look.Card, Strong: true}, {Text: c.Subject, Role: look.Base}})
	h.date.Set([]place.Span{{Text: c.Date, Role: look.Note}})
	h.plan.Lights = c.Lights
	h.plan.Refresh()
	h.plan.Background = c.Background != ""
	h.values.Right = right
	h.values.Set(values...)
	if h.dir != c.Dir || h.name != c.Cover {
		h.frame.Picture = nil
		h.dir, h.name = c.Dir, c.Cover
	}
	h.frame.Empty = coverWords(c)
	h.frame.Refresh()
}

func coverWords(c present.Card) string {
	if c.Cover == "" {
		return words.NoStacksShot
	}
	return words.PictureComing
}

// wanted is a picture and the view that it is for.
type wanted struct {
	view *parts.FrameView
	want pictures.Want
}

// wants are the pictures of what is in view.
func (c *cards) wants(pixels float32) []wanted {
	var out []wanted
	add := func(v *parts.FrameView, card present.Card) {
		if card.Cover == "" {
			return
		}
		size := v.Size()
		out = append(out, wanted{v, pictures.Want{
			Dir: card.Dir, Name: card.Cover, Covers: true,
			W: int(math.Round(float64(size.Width * pixels))), H: int(math.Round(float64(size.Height * pixels))),
		}})
	}
	if c.paired() {
		for i, at := range c.p.pair {
			add(c.pair[i].frame, c.p.view.Cards[at])
		}
	}
	for _, k := range c.shown {
		add(k.frame, k.card)
	}
	return out
}

// card is one setup that was found.
type card struct {
	widget.BaseWidget
	card  present.Card
	frame *parts.FrameView
	plan  *parts.LightPlan
	text  *place.Label
	// What it is of, and beside it the verdict on its stacks: its shape and words.
	subject, state *place.Label
	shape          *parts.SmallShape
	date           *place.Label
	corner         *canvas.Rectangle // marks a card that is laid beside another
	tap            func()
}

func newCard(v present.Card, focused, paired bool, tap func()) *card {
	c := &card{
		card: v, frame: parts.NewFrameView(), plan: parts.NewLightPlan(smallPlan), tap: tap,
		corner:  canvas.NewRectangle(look.Ink1.Now()),
		subject: place.NewLabel(place.Line(v.Subject, look.Base)), state: place.NewLabel(place.Line(v.State, look.Note)),
		shape: parts.NewSmallShape(parts.ShapeOf(v.Verdict)),
		date:  place.NewLabel([]place.Span{{Text: v.Date, Role: look.Note}}),
		text:  place.NewLabel([]place.Span{{Text: v.Heading, Role: look.Name, Strong: true}}, nil, nil),
	}
	c.date.Right, c.state.Right = true, true
	c.shape.Hidden = v.State == ""
	c.frame.Empty = coverWords(v)
	c.frame.OnPoint = func(float64, float64) { tap() }
	for _, l := range []*place.Label{c.text, c.subject, c.state, c.date} {
		l.OnTap = tap // they lie over the card and take its clicks
	}
	c.plan.Lights, c.plan.Background = v.Lights, v.Background != ""
	c.frame.Focused, c.frame.Left = focused, true
	c.corner.Hidden = !paired
	c.ExtendBaseWidget(c)
	return c
}

// shotLine is what was shot and what came of it, of the latter as much as the width has room for.
func shotLine(v present.Card, width float32) []place.Span {
	shot := []place.Span{{Text: v.Aperture, Role: look.Base}, {Text: v.Magnification, Role: look.Base}}
	for _, s := range shot {
		width -= place.TextWidth(s.Text, look.Base) + look.Space12
	}
	for _, came := range []string{v.Came, v.Blended} {
		if place.TextWidth(came, look.Base) <= width {
			return append(shot, place.Span{Text: came, Role: look.Base, Faint: true})
		}
	}
	return shot
}

// Tapped goes to the card.
func (c *card) Tapped(*fyne.PointEvent) { c.tap() }

// CreateRenderer draws the card.
func (c *card) CreateRenderer() fyne.WidgetRenderer { return &cardRenderer{c} }

type cardRenderer struct{ c *card }

func (r *cardRenderer) Layout(size fyne.Size) {
	k := look.Current().Scale
	w, h := size.Width/k, size.Height/k
	c := r.c
	high := h - cardWords
	place.Put(c.frame, 0, 0, w, high)
	plan := c.plan.MinSize()
	place.Put(c.plan, 0, high+8, plan.Width/k, plan.Height/k)
	x := plan.Width/k + 6
	c.text.Put(x, high+22, w-x)
	dw := place.TextWidth(c.card.Date, look.Note) + 2
	show(c.date, place.TextWidth(c.card.Heading, look.Name) <= w-x-dw-look.Space8)
	c.date.Put(w-dw, high+22, dw)
	sw := float32(0)
	if c.card.State != "" {
		// Without room beside the subject the shape alone tells.
		sw = place.TextWidth(c.card.State, look.Note) + 2
		tells := place.TextWidth(c.card.Subject, look.Base) <= w-x-sw-32
		show(c.state, tells)
		if !tells {
			sw = 0
		}
		c.state.Put(w-sw, high+22+look.LineStep, sw)
		place.Put(c.shape, w-sw-24, high+8+look.LineStep, 19, 19)
		sw += 32
	}
	c.subject.Put(x, high+22+look.LineStep, w-x-sw)
	c.text.Lines[2] = shotLine(c.card, w-x)
	c.text.Refresh()
	place.Put(c.corner, 0, high+3, w, 3)
}
func (r *cardRenderer) MinSize() fyne.Size { return fyne.Size{} }
func (r *cardRenderer) Refresh() {
	r.c.corner.FillColor = look.Ink1.Now()
	r.Layout(r.c.Size())
	canvas.Refresh(r.c)
}
func (r *cardRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.c.frame, r.c.plan, r.c.text, r.c.subject, r.c.shape, r.c.state, r.c.date, r.c.corner}
}
func (r *cardRenderer) Destroy() {}

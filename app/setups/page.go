package setups

import (
	"context"
	"fmt"
	"image"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// leaf is what can lie over the cards in the whole window: a setup to build again, a
// subject over its days. Esc goes back to the cards.
type leaf interface {
	body() fyne.CanvasObject
	sentence() present.Sentence
	actions() []place.Action
}

// page is a setup to be built again: a step a sentence, read leaning beside the table,
// the plan drawn as large as the window allows, with the lights that stand so far.
type page struct {
	p     *Place
	found session.FoundSetup
	card  present.Card
	steps []present.Step
	at    int

	root    *fyne.Container
	rows    []*place.Label
	here    *canvas.Rectangle
	count   *place.Label
	about   *place.Label
	plan    *parts.LightPlan
	arc     *parts.SideArc
	picture *parts.FrameView
	shots   *pictures.Scope
	asked   pictures.Want
	// trial is the last test frame shot under the setup: how its light looked by itself.
	trial      *parts.FrameView
	trialName  *place.Label
	trialDir   string
	trialFile  string // "" when none is known
	trialAsked pictures.Want
	trialShots *pictures.Scope
}

func newPage(p *Place, found session.FoundSetup, card present.Card) *page {
	g := &page{
		p: p, found: found, card: card, steps: present.Steps(found), here: canvas.NewRectangle(look.Accent.Now()),
		count: place.NewLabel(), about: place.NewLabel(), plan: parts.NewLightPlan(200), arc: parts.NewSideArc(),
		picture: parts.NewFrameView(), shots: p.h.Pictures.Scope(),
	}
	g.about.Wrap = true
	g.about.Set([]place.Span{{Text: card.Heading, Role: look.Name, Strong: true}, {Text: card.Date, Role: look.Note}},
		place.Line(shortened(found.Notes, 150), look.Note))
	g.plan.Lights, g.arc.Lights = found.Lights, found.Lights
	g.plan.Background = found.Background != ""
	g.picture.Empty = coverWords(card)
	g.trial, g.trialName, g.trialShots = parts.NewFrameView(), place.NewLabel(place.Line(words.TrialOfIt, look.Note)), p.h.Pictures.Scope()
	g.trial.Empty = words.PictureComing
	g.root = container.New(place.Layout(g.arrange), g.here, g.count, g.about, g.plan, g.arc, g.picture, g.trial, g.trialName)
	for i := range g.steps {
		row := place.NewLabel()
		row.OnTap = func() { g.goTo(i) }
		g.rows = append(g.rows, row)
		g.root.Add(row)
	}
	g.set()
	return g
}

func (g *page) body() fyne.CanvasObject { return g.root }

// sentence is the step, short enough that the drawings below keep their room.
func (g *page) sentence() present.Sentence {
	s := g.steps[g.at].Sentence
	s.Headline, s.WhatToDo = shortened(s.Headline, 120), shortened(s.WhatToDo, 240)
	return s
}

// shortened is the beginning of a text, of at most n letters, cut between words where it can be.
func shortened(text string, n int) string {
	r := []rune(text)
	if len(r) <= n {
		return text
	}
	cut := string(r[:n-1])
	if i := strings.LastIndexByte(cut, ' '); i > len(cut)/2 {
		cut = cut[:i]
	}
	return strings.TrimRight(cut, " ,·") + "…"
}

func (g *page) actions() []place.Action {
	next := place.InMargin(place.Does(words.StepNext, func() { g.goTo(g.at + 1) }, place.KeyDown))
	next.Off, next.Strong = g.at == len(g.steps)-1, true
	back := place.Does(words.StepBefore, func() { g.goTo(g.at - 1) }, place.KeyUp)
	back.Off = g.at == 0
	set := place.InMargin(place.Does(words.OnTheTable, g.putOnTable, "B"))
	set.Strong = next.Off
	out := []place.Action{next, back, set, place.InMargin(place.Does(words.PrintPage, g.print, "P"))}
	return append(out,
		place.Does("", next.Do, place.KeyRight, place.KeySpace, place.KeyEnter, place.KeyPageDown),
		place.Does("", back.Do, place.KeyLeft, place.KeyPageUp),
		place.Does("", func() { g.goTo(0) }, place.KeyHome),
		place.Does("", func() { g.goTo(len(g.steps) - 1) }, place.KeyEnd),
		place.InMargin(place.Does(words.BackToCards, g.p.closeLeaf, place.KeyEscape)))
}

func (g *page) goTo(i int) {
	i = max(0, min(i, len(g.steps)-1))
	if i == g.at {
		return
	}
	g.at = i
	g.set()
	g.root.Refresh()
	g.p.h.Say()
}

// set brings the drawings to the step.
func (g *page) set() {
	step := g.steps[g.at]
	g.plan.Held, g.plan.Stood = step.Light, step.Stood
	g.arc.Held, g.arc.Stood = step.Light, step.Stood
	g.plan.Refresh()
	g.arc.Refresh()
	g.count.Set(place.Line(fmt.Sprintf(words.StepOfF, g.at+1, len(g.steps)), look.Base))
}

// findTrial looks for the setup's own light trial, off the UI goroutine.
func (g *page) findTrial() {
	if g.found.Subject == "" {
		return
	}
	fetch(g.p, g, func(ctx context.Context) ([]session.Shot, error) {
		return g.p.h.Log.SubjectOverDays(ctx, g.found.Subject)
	},
		func(shots []session.Shot) {
			for _, s := range shots {
				if s.Setup.ID == g.found.ID && s.Kind == session.KindTest && s.Cover != "" && s.Cover != g.card.Cover {
					g.trialDir, g.trialFile = s.Dir, s.Cover
				}
			}
			g.root.Refresh()
		})
}

// putOnTable logs the setup anew for the session that is open.
func (g *page) putOnTable() { g.p.putOnTable(g.found.Setup, g.card.Heading) }

// print writes the page to a PDF file.
func (g *page) print() { g.p.print(g.found) }

// Measures of the page in px at scale 1.
const (
	stepPitch  float32 = 42
	stepsWide  float32 = 480
	stepsTight float32 = 330 // in a window without a margin column
	pageArc    float32 = 2
)

// arrange lays the page out: the steps on the left, on the right the plan.
func (g *page) arrange(w, h float32, grid look.Grid) {
	k := look.Current().Scale
	narrow := grid.Column == 0
	step := g.steps[g.at]
	wide, role, pitch := stepsWide, look.WhatToDo, stepPitch
	if narrow {
		wide, role, pitch = stepsTight, look.Input, 32
	}
	pitch = min(pitch, max(24, (h-190)/float32(len(g.steps))))
	left, right := grid.ContentX, w-grid.Margin
	y := look.Space24 + look.Space4
	for i, row := range g.rows {
		s := place.Span{Text: g.steps[i].Name, Role: role, Strong: i == g.at, Faint: i < g.at}
		row.Set([]place.Span{s})
		row.Put(left, y, wide-look.Space24)
		if i == g.at {
			x := left - look.Space32
			if narrow {
				x = 0
			}
			g.here.FillColor = look.Accent.Now()
			place.Put(g.here, x, y-15, 20, 14)
		}
		y += pitch
	}
	g.count.Put(grid.Margin, look.Space24, grid.Column)
	show(g.count, !narrow)

	room := right - left - wide
	r := min((room-60)/2/1.16, (h-look.Space8)/2/1.15)
	g.plan.Radius = r
	size := g.plan.MinSize()
	pw, ph := size.Width/k, size.Height/k
	place.Put(g.plan, left+wide+(room-pw)/2, max(0, (h-ph)/2), pw, ph)
	show(g.plan, !step.Look && len(g.found.Lights) > 0)

	// Below the steps the side arc and, while the plan is shown, a small picture.
	g.arc.Scale = pageArc
	if narrow {
		g.arc.Scale = 1
	}
	arc := g.arc.MinSize()
	aw, ah := arc.Width/k, arc.Height/k
	foot := h - look.Space8
	place.Put(g.arc, left, foot-ah, aw, ah)
	show(g.arc, len(g.found.Lights) > 0 && y < foot-ah+look.Space16)
	aboutX := left + aw + look.Space32
	small := fyne.NewSize(min(270, left+wide-aboutX-look.Space16), 170)
	g.about.Put(aboutX, foot-ah+look.Space24+12, left+wide-aboutX-look.Space8)
	show(g.about, y < foot-ah && !narrow)
	if step.Look || len(g.found.Lights) == 0 {
		place.Put(g.picture, left+wide, 0, right-left-wide, h)
		g.picture.Show()
	} else {
		show(g.picture, y < foot-ah-small.Height && !narrow)
		place.Put(g.picture, aboutX, foot-ah-small.Height-look.Space8, small.Width, small.Height)
		show(g.picture, g.picture.Visible() && small.Width > 60)
	}
	trial := step.Look && g.trialFile != "" && !narrow && y < foot-ah-small.Height-look.Space48
	show(g.trial, trial)
	show(g.trialName, trial)
	if trial {
		place.Put(g.trial, aboutX, foot-ah-small.Height-look.Space8, small.Width, small.Height)
		g.trialName.Put(aboutX, foot-ah-small.Height-look.Space16, small.Width)
	}
	g.load()
}

func (g *page) load() {
	k := g.p.h.Pixels()
	if size := g.trial.Size(); g.trial.Visible() {
		want := pictures.Want{Dir: g.trialDir, Name: g.trialFile, W: int(math.Round(float64(size.Width * k))), H: int(math.Round(float64(size.Height * k)))}
		if want != g.trialAsked {
			g.trialAsked = want
			g.trialShots.Want(want, func(img *image.RGBA, err error) {
				if err != nil {
					g.trial.Empty = words.NoPicture
				}
				g.trial.Picture = img
				g.trial.Refresh()
			})
		}
	}
	size := g.picture.Size()
	want := pictures.Want{
		Dir: g.card.Dir, Name: g.card.Cover, Covers: true,
		W: int(math.Round(float64(size.Width * k))), H: int(math.Round(float64(size.Height * k))),
	}
	if g.card.Cover == "" || !g.picture.Visible() || want == g.asked {
		return
	}
	g.asked = want
	g.shots.Begin()
	g.shots.Want(want, func(img *image.RGBA, err error) {
		if err != nil {
			g.picture.Empty = words.NoPicture
		}
		g.picture.Picture = img
		g.picture.Refresh()
	})
}

// putOnTable logs a setup anew, as what stands on the table from the next frame on.
func (p *Place) putOnTable(s session.Setup, heading string) {
	if !p.live {
		p.h.Tell(words.NoSession)
		return
	}
	s = s.Again()
	p.h.Run(func(ctx context.Context, d place.Desk) error {
		if err := d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s}); err != nil {
			return err
		}
		p.h.Deliver(func() { p.h.Tell(fmt.Sprintf(words.PutOnTableF, heading)) })
		return nil
	})
}

// openLeaf lays something over the cards.
func (p *Place) openLeaf(l leaf) {
	p.h.Focus(nil)
	p.leaf = l
	p.h.Say()
}

func (p *Place) closeLeaf() {
	p.leaf = nil
	p.refresh()
	p.h.Say()
}

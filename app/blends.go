package app

import (
	"context"
	"image"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session/desk"
)

// blends is the queue of blends as the window shows it. It lives on over changes of place and of
// session. Its fields belong to the UI goroutine.
type blends struct {
	w     *App
	queue *desk.BlendQueue
	seen  map[int]bool // those whose end was told
	shown *sheet       // the list, where it lies over the place
	news  chan struct{}

	following sync.WaitGroup
}

// longBlend is from when on the end of a blend is also told outside the window: somebody may
// have gone to do something else.
const longBlend = 30 * time.Second

// tellEvery bounds how often the queue's progress is drawn.
const tellEvery = 250 * time.Millisecond

func newBlends(w *App) *blends {
	b := &blends{w: w, seen: map[int]bool{}, news: make(chan struct{}, 1)}
	b.queue = desk.NewBlendQueue(func() {
		select {
		case b.news <- struct{}{}:
		default:
		}
	}, func(ctx context.Context, frames []string, file string) error {
		return w.o.Log.RecordBlend(ctx, frames, file, w.o.Now())
	})
	b.following.Go(b.follow)
	return b
}

// close stops the blends and waits until they have stopped. The app's context has ended.
func (b *blends) close() {
	b.queue.Close()
	b.following.Wait()
}

// follow brings the queue's news to the window, a few times a second at most.
func (b *blends) follow() {
	for {
		select {
		case <-b.news:
			b.w.do(b.look)
		case <-b.w.ctx.Done():
			return
		}
		select {
		case <-time.After(tellEvery):
		case <-b.w.ctx.Done():
			return
		}
	}
}

// look shows how the queue stands, and tells of what has come to its end.
func (b *blends) look() {
	if b.w.ctx.Err() != nil {
		return
	}
	for _, q := range b.queue.List() {
		if q.Ended.IsZero() || b.seen[q.ID] {
			continue
		}
		b.seen[q.ID] = true
		if q.Err == nil && q.Ended.Sub(q.Began) >= longBlend {
			b.w.app.SendNotification(fyne.NewNotification(words.Program, present.BlendTold(q)))
		}
		if b.w.cover == nil || b.w.cover != b.shown {
			b.w.told = present.BlendTold(q)
		}
	}
	if b.shown != nil && b.w.cover == b.shown {
		b.show()
		return
	}
	b.w.say()
}

// action is the key of the queue, where there is something in it.
func (b *blends) action() (place.Action, bool) {
	word := present.QueueWord(b.queue.List())
	if word == "" {
		return place.Action{}, false
	}
	return place.InMargin(place.Does(word, b.show, "Q")), true
}

// show lists the queue.
func (b *blends) show() {
	list := b.queue.List()
	said, queued := present.Queue(list, time.Now())
	lines := make([]parts.Line, len(queued))
	for i, q := range queued {
		lines[i] = parts.Line{Name: q.Name, Text: q.Text, Shape: queueShapes[q.State], Bar: q.State == present.QueueAtWork, Share: float32(q.Share)}
	}
	scroll := scrolled{parts.NewLines(lines)}.object()
	if was := b.shown; was != nil && b.w.cover == was {
		scroll.Offset = was.scrolls[0].Offset // it is drawn anew while it is read
	}
	s := &sheet{said: said, body: scroll, scrolls: []*container.Scroll{scroll}}
	for _, q := range list {
		if q.Running() {
			s.actions = append(s.actions, place.InMargin(place.Does(words.QueueStop, func() { b.queue.Stop(q.ID) }, "X")))
		}
	}
	if b.queue.Busy() > 1 {
		s.actions = append(s.actions, place.InMargin(place.Does(words.QueueStopRest, func() {
			for i := len(list) - 1; i >= 0; i-- { // the last first, so that none begins meanwhile
				b.queue.Stop(list[i].ID)
			}
		}, place.KeyDelete)))
	}
	if done := present.LastBlended(list); done != "" {
		s.actions = append(s.actions, place.InMargin(place.Does(words.OpenBlend, func() { b.w.openOutside(done) }, "V")))
	}
	if b.queue.Busy() < len(list) {
		s.actions = append(s.actions, place.InMargin(place.Does(words.QueueForget, func() {
			b.queue.Forget()
			if len(b.queue.List()) == 0 {
				b.w.uncover()
			}
		}, "C")))
	}
	s.actions = append(s.actions, place.InMargin(place.Does(words.Back, b.w.uncover, place.KeyEscape, "Q")))
	b.shown, b.w.cover = s, s
	b.w.say()
}

// queueShapes are drawn before the blends of the queue; the words say the same.
var queueShapes = map[present.QueueState]parts.Shape{
	present.QueueWaits: parts.ShapeArea, present.QueueAtWork: parts.ShapeHold, present.QueueDone: parts.ShapeFree,
	present.QueueShort: parts.ShapeNotice, present.QueueFailed: parts.ShapeNotice, present.QueueStopped: parts.ShapeNothing,
}

func linesOf(named []present.NamedLine) []parts.Line {
	out := make([]parts.Line, len(named))
	for i, n := range named {
		out[i] = parts.Line{Name: n.Name, Text: n.Text}
	}
	return out
}

// asking is the sheet on which a blend is asked for.
type asking struct {
	b     *blends
	asked present.BlendAsked
	sheet *sheet
	proof *parts.FrameView
	key   string // of the proof that is shown
	lines *parts.Lines
	field *parts.Input
	body  *fyne.Container
	shots *pictures.Scope
	looks int // counts the looks at the disk
	// adding: it is being put into the queue.
	adding bool
}

// ask opens the sheet for a stack.
func (b *blends) ask(group int64) {
	s := b.w.newest()
	if _, err := s.BlendOf(group); err != nil {
		b.w.tell(present.Failed(err))
		return
	}
	a := &asking{b: b, proof: parts.NewFrameView(), lines: parts.NewLines(nil), shots: b.w.pictures.Scope()}
	a.asked = present.BlendAsked{Group: group, Out: present.BlendName(s, group)}
	a.proof.Empty = words.NoProofYet
	a.body = container.New(place.Layout(a.arrange), a.proof, a.lines)
	a.sheet = &sheet{body: a.body, below: true}
	b.w.cover = a.sheet
	a.freely(a.asked.Out)
}

// freely has the blend go to a path, or where a file is there already to one beside it.
func (a *asking) freely(path string) {
	a.asked.Out, a.asked.There = path, false
	a.looking(func() func() {
		free := desk.FreeName(path)
		return func() { a.asked.Out = free }
	})
	a.say()
}

// goesTo has the blend go to a path, and looks whether a file is there already.
func (a *asking) goesTo(path string) {
	a.asked.Out, a.asked.There = path, false
	a.looking(func() func() {
		_, err := os.Lstat(path)
		return func() { a.asked.There = err == nil }
	})
	a.say()
}

// looking looks at the disk off the UI goroutine. What was asked for first and comes last is
// dropped.
func (a *asking) looking(look func() (then func())) {
	a.looks++
	n := a.looks
	a.b.w.later(func(context.Context) func() {
		then := look()
		return func() {
			if n == a.looks {
				then()
				if a.b.w.cover == a.sheet {
					a.say()
				}
			}
		}
	})
}

// Measures of the sheet in px at scale 1.
const (
	askShare float32 = 0.56 // of the width, for the proof
	askGap   float32 = 48
)

func (a *asking) arrange(w, h float32, g look.Grid) {
	top := float32(0)
	x := g.ContentX
	if a.field != nil {
		high := a.field.MinSize().Height / look.Current().Scale
		place.Put(a.field, x, 0, w-x-g.Margin, high)
		top = high + look.Space24
	}
	wide := (w - x - g.Margin) * askShare
	place.Put(a.proof, x, top, wide, h-top-g.Margin)
	x += wide + askGap
	place.Put(a.lines, x, top, w-x-g.Margin, h-top)
	a.load()
}

func (a *asking) load() {
	key := a.b.w.newest().Proofs[a.asked.Group].Key
	size := a.proof.Size()
	if key == "" || key == a.key || size.IsZero() {
		return
	}
	a.key = key
	k := a.b.w.pixels()
	a.shots.Begin()
	a.shots.Want(pictures.Want{Proof: key, W: int(size.Width * k), H: int(size.Height * k)}, func(img *image.RGBA, err error) {
		if err == nil {
			a.proof.Picture = img
			a.proof.Refresh()
		}
	})
}

// say brings the sheet up to date.
func (a *asking) say() {
	w := a.b.w
	var named []present.NamedLine
	a.sheet.said, named = present.BlendSheet(w.newest(), a.asked)
	if a.field != nil {
		a.sheet.said.WhatToDo = words.TypeTodo
	}
	a.sheet.actions = a.actions()
	a.lines.Items = a.b.w.choices(named, map[string]place.Key{
		words.BlendCharacter: "C", words.BlendFormat: "F", words.BlendDepth: "M", words.BlendGoesTo: "N",
	})
	a.lines.Refresh()
	a.body.Refresh()
	w.say()
}

func (a *asking) actions() []place.Action {
	if a.field != nil {
		return []place.Action{} // the field has the keys
	}
	does := func(word string, key place.Key, fn func()) place.Action {
		return place.InMargin(place.Does(word, func() { fn(); a.say() }, key))
	}
	begin := place.InMargin(place.Does(words.BlendNow, a.begin, place.KeyEnter, "B"))
	begin.Strong, begin.Off = true, a.adding
	out := []place.Action{
		begin,
		does(words.BlendChar, "C", a.otherCharacter),
		place.InMargin(place.Does(words.BlendKind, func() {
			next := present.NextFormat(a.asked.Out)
			if a.asked.Replace {
				a.goesTo(next)
			} else {
				a.freely(next)
			}
		}, "F")),
		does(words.BlendMap, "M", func() { a.asked.Depth = !a.asked.Depth }),
		place.InMargin(place.Does(words.BlendWhere, a.typeWhere, "N")),
	}
	if a.asked.There {
		out = append(out, does(words.BlendOver, "O", func() { a.asked.Replace = !a.asked.Replace }))
	}
	return append(out, place.InMargin(place.Does(words.BlendLeave, a.b.w.uncover, place.KeyEscape)))
}

func (a *asking) otherCharacter() {
	a.asked.Character = present.OtherCharacter(a.asked.Character, a.b.w.newest().Proofs[a.asked.Group].Suits)
}

// typeWhere lets the file be typed.
func (a *asking) typeWhere() {
	a.field = parts.NewInput(look.Input, words.BlendWhereHint, a.asked.Out)
	end := func() {
		a.body.Remove(a.field)
		a.field = nil
		a.b.w.focus(nil)
		a.say()
	}
	a.field.Entry.OnEnter = func(text string) {
		end()
		if text = strings.TrimSpace(text); text != "" {
			if !filepath.IsAbs(text) {
				text = filepath.Join(filepath.Dir(a.asked.Out), text)
			}
			a.asked.Replace = false
			a.goesTo(present.WithFormat(text, a.asked.Out))
		}
	}
	a.field.Entry.OnEscape = end
	a.body.Add(a.field)
	a.say()
	a.b.w.focus(a.field.Entry)
}

// begin puts the blend into the queue, unless it could not be written at its end. That is found out
// off the UI goroutine: a drive that is away may take its time to say so.
func (a *asking) begin() {
	w := a.b.w
	s := w.newest()
	j, err := s.BlendOf(a.asked.Group)
	if err != nil {
		a.refused(err)
		return
	}
	j.Out, j.Replace, j.Character = a.asked.Out, a.asked.Replace, a.asked.Character
	if a.asked.Depth {
		j.Depth = present.DepthName(j.Out)
	}
	name := present.StackName(s, a.asked.Group)
	a.adding = true
	a.say()
	w.later(func(context.Context) func() {
		err := a.b.queue.Add(name, j)
		return func() {
			a.adding = false
			if err != nil {
				a.refused(err)
				return
			}
			if w.cover == a.sheet {
				w.uncover()
			}
			w.tell(present.BlendQueued(s, a.asked.Group))
		}
	})
}

func (a *asking) refused(err error) {
	a.say()
	a.b.w.tell(present.BlendRefused(err))
}

// mayQuit asks before blends are stopped; true when there are none.
func (b *blends) mayQuit() bool {
	n := b.queue.Busy()
	if n == 0 {
		return true
	}
	b.w.cover = quitSheet(b.w, present.QuitQuestion(n))
	b.w.say()
	return false
}

// quitSheet asks whether to quit all the same.
func quitSheet(w *App, said present.Sentence) *sheet {
	return &sheet{said: said, body: nothing, actions: []place.Action{
		place.InMargin(place.Does(words.QuitYes, w.leave, "Y")),
		place.InMargin(place.Does(words.QuitNo, w.uncover, place.KeyEscape, "N")),
	}}
}

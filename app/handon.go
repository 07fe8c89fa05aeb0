package app

import (
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session/handoff"
)

// handOn is the sheet on which the stacks are handed on, and the handoff at work, which goes on
// when the sheet is left. Its fields belong to the UI goroutine.
type handOn struct {
	w     *App
	asked present.HandOnAsked
	dir   string // the session that asked.Out was offered for

	plan    *handoff.Plan
	planErr error
	moved   int // files in asked.Out that can be put back
	asking  int // counts what was asked for: an answer to an older question is dropped

	stop        context.CancelFunc // of the handoff at work; nil when none is
	back        bool               // it puts back what was moved
	done, total int
	ended       bool // result and err stand on the sheet until something else is asked for
	result      handoff.Result
	err         error

	shown   *sheet // where it lies over the place
	field   *parts.Input
	list    *parts.Lines // folders, or what was made
	chosen  *parts.Lines
	bar     *canvas.Rectangle
	ground  *canvas.Rectangle
	scrolls []*container.Scroll // of list and chosen
	body    *fyne.Container

	work sync.WaitGroup
}

// prefHandOn holds how stacks were handed on the last time.
const prefHandOn = "handon"

func newHandOn(w *App) *handOn {
	h := &handOn{w: w, asked: present.NewHandOn(), list: parts.NewLines(nil), chosen: parts.NewLines(nil)}
	// Of another version, or none: the first offer stands.
	var kept present.HandOnAsked
	if json.Unmarshal([]byte(w.app.Preferences().String(prefHandOn)), &kept) == nil && kept.As != "" {
		h.asked = kept
	}
	h.bar, h.ground = canvas.NewRectangle(look.Ink1.Now()), canvas.NewRectangle(look.Line.Now())
	h.body = container.New(place.Layout(h.arrange))
	h.scrolls = []*container.Scroll{container.NewVScroll(h.list), container.NewVScroll(h.chosen)}
	return h
}

// close stops what is at work, which puts the stack at work back, and waits for it.
func (h *handOn) close() {
	if h.stop != nil {
		h.stop()
	}
	h.work.Wait()
}

// action is the key that opens the sheet.
func (h *handOn) action() place.Action {
	word := words.HandOn
	if h.stop != nil {
		word = present.HandOnWord(h.done, h.total)
	}
	return place.Does(word, h.show, "H")
}

// show opens the sheet.
func (h *handOn) show() {
	s := h.w.newest()
	if s == nil {
		return
	}
	if h.dir != s.Session.Dir {
		h.dir, h.asked.Out, h.plan, h.ended = s.Session.Dir, present.HandOnFolder(s), nil, h.ended && h.stop != nil
	}
	h.shown = &sheet{body: h.body, below: true, scrolls: h.scrolls}
	h.w.cover = h.shown
	if h.stop == nil && !h.ended {
		h.look()
		return
	}
	h.say()
}

// look works out what would be made now.
func (h *handOn) look() {
	h.asking++
	n, asked, s, d := h.asking, h.asked, h.w.newest(), h.w.desk
	h.ended, h.planErr = false, nil
	h.w.later(func(ctx context.Context) func() {
		o := asked.Options()
		o.Proof = d.Proof
		plan, err := s.PlanHandoff(ctx, asked.Out, o)
		moved := handoff.Moved(asked.Out)
		return func() {
			if n == h.asking {
				h.plan, h.planErr, h.moved = plan, err, moved
				h.say()
			}
		}
	})
	h.say()
}

// on tells whether the sheet lies over the place.
func (h *handOn) on() bool { return h.shown != nil && h.w.cover == h.shown }

// say brings the sheet up to date, or where it was left the key that opens it.
func (h *handOn) say() {
	if !h.on() {
		h.w.say()
		return
	}
	var list, chosen []present.NamedLine
	switch {
	case h.stop != nil:
		h.shown.said = present.HandOnAtWork(h.back, h.done, h.total)
		_, list, chosen = present.HandOnSheet(h.asked, h.plan, nil)
	case h.ended:
		h.shown.said, list = present.HandOnEnded(h.back, h.result, h.err)
	default:
		h.shown.said, list, chosen = present.HandOnSheet(h.asked, h.plan, h.planErr)
	}
	if h.field != nil {
		h.shown.said.WhatToDo = words.TypeTodo
	}
	h.shown.actions = h.actions()
	h.list.Items = linesOf(list)
	h.chosen.Items = h.w.choices(chosen, map[string]place.Key{
		words.HandAs: "A", words.HandPattern: "F", words.HandSidecars: "S", words.HandSheet: "C", words.HandTables: "T", words.HandGoesTo: "N",
		words.HandStacks: "O",
	})
	h.body.Objects = []fyne.CanvasObject{h.scrolls[0], h.scrolls[1]}
	if h.stop != nil {
		h.body.Objects = append(h.body.Objects, h.ground, h.bar)
	}
	if h.field != nil {
		h.body.Objects = append(h.body.Objects, h.field)
	}
	h.body.Refresh()
	h.w.say()
}

// Measures of the sheet.
const (
	handOnShare float32 = 0.42 // of the width, for the folders
	handOnGap   float32 = 32
)

func (h *handOn) arrange(w, high float32, g look.Grid) {
	x, top := g.ContentX, float32(0)
	room := w - x - g.Margin
	switch {
	case h.field != nil:
		fieldHigh := h.field.MinSize().Height / look.Current().Scale
		place.Put(h.field, x, 0, room, fieldHigh)
		top = fieldHigh + look.Space24
	case h.stop != nil:
		place.Put(h.ground, x, 0, room, 4)
		place.Put(h.bar, x, 0, room*float32(h.done)/float32(max(h.total, 1)), 4)
		top = look.Space24
	}
	if len(h.body.Objects) == 0 {
		return
	}
	if len(h.chosen.Items) == 0 {
		place.Put(h.body.Objects[0], x, top, room, high-top)
		place.Put(h.body.Objects[1], x, top, 0, 0)
		return
	}
	wide := room * handOnShare
	place.Put(h.body.Objects[0], x, top, wide, high-top)
	place.Put(h.body.Objects[1], x+wide+handOnGap, top, room-wide-handOnGap, high-top)
}

func (h *handOn) actions() []place.Action {
	leave := place.InMargin(place.Does(words.Back, h.w.uncover, place.KeyEscape))
	switch {
	case h.field != nil:
		return []place.Action{} // the field has the keys
	case h.stop != nil:
		return []place.Action{place.InMargin(place.Does(words.HandStop, func() { h.stop() }, "X")), leave}
	case h.ended:
		out := []place.Action{place.InMargin(place.Does(words.HandAgain, h.look, "H", place.KeyEnter))}
		if h.result.Stacks != nil {
			out = append(out, place.InMargin(place.Does(words.HandOpen, func() { h.w.openOutside(filepath.Dir(h.result.Manifest)) }, "V")))
		}
		return append(append(out, h.backAction()...), leave)
	}
	begin := place.InMargin(place.Does(words.HandNow, h.begin, place.KeyEnter, "H"))
	begin.Strong, begin.Off = true, !present.HandOnMayBegin(h.plan)
	change := func(word string, key place.Key, fn func()) place.Action {
		return place.InMargin(place.Does(word, func() { fn(); h.keep(); h.look() }, key))
	}
	out := []place.Action{
		begin,
		change(words.HandAsOther, "A", h.asked.OtherWay),
		place.InMargin(place.Does(words.HandPatternKey, func() {
			pattern := h.asked.Pattern
			if pattern == "" {
				pattern = handoff.DefaultPattern
			}
			h.typed(pattern, "{"+strings.Join(handoff.Fields, "} {")+"}", func(text string) { h.asked.Pattern = text })
		}, "F")),
		change(words.HandOthersKey, "O", func() { h.asked.Others = !h.asked.Others }),
		change(words.HandXMPKey, "S", h.asked.OtherSidecars),
		change(words.HandSheetKey, "C", h.asked.OtherSheet),
		change(words.HandTablesKey, "T", func() { h.asked.Tables = !h.asked.Tables }),
		place.InMargin(place.Does(words.HandWhereKey, func() {
			h.typed(h.asked.Out, words.HandWhereHint, func(text string) {
				if text = strings.TrimSpace(text); !filepath.IsAbs(text) {
					text = filepath.Join(filepath.Dir(h.dir), text)
				}
				h.asked.Out = text
			})
		}, "N")),
	}
	return append(append(out, h.backAction()...), leave)
}

// backAction puts back what was moved to the folder that is named, where anything was.
func (h *handOn) backAction() []place.Action {
	if h.moved == 0 {
		return nil
	}
	return []place.Action{place.InMargin(place.Does(present.HandOnBackWord(h.moved), h.putBack, "B"))}
}

// typed lets something be typed.
func (h *handOn) typed(text, hint string, take func(text string)) {
	h.field = parts.NewInput(look.Input, hint, text)
	end := func() {
		h.field = nil
		h.w.focus(nil)
		h.say()
	}
	h.field.Entry.OnEnter = func(text string) {
		take(text)
		end()
		h.keep()
		h.look()
	}
	h.field.Entry.OnEscape = end
	h.say()
	h.w.focus(h.field.Entry)
}

// keep remembers what was chosen for the next time.
func (h *handOn) keep() {
	if data, err := json.Marshal(h.asked); err == nil {
		h.w.app.Preferences().SetString(prefHandOn, string(data))
	}
}

// begin does what was planned.
func (h *handOn) begin() {
	if !present.HandOnMayBegin(h.plan) {
		return
	}
	plan := h.plan
	h.run(false, func(ctx context.Context, progress func(done, total int)) (handoff.Result, error) {
		return handoff.Do(ctx, plan, progress)
	})
}

func (h *handOn) putBack() {
	out := h.asked.Out
	h.run(true, func(ctx context.Context, progress func(done, total int)) (handoff.Result, error) {
		return handoff.Undo(ctx, out, progress)
	})
}

// run does something beside whatever else is done in the window, and shows how far it is.
func (h *handOn) run(back bool, fn func(ctx context.Context, progress func(done, total int)) (handoff.Result, error)) {
	var ctx context.Context
	ctx, h.stop = context.WithCancel(h.w.ctx)
	h.back, h.done, h.total, h.ended = back, 0, 0, false
	var told time.Time
	out := h.asked.Out
	h.work.Go(func() {
		r, err := fn(ctx, func(done, total int) {
			if now := time.Now(); now.Sub(told) >= tellEvery {
				told = now
				h.w.do(func() {
					if h.stop != nil {
						h.done, h.total = done, total
						h.say()
					}
				})
			}
		})
		moved := handoff.Moved(out)
		h.w.do(func() {
			h.moved = moved
			h.end(r, err)
		})
	})
	h.say()
}

// end shows what came of it.
func (h *handOn) end(r handoff.Result, err error) {
	h.stop()
	h.stop, h.ended, h.result, h.err, h.plan = nil, true, r, err, nil
	if !h.on() {
		h.w.told = present.HandOnTold(r, err)
	}
	if h.w.ctx.Err() == nil {
		h.say()
	}
}

// mayQuit asks before a handoff is stopped; true when there is none.
func (h *handOn) mayQuit() bool {
	if h.stop == nil {
		return true
	}
	h.w.cover = quitSheet(h.w, present.HandOnQuit())
	h.w.say()
	return false
}

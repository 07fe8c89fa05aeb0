package app

import (
	"net/url"
	"path/filepath"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// welcome is the first start: one thing to do.
func (w *App) welcome() *sheet {
	s := &sheet{said: present.Sentence{Mark: present.MarkPlan, Headline: words.Welcome, WhatToDo: words.WelcomeAdvice}}
	choose := place.Does(words.ChooseFolder, w.chooseFolder, place.KeyEnter)
	choose.Strong = true
	s.actions = []place.Action{choose}
	if w.o.Demo != nil {
		s.actions = append(s.actions, place.Does(words.TryDemo, w.demo, "T"))
	}
	for i, dir := range w.recent() {
		s.actions = append(s.actions, place.Does(present.Recent(dir), func() { w.open(dir) }, place.Key(rune('5'+i))))
	}
	tour := make([]parts.Line, len(placeNames))
	for i, text := range []string{words.TourTable, words.TourStacks, words.TourSetups, words.TourPlan} {
		tour[i] = parts.Line{Name: placeNames[i], Text: text}
	}
	keys, list := columns(keyList{of: s.actions}), parts.NewLines(tour)
	s.body = container.New(place.Layout(func(w, h float32, g look.Grid) {
		place.Put(keys, 0, 0, w, h)
		top := float32(34*len(s.actions)) + look.Space48 + look.Space16
		place.Put(list, g.ContentX, top, w-g.ContentX-g.Margin, h-top)
	}), keys, list)
	return s
}

// keyList is keys with a name above them, which may be "".
type keyList struct {
	name string
	of   []place.Action
}

// How far keys stand apart, below and beside each other: the first that has room for all of them.
var keySteps = [][2]float32{{34, look.Space48}, {28, look.Space32}, {25, look.Space24}, {24, look.Space12}}

// columns lays keys under each other from the content's left edge. A list that is too long for one
// column stands in several of about the same length. What has no word is not listed.
func columns(lists ...keyList) fyne.CanvasObject {
	c := container.New(nil)
	type block struct {
		name *place.Label
		keys []fyne.CanvasObject
	}
	var blocks []block
	for _, list := range lists {
		var b block
		if list.name != "" {
			b.name = place.NewLabel(place.Line(list.name, look.Name))
			c.Add(b.name)
		}
		for _, a := range list.of {
			if a.Word != "" {
				b.keys = append(b.keys, place.KeyWord(a))
			}
		}
		c.Objects = append(c.Objects, b.keys...)
		blocks = append(blocks, b)
	}
	lay := func(w, h float32, g look.Grid, step, gap float32) (end float32) {
		x := g.ContentX
		for _, b := range blocks {
			top := look.Space16
			if b.name != nil {
				b.name.Put(x, top+4, w-x-g.Margin)
				top += 30
			}
			n := len(b.keys)
			fits := max(1, int((h-look.Space16-top-22)/step)+1)
			cols := (n + fits - 1) / fits
			per := (n + max(cols, 1) - 1) / max(cols, 1)
			for from := 0; from < n; from += per {
				wide := float32(0)
				for i, o := range b.keys[from:min(from+per, n)] {
					width := o.MinSize().Width / look.Current().Scale
					place.Put(o, x, top+step*float32(i), width, 22)
					wide = max(wide, width)
				}
				end = x + wide
				x = end + gap
			}
		}
		return end
	}
	c.Layout = place.Layout(func(w, h float32, g look.Grid) {
		for _, s := range keySteps {
			if lay(w, h, g, s[0], s[1]) <= w-g.Margin {
				return
			}
		}
	})
	return c
}

// showKeys lists the keys of the place.
func (w *App) showKeys() {
	lists := []keyList{
		{placeNames[w.current], w.view().Actions()},
		{words.KeysEverywhere, slices.DeleteFunc(w.everywhere(), func(a place.Action) bool { return a.Word == words.AllKeys })},
	}
	under, heading := w.cover, present.KeysOf(placeNames[w.current])
	if under != nil {
		heading, lists[0].name = words.KeysHere, words.KeysOfThis
	}
	back := func() {
		w.cover = under
		w.say()
	}
	for _, list := range lists {
		for i, a := range list.of {
			list.of[i].Strong = false
			list.of[i].Keys = slices.Concat(a.Keys, a.Also)
			list.of[i].Do = func() {
				back()
				if a.Do != nil {
					a.Do()
				}
			}
		}
	}
	w.cover = &sheet{
		said:    present.Sentence{Mark: present.MarkKeys, Headline: heading, WhatToDo: words.KeysAdvice},
		body:    columns(lists...),
		actions: []place.Action{place.InMargin(place.Does(words.Back, back, place.KeyEscape, "?"))},
	}
	w.say()
}

func (w *App) problemCount() int {
	if w.snapshot == nil {
		return 0
	}
	return len(w.snapshot.Notices) + len(w.snapshot.Unreadable)
}

// showProblems lists what could not be read, and what else the session has to say.
func (w *App) showProblems() {
	if w.problemCount() == 0 {
		return
	}
	problems := present.Problems(w.snapshot)
	lines := make([]parts.Line, len(problems))
	for i, p := range problems {
		lines[i] = parts.Line{Name: p.File, Text: present.Notice(p), Shape: parts.ShapeNotice}
	}
	scroll := scrolled{parts.NewLines(lines)}.object()
	w.cover = &sheet{
		said: present.ProblemsSentence(w.snapshot), body: scroll, scrolls: []*container.Scroll{scroll},
		actions: []place.Action{place.InMargin(place.Does(words.Back, w.uncover, place.KeyEscape, "I"))},
	}
	w.say()
}

// choices are lines of what has been chosen on the sheet that lies over the place: where a key
// changes one, it stands beside its name, and a click does the same.
func (w *App) choices(named []present.NamedLine, keys map[string]place.Key) []parts.Line {
	lines := linesOf(named)
	for i, n := range named {
		if k := keys[n.Name]; k != "" && w.cover != nil && place.Can(w.cover.actions, k) {
			lines[i].Key, lines[i].OnTap = string(k), func() { w.press(k) }
		}
	}
	return lines
}

// scrolled is a layout for a list that may be longer than the window: at the content's
// edge, as wide as the content.
type scrolled struct{ list fyne.CanvasObject }

func (s scrolled) object() *container.Scroll { return container.NewVScroll(container.New(s, s.list)) }

// MinSize is the list's height.
func (s scrolled) MinSize([]fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(1, s.list.MinSize().Height+look.Space48*look.Current().Scale)
}

// Layout puts the list into the content.
func (s scrolled) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	k := look.Current().Scale
	w := size.Width / k
	g := look.GridFor(w)
	put(s.list, k, g.ContentX, look.Space8, w-g.ContentX-g.Margin, size.Height/k)
}

// openOutside opens a file or folder in whatever the system has for it.
func (w *App) openOutside(path string) {
	if err := w.app.OpenURL(&url.URL{Scheme: "file", Path: filepath.ToSlash(path)}); err != nil {
		w.tell(present.Failed(err))
	}
}

const maxRecent = 4

// recent gives the folders that were open before, the last one first.
func (w *App) recent() []string { return w.app.Preferences().StringList(prefRecent) }

func (w *App) lastFolder() string {
	if r := w.recent(); len(r) > 0 {
		return filepath.Dir(r[0])
	}
	return ""
}

// The preferences hold how the window was left, and nothing of the sessions.
const (
	prefRecent = "folders"
	prefWidth  = "window.width"
	prefHeight = "window.height"
	prefFull   = "window.full"
	prefPlace  = "place"
	prefDim    = "dim"
)

func (w *App) rememberFolder(dir string) {
	list := []string{dir}
	for _, d := range w.recent() {
		if d != dir && len(list) < maxRecent {
			list = append(list, d)
		}
	}
	w.app.Preferences().SetStringList(prefRecent, list)
}

func (w *App) remember() {
	p := w.app.Preferences()
	if !w.window.FullScreen() {
		size := w.window.Canvas().Size()
		p.SetFloat(prefWidth, float64(size.Width))
		p.SetFloat(prefHeight, float64(size.Height))
	}
	p.SetBool(prefFull, w.window.FullScreen())
	p.SetInt(prefPlace, int(w.current))
	p.SetBool(prefDim, look.Current().Dim)
}

func (w *App) restoreLook() {
	look.Apply(w.app, look.State{Dim: w.app.Preferences().Bool(prefDim), Scale: 1})
}

// titleBar is the room that a desktop takes above and below a window, in pixels: the toolkit does
// not tell it.
const titleBar = 40

// fitScreen makes a window smaller that would reach beyond the screen.
func (w *App) fitScreen() {
	if w.o.Screen == nil || w.window.FullScreen() {
		return
	}
	wide, high := w.o.Screen()
	if wide <= 0 || high <= titleBar {
		return
	}
	scale, size := w.pixels(), w.window.Canvas().Size()
	fits := fyne.NewSize(min(size.Width, float32(wide)/scale), min(size.Height, float32(high-titleBar)/scale))
	if fits != size {
		w.window.Resize(fits)
	}
}

func (w *App) restoreWindow() {
	p := w.app.Preferences()
	w.window.Resize(fyne.NewSize(float32(p.FloatWithFallback(prefWidth, 1440)), float32(p.FloatWithFallback(prefHeight, 900))))
	w.window.SetFullScreen(p.Bool(prefFull))
	if n := p.Int(prefPlace); n > 0 && n < len(w.places) {
		w.current = place.Number(n)
	}
}

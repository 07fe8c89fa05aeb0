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
	keys, list := columns(s.actions), parts.NewLines(tour)
	s.body = container.New(place.Layout(func(w, h float32, g look.Grid) {
		place.Put(keys, 0, 0, w, h)
		top := float32(34*len(s.actions)) + look.Space48 + look.Space16
		place.Put(list, g.ContentX, top, w-g.ContentX-g.Margin, h-top)
	}), keys, list)
	return s
}

// columns lays keys under each other from the content's left edge, a column a list; a
// list that is too long goes on in the next column. What has no word is not listed.
func columns(lists ...[]place.Action) fyne.CanvasObject {
	c := container.New(nil)
	var ends []int
	for _, list := range lists {
		for _, a := range list {
			if a.Word != "" {
				c.Add(place.KeyWord(a))
			}
		}
		ends = append(ends, len(c.Objects))
	}
	c.Layout = place.Layout(func(w, h float32, g look.Grid) {
		x, y, wide := g.ContentX, look.Space16, float32(0)
		for i, o := range c.Objects {
			if slices.Contains(ends, i) || y+22 > h-look.Space24 {
				x, y, wide = x+wide+look.Space48, look.Space16, 0
			}
			width := o.MinSize().Width / look.Current().Scale
			place.Put(o, x, y, width, 22)
			wide = max(wide, width)
			y += 34
		}
	})
	return c
}

// showKeys lists the keys of the place.
func (w *App) showKeys() {
	lists := [][]place.Action{w.view().Actions(), slices.DeleteFunc(w.everywhere(), func(a place.Action) bool { return a.Word == words.AllKeys })}
	under, heading := w.cover, present.KeysOf(placeNames[w.current])
	if under != nil {
		heading = words.KeysHere
	}
	back := func() {
		w.cover = under
		w.say()
	}
	for _, list := range lists {
		for i, a := range list {
			list[i].Strong = false
			list[i].Do = func() {
				back()
				if a.Do != nil {
					a.Do()
				}
			}
		}
	}
	w.cover = &sheet{
		said:    present.Sentence{Headline: heading, WhatToDo: words.KeysAdvice},
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
		lines[i] = parts.Line{Name: p.File, Text: present.Said(p.Sentence)}
	}
	list := parts.NewLines(lines)
	w.cover = &sheet{
		said:    present.ProblemsSentence(w.snapshot),
		body:    scrolled{list}.object(),
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

func (s scrolled) object() fyne.CanvasObject { return container.NewVScroll(container.New(s, s.list)) }

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

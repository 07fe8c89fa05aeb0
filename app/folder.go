package app

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session/desk"
)

// folderSheet is the sheet on which the folder to follow is chosen: its path to be typed, the
// folders there, and those that were followed before.
type folderSheet struct {
	w      *App
	sheet  *sheet
	field  *parts.Input
	inside *parts.Lines // the folders where the path leads
	before *parts.Lines // those that were followed before
	body   *fyne.Container

	dir    string // the folder that is looked into
	asked  bool   // and is being read
	subs   []desk.Subfolder
	frames int
	err    error
}

// chooseFolder asks for the folder to follow.
func (w *App) chooseFolder() {
	f := &folderSheet{w: w, inside: parts.NewLines(nil), before: parts.NewLines(nil)}
	home, _ := os.UserHomeDir() // without one "~" is a name like any other
	from := w.lastFolder()
	if from == "" {
		from = home
	}
	f.field = parts.NewInput(look.Typed, words.FolderHint, present.FolderPath(from, ""))
	f.field.Completes, f.field.Suggest = true, f.suggest
	f.field.Entry.OnChanged = func(text string) {
		if anew, ok := present.FolderAnew(text, home); ok {
			f.field.Set(anew)
		}
	}
	f.field.Entry.OnEnter = f.follow
	f.field.Entry.OnEscape = f.leave
	inside, before := container.NewVScroll(f.inside), container.NewVScroll(f.before)
	f.body = container.New(place.Layout(func(w, h float32, g look.Grid) {
		x, room := g.ContentX, w-g.ContentX-g.Margin
		high := f.field.MinSize().Height / look.Current().Scale
		place.Put(f.field, x, 8, room, high)
		top := high + look.Space48
		wide := room * folderShare
		place.Put(inside, x, top, wide, h-top)
		place.Put(before, x+wide+look.Space48, top, room-wide-look.Space48, h-top)
	}), f.field, inside, before)
	f.sheet = &sheet{body: f.body, below: true, said: present.Sentence{Mark: present.MarkPlan, Headline: words.Welcome, WhatToDo: words.FolderAdvice}}
	f.field.Entry.OnFocus = func(has bool) {
		f.sheet.typing = has
		f.offer()
		w.say()
	}
	w.cover = f.sheet
	f.offer()
	f.say()
	w.say()
	f.typed()
}

// offer gives the keys: letters are keys only while they are not typed into the field.
func (f *folderSheet) offer() {
	follow := place.InMargin(place.Does(words.FolderFollow, func() { f.follow(f.field.Entry.Text) }, place.KeyEnter))
	follow.Strong = true
	f.sheet.actions = []place.Action{follow}
	if !f.sheet.typing {
		f.sheet.actions = append(f.sheet.actions, place.InMargin(place.Does(words.FolderType, f.typed, place.KeyTab, "T")))
	}
	f.sheet.actions = append(f.sheet.actions, place.InMargin(place.Does(words.Back, f.leave, place.KeyEscape)))
}

// folderShare is how much of the width the folders take where the path leads.
const folderShare float32 = 0.5

// typed has the path typed.
func (f *folderSheet) typed() { f.w.focus(f.field.Entry) }

func (f *folderSheet) leave() {
	f.w.focus(nil)
	f.w.uncover()
}

// follow opens a folder.
func (f *folderSheet) follow(path string) {
	path = strings.TrimSpace(path)
	if home, err := os.UserHomeDir(); err == nil && (path == "~" || strings.HasPrefix(path, "~"+string(filepath.Separator))) {
		path = home + path[1:]
	}
	if path == "" {
		return
	}
	f.leave()
	f.w.open(filepath.Clean(path))
}

// goInto puts a folder into the field, to be followed or gone on from.
func (f *folderSheet) goInto(path string) {
	f.field.Set(path)
	f.typed()
}

// suggest gives the folders that could be meant, as far as they are known; they are read meanwhile.
func (f *folderSheet) suggest(typed string) (out []parts.Suggestion) {
	dir, begun := present.FolderTyped(typed)
	if dir != f.dir {
		f.look(dir)
	}
	f.say()
	if f.asked || f.err != nil {
		return nil
	}
	for _, s := range present.FoldersBegun(f.subs, begun) {
		out = append(out, parts.Suggestion{Text: present.FolderPath(dir, s.Name), Note: present.FolderNote(s.Frames)})
	}
	return out
}

// look reads what is in a folder, off the UI goroutine.
func (f *folderSheet) look(dir string) {
	f.dir, f.asked, f.subs, f.frames, f.err = dir, true, nil, 0, nil
	f.w.later(func(ctx context.Context) func() {
		subs, frames, err := desk.Subfolders(ctx, dir)
		return func() {
			if f.dir == dir {
				f.asked, f.subs, f.frames, f.err = false, subs, frames, err
				f.field.SuggestAgain()
				f.say()
			}
		}
	})
}

// say brings the lists up to date.
func (f *folderSheet) say() {
	_, begun := present.FolderTyped(f.field.Entry.Text)
	head := parts.Line{Name: f.dir, Text: present.FolderNote(f.frames)}
	if f.err != nil {
		head.Text = words.FolderAway
	}
	lines := []parts.Line{head}
	if above := filepath.Dir(f.dir); above != f.dir {
		lines = append(lines, parts.Line{Text: words.FolderUp, OnTap: func() { f.goInto(present.FolderPath(above, "")) }})
	}
	subs := present.FoldersBegun(f.subs, begun)
	for _, s := range subs {
		lines = append(lines, parts.Line{Name: s.Name, Text: present.FolderNote(s.Frames), OnTap: func() { f.goInto(present.FolderPath(f.dir, s.Name)) }})
	}
	if len(subs) == 0 && !f.asked && f.err == nil {
		lines = append(lines, parts.Line{Text: words.FolderNone})
	}
	f.inside.Items = lines
	f.before.Items = nil
	for i, dir := range f.w.recent() {
		line := parts.Line{Text: dir, OnTap: func() { f.follow(dir) }}
		if i == 0 {
			f.before.Items = append(f.before.Items, parts.Line{Name: words.FolderBefore})
		}
		f.before.Items = append(f.before.Items, line)
	}
	f.inside.Refresh()
	f.before.Refresh()
	f.body.Refresh()
}

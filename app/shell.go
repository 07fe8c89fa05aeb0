package app

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// shell is what stands round every place: the places' names, the sentence, the keys.
type shell struct {
	w        *App
	root     *fyne.Container
	places   *parts.Places
	sentence *parts.Sentence
	keys     *parts.KeyRows
	body     *fyne.Container
	// bar holds places and keys in a window without a margin column.
	bar   *fyne.Container
	here  *canvas.Rectangle // marks the current place in the bar
	size  fyne.Size
	list  []place.Action // the keys in view
	below bool           // they stand in a row below
}

func newShell(w *App) *shell {
	s := &shell{
		w:        w,
		sentence: parts.NewSentence(),
		keys:     parts.NewKeyRows(),
		body:     container.NewStack(),
		bar:      container.NewWithoutLayout(),
		here:     canvas.NewRectangle(look.Accent.Now()),
	}
	s.places = parts.NewPlaces(placeNames, func(i int) { w.goTo(place.Number(i)) })
	s.root = container.New(s, s.body, s.places, s.sentence, s.keys, s.bar)
	return s
}

var placeNames = []string{words.Table, words.Stacks, words.Setups, words.Plan}

// least is the smallest window, in Fyne's units; smaller than the design's smallest so
// that a window manager's frame fits on such a screen.
var least = fyne.NewSize(960, 560)

// MinSize is part of fyne.Layout.
func (s *shell) MinSize([]fyne.CanvasObject) fyne.Size { return least }

// Layout is part of fyne.Layout: it picks the scale and the grid that go with the size.
func (s *shell) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	resized := s.size != size
	s.size = size
	if resized {
		s.w.rescale(size.Width)
	}
	s.arrange()
	if resized {
		s.say() // which keys are listed goes by the room that a place has
	}
}

// grid is the grid for the window as it is, and the scale.
func (s *shell) grid() (g look.Grid, scale float32) {
	scale = look.Current().Scale
	return look.GridFor(s.size.Width / scale), scale
}

// arrange lays everything out for the size and the sentence.
func (s *shell) arrange() {
	if s.size.IsZero() {
		return
	}
	g, k := s.grid()
	narrow := g.Column == 0
	width := s.size.Width/k - g.ContentX - g.Margin
	s.sentence.Narrow = narrow
	put(s.sentence, k, g.ContentX, g.SentenceY, width, s.sentence.HeightFor(width*k)/k)
	top := max(g.ContentY, g.SentenceY+s.sentence.Size().Height/k+look.Space16)
	bottom := s.size.Height / k
	below := narrow || s.below
	s.places.Hidden, s.keys.Hidden, s.bar.Hidden = narrow, below, !below
	put(s.places, k, 0, 0, g.ContentX-look.Space16, 132)
	if below {
		bottom -= g.Margin + barHeight
		put(s.bar, k, 0, bottom, s.size.Width/k, barHeight+g.Margin)
		s.arrangeBar(g, k, narrow)
		bottom -= look.Space16
	} else {
		s.keys.Fit(bottom-g.Margin-top-captionRoom, false)
		h := s.keys.MinSize().Height / k
		put(s.keys, k, g.Margin, bottom-g.Margin-h, g.ContentX-g.Margin-look.Space8, h)
	}
	put(s.body, k, 0, top, s.size.Width/k, bottom-top)
}

const (
	barHeight float32 = 22
	// captionRoom is the height of what places say above the keys in the margin.
	captionRoom = 8*look.LineStep + look.Space8
)

func put(o fyne.CanvasObject, scale, x, y, w, h float32) {
	o.Move(fyne.NewPos(x*scale, y*scale))
	o.Resize(fyne.NewSize(w*scale, h*scale))
}

// arrangeBar fills the row below. In a window without a margin column the places stand
// at its left and as many keys as there is room for at its right (see fitting); else the keys
// alone.
func (s *shell) arrangeBar(g look.Grid, k float32, narrow bool) {
	s.bar.Objects = nil
	x := g.Margin
	if !narrow {
		room := s.size.Width/k - 2*g.Margin
		gap := look.Space24
		wide, all := make([]float32, len(s.list)), float32(0)
		for i, a := range s.list {
			wide[i] = place.KeyWord(a).MinSize().Width / k
			all += wide[i]
		}
		if all+gap*float32(len(wide)-1) > room { // languages with longer words
			gap = look.Space12
		}
		for i := range wide {
			wide[i] += gap
		}
		for _, i := range fitting(s.list, wide, room+gap) {
			w := place.KeyWord(s.list[i])
			put(w, k, x, 0, wide[i]-gap, barHeight)
			s.bar.Add(w)
			x += wide[i]
		}
		s.bar.Refresh()
		return
	}
	for i, name := range placeNames {
		n := place.Number(i)
		w := parts.NewKeyWord(string(rune('1'+i)), name, func() { s.w.goTo(n) })
		w.Strong = n == s.w.current
		width := w.MinSize().Width / k
		put(w, k, x, 0, width, barHeight)
		if w.Strong {
			s.here.FillColor = look.Accent.Now()
			put(s.here, k, x, barHeight+look.Space4, width, 3)
			s.bar.Add(s.here)
		}
		s.bar.Add(w)
		x += width + look.Space24
	}
	wide := make([]float32, len(s.list))
	for i, a := range s.list {
		wide[i] = place.KeyWord(a).MinSize().Width/k + look.Space24
	}
	right := s.size.Width/k - g.Margin
	from := right + look.Space24
	fits := fitting(s.list, wide, from-x)
	for _, i := range fits {
		from -= wide[i]
	}
	for _, i := range fits {
		w := place.KeyWord(s.list[i])
		put(w, k, from, 0, wide[i]-look.Space24, barHeight)
		s.bar.Add(w)
		from += wide[i]
	}
	s.bar.Refresh()
}

// fitting gives which of the keys stand in a row with so much room, in their order: first the one
// that one would press next, then the one that leads away, then that of all the others, then from the
// first on.
func fitting(list []place.Action, wide []float32, room float32) []int {
	order := make([]int, 0, len(list))
	for i := range list {
		if list[i].Strong {
			order = append(order, i)
		}
	}
	for _, k := range []place.Key{place.KeyEscape, "?"} {
		if i := slices.IndexFunc(list, func(a place.Action) bool { return slices.Contains(a.Keys, k) }); i >= 0 {
			order = append(order, i)
		}
	}
	for i := range list {
		order = append(order, i)
	}
	var in []int
	for _, i := range order {
		if slices.Contains(in, i) {
			continue
		}
		if room < wide[i] {
			continue // a shorter one may still stand there
		}
		room -= wide[i]
		in = append(in, i)
	}
	slices.Sort(in)
	return in
}

// say brings everything up to date with what the window shows.
func (s *shell) say() {
	v := s.w.view()
	said := v.Sentence()
	s.sentence.Shape, s.sentence.Number, s.sentence.Cells = place.Shape(said), said.Number, said.Cells
	s.sentence.Headline, s.sentence.WhatToDo = said.Headline, said.WhatToDo
	if s.w.told != "" {
		s.sentence.WhatToDo = s.w.told
	}
	s.places.Current = int(s.w.current)
	s.list, s.below = s.w.marginKeys(v), v.KeysBelow()
	rows := make([]*parts.KeyWord, len(s.list))
	for i, a := range s.list {
		rows[i] = place.KeyWord(a)
	}
	s.keys.Set(rows...)
	if body := v.Body(); len(s.body.Objects) != 1 || s.body.Objects[0] != body {
		s.body.Objects = []fyne.CanvasObject{body}
		s.body.Refresh()
	}
	s.arrange()
	s.places.Refresh()
	s.sentence.Refresh()
}

// view is what the window shows now: what lies over the place, the first start, or the
// place.
func (w *App) view() view {
	switch {
	case w.cover != nil:
		return w.cover
	case w.opening != "":
		return &sheet{said: present.Sentence{Mark: present.MarkHold, Headline: w.opening, WhatToDo: words.OpeningAdvice}, body: nothing}
	case w.desk == nil && (w.current == place.Table || w.current == place.Stacks):
		return w.welcome()
	}
	return w.places[w.current]
}

var nothing = container.NewWithoutLayout()

// view is the part of a place that the shell draws.
type view interface {
	Sentence() present.Sentence
	Body() fyne.CanvasObject
	Actions() []place.Action
	KeysBelow() bool
}

// sheet is something that lies over a place until a key takes it away.
type sheet struct {
	said    present.Sentence
	body    fyne.CanvasObject
	actions []place.Action
	below   bool // the keys stand in a row below
	typing  bool // a field has the focus: letters are no keys
	more    bool // it has keys that stand on "?" alone
	// scrolls hold what may be longer than the window.
	scrolls []*container.Scroll
}

// scrollBy moves what is longer than the window by a key: by a step, by a window less a step, or to an end. False for any
// other key, and where all is in view.
func (s *sheet) scrollBy(k place.Key) bool {
	did := false
	for _, scroll := range s.scrolls {
		did = scrolledBy(scroll, k) || did
	}
	return did
}

func scrolledBy(s *container.Scroll, k place.Key) bool {
	step := 2 * look.LineStep * look.Current().Scale
	most := s.Content.MinSize().Height - s.Size().Height
	page := max(s.Size().Height-step, step)
	to, ok := map[place.Key]float32{
		place.KeyUp: s.Offset.Y - step, place.KeyDown: s.Offset.Y + step,
		place.KeyPageUp: s.Offset.Y - page, place.KeyPageDown: s.Offset.Y + page, place.KeySpace: s.Offset.Y + page,
		place.KeyHome: 0, place.KeyEnd: most,
	}[k]
	if !ok || most <= 0 {
		return false
	}
	s.ScrollToOffset(fyne.NewPos(0, min(max(to, 0), most)))
	return true
}

func (s *sheet) Sentence() present.Sentence { return s.said }
func (s *sheet) Body() fyne.CanvasObject    { return s.body }
func (s *sheet) Actions() []place.Action    { return s.actions }
func (s *sheet) KeysBelow() bool            { return s.below }

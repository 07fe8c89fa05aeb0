package setups

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// fields are what is asked: words, where the light stood, what made it, what was shot with
// it. Each shows how many setups it would find before it is pressed.
type fields struct {
	words   *parts.Input
	wheel   *parts.Wheel
	heights *parts.Choice
	kinds   *parts.Choice
	only    *parts.Choice
	// Typed ranges; modifier first, in the order in which they stand.
	modifier, aperture, shutter, size, day *parts.Input

	order session.SetupOrder
	names []*place.Label
	found session.SetupResults // the counts
	quiet bool                 // fields are being filled, nothing is searched for
}

// of the choice "only"
const (
	onlyMain = iota
	onlyBlended
)

// newFields makes the fields; ask is called when one of them changes, entered when Enter ends
// what is typed.
func newFields(h *place.Host, ask, entered func(), pass func(*fyne.KeyEvent)) *fields {
	f := &fields{wheel: parts.NewWheel(), heights: parts.NewChoice(), kinds: parts.NewChoice()}
	changed := func() {
		if !f.quiet {
			ask()
		}
	}
	for _, n := range []string{words.WordsField, words.LightFrom, words.HeightName, words.MadeBy, words.ModifierName, words.ShotWith, words.ShotAt, words.Only} {
		f.names = append(f.names, place.NewLabel(place.Line(n, look.Base)))
	}
	f.words = parts.NewInput(look.Typed, words.WordsHint, "")
	for _, at := range []struct {
		field   **parts.Input
		suggest func(string) []parts.Suggestion
	}{
		{&f.modifier, f.modifiers}, {&f.aperture, f.apertures}, {&f.shutter, f.shutters}, {&f.size, f.sizes}, {&f.day, f.days},
	} {
		*at.field = parts.NewInput(look.Base, "", "")
		(*at.field).Suggest = at.suggest
	}
	for _, in := range f.inputs() {
		in.Entry.OnChanged = func(string) { changed() }
		in.Entry.OnEnter = func(string) {
			h.Focus(nil)
			entered()
		}
		in.Entry.OnEscape = func() { h.Focus(nil) }
		in.Entry.OnArrow = func(fyne.KeyName) { h.Focus(nil) }
	}
	f.wheel.OnChange = func([]session.Cell) { changed() }
	f.wheel.OnKey, f.wheel.OnRune = pass, h.Rune
	for _, v := range session.Heights {
		f.heights.Options = append(f.heights.Options, parts.Option{Word: present.Height(v)})
	}
	for _, v := range session.LightKinds {
		f.kinds.Options = append(f.kinds.Options, parts.Option{Word: present.Kind(v), Light: v})
	}
	f.only = parts.NewChoice(parts.Option{Word: words.MainOnly}, parts.Option{Word: words.BlendedOnly})
	for _, c := range f.choices() {
		c.OnKey, c.OnRune = pass, h.Rune
		c.OnChoose = func(i int) {
			c.Options[i].Chosen = !c.Options[i].Chosen
			c.Refresh()
			changed()
		}
	}
	f.hints(false)
	return f
}

func (f *fields) inputs() []*parts.Input {
	return []*parts.Input{f.words, f.modifier, f.aperture, f.shutter, f.size, f.day}
}

func (f *fields) choices() []*parts.Choice { return []*parts.Choice{f.heights, f.kinds, f.only} }

func (f *fields) objects() []fyne.CanvasObject {
	out := []fyne.CanvasObject{f.wheel}
	for _, c := range f.choices() {
		out = append(out, c)
	}
	for _, in := range f.inputs() {
		out = append(out, in)
	}
	for _, n := range f.names {
		out = append(out, n)
	}
	return out
}

// hints are what stands in an empty field.
func (f *fields) hints(narrow bool) {
	for i, name := range []string{words.ModifierName, words.ApertureName, words.ShutterName, words.Magnification, words.DayName} {
		in := f.inputs()[i+1]
		hint := fmt.Sprintf(words.AnyF, name)
		if narrow {
			if hint = name; in == f.size {
				hint = words.SizeName
			}
		}
		if in.Entry.PlaceHolder != hint {
			in.Entry.SetPlaceHolder(hint)
		}
	}
}

// read gives what the fields ask for.
func (f *fields) read(now time.Time) session.SetupQuery {
	q := session.SetupQuery{Words: f.words.Entry.Text, Meaning: present.LightsInEnglish, Order: f.order}
	for _, side := range session.Sides {
		for _, height := range session.Heights {
			if c := (session.Cell{Side: side, Height: height}); f.wheel.Chosen[c] {
				q.Cells = append(q.Cells, c)
			}
		}
	}
	for i, o := range f.heights.Options {
		if o.Chosen {
			q.Heights = append(q.Heights, session.Heights[i])
		}
	}
	for i, o := range f.kinds.Options {
		if o.Chosen {
			q.Kinds = append(q.Kinds, session.LightKinds[i])
		}
	}
	for m := range strings.SplitSeq(f.modifier.Entry.Text, ",") {
		if m = strings.TrimSpace(m); m != "" {
			q.Modifiers = append(q.Modifiers, m)
		}
	}
	q.MainLight, q.Blended = f.only.Options[onlyMain].Chosen, f.only.Options[onlyBlended].Chosen
	a, s, m := present.ReadApertures(f.aperture.Entry.Text), present.ReadShutters(f.shutter.Entry.Text), present.ReadMagnifications(f.size.Entry.Text)
	q.ApertureMin, q.ApertureMax = a.Min, a.Max
	q.ShutterMin, q.ShutterMax = s.Min, s.Max
	q.MagnificationMin, q.MagnificationMax = m.Min, m.Max
	q.Since, q.Until = present.ReadDays(f.day.Entry.Text, now)
	return q
}

// set fills the fields with what a query asks for, without searching.
func (f *fields) set(q session.SetupQuery) {
	f.quiet = true
	defer func() { f.quiet = false }()
	for in, text := range map[*parts.Input]string{
		f.words: q.Words, f.modifier: strings.Join(q.Modifiers, ", "),
		f.aperture: present.Range{Min: q.ApertureMin, Max: q.ApertureMax}.Apertures(),
		f.shutter:  present.Range{Min: q.ShutterMin, Max: q.ShutterMax}.Shutters(),
		f.size:     present.Range{Min: q.MagnificationMin, Max: q.MagnificationMax}.Magnifications(),
		f.day:      present.Days(q.Since, q.Until),
	} {
		in.Entry.SetText(text)
	}
	f.wheel.Chosen = map[session.Cell]bool{}
	for _, c := range q.Cells {
		f.wheel.Chosen[c] = true
	}
	for i := range f.heights.Options {
		f.heights.Options[i].Chosen = slices.Contains(q.Heights, session.Heights[i])
	}
	for i := range f.kinds.Options {
		f.kinds.Options[i].Chosen = slices.Contains(q.Kinds, session.LightKinds[i])
	}
	f.only.Options[onlyMain].Chosen, f.only.Options[onlyBlended].Chosen = q.MainLight, q.Blended
	f.order = q.Order
	f.wheel.Refresh()
	for _, c := range f.choices() {
		c.Refresh()
	}
}

// count shows how many setups each choice would find.
func (f *fields) count(r session.SetupResults) {
	f.found = r
	f.wheel.Counts = r.Wheel
	for i, h := range session.Heights {
		f.heights.Options[i].Note = note(r.Heights[h])
	}
	for i, k := range session.LightKinds {
		f.kinds.Options[i].Note = note(r.Kinds[k])
	}
	f.only.Options[onlyMain].Note, f.only.Options[onlyBlended].Note = note(r.Main), note(r.Blended)
	f.wheel.Refresh()
	for _, c := range f.choices() {
		c.Refresh()
	}
}

func note(n int) string {
	if n == 0 {
		return ""
	}
	return parts.Count(n)
}

// The suggestions of the typed fields: what the log holds, with how many each would find.

func (f *fields) modifiers(typed string) []parts.Suggestion {
	head, last := "", typed
	if i := strings.LastIndex(typed, ","); i >= 0 {
		head, last = typed[:i+1]+" ", strings.TrimLeft(typed[i+1:], " ")
	}
	var out []parts.Suggestion
	for _, m := range f.found.Modifiers {
		if holds(m.Text, last) {
			out = append(out, parts.Suggestion{Text: head + m.Text, Note: note(m.Setups)})
		}
	}
	return out
}

func (f *fields) apertures(typed string) []parts.Suggestion {
	return bands(f.found.Apertures, typed, present.Range.Apertures)
}

func (f *fields) shutters(typed string) []parts.Suggestion {
	return bands(f.found.Shutters, typed, present.Range.Shutters)
}

func (f *fields) sizes(typed string) []parts.Suggestion {
	return bands(f.found.Magnifications, typed, present.Range.Magnifications)
}

func (f *fields) days(typed string) []parts.Suggestion {
	var years []int
	for y := range f.found.Years {
		years = append(years, y)
	}
	slices.Sort(years)
	var out []parts.Suggestion
	for _, y := range slices.Backward(years) {
		if text := strconv.Itoa(y); holds(text, typed) {
			out = append(out, parts.Suggestion{Text: text, Note: note(f.found.Years[y])})
		}
	}
	return out
}

func bands(list []session.Band, typed string, text func(present.Range) string) []parts.Suggestion {
	var out []parts.Suggestion
	for _, b := range list {
		if s := text(present.Range{Min: b.Min, Max: b.Max}); holds(s, typed) {
			out = append(out, parts.Suggestion{Text: s, Note: note(b.Setups)})
		}
	}
	return out
}

// holds says whether a suggestion could be meant by what was typed: nothing asks for all.
func holds(text, typed string) bool {
	return strings.Contains(strings.ToLower(text), strings.ToLower(strings.TrimSpace(typed)))
}

// arrange lays the fields out from the left edge, within the height; it gives the height
// used. What is too high gives way: the wheel, and then the heights in words, which the wheel has as well.
func (f *fields) arrange(left, h float32, g look.Grid) float32 {
	narrow := g.Column == 0
	f.hints(narrow)
	f.kinds.Columns, f.kinds.Gap, f.kinds.Tight = 3, look.Space12, narrow
	f.wheel.Narrow, f.wheel.High = narrow, 0
	f.heights.Hidden = narrow
	lay := f.column
	if narrow {
		f.kinds.Columns, f.kinds.Gap = 2, look.Space32
		lay = f.besideCards
	}
	used := lay(left, g)
	if used > h && !narrow {
		f.wheel.Narrow = true
		used = lay(left, g)
	}
	if used > h {
		f.wheel.High = max(f.wheel.MinSize().Height/look.Current().Scale-(used-h), 1)
		used = lay(left, g)
	}
	if used > h && !narrow {
		f.heights.Hide()
		f.kinds.Tight = true
		used = lay(left, g)
	}
	return used
}

// least is the least size of something in px at scale 1.
func least(o fyne.CanvasObject) (w, h float32) {
	size, k := o.MinSize(), look.Current().Scale
	return size.Width / k, size.Height / k
}

// besideCards lays the fields out in a window without a margin column, and gives the height used.
func (f *fields) besideCards(left float32, _ look.Grid) float32 {
	const top, room = 40, 320
	ww, wh := least(f.wheel)
	_, typed := least(f.words)
	_, ranged := least(f.aperture)
	place.Put(f.words, left, 2, 208, typed)
	place.Put(f.modifier, left+208+look.Space16, 8, 84, ranged)
	place.Put(f.wheel, left+max(room-ww, 0)/2, top, ww, wh)
	y := top + wh
	kw, kh := least(f.kinds)
	place.Put(f.kinds, left, y, kw, kh)
	y += kh - look.Space8
	ow, oh := least(f.only)
	place.Put(f.only, left, y, ow, oh)
	y += oh
	for i, in := range []*parts.Input{f.aperture, f.shutter, f.size, f.day} {
		place.Put(in, left+float32(i)*78, y, 70, ranged)
	}
	for _, n := range f.names {
		n.Hide()
	}
	return y + ranged
}

// column lays the fields out under each other, with their names in the margin, and gives the height used.
func (f *fields) column(left float32, g look.Grid) float32 {
	const wide = 312
	ww, wh := least(f.wheel)
	_, typed := least(f.words)
	_, ranged := least(f.aperture)
	names := f.names
	name := func(base float32) {
		names[0].Show()
		names[0].Put(g.Margin, base, g.Column)
		names = names[1:]
	}
	place.Put(f.words, left, 2, wide, typed)
	name(20)
	y := float32(46)
	place.Put(f.wheel, left+155-ww/2, y, ww, wh)
	name(96)
	y += wh + look.Space4
	for _, c := range []*parts.Choice{f.heights, f.kinds} {
		cw, ch := least(c)
		if c == f.kinds && cw > wide+look.Space32 { // words longer than English ones
			f.kinds.Columns, f.kinds.Gap = 2, look.Space32
			cw, ch = least(c)
		}
		place.Put(c, left, y, cw, ch)
		name(y + 18)
		if c.Hidden {
			f.names[2].Hide()
			continue
		}
		y += ch + look.Space4
	}
	half := float32(wide-look.Space24) / 2
	for _, row := range [][]*parts.Input{{f.modifier}, {f.aperture, f.shutter}, {f.size, f.day}} {
		for i, in := range row {
			w := half
			if len(row) == 1 {
				w = wide
			}
			place.Put(in, left+float32(i)*(half+look.Space24), y, w, ranged)
		}
		name(y + 16)
		y += ranged + look.Space4
		if !f.kinds.Tight {
			y += look.Space4
		}
	}
	ow, oh := least(f.only)
	place.Put(f.only, left, y, ow, oh)
	name(y + 18)
	return y + oh
}

package table

import (
	"context"
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// trials is the light trial: the last test frames side by side at the same size, each
// with its light as logged and what was measured of it.
type trials struct {
	h        *place.Host
	onChoose func(present.Trial)
	shown    []present.Trial
	first    int // of those that are in view, in a window with room for two
	fits     int
	compact  bool // figures in words alone: the pictures need the room
	cols     [3]*trial
	names    []*place.Label
	shots    *pictures.Scope
	body     *fyne.Container
	// figures are what was measured, by the frame and the one before it, and nil while it is
	// being measured.
	figures map[[2]string]*present.LightFigures
}

type trial struct {
	frame  *parts.FrameView
	key    *parts.KeyWord
	where  *place.Label
	plan   *parts.LightPlan
	arc    *parts.SideArc
	shadow *parts.ShareBar
	model  *parts.StepScale
	said   *place.Label // highlights, what is clipped, what changed
	asked  pictures.Want
}

// The radius of a trial's light plan, and the room below the pictures.
const (
	planRadius  float32 = 72
	trialRoom   float32 = 374
	smallRadius float32 = 48 // where it is compact
	leastRadius float32 = 40
	trialIndent float32 = 31 // of the words behind the key's cap
	numberRoom  float32 = 16
	compactRoom float32 = 204
	// besideNames is more room, where the figures have a line each beside their names.
	besideNames float32 = 2 * look.LineStep
	// leastTrial is the height of the pictures below which the drawings of the figures give way to them.
	leastTrial float32 = 200
)

func newTrials(h *place.Host) *trials {
	t := &trials{h: h, shots: h.Pictures.Scope(), fits: 3, figures: map[[2]string]*present.LightFigures{}}
	t.body = container.New(place.Layout(t.arrange))
	for i := range t.cols {
		c := &trial{
			frame: parts.NewFrameView(), key: parts.NewKeyWord("", "", nil), where: place.NewLabel(),
			plan: parts.NewLightPlan(planRadius), arc: parts.NewSideArc(), said: place.NewLabel(),
			shadow: parts.NewShareBar(), model: parts.NewStepScale(present.ModelWords...),
		}
		c.key.Strong, c.frame.Left = true, true
		t.cols[i] = c
		for _, o := range c.objects() {
			t.body.Add(o)
		}
	}
	for _, lines := range [][]string{
		{words.LastTests, words.TestFrames}, {words.LightAsLogged}, {words.InShadow}, {words.ModellingName},
		{words.InHighlight, words.ClippedName, words.ChangeName},
	} {
		l := place.NewLabel()
		for _, s := range lines {
			l.Lines = append(l.Lines, place.Line(s, look.Base))
		}
		t.names = append(t.names, l)
		t.body.Add(l)
	}
	return t
}

func (c *trial) objects() []fyne.CanvasObject {
	return append(c.drawings(), c.frame, c.key, c.where, c.plan, c.said)
}

// drawings are what a compact trial says in words alone.
func (c *trial) drawings() []fyne.CanvasObject {
	return []fyne.CanvasObject{c.arc, c.shadow, c.model}
}

func (t *trials) set(shown []present.Trial) {
	t.shown = shown
	t.first = max(min(t.first, len(shown)-t.fits), 0)
	t.fill()
}

// inView are the trials that the columns show.
func (t *trials) inView() []present.Trial {
	return t.shown[t.first:min(t.first+t.fits, len(t.shown))]
}

func (t *trials) fill() {
	view := t.inView()
	t.measure(view)
	for i, c := range t.cols {
		for _, o := range c.objects() {
			show(o, i < len(view))
		}
		for _, o := range c.drawings() {
			show(o, i < len(view) && !t.compact)
		}
		if i >= len(view) {
			c.asked = pictures.Want{}
			continue
		}
		v := view[i]
		c.key.Keys, c.key.Word = []string{v.Key}, v.Title
		c.key.OnTap = func() { t.onChoose(v) }
		c.key.Refresh()
		var lines [][]place.Span
		for j, s := range v.Where {
			lines = append(lines, []place.Span{{Text: s, Role: look.Base, Faint: j == len(v.Where)-1}})
		}
		c.where.Set(lines...)
		c.plan.Lights = v.Setup.Lights
		c.plan.Refresh()
		c.arc.Lights = v.Setup.Lights
		c.arc.Refresh()
		t.say(c, t.first+i)
		c.frame.Empty = words.PictureComing
	}
}

// pair names a trial's frame and the one before it, "" for the first.
func (t *trials) pair(i int) [2]string {
	out := [2]string{1: t.shown[i].Fingerprint}
	if i > 0 {
		out[0] = t.shown[i-1].Fingerprint
	}
	return out
}

// measure measures what has not been, off the UI goroutine.
func (t *trials) measure(view []present.Trial) {
	for i := range view {
		key := t.pair(t.first + i)
		if _, known := t.figures[key]; known {
			continue
		}
		t.figures[key] = nil
		t.h.Run(func(ctx context.Context, d place.Desk) error {
			// What cannot be had is shown as not known.
			before, _ := d.Figures(ctx, key[0])
			f, _ := d.Figures(ctx, key[1])
			found := present.LightFiguresOf(before, f)
			t.h.Deliver(func() {
				t.figures[key] = &found
				t.fill()
			})
			return nil
		})
	}
}

// say shows what was measured of a trial.
func (t *trials) say(c *trial, i int) {
	f := t.figures[t.pair(i)]
	if f == nil {
		f = &present.LightFigures{ShadowWords: words.Measuring, Highlight: words.Measuring, Clipped: words.Measuring}
	}
	c.shadow.Share, c.shadow.Words = f.Shadow, f.ShadowWords
	c.model.At, c.model.Words = f.Modelling, f.Model
	c.shadow.Refresh()
	c.model.Refresh()
	change := f.Change
	if i == 0 {
		change = words.FirstOfThem
	}
	if !t.compact {
		c.said.Set(place.Line(f.Highlight, look.Base), place.Line(f.Clipped, look.Base), place.Line(change, look.Base))
		return
	}
	if t.fits == len(t.cols) {
		c.said.Set(place.Line(f.ShadowWords, look.Base), place.Line(f.Model, look.Base),
			place.Line(f.Highlight, look.Base), place.Line(f.Clipped, look.Base), place.Line(change, look.Base))
		return
	}
	named := func(name, value string) []place.Span {
		return []place.Span{{Text: name, Role: look.Base, Faint: true}, {Text: value, Role: look.Base, Strong: true}}
	}
	c.said.Set(
		append(named(words.InShadow, f.ShadowWords), named(words.InHighlight, f.Highlight)...),
		append(named(words.ModellingName, f.Model), named(words.ClippedName, f.Clipped)...),
		named(words.ChangeName, change))
}

// arrange lays the columns out.
func (t *trials) arrange(w, h float32, g look.Grid) {
	fits := 3
	if g.Column == 0 {
		fits = 2
	}
	compact := g.Column == 0 || h-look.Space12-trialRoom < leastTrial
	if fits != t.fits || compact != t.compact {
		t.fits, t.compact = fits, compact
		t.set(t.shown)
	}
	const apart = look.Space24
	width := (w - g.ContentX - g.Margin - apart*float32(fits-1)) / float32(fits)
	radius, room, key := planRadius, trialRoom, float32(36)
	if compact {
		radius, room, key = smallRadius, compactRoom, 12
		if g.Column > 0 {
			room += besideNames
		}
	}
	high := min(width*2/3, h-look.Space12-room)
	below := look.Space12 + high
	longest := float32(0) // of the words beside the plans, which are of one size
	for _, v := range t.inView() {
		for _, line := range v.Where {
			longest = max(longest, place.TextWidth(line, look.Base))
		}
	}
	said := below + room - 54
	if compact && g.Column > 0 {
		said -= besideNames
	}
	for i, c := range t.cols {
		x := g.ContentX + float32(i)*(width+apart)
		place.Put(c.frame, x, look.Space12, width, high)
		place.Put(c.key, x, below+key, width, 22)
		k := look.Current().Scale
		c.plan.Radius = radius
		size := c.plan.MinSize()
		// The plan gives way to the words beside it; its rim's numbers may stand in the space to the next column.
		if over := longest + trialIndent + look.Space4 + size.Width/k - numberRoom - width; over > 0 {
			c.plan.Radius = max(radius-over/2, leastRadius)
			size = c.plan.MinSize()
		}
		planX := x + width + numberRoom - size.Width/k
		c.where.Put(x+trialIndent, below+key+40, planX-x-trialIndent-look.Space4)
		place.Put(c.plan, planX, below+14, size.Width/k, size.Height/k)
		place.Put(c.arc, x+trialIndent, below+122, c.arc.MinSize().Width/k, c.arc.MinSize().Height/k)
		place.Put(c.shadow, x, below+218, width-look.Space24, 22)
		place.Put(c.model, x, below+252, width-look.Space24, 36)
		c.said.Put(x, said, width)
	}
	shadow, model, more := below+235, below+269, said
	if compact {
		shadow, model, more = said, said+look.LineStep, said+2*look.LineStep
	}
	for i, y := range []float32{look.Space12 + 15, below + key + 16, shadow, model, more} {
		t.names[i].Put(g.Margin, y, g.Column)
		show(t.names[i], g.Column > 0)
	}
	t.load()
}

func (t *trials) load() {
	if !t.body.Visible() {
		return
	}
	k := t.h.Pixels()
	view := t.inView()
	for i, v := range view {
		c := t.cols[i]
		size := c.frame.Size()
		want := pictures.Want{Fingerprint: v.Fingerprint, W: int(size.Width * k), H: int(size.Height * k)}
		if want == c.asked || !v.Picture {
			continue
		}
		c.asked = want
		t.shots.Want(want, func(img *image.RGBA, err error) {
			if c.asked != want {
				return
			}
			if err != nil {
				c.frame.Empty = words.NoPicture
			}
			c.frame.Picture = img
			c.frame.Refresh()
		})
	}
}

// actions are a key for each trial in view, and the arrows where one is out of view.
func (t *trials) actions() []place.Action {
	var out []place.Action
	for _, v := range t.shown {
		out = append(out, place.Does(words.TrialChoose, func() { t.onChoose(v) }, place.Key(v.Key)))
	}
	if t.fits < len(t.shown) {
		out = append(out,
			place.Does(words.TrialBefore, func() { t.turn(-1) }, place.KeyLeft),
			place.Does(words.TrialNext, func() { t.turn(1) }, place.KeyRight))
	}
	return out
}

func (t *trials) turn(by int) {
	t.first = max(min(t.first+by, len(t.shown)-t.fits), 0)
	t.fill()
	t.load()
}

package parts

import (
	"math"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// LightEditor is the plan of the lights with their names and the side arc, where a
// light is moved by dragging it or with the keys:
//
//	Tab, Shift+Tab     the next, the one before
//	Left, Right        round the subject by 5 degrees
//	Up, Down           farther, nearer by 5 cm
//	PageUp, PageDown   higher, lower by 5 degrees
//	Enter, Esc         done
//
// All other keys go to OnKey and OnRune.
type LightEditor struct {
	widget.BaseWidget

	Lights []session.Light
	// Selected is the index of the light that the keys move.
	Selected int
	// Background draws a backdrop behind the table.
	Background bool
	// Narrow draws a plan of radius 96 and one line a light, without the side arc.
	Narrow bool

	// Help gives lines of arithmetic on the lights, drawn under their names; nil for none.
	Help func(lights []session.Light, selected int) []string

	// OnChange is called with a copy of the lights after every step of a move, OnDone
	// when a move has ended: at the end of a drag, on Enter or Esc, or when the focus
	// leaves after a move by keys.
	OnChange, OnDone func([]session.Light)
	// OnSelect is called when another light is selected.
	OnSelect func(i int)
	OnKey    func(*fyne.KeyEvent)
	OnRune   func(rune)

	focused bool
	moved   bool // by keys, and not yet reported to OnDone
	drag    dragKind
}

// dragKind says what is being dragged.
type dragKind uint8

const (
	dragNone dragKind = iota
	dragPlan          // a light over the plan: azimuth and distance
	dragArc           // a disc along the side arc: elevation
)

var (
	_ fyne.Draggable    = (*LightEditor)(nil)
	_ fyne.Focusable    = (*LightEditor)(nil)
	_ fyne.Tabbable     = (*LightEditor)(nil)
	_ desktop.Mouseable = (*LightEditor)(nil)
)

// NewLightEditor makes an editor without lights.
func NewLightEditor() *LightEditor {
	w := &LightEditor{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the editor.
func (s *LightEditor) CreateRenderer() fyne.WidgetRenderer { return render(s) }

const (
	lightRow       float32 = 54 // a light's two lines
	lightRowNarrow float32 = 24 // one line
	// twoLines is for how many lights at most there is room for two lines each. Of more only the names
	// stand there: where each is, the plan shows by its number.
	twoLines         = 4
	listGap  float32 = 60 // from the plan's rim to the first light's name
)

func (s *LightEditor) radius() float32 {
	if s.Narrow {
		return 96
	}
	return planR
}

func (s *LightEditor) row() float32 {
	if s.Narrow || len(s.Lights) > twoLines {
		return lightRowNarrow
	}
	return lightRow
}

// width is the editor's width in px at scale 1.
func (s *LightEditor) width() float32 { return s.Size().Width / look.Current().Scale }

func (s *LightEditor) geometry() planGeometry {
	r := s.radius()
	return planIn(s.width()/2, r+16, r)
}

// corner is where the subject stands on the side arc.
func (s *LightEditor) corner() (x, y float32) {
	return s.width() - sideR - 20, s.listTop() + 74
}

// hasArc says whether the side arc is drawn. In a small window there is no room for
// it: there the keys change the height.
func (s *LightEditor) hasArc() bool { return len(s.Lights) > 0 && !s.Narrow }

// listTop is the base line of the first light's name.
func (s *LightEditor) listTop() float32 {
	g := s.geometry()
	gap := listGap
	if s.Narrow {
		gap = 56
	}
	return g.cy + g.r + gap
}

func (s *LightEditor) least() (w, h float32) {
	h = s.listFoot()
	if n := len(s.help()); n > 0 {
		h += helpGap + helpStep*float32(n)
	}
	return 2*s.radius() + 44, h
}

// listFoot is where the names of the lights and the side arc end.
func (s *LightEditor) listFoot() float32 {
	h := s.listTop() + s.row()*float32(len(s.Lights))
	if s.hasArc() {
		_, corner := s.corner()
		h = max(h, corner+20+arcBelow(s.Lights))
	}
	return h
}

const (
	helpGap  float32 = 12
	helpStep float32 = 20
)

// help gives the lines of arithmetic, broken for the width.
func (s *LightEditor) help() []string {
	if s.Help == nil || len(s.Lights) == 0 {
		return nil
	}
	var out []string
	for _, line := range s.Help(s.Lights, s.Selected) {
		out = append(out, wrap(line, of(look.Note), s.width())...)
	}
	return out
}

func (s *LightEditor) draw(p *pen, w, h float32) {
	g := s.geometry()
	held := -1
	if s.drag != dragNone || s.focused {
		held = s.Selected
	}
	words, base := box{}, float32(0)
	if held >= 0 && held < len(s.Lights) {
		words, base = s.wordsBox(g, s.Lights[held])
	}
	if s.Background {
		p.backdrop(g)
	}
	p.plan(g, planned{s.Lights, held, -1, words})
	switch {
	case base > 0:
		p.fill(words.x0, words.y0, words.x1-words.x0, words.y1-words.y0, 2, look.Ground)
		p.text(words.x0+4, base, LightWhere(s.Lights[held]), of(look.Name), left)
	case s.focused:
		p.focus(g.cx-g.r, g.cy-g.r, 2*g.r, 2*g.r, ringOut)
	}
	for i, l := range s.Lights {
		y := s.listTop() + s.row()*float32(i)
		title := strconv.Itoa(i+1) + "  " + LightTitle(l)
		if s.Narrow {
			where := LightWhere(l)
			title = shorten(title, of(look.Name), w-12-textWidth(where, of(look.Base)))
			p.text(0, y, title, of(look.Name), left)
			p.text(textWidth(title, of(look.Name))+12, y, where, of(look.Base), left)
			continue
		}
		if len(s.Lights) > twoLines {
			p.lightMark(14, y-5, 270, 0.7, l, markColour(l.Kind))
			p.text(42, y, shorten(title, of(look.Name), w-42), of(look.Name), left)
			continue
		}
		p.lightMark(14, y+7, 270, 0.9, l, markColour(l.Kind))
		where := LightWhere(l)
		if cx, _ := s.corner(); 42+textWidth(where, of(look.Base)) > cx-8 && l.DistanceCM != nil { // the arc stands there
			title += " · " + Distance(*l.DistanceCM)
			where = lightDirection(l)
		}
		p.text(42, y, shorten(title, of(look.Name), w-42), of(look.Name), left)
		p.text(42, y+22, where, of(look.Base), left)
	}
	for i, line := range s.help() {
		p.text(0, s.listFoot()+helpGap+helpStep*float32(i), line, of(look.Note), left)
	}
	if s.hasArc() {
		cx, cy := s.corner()
		p.sideArc(cx, cy, 1, planned{lights: s.Lights, held: held, stood: -1})
	}
}

// wordsBox gives where it is written where the held light stands, and on which base
// line: beyond its number, or on the other side of it where that would be outside the
// drawing or on the lights' names; below the camera where they would lie on it.
func (s *LightEditor) wordsBox(g planGeometry, l session.Light) (box, float32) {
	x, y := g.spot(l)
	_, ny := g.numberAt(l, true)
	w := textWidth(LightWhere(l), of(look.Name))
	base := max(y+46, ny+26)
	if y < g.cy {
		if base = min(y-34, ny-14); base < 16 {
			base = y + 46
		}
	}
	x0 := min(max(x-w/2, 4), s.width()-w-4)
	at := func(base float32) box { return box{x0 - 4, base - 16, x0 + w + 4, base + 6} }
	if camera := g.camera(); at(base).meets(camera) {
		base = camera.y1 + 17
	}
	if base > s.listTop()-16 {
		base = y - 34
	}
	return at(base), base
}

// grabDist is how near to a mark a press takes hold of it.
const grabDist float32 = 24

// lightAt gives the light that a press takes hold of, or -1, and on which drawing.
func (s *LightEditor) lightAt(x, y float32) (int, dragKind) {
	best, found, kind := grabDist, -1, dragNone
	g := s.geometry()
	cx, cy := s.corner()
	for i, l := range s.Lights {
		lx, ly := g.spot(l)
		if d := dist(x, y, lx, ly); d < best {
			best, found, kind = d, i, dragPlan
		}
		if !s.hasArc() {
			continue
		}
		lx, ly = sidePoint(cx, cy, sideR, l.ElevationDeg)
		if d := dist(x, y, lx, ly); d < best {
			best, found, kind = d, i, dragArc
		}
	}
	return found, kind
}

func dist(x0, y0, x1, y1 float32) float32 {
	return float32(math.Hypot(float64(x1-x0), float64(y1-y0)))
}

// MouseDown takes hold of the light under the pointer.
func (s *LightEditor) MouseDown(e *desktop.MouseEvent) {
	x, y := at(e.Position)
	i, kind := s.lightAt(x, y)
	if i < 0 {
		return
	}
	s.drag = kind
	s.choose(i)
	if c := fyne.CurrentApp().Driver().CanvasForObject(s); c != nil {
		c.Focus(s)
	}
	s.Refresh()
}

// MouseUp lets go of a light that was not moved; DragEnd of one that was.
func (s *LightEditor) MouseUp(*desktop.MouseEvent) {
	s.drag = dragNone
	s.Refresh()
}

// Dragged moves the light that is held.
func (s *LightEditor) Dragged(e *fyne.DragEvent) {
	if s.drag == dragNone || s.Selected >= len(s.Lights) {
		return
	}
	x, y := at(e.Position)
	l := s.Lights[s.Selected]
	switch s.drag {
	case dragPlan:
		g := s.geometry()
		az, d := planAzimuth(g.cx, g.cy, x, y)
		l.AzimuthDeg = session.NormalAzimuth(math.Round(az))
		l.DistanceCM = draggedDistance(l.DistanceCM, float64(d/g.r)*planRimCM)
	case dragArc:
		cx, cy := s.corner()
		az, _ := planAzimuth(cx, cy, x, y)
		l.ElevationDeg = draggedElevation(az)
	}
	s.moved = true
	s.put(l)
}

// draggedDistance gives the distance of a light dragged to cm from the subject. A
// light farther than the rim keeps its distance while it is led along the rim.
func draggedDistance(was *float64, cm float64) *float64 {
	if was != nil && *was > planRimCM && cm >= planRimCM {
		return was
	}
	cm = math.Round(min(max(cm, leastDistance), planRimCM))
	return &cm
}

// leastDistance is how near, in cm, a light can be brought in the drawing.
const leastDistance = 5

// draggedElevation turns an angle round the arc's corner, as an azimuth on the
// screen (90 right, 180 up), into an elevation.
func draggedElevation(az float64) float64 {
	switch e := math.Round(az - 90); {
	case e > 90 && az <= 225:
		return 90
	case e > 90: // past straight below
		return -90
	default:
		return e
	}
}

// DragEnd reports the move.
func (s *LightEditor) DragEnd() {
	s.drag = dragNone
	s.finish()
	s.Refresh()
}

// put sets the selected light and reports the change.
func (s *LightEditor) put(l session.Light) {
	lights := s.copied()
	lights[s.Selected] = l
	s.Lights = lights
	s.Refresh()
	if s.OnChange != nil {
		s.OnChange(s.copied())
	}
}

func (s *LightEditor) copied() []session.Light { return append([]session.Light(nil), s.Lights...) }

func (s *LightEditor) finish() {
	if !s.moved {
		return
	}
	s.moved = false
	if s.OnDone != nil {
		s.OnDone(s.copied())
	}
}

func (s *LightEditor) choose(i int) {
	if i == s.Selected {
		return
	}
	s.Selected = i
	s.Refresh()
	if s.OnSelect != nil {
		s.OnSelect(i)
	}
}

// AcceptsTab keeps Tab for the lights while there are some.
func (s *LightEditor) AcceptsTab() bool { return len(s.Lights) > 0 }

// FocusGained shows which light the keys move.
func (s *LightEditor) FocusGained() {
	s.focused = true
	if s.Selected >= len(s.Lights) {
		s.Selected = 0
	}
	s.Refresh()
}

// FocusLost reports a move by keys that has not been reported yet.
func (s *LightEditor) FocusLost() {
	s.focused = false
	s.finish()
	s.Refresh()
}

// TypedRune hands letters on.
func (s *LightEditor) TypedRune(r rune) {
	if s.OnRune != nil {
		s.OnRune(r)
	}
}

// steps of a move by keys
const (
	turnStep = 5 // degrees
	distStep = 5 // cm
)

// TypedKey moves the selected light, or selects another.
func (s *LightEditor) TypedKey(e *fyne.KeyEvent) {
	if e.Name == fyne.KeyTab {
		s.tab(backwards())
		return
	}
	if e.Name == fyne.KeyReturn || e.Name == fyne.KeyEnter || e.Name == fyne.KeyEscape {
		if s.moved {
			s.finish()
			return
		}
	} else if s.Selected < len(s.Lights) {
		if l, ok := steppedLight(s.Lights[s.Selected], e.Name); ok {
			s.moved = true
			s.put(l)
			return
		}
	}
	if s.OnKey != nil {
		s.OnKey(e)
	}
}

// steppedLight gives the light moved one step by a key, and whether the key moves it.
func steppedLight(l session.Light, key fyne.KeyName) (session.Light, bool) {
	switch key {
	case fyne.KeyLeft:
		l.AzimuthDeg = session.NormalAzimuth(l.AzimuthDeg - turnStep)
	case fyne.KeyRight:
		l.AzimuthDeg = session.NormalAzimuth(l.AzimuthDeg + turnStep)
	case fyne.KeyUp:
		l.DistanceCM = steppedDistance(l.DistanceCM, distStep)
	case fyne.KeyDown:
		l.DistanceCM = steppedDistance(l.DistanceCM, -distStep)
	case fyne.KeyPageUp:
		l.ElevationDeg = min(l.ElevationDeg+turnStep, 90)
	case fyne.KeyPageDown:
		l.ElevationDeg = max(l.ElevationDeg-turnStep, -90)
	default:
		return l, false
	}
	return l, true
}

func steppedDistance(was *float64, by float64) *float64 {
	cm := float64(planAsk)
	if was != nil {
		cm = *was
	}
	cm = min(max(cm+by, leastDistance), 1000)
	return &cm
}

// tab selects the next light, or the one before; past the last one the focus goes on
// to the next part.
func (s *LightEditor) tab(back bool) {
	next := s.Selected + 1
	if back {
		next = s.Selected - 1
	}
	if next >= 0 && next < len(s.Lights) {
		s.finish()
		s.choose(next)
		return
	}
	c := fyne.CurrentApp().Driver().CanvasForObject(s)
	switch {
	case c == nil:
	case back:
		c.FocusPrevious()
	default:
		c.FocusNext()
	}
}

// backwards says whether Shift is held.
func backwards() bool {
	d, ok := fyne.CurrentApp().Driver().(desktop.Driver)
	return ok && d.CurrentKeyModifiers()&fyne.KeyModifierShift != 0
}

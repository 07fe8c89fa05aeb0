package parts

import (
	"fmt"
	"image/color"
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/assets/words"
	"stillbench/session"
)

// Wheel is the table seen from above, cut into eight sides and four heights, to
// choose where the light should have come from. The radius is the height, as in a
// chart of the sky: overhead in the middle. Overhead has no side.
//
// Keys, while it has the focus: Left and Right go round, Up and Down change the
// height, Space chooses. All others go to OnKey and OnRune.
type Wheel struct {
	widget.BaseWidget

	// Counts are the setups that each cell would find, overhead without a side.
	Counts map[session.Cell]int
	// Chosen are the cells asked for; overhead is chosen if any overhead cell is.
	Chosen map[session.Cell]bool
	// Narrow draws it with a radius of 110 instead of 149, less where its words are long.
	Narrow bool
	// High is how high it may be in a narrow window, in px at scale 1; 0 for as high as designed.
	High float32

	// OnChange is called with the cells chosen, in the order of the sides from the
	// lowest height; overhead is given as its eight cells.
	OnChange func([]session.Cell)
	// OnHover is called with the cell under the pointer or keys, nil when there is none.
	OnHover func(*session.Cell)
	OnKey   func(*fyne.KeyEvent)
	OnRune  func(rune)

	focused bool
	at      wheelCell
	hover   *wheelCell
}

// wheelCell is a cell by its place in session.Sides and session.Heights.
type wheelCell struct{ side, height int }

const overhead = 3 // index in session.Heights

var (
	_ fyne.Focusable    = (*Wheel)(nil)
	_ desktop.Hoverable = (*Wheel)(nil)
)

// NewWheel makes a wheel with nothing chosen.
func NewWheel() *Wheel {
	w := &Wheel{Chosen: map[session.Cell]bool{}, at: wheelCell{height: 2}}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the wheel.
func (s *Wheel) CreateRenderer() fyne.WidgetRenderer { return render(s) }

// wheelR is the wheel's radius at full size; wheelRings are the radii between which
// each height lies, from the lowest.
const wheelR float32 = 149

var wheelRings = [4][2]float32{{110, 149}, {68, 108}, {26, 66}, {0, 24}}

const (
	wheelSide float32 = 42 // room for the words left and right
	wheelGap  float32 = 9  // between them and the wheel
	wheelTop  float32 = 26 // room for the word above
	wheelFoot float32 = 34 // room for the camera

	narrowR    float32 = 110 // of the wheel in a small window
	leastR     float32 = 72  // its numbers still stand in their cells
	narrowHalf float32 = 159 // from its middle to the cards beside it
)

// narrowCount is the size of numbers of three signs and more in a narrow wheel, where cells
// next to each other have no room for larger ones.
const narrowCount float32 = 12

// Count writes how many would be found, in four signs at most: "842", "6.7k", "35k", "100k".
func Count(n int) string {
	switch {
	case n < 1000:
		return strconv.Itoa(n)
	case n < 9950:
		return fmt.Sprintf("%.1fk", words.Decimal(float64(n)/1000))
	case n < 999500:
		return fmt.Sprintf("%.0fk", float64(n)/1000)
	}
	return fmt.Sprintf("%.0fM", max(1, float64(n)/1e6))
}

func (s *Wheel) radius() float32 {
	if s.Narrow { // where its words are longer it gives way to them
		r := min(narrowR, narrowHalf-s.side())
		if s.High > 0 {
			r = min(r, max((s.High-wheelTop-wheelFoot)/2, leastR))
		}
		return r
	}
	return wheelR
}

// side is the room for the words left and right. In a small window nothing else is there beside the
// wheel to give them any.
func (s *Wheel) side() float32 {
	if !s.Narrow {
		return wheelSide
	}
	return max(wheelSide, wheelGap+max(textWidth(words.Of("left"), of(look.Base)), textWidth(words.Of("right"), of(look.Base))))
}

func (s *Wheel) least() (w, h float32) {
	r := s.radius()
	return 2 * (r + s.side()), 2*r + wheelTop + wheelFoot
}

func (s *Wheel) middle() (cx, cy float32) {
	return s.radius() + s.side(), s.radius() + wheelTop
}

func (c wheelCell) cell() session.Cell {
	return session.Cell{Side: session.Sides[c.side], Height: session.Heights[c.height]}
}

func (s *Wheel) chosen(c wheelCell) bool {
	if c.height != overhead {
		return s.Chosen[c.cell()]
	}
	for cell, on := range s.Chosen {
		if on && cell.Height == session.HeightOverhead {
			return true
		}
	}
	return false
}

func (s *Wheel) count(c wheelCell) int {
	if c.height == overhead {
		return s.Counts[session.Cell{Height: session.HeightOverhead}]
	}
	return s.Counts[c.cell()]
}

// each calls f with every cell once; overhead counts as one.
func eachWheelCell(f func(wheelCell)) {
	for height := range overhead {
		for side := range session.Sides {
			f(wheelCell{side, height})
		}
	}
	f(wheelCell{0, overhead})
}

func (s *Wheel) draw(p *pen, _, _ float32) {
	cx, cy := s.middle()
	r := s.radius()
	k := r / wheelR
	most := 0
	eachWheelCell(func(c wheelCell) { most = max(most, s.count(c)) })

	eachWheelCell(func(c wheelCell) {
		fill := look.Field
		switch {
		case s.chosen(c):
			fill = look.Accent
		case s.hover != nil && *s.hover == c:
			fill = look.Line
		}
		r0, r1 := wheelRings[c.height][0]*k, wheelRings[c.height][1]*k
		if c.height == overhead {
			p.disc(cx, cy, r1, fill)
			return
		}
		from, to := fyneAngles(c.side)
		p.sector(cx, cy, r0, r1, from, to, fill)
	})
	for i := range session.Sides {
		az := 22.5 + 45*float64(i)
		x0, y0 := planPoint(cx, cy, 25*k, az)
		x1, y1 := planPoint(cx, cy, r+1, az)
		p.line(x0, y0, x1, y1, 2, look.Ground)
	}
	if s.focused {
		s.drawFocus(p, cx, cy, k)
	}
	eachWheelCell(func(c wheelCell) { s.drawCount(p, cx, cy, k, c, most) })

	p.text(cx, cy-r-9, words.Of("back"), of(look.Base), centre)
	p.text(cx-r-wheelGap, cy+5, words.Of("left"), of(look.Base), right)
	p.text(cx+r+wheelGap, cy+5, words.Of("right"), of(look.Base), left)
	p.fill(cx-7, cy+r+5, 14, 14, 2, look.Ink2)
	p.fill(cx-15, cy+r+15, 30, 16, 3, look.Ink2)
}

// drawCount writes a cell's number in its middle, brighter where there is much.
func (s *Wheel) drawCount(p *pen, cx, cy, k float32, c wheelCell, most int) {
	n := s.count(c)
	if n == 0 {
		return
	}
	x, y := cx, cy
	if c.height != overhead {
		ring := wheelRings[c.height]
		x, y = planPoint(cx, cy, (ring[0]+ring[1])/2*k, 45*float64(c.side))
	}
	st := of(look.Base)
	switch {
	case s.chosen(c):
		st = of(look.Name).in(look.Ground)
	case 2*n >= most:
		st = st.in(look.Ink1)
	}
	text := Count(n)
	if s.Narrow && len(text) > 2 {
		st.px = narrowCount * min(s.radius()/narrowR, 1)
	}
	p.textIn(x, y, text, st)
}

// drawFocus rings the cell that the keys are at. On a chosen cell, which is accent
// already, the ring stands inside a line of ground.
func (s *Wheel) drawFocus(p *pen, cx, cy, k float32) {
	c := s.at
	r0, r1 := wheelRings[c.height][0]*k, wheelRings[c.height][1]*k
	if c.height == overhead {
		p.ring(cx, cy, r1+1, 2, look.Accent)
		p.ring(cx, cy, r1-1.5, 3, look.Ground)
		return
	}
	from, to := fyneAngles(c.side)
	outline := func(r0, r1, in, stroke float32, colour look.Colour) {
		o := p.arcs.take()
		o.FillColor, o.StrokeColor, o.StrokeWidth = color.Transparent, colour.Now(), stroke*p.scale
		o.StartAngle, o.EndAngle, o.CutoutRatio = from+in, to-in, r0/r1
		o.Move(p.pos(cx-r1, cy-r1))
		o.Resize(p.size(2*r1, 2*r1))
		p.put(o)
	}
	outline(r0-1, r1+1, 0, 2, look.Accent)
	if s.chosen(c) {
		outline(r0+2, r1-2, 150/(r0+r1), 3, look.Ground)
	}
}

// cellAt gives the cell at a position in px at scale 1, or nil.
func (s *Wheel) cellAt(x, y float32) *wheelCell {
	cx, cy := s.middle()
	az, d := planAzimuth(cx, cy, x, y)
	d /= s.radius() / wheelR
	switch {
	case d > wheelR:
		return nil
	case d < 25:
		return &wheelCell{0, overhead}
	}
	c := wheelCell{side: eighthOf(session.SideOf(az))}
	switch {
	case d < 67:
		c.height = 2
	case d < 109:
		c.height = 1
	}
	return &c
}

// toggle chooses a cell, or no longer.
func (s *Wheel) toggle(c wheelCell) {
	on := !s.chosen(c)
	chosen := map[session.Cell]bool{}
	for cell, was := range s.Chosen {
		if was {
			chosen[cell] = true
		}
	}
	cells := []session.Cell{c.cell()}
	if c.height == overhead {
		cells = cells[:0]
		for _, side := range session.Sides {
			cells = append(cells, session.Cell{Side: side, Height: session.HeightOverhead})
		}
		delete(chosen, session.Cell{Height: session.HeightOverhead})
	}
	for _, cell := range cells {
		if on {
			chosen[cell] = true
		} else {
			delete(chosen, cell)
		}
	}
	s.Chosen = chosen
	s.Refresh()
	if s.OnChange != nil {
		s.OnChange(s.inOrder())
	}
}

func (s *Wheel) inOrder() []session.Cell {
	var out []session.Cell
	for _, height := range session.Heights {
		for _, side := range session.Sides {
			if c := (session.Cell{Side: side, Height: height}); s.Chosen[c] {
				out = append(out, c)
			}
		}
	}
	return out
}

// Tapped chooses the cell under the pointer, or no longer.
func (s *Wheel) Tapped(e *fyne.PointEvent) {
	x, y := at(e.Position)
	c := s.cellAt(x, y)
	if c == nil {
		return
	}
	s.at = *c
	if canvas := fyne.CurrentApp().Driver().CanvasForObject(s); canvas != nil {
		canvas.Focus(s)
	}
	s.toggle(*c)
}

// MouseIn is part of desktop.Hoverable.
func (s *Wheel) MouseIn(e *desktop.MouseEvent) { s.MouseMoved(e) }

// MouseMoved lightens the cell under the pointer.
func (s *Wheel) MouseMoved(e *desktop.MouseEvent) {
	x, y := at(e.Position)
	s.light(s.cellAt(x, y))
}

// MouseOut is part of desktop.Hoverable.
func (s *Wheel) MouseOut() { s.light(nil) }

func (s *Wheel) light(c *wheelCell) {
	if c == nil && s.hover == nil || c != nil && s.hover != nil && *c == *s.hover {
		return
	}
	s.hover = c
	s.Refresh()
	s.report(c)
}

func (s *Wheel) report(c *wheelCell) {
	if s.OnHover == nil {
		return
	}
	if c == nil {
		s.OnHover(nil)
		return
	}
	cell := c.cell()
	s.OnHover(&cell)
}

// FocusGained shows the cell that the keys are at.
func (s *Wheel) FocusGained() { s.focused = true; s.Refresh() }

// FocusLost hides it.
func (s *Wheel) FocusLost() { s.focused = false; s.Refresh() }

// TypedRune hands letters on; Space comes as a key.
func (s *Wheel) TypedRune(r rune) {
	if s.OnRune != nil && r != ' ' {
		s.OnRune(r)
	}
}

// TypedKey moves between the cells and chooses.
func (s *Wheel) TypedKey(e *fyne.KeyEvent) {
	c := s.at
	switch e.Name {
	case fyne.KeySpace:
		s.toggle(c)
		return
	case fyne.KeyRight, fyne.KeyLeft:
		if c.height == overhead {
			return
		}
		// As on the screen at the front: Right goes towards the right.
		step := 1
		if e.Name == fyne.KeyLeft {
			step = 7
		}
		c.side = (c.side + step) % 8
	case fyne.KeyUp:
		c.height = min(c.height+1, overhead)
	case fyne.KeyDown:
		c.height = max(c.height-1, 0)
	default:
		if s.OnKey != nil {
			s.OnKey(e)
		}
		return
	}
	s.at = c
	s.Refresh()
	s.report(&c)
}

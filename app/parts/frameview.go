package parts

import (
	"image"
	"image/color"
	"math"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Area is a part of a picture, as shares of its width and height from 0 to 1.
type Area struct{ X0, Y0, X1, Y1 float64 }

// FrameView shows a picture as large as its box allows, on bare ground, with what is
// drawn over it: the overlay, the wanted area, the spot looked at. It is given
// pixels and decodes and scales nothing; FitPixels says how many it wants.
type FrameView struct {
	widget.BaseWidget

	Picture *image.RGBA
	// Overlay lies over the whole picture, see-through where it shows nothing. It
	// need not have as many pixels.
	Overlay *image.RGBA
	// Wanted is the wanted area, nil for the whole picture; Spot the place looked at.
	Wanted Outline
	Spot   *Area
	// Draw lets the wanted area be drawn: by dragging, or with the arrow keys (Shift
	// with them changes its size); Enter keeps it, Backspace or Delete takes the whole
	// picture, Esc leaves it as it was. Dragging draws a rectangle; with Shift, or with
	// Free set, the line that the pointer takes. Corner has the keys do the same.
	Draw, Free bool
	// Start is where the keys begin when no area is drawn; nil for most of the picture.
	Start *Area
	// Inside stands inside the area in place of Picture, whose size it has, and fades into it
	// over Soft of the diagonal.
	Inside *image.RGBA
	Soft   float64
	// Empty is said where there is no picture.
	Empty   string
	Focused bool // draws the focus ring
	// Left has a picture that is narrower than the view stand at its left edge, below its name, and
	// not in the middle.
	Left bool

	// OnWanted is called with the new wanted area, nil for the whole picture.
	OnWanted func(Outline)
	// OnTry, where set, is called with each area that is drawn, nil for none: it is only tried
	// until Enter keeps it, and nothing outside it is darkened.
	OnTry func(Outline)
	// OnCancel is called when drawing is given up.
	OnCancel func()
	// OnPoint is called with the point of the picture that was clicked, in shares.
	OnPoint func(x, y float64)
	// OnKey and OnRune get the keys that the view has no use for.
	OnKey  func(*fyne.KeyEvent)
	OnRune func(rune)

	draft Outline // while it is being drawn
	from  fyne.Position
	free  bool // what is being drawn follows the pointer

	point   *[2]float64 // where the keys set the corners of an outline, nil while they move a rectangle
	corners Outline     // those that are set

	shade   *image.RGBA // what lies outside the area, darker
	shadeOf Outline
	tried   tried
}

var (
	_ fyne.Draggable    = (*FrameView)(nil)
	_ fyne.Focusable    = (*FrameView)(nil)
	_ fyne.Disableable  = (*FrameView)(nil)
	_ desktop.Mouseable = (*FrameView)(nil)
)

// NewFrameView makes a view without a picture.
func NewFrameView() *FrameView {
	w := &FrameView{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the view.
func (s *FrameView) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *FrameView) least() (w, h float32) { return 60, 40 }

// fit gives the largest size with the proportions pw:ph that w by h can hold.
func fit(pw, ph int, w, h float32) (float32, float32) {
	if pw <= 0 || ph <= 0 {
		return 0, 0
	}
	k := min(w/float32(pw), h/float32(ph))
	return float32(pw) * k, float32(ph) * k
}

// FitPixels gives the size in pixels to which a picture of pw by ph pixels should be
// scaled to fill a box (in Fyne's units) on a canvas of the given scale. It is never
// larger than the picture.
func FitPixels(pw, ph int, box fyne.Size, canvasScale float32) (w, h int) {
	fw, fh := fit(pw, ph, box.Width*canvasScale, box.Height*canvasScale)
	if fw >= float32(pw) {
		return pw, ph
	}
	return max(1, int(math.Round(float64(fw)))), max(1, int(math.Round(float64(fh))))
}

// frame is where the picture lies in the view: at the top, centred or at the left.
func (s *FrameView) frame(w, h float32) (x, y, fw, fh float32) {
	if s.Picture == nil {
		return 0, 0, w, h
	}
	fw, fh = fit(s.Picture.Rect.Dx(), s.Picture.Rect.Dy(), w, h)
	if s.Left {
		return 0, 0, fw, fh
	}
	return (w - fw) / 2, 0, fw, fh
}

func (s *FrameView) draw(p *pen, w, h float32) {
	x, y, fw, fh := s.frame(w, h)
	if s.Picture == nil {
		p.outline(0, 0, w, h, 0, 1, look.Line)
		st := of(look.Base).in(look.Ink3)
		lines := wrap(s.Empty, st, w-2*look.Space24)
		top := h/2 - look.LineStep*float32(len(lines)-1)/2
		for i, line := range lines {
			p.textIn(w/2, top+look.LineStep*float32(i), line, st)
		}
	} else {
		p.picture(x, y, fw, fh, s.Picture)
		p.picture(x, y, fw, fh, s.inside())
		p.veil(x, y, fw, fh)
		s.drawWanted(p, x, y, fw, fh)
		p.picture(x, y, fw, fh, s.Overlay)
	}
	if a := s.Spot; a != nil && s.Picture != nil {
		p.corners(x+float32(a.X0)*fw, y+float32(a.Y0)*fh, float32(a.X1-a.X0)*fw, float32(a.Y1-a.Y0)*fh, 8, 1.6, look.Accent)
	}
	if s.Focused || s.Draw {
		p.focus(x, y, fw, fh, ringOutClose)
	}
	if s.Draw && s.point != nil && s.Picture != nil {
		s.drawPoint(p, x, y, fw, fh)
	}
}

// drawPoint marks where the next corner would be set, joined to the last.
func (s *FrameView) drawPoint(p *pen, x, y, fw, fh float32) {
	px, py := x+float32(s.point[0])*fw, y+float32(s.point[1])*fh
	strokes := [][4]float32{{px - 14, py, px - 4, py}, {px + 4, py, px + 14, py}, {px, py - 14, px, py - 4}, {px, py + 4, px, py + 14}}
	if n := len(s.corners); n > 0 {
		last := s.corners[n-1]
		strokes = append(strokes, [4]float32{x + float32(last[0])*fw, y + float32(last[1])*fh, px, py})
	}
	for _, l := range strokes {
		p.stroke(l[0], l[1], l[2], l[3], lineUnder, color.NRGBA{A: 0xff})
	}
	for _, l := range strokes {
		p.stroke(l[0], l[1], l[2], l[3], lineOver, look.Accent.Now())
	}
	for _, c := range s.corners {
		cx, cy := x+float32(c[0])*fw, y+float32(c[1])*fh
		p.box(cx-4, cy-4, 8, 8, 0, 0, color.NRGBA{A: 0xff}, nil)
		p.box(cx-2.5, cy-2.5, 5, 5, 0, 0, look.Ink1.Now(), nil)
	}
}

// How what lies outside the wanted area is shown, and how wide its line is.
const (
	shadeAlpha         = 0x66
	shadeSide          = 900
	lineUnder  float32 = 4
	lineOver   float32 = 1.6
)

// drawWanted draws the wanted area: what lies outside a little darker, a rectangle by its
// corners, any other by its line, on black so that it shows on any picture.
func (s *FrameView) drawWanted(p *pen, x, y, fw, fh float32) {
	o := s.shown()
	if len(o) < 2 {
		return
	}
	open := s.draft != nil && s.free || s.draft == nil && s.point != nil // a line in the making bounds nothing yet
	if !s.trying() && !open {
		w, h := FitPixels(s.Picture.Rect.Dx(), s.Picture.Rect.Dy(), fyne.NewSize(shadeSide, shadeSide), 1)
		if s.shade == nil || s.shade.Rect.Dx() != w || s.shade.Rect.Dy() != h || !slices.Equal(o, s.shadeOf) {
			s.shade, s.shadeOf = o.outside(w, h, shadeAlpha), slices.Clone(o)
		}
		p.picture(x, y, fw, fh, s.shade)
	}
	if !open && o.rect() {
		a := o.bounds()
		ax, ay := x+float32(a.X0)*fw, y+float32(a.Y0)*fh
		aw, ah := float32(a.X1-a.X0)*fw, float32(a.Y1-a.Y0)*fh
		if s.Draw {
			p.outline(ax, ay, aw, ah, 0, 1, look.Ink1)
		}
		p.corners(ax, ay, aw, ah, 22, lineOver, look.Ink1)
		return
	}
	n := len(o)
	if open && (s.draft != nil || n < 3) { // three corners set by keys close
		n--
	}
	for _, under := range []bool{true, false} {
		for i := range n {
			a, b := o[i], o[(i+1)%len(o)]
			x0, y0, x1, y1 := x+float32(a[0])*fw, y+float32(a[1])*fh, x+float32(b[0])*fw, y+float32(b[1])*fh
			if under {
				p.stroke(x0, y0, x1, y1, lineUnder, color.NRGBA{A: 0xff})
			} else {
				p.stroke(x0, y0, x1, y1, lineOver, look.Ink1.Now())
			}
		}
	}
}

// shown is the area drawn: the one in the making, or the wanted one.
func (s *FrameView) shown() Outline {
	switch {
	case s.draft != nil:
		return s.draft
	case s.point != nil:
		return s.corners
	}
	return s.Wanted
}

// corners draws the four corners of a box, on black so that they show on any
// picture.
func (p *pen) corners(x, y, w, h, long, stroke float32, c look.Colour) {
	long = min(long, w/2, h/2)
	for _, top := range []bool{true, false} {
		for _, atLeft := range []bool{true, false} {
			cx, cy, dx, dy := x, y, long, long
			if !atLeft {
				cx, dx = x+w, -long
			}
			if !top {
				cy, dy = y+h, -long
			}
			for _, s := range []struct {
				width float32
				black bool
			}{{lineUnder, true}, {stroke, false}} {
				half := s.width / 2
				colour := c.Now()
				if s.black {
					colour.R, colour.G, colour.B = 0, 0, 0
				}
				p.box(min(cx, cx+dx)-half, cy-half, long+s.width, s.width, 0, 0, colour, nil)
				p.box(cx-half, min(cy, cy+dy)-half, s.width, long+s.width, 0, 0, colour, nil)
			}
		}
	}
}

// share gives a position in the view as shares of the picture, kept inside it.
func (s *FrameView) share(pos fyne.Position) (x, y float64) {
	scale := look.Current().Scale
	fx, fy, fw, fh := s.frame(s.Size().Width/scale, s.Size().Height/scale)
	if fw == 0 || fh == 0 {
		return 0, 0
	}
	px, py := at(pos)
	in := func(v float32) float64 { return float64(min(max(v, 0), 1)) }
	return in((px - fx) / fw), in((py - fy) / fh)
}

// MouseDown notes where a drag begins, and whether it follows the pointer.
func (s *FrameView) MouseDown(e *desktop.MouseEvent) {
	s.from = e.Position
	s.free = s.Free != (e.Modifier&fyne.KeyModifierShift != 0)
}

// MouseUp is part of desktop.Mouseable.
func (s *FrameView) MouseUp(*desktop.MouseEvent) {}

// Dragged draws the wanted area.
func (s *FrameView) Dragged(e *fyne.DragEvent) {
	if !s.Draw || s.Picture == nil {
		return
	}
	s.point, s.corners = nil, nil
	x0, y0 := s.share(s.from)
	x1, y1 := s.share(e.Position)
	switch {
	case !s.free:
		s.draft = RectOutline(Area{math.Min(x0, x1), math.Min(y0, y1), math.Max(x0, x1), math.Max(y0, y1)})
	case len(s.draft) == 0:
		s.draft = Outline{{x0, y0}, {x1, y1}}
	default:
		s.draft = append(s.draft, [2]float64{x1, y1})
	}
	s.Refresh()
}

const (
	// leastArea is the smallest share of the picture's sides that a drag must span, so
	// that a slip of the hand is not taken for an area.
	leastArea = 0.03
	// leastTry is the same where an area is only tried: a slip costs nothing there, and a hair
	// is narrow.
	leastTry = 0.01
	// handSlack is how far, in shares of the picture, a line drawn by hand is smoothed.
	handSlack = 0.002
)

// DragEnd keeps what was drawn.
func (s *FrameView) DragEnd() {
	o := s.draft
	s.draft = nil
	if o == nil {
		return
	}
	if s.free {
		o = o.smoothed(handSlack)
	}
	least := leastArea
	if s.trying() {
		least = leastTry
	}
	if a := o.bounds(); len(o) < 3 || a.X1-a.X0 < least || a.Y1-a.Y0 < least || o.size() < least*least {
		s.Refresh()
		return
	}
	if s.trying() {
		s.try(o)
		return
	}
	s.want(o)
}

func (s *FrameView) want(o Outline) {
	s.drop()
	s.Wanted = o
	s.Refresh()
	if s.OnWanted != nil {
		s.OnWanted(o)
	}
}

// Tapped reports the point that was clicked.
func (s *FrameView) Tapped(e *fyne.PointEvent) {
	if s.OnPoint != nil && s.Picture != nil {
		s.OnPoint(s.share(e.Position))
	}
}

// Disabled keeps the view out of the order of the Tab key except while the wanted
// area is drawn, when it takes the arrow keys.
func (s *FrameView) Disabled() bool { return !s.Draw }

// Enable is part of fyne.Disableable; Draw decides instead.
func (s *FrameView) Enable() {}

// Disable is part of fyne.Disableable; Draw decides instead.
func (s *FrameView) Disable() {}

// FocusGained is part of fyne.Focusable.
func (s *FrameView) FocusGained() {}

// FocusLost is part of fyne.Focusable.
func (s *FrameView) FocusLost() {}

// TypedRune hands letters on.
func (s *FrameView) TypedRune(r rune) {
	if s.OnRune != nil {
		s.OnRune(r)
	}
}

// TypedKey draws the wanted area with the keys.
func (s *FrameView) TypedKey(e *fyne.KeyEvent) {
	if s.Draw {
		switch e.Name {
		case fyne.KeyReturn, fyne.KeyEnter:
			s.Keep()
			return
		case fyne.KeyBackspace, fyne.KeyDelete:
			if s.point != nil {
				s.takeBack()
				return
			}
			if s.trying() {
				s.try(nil)
				return
			}
			s.want(nil)
			return
		case fyne.KeyEscape:
			s.GiveUp()
			if s.OnCancel != nil {
				s.OnCancel()
			}
			return
		}
		if s.point != nil && s.movePoint(e.Name, backwards()) {
			return
		}
		start := Area{0.2, 0.2, 0.8, 0.8}
		if s.Start != nil {
			start = *s.Start
		}
		if o := s.shown(); len(o) >= 3 {
			start = o.bounds()
		}
		if a, ok := steppedArea(start, e.Name, backwards()); ok {
			if s.trying() {
				s.try(RectOutline(a))
				return
			}
			s.draft, s.free = RectOutline(a), false
			s.Refresh()
			return
		}
	}
	if s.OnKey != nil {
		s.OnKey(e)
	}
}

// Keep ends drawing with what is drawn, as Enter does; an outline needs three corners.
func (s *FrameView) Keep() {
	if o := s.shown(); s.point == nil || len(o) >= 3 && o.size() > 0 {
		s.want(o)
	}
}

// GiveUp drops what is being drawn.
func (s *FrameView) GiveUp() {
	s.drop()
	s.Refresh()
}

func (s *FrameView) drop() {
	s.draft, s.free = nil, false
	s.point, s.corners = nil, nil
}

// Corner has the keys draw an outline of any form: from then on the arrow keys move a point (with
// Shift in small steps), and Corner sets a corner where it is; Backspace or Delete takes the last one back.
func (s *FrameView) Corner() {
	if s.point == nil {
		x, y := 0.5, 0.5
		if a := s.Start; a != nil {
			x, y = (a.X0+a.X1)/2, (a.Y0+a.Y1)/2
		}
		if o := s.shown(); len(o) >= 3 {
			x, y = o.Middle()
		}
		s.draft, s.free = nil, false
		s.point = &[2]float64{x, y}
		s.Refresh()
		return
	}
	if n := len(s.corners); n == 0 || s.corners[n-1] != *s.point {
		s.corners = append(s.corners, *s.point)
		s.tryCorners()
	}
}

// Corners tells whether the keys draw an outline, and how many corners of it are set.
func (s *FrameView) Corners() (n int, on bool) { return len(s.corners), s.point != nil }

// takeBack takes the last corner back; where there is none, the keys move a rectangle again.
func (s *FrameView) takeBack() {
	if n := len(s.corners); n > 0 {
		s.corners = s.corners[:n-1]
		s.tryCorners()
		return
	}
	s.GiveUp()
}

// tryCorners takes the outline in where it is tried.
func (s *FrameView) tryCorners() {
	if s.trying() {
		s.Wanted = nil
		if len(s.corners) >= 3 {
			s.Wanted = slices.Clone(s.corners)
		}
		s.OnTry(s.Wanted)
	}
	s.Refresh()
}

// movePoint moves the point by an arrow key.
func (s *FrameView) movePoint(key fyne.KeyName, fine bool) bool {
	step, ok := arrowSteps[key]
	if !ok {
		return false
	}
	by := areaStep
	if fine {
		by = pointStep
	}
	in := func(v float64) float64 { return math.Min(math.Max(v, 0), 1) }
	*s.point = [2]float64{in(s.point[0] + by*step[0]), in(s.point[1] + by*step[1])}
	s.Refresh()
	return true
}

const (
	// areaStep is how far an arrow key moves the wanted area, or the point that draws an outline.
	areaStep = 0.02
	// pointStep is how far it moves the point with Shift.
	pointStep = 0.004
)

var arrowSteps = map[fyne.KeyName][2]float64{fyne.KeyLeft: {-1, 0}, fyne.KeyRight: {1, 0}, fyne.KeyUp: {0, -1}, fyne.KeyDown: {0, 1}}

// steppedArea gives the area moved one step by an arrow key, or with size set made
// larger or smaller at its right or lower side, and whether the key does that. It
// stays inside the picture.
func steppedArea(a Area, key fyne.KeyName, size bool) (Area, bool) {
	step, ok := arrowSteps[key]
	if !ok {
		return a, false
	}
	dx, dy := areaStep*step[0], areaStep*step[1]
	if size {
		a.X1 = math.Min(math.Max(a.X1+dx, a.X0+leastArea), 1)
		a.Y1 = math.Min(math.Max(a.Y1+dy, a.Y0+leastArea), 1)
		return a, true
	}
	dx = math.Min(math.Max(dx, -a.X0), 1-a.X1)
	dy = math.Min(math.Max(dy, -a.Y0), 1-a.Y1)
	return Area{a.X0 + dx, a.Y0 + dy, a.X1 + dx, a.Y1 + dy}, true
}

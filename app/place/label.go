package place

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Span is a piece of text in one role.
type Span struct {
	Text string
	Role look.Role
	// Strong sets it in ink 1 whatever its role, Faint in ink 3.
	Strong, Faint bool
}

// Label is lines of text in the roles of the design. A line that is too wide wraps
// when Wrap is set and is cut with an ellipsis otherwise.
type Label struct {
	widget.BaseWidget
	Lines [][]Span
	Wrap  bool
	Right bool // the lines end at the right edge
	OnTap func()
}

// NewLabel makes a label of lines.
func NewLabel(lines ...[]Span) *Label {
	l := &Label{Lines: lines}
	l.ExtendBaseWidget(l)
	return l
}

// Line makes a line of one span.
func Line(text string, role look.Role) []Span { return []Span{{Text: text, Role: role}} }

// Set changes the lines.
func (l *Label) Set(lines ...[]Span) {
	l.Lines = lines
	l.Refresh()
}

// Put places the label, in px at scale 1, so that its first base line is at base and
// it is width wide.
func (l *Label) Put(x, base, width float32) {
	k := look.Current().Scale
	l.Move(fyne.NewPos(x*k, (base-firstBase)*k))
	l.Resize(fyne.NewSize(width*k, l.heightFor(width)*k))
}

// HeightFor is the height that the text needs when it is so wide, in px at scale 1.
func (l *Label) HeightFor(width float32) float32 { return l.heightFor(width) }

// firstBase is how far the first base line is below the label's upper edge.
const firstBase float32 = 22

func (l *Label) heightFor(width float32) float32 {
	return firstBase + look.LineStep*float32(len(l.set(width))-1) + 8
}

// set breaks the lines for a width.
func (l *Label) set(width float32) [][]Span {
	var out [][]Span
	for _, line := range l.Lines {
		if l.Wrap && len(line) == 1 {
			for _, text := range wrap(line[0].Text, line[0].Role, width) {
				s := line[0]
				s.Text = text
				out = append(out, []Span{s})
			}
			continue
		}
		out = append(out, line)
	}
	return out
}

// Tapped does what a click does.
func (l *Label) Tapped(*fyne.PointEvent) {
	if l.OnTap != nil {
		l.OnTap()
	}
}

// CreateRenderer draws the label.
func (l *Label) CreateRenderer() fyne.WidgetRenderer {
	r := &labelRenderer{l: l}
	r.Layout(l.Size())
	return r
}

type labelRenderer struct {
	l       *Label
	objects []fyne.CanvasObject
}

func (r *labelRenderer) Layout(size fyne.Size) {
	k := look.Current().Scale
	r.objects = nil
	y := firstBase
	for _, line := range r.l.set(size.Width / k) {
		r.line(line, y, size.Width/k, k)
		y += look.LineStep
	}
}

// gap stands between spans of one line.
const gap float32 = 12

func (r *labelRenderer) line(line []Span, y, width, k float32) {
	x := float32(0)
	if r.l.Right {
		x = width
		for i, s := range line {
			if i > 0 {
				x -= gap
			}
			x -= textWidth(s.Text, s.Role)
		}
	}
	for _, s := range line {
		text := shorten(s.Text, s.Role, width-max(x, 0))
		if text == "" {
			continue
		}
		px := s.Role.Px() * k
		size, base := fyne.CurrentApp().Driver().RenderedTextSize(text, px, fyne.TextStyle{Bold: s.Role.Bold()}, nil)
		c := s.Role.Colour()
		switch {
		case s.Strong:
			c = look.Ink1
		case s.Faint:
			c = look.Ink3
		}
		t := &canvas.Text{Text: text, TextSize: px, TextStyle: fyne.TextStyle{Bold: s.Role.Bold()}, Color: c.Now()}
		t.Move(fyne.NewPos(x*k, y*k-base))
		t.Resize(size)
		r.objects = append(r.objects, t)
		x += size.Width/k + gap
	}
}

func (r *labelRenderer) MinSize() fyne.Size { return fyne.Size{} }
func (r *labelRenderer) Refresh() {
	r.Layout(r.l.Size())
	canvas.Refresh(r.l)
}
func (r *labelRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *labelRenderer) Destroy()                     {}

// textWidth is the width of a text in px at scale 1.
func textWidth(s string, role look.Role) float32 {
	k := look.Current().Scale
	return fyne.MeasureText(s, role.Px()*k, fyne.TextStyle{Bold: role.Bold()}).Width / k
}

// TextWidth is the width of a text in px at scale 1.
func TextWidth(s string, role look.Role) float32 { return textWidth(s, role) }

func shorten(s string, role look.Role, width float32) string {
	if textWidth(s, role) <= width+0.5 {
		return s
	}
	r := []rune(s)
	for len(r) > 0 {
		r = r[:len(r)-1]
		if cut := strings.TrimRight(string(r), " ,·") + "…"; textWidth(cut, role) <= width {
			return cut
		}
	}
	return ""
}

func wrap(s string, role look.Role, width float32) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if line != "" && textWidth(try, role) > width {
			out = append(out, line)
			try = word
		}
		line = try
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// Put places an object, in px at scale 1.
func Put(o fyne.CanvasObject, x, y, w, h float32) {
	k := look.Current().Scale
	o.Move(fyne.NewPos(x*k, y*k))
	o.Resize(fyne.NewSize(w*k, h*k))
}

// Layout is a layout made of a function; it gets the size in px at scale 1 and the
// grid that goes with it.
type Layout func(w, h float32, g look.Grid)

// MinSize is part of fyne.Layout: a place takes what the window gives.
func (f Layout) MinSize([]fyne.CanvasObject) fyne.Size { return fyne.Size{} }

// Layout is part of fyne.Layout.
func (f Layout) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	k := look.Current().Scale
	if size.Width > 0 && size.Height > 0 {
		f(size.Width/k, size.Height/k, look.GridFor(size.Width/k))
	}
}

// Grid is the grid for an object as wide as the window, and its size in px at scale 1.
func Grid(o fyne.CanvasObject) (w, h float32, g look.Grid) {
	k := look.Current().Scale
	w, h = o.Size().Width/k, o.Size().Height/k
	return w, h, look.GridFor(w)
}

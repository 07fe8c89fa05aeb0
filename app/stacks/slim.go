package stacks

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/present"
)

// slim is the row of a marker, a test or a single: one line.
type slim struct {
	widget.BaseWidget
	time, text *place.Label
	thread     *canvas.Rectangle
	ring       *canvas.Rectangle
	tap        func()
}

func newSlim(r present.Row, focused bool, tap func()) *slim {
	s := &slim{
		time:   place.NewLabel(place.Line(r.Time, look.Base)),
		thread: canvas.NewRectangle(look.Edge.Now()), ring: place.NewRing(), tap: tap,
	}
	line := []place.Span{{Text: r.Name, Role: look.Name}}
	if r.Question != "" { // before what may be cut off
		line = append(line, place.Span{Text: r.Question, Role: look.Base, Strong: true})
	}
	line = append(line, place.Span{Text: r.About, Role: look.Base, Faint: true})
	if r.Exposure != "" {
		line = append(line, place.Span{Text: r.Exposure, Role: look.Base, Faint: true})
	}
	s.text = place.NewLabel(line)
	s.time.OnTap, s.text.OnTap = tap, tap // they lie over the row and take its clicks
	s.ring.Hidden = !focused
	s.ExtendBaseWidget(s)
	return s
}

// Tapped opens the group.
func (s *slim) Tapped(*fyne.PointEvent) { s.tap() }

// CreateRenderer draws the row.
func (s *slim) CreateRenderer() fyne.WidgetRenderer {
	return &slimRenderer{s}
}

type slimRenderer struct{ s *slim }

func (r *slimRenderer) Layout(size fyne.Size) {
	k := look.Current().Scale
	w := size.Width / k
	g := look.GridFor(w)
	place.Put(r.s.thread, g.ThreadX-1, 0, 2, slimHeight)
	at := textIn(g)
	if g.Column > 0 {
		r.s.time.Put(g.Margin, 21, g.Column)
	} else {
		r.s.time.Put(g.ContentX, 21, at-g.ContentX)
	}
	r.s.text.Put(at, 21, w-at-g.Margin)
	place.Put(r.s.ring, at-5, 3, min(place.LineWidth(r.s.text.Lines[0]), w-at-g.Margin)+10, slimHeight-6)
}

// textIn is where the words of a slim row begin.
func textIn(g look.Grid) float32 {
	if g.Column > 0 {
		return g.ContentX
	}
	return g.ContentX + 56 // the time
}

func (r *slimRenderer) MinSize() fyne.Size { return fyne.Size{} }
func (r *slimRenderer) Refresh() {
	r.s.thread.FillColor = look.Edge.Now()
	r.s.ring.StrokeColor = look.Accent.Now()
	r.Layout(r.s.Size())
	canvas.Refresh(r.s)
}
func (r *slimRenderer) Objects() []fyne.CanvasObject {
	return []fyne.CanvasObject{r.s.thread, r.s.time, r.s.text, r.s.ring}
}
func (r *slimRenderer) Destroy() {}

package plan

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// pen draws with Fyne's primitives in px at scale 1.
type pen struct {
	k       float32
	objects []fyne.CanvasObject
}

func (p *pen) box(x, y, w, h, r, stroke float32, fill, edge color.Color) {
	o := canvas.NewRectangle(fill)
	o.StrokeColor, o.StrokeWidth, o.CornerRadius = edge, stroke*p.k, r*p.k
	o.Move(fyne.NewPos(x*p.k, y*p.k))
	o.Resize(fyne.NewSize(w*p.k, h*p.k))
	p.objects = append(p.objects, o)
}

func (p *pen) fill(x, y, w, h, r float32, c look.Colour) {
	p.box(x, y, w, h, r, 0, c.Now(), color.Transparent)
}

func (p *pen) outline(x, y, w, h, r, stroke float32, c look.Colour) {
	p.box(x, y, w, h, r, stroke, color.Transparent, c.Now())
}

func (p *pen) disc(x, y, r float32, c look.Colour) {
	o := canvas.NewCircle(c.Now())
	o.Move(fyne.NewPos((x-r)*p.k, (y-r)*p.k))
	o.Resize(fyne.NewSize(2*r*p.k, 2*r*p.k))
	p.objects = append(p.objects, o)
}

func (p *pen) line(a, b point, width float32, c look.Colour) {
	l := canvas.NewLine(c.Now())
	l.StrokeWidth = width * p.k
	l.Position1, l.Position2 = fyne.NewPos(a.x*p.k, a.y*p.k), fyne.NewPos(b.x*p.k, b.y*p.k)
	p.objects = append(p.objects, l)
}

// align says which point of a text its x is.
type align uint8

const (
	left align = iota
	centre
	right
)

// text writes s with its base line at y, and gives its width.
func (p *pen) text(x, y float32, s string, r look.Role, c look.Colour, a align) float32 {
	px, style := look.TextPx(r.Px()), fyne.TextStyle{Bold: r.Bold()}
	size, base := fyne.CurrentApp().Driver().RenderedTextSize(s, px, style, nil)
	w := size.Width / p.k
	switch a {
	case centre:
		x -= w / 2
	case right:
		x -= w
	}
	t := &canvas.Text{Text: s, TextSize: px, TextStyle: style, Color: c.Now()}
	t.Move(fyne.NewPos(crisp(x*p.k, size.Width), crisp(y*p.k-base, size.Height)))
	t.Resize(size)
	p.objects = append(p.objects, t)
	return w
}

// crisp gives the whole number nearest to v and a fraction with it such that both ends
// of a text round to whole pixels: Fyne squeezes a text by a pixel otherwise.
func crisp(v, length float32) float32 {
	return float32(math.Round(float64(v))) + (float32(math.Ceil(float64(length)))-length)/2
}

// hatch fills a box with strokes at 45 degrees rising to the right.
func (p *pen) hatch(x, y, w, h, pitch, stroke float32, c look.Colour) {
	for sum := pitch / 2; sum < w+h; sum += pitch {
		ax, bx := max(0, sum-h), min(w, sum)
		p.line(point{x + ax, y + sum - ax}, point{x + bx, y + sum - bx}, stroke, c)
	}
}

type point struct{ x, y float32 }

// dashed draws a polyline in dashes; the pattern runs on through its corners.
func (p *pen) dashed(points []point, dash, gap, width float32, c look.Colour) {
	at := float32(0) // in the pattern
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		long := float32(math.Hypot(float64(b.x-a.x), float64(b.y-a.y)))
		for done := float32(0); done < long; {
			run := dash - at
			if at >= dash {
				run = dash + gap - at
			}
			run = min(run, long-done)
			if at < dash {
				p.line(between(a, b, done/long), between(a, b, (done+run)/long), width, c)
			}
			done += run
			if at += run; at >= dash+gap-1e-3 {
				at = 0
			}
		}
	}
}

func between(a, b point, t float32) point { return point{a.x + (b.x-a.x)*t, a.y + (b.y-a.y)*t} }

// drawing is a widget that a function draws, anew on every Refresh and Resize.
type drawing struct {
	widget.BaseWidget
	draw  func(p *pen, w, h float32)
	onTap func(x, y float32)
}

func newDrawing(draw func(p *pen, w, h float32)) *drawing {
	d := &drawing{draw: draw}
	d.ExtendBaseWidget(d)
	return d
}

// Tapped reports where it was clicked, in px at scale 1.
func (d *drawing) Tapped(e *fyne.PointEvent) {
	if k := look.Current().Scale; d.onTap != nil {
		d.onTap(e.Position.X/k, e.Position.Y/k)
	}
}

// CreateRenderer draws it.
func (d *drawing) CreateRenderer() fyne.WidgetRenderer {
	r := &drawingRenderer{d: d}
	r.Layout(d.Size())
	return r
}

type drawingRenderer struct {
	d       *drawing
	objects []fyne.CanvasObject
}

func (r *drawingRenderer) Layout(size fyne.Size) {
	p := &pen{k: look.Current().Scale}
	if size.Width > 0 && size.Height > 0 {
		r.d.draw(p, size.Width/p.k, size.Height/p.k)
	}
	r.objects = p.objects
}
func (r *drawingRenderer) MinSize() fyne.Size { return fyne.Size{} }
func (r *drawingRenderer) Refresh() {
	r.Layout(r.d.Size())
	canvas.Refresh(r.d)
}
func (r *drawingRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *drawingRenderer) Destroy()                     {}

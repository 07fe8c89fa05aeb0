package parts

import (
	"image"
	"image/color"
	"math"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"

	"stillbench/app/look"
)

// pen draws with Fyne's primitives in px at scale 1, and remembers the objects it
// made from one drawing to the next so that redrawing allocates little.
type pen struct {
	scale   float32
	ox, oy  float32 // where (0, 0) lies
	objects []fyne.CanvasObject

	lines    shelf[canvas.Line]
	rects    shelf[canvas.Rectangle]
	circles  shelf[canvas.Circle]
	arcs     shelf[canvas.Arc]
	polygons shelf[canvas.Polygon]
	texts    shelf[canvas.Text]
	images   shelf[canvas.Image]
	// sources are the pictures that images show, as they were handed in.
	sources []*image.RGBA
}

// shelf hands out objects of one kind, first those made earlier.
type shelf[T any] struct {
	all  []*T
	used int
}

func (s *shelf[T]) take() *T {
	if s.used == len(s.all) {
		s.all = append(s.all, new(T))
	}
	s.used++
	return s.all[s.used-1]
}

// end lets go of pictures that are no longer shown.
func (p *pen) end() {
	for i := p.images.used; i < len(p.sources); i++ {
		p.sources[i], p.images.all[i].Image = nil, nil
	}
}

// shifted draws what f draws, so far to the right and down.
func (p *pen) shifted(dx, dy float32, f func()) {
	p.ox, p.oy = p.ox+dx, p.oy+dy
	f()
	p.ox, p.oy = p.ox-dx, p.oy-dy
}

// begin starts a new drawing.
func (p *pen) begin() {
	p.scale = look.Current().Scale
	p.objects = nil // the painter may still hold the old slice
	p.lines.used, p.rects.used, p.circles.used, p.arcs.used = 0, 0, 0, 0
	p.polygons.used, p.texts.used, p.images.used = 0, 0, 0
}

func (p *pen) pos(x, y float32) fyne.Position { return fyne.NewPos((x+p.ox)*p.scale, (y+p.oy)*p.scale) }
func (p *pen) size(w, h float32) fyne.Size    { return fyne.NewSize(w*p.scale, h*p.scale) }
func (p *pen) put(o fyne.CanvasObject)        { p.objects = append(p.objects, o) }

// line draws a stroke. Upright and level ones are rectangles: Fyne's lines are soft
// at their edges, and half a pixel wider than asked for.
func (p *pen) line(x1, y1, x2, y2, width float32, c look.Colour) {
	switch {
	case x1 == x2:
		p.fill(x1-width/2, min(y1, y2), width, max(y1, y2)-min(y1, y2), 0, c)
		return
	case y1 == y2:
		p.fill(min(x1, x2), y1-width/2, max(x1, x2)-min(x1, x2), width, 0, c)
		return
	}
	p.stroke(x1, y1, x2, y2, width, c.Now())
}

// stroke draws a line of any direction and colour.
func (p *pen) stroke(x1, y1, x2, y2, width float32, c color.Color) {
	l := p.lines.take()
	l.Position1, l.Position2 = p.pos(x1, y1), p.pos(x2, y2)
	l.StrokeWidth, l.StrokeColor = width*p.scale, c
	p.put(l)
}

// hair draws the thinnest slanting line. Fyne's GL painter draws one of 1 px half a
// pixel too wide; one of 0.9 px comes out thin, and darker than its colour.
func (p *pen) hair(x1, y1, x2, y2 float32, c look.Colour) { p.line(x1, y1, x2, y2, 0.9, c) }

// fill draws a filled rectangle with corners of radius r.
func (p *pen) fill(x, y, w, h, r float32, c look.Colour) {
	p.box(x, y, w, h, r, 0, c.Now(), color.Transparent)
}

// outline draws a rectangle whose stroke lies inside its bounds.
func (p *pen) outline(x, y, w, h, r, stroke float32, c look.Colour) {
	p.box(x, y, w, h, r, stroke, color.Transparent, c.Now())
}

// outlineOn is an outline with the inside filled.
func (p *pen) outlineOn(x, y, w, h, r, stroke float32, c, inside look.Colour) {
	p.box(x, y, w, h, r, stroke, inside.Now(), c.Now())
}

func (p *pen) box(x, y, w, h, r, stroke float32, fill, edge color.Color) {
	o := p.rects.take()
	o.FillColor, o.StrokeColor, o.StrokeWidth, o.CornerRadius = fill, edge, stroke*p.scale, r*p.scale
	o.Move(p.pos(x, y))
	o.Resize(p.size(w, h))
	p.put(o)
}

// disc draws a filled circle.
func (p *pen) disc(cx, cy, r float32, c look.Colour) { p.circle(cx, cy, r, 0, c.Now(), nil) }

// ring draws a circle whose stroke lies half inside and half outside radius r.
func (p *pen) ring(cx, cy, r, stroke float32, c look.Colour) {
	p.circle(cx, cy, r+stroke/2, stroke, color.Transparent, c.Now())
}

// ringOn is a ring with the inside filled.
func (p *pen) ringOn(cx, cy, r, stroke float32, c, inside look.Colour) {
	p.circle(cx, cy, r+stroke/2, stroke, inside.Now(), c.Now())
}

func (p *pen) circle(cx, cy, r, stroke float32, fill, edge color.Color) {
	o := p.circles.take()
	o.FillColor, o.StrokeColor, o.StrokeWidth = fill, edge, stroke*p.scale
	o.Move(p.pos(cx-r, cy-r))
	o.Resize(p.size(2*r, 2*r))
	p.put(o)
}

// sector fills the part of a ring between radii r0 and r1 and between two angles in
// Fyne's sense: degrees clockwise from the top.
//
// Fyne's comment says that an Arc is placed by its centre. Both of its painters draw
// it inside its box instead, like every other object; so does this.
func (p *pen) sector(cx, cy, r0, r1, from, to float32, c look.Colour) {
	o := p.arcs.take()
	o.FillColor, o.StrokeWidth = c.Now(), 0
	o.StartAngle, o.EndAngle, o.CutoutRatio = from, to, r0/r1
	o.Move(p.pos(cx-r1, cy-r1))
	o.Resize(p.size(2*r1, 2*r1))
	p.put(o)
}

// polygon draws a filled regular polygon in a circle of radius r; angle 0 has a
// corner at the top, and angles turn clockwise.
func (p *pen) polygon(cx, cy, r float32, sides uint, angle float32, c look.Colour) {
	p.polygonStroke(cx, cy, r, sides, angle, 0, c.Now(), color.Transparent)
}

func (p *pen) polygonStroke(cx, cy, r float32, sides uint, angle, stroke float32, fill, edge color.Color) {
	o := p.polygons.take()
	o.Sides, o.Angle, o.StrokeWidth = sides, angle, stroke*p.scale
	o.FillColor, o.StrokeColor = fill, edge
	o.Move(p.pos(cx-r, cy-r))
	o.Resize(p.size(2*r, 2*r))
	p.put(o)
}

// pointer draws the triangle that points down at the newest frame: its upper edge
// at y, centred on x, w wide and half as high. It is the lower half of a square
// that stands on its corner, since Fyne has regular polygons only.
func (p *pen) pointer(x, y, w float32, c look.Colour) {
	p.polygon(x, y, w/2, 4, 0, c)
	p.fill(x-w/2-1, y-w/2-1, w+2, w/2+1, 0, look.Ground)
}

// align says which point of a text its x is.
type align uint8

const (
	left align = iota
	centre
	right
)

// style is the size, weight and colour of a text.
type style struct {
	px     float32
	bold   bool
	colour look.Colour
}

func of(r look.Role) style { return style{r.Px(), r.Bold(), r.Colour()} }

func (s style) in(c look.Colour) style { s.colour = c; return s }

// text writes s with its base line at y.
func (p *pen) text(x, y float32, s string, st style, a align) {
	if s == "" {
		return
	}
	px := look.TextPx(st.px)
	size, base := textSize(s, px, st.bold)
	switch a {
	case centre:
		x -= size.Width / p.scale / 2
	case right:
		x -= size.Width / p.scale
	}
	t := p.texts.take()
	t.Text, t.TextSize, t.TextStyle, t.Color = s, px, fyne.TextStyle{Bold: st.bold}, st.colour.Now()
	t.Alignment = fyne.TextAlignLeading
	pos := p.pos(x, y)
	t.Move(fyne.NewPos(crisp(pos.X, size.Width), crisp(pos.Y-base, size.Height)))
	t.Resize(size)
	p.put(t)
}

// crisp gives the whole number nearest to v, and a fraction with it such that v +
// length, rounded, is as far from v, rounded, as length rounded up. Fyne paints a
// text into a texture of a length rounded up, but shows it from one rounded
// position to the other: without this, most texts would be squeezed by a pixel.
func crisp(v, length float32) float32 {
	spare := float32(math.Ceil(float64(length))) - length
	return float32(math.Round(float64(v))) + spare/2
}

// textIn writes s centred on (x, y) by the height of its capitals.
func (p *pen) textIn(x, y float32, s string, st style) {
	p.text(x, y+st.px*capHeight/2, s, st, centre)
}

// capHeight is the height of B612's capitals and figures in em.
const capHeight = 0.75

// textWidth gives the width of s in px at scale 1.
func textWidth(s string, st style) float32 {
	size, _ := textSize(s, look.TextPx(st.px), st.bold)
	return size.Width / look.Current().Scale
}

func textSize(s string, px float32, bold bool) (fyne.Size, float32) {
	return fyne.CurrentApp().Driver().RenderedTextSize(s, px, fyne.TextStyle{Bold: bold}, nil)
}

// picture shows img stretched over the given box; nothing scales it but the
// graphics card. A picture whose rows do not follow each other in memory is copied
// first, because Fyne's GL painter would shear it.
func (p *pen) picture(x, y, w, h float32, img *image.RGBA) {
	if img == nil || img.Rect.Empty() {
		return
	}
	o := p.images.take()
	if p.images.used > len(p.sources) {
		p.sources = append(p.sources, nil)
	}
	if source := &p.sources[p.images.used-1]; *source != img {
		*source, o.Image = img, tightRGBA(img)
		canvas.Refresh(o) // or the graphics card goes on showing the old one
	}
	o.FillMode, o.ScaleMode = canvas.ImageFillStretch, canvas.ImageScaleFastest
	o.Move(p.pos(x, y))
	o.Resize(p.size(w, h))
	p.put(o)
}

// tightRGBA gives img itself when its pixels start at its first byte and its rows
// follow each other, and a copy that does otherwise.
func tightRGBA(img *image.RGBA) *image.RGBA {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	if img.Stride == 4*w && len(img.Pix) == 4*w*h {
		return img
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		copy(out.Pix[y*out.Stride:(y+1)*out.Stride], img.Pix[y*img.Stride:])
	}
	return out
}

// veil lays black over a picture when the look asks for it.
func (p *pen) veil(x, y, w, h float32) {
	if look.Current().PicturesDimmed() {
		p.box(x, y, w, h, 0, 0, look.Veil, color.Transparent)
	}
}

// hatch fills a box with strokes at 45 degrees rising to the right, pitch apart
// along the box's edge, cut off at the box.
func (p *pen) hatch(x, y, w, h, pitch, stroke float32, c look.Colour) {
	for _, s := range hatching(w, h, pitch, stroke) {
		p.line(x+s[0], y+s[1], x+s[2], y+s[3], stroke, c)
	}
}

// hatching gives the strokes of a hatched box of w by h as x1, y1 (the lower left
// end), x2, y2. The strokes' ends stay inside by what half their width takes, so
// that their corners do not stand out of the box.
func hatching(w, h, pitch, stroke float32) [][4]float32 {
	in := stroke / 2 / math.Sqrt2
	x0, y0, x1, y1 := in, in, w-in, h-in
	if x1 <= x0 || y1 <= y0 || pitch <= 0 {
		return nil
	}
	var out [][4]float32
	for sum := x0 + y0 + pitch/2; sum < x1+y1; sum += pitch {
		// The stroke is the line x + y = sum inside the box.
		ax := max(x0, sum-y1)
		bx := min(x1, sum-y0)
		if bx-ax > stroke/2 {
			out = append(out, [4]float32{ax, sum - ax, bx, sum - bx})
		}
	}
	return out
}

// focus draws the focus ring round a box: 2 px of accent, out px outside it.
func (p *pen) focus(x, y, w, h, out float32) {
	p.outline(x-out-2, y-out-2, w+2*out+4, h+2*out+4, 3, 2, look.Accent)
}

// Distances of the focus ring from what it surrounds.
const (
	ringOut      float32 = 5 // as a rule
	ringOutClose float32 = 3 // round inputs and crops
)

// sketch is a drawing that can be redrawn at any size.
type sketch interface {
	fyne.Widget
	// draw draws the widget w by h px large, at scale 1.
	draw(p *pen, w, h float32)
	// least is the smallest size in px at scale 1.
	least() (w, h float32)
}

// sketchRenderer redraws a sketch from its state on every Refresh and Resize.
type sketchRenderer struct {
	s sketch
	p pen
}

func render(s sketch) fyne.WidgetRenderer {
	r := &sketchRenderer{s: s}
	r.redraw(s.Size())
	return r
}

func (r *sketchRenderer) redraw(size fyne.Size) {
	r.p.begin()
	r.s.draw(&r.p, size.Width/r.p.scale, size.Height/r.p.scale)
	r.p.end()
}

func (r *sketchRenderer) Layout(size fyne.Size) { r.redraw(size) }
func (r *sketchRenderer) Refresh() {
	r.redraw(r.s.Size())
	canvas.Refresh(r.s)
}
func (r *sketchRenderer) Objects() []fyne.CanvasObject { return r.p.objects }
func (r *sketchRenderer) Destroy()                     {}
func (r *sketchRenderer) MinSize() fyne.Size {
	w, h := r.s.least()
	scale := look.Current().Scale
	return fyne.NewSize(w*scale, h*scale)
}

// at gives a position inside a widget in px at scale 1.
func at(pos fyne.Position) (x, y float32) {
	scale := look.Current().Scale
	return pos.X / scale, pos.Y / scale
}

// wrap breaks s into lines no wider than width; a word that is wider stands alone.
func wrap(s string, st style, width float32) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		try := word
		if line != "" {
			try = line + " " + word
		}
		if line != "" && textWidth(try, st) > width {
			lines = append(lines, line)
			try = word
		}
		line = try
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// balanced wraps s into as few lines as wrap does, and as narrow ones as that takes, so that no word stands
// alone in the last.
func balanced(s string, st style, width float32) []string {
	lines := wrap(s, st, width)
	for n := len(lines); n > 1; {
		widest := float32(0)
		for _, l := range lines {
			widest = max(widest, textWidth(l, st))
		}
		narrower := wrap(s, st, widest-1)
		if len(narrower) > n {
			break
		}
		w := float32(0)
		for _, l := range narrower {
			w = max(w, textWidth(l, st))
		}
		if w >= widest { // a word as wide as that
			break
		}
		lines = narrower
	}
	return lines
}

// shorten gives s, cut with an ellipsis where it would be wider than width.
func shorten(s string, st style, width float32) string {
	if textWidth(s, st) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 1 {
		r = r[:len(r)-1]
		if cut := string(r) + "…"; textWidth(cut, st) <= width {
			return cut
		}
	}
	return string(r)
}

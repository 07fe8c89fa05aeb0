package place

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/app/parts"
)

// order shows frames in the order shot, side by side in one lane: what each holds
// sharp is not known, so nothing overlaps and no line tells of it.
type order struct {
	widget.BaseWidget
	data  parts.RibbonData
	size  parts.RibbonSize
	onTap func(i int)
}

func newOrder(size parts.RibbonSize) *order {
	o := &order{size: size}
	o.ExtendBaseWidget(o)
	return o
}

// Measures of the drawing in px at scale 1.
const (
	orderTop  float32 = 18 // room for the pointer
	orderGap  float32 = 3
	orderGrow float32 = 5
	orderMost float32 = 152 // of a bar and the gap after it: as far as the crops below stand apart
)

func (o *order) lane() float32 {
	if o.size == parts.RibbonOpened {
		return 26
	}
	return 40
}

// bar gives where bar i of the frames that are not set aside stands.
func (o *order) bar(i int, width float32) (x, w float32) {
	n := 0
	for _, b := range o.data.Bars {
		if b.State != parts.BarSetAside {
			n++
		}
	}
	w = min(width/float32(max(n, 1)), orderMost)
	return float32(i) * w, w - orderGap
}

// middle is that of bar i, in px at scale 1, in a drawing so wide.
func (o *order) middle(i int, width float32) float32 {
	x, w := o.bar(i, width)
	return x + w/2
}

// Tapped reports the bar that was clicked.
func (o *order) Tapped(e *fyne.PointEvent) {
	k := look.Current().Scale
	for i := range o.data.Bars {
		x, w := o.bar(i, o.Size().Width/k)
		if at := e.Position.X / k; at >= x && at < x+w && o.onTap != nil && o.data.Bars[i].State != parts.BarSetAside {
			o.onTap(i)
		}
	}
}

// CreateRenderer draws the bars.
func (o *order) CreateRenderer() fyne.WidgetRenderer {
	r := &orderRenderer{o: o}
	r.Layout(o.Size())
	return r
}

type orderRenderer struct {
	o       *order
	objects []fyne.CanvasObject
}

func (r *orderRenderer) Layout(size fyne.Size) {
	r.objects = nil
	k := look.Current().Scale
	width := size.Width / k
	lane := r.o.lane()
	aside, end := "", float32(0)
	for i, b := range r.o.data.Bars {
		if b.State == parts.BarSetAside {
			if aside != "" {
				aside += ", "
			}
			aside += b.Words
			continue
		}
		x, w := r.o.bar(i, width)
		end = x + w
		y, h, c, px := orderTop, lane, look.Bar, float32(15)
		if b.Current {
			y, h, c, px = y-orderGrow, h+orderGrow, look.Ink1, px+4
			r.pointer(x + w/2)
		}
		number := look.Ground
		if b.State == parts.BarPlanned {
			r.outline(x, y, w, h)
			number, px = look.Ink2, 13
		} else {
			r.fill(x, y, w, h, c)
		}
		if textWidth(b.Number, look.Name)+4 <= w {
			t := &canvas.Text{Text: b.Number, TextSize: px * k, TextStyle: fyne.TextStyle{Bold: b.State != parts.BarPlanned}, Color: number.Now()}
			tw := t.MinSize()
			t.Move(fyne.NewPos((x+w/2)*k-tw.Width/2, (y+h/2)*k-tw.Height/2))
			r.objects = append(r.objects, t)
		}
	}
	r.words(0, r.o.data.NearLabel, end, false)
	r.words(0, r.o.data.FarLabel, end, true)
	r.words(end+look.Space24, aside, width, false)
}

// words stand below the bars, from x or up to end.
func (r *orderRenderer) words(x float32, text string, end float32, right bool) {
	k := look.Current().Scale
	w := textWidth(text, look.Base)
	if right {
		x = end - w
		if x < textWidth(r.o.data.NearLabel, look.Base)+gap {
			return
		}
	}
	t := &canvas.Text{Text: text, TextSize: look.Base.Px() * k, Color: look.Ink3.Now()}
	t.Move(fyne.NewPos(x*k, (orderTop+r.o.lane()+6)*k))
	r.objects = append(r.objects, t)
}

// pointer is the triangle above the current bar: the lower half of a square on its
// corner.
func (r *orderRenderer) pointer(x float32) {
	k := look.Current().Scale
	const half = 9
	d := canvas.NewPolygon(4, look.Ink1.Now())
	d.Move(fyne.NewPos((x-half)*k, -half*k))
	d.Resize(fyne.NewSize(2*half*k, 2*half*k))
	hide := canvas.NewRectangle(look.Ground.Now())
	hide.Move(fyne.NewPos((x-half-1)*k, (-half-1)*k))
	hide.Resize(fyne.NewSize((2*half+2)*k, (half+1)*k))
	r.objects = append(r.objects, d, hide)
}

// outline is a frame not shot yet.
func (r *orderRenderer) outline(x, y, w, h float32) {
	k := look.Current().Scale
	b := canvas.NewRectangle(color.Transparent)
	b.StrokeColor, b.StrokeWidth, b.CornerRadius = look.Edge.Now(), k, min(3*k, w*k/2)
	b.Move(fyne.NewPos(x*k, y*k))
	b.Resize(fyne.NewSize(w*k, h*k))
	r.objects = append(r.objects, b)
}

func (r *orderRenderer) fill(x, y, w, h float32, c look.Colour) {
	k := look.Current().Scale
	b := canvas.NewRectangle(c.Now())
	b.CornerRadius = min(3*k, w*k/2, h*k/2)
	b.Move(fyne.NewPos(x*k, y*k))
	b.Resize(fyne.NewSize(w*k, h*k))
	r.objects = append(r.objects, b)
}

func (r *orderRenderer) MinSize() fyne.Size {
	k := look.Current().Scale
	return fyne.NewSize(120*k, (orderTop+r.o.lane()+30)*k)
}
func (r *orderRenderer) Refresh() {
	r.Layout(r.o.Size())
	canvas.Refresh(r.o)
}
func (r *orderRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *orderRenderer) Destroy()                     {}

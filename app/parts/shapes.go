package parts

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// Shape is the drawing before a sentence. Each is a mark of the ribbon or of the
// light plan, enlarged, so that the picture is learnt once.
type Shape uint8

// The shapes.
const (
	ShapeNone      Shape = iota
	ShapeAgain           // shoot a frame again: two outlined bars, its number in the front one
	ShapeFill            // fill in: two bars, hatching between
	ShapeNearer          // start nearer: three bars, dashes on the left
	ShapeFarther         // go on farther: three bars, dashes on the right
	ShapeChanged         // light or settings changed: a circle, half filled
	ShapeUndecided       // cannot be told: an empty square with a question mark
	ShapeHold            // hold still: a square
	ShapeFree            // free to move: a ring
	ShapeTrial           // light trial: a subject with three lights
	ShapePlan            // Plan's answer: four equal bars
	ShapeArea            // draw the wanted area: its four corners
	ShapeWheel           // Setups: the wheel, with the directions asked for
	ShapeKeys            // keys: three caps and the long one below them
	ShapeNotice          // something to be read: the triangle that warns
	ShapeNothing         // nothing there yet: a ribbon's planned bars
	ShapeFrame           // one frame is looked at: its bar, below the pointer, with its number
)

// ShapeOf gives the shape of a verdict.
func ShapeOf(v session.Verdict) Shape {
	switch v {
	case session.VerdictBlurred:
		return ShapeAgain
	case session.VerdictGap:
		return ShapeFill
	case session.VerdictNearOpen:
		return ShapeNearer
	case session.VerdictFarOpen:
		return ShapeFarther
	case session.VerdictUnsteady:
		return ShapeChanged
	case session.VerdictCovered:
		return ShapeFree
	case session.VerdictUndecided:
		return ShapeUndecided
	case session.VerdictTooFew:
		return ShapeHold
	}
	return ShapeNone
}

// colour is the shape's colour beside the sentence.
func (s Shape) colour() look.Colour {
	switch s {
	case ShapeHold, ShapeWheel, ShapeNothing:
		return look.Ink2
	case ShapePlan, ShapeKeys, ShapeFrame:
		return look.Ink1
	}
	return look.Accent
}

// shapeBox is the side of the box that the large shapes are drawn in.
const shapeBox float32 = 88

// shape draws s in a box of the given side at (x, y). Number stands in ShapeAgain,
// and ShapeFrame, as far as the box is large enough to read it; cells are marked in ShapeWheel.
func (p *pen) shape(x, y, side float32, s Shape, c look.Colour, number string, cells []session.Cell) {
	k := side / shapeBox
	stroke := func(v float32) float32 { return max(v*k, 2) }
	bar := func(bx, by, w, h float32) { p.fill(x+bx*k, y+by*k, w*k, h*k, min(3, 4*k), c) }
	dash := func(bx, w float32) { p.fill(x+bx*k, y+40*k, w*k, max(8*k, 2), 0, c) }
	mx, my := x+44*k, y+44*k
	switch s {
	case ShapeAgain:
		// 52 x 74 is measured along the middle of the stroke.
		w, h := 57*k, 79*k
		p.outline(x+4*k, y+5*k, w, h, max(7*k, 2), stroke(5), c)
		p.outlineOn(x+26*k, y+5*k, w, h, max(7*k, 2), stroke(5), c, look.Ground)
		if side >= 44 {
			st := style{44 * k, true, c}
			for st.px > 12 && textWidth(number, st) > 44*k {
				st.px -= 2
			}
			p.textIn(x+54.5*k, y+44.5*k, number, st)
		}
	case ShapeFill:
		bar(0, 6, 24, 76)
		bar(64, 6, 24, 76)
		p.hatch(x+28*k, y+6*k, 32*k, 76*k, max(10*k, 4), max(3*k, 1.5), c)
	case ShapeNearer:
		for i := range 3 {
			bar(26+22*float32(i), 6, 18, 76)
		}
		dash(15, 8)
		dash(6, 6)
		dash(0, 3)
	case ShapeFarther:
		for i := range 3 {
			bar(22*float32(i), 6, 18, 76)
		}
		dash(65, 8)
		dash(76, 6)
		dash(85, 3)
	case ShapeChanged:
		p.ring(mx, my, 38*k, stroke(6), c)
		p.sector(mx, my, 0, 38*k+stroke(6)/2, 0, 180, c)
	case ShapeUndecided:
		p.outline(x+8*k, y+8*k, 72*k, 72*k, 0, stroke(6), c)
		p.textIn(mx, my, "?", style{max(50*k, 12), true, c})
	case ShapeHold:
		p.fill(x+10*k, y+10*k, 68*k, 68*k, 0, c)
	case ShapeFree:
		if side < 44 {
			p.ring(mx, my, 8, 3, c)
			return
		}
		p.ring(mx, my, 37*k, 11*k, c)
	case ShapeTrial:
		p.ring(mx, y+52*k, 11*k, stroke(5), c)
		p.fill(x, y+35*k, 10*k, 34*k, 0, c)
		p.fill(x+27*k, y+9*k, 34*k, 10*k, 0, c)
		p.fill(x+78*k, y+35*k, 10*k, 34*k, 0, c)
	case ShapePlan:
		for i := range 4 {
			bar(4.5+21*float32(i), 8, 16, 72)
		}
	case ShapeArea:
		const long, wide, low, high = 28, 7, 8, 80
		for _, bx := range []float32{low, high - long} {
			p.fill(x+bx*k, y+low*k, long*k, stroke(wide), 0, c)
			p.fill(x+bx*k, y+high*k-stroke(wide), long*k, stroke(wide), 0, c)
		}
		for _, by := range []float32{low, high - long} {
			p.fill(x+low*k, y+by*k, stroke(wide), long*k, 0, c)
			p.fill(x+high*k-stroke(wide), y+by*k, stroke(wide), long*k, 0, c)
		}
	case ShapeWheel:
		for _, cell := range cells {
			if cell.Height == session.HeightOverhead {
				p.disc(mx, my, 17*k, look.Accent)
				continue
			}
			from, to := fyneAngles(eighthOf(cell.Side))
			p.sector(mx, my, 21*k, 39*k, from, to, look.Accent)
		}
		p.ring(mx, my, 40*k, stroke(4), c)
		p.ring(mx, my, 20*k, stroke(3.5), c)
		p.disc(mx, my, max(5*k, 2), c)
	case ShapeKeys:
		for i := range 3 {
			p.outline(x+(2+29*float32(i))*k, y+16*k, 26*k, 26*k, 5*k, stroke(4), c)
		}
		p.outline(x+2*k, y+46*k, 84*k, 26*k, 5*k, stroke(4), c)
	case ShapeNotice:
		p.warning(mx, y+6*k, 42*k, stroke(6))
	case ShapeFrame:
		p.pointer(mx, y+6*k, 30*k, c)
		p.fill(x+2*k, y+30*k, 84*k, 50*k, max(5*k, 2), c)
		if side >= 44 {
			st := style{38 * k, true, look.Ground}
			for st.px > 12 && textWidth(number, st) > 76*k {
				st.px -= 2
			}
			p.textIn(mx, y+55*k, number, st)
		}
	case ShapeNothing:
		for i := range 4 {
			p.outline(x+(4.5+21*float32(i))*k, y+8*k, 16*k, 72*k, min(3, 4*k), stroke(3), c)
		}
	}
}

// caution draws the triangle that warns, 28 wide, with its top at (x+14, y).
func (p *pen) caution(x, y float32) {
	// A regular triangle on a side of 28 has a circle of radius 16.2 round it.
	p.warning(x+14, y, 16.2, 2)
}

// warning draws the triangle that warns in a circle of radius r, its top at (x, y).
func (p *pen) warning(x, y, r, stroke float32) {
	k := r / 16.2
	p.polygonStroke(x, y+r, r, 3, 0, stroke, color.Transparent, look.Accent.Now())
	p.fill(x-k, y+9*k, 2*k, 7*k, 0, look.Accent)
	p.fill(x-k, y+18*k, 2*k, 2*k, 0, look.Accent)
}

// SmallShape is a shape 18 px large, as it stands in rows; the word is always beside
// it.
type SmallShape struct {
	widget.BaseWidget
	Shape Shape
}

// NewSmallShape makes a small shape.
func NewSmallShape(s Shape) *SmallShape {
	w := &SmallShape{Shape: s}
	w.ExtendBaseWidget(w)
	return w
}

func (s *SmallShape) draw(p *pen, _, _ float32)           { p.shape(0, 0, 18, s.Shape, look.Ink2, "", nil) }
func (s *SmallShape) least() (w, h float32)               { return 19, 19 }
func (s *SmallShape) CreateRenderer() fyne.WidgetRenderer { return render(s) }

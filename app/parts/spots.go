package parts

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// Spot is one frame's crop at the spot looked at.
type Spot struct {
	Picture *image.RGBA
	// Place is the middle of the frame's bar, on the scale of Bar.
	Place float64
	// Index is handed to OnTap: which frame this is.
	Index int
}

// Spots shows the same spot in each frame: equal crops from near to far under the
// ribbon, a hairline from each bar to its crop. It must be as wide as the ribbon
// above it. Where there are more frames than room, those round the current one show.
type Spots struct {
	widget.BaseWidget

	Ribbon  RibbonData // of the ribbon above
	Items   []Spot     // in order of depth
	Current int        // index in Items
	// Most is how wide a crop is at most; 0 is as designed.
	Most  float32
	OnTap func(index int)
	// OnDrag, where set, is called while a crop is dragged with where the pointer is in the
	// strip, in px at scale 1, and OnDrop when it is let go.
	OnDrag func(index int, x, y float32)
	OnDrop func()

	dragged int // index in Items of the crop that is dragged, plus one
}

var _ fyne.Draggable = (*Spots)(nil)

// NewSpots makes an empty strip.
func NewSpots() *Spots {
	w := &Spots{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the strip.
func (s *Spots) CreateRenderer() fyne.WidgetRenderer { return render(s) }

const (
	spotGap   float32 = 12
	spotLeast float32 = 64 // narrower crops tell nothing
	spotMost  float32 = 140
	spotTop   float32 = 20 // below the hairlines
	spotRatio float32 = 92.0 / 59
)

func (s *Spots) least() (w, h float32) {
	width := s.Size().Width / look.Current().Scale
	_, _, cw := s.window(width)
	return spotLeast, spotTop + cw/spotRatio + 6
}

// window gives which of the crops show in a strip so wide, and how wide each is.
func (s *Spots) window(w float32) (from, to int, cw float32) {
	n, most := len(s.Items), s.Most
	if most == 0 {
		most = spotMost
	}
	fits := max(1, int((w+spotGap)/(spotLeast+spotGap)))
	from, to = 0, n
	if n > fits {
		from = min(max(s.Current-fits/2, 0), n-fits)
		to = from + fits
	}
	if to == from {
		return from, to, most
	}
	cw = (w+spotGap)/float32(to-from) - spotGap
	return from, to, min(max(cw, 1), most)
}

// crop gives the left edge of crop i of those that show.
func spotX(i int, cw float32) float32 { return float32(i) * (cw + spotGap) }

func (s *Spots) draw(p *pen, w, _ float32) {
	from, to, cw := s.window(w)
	ch := cw / spotRatio
	for i := from; i < to; i++ {
		item := s.Items[i]
		x := spotX(i-from, cw)
		hair := look.Ink3
		if i == s.Current {
			hair = look.Ink1
		}
		p.hair(s.Ribbon.X(item.Place, w), 2, x+cw/2, spotTop-4, hair)
		if item.Picture == nil {
			p.fill(x, spotTop, cw, ch, 0, look.Field)
		} else {
			p.picture(x, spotTop, cw, ch, item.Picture)
			p.veil(x, spotTop, cw, ch)
		}
		if i == s.Current {
			p.focus(x, spotTop, cw, ch, ringOutClose)
		}
	}
}

// CropSize gives the size of a crop, in px at scale 1, in a strip so wide with n
// frames; the crops handed in should have its proportions.
func (s *Spots) CropSize(width float32) (w, h float32) {
	_, _, cw := s.window(width)
	return cw, cw / spotRatio
}

// Tapped reports the crop that was clicked.
func (s *Spots) Tapped(e *fyne.PointEvent) {
	if i := s.itemAt(e.Position); i >= 0 && s.OnTap != nil {
		s.OnTap(s.Items[i].Index)
	}
}

// itemAt gives the index in Items of the crop at a position, -1 for none.
func (s *Spots) itemAt(pos fyne.Position) int {
	x, y := at(pos)
	from, to, cw := s.window(s.Size().Width / look.Current().Scale)
	for i := from; i < to; i++ {
		left := spotX(i-from, cw)
		if x >= left && x < left+cw && y >= spotTop && y < spotTop+cw/spotRatio {
			return i
		}
	}
	return -1
}

// Dragged is part of fyne.Draggable.
func (s *Spots) Dragged(e *fyne.DragEvent) {
	if s.OnDrag == nil {
		return
	}
	if s.dragged == 0 {
		s.dragged = s.itemAt(e.Position.Subtract(e.Dragged)) + 1 // where the pointer went down
	}
	if s.dragged > 0 && s.dragged <= len(s.Items) {
		x, y := at(e.Position)
		s.OnDrag(s.Items[s.dragged-1].Index, x, y)
	}
}

// DragEnd is part of fyne.Draggable.
func (s *Spots) DragEnd() {
	if s.dragged > 0 && s.OnDrop != nil {
		s.OnDrop()
	}
	s.dragged = 0
}

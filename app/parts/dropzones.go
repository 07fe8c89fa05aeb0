package parts

import (
	"image"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// DropZone is where something that is dragged can be let go, in px at scale 1. Zones may touch: they
// are drawn a little apart.
type DropZone struct {
	X, Y, W, H float32
	Words      string
	Off        bool // it cannot be let go there now
}

// DropZones shows, over what lies below, where something can be let go while it is dragged, and
// the thing itself under the pointer. It takes no pointer events of its own.
type DropZones struct {
	widget.BaseWidget

	Zones []DropZone
	// Held is what is dragged, HeldW and HeldH its size, its middle at AtX, AtY; in px at scale 1.
	Held                   *image.RGBA
	HeldW, HeldH, AtX, AtY float32
}

// NewDropZones makes a drawing without zones.
func NewDropZones() *DropZones {
	w := &DropZones{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the zones.
func (s *DropZones) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *DropZones) least() (w, h float32) { return 60, 40 }

// Under gives the index of the zone under what is dragged, -1 for none.
func (s *DropZones) Under() int {
	for i, z := range s.Zones {
		if !z.Off && s.AtX >= z.X && s.AtX < z.X+z.W && s.AtY >= z.Y && s.AtY < z.Y+z.H {
			return i
		}
	}
	return -1
}

// zoneInset is half of what lies between two zones.
const zoneInset float32 = 6

func (s *DropZones) draw(p *pen, _, _ float32) {
	under := s.Under()
	for i, z := range s.Zones {
		p.fill(z.X-zoneInset, z.Y, z.W+2*zoneInset, z.H+1, 0, look.Ground) // no line between two
		if z.Off {
			continue
		}
		edge, stroke, st := look.Edge, float32(1.6), of(look.Base)
		if i == under {
			edge, stroke, st = look.Accent, 3, of(look.Name).in(look.Ink1)
		}
		p.outline(z.X, z.Y+zoneInset, z.W, z.H-2*zoneInset, 4, stroke, edge)
		p.textIn(z.X+z.W/2, z.Y+z.H/2, shorten(z.Words, st, z.W-2*look.Space16), st)
	}
	if s.Held != nil {
		x, y := s.AtX-s.HeldW/2, s.AtY-s.HeldH/2
		p.picture(x, y, s.HeldW, s.HeldH, s.Held)
		p.veil(x, y, s.HeldW, s.HeldH)
		p.outline(x, y, s.HeldW, s.HeldH, 0, 2, look.Accent)
	}
}

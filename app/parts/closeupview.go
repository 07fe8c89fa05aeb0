package parts

import (
	"encoding/binary"
	"image"
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// CloseupView shows a part of a picture pixel by pixel, or a whole one as large as its box
// allows, on bare ground. The pointer drags, clicks and turns its wheel on it.
type CloseupView struct {
	widget.BaseWidget

	// Picture is what is in view, and Overlays lie over it, stretched to the same size.
	Picture  *image.RGBA
	Overlays []*image.RGBA
	// Zoom is how many pixels of the screen show one of Picture; 0 fits it into the box.
	Zoom int
	// Pixels is how many pixels of the screen stand on one of Fyne's units.
	Pixels float32
	// Empty is said where there is no picture.
	Empty string

	// OnDrag is called with how far the pointer dragged the picture, in pixels of the screen.
	OnDrag func(dx, dy float32)
	// OnPoint is called with the point that was clicked, OnWheel with the one under the pointer,
	// in shares of what is in view; in is true where the wheel turns away from the hand.
	OnPoint func(x, y float64)
	OnWheel func(in bool, x, y float64)
}

var (
	_ fyne.Draggable     = (*CloseupView)(nil)
	_ fyne.Tappable      = (*CloseupView)(nil)
	_ fyne.Scrollable    = (*CloseupView)(nil)
	_ desktop.Cursorable = (*CloseupView)(nil)
)

// NewCloseupView makes a view without a picture.
func NewCloseupView() *CloseupView {
	w := &CloseupView{Pixels: 1}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the view.
func (s *CloseupView) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *CloseupView) least() (w, h float32) { return 60, 40 }

// frame is where the picture lies in the view: whole at the top and centred, else in the middle,
// its first pixel on a pixel of the screen.
func (s *CloseupView) frame(w, h float32) (x, y, fw, fh float32) {
	if s.Picture == nil {
		return 0, 0, w, h
	}
	if s.Zoom == 0 {
		fw, fh = fit(s.Picture.Rect.Dx(), s.Picture.Rect.Dy(), w, h)
		return (w - fw) / 2, 0, fw, fh
	}
	k := s.Pixels * look.Current().Scale // pixels of the screen on one px
	fw, fh = float32(s.Picture.Rect.Dx()*s.Zoom)/k, float32(s.Picture.Rect.Dy()*s.Zoom)/k
	on := func(v float32) float32 { return float32(int(v*k)) / k }
	return on((w - fw) / 2), on((h - fh) / 2), fw, fh
}

func (s *CloseupView) draw(p *pen, w, h float32) {
	x, y, fw, fh := s.frame(w, h)
	if s.Picture == nil {
		p.outline(0, 0, w, h, 0, 1, look.Line)
		p.textIn(w/2, h/2, s.Empty, of(look.Base).in(look.Ink3))
		return
	}
	s.put(p, x, y, fw, fh, s.Picture)
	p.veil(x, y, fw, fh)
	for _, o := range s.Overlays {
		s.put(p, x, y, fw, fh, o)
	}
}

// put shows a picture. Enlarged, its pixels are squares (nearest neighbour): sharpness is judged
// by them, and whatever is computed between them looks like blur.
func (s *CloseupView) put(p *pen, x, y, w, h float32, img *image.RGBA) {
	if img == nil || img.Rect.Empty() {
		return
	}
	p.picture(x, y, w, h, img)
	if s.Zoom > 0 {
		p.images.all[p.images.used-1].ScaleMode = canvas.ImageScalePixels
	}
}

// share gives a position in the view as shares of what is in view, kept inside it.
func (s *CloseupView) share(pos fyne.Position) (x, y float64) {
	k := look.Current().Scale
	fx, fy, fw, fh := s.frame(s.Size().Width/k, s.Size().Height/k)
	if fw == 0 || fh == 0 {
		return 0, 0
	}
	px, py := at(pos)
	return float64(min(max((px-fx)/fw, 0), 1)), float64(min(max((py-fy)/fh, 0), 1))
}

// Dragged moves the picture with the pointer.
func (s *CloseupView) Dragged(e *fyne.DragEvent) {
	if s.OnDrag != nil {
		s.OnDrag(e.Dragged.DX*s.Pixels, e.Dragged.DY*s.Pixels)
	}
}

// DragEnd is part of fyne.Draggable.
func (s *CloseupView) DragEnd() {}

// Tapped reports the point that was clicked.
func (s *CloseupView) Tapped(e *fyne.PointEvent) {
	if s.OnPoint != nil && s.Picture != nil {
		s.OnPoint(s.share(e.Position))
	}
}

// Scrolled reports that the wheel was turned.
func (s *CloseupView) Scrolled(e *fyne.ScrollEvent) {
	if s.OnWheel != nil && s.Picture != nil && e.Scrolled.DY != 0 {
		x, y := s.share(e.Position)
		s.OnWheel(e.Scrolled.DY > 0, x, y)
	}
}

// Cursor tells what a click does.
func (s *CloseupView) Cursor() desktop.Cursor {
	if s.Zoom == 0 {
		return desktop.CrosshairCursor
	}
	return desktop.DefaultCursor
}

// CutPart copies a part of a picture out of a block of it; both are in pixels of the whole
// picture. What the block does not hold stays see-through. A part of which it holds nothing
// gives nil.
func CutPart(img *image.RGBA, block, part image.Rectangle) *image.RGBA {
	// The file can hold fewer pixels than its metadata say.
	block.Max = block.Min.Add(image.Pt(min(block.Dx(), img.Rect.Dx()), min(block.Dy(), img.Rect.Dy())))
	in := part.Intersect(block)
	if in.Empty() {
		return nil
	}
	out := image.NewRGBA(image.Rect(0, 0, part.Dx(), part.Dy()))
	for y := in.Min.Y; y < in.Max.Y; y++ {
		from := img.PixOffset(img.Rect.Min.X+in.Min.X-block.Min.X, img.Rect.Min.Y+y-block.Min.Y)
		to := out.PixOffset(in.Min.X-part.Min.X, y-part.Min.Y)
		copy(out.Pix[to:to+4*in.Dx()], img.Pix[from:])
	}
	return out
}

// Under gives w x h pixels of img as an affine map finds them, linearly between its pixels: the
// pixel at (x, y) shows img at (a[0] x + a[1] y + a[2], a[3] x + a[4] y + a[5]). What lies beside
// img stays see-through. It goes with every move of a picture, so it reckons in whole numbers:
// places in img in 1/65536 of its pixels, and weights in 1/256.
func Under(img *image.RGBA, a [6]float64, w, h int) *image.RGBA {
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	const one, half = 1 << 16, 1 << 15
	iw, ih := img.Rect.Dx(), img.Rect.Dy()
	row := func(y int) []byte { return img.Pix[min(max(y, 0), ih-1)*img.Stride:] }
	du, dv := int(a[0]*one), int(a[3]*one)
	for y := range h {
		u := int((0.5*a[0] + (float64(y)+0.5)*a[1] + a[2] - 0.5) * one)
		v := int((0.5*a[3] + (float64(y)+0.5)*a[4] + a[5] - 0.5) * one)
		to := out.Pix[y*out.Stride:]
		for x := 0; x < w; x, u, v = x+1, u+du, v+dv {
			if u < -half || v < -half || u >= iw*one-half || v >= ih*one-half {
				continue
			}
			at, next := 4*max(u>>16, 0), 4*min(u>>16+1, iw-1)
			top, below := row(v>>16), row(v>>16+1)
			fu, fv := uint32(u>>8)&0xff, uint32(v>>8)&0xff
			t := between(rgba(top[at:]), rgba(top[next:]), fu)
			b := between(rgba(below[at:]), rgba(below[next:]), fu)
			binary.LittleEndian.PutUint32(to[4*x:], between(t, b, fv))
		}
	}
	return out
}

func rgba(pix []byte) uint32 { return binary.LittleEndian.Uint32(pix) }

// between gives the four channels of a pixel at f/256 of the way from p to q, two of them at a
// time.
func between(p, q, f uint32) uint32 {
	const two = 0x00ff00ff
	even := (((p&two)*(256-f) + (q&two)*f) >> 8) & two
	odd := ((p>>8)&two)*(256-f) + ((q>>8)&two)*f
	return even | odd&^two
}

// Hatching of what is clipped, in pixels of the screen.
const (
	clipPitch  = 8
	clipStroke = 2
)

// Clipped marks where a picture is at the top (255) or the bottom (0) of the scale in one channel
// or more, and tells which shares of its pixels are: bright ones by strokes in accent that rise
// to the right, dark ones by white ones that fall. Each area's edge is drawn as well, so that
// the smallest speck shows. The overlay has zoom x zoom pixels for each of the picture's. What
// is see-through in the picture counts for nothing.
func Clipped(img *image.RGBA, zoom int) (overlay *image.RGBA, bright, dark float64) {
	w, h := img.Rect.Dx(), img.Rect.Dy()
	const none, isBright, isDark = 0, 1, 2
	// One more all round, that counts as not clipped.
	wide := w + 2
	kind := make([]uint8, wide*(h+2))
	seen, n := 0, [3]int{}
	for y := range h {
		row := img.Pix[img.PixOffset(img.Rect.Min.X, img.Rect.Min.Y+y):]
		for x := range w {
			r, g, b, a := row[4*x], row[4*x+1], row[4*x+2], row[4*x+3]
			if a < 255 {
				continue
			}
			seen++
			k := none
			switch {
			case max(r, g, b) == 255: // a colour can be at both ends: the bright one is what exposure mends
				k = isBright
			case min(r, g, b) == 0:
				k = isDark
			}
			n[k]++
			kind[(y+1)*wide+x+1] = uint8(k)
		}
	}
	if seen == 0 {
		return nil, 0, 0
	}
	if n[isBright]+n[isDark] > 0 {
		overlay = image.NewRGBA(image.Rect(0, 0, w*zoom, h*zoom))
		drawClipped(overlay, kind, w, h, zoom)
	}
	return overlay, float64(n[isBright]) / float64(seen), float64(n[isDark]) / float64(seen)
}

func drawClipped(out *image.RGBA, kind []uint8, w, h, zoom int) {
	accent, ink := look.Accent.Now(), look.Ink1.Now()
	marks := [3]color.RGBA{1: {accent.R, accent.G, accent.B, 255}, 2: {ink.R, ink.G, ink.B, 255}}
	wide := w + 2
	for y := range h {
		for x := range w {
			i := (y+1)*wide + x + 1
			k := kind[i]
			if k == 0 {
				continue
			}
			edge := kind[i-1] != k || kind[i+1] != k || kind[i-wide] != k || kind[i+wide] != k
			for v := y * zoom; v < (y+1)*zoom; v++ {
				for u := x * zoom; u < (x+1)*zoom; u++ {
					at := u + v
					if k == 2 {
						at = u - v + clipPitch*h*zoom
					}
					switch at %= clipPitch; {
					case edge || at < clipStroke:
						out.SetRGBA(u, v, marks[k])
					case at < 2*clipStroke: // black beside the stroke: bright areas are bright
						out.SetRGBA(u, v, color.RGBA{A: 255})
					}
				}
			}
		}
	}
}

package parts

import (
	"fmt"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// Measures of the light plan at its full size.
const (
	planR      float32 = 146 // of the outer ring
	planRimCM          = 60  // what the outer ring stands for
	planAsk            = 40  // where a light of unknown distance is drawn, in cm
	sideR      float32 = 56  // of the arc that shows elevation
	numberDist float32 = 26  // from a mark's middle to its number
)

// LightPlan shows where the lights stand, seen from above with the camera at the
// bottom. It is for looking at; LightEditor is for moving them.
type LightPlan struct {
	widget.BaseWidget

	Lights []session.Light
	// Radius of the outer ring in px at scale 1: 146 and 78 large, 22 to 48 on cards,
	// where numbers and the lines of light are left out.
	Radius float32
}

// NewLightPlan makes a plan without lights.
func NewLightPlan(radius float32) *LightPlan {
	w := &LightPlan{Radius: radius}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the plan.
func (s *LightPlan) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *LightPlan) least() (w, h float32) {
	g := planIn(0, 0, s.Radius)
	return 2 * g.room(), g.room() + g.r + 20*g.k
}

func (s *LightPlan) draw(p *pen, w, h float32) {
	g := planIn(0, 0, s.Radius)
	g.cx, g.cy = w/2, g.room()
	p.plan(g, s.Lights, -1)
}

// planGeometry is where a plan lies.
type planGeometry struct {
	cx, cy, r float32
	k         float32 // size of the marks
	small     bool    // no numbers, no lines of light
}

func planIn(cx, cy, r float32) planGeometry {
	g := planGeometry{cx: cx, cy: cy, r: r, k: 1}
	switch {
	case r < 60:
		g.k, g.small = max(r/140, 0.42), true
	case r < planR:
		g.k = max(r/planR, 0.8)
	}
	return g
}

// room is how far from the middle the plan draws to the sides and upwards.
func (g planGeometry) room() float32 {
	if g.small {
		return g.r + 8
	}
	return g.r + 24
}

// distOf gives how far from the middle a light is drawn, and whether it is really
// farther away than the plan's rim.
func (g planGeometry) distOf(l session.Light) (dist float32, beyond bool) {
	cm := float64(planAsk)
	if l.DistanceCM != nil {
		cm = *l.DistanceCM
	}
	if cm > planRimCM {
		return g.r, true
	}
	// Nearer than this a mark would cover the subject.
	return max(float32(cm/planRimCM)*g.r, 22*g.k), false
}

// spot gives where a light is drawn.
func (g planGeometry) spot(l session.Light) (x, y float32) {
	dist, _ := g.distOf(l)
	return planPoint(g.cx, g.cy, dist, l.AzimuthDeg)
}

// reflects says of a light that it gives no light of its own.
func reflects(k session.LightKind) bool { return k == session.LightCard || k == session.LightFlag }

// plan draws the table from above. The light with index held is marked as the one
// being moved; -1 for none.
func (p *pen) plan(g planGeometry, lights []session.Light, held int) {
	cx, cy, r := g.cx, g.cy, g.r
	p.ring(cx, cy, r, 1, look.Line)
	if r >= 30 {
		p.ring(cx, cy, r*2/3, 1, look.Line)
		p.ring(cx, cy, r/3, 1, look.Line)
	}
	if !g.small {
		for i := range 8 {
			az := 22.5 + 45*float64(i)
			x0, y0 := planPoint(cx, cy, r, az)
			x1, y1 := planPoint(cx, cy, r+6, az)
			p.line(x0, y0, x1, y1, 1, look.Edge)
		}
	}
	if r >= planR*0.6 {
		for i, words := range []string{"20", "40", "60 cm"} {
			x, y := planPoint(cx, cy, r*float32(i+1)/3+5, 135)
			p.text(x, y, words, of(look.Ring), left)
		}
	}
	// The camera stands at the rim, its lens inside.
	p.fill(cx-8*g.k, cy+r-10*g.k, 16*g.k, 14*g.k, 2*g.k, look.Ink2)
	p.fill(cx-17*g.k, cy+r+2*g.k, 34*g.k, 17*g.k, 3*g.k, look.Ink2)

	if !g.small {
		for _, l := range lights {
			if !reflects(l.Kind) {
				p.lightLines(g, l)
			}
		}
	}
	p.ringOn(cx, cy, max(10*g.k, 3.5), max(2*g.k, 1.5), look.Ink2, look.Ground)

	for i, l := range lights {
		x, y := g.spot(l)
		p.lightMark(x, y, l.AzimuthDeg, g.k, l, markColour(l.Kind))
		if g.small {
			continue
		}
		if i == held {
			p.ring(x, y, 24, 2, look.Accent)
		}
		dist, beyond := g.distOf(l)
		out := dist + numberDist
		if i == held {
			out += 10 // clear of the ring
		}
		nx, ny := planPoint(cx, cy, out, l.AzimuthDeg)
		p.textIn(nx, ny, strconv.Itoa(i+1), of(look.Name))
		if beyond && i != held {
			p.text(nx+10, ny+5, Distance(*l.DistanceCM), of(look.Ring), left)
		}
	}
}

// lightLines draws the two lines from a light, or from its diffuser, to the rim of
// the subject.
func (p *pen) lightLines(g planGeometry, l session.Light) {
	x, y := g.spot(l)
	u := towards(l.AzimuthDeg)
	front := 6 * g.k
	if diffused(l) {
		front = 16 * g.k
	}
	for _, side := range []float32{-1, 1} {
		half := side * 13 * g.k
		x0, y0 := u.off(x, y, front, half)
		x1, y1 := u.off(g.cx, g.cy, -8*g.k, side*10*g.k)
		p.hair(x0, y0, x1, y1, look.Ink3)
	}
}

// markColour is ink 1 for what gives light and ink 3 for what only turns it.
func markColour(k session.LightKind) look.Colour {
	if reflects(k) {
		return look.Ink3
	}
	return look.Ink1
}

func diffused(l session.Light) bool { return l.Modifier == "diffuser" }

// heading is the direction from a light to the subject, on the screen.
type heading struct{ x, y float32 }

func towards(azimuthDeg float64) heading {
	x, y := planPoint(0, 0, -1, azimuthDeg)
	return heading{x, y}
}

// off gives the point so far along the heading and so far to its right.
func (u heading) off(x, y, along, across float32) (float32, float32) {
	return x + u.x*along - u.y*across, y + u.y*along + u.x*across
}

// lightMark draws the mark of a light at (x, y), turned to the subject from its
// azimuth, at k times its full size. Bars are thick lines, since rectangles do not
// turn.
func (p *pen) lightMark(x, y float32, azimuthDeg float64, k float32, l session.Light, c look.Colour) {
	u := towards(azimuthDeg)
	// stroke draws a line between two points given along and across the heading.
	stroke := func(a0, b0, a1, b1, width float32) {
		x0, y0 := u.off(x, y, a0*k, b0*k)
		x1, y1 := u.off(x, y, a1*k, b1*k)
		p.line(x0, y0, x1, y1, max(width*k, 1), c)
	}
	switch l.Kind {
	case session.LightFlash:
		p.polygon(x, y, 13*k, 3, fyneAngle(azimuthDeg), c)
	case session.LightLamp:
		p.disc(x, y, 9*k, c)
		stroke(-13, 0, -5, 0, 9)
	case session.LightWindow:
		stroke(-3.5, -18, -3.5, 18, 2)
		stroke(3.5, -18, 3.5, 18, 2)
		stroke(-3.5, -17, 3.5, -17, 2)
		stroke(-3.5, 17, 3.5, 17, 2)
		stroke(-3.5, 0, 3.5, 0, 2)
	case session.LightCard:
		stroke(0, -14, 0, 14, 2.5)
	case session.LightFlag: // a card with its edges bent away from the subject
		stroke(0, -14, 0, 14, 2.5)
		stroke(0, -13, -6, -13, 2.5)
		stroke(0, 13, -6, 13, 2.5)
	default: // LED panel
		stroke(0, -13, 0, 13, 7)
		stroke(-8, 0, 0, 0, 4)
	}
	if diffused(l) {
		for i := -2; i <= 2; i++ {
			mid := 7 * float32(i)
			stroke(13, mid-2.5, 13, mid+2.5, 2)
		}
	}
}

// LightMark is the mark of a kind of light, as it stands before its name: it looks
// to the right.
type LightMark struct {
	widget.BaseWidget
	Light session.Light
	// Pale draws it in ink 3: not chosen.
	Pale bool
}

// NewLightMark makes the mark of a light.
func NewLightMark(l session.Light) *LightMark {
	w := &LightMark{Light: l}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the mark.
func (s *LightMark) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *LightMark) least() (w, h float32) { return 34, 38 }

func (s *LightMark) draw(p *pen, w, h float32) {
	c := markColour(s.Light.Kind)
	if s.Pale {
		c = look.Ink3
	}
	p.lightMark(14, h/2, 270, 1, s.Light, c)
}

// Distance writes a distance as people say it: "40 cm", from a metre on "1.1 m".
func Distance(cm float64) string {
	if cm >= 99.5 {
		return fmt.Sprintf("%.1f m", cm/100)
	}
	return fmt.Sprintf("%.0f cm", cm)
}

// LightTitle names a light: "LED panel, diffuser".
func LightTitle(l session.Light) string {
	if l.Kind == "" {
		return ""
	}
	title := strings.ToUpper(string(l.Kind[:1])) + string(l.Kind[1:])
	if l.Modifier != "" {
		title += ", " + l.Modifier
	}
	return title
}

// LightWhere says where a light stands: "back-left · high · 40 cm".
func LightWhere(l session.Light) string {
	words := string(l.Side()) + " · " + string(l.Height())
	if l.DistanceCM != nil {
		words += " · " + Distance(*l.DistanceCM)
	}
	return words
}

// SideArc shows how high the lights stand, seen from the side: the subject at the
// corner of a quarter circle, a disc for each light.
type SideArc struct {
	widget.BaseWidget
	Lights []session.Light
}

// NewSideArc makes an arc without lights.
func NewSideArc() *SideArc {
	w := &SideArc{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the arc.
func (s *SideArc) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *SideArc) least() (w, h float32) { return sideR + 34, sideR + 32 }

func (s *SideArc) draw(p *pen, _, _ float32) { p.sideArc(8, sideR+16, s.Lights, -1) }

// sidePoint gives where an elevation lies on an arc with its corner at (cx, cy).
func sidePoint(cx, cy, r float32, elevationDeg float64) (x, y float32) {
	x, y = planPoint(0, 0, r, 90+elevationDeg)
	return cx + x, cy + y
}

// sideArc draws the arc with the subject at (cx, cy).
func (p *pen) sideArc(cx, cy float32, lights []session.Light, held int) {
	p.line(cx, cy, cx+sideR+10, cy, 1, look.Edge)
	p.sector(cx, cy, sideR-0.75, sideR+0.75, 0, 90, look.Edge)
	for _, border := range []float64{20, 50, 75} {
		x0, y0 := sidePoint(cx, cy, sideR-4, border)
		x1, y1 := sidePoint(cx, cy, sideR+4, border)
		p.line(x0, y0, x1, y1, 1, look.Edge)
	}
	for _, l := range lights {
		x, y := sidePoint(cx, cy, sideR, l.ElevationDeg)
		p.hair(cx, cy, x, y, look.Ink3)
	}
	p.ringOn(cx, cy, 5, 2, look.Ink2, look.Ground)
	for i, l := range lights {
		x, y := sidePoint(cx, cy, sideR, l.ElevationDeg)
		p.disc(x, y, 6, markColour(l.Kind))
		if i == held {
			p.ring(x, y, 11, 2, look.Accent)
		}
		nx, ny := sidePoint(cx, cy, sideR+16, l.ElevationDeg)
		p.textIn(nx, ny, strconv.Itoa(i+1), of(look.Name))
	}
}

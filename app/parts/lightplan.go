package parts

import (
	"fmt"
	"math"
	"strconv"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/assets/words"
	"stillbench/session"
)

// Measures of the light plan at its full size.
const (
	planR      float32 = 146 // of the outer ring
	planRimCM          = 60  // what the outer ring stands for
	planAsk            = 40  // where a light of unknown distance is drawn, in cm
	sideR      float32 = 56  // of the arc that shows elevation
	numberDist float32 = 26  // from a mark's middle to its number
	// numbersApart is how far apart, in degrees, numbers stand on the side arc: the height of
	// one and a gap.
	numbersApart = 12
)

// LightPlan shows where the lights stand, seen from above with the camera at the
// bottom. It is for looking at; LightEditor is for moving them.
type LightPlan struct {
	widget.BaseWidget

	Lights []session.Light
	// Radius of the outer ring in px at scale 1: 146 and 78 large, 22 to 48 on cards,
	// where numbers and the lines of light are left out. Above 146 everything grows
	// with it.
	Radius float32
	// Held is the index of the light that is ringed, -1 for none.
	Held int
	// Stood is how many lights stand already; those after them are drawn pale. -1: all.
	Stood int
	// Background draws a backdrop behind the table.
	Background bool
}

// NewLightPlan makes a plan without lights.
func NewLightPlan(radius float32) *LightPlan {
	w := &LightPlan{Radius: radius, Held: -1, Stood: -1}
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
	if s.Background {
		p.backdrop(g)
	}
	p.plan(g, planned{s.Lights, s.Held, s.Stood, box{}})
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
	default:
		g.k = r / planR
	}
	return g
}

// room is how far from the middle the plan draws to the sides and upwards.
func (g planGeometry) room() float32 {
	if g.small {
		return g.r + 8
	}
	return g.r + 24*max(g.k, 1)
}

// camera is where the camera is drawn.
func (g planGeometry) camera() box {
	return box{g.cx - 17*g.k, g.cy + g.r - 10*g.k, g.cx + 17*g.k, g.cy + g.r + 19*g.k}
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

// box is a rectangle by its corners.
type box struct{ x0, y0, x1, y1 float32 }

// meets reports whether two boxes have a point in common; an empty one meets nothing.
func (b box) meets(o box) bool {
	return b.x1 > b.x0 && o.x1 > o.x0 && b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1
}

// planned is what stands on a plan.
type planned struct {
	lights []session.Light
	held   int // the light that is ringed, -1 for none
	stood  int // those from here on are pale, -1 for none
	words  box // where words lie that nothing else may be written under
}

// plan draws the table from above.
func (p *pen) plan(g planGeometry, on planned) {
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
			x1, y1 := planPoint(cx, cy, r+6*g.k, az)
			p.line(x0, y0, x1, y1, 1, look.Edge)
		}
	}
	if r >= planR*0.6 {
		p.ringWords(g, on)
	}
	// The camera stands at the rim, its lens inside.
	p.fill(cx-8*g.k, cy+r-10*g.k, 16*g.k, 14*g.k, 2*g.k, look.Ink2)
	p.fill(cx-17*g.k, cy+r+2*g.k, 34*g.k, 17*g.k, 3*g.k, look.Ink2)

	if !g.small {
		for i, l := range on.lights {
			if !reflects(l.Kind) {
				p.lightLines(g, l, on.pale(i))
			}
		}
	}
	p.ringOn(cx, cy, max(10*g.k, 3.5), max(2*g.k, 1.5), look.Ink2, look.Ground)

	for i, l := range on.lights {
		x, y := g.spot(l)
		c, number := markColour(l.Kind), of(look.Name)
		if on.pale(i) {
			c, number = look.Edge, number.in(look.Edge)
		}
		p.lightMark(x, y, l.AzimuthDeg, g.k, l, c)
		if g.small {
			continue
		}
		if i == on.held {
			p.ring(x, y, 24*g.k, 2, look.Accent)
		}
		nx, ny := g.numberAt(l, i == on.held)
		number.px *= max(g.k, 1)
		p.fill(nx-7*g.k, ny-8*g.k, 14*g.k, 16*g.k, 0, look.Ground) // no line runs through it
		p.textIn(nx, ny, strconv.Itoa(i+1), number)
		if _, beyond := g.distOf(l); beyond && i != on.held && !on.pale(i) {
			x, base, side := g.farAt(l)
			p.text(x, base, Distance(*l.DistanceCM), of(look.Ring), side)
		}
	}
}

func (on planned) pale(i int) bool { return on.stood >= 0 && i >= on.stood }

// numberAt gives where a light's number stands: outside its mark, and clear of the ring
// round a light that is held.
func (g planGeometry) numberAt(l session.Light, held bool) (x, y float32) {
	dist, _ := g.distOf(l)
	dist += numberDist * g.k
	if held {
		dist += 10 * g.k
	}
	return planPoint(g.cx, g.cy, dist, l.AzimuthDeg)
}

// farAt gives where the distance of a light beyond the rim is written: beside its number where that stands
// behind or before the subject, else above or below it, away from the light's own mark.
func (g planGeometry) farAt(l session.Light) (x, base float32, side align) {
	nx, ny := g.numberAt(l, false)
	sin, cos := math.Sincos(l.AzimuthDeg * math.Pi / 180)
	if math.Abs(sin) < 0.35 {
		return nx + 10*g.k, ny + 5, left
	}
	base = ny + 22*max(g.k, 1)
	if cos < 0 {
		base = ny - 12*max(g.k, 1)
	}
	if sin < 0 {
		return nx + 10*g.k, base, right
	}
	return nx - 10*g.k, base, left
}

// ringDiagonals are where the rings may have their distances written, by preference.
var ringDiagonals = []float64{135, 45, 315, 225}

// ringDiagonal picks the first diagonal that no light stands near and no words lie on.
func (g planGeometry) ringDiagonal(on planned) float64 {
	for _, az := range ringDiagonals {
		free := true
		for _, l := range on.lights {
			off := math.Abs(session.NormalAzimuth(l.AzimuthDeg-az+180) - 180)
			free = free && off > 22
		}
		for i := range 3 {
			x, y := planPoint(g.cx, g.cy, g.r*float32(i+1)/3+5, az)
			free = free && !on.words.meets(box{x - 46, y - 14, x + 46, y + 6})
		}
		if free {
			return az
		}
	}
	return ringDiagonals[0]
}

// ringWords writes what distance the rings stand for. A label that words lie on is
// left out.
func (p *pen) ringWords(g planGeometry, on planned) {
	az := g.ringDiagonal(on)
	st, side := of(look.Ring), left
	st.px *= max(g.k, 1)
	if az > 180 {
		side = right
	}
	for i, words := range []string{"20", "40", "60 cm"} {
		x, y := planPoint(g.cx, g.cy, g.r*float32(i+1)/3+5, az)
		if az < 90 || az > 270 {
			y += st.px * capHeight
		}
		w := textWidth(words, st)
		at := box{x, y - st.px, x + w, y + 3}
		if side == right {
			at = box{x - w, y - st.px, x, y + 3}
		}
		if !on.words.meets(at) {
			p.text(x, y, words, st, side)
		}
	}
}

// backdrop draws a background behind the table: an arc outside the rim with its ends
// turned to the subject.
func (p *pen) backdrop(g planGeometry) {
	out := g.r + 10*g.k
	p.sector(g.cx, g.cy, out, out+max(2.5*g.k, 1.5), -32, 32, look.Ink3)
	if g.small {
		return
	}
	for _, az := range []float64{148, 212} {
		x0, y0 := planPoint(g.cx, g.cy, out-4*g.k, az)
		x1, y1 := planPoint(g.cx, g.cy, out+3*g.k, az)
		p.line(x0, y0, x1, y1, 2*g.k, look.Ink3)
	}
}

// through says of a light that it stands behind the subject and level with it, so that
// what reaches the camera has gone through the subject or past its edge.
func through(l session.Light) bool {
	return l.Side() == session.SideBack && math.Abs(l.ElevationDeg) < 20
}

// lightLines draws the two lines from a light, or from its diffuser, to the rim of
// the subject; from below the table they are dashed, as drawings show what is hidden
// (ISO 128). A light that shines through the subject goes on to the camera.
func (p *pen) lightLines(g planGeometry, l session.Light, pale bool) {
	x, y := g.spot(l)
	u := towards(l.AzimuthDeg)
	front := 6 * g.k
	if l.Diffused() {
		front = 16 * g.k
	}
	c := look.Ink3
	if pale {
		c = look.Line
	}
	draw := func(x1, y1, x2, y2 float32, c look.Colour) { p.line(x1, y1, x2, y2, max(0.9, 0.8*g.k), c) }
	if l.ElevationDeg < 0 {
		draw = func(x1, y1, x2, y2 float32, c look.Colour) { p.dashes(x1, y1, x2, y2, 5*g.k, 4*g.k, c) }
	}
	for _, side := range []float32{-1, 1} {
		half := side * 13 * g.k
		x0, y0 := u.off(x, y, front, half)
		x1, y1 := u.off(g.cx, g.cy, -8*g.k, side*10*g.k)
		draw(x0, y0, x1, y1, c)
		if through(l) {
			x0, y0 = u.off(g.cx, g.cy, 8*g.k, side*10*g.k)
			x1, y1 = planPoint(g.cx+side*7*g.k, g.cy, g.r-12*g.k, 0)
			draw(x0, y0, x1, y1, c)
		}
	}
}

// dashes draws the thinnest broken line.
func (p *pen) dashes(x1, y1, x2, y2, dash, gap float32, c look.Colour) {
	length := dist(x1, y1, x2, y2)
	if length == 0 {
		return
	}
	ux, uy := (x2-x1)/length, (y2-y1)/length
	for at := float32(0); at < length; at += dash + gap {
		end := min(at+dash, length)
		p.hair(x1+ux*at, y1+uy*at, x1+ux*end, y1+uy*end, c)
	}
}

// markColour is ink 1 for what gives light and ink 3 for what only turns it.
func markColour(k session.LightKind) look.Colour {
	if reflects(k) {
		return look.Ink3
	}
	return look.Ink1
}

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
	if l.Diffused() {
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
		return fmt.Sprintf("%.1f m", words.Decimal(cm/100))
	}
	return fmt.Sprintf("%.0f cm", cm)
}

// LightTitle names a light: "LED panel, diffuser".
func LightTitle(l session.Light) string {
	if l.Kind == "" {
		return ""
	}
	kind := []rune(words.Of(string(l.Kind)))
	title := string(unicode.ToUpper(kind[0])) + string(kind[1:])
	if l.Modifier != "" {
		title += ", " + l.Modifier
	}
	return title
}

// lightDirection says where a light comes from: "back-left · high".
func lightDirection(l session.Light) string {
	return words.Of(string(l.Side())) + " · " + words.Of(string(l.Height()))
}

// LightWhere says where a light stands: "back-left · high · 40 cm".
func LightWhere(l session.Light) string {
	where := lightDirection(l)
	if l.DistanceCM != nil {
		where += " · " + Distance(*l.DistanceCM)
	}
	return where
}

// SideArc shows how high the lights stand, seen from the side: the subject at the
// corner of a quarter circle, a disc for each light. Where one stands lower than the
// subject the arc goes on below the table.
type SideArc struct {
	widget.BaseWidget
	Lights []session.Light
	// Held is the index of the light that is ringed, -1 for none; Stood as on the plan.
	Held, Stood int
	// Scale makes the arc larger than 1, its size beside a plan of radius 146.
	Scale float32
}

// NewSideArc makes an arc without lights.
func NewSideArc() *SideArc {
	w := &SideArc{Held: -1, Stood: -1, Scale: 1}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the arc.
func (s *SideArc) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *SideArc) least() (w, h float32) {
	return (sideR + 34) * s.Scale, (sideR + 32 + arcBelow(s.Lights)) * s.Scale
}

func (s *SideArc) draw(p *pen, _, _ float32) {
	p.sideArc(8*s.Scale, (sideR+16)*s.Scale, s.Scale, planned{lights: s.Lights, held: s.Held, stood: s.Stood})
}

// lowest gives the lowest elevation of the lights, at most 0.
func lowest(lights []session.Light) float64 {
	low := 0.0
	for _, l := range lights {
		low = min(low, l.ElevationDeg)
	}
	return low
}

// arcBelow is how far the arc reaches below the table, at scale 1.
func arcBelow(lights []session.Light) float32 {
	low := lowest(lights)
	if low == 0 {
		return 0
	}
	return (sideR+16)*float32(math.Sin(-low*math.Pi/180)) + 6
}

// sidePoint gives where an elevation lies on an arc with its corner at (cx, cy).
func sidePoint(cx, cy, r float32, elevationDeg float64) (x, y float32) {
	x, y = planPoint(0, 0, r, 90+elevationDeg)
	return cx + x, cy + y
}

// sideArc draws the arc with the subject at (cx, cy), k times its usual size.
func (p *pen) sideArc(cx, cy, k float32, on planned) {
	r := sideR * k
	p.line(cx, cy, cx+r+10*k, cy, 1, look.Edge)
	p.sector(cx, cy, r-0.75, r+0.75, 0, 90, look.Edge)
	if low := lowest(on.lights); low < 0 {
		for a := 90.0; a < 90-low; a += 6 {
			p.sector(cx, cy, r-0.75, r+0.75, float32(a), float32(min(a+3, 90-low)), look.Edge)
		}
	}
	for _, border := range []float64{20, 50, 75} {
		x0, y0 := sidePoint(cx, cy, r-4*k, border)
		x1, y1 := sidePoint(cx, cy, r+4*k, border)
		p.line(x0, y0, x1, y1, 1, look.Edge)
	}
	for i, l := range on.lights {
		x, y := sidePoint(cx, cy, r, l.ElevationDeg)
		c := look.Ink3
		if on.pale(i) {
			c = look.Line
		}
		if l.ElevationDeg < 0 {
			p.dashes(cx, cy, x, y, 5*k, 4*k, c)
		} else {
			p.hair(cx, cy, x, y, c)
		}
	}
	p.ringOn(cx, cy, 5*k, 2*k, look.Ink2, look.Ground)
	numbers := session.NumberElevations(on.lights, numbersApart)
	for i, l := range on.lights {
		x, y := sidePoint(cx, cy, r, l.ElevationDeg)
		c, number := markColour(l.Kind), of(look.Name)
		if on.pale(i) {
			c, number = look.Edge, number.in(look.Edge)
		}
		number.px *= k
		p.disc(x, y, 6*k, c)
		out := r + 16*k
		if i == on.held {
			p.ring(x, y, 11*k, 2, look.Accent)
			out += 6 * k
		}
		nx, ny := sidePoint(cx, cy, out, numbers[i])
		p.textIn(nx, ny, strconv.Itoa(i+1), number)
	}
}

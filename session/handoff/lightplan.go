// Package handoff writes what other people and programs take on from a session. It knows
// session's types, no database and no window, and never writes over a file.
package handoff

import (
	"fmt"
	"math"

	"codeberg.org/go-pdf/fpdf"

	"stillbench/session"
)

// reach is the distance from the subject, in cm, of a plan's outermost ring; what stands
// farther is drawn on it, with its distance in words.
const reach = 60

// drawLightPlan draws the table from above, as vectors: the camera at the bottom, the subject
// in the middle, rings at 20, 40 and 60 cm, each light where it stood and turned to the
// subject, and behind the table an arc where there is a background. (x, y) is the centre
// and r the outermost ring's radius, in mm.
func drawLightPlan(d *fpdf.Fpdf, lights []session.Light, background bool, x, y, r float64) {
	d.SetLineCapStyle("round")
	d.SetDrawColor(190, 190, 190)
	d.SetLineWidth(0.2)
	for i := 1.0; i <= 3; i++ {
		d.Circle(x, y, r*i/3, "D")
	}
	// Ticks between the eighths.
	for i := range 8 {
		sin, cos := math.Sincos((22.5 + 45*float64(i)) * math.Pi / 180)
		d.Line(x+sin*r*0.97, y+cos*r*0.97, x+sin*r*1.03, y+cos*r*1.03)
	}
	d.SetFont(face, "", 7)
	d.SetTextColor(140, 140, 140)
	for i := 1; i <= 3; i++ {
		text := fmt.Sprintf("%d cm", 20*i)
		// Outside its ring at the back right, clear of the rings' ticks.
		away := (r*float64(i)/3 + 1) * math.Sqrt2 / 2
		d.Text(x+away, y-away, text)
	}
	d.SetDrawColor(60, 60, 60)
	d.SetFillColor(60, 60, 60)
	d.SetLineWidth(0.6)
	d.Circle(x, y, r*0.06, "D")
	d.Rect(x-r*0.1, y+r*1.1, r*0.2, r*0.1, "F")
	d.Rect(x-r*0.045, y+r*1.04, r*0.09, r*0.06, "F")
	if background {
		d.SetDrawColor(150, 150, 150)
		d.SetLineWidth(0.9)
		d.Arc(x, y, r*1.09, r*1.09, 0, 58, 122, "D")
		d.SetDrawColor(60, 60, 60)
	}
	for i, l := range lights {
		drawLight(d, i+1, l, x, y, r)
	}
}

// drawHeights draws the lights from the side, as vectors: the subject at (x, y), the table a line
// to the right of it, and on an arc of radius r (in mm) how high each light stands.
func drawHeights(d *fpdf.Fpdf, lights []session.Light, x, y, r float64) {
	lowest := 0.0 // below the table only where a light is
	for _, l := range lights {
		lowest = min(lowest, l.ElevationDeg)
	}
	d.SetDrawColor(190, 190, 190)
	d.SetLineWidth(0.2)
	d.Line(x, y, x+r*1.12, y)
	d.Arc(x, y, r, r, 0, lowest, 90, "D")
	d.SetFont(face, "B", 10)
	d.SetTextColor(40, 40, 40)
	d.SetFillColor(60, 60, 60)
	numbers := session.NumberElevations(lights, 12)
	for i, l := range lights {
		sin, cos := math.Sincos(l.ElevationDeg * math.Pi / 180)
		d.Line(x, y, x+cos*r, y-sin*r)
		d.Circle(x+cos*r, y-sin*r, r/14, "F")
		text := fmt.Sprint(i + 1)
		sin, cos = math.Sincos(numbers[i] * math.Pi / 180)
		d.Text(x+cos*r*1.2-d.GetStringWidth(text)/2, y-sin*r*1.2+1.3, text)
	}
	d.SetFillColor(255, 255, 255)
	d.SetDrawColor(60, 60, 60)
	d.SetLineWidth(0.6)
	d.Circle(x, y, r*0.09, "FD")
}

// drawLight draws one light and its number.
func drawLight(d *fpdf.Fpdf, number int, l session.Light, x, y, r float64) {
	far := r
	if l.DistanceCM != nil {
		far = r * min(*l.DistanceCM/reach, 1)
	}
	far = max(far, r*0.14)
	sin, cos := math.Sincos(l.AzimuthDeg * math.Pi / 180)
	// At (u, v): u across the light's direction, v away from the subject.
	at := func(u, v float64) (float64, float64) {
		return x + sin*(far+v) + cos*u, y + cos*(far+v) - sin*u
	}
	line := func(u0, v0, u1, v1, width float64) {
		d.SetLineWidth(width)
		ax, ay := at(u0, v0)
		bx, by := at(u1, v1)
		d.Line(ax, ay, bx, by)
	}
	s := r / 12 // half a light's width
	switch l.Kind {
	case session.LightLED:
		line(-s, 0, s, 0, s*0.5)
		line(-s*0.25, s*0.45, s*0.25, s*0.45, s*0.4)
	case session.LightFlash:
		var p [3]fpdf.PointType
		for i, c := range [3][2]float64{{-s, 0}, {s, 0}, {0, s * 1.3}} {
			p[i].X, p[i].Y = at(c[0], c[1])
		}
		d.Polygon(p[:], "F")
	case session.LightWindow:
		line(-1.4*s, 0, 1.4*s, 0, 0.5)
		line(-1.4*s, s*0.6, 1.4*s, s*0.6, 0.5)
		line(0, 0, 0, s*0.6, 0.5)
	case session.LightCard:
		line(-1.2*s, 0, 1.2*s, 0, 0.5)
	case session.LightFlag:
		line(-1.2*s, 0, 1.2*s, 0, 1.2)
	default:
		cx, cy := at(0, s*0.5)
		d.Circle(cx, cy, s*0.75, "F")
	}
	if l.Diffused() {
		for i := -2.0; i <= 2; i++ {
			line(s*(0.55*i-0.1), -s, s*(0.55*i+0.1), -s, 0.5) // the round ends lengthen them
		}
	}
	if l.Kind != session.LightCard && l.Kind != session.LightFlag {
		d.SetLineWidth(0.15)
		for _, side := range []float64{-1, 1} {
			ax, ay := at(side*s*0.6, -s*0.5)
			d.Line(ax, ay, x+cos*side*r*0.06, y-sin*side*r*0.06)
		}
	}
	d.SetFont(face, "B", 10)
	d.SetTextColor(40, 40, 40)
	text := fmt.Sprint(number)
	nx, ny := at(0, s*2.4)
	d.Text(nx-d.GetStringWidth(text)/2, ny+1.3, text)
	if l.DistanceCM != nil && *l.DistanceCM > reach {
		beside := d.GetStringWidth(text)/2 + 1
		d.SetFont(face, "", 7)
		words := fmt.Sprintf("%.0f cm", *l.DistanceCM)
		at := nx + beside
		if sin < 0 { // on the left it would lie over the light
			at = nx - beside - d.GetStringWidth(words)
		}
		d.Text(at, ny+1.3, words)
	}
}

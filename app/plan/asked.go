package plan

import (
	"stillbench/app/look"
	"stillbench/app/place"
	"stillbench/app/present"
)

// asked stands where the answer will, as long as there is none: camera and subject from the side, with
// the lengths that the plan asks for. What is known is written at its length; what is not is marked.
type asked struct {
	*drawing
	view *present.Plan
	text *[present.PlanFields]string // as typed
}

func newAsked(text *[present.PlanFields]string) *asked {
	a := &asked{view: &present.Plan{}, text: text}
	a.drawing = newDrawing(a.drawAsked)
	return a
}

// askedSlices are how high the slices of a subject are that is not known yet, in shares of its height.
var askedSlices = [...]float32{0.3, 0.55, 0.74, 0.87, 0.95, 1, 1}

const (
	askedHigh   float32 = 380 // how high the subject is drawn, more in a window that is wide enough for it
	askedShape  float32 = 2.2 // how much deeper than high
	askedName   float32 = 52  // of a length's name and value under it
	askedBeside float32 = 150 // right of the subject
)

func (a *asked) drawAsked(p *pen, w, h float32) {
	x0 := min(w*0.24, 190) + 72
	high := min(h-askedName-look.Space48, max(askedHigh, (w-askedBeside-x0)/askedShape))
	if high < 60 || w < 420 {
		return
	}
	mid := look.Space24 + high/2
	x1 := min(w-askedBeside, x0+askedShape*high)
	p.fill(0, mid-17, 34, 34, 3, look.Bar)
	p.fill(32, mid-11, 20, 22, 2, look.Bar)
	p.dashed([]point{{58, mid}, {x0 - 14, mid}}, 6, 5, 1.5, look.Edge)
	step := (x1 - x0) / float32(len(askedSlices))
	for i, share := range askedSlices {
		p.outline(x0+float32(i)*step, mid-share*high/2, step-2, share*high, 2, 1, look.Edge)
	}
	// The depth below the subject, the width beside it, the distance from camera to subject.
	foot := mid + high/2 + look.Space12
	a.across(p, x0, x1-2, foot, present.PlanDepth)
	a.across(p, 17, x0-14, mid+look.Space32, present.PlanDistance)
	x := x1 + look.Space16
	c := a.colour(present.PlanFieldWidth)
	p.fill(x-0.5, mid-high/2, a.stroke(present.PlanFieldWidth), high, 0, c)
	p.fill(x-5, mid-high/2, 11, a.stroke(present.PlanFieldWidth), 0, c)
	p.fill(x-5, mid+high/2-1, 11, a.stroke(present.PlanFieldWidth), 0, c)
	a.name(p, x+look.Space12, mid, present.PlanFieldWidth, left)
}

// across draws a length from left to right, and its name under it.
func (a *asked) across(p *pen, x0, x1, y float32, f present.PlanField) {
	c, stroke := a.colour(f), a.stroke(f)
	p.fill(x0, y, x1-x0, stroke, 0, c)
	p.fill(x0, y-5, stroke, 11, 0, c)
	p.fill(x1-stroke, y-5, stroke, 11, 0, c)
	a.name(p, (x0+x1)/2, y+look.Space24, f, centre)
}

// name writes what a length is, and how long where that is known.
func (a *asked) name(p *pen, x, y float32, f present.PlanField, at align) {
	in := a.view.Inputs[f]
	if a.missing(f) {
		p.text(x, y, in.Name, look.Name, look.Ink1, at)
		return
	}
	p.text(x, y, in.Name, look.Base, look.Ink3, at)
	if value := a.value(f); value != "" {
		p.text(x, y+look.LineStep, value, look.Base, look.Ink2, at)
	}
}

// value is what is known of a length: as typed, or as reckoned.
func (a *asked) value(f present.PlanField) string {
	if in := a.view.Inputs[f]; in.Reckoned {
		return in.Computed
	}
	return a.text[f]
}

// missing tells that a length must be given. Of those that give the size one is enough.
func (a *asked) missing(f present.PlanField) bool {
	if f == present.PlanDepth {
		return a.text[f] == ""
	}
	return !a.view.Inputs[f].Reckoned && a.text[f] == ""
}

func (a *asked) colour(f present.PlanField) look.Colour {
	if a.missing(f) {
		return look.Accent
	}
	return look.Ink3
}

// stroke sets what is missing apart by more than its colour.
func (a *asked) stroke(f present.PlanField) float32 {
	if a.missing(f) {
		return 3
	}
	return 1
}

// arrangeAsked puts the drawing where table and curve will stand.
func (p *Place) arrangeAsked(x, right, bottom float32) {
	on := !p.view.Ready && len(p.view.Problems) == 0
	if show(p.asks, on); on {
		p.asks.view = &p.view
		place.Put(p.asks, x, 0, right-x, bottom)
		p.asks.Refresh()
	}
}

package plan

import (
	"strconv"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// rows is the table of apertures with the curve of blur beside it: the curve's points
// stand in the table's rows.
type rows struct {
	*drawing
	view *present.Plan
	// choosing draws the focus ring round the row chosen: the keys go there.
	choosing bool
	narrow   bool
	onRow    func(i int)

	from, to int // of the rows in view
}

// columns are the right edges of the table's columns and where the curve begins, in px
// from the table's left edge; 0 leaves a column out.
type columns struct {
	edges [6]float32
	curve float32
	pitch float32
}

var (
	wideColumns   = columns{[6]float32{62, 156, 230, 312, 396, 480}, 520, 34}
	narrowColumns = columns{[6]float32{54, 140, 200, 0, 282, 346}, 372, 30}
)

const (
	headBase  float32 = 18
	firstRow  float32 = 32 // upper edge of the first row
	axisBelow float32 = 22 // base line of the curve's figures below the last row
	hatchSide float32 = 15
)

func newRows(onRow func(i int)) *rows {
	r := &rows{view: &present.Plan{}, onRow: onRow}
	r.drawing = newDrawing(r.drawRows)
	r.onTap = func(_, y float32) {
		i := r.from + int((y-firstRow)/r.columns().pitch)
		if y >= firstRow && i < r.to {
			r.onRow(i)
		}
	}
	return r
}

func (r *rows) columns() columns {
	if r.narrow {
		return narrowColumns
	}
	return wideColumns
}

// heightFor is what n rows need, the figures below included.
func (r *rows) heightFor(n int) float32 {
	return firstRow + float32(n)*r.columns().pitch + axisBelow + 10
}

// roomFor is how many rows so much height holds.
func (r *rows) roomFor(h float32) int {
	return max(int((h-firstRow-axisBelow-10)/r.columns().pitch), 3)
}

func (r *rows) drawRows(p *pen, w, h float32) {
	v := r.view
	if !v.Ready {
		return
	}
	c := r.columns()
	r.from, r.to = v.Window(r.roomFor(h))
	bottom := firstRow + float32(r.to-r.from)*c.pitch
	for i, head := range v.Head {
		if c.edges[i] > 0 && (i < 4 || v.Rows[r.from].Cells[i] != "") {
			p.text(c.edges[i], headBase, head, look.Note, look.Ink3, right)
		}
	}
	for i := r.from; i < r.to; i++ {
		r.row(p, w, i, firstRow+float32(i-r.from)*c.pitch)
	}
	if v.TooMany != "" {
		x := c.edges[2] - hatchSide - 8
		p.hatch(x-hatchSide, bottom+axisBelow-12, hatchSide, hatchSide-1, 5, 1.4, look.Ink3)
		p.text(x+8, bottom+axisBelow, v.TooMany, look.Note, look.Ink3, left)
	}
	r.curve(p, c.curve, w, bottom)
	if r.choosing {
		p.outline(-4, firstRow+float32(v.Chosen-r.from)*c.pitch-3, w+8, c.pitch+5, 3, 2, look.Accent)
	}
}

func (r *rows) row(p *pen, w float32, i int, y float32) {
	v, c := r.view, r.columns()
	row := v.Rows[i]
	base := y + c.pitch/2 + 5.5
	role, colour := look.Base, look.Ink2
	switch {
	case i == v.Recommended:
		p.fill(0, y, w, c.pitch-1, 0, look.Field)
		p.fill(0, y, 5, c.pitch-1, 0, look.Accent)
		role, colour = look.Name, look.Ink1
	case row.TooMany:
		colour = look.Ink3
	}
	for n, cell := range row.Cells {
		cellRole, cellColour := role, colour
		if i == v.Recommended && n == 0 {
			cellRole = look.Card
		}
		if c.edges[n] > 0 && cell != "" {
			p.text(c.edges[n], base, cell, cellRole, cellColour, right)
		}
	}
	if row.TooMany {
		p.hatch(c.edges[2]+6, base-12, hatchSide, hatchSide-2, 5, 1.4, look.Ink3)
	}
}

// curve draws total blur, and what it is made of, from x0 to x1.
func (r *rows) curve(p *pen, x0, x1, bottom float32) {
	v, c := r.view, r.columns()
	top := firstRow - 6
	scale := float32(float64(x1-x0) / v.Curve.MaxUM)
	x := func(um float64) float32 { return x0 + float32(um)*scale }
	title := v.Curve.Title
	if place.TextWidth(title, look.Note) > x1-x0-40 {
		title = words.PlanBlur
	}
	p.text(x0, headBase, title, look.Note, look.Ink3, left)
	p.text(x1, headBase, words.PlanMicrons, look.Note, look.Ink3, right)
	for um := 0.0; um <= v.Curve.MaxUM*1.001; um += v.Curve.StepUM {
		colour := look.Line
		if um == 0 {
			colour = look.Edge
		}
		p.fill(x(um)-0.5, top, 1, bottom-top, 0, colour)
		at := centre
		switch {
		case um == 0:
			at = left
		case um > v.Curve.MaxUM*0.999:
			at = right
		}
		p.text(x(um), bottom+axisBelow, words.Localised(strconv.FormatFloat(um, 'f', -1, 32)), look.Note, look.Ink3, at)
	}
	points := func(of func(present.PlanRow) float64) []point {
		out := make([]point, 0, r.to-r.from)
		for i := r.from; i < r.to; i++ {
			out = append(out, point{x(of(v.Rows[i])), firstRow + (float32(i-r.from)+0.5)*c.pitch})
		}
		return out
	}
	focus := points(func(row present.PlanRow) float64 { return row.Focus })
	diffraction := points(func(row present.PlanRow) float64 { return row.Diffraction })
	both := points(func(row present.PlanRow) float64 { return row.Both })
	for _, line := range within(focus, x1) {
		p.dashed(line, 9, 6, 1.5, look.Ink3)
	}
	for _, line := range within(diffraction, x1) {
		p.dashed(line, 3, 4, 1.5, look.Ink3)
	}
	for _, line := range within(both, x1) {
		for i := 1; i < len(line); i++ {
			p.line(line[i-1], line[i], 3, look.Ink1)
		}
	}
	for i, at := range both {
		switch {
		case at.x > x1:
		case r.from+i == v.Recommended:
			p.disc(at.x, at.y, 7, look.Accent)
			at.x += 17
			if at.x+place.TextWidth(v.Curve.Least, look.Name) > x1 {
				at.x -= 34 + place.TextWidth(v.Curve.Least, look.Name)
			}
			p.text(at.x, at.y+5, v.Curve.Least, look.Name, look.Ink1, left)
		default:
			p.disc(at.x, at.y, 4, look.Ink1)
		}
	}
	r.nameLines(p, x0, x1, focus, diffraction, both)
}

// nameLines writes what each line is where it lies farthest from the others: total blur
// and diffraction at the widest aperture in view, focus at the narrowest.
func (r *rows) nameLines(p *pen, x0, x1 float32, focus, diffraction, both []point) {
	beside := func(at point, word string, role look.Role, colour look.Colour) {
		w := place.TextWidth(word, role)
		switch {
		case at.x > x1:
		case at.x-x0 > w+20:
			p.text(at.x-11, at.y+5, word, role, colour, right)
		default:
			p.text(at.x+11, at.y+5, word, role, colour, left)
		}
	}
	last := len(both) - 1
	if last < 2 {
		return
	}
	beside(diffraction[0], words.PlanDiffracts, look.Note, look.Ink3)
	beside(focus[last], words.PlanFocus, look.Note, look.Ink3)
	// The line of both may leave the drawing at the wide end; then its name stands at
	// the narrow one.
	for _, i := range []int{0, last} {
		w := place.TextWidth(words.PlanBoth, look.Base)
		if at := both[i]; at.x+12+w <= x1 {
			p.text(at.x+12, at.y+5, words.PlanBoth, look.Base, look.Ink1, left)
			return
		}
	}
}

// within cuts a line off where it runs out of the drawing on the right; what is left
// can be several pieces.
func within(line []point, x1 float32) [][]point {
	var out [][]point
	var piece []point
	for i, at := range line {
		if i > 0 && (line[i-1].x <= x1) != (at.x <= x1) {
			before := line[i-1]
			piece = append(piece, between(before, at, (x1-before.x)/(at.x-before.x)))
			if at.x > x1 {
				out, piece = append(out, piece), nil
				continue
			}
		}
		if at.x <= x1 {
			piece = append(piece, at)
		}
	}
	if len(piece) > 1 {
		out = append(out, piece)
	}
	return out
}

// side is the subject from the side, the camera at its left: a rectangle a slice.
type side struct {
	*drawing
	view *present.Plan
}

func newSide() *side {
	s := &side{view: &present.Plan{}}
	s.drawing = newDrawing(s.drawSide)
	return s
}

const (
	cameraRoom float32 = 92 // left of the slices
	plateRoom  float32 = 40 // right of them
)

func (s *side) drawSide(p *pen, w, h float32) {
	if len(s.view.Side.Slices) == 0 {
		return
	}
	x0, x1, mid := cameraRoom, w-plateRoom, h/2
	p.fill(0, mid-17, 34, 34, 3, look.Bar)
	p.fill(32, mid-11, 20, 22, 2, look.Bar)
	p.dashed([]point{{58, mid}, {x0 - 4, mid}}, 6, 5, 1.5, look.Edge)
	slices := s.view.Side.Slices
	for i, slice := range slices {
		from, to := slice.From, 1.0
		if i+1 < len(slices) {
			to = slices[i+1].From
		}
		a, b := x0+float32(from)*(x1-x0), x0+float32(to)*(x1-x0)
		gap := min(float32(2), (b-a)/4)
		colour := look.Bar
		if i%2 == 1 {
			colour = look.Ink3
		}
		high := max(float32(slice.Height)*h, 3)
		p.fill(a, mid-high/2, b-a-gap, high, min(2, (b-a)/4), colour)
	}
	p.fill(x1+2, mid-h/2, 6, h, 0, look.Edge)
}

// ribbonOf is the planned stack as a ribbon.
func ribbonOf(v *present.Plan, narrow bool) parts.RibbonData {
	d := parts.RibbonData{Near: session.EndUnknown, Far: session.EndUnknown}
	for i, s := range v.Side.Slices {
		d.Bars = append(d.Bars, parts.Bar{From: s.From, To: s.To, Number: strconv.Itoa(i + 1), State: parts.BarPlanned})
	}
	if narrow && v.Ready {
		d.NearLabel, d.FarLabel = words.NearFar, v.Side.Depth
	}
	return d
}

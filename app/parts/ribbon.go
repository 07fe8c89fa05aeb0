package parts

import (
	"math"
	"sort"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/session"
)

// BarState says how the bar of a frame is drawn.
type BarState uint8

// The states of a bar.
const (
	BarSound        BarState = iota
	BarBlurred               // blurred by movement: two outlines
	BarSetAside              // put out of the stack: a small mark under the cover line, with words
	BarMoved                 // the picture moved: a step half way
	BarLightDiffers          // light or settings differ: only the upper half filled
	BarPlanned               // not shot yet: a thin outline
	barEmpty                 // shot, and nothing known of what it holds: an outline
)

// Bar is one frame in a ribbon.
type Bar struct {
	// From and To bound the depth that the frame holds sharp, on the scale on which
	// the stack reaches from 0 (nearest) to 1 (farthest); they may reach beyond.
	From, To float64
	Number   string
	State    BarState
	// Current is the newest frame, or the one stepped to: white, and pointed at.
	Current bool
	// Words stand beside the mark of a frame set aside: "5 blurred, set aside".
	Words string
}

// RibbonGap is a depth that no frame holds, on the scale of Bar.
type RibbonGap struct {
	From, To float64
	Label    string // "0.4 mm held by no frame"
}

// RibbonData is what a ribbon shows.
type RibbonData struct {
	Bars      []Bar // in any order
	Gaps      []RibbonGap
	Near, Far session.End
	// Unmeasured: what the frames hold sharp is not known, nor how they lie in depth. They
	// stand side by side in the order of Bars, empty, and nothing is said of what is held.
	Unmeasured bool
	// NearLabel and FarLabel stand under the ends: "near end", "far end still open".
	NearLabel, FarLabel string
}

// RibbonSize says how large a ribbon is drawn.
type RibbonSize uint8

// The sizes of a ribbon.
const (
	RibbonLarge  RibbonSize = iota // on the Table: lanes 32 high
	RibbonOpened                   // in an opened stack, and in small windows: lanes 22 high
	RibbonRow                      // in a row: lanes 9 high, no numbers, no words
)

// Ribbon draws a stack from near (left) to far (right): a bar a frame in two lanes,
// hatching where there is a gap, and the cover line below where it is held sharp.
type Ribbon struct {
	widget.BaseWidget

	Data   RibbonData
	Height RibbonSize
	// Focused draws the focus ring round the current bar.
	Focused bool
	// OnTap and OnHover are called with the index of a bar in Data.Bars; OnHover with
	// -1 when the pointer leaves the bars.
	OnTap, OnHover func(i int)

	hover int // index + 1
}

// NewRibbon makes an empty ribbon.
func NewRibbon(size RibbonSize) *Ribbon {
	w := &Ribbon{Height: size}
	w.ExtendBaseWidget(w)
	return w
}

var _ desktop.Hoverable = (*Ribbon)(nil)

// CreateRenderer draws the ribbon.
func (r *Ribbon) CreateRenderer() fyne.WidgetRenderer { return render(r) }

// ribbonMetrics are the heights of a ribbon.
type ribbonMetrics struct {
	top        float32 // of the upper lane: above it is room for the pointer
	lane       float32
	coverGap   float32 // from the lanes to the cover line
	cover      float32 // thickness of the cover line
	number     float32 // size of the numbers, 0 for none
	grow       float32 // by how much the current bar is higher
	step       float32 // of a picture that moved
	hatch      float32 // pitch of the hatching
	hatchWidth float32
	shift      float32 // between the outlines of a blurred frame
	inset      float32 // of a closed end from the ribbon's edge
	open       float32 // kept beside an open end for what is still to come
}

const (
	laneGap float32 = 2
	inset   float32 = 8
	// openRoom is the width kept beside an open end for its dashes and words, where no
	// planned frame stands there already.
	openRoom float32 = 80
)

func (s RibbonSize) metrics() ribbonMetrics {
	switch s {
	case RibbonOpened:
		return ribbonMetrics{18, 22, 8, 4, 15, 5, 6, 8, 1.6, 10, inset, openRoom}
	case RibbonRow:
		return ribbonMetrics{0, 9, 3, 2, 0, 0, 3, 5, 1.2, 4, 0, 24}
	}
	return ribbonMetrics{18, 32, 8, 4, 17, 5, 6, 8, 1.6, 10, inset, openRoom}
}

func (m ribbonMetrics) laneTop(lane int) float32 { return m.top + float32(lane)*(m.lane+laneGap) }
func (m ribbonMetrics) lanesEnd() float32        { return m.laneTop(1) + m.lane }
func (m ribbonMetrics) coverTop() float32        { return m.lanesEnd() + m.coverGap }
func (m ribbonMetrics) coverEnd() float32        { return m.coverTop() + m.cover }

// labelStep is how far the words' base line is below the cover line.
const labelStep float32 = 20

func (r *Ribbon) least() (w, h float32) {
	h = r.Height.metrics().coverEnd()
	if r.labelled() {
		h += labelStep + 6
	}
	return 120, h
}

// labelled says whether there is anything to write under the ribbon.
func (r *Ribbon) labelled() bool {
	if r.Height == RibbonRow {
		return false
	}
	for _, b := range r.Data.Bars {
		if b.State == BarSetAside {
			return true
		}
	}
	for _, g := range r.Data.Gaps {
		if g.Label != "" {
			return true
		}
	}
	return r.Data.NearLabel != "" || r.Data.FarLabel != ""
}

// axis maps depth to x.
type axis struct {
	lo, hi float64 // depth at x0 and x1
	x0, x1 float32
	width  float32
}

// axisFor gives the axis of a ribbon so wide. With both ends closed and all bars
// between 0 and 1 it is x = 8 + p(width - 16); bars beyond make it reach as far as
// they do, and an open end leaves room for what is still to come.
func axisFor(d RibbonData, m ribbonMetrics, width float32) axis {
	a := axis{lo: 0, hi: 1, x0: m.inset, x1: width - m.inset, width: width}
	nearPlan, farPlan := false, false
	for _, b := range d.Bars {
		if b.State == BarSetAside {
			continue
		}
		nearPlan = nearPlan || b.State == BarPlanned && b.From < a.lo
		farPlan = farPlan || b.State == BarPlanned && b.To > a.hi
		a.lo, a.hi = math.Min(a.lo, b.From), math.Max(a.hi, b.To)
	}
	if d.Near == session.EndOpen && !nearPlan {
		a.x0 = m.open
	}
	if d.Far == session.EndOpen && !farPlan {
		a.x1 = width - m.open
	}
	return a
}

// sideMost is as far as bars stand apart that say nothing of depth: so far do the crops
// below them.
const sideMost float32 = 152

// side gives where bar n of those not set aside stands when the bars stand side by side,
// without the gap after it.
func (d RibbonData) side(m ribbonMetrics, n int, width float32) (x, w float32) {
	count := 0
	for _, b := range d.Bars {
		if b.State != BarSetAside {
			count++
		}
	}
	most := sideMost
	if m.number == 0 {
		most = 44
	}
	w = min(width/float32(max(count, 1)), most)
	return float32(n) * w, max(w-min(3, w/3), 1)
}

// Middle is the x, in px at scale 1, of the middle of bar i in a ribbon so wide (not in
// one of a row).
func (d RibbonData) Middle(i int, width float32) float32 {
	m := RibbonLarge.metrics()
	for _, k := range d.laid(m, width) {
		if k.index == i {
			return k.x + k.w/2
		}
	}
	return 0
}

// laid gives where the bars lie.
func (d RibbonData) laid(m ribbonMetrics, width float32) []brick {
	if !d.Unmeasured {
		return bricks(d, axisFor(d, m, width))
	}
	var out []brick
	for i, b := range d.Bars {
		if b.State != BarSetAside {
			x, w := d.side(m, len(out), width)
			out = append(out, brick{index: i, x: x, w: w, seen: w})
		}
	}
	return out
}

// barBox is the height of a bar that lies in a lane, and where it begins.
func (d RibbonData) barBox(m ribbonMetrics, lane int) (y, h float32) {
	if !d.Unmeasured {
		return m.laneTop(lane), m.lane
	}
	h = m.lane * 5 / 4
	if m.top == 0 { // of a row: in the middle of it
		return (m.coverEnd() - h) / 2, h
	}
	return m.top, h
}

func (a axis) x(p float64) float32 {
	x := a.x0 + float32((p-a.lo)/(a.hi-a.lo))*(a.x1-a.x0)
	return min(max(x, 0), a.width)
}

// X gives the x, in px at scale 1, at which depth p stands in a ribbon so wide
// (not in one of a row).
func (d RibbonData) X(p float64, width float32) float32 {
	return axisFor(d, RibbonLarge.metrics(), width).x(p)
}

// span is a stretch of depth.
type span struct{ from, to float64 }

// cover gives where some sound frame is sharp: the union of the bars that count, in
// order of depth. Frames that are blurred, set aside or only planned do not count.
func cover(bars []Bar) []span {
	var all []span
	for _, b := range bars {
		if b.State == BarBlurred || b.State == BarSetAside || b.State == BarPlanned || !(b.To > b.From) {
			continue
		}
		all = append(all, span{b.From, b.To})
	}
	sort.Slice(all, func(i, j int) bool { return all[i].from < all[j].from })
	var out []span
	for _, s := range all {
		if n := len(out); n > 0 && s.from <= out[n-1].to {
			out[n-1].to = math.Max(out[n-1].to, s.to)
			continue
		}
		out = append(out, s)
	}
	return out
}

// unheld is all of the depth round a gap that no sound frame holds: a gap itself is only
// what is clearly not sharp.
func (d RibbonData) unheld(g RibbonGap) (from, to float64) {
	from, to = g.From, g.To
	for _, s := range cover(d.Bars) {
		if s.to <= g.From+1e-9 && (from == g.From || s.to > from) {
			from = s.to
		}
		if s.from >= g.To-1e-9 && to == g.To {
			to = s.from
		}
	}
	return from, to
}

// barely gives the depths between two spans that are held only just: no frame holds them
// within the circle of confusion, and they are no gap either. That is said of no more than
// half a bar: what is blurred half as much again is clearly not sharp.
func (d RibbonData) barely() []span {
	spans := cover(d.Bars)
	var out []span
	widest := 0.0
	for _, b := range d.Bars {
		widest = max(widest, b.To-b.From)
	}
	for i := 1; i < len(spans); i++ {
		s := span{spans[i-1].to, spans[i].from}
		gap := s.to-s.from > widest/2
		for _, g := range d.Gaps {
			gap = gap || g.From < s.to && g.To > s.from
		}
		for _, b := range d.Bars { // a frame to be shot again leaves its break to be seen
			gap = gap || b.State == BarBlurred && b.From < s.to && b.To > s.from
		}
		if !gap {
			out = append(out, s)
		}
	}
	return out
}

// brick is where a bar lies.
type brick struct {
	index      int // in RibbonData.Bars
	lane       int
	x, w       float32
	seen       float32 // width up to the next bar of its lane
	overlapped bool    // the bar before it in its lane reaches under it
}

// least width of a bar: below it, it could not be seen or hit.
const leastBar float32 = 5

// bricks lays the bars out in two lanes: neighbours in depth lie in different ones,
// the nearest above, so that their overlap shows. Frames set aside have no lane.
func bricks(d RibbonData, a axis) []brick {
	var out []brick
	for i, b := range d.Bars {
		if b.State != BarSetAside {
			out = append(out, brick{index: i})
		}
	}
	middle := func(i int) float64 { b := d.Bars[i]; return b.From + b.To }
	sort.SliceStable(out, func(i, j int) bool { return middle(out[i].index) < middle(out[j].index) })
	for i := range out {
		k := &out[i]
		b := d.Bars[k.index]
		k.lane = i % 2
		k.x = a.x(b.From)
		k.w = max(a.x(b.To)-k.x, leastBar)
		k.seen = k.w
		if i >= 2 {
			before := &out[i-2]
			before.seen = min(before.w, max(k.x-before.x, 0))
			k.overlapped = before.x+before.w > k.x
		}
	}
	return out
}

func (r *Ribbon) draw(p *pen, w, _ float32) {
	m := r.Height.metrics()
	d := r.Data
	a := axisFor(d, m, w)
	laid := d.laid(m, w)

	for _, g := range d.Gaps {
		from, to := d.unheld(g)
		x0, x1 := a.x(from), a.x(to)
		if x1-x0 < 6 { // a gap is never too narrow to be seen
			mid := (x0 + x1) / 2
			x0, x1 = mid-3, mid+3
		}
		p.hatch(x0, m.top, x1-x0, m.lanesEnd()-m.top, m.hatch, m.hatchWidth, look.Accent)
	}
	for _, k := range laid {
		if !d.Bars[k.index].Current {
			r.drawBar(p, m, k)
		}
	}
	for _, k := range laid {
		if d.Bars[k.index].Current {
			r.drawBar(p, m, k)
		}
	}
	if !d.Unmeasured {
		r.drawCover(p, m, a)
	}
	if r.labelled() {
		r.drawLabels(p, m, a)
	}
}

func (r *Ribbon) drawBar(p *pen, m ribbonMetrics, k brick) {
	b := r.Data.Bars[k.index]
	x, w := k.x, k.w
	y, h := r.Data.barBox(m, k.lane)
	number := style{m.number, true, look.Ground}
	colour := look.Bar
	numberH := float32(0) // height in whose middle the number stands; 0 for the bar's
	if b.Current {
		colour = look.Ink1
		number.px += 5
		if m.number > 0 { // wide enough for its number even among ninety others
			if need := textWidth(b.Number, number) + 8; need > w {
				x, w = x-(need-w)/2, need
			}
		}
		k.x, k.seen = x, w
		if b.State == BarSound && m.grow > 0 {
			if k.lane == 0 {
				y, h = y-m.grow, h+m.grow
			} else {
				h += m.grow - 1
			}
		}
		if m.top > 0 {
			mid := x + w/2
			p.pointer(mid, 0, 18, look.Ink1)
			if k.lane == 1 {
				p.fill(mid-1, 8, 2, y-8, 0, look.Ink1)
			}
		}
	}
	if k.overlapped && b.State != BarPlanned {
		p.fill(x-1, y, w+1, h, 3, look.Ground) // keeps it apart from the bar under it
	}
	state := b.State
	if r.Data.Unmeasured && state != BarPlanned {
		state = barEmpty
	}
	switch state {
	case barEmpty:
		number.colour = look.Ink2
		edge := look.Ink3
		if b.Current {
			number.colour, edge = look.Ink1, look.Ink1
		}
		stroke := float32(2)
		if m.number == 0 {
			stroke = 1
		}
		p.outlineOn(x, y, w, h, 3, stroke, edge, look.Ground)
	case BarBlurred:
		shift := min(m.shift, w/3)
		p.fill(x, y, w, h, 0, look.Ground) // no hatching shows through
		p.outlineOn(x, y+1, w-shift, h-2, 3, min(2, h/4), look.Accent, look.Ground)
		p.outlineOn(x+shift, y+1, w-shift, h-2, 3, min(2, h/4), look.Accent, look.Ground)
		number.colour = look.Ink1
		x, k.seen = x+shift, k.seen-shift
	case BarMoved:
		p.fill(x, y, w/2, h-m.step, 2, colour)
		p.fill(x+w/2, y+m.step, w/2, h-m.step, 2, colour)
		if textWidth(b.Number, number)+4 <= k.seen/2 {
			k.seen, numberH = w/2, h-m.step
		}
	case BarLightDiffers:
		p.outlineOn(x, y, w, h, 3, 2, look.Accent, look.Ground)
		p.fill(x, y, w, h/2, 3, look.Accent)
		number.colour = look.Ink1
	case BarPlanned:
		p.outline(x, y, w, h, 3, 1, look.Edge)
		number = style{min(m.number, 13), false, look.Ink2}
	default:
		p.fill(x, y, w, h, 3, colour)
	}
	if m.number > 0 && b.Number != "" {
		if nw := textWidth(b.Number, number); b.Current || nw+4 <= k.seen {
			mid := x + k.seen/2
			if b.State == BarLightDiffers {
				p.fill(mid-nw/2-3, y+2, nw+6, h/2, 0, look.Ground)
			}
			if numberH == 0 {
				numberH = h
			}
			p.textIn(mid, y+numberH/2, b.Number, number)
		}
	}
	if r.hover == k.index+1 && !b.Current {
		p.outline(k.x, y, w, h, 3, 2, look.Ink1)
	}
	if r.Focused && b.Current {
		p.focus(k.x, y, w, h, 1)
	}
}

func (r *Ribbon) drawCover(p *pen, m ribbonMetrics, a axis) {
	spans := cover(r.Data.Bars)
	for _, s := range spans {
		p.fill(a.x(s.from), m.coverTop(), a.x(s.to)-a.x(s.from), m.cover, 0, look.Ink1)
	}
	for _, s := range r.Data.barely() {
		thin := m.cover / 4
		p.fill(a.x(s.from), m.coverTop()+(m.cover-thin)/2, a.x(s.to)-a.x(s.from), thin, 0, look.Ink1)
	}
	if r.Data.Near == session.EndClosed && r.Height != RibbonRow {
		p.fill(0, m.top, 3, m.coverEnd()-m.top, 0, look.Ink1)
	}
	if r.Data.Far == session.EndClosed && r.Height != RibbonRow {
		p.fill(a.width-3, m.top, 3, m.coverEnd()-m.top, 0, look.Ink1)
	}
	if len(spans) == 0 {
		return
	}
	dashes, from, pitch := openDashes, float32(8), float32(18)
	if r.Height == RibbonRow {
		dashes, from, pitch = openDashesRow, 4, 7
	}
	for i, dash := range dashes {
		step := from + pitch*float32(i)
		if r.Data.Far == session.EndOpen {
			p.fill(a.x(spans[len(spans)-1].to)+step, m.coverTop(), dash, m.cover, 0, look.Ink1)
		}
		if r.Data.Near == session.EndOpen {
			p.fill(a.x(spans[0].from)-step-dash, m.coverTop(), dash, m.cover, 0, look.Ink1)
		}
	}
}

// The lengths of the dashes by which the cover line goes on at an open end.
var (
	openDashes    = []float32{10, 8, 6, 4}
	openDashesRow = []float32{5, 4, 3}
)

// label is a piece of text under the ribbon.
type label struct {
	text string
	st   style
	x    float32 // wanted left edge
	w    float32
	mark bool // the mark of a frame set aside stands before it
	rank int  // the lowest goes first when there is no room
}

const (
	markWidth float32 = 27
	markGap   float32 = 8
)

func (r *Ribbon) labels(m ribbonMetrics, a axis) []label {
	var out []label
	d := r.Data
	spans := cover(d.Bars)
	add := func(text string, st style, rank int, place func(w float32) float32) {
		if text != "" {
			w := textWidth(text, st)
			out = append(out, label{text: text, st: st, x: place(w), w: w, rank: rank})
		}
	}
	add(d.NearLabel, of(look.Base), 2, func(w float32) float32 { return 0 })
	add(d.FarLabel, of(look.Base), 2, func(w float32) float32 {
		if laid := d.laid(m, a.width); d.Unmeasured && len(laid) > 0 {
			last := laid[len(laid)-1]
			return last.x + last.w - w
		}
		if d.Far == session.EndOpen && len(spans) > 0 {
			return a.x(spans[len(spans)-1].to) + 8
		}
		return a.width - w
	})
	for _, g := range d.Gaps {
		add(g.Label, of(look.Base).in(look.Ink1), 3, func(w float32) float32 { return (a.x(g.From)+a.x(g.To))/2 - w/2 })
	}
	for _, b := range d.Bars {
		if b.State == BarSetAside {
			st := of(look.Base).in(look.Ink3)
			x := a.x(b.From)
			if d.Unmeasured {
				x = a.width
			}
			out = append(out, label{text: b.Words, st: st, x: x, mark: true,
				w: markWidth + markGap + textWidth(b.Words, st), rank: 1})
		}
	}
	return out
}

// pack moves labels sideways until none overlaps another and all are within width,
// and leaves out those of the lowest rank where there is not room for all.
func pack(ls []label, width float32) []label {
	const apart float32 = 16
	for {
		sort.SliceStable(ls, func(i, j int) bool { return ls[i].x+ls[i].w/2 < ls[j].x+ls[j].w/2 })
		out := append([]label(nil), ls...)
		edge := float32(0)
		for i := range out {
			out[i].x = max(out[i].x, edge)
			edge = out[i].x + out[i].w + apart
		}
		edge = width
		for i := len(out) - 1; i >= 0; i-- {
			out[i].x = min(out[i].x, edge-out[i].w)
			edge = out[i].x - apart
		}
		if len(out) <= 1 || out[0].x >= 0 {
			return out
		}
		drop := 0
		for i := range ls {
			if ls[i].rank < ls[drop].rank {
				drop = i
			}
		}
		ls = append(append([]label(nil), ls[:drop]...), ls[drop+1:]...)
	}
}

func (r *Ribbon) drawLabels(p *pen, m ribbonMetrics, a axis) {
	base := m.coverEnd() + labelStep
	if r.Data.Unmeasured {
		_, h := r.Data.barBox(m, 0)
		base = m.top + h + labelStep
	}
	for _, l := range pack(r.labels(m, a), a.width) {
		x := l.x
		if l.mark {
			p.outlineOn(x, base-12, markWidth-5, 14, 3, 1, look.Ink3, look.Ground)
			p.outlineOn(x+5, base-12, markWidth-5, 14, 3, 1, look.Ink3, look.Ground)
			x += markWidth + markGap
		}
		p.text(x, base, l.text, l.st, left)
	}
}

// barAt gives the index of the bar at a position, or -1.
func (r *Ribbon) barAt(pos fyne.Position) int {
	x, y := at(pos)
	m := r.Height.metrics()
	found := -1
	for _, k := range r.Data.laid(m, r.width()) {
		top, h := r.Data.barBox(m, k.lane)
		if y >= top && y < top+h && x >= k.x && x < k.x+k.w {
			found = k.index // the last drawn lies on top
		}
	}
	return found
}

// width gives the ribbon's width in px at scale 1.
func (r *Ribbon) width() float32 { return r.Size().Width / look.Current().Scale }

// Tapped reports the bar that was clicked.
func (r *Ribbon) Tapped(e *fyne.PointEvent) {
	if i := r.barAt(e.Position); i >= 0 && r.OnTap != nil {
		r.OnTap(i)
	}
}

// MouseIn is part of desktop.Hoverable.
func (r *Ribbon) MouseIn(e *desktop.MouseEvent) { r.MouseMoved(e) }

// MouseMoved outlines the bar under the pointer and reports it.
func (r *Ribbon) MouseMoved(e *desktop.MouseEvent) { r.light(r.barAt(e.Position)) }

// MouseOut is part of desktop.Hoverable.
func (r *Ribbon) MouseOut() { r.light(-1) }

func (r *Ribbon) light(i int) {
	if r.hover == i+1 {
		return
	}
	r.hover = i + 1
	r.Refresh()
	if r.OnHover != nil {
		r.OnHover(i)
	}
}

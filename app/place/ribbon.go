package place

import (
	"strconv"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/parts"
	"stillbench/app/present"
	"stillbench/session"
)

// RibbonData turns a ribbon into what the part draws. The index of a bar is that in
// present.Ribbon.Bars; those set aside follow.
func RibbonData(r present.Ribbon) parts.RibbonData {
	d := parts.RibbonData{Near: r.NearEnd, Far: r.FarEnd, NearLabel: r.NearWords, FarLabel: r.FarWords}
	for _, b := range r.Bars {
		bar := parts.Bar{From: b.From, To: b.To, Number: strconv.Itoa(b.Number), Current: b.Current}
		if !r.Measured {
			// A bar without an extent is a tick, and counts for nothing in the line that
			// says what is held sharp.
			bar.From = (b.From + b.To) / 2
			bar.To = bar.From
		}
		switch {
		case b.Planned:
			bar.State = parts.BarPlanned
		case b.Blurred:
			bar.State = parts.BarBlurred
		case b.Moved:
			bar.State = parts.BarMoved
		case b.Light || b.Differ:
			bar.State = parts.BarLightDiffers
		}
		d.Bars = append(d.Bars, bar)
	}
	for _, a := range r.Aside {
		d.Bars = append(d.Bars, parts.Bar{From: a.At, To: a.At, State: parts.BarSetAside, Words: a.Words})
	}
	for _, g := range r.Gaps {
		d.Gaps = append(d.Gaps, parts.RibbonGap{From: g.From, To: g.To, Label: g.Words})
	}
	if d.Near == "" {
		d.Near, d.Far = session.EndUnknown, session.EndUnknown
	}
	return d
}

// Ribbon shows a group's frames: as a ribbon by depth where that was measured, else in
// the order shot.
type Ribbon struct {
	widget.BaseWidget
	Data present.Ribbon
	// OnTap is called with the fingerprint of the frame that was clicked.
	OnTap func(fingerprint string)

	depth *parts.Ribbon
	order *order
}

// NewRibbon makes an empty ribbon.
func NewRibbon(size parts.RibbonSize) *Ribbon {
	r := &Ribbon{depth: parts.NewRibbon(size), order: newOrder(size)}
	tap := func(i int) {
		bars := r.Data.Bars
		switch {
		case r.OnTap == nil:
		case i < len(bars) && bars[i].Planned:
		case i < len(bars):
			r.OnTap(bars[i].Fingerprint)
		case i-len(bars) < len(r.Data.Aside):
			r.OnTap(r.Data.Aside[i-len(bars)].Fingerprint)
		}
	}
	r.depth.OnTap, r.order.onTap = tap, tap
	r.ExtendBaseWidget(r)
	return r
}

// Set changes what is shown.
func (r *Ribbon) Set(d present.Ribbon) {
	r.Data = d
	r.depth.Data = RibbonData(d)
	r.order.data = r.depth.Data
	r.Refresh()
}

// Lanes sets the height of the lanes.
func (r *Ribbon) Lanes(size parts.RibbonSize) {
	r.depth.Height, r.order.size = size, size
}

// Place is where bar i of the ribbon stands, as a place on the scale of a strip of
// crops that is as wide as the ribbon, in px at scale 1.
func (r *Ribbon) Place(i int, width float32) float64 {
	b := r.Data.Bars[i]
	if r.Data.Measured {
		return (b.From + b.To) / 2
	}
	lo, hi := r.depth.Data.X(0, width), r.depth.Data.X(1, width)
	return float64((r.order.middle(i, width) - lo) / (hi - lo))
}

// CreateRenderer shows the drawing that fits the data.
func (r *Ribbon) CreateRenderer() fyne.WidgetRenderer { return &ribbonRenderer{r} }

type ribbonRenderer struct{ r *Ribbon }

func (d *ribbonRenderer) now() fyne.CanvasObject {
	if d.r.Data.Measured {
		return d.r.depth
	}
	return d.r.order
}

func (d *ribbonRenderer) Layout(size fyne.Size) {
	d.r.depth.Resize(size)
	d.r.order.Resize(size)
}
func (d *ribbonRenderer) MinSize() fyne.Size           { return d.r.depth.MinSize() }
func (d *ribbonRenderer) Refresh()                     { d.Layout(d.r.Size()); d.now().Refresh(); canvas.Refresh(d.r) }
func (d *ribbonRenderer) Objects() []fyne.CanvasObject { return []fyne.CanvasObject{d.now()} }
func (d *ribbonRenderer) Destroy()                     {}

package place

import (
	"strconv"

	"stillbench/app/parts"
	"stillbench/app/present"
	"stillbench/session"
)

// RibbonData turns a ribbon into what the part draws. The index of a bar is that in
// present.Ribbon.Bars; those set aside follow.
func RibbonData(r present.Ribbon) parts.RibbonData {
	d := parts.RibbonData{Near: r.NearEnd, Far: r.FarEnd, NearLabel: r.NearWords, FarLabel: r.FarWords, Unmeasured: !r.Measured}
	for _, b := range r.Bars {
		bar := parts.Bar{From: b.From, To: b.To, Number: strconv.Itoa(b.Number), Current: b.Current}
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
	Drawing *parts.Ribbon
	Shown   present.Ribbon
	// OnFrame is called with the fingerprint of the frame that was clicked.
	OnFrame func(fingerprint string)
}

// NewRibbon makes an empty ribbon.
func NewRibbon(size parts.RibbonSize) *Ribbon {
	r := &Ribbon{Drawing: parts.NewRibbon(size)}
	r.Drawing.OnTap = func(i int) {
		bars := r.Shown.Bars
		switch {
		case r.OnFrame == nil:
		case i < len(bars) && bars[i].Planned:
		case i < len(bars):
			r.OnFrame(bars[i].Fingerprint)
		case i-len(bars) < len(r.Shown.Aside):
			r.OnFrame(r.Shown.Aside[i-len(bars)].Fingerprint)
		}
	}
	return r
}

// Set changes what is shown.
func (r *Ribbon) Set(d present.Ribbon) {
	r.Shown = d
	r.Drawing.Data = RibbonData(d)
	r.Drawing.Refresh()
}

// Place is where bar i of the ribbon stands, as a place on the scale of a strip of
// crops that is as wide as the ribbon, in px at scale 1.
func (r *Ribbon) Place(i int, width float32) float64 {
	b := r.Shown.Bars[i]
	if r.Shown.Measured {
		return (b.From + b.To) / 2
	}
	lo, hi := r.Drawing.Data.X(0, width), r.Drawing.Data.X(1, width)
	return float64((r.Drawing.Data.Middle(i, width) - lo) / (hi - lo))
}

package handoff

import (
	"fmt"
	"slices"

	"stillbench/session"
)

// bar is one frame in a printed ribbon.
type bar struct {
	number   int // in time order, from 1
	check    session.FrameCheck
	from, to float64 // on the scale of FrameCheck.Place
}

// bars are the frames whose depth is known, nearest first.
func bars(k Stack) []bar {
	if k.Check == nil {
		return nil
	}
	var out []bar
	for i, f := range k.Kept() {
		c := k.FrameCheck(f.Fingerprint)
		if c == nil || c.Place == nil {
			continue
		}
		b := bar{number: i + 1, check: *c, from: *c.Place, to: *c.Place}
		if c.Near != nil && c.Far != nil && *c.Far > *c.Near {
			b.from, b.to = *c.Near, *c.Far
		}
		out = append(out, b)
	}
	slices.SortStableFunc(out, func(a, b bar) int {
		switch x, y := a.from+a.to, b.from+b.to; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	return out
}

// span is a stretch of depth.
type span struct{ from, to float64 }

// held is where some sound frame is sharp.
func held(all []bar) []span {
	var s []span
	for _, b := range all {
		if !b.check.Blurred && b.to > b.from {
			s = append(s, span{b.from, b.to})
		}
	}
	slices.SortFunc(s, func(a, b span) int {
		switch {
		case a.from < b.from:
			return -1
		case a.from > b.from:
			return 1
		}
		return 0
	})
	var out []span
	for _, x := range s {
		if n := len(out); n > 0 && x.from <= out[n-1].to {
			out[n-1].to = max(out[n-1].to, x.to)
			continue
		}
		out = append(out, x)
	}
	return out
}

// openRoom is kept beside an open end, in mm.
const openRoom = 12.0

// ribbon draws the stack from near (left) to far (right): a bar a frame in two lanes,
// hatching where there is a gap, and below them the line of what is held sharp. It gives
// where the middle of each frame's bar lies, by fingerprint.
func (p *sheetPen) ribbon(k Stack, left, y, width float64) map[string]float64 {
	all := bars(k)
	if len(all) == 0 {
		p.write(left, y+5, 9, "", 130, p.s.say(session.Say("How deep its frames lie is not known.")))
		return nil
	}
	lo, hi := 0.0, 1.0
	for _, b := range all {
		lo, hi = min(lo, b.from), max(hi, b.to)
	}
	x0, x1 := left, left+width
	if k.Check.NearEnd == session.EndOpen {
		x0 += openRoom
	}
	if k.Check.FarEnd == session.EndOpen {
		x1 -= openRoom
	}
	at := func(depth float64) float64 { return min(max(x0+(depth-lo)/(hi-lo)*(x1-x0), left), left+width) }
	high := 2*lane + laneGap
	for _, g := range k.Check.Gaps {
		a, b := at(g.From), at(g.To)
		if b-a < 2 { // never too narrow to be seen
			a, b = (a+b)/2-1, (a+b)/2+1
		}
		p.hatch(a, y, b-a, high)
	}
	marks := map[string]float64{}
	for i, b := range all {
		a, w := at(b.from), max(at(b.to)-at(b.from), 1.2)
		top := y + float64(i%2)*(lane+laneGap)
		p.bar(b, a, top, w)
		marks[b.check.Fingerprint] = a + w/2
	}
	// The line of what is held.
	cover := y + high + 1.3
	p.SetFillColor(20, 20, 20)
	spans := held(all)
	for _, s := range spans {
		p.Rect(at(s.from), cover, at(s.to)-at(s.from), 0.8, "F")
	}
	if k.Check.NearEnd == session.EndClosed {
		p.Rect(left, y, 0.6, cover+0.8-y, "F")
	}
	if k.Check.FarEnd == session.EndClosed {
		p.Rect(left+width-0.6, y, 0.6, cover+0.8-y, "F")
	}
	if len(spans) == 0 {
		return marks
	}
	for i, dash := range []float64{2, 1.6, 1.2, 0.8} {
		step := 0.8 + 2.8*float64(i)
		if k.Check.NearEnd == session.EndOpen {
			p.Rect(at(spans[0].from)-step-dash, cover, dash, 0.8, "F")
		}
		if k.Check.FarEnd == session.EndOpen {
			p.Rect(at(spans[len(spans)-1].to)+step, cover, dash, 0.8, "F")
		}
	}
	return marks
}

// bar draws one frame, with its number where there is room.
func (p *sheetPen) bar(b bar, x, y, w float64) {
	p.SetFillColor(120, 120, 120)
	p.SetDrawColor(30, 30, 30)
	p.SetLineWidth(0.35)
	white := func(x, w float64) {
		p.SetFillColor(255, 255, 255)
		p.Rect(x, y, w, lane, "F")
	}
	ink := 255
	switch {
	case b.check.Blurred:
		shift := min(1.6, w/3)
		white(x, w)
		p.RoundedRect(x, y+0.2, w-shift, lane-0.4, 0.5, "1234", "D")
		p.SetFillColor(255, 255, 255)
		p.RoundedRect(x+shift, y+0.2, w-shift, lane-0.4, 0.5, "1234", "FD")
		ink = 20
	case b.check.Moved:
		white(x, w)
		p.SetFillColor(120, 120, 120)
		p.Rect(x, y, w/2, lane-1, "F")
		p.Rect(x+w/2, y+1, w/2, lane-1, "F")
		w /= 2 // the number stands before the step
	case b.check.LightDiffers, b.check.SettingsDiffer:
		white(x, w)
		p.SetFillColor(120, 120, 120)
		p.Rect(x, y, w, lane/2, "F")
		p.RoundedRect(x, y, w, lane, 0.5, "1234", "D")
		ink = 20
	default:
		white(x-0.25, w+0.5) // keeps it apart from the bar under it
		p.SetFillColor(120, 120, 120)
		p.RoundedRect(x, y, w, lane, 0.5, "1234", "F")
	}
	words := fmt.Sprint(b.number)
	p.SetFont(face, "B", 7)
	if nw := p.GetStringWidth(words); nw+1 <= w {
		p.write(x+w/2-nw/2, y+lane/2+0.9, 7, "B", ink, words)
	}
}

// hatch fills a rectangle with strokes that rise to the right.
func (p *sheetPen) hatch(x, y, w, h float64) {
	p.ClipRect(x, y, w, h, false)
	p.SetDrawColor(40, 40, 40)
	p.SetLineWidth(0.3)
	for at := x - h; at < x+w; at += 1.5 {
		p.Line(at, y+h, at+h, y)
	}
	p.ClipEnd()
}

// mark draws a verdict's shape, 6 x 5 mm: the ribbon's own marks.
func (p *sheetPen) mark(v session.Verdict, x, y float64) {
	p.SetDrawColor(20, 20, 20)
	p.SetFillColor(20, 20, 20)
	cx, cy := x+3, y+2.5
	barAt := func(i float64) { p.Rect(x+i, y, 1.1, 5, "F") }
	switch v {
	case session.VerdictCovered:
		p.SetLineWidth(0.8)
		p.Circle(cx, cy, 2, "D")
	case session.VerdictBlurred:
		p.SetLineWidth(0.4)
		p.RoundedRect(x+0.6, y, 3.2, 5, 0.5, "1234", "D")
		p.SetFillColor(255, 255, 255)
		p.RoundedRect(x+2.2, y, 3.2, 5, 0.5, "1234", "FD")
	case session.VerdictGap:
		barAt(0.2)
		barAt(4.7)
		p.hatch(x+1.7, y, 2.6, 5)
	case session.VerdictNearOpen, session.VerdictFarOpen:
		for i, h := range []float64{3.4, 2.2, 1.2} {
			at := 3.5 + 1*float64(i)
			if v == session.VerdictNearOpen {
				at = 2.3 - 1*float64(i)
			}
			p.Rect(x+at, y+5-h, 0.5, h, "F")
		}
		for i := range 2 {
			at := 0.2 + 1.6*float64(i)
			if v == session.VerdictNearOpen {
				at = 3.1 + 1.6*float64(i)
			}
			barAt(at)
		}
	case session.VerdictUnsteady:
		p.SetLineWidth(0.5)
		p.Circle(cx, cy, 2.2, "D")
		p.ClipRect(cx, y-1, 4, 7, false)
		p.Circle(cx, cy, 2.2, "F")
		p.ClipEnd()
	default:
		p.Rect(x+0.8, y+0.3, 4.4, 4.4, "F")
	}
}

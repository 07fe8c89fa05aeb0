package present

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"stillbench/assets/words"
	"stillbench/session"
)

// Ribbon is a stack from near to far. Positions run from 0 to 1 over its width.
type Ribbon struct {
	// Measured is true when the positions are depths from the stack's check; else the
	// bars stand evenly in the order in which the frames were shot, and the ribbon
	// says nothing of what they hold sharp.
	Measured bool
	Bars     []Bar // near to far; the lanes alternate in this order
	Gaps     []Gap
	// Cover lists the depths that some sound frame holds, apart and in order.
	Cover [][2]float64
	Aside []Aside
	// NearEnd and FarEnd as the check has them; unknown without one.
	NearEnd, FarEnd session.End
	// NearWords and FarWords stand below the ends.
	NearWords, FarWords string
}

// Bar is one frame: the depth that it holds sharp.
type Bar struct {
	Fingerprint                   string
	Number                        int // within the group, from 1, those set aside counted
	From, To                      float64
	Current                       bool
	Blurred, Moved, Light, Differ bool // Light: lit otherwise; Differ: other settings
	// Planned: it is not shot yet, and may lie past 1. It has no fingerprint.
	Planned bool
}

// Gap is a depth that no frame holds.
type Gap struct {
	From, To float64
	Words    string // "0.4 mm held by no frame"
}

// Aside is a frame that was set aside.
type Aside struct {
	Fingerprint string
	At          float64
	Words       string
}

// ToDo is the fingerprint of the frame that a verdict is about: the first that is blurred or differs, the one
// before the first gap, or that at the open end; "" when there is none.
func (r Ribbon) ToDo(v session.Verdict) string {
	first := func(is func(Bar) bool) string {
		if i := slices.IndexFunc(r.Bars, func(b Bar) bool { return !b.Planned && is(b) }); i >= 0 {
			return r.Bars[i].Fingerprint
		}
		return ""
	}
	switch v {
	case session.VerdictBlurred:
		return first(func(b Bar) bool { return b.Blurred })
	case session.VerdictUnsteady:
		return first(func(b Bar) bool { return b.Light || b.Differ })
	case session.VerdictNearOpen:
		return first(func(Bar) bool { return true })
	case session.VerdictFarOpen:
		at := ""
		for _, b := range r.Bars {
			if !b.Planned {
				at = b.Fingerprint
			}
		}
		return at
	case session.VerdictGap:
		at, to := "", math.Inf(-1)
		for _, b := range r.Bars {
			if len(r.Gaps) > 0 && !b.Planned && b.To <= r.Gaps[0].From+1e-9 && b.To > to {
				at, to = b.Fingerprint, b.To
			}
		}
		return at
	}
	return ""
}

// ribbon draws up the ribbon of a group; current is the fingerprint of the frame to
// mark, or "".
func (b book) ribbon(g session.Group, check *session.Check, current string) Ribbon {
	r := Ribbon{NearEnd: session.EndUnknown, FarEnd: session.EndUnknown}
	if len(g.Frames) == 0 {
		return r
	}
	number := make(map[string]int, len(g.Frames))
	for i, fp := range g.Frames {
		number[fp] = i + 1
	}
	if !b.measure(&r, check, number) {
		b.evenly(&r, g)
	}
	for i := range r.Bars {
		r.Bars[i].Current = r.Bars[i].Fingerprint == current
	}
	b.setAside(&r, g)
	return r
}

// measure places the bars by the check; false when it does not tell the places.
func (b book) measure(r *Ribbon, check *session.Check, number map[string]int) bool {
	if check == nil || len(check.Frames) < 2 {
		return false
	}
	frames := slices.Clone(check.Frames)
	for _, f := range frames {
		if f.Place == nil || number[f.Fingerprint] == 0 {
			return false
		}
	}
	sort.SliceStable(frames, func(i, j int) bool { return *frames[i].Place < *frames[j].Place })
	r.Measured = true
	half := 0.4 / float64(len(frames)) // of a bar whose reach is not known
	for _, f := range frames {
		if shot := b.frames[f.Fingerprint]; shot != nil && shot.SetAside {
			continue // since it was checked
		}
		bar := Bar{
			Fingerprint: f.Fingerprint, Number: number[f.Fingerprint], From: *f.Place - half, To: *f.Place + half,
			Blurred: f.Blurred, Moved: f.Moved, Light: f.LightDiffers, Differ: f.SettingsDiffer,
		}
		if f.Near != nil && f.Far != nil {
			bar.From, bar.To = *f.Near, *f.Far
		}
		bar.From, bar.To = clamp(bar.From), clamp(bar.To)
		if !f.Blurred && f.Near != nil && f.Far != nil {
			r.Cover = append(r.Cover, [2]float64{bar.From, bar.To})
		}
		r.Bars = append(r.Bars, bar)
	}
	r.Cover = union(r.Cover)
	for _, g := range check.Gaps {
		gap := Gap{From: clamp(g.From), To: clamp(g.To), Words: words.HeldByNone}
		if g.DepthMM != nil {
			gap.Words = fmt.Sprintf(words.HeldByNoneF, Millimetres(*g.DepthMM))
		}
		r.Gaps = append(r.Gaps, gap)
	}
	r.NearEnd, r.FarEnd = check.NearEnd, check.FarEnd
	r.NearWords, r.FarWords = endWords(check.NearEnd, words.NearEnd, words.NearOpen), endWords(check.FarEnd, words.FarEnd, words.FarOpen)
	return true
}

func endWords(e session.End, closed, open string) string {
	switch e {
	case session.EndClosed:
		return closed
	case session.EndOpen:
		return open
	}
	return ""
}

// evenly places the bars in the order shot.
func (b book) evenly(r *Ribbon, g session.Group) {
	in, _ := b.in(g)
	for i, fp := range g.Frames {
		if f := b.frames[fp]; f != nil && f.SetAside {
			continue
		}
		k := float64(len(r.Bars))
		r.Bars = append(r.Bars, Bar{Fingerprint: fp, Number: i + 1, From: k / float64(in), To: (k + 1) / float64(in)})
	}
	if in > 1 {
		r.NearWords, r.FarWords = words.FirstShot, words.LastShot
	}
}

// setAside marks the frames put out of the stack, at the place of the neighbour shot
// before them.
func (b book) setAside(r *Ribbon, g session.Group) {
	at := map[string]float64{}
	for _, bar := range r.Bars {
		at[bar.Fingerprint] = (bar.From + bar.To) / 2
	}
	last := 0.0
	for i, fp := range g.Frames {
		if x, ok := at[fp]; ok {
			last = x
			continue
		}
		if f := b.frames[fp]; f != nil && f.SetAside {
			r.Aside = append(r.Aside, Aside{Fingerprint: fp, At: last, Words: fmt.Sprintf(words.AsideF, i+1)})
		}
	}
}

func clamp(v float64) float64 { return min(max(v, 0), 1) }

// union joins overlapping spans; in is not kept.
func union(in [][2]float64) [][2]float64 {
	sort.Slice(in, func(i, j int) bool { return in[i][0] < in[j][0] })
	var out [][2]float64
	for _, s := range in {
		if n := len(out); n > 0 && s[0] <= out[n-1][1] {
			out[n-1][1] = max(out[n-1][1], s[1])
			continue
		}
		out = append(out, s)
	}
	return out
}

package present

import (
	"fmt"
	"slices"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Planned is what the Plan hands to the Table.
type Planned struct {
	FNumber float64
	Frames  int
	StepMM  float64
	// since is the first frame of the stack that was open then, "" when none was: the
	// plan holds for it and for the stacks after it.
	since string
	// after is how many frames the session had.
	after int
}

// PlannedOf is a plan taken to the Table at this moment of a session; nil when there is
// no plan.
func PlannedOf(p Plan, s *desk.Snapshot) *Planned {
	if !p.Ready {
		return nil
	}
	out := &Planned{FNumber: p.FNumber, Frames: p.Frames, StepMM: p.StepMM, after: len(s.Frames)}
	if g := s.GroupOf(s.Newest); g >= 0 && s.Groups[g].Kind == session.KindStack && s.Checks[s.Groups[g].ID] == nil {
		out.since = s.Groups[g].Frames[0]
	}
	return out
}

// holdsFor says whether the plan was made for a group: the stack that was open when it
// was taken, or one begun since.
func (p *Planned) holdsFor(s *desk.Snapshot, g session.Group) bool {
	if g.Kind != session.KindStack || len(g.Frames) == 0 {
		return false
	}
	first := slices.IndexFunc(s.Frames, func(f session.Frame) bool { return f.Fingerprint == g.Frames[0] })
	return g.Frames[0] == p.since || first >= p.after
}

// Plan adds the frames still to be shot to the ribbon, and says beside it how many
// there will be; before the stack begins, the sentence tells what was planned.
func (t *Table) Plan(s *desk.Snapshot, p *Planned) {
	if p == nil {
		return
	}
	answer := fmt.Sprintf(words.PlanAnswerF, FNumber(&p.FNumber), p.Frames, step(p.StepMM))
	if p.Frames == 1 {
		answer = fmt.Sprintf(words.PlanOneF, FNumber(&p.FNumber))
	}
	group := s.GroupOf(s.Newest)
	if group < 0 || s.Groups[group].Kind != session.KindStack {
		if t.Mode == TableTrials {
			return // a question of its own
		}
		t.WhatToDo += " " + fmt.Sprintf(words.PlannedF, answer)
		return
	}
	g := s.Groups[group]
	n := len(t.Ribbon.Bars)
	if !p.holdsFor(s, g) || n == 0 || t.Ribbon.FarEnd == session.EndClosed {
		return
	}
	if len(t.RibbonName) == 2 {
		t.RibbonName[1] = fmt.Sprintf(words.PlannedCountF, n, p.Frames)
	}
	if check := s.Checks[g.ID]; check == nil && t.Mark == MarkHold {
		t.WhatToDo += " " + fmt.Sprintf(words.PlannedF, answer)
	}
	t.Ribbon.plan(p.Frames)
}

// plan adds planned frames until there are so many: by depth they go on at the pace of
// those shot, in the order shot they stand behind them.
func (r *Ribbon) plan(frames int) {
	n := len(r.Bars)
	frames = min(frames, n+mostSlices)
	if frames <= n {
		return
	}
	number := 0
	for _, b := range r.Bars {
		number = max(number, b.Number)
	}
	if !r.Measured {
		for i := range r.Bars {
			r.Bars[i].From, r.Bars[i].To = float64(i)/float64(frames), float64(i+1)/float64(frames)
		}
		for i := n; i < frames; i++ {
			number++
			r.Bars = append(r.Bars, Bar{Number: number, From: float64(i) / float64(frames), To: float64(i+1) / float64(frames), Planned: true})
		}
		r.FarWords = ""
		return
	}
	if n < 2 {
		return
	}
	last := r.Bars[n-1]
	middle := (last.From + last.To) / 2
	pace := (middle - (r.Bars[0].From+r.Bars[0].To)/2) / float64(n-1)
	if pace <= 0 {
		return
	}
	half := 0.6 * pace
	for i := n; i < frames; i++ {
		number++
		middle += pace
		r.Bars = append(r.Bars, Bar{Number: number, From: middle - half, To: middle + half, Planned: true})
	}
}

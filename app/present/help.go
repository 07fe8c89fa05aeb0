package present

import (
	"fmt"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// VerdictHelp explains one verdict by a drawing of an invented stack and in words.
type VerdictHelp struct {
	Verdict session.Verdict
	Ribbon  Ribbon
	Name    string
	Text    string
}

// VerdictsHelp explains all of them, the one that everybody waits for first.
func VerdictsHelp() []VerdictHelp {
	out := []VerdictHelp{helpOn(session.VerdictCovered)}
	for _, v := range session.Verdicts {
		if v != session.VerdictCovered {
			out = append(out, helpOn(v))
		}
	}
	return out
}

// helpOn draws an invented stack of seven frames by the ribbon that a real one has.
func helpOn(v session.Verdict) VerdictHelp {
	const n, step, half = 7, 0.15, 0.09
	g := session.Group{ID: 1, Kind: session.KindStack}
	c := &session.Check{Verdict: v, NearEnd: session.EndClosed, FarEnd: session.EndClosed}
	s := &desk.Snapshot{}
	for i := range n {
		fp := fmt.Sprint("f", i)
		at := 0.05 + step*float64(i)
		switch {
		case v == session.VerdictTooFew && i > 0:
			continue
		case v == session.VerdictGap && i == 3:
			continue
		case v == session.VerdictNearOpen && i == 0, v == session.VerdictFarOpen && i == n-1:
			continue
		}
		near, far := at-half, at+half
		f := session.FrameCheck{Fingerprint: fp, Place: &at, Near: &near, Far: &far, Aligned: true}
		f.Blurred = v == session.VerdictBlurred && i == 3
		f.LightDiffers = v == session.VerdictUnsteady && i >= 4
		if v == session.VerdictUndecided {
			f.Place, f.Near, f.Far = nil, nil, nil
		}
		c.Frames = append(c.Frames, f)
		g.Frames = append(g.Frames, fp)
		s.Frames = append(s.Frames, session.Frame{Fingerprint: fp})
	}
	switch v {
	case session.VerdictGap:
		c.Gaps = []session.Gap{{From: 0.05 + 2*step + half, To: 0.05 + 4*step - half}}
	case session.VerdictNearOpen:
		c.NearEnd = session.EndOpen
	case session.VerdictFarOpen:
		c.FarEnd = session.EndOpen
	case session.VerdictUndecided, session.VerdictTooFew:
		c.NearEnd, c.FarEnd = session.EndUnknown, session.EndUnknown
	}
	s.Groups = []session.Group{g}
	name := words.VerdictHelp[string(v)]
	return VerdictHelp{Verdict: v, Ribbon: open(s).ribbon(g, c, ""), Name: Capital(name[0]), Text: name[1]}
}

// HelpSentence is what the help opens with.
func HelpSentence() Sentence {
	return Sentence{Mark: MarkPlan, Headline: words.HelpHead, WhatToDo: words.HelpTodo}
}

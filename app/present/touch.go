package present

import (
	"fmt"
	"math"
	"slices"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// TouchSoft is how far touch-ups fade into the blend, as a part of the picture's diagonal: 12
// pixels of a proof, wide enough that an edge does not show and narrow enough for a hair.
const TouchSoft = 0.01

// Touching is what is needed to touch up the proof of a stack.
type Touching struct {
	Proof session.Proof
	// Stack is "stack 5", and Note what its proof is made of.
	Stack, Note string
	// Frames are those that lend their picture, in the order of the row.
	Frames []RowFrame
	// Measured: the order of Frames is from near to far.
	Measured bool
	// Made lists the touch-ups so far, oldest first.
	Made []string

	order []RowFrame // all frames of the row
}

// TouchingOf makes it of a stack's row; false while the stack has no proof of all its frames.
func TouchingOf(s *desk.Snapshot, r Row) (Touching, bool) {
	b := open(s)
	p := s.Proofs[r.GroupID]
	g := slices.IndexFunc(s.Groups, func(g session.Group) bool { return g.ID == r.GroupID })
	if g < 0 || len(p.Frames) == 0 {
		return Touching{}, false
	}
	if in, _ := b.in(s.Groups[g]); len(p.Frames)+len(p.LeftOut) < in {
		return Touching{}, false // it still grows
	}
	about := b.proof(r.GroupID)
	t := Touching{Proof: p, Stack: about.Lines[0], Note: about.Note(), Measured: r.Ribbon.Measured, order: r.Frames}
	for _, f := range r.Frames {
		if _, ok := t.lie(f.Fingerprint); ok && !f.SetAside {
			t.Frames = append(t.Frames, f)
		}
	}
	for i, touch := range s.Touches[r.GroupID] {
		t.Made = append(t.Made, fmt.Sprintf(words.TouchFromF, i+1, slices.Index(s.Groups[g].Frames, touch.From)+1))
	}
	return t, len(t.Frames) > 0
}

func (t Touching) lie(fingerprint string) (session.ProofFrame, bool) {
	i := slices.IndexFunc(t.Proof.Frames, func(f session.ProofFrame) bool { return f.Fingerprint == fingerprint })
	if i < 0 {
		return session.ProofFrame{}, false
	}
	return t.Proof.Frames[i], true
}

// Lie is how one of Frames lies on the proof.
func (t Touching) Lie(f RowFrame) session.ProofFrame {
	l, _ := t.lie(f.Fingerprint)
	return l
}

// Suggest is the index in Frames of a frame of the row, or of the one next to it that lends its
// picture.
func (t Touching) Suggest(fingerprint string) int {
	place := func(fp string) int {
		return slices.IndexFunc(t.order, func(f RowFrame) bool { return f.Fingerprint == fp })
	}
	best, least := 0, math.MaxInt
	for i, f := range t.Frames {
		d := place(f.Fingerprint) - place(fingerprint)
		if d = max(d, -d); d < least {
			best, least = i, d
		}
	}
	return best
}

// on gives where a point of the proof, in shares as stored, lies in a frame of it as stored.
func (t Touching) on(f session.ProofFrame, u, v float64) (float64, float64) {
	w, h := float64(t.Proof.W), float64(t.Proof.H)
	sin, cos := math.Sincos(f.Turn)
	x, y := (u-0.5)*w, (v-0.5)*h
	return (f.Scale*(cos*x-sin*y)+f.DX)/w + 0.5, (f.Scale*(sin*x+cos*y)+f.DY)/h + 0.5
}

// In gives where a point of the proof lies in one of Frames; both in shares, upright.
func (t Touching) In(f RowFrame, x, y float64) (float64, float64) {
	u, v := Stored(t.Proof.Turn, x, y)
	u, v = t.on(t.Lie(f), u, v)
	return Upright(t.Proof.Turn, u, v)
}

// Edit is the touch-up that takes what lies inside an outline on the upright proof from one of
// Frames.
func (t Touching) Edit(f RowFrame, drawn [][2]float64) session.Edit {
	middle := t.Proof.Frames[t.Proof.Middle]
	var a session.Area
	for _, p := range drawn {
		u, v := Stored(t.Proof.Turn, p[0], p[1])
		u, v = t.on(middle, u, v)
		a = append(a, [2]float64{clamp(u), clamp(v)})
	}
	return session.Edit{
		Kind: session.EditTouch, Frame: f.Fingerprint, Touch: &session.Touch{Area: a, From: f.Fingerprint, Soft: TouchSoft},
		Words: fmt.Sprintf(words.TouchUndoF, t.Stack, f.Number),
	}
}

// Sentence says what to do: draw, by the keys corner by corner, or with something drawn choose the frame.
func (t Touching) Sentence(f RowFrame, drawn, corners bool) Sentence {
	s := Sentence{Mark: MarkDraw, Headline: fmt.Sprintf(words.TouchHeadF, t.Stack), WhatToDo: words.TouchOutline}
	switch {
	case corners:
		s.WhatToDo = words.DrawAdviceCorners
	case drawn:
		s.WhatToDo = fmt.Sprintf(words.TouchTryF, f.Number)
	}
	return s
}

// TouchKept says that a touch-up was kept.
func TouchKept(f RowFrame) string { return fmt.Sprintf(words.TouchKeptF, f.Number) }

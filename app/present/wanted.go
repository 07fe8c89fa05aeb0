package present

import (
	"math"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Stored gives the point of the stored picture that is shown at (x, y) of the upright
// one; all in 0..1. The turn is EXIF's orientation (CIPA DC-008, tag 0x0112).
func Stored(turn int, x, y float64) (u, v float64) {
	switch turn {
	case 2:
		return 1 - x, y
	case 3:
		return 1 - x, 1 - y
	case 4:
		return x, 1 - y
	case 5:
		return y, x
	case 6:
		return y, 1 - x
	case 7:
		return 1 - y, 1 - x
	case 8:
		return 1 - y, x
	}
	return x, y
}

// Upright is the inverse of Stored: where a point of the stored picture is shown.
func Upright(turn int, u, v float64) (x, y float64) {
	switch turn {
	case 6:
		turn = 8
	case 8:
		turn = 6
	}
	return Stored(turn, u, v) // every other turn is its own inverse
}

// Lie is how a frame, shown upright, lies on the middle frame of its stack as stored. The
// zero value lies exactly on it.
type Lie struct {
	turn         int     // EXIF orientation
	w, h         float64 // full size as stored; 0 when not known
	shift        [2]float64
	scale, angle float64 // as in session.FrameCheck, the angle in radians; scale 0 for none
}

// LieOf finds how a frame lies on the middle one of its stack: by its orientation, and by
// the stack's check where that could lay it there.
func LieOf(s *desk.Snapshot, fingerprint string) Lie {
	f, ok := s.Frame(fingerprint)
	g := s.GroupOf(fingerprint)
	if !ok || g < 0 {
		return Lie{}
	}
	l := Lie{}
	if f.Meta.Orientation != nil {
		l.turn = *f.Meta.Orientation
	}
	c := s.Checks[s.Groups[g].ID]
	if c == nil || f.Meta.Width == nil || f.Meta.Height == nil {
		return l
	}
	for _, fc := range c.Frames {
		if fc.Fingerprint == fingerprint && fc.Aligned && fc.Scale > 0 {
			l.w, l.h = float64(*f.Meta.Width), float64(*f.Meta.Height)
			l.shift, l.scale, l.angle = fc.Shift, fc.Scale, fc.TurnDegrees*math.Pi/180
		}
	}
	return l
}

// Shown gives where an area of the middle frame lies in the frame as it is shown, nil for
// all of it. It can reach past the edges.
func (l Lie) Shown(a session.Area) [][2]float64 {
	if len(a) < 3 {
		return nil
	}
	var out [][2]float64
	for _, p := range a {
		u, v := p[0], p[1]
		if l.scale > 0 && l.w > 0 && l.h > 0 {
			sin, cos := math.Sincos(l.angle)
			x, y := (u-0.5)*l.w, (v-0.5)*l.h
			u = (l.scale*(cos*x-sin*y)+l.shift[0])/l.w + 0.5
			v = (l.scale*(sin*x+cos*y)+l.shift[1])/l.h + 0.5
		}
		x, y := Upright(l.turn, u, v)
		out = append(out, [2]float64{x, y})
	}
	return out
}

// Area is what was drawn on the frame as it is shown, as an area of the frame as stored, kept
// inside it.
func (l Lie) Area(drawn [][2]float64) session.Area {
	var out session.Area
	for _, p := range drawn {
		u, v := Stored(l.turn, p[0], p[1])
		out = append(out, [2]float64{clamp(u), clamp(v)})
	}
	return out
}

// DrawSentence says what to do while the wanted area is drawn.
func DrawSentence(free, corners bool) Sentence {
	s := Sentence{Mark: MarkDraw, Headline: words.DrawHead, WhatToDo: words.DrawAdvice}
	switch {
	case corners:
		s.WhatToDo = words.DrawAdviceCorners
	case free:
		s.WhatToDo = words.DrawAdviceFree
	}
	return s
}

package present

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/focus"
	"stillbench/session/focus/relief"
)

// TestShotIsMeasuredAgainstThePlan: pictures of a made-up slope, blurred by real discs, are
// judged as a shot stack is, and what was turned between them is told from nothing else.
// What a frame holds is two circles of confusion deep, as the blur grows by one on either
// side of its place; at life size and f/8 that is 2·8·c·2 in the subject, c the diagonal /
// 1500. Turned were 1.4 times the step planned, with a frame shot again; then exactly
// that.
func TestShotIsMeasuredAgainstThePlan(t *testing.T) {
	const w, h, circle, depth = 720, 480, 0.92, 10.0
	a := bench1()
	a.Text[PlanSharp], a.FNumber = "", 8
	p := PlanOf(a)
	step := p.StepMM / (2 * 8 * math.Hypot(36, 24) / 1500) // in circles
	subject := relief.New(relief.Fine, w, h, 8, func(_, y float64) float64 { return circle * depth * (1 - y) })
	for _, c := range []struct {
		times float64
		again bool
		want  string
	}{{1.4, true, "1.4 times too far"}, {1, false, "as planned"}} {
		s := &desk.Snapshot{Checks: map[int64]*session.Check{}}
		g := session.Group{ID: 1, Kind: session.KindStack}
		stack := &focus.Stack{}
		f8, wide, high := 8.0, 6000, 4000
		var places []float64
		for at := 0.0; at <= depth; at += step * c.times {
			places = append(places, at)
			if c.again && len(places) == 3 {
				places = append(places, at)
			}
		}
		for i, at := range places {
			fp := fmt.Sprint(i)
			meta := session.Meta{FNumber: &f8, Width: &wide, Height: &high}
			s.Frames = append(s.Frames, session.Frame{Fingerprint: fp, Meta: meta})
			g.Frames, s.Newest = append(g.Frames, fp), fp
			shot := relief.Shot{Place: at * circle, Noise: relief.ISO(200), Seed: uint64(i)}
			shot.Move.Scale = 1
			if err := stack.Add(focus.Frame{Fingerprint: fp, Picture: subject.Shoot(shot), Meta: meta}); err != nil {
				t.Fatal(err)
			}
		}
		s.Groups = []session.Group{g}
		s.Checks[1] = stack.Check(focus.Options{CircleOfConfusion: circle / math.Hypot(w, h)})
		if got := AgainstPlan(s, a, p); !strings.Contains(got, c.want) {
			t.Errorf("turned %g times the step (one again: %v), %d frames: %q, want %q", c.times, c.again, len(places), got, c.want)
		}
	}
}

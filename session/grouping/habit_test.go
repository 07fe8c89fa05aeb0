package grouping

import (
	"math"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/plane"
)

// Laplace's rule of succession: after n of n the odds for the next are n+1 to 1, after none of n 1
// to n+1, and of nothing known even. The stack that is asked about does not count.
func TestHabitGoesByTheRuleOfSuccession(t *testing.T) {
	of := func(before ...ending) habit {
		var h habit
		for n, e := range before {
			h.before.add(e)
			h.after.add(unknown)
			h.of = append(h.of, -1, -1, n) // something twice, and then the stack
		}
		return h
	}
	repeat := func(e ending, n int) (out []ending) {
		for range n {
			out = append(out, e)
		}
		return out
	}
	for _, c := range []struct {
		what string
		ends []ending
		want float64
	}{
		{"nothing else", []ending{bare}, 0},
		{"nine of nine others", append(repeat(marked, 9), bare), math.Log(10)},
		{"none of eight others", append(repeat(bare, 8), marked), -math.Log(9)},
		{"half of the others", []ending{marked, bare, bare}, 0},
	} {
		h := of(c.ends...)
		last := len(h.of) - 1
		if got := h.odds(last-1, last); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%s: %.3f, want %.3f", c.what, got, c.want)
		}
		if got := h.odds(last, last+1); got != 0 {
			t.Errorf("%s: %.3f of what comes after, where nothing has come", c.what, got)
		}
		if got := h.odds(last, last); got != 0 {
			t.Errorf("%s: %.3f within a stack", c.what, got)
		}
	}
}

// dimmer is a picture of the first scene, focused there, in so much of its light, that falls off as
// said.
func dimmer(focus float64, through float32, fall float64) *session.Figures {
	b := newBlobs(1)
	for c := range 3 {
		for _, layer := range [][3]*plane.Plane{b.far, b.middle, b.near} {
			for i := range layer[c].Pix {
				layer[c].Pix[i] *= through
			}
		}
	}
	return b.at(focus, fall)
}

// kindOf is the kind of the group that a frame of a roll is in.
func kindOf(r *roll, place int) session.Kind {
	for _, g := range Group(r.frames, nil, nil) {
		if slices.Contains(g.Frames, r.frames[place].Fingerprint) {
			return g.Kind
		}
	}
	return ""
}

// What a picture leaves open is read as the photographer's other stacks are marked: the table in
// a fifth of its light, shortly before a stack, may be a test or a dark hand.
func TestHabitDecidesWhatPicturesLeaveOpen(t *testing.T) {
	p := pictures()
	dim := dimmer(0.4, 0.2, 0.5)
	for marks, want := range map[bool]session.Kind{true: session.KindMarker, false: session.KindTest} {
		r := new(roll)
		for n := range 5 {
			if marks {
				r.take(p.hand[n%2])
			}
			r.take([][6]*session.Figures{p.a, p.b}[n%2][:]...).wait(40)
		}
		place := len(r.frames) + 1
		r.take(p.b[2]).wait(10).take(dim).wait(8).take(p.a[:]...)
		if got := kindOf(r, place); got != want {
			t.Errorf("the other stacks are marked, %v: a %s, want a %s", marks, got, want)
		}
	}
}

// A lamp that was turned down evenly leaves the table's own pattern with all of its contrast: no
// hand does. That the frame before shows another table, which everything may seem to veil, says
// nothing.
func TestALampTurnedDownIsNoMarker(t *testing.T) {
	p := pictures()
	for _, light := range []float32{0.25, 0.1, 0.05} {
		dim := dimmer(0.4, light, 1)
		for what, r := range map[string]*roll{
			"as the first frame":   new(roll),
			"after another table":  new(roll).take(p.b[:]...).wait(40),
			"after the same table": new(roll).take(p.a[:]...).wait(40),
			"after a marked stack": new(roll).take(p.hand[0]).take(p.b[:]...).wait(40),
		} {
			if light < 0.1 && what == "after a marked stack" {
				continue // who marks stacks may have held a hand there
			}
			place := len(r.frames)
			r.take(dim).wait(12).take(p.a[:]...)
			if got := kindOf(r, place); got != session.KindTest {
				t.Errorf("%g of the light, %s: a %s", light, what, got)
			}
		}
	}
}

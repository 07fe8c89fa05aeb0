package desk

import (
	"testing"

	"stillbench/session"
	"stillbench/session/focus"
)

// A wrong "covered" costs the picture: it is said no longer as soon as the stack may not be.
func TestCoveredIsNotSaidOfAStackThatLostAFrameOrIsHeldToMore(t *testing.T) {
	of := func(area session.Area, fps ...string) wanted {
		w := wanted{id: 1, options: focus.Options{Wanted: area}}
		for i, fp := range fps {
			w.frames = append(w.frames, session.Frame{Fingerprint: fp})
			w.numbers = append(w.numbers, i+1)
		}
		w.key = keyOf(w)
		return w
	}
	part := session.Area{{0, 0}, {1, 0}, {1, 1}}
	for _, c := range []struct {
		what    string
		verdict session.Verdict
		was, is wanted
		holds   bool
	}{
		{"the same", session.VerdictCovered, of(part, "a", "b"), of(part, "a", "b"), true},
		{"a frame joined", session.VerdictCovered, of(part, "a", "b"), of(part, "a", "b", "c"), true},
		{"a frame was set aside", session.VerdictCovered, of(nil, "a", "b", "c"), of(nil, "a", "c"), false},
		{"the last was set aside", session.VerdictCovered, of(nil, "a", "b", "c"), of(nil, "a", "b"), false},
		{"all of it is wanted", session.VerdictCovered, of(part, "a", "b"), of(nil, "a", "b"), false},
		{"a gap stays one till more is known", session.VerdictGap, of(part, "a", "b"), of(nil, "a", "b"), true},
	} {
		if got := (checked{c.was, &session.Check{Verdict: c.verdict}}).holdsFor(c.is); got != c.holds {
			t.Errorf("%s: %v", c.what, got)
		}
	}
}

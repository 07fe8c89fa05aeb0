package desk

import (
	"errors"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/focus"
)

// A wrong "covered" costs the picture: it is said no longer as soon as the stack may not be.
func TestCoveredIsNotSaidOfAStackThatLostAFrameOrIsHeldToMore(t *testing.T) {
	of := func(area session.Area, fps ...string) wanted {
		w := wanted{id: 1, options: focus.Options{Wanted: area}}
		for i, fp := range fps {
			w.add(session.Frame{Fingerprint: fp}, i+1)
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

// A verdict that comes while its stack is no stack is there when an undo makes it one again.
func TestVerdictThatIsNotWantedForAMomentIsNotLost(t *testing.T) {
	c := newChecker("", nil)
	frames := []session.Frame{{Fingerprint: "a"}, {Fingerprint: "b"}}
	stack := []session.Group{{ID: 1, Kind: session.KindStack, Frames: []string{"a", "b"}}}
	test := []session.Group{{ID: 1, Kind: session.KindTest, Frames: []string{"a", "b"}}}
	c.want(frames, stack, terms{})
	w := (<-c.in)[0]
	c.want(frames, test, terms{})
	verdict := &session.Check{Verdict: session.VerdictGap}
	if c.accept(checked{w, verdict}) || len(c.all()) != 0 {
		t.Error("a verdict is said of what is no stack")
	}
	c.want(frames, stack, terms{})
	if c.busy() || c.all()[1] != verdict {
		t.Errorf("the stack is there again: busy %v, verdicts %v", c.busy(), c.all())
	}
}

// What a verdict follows from besides the frames' bytes: what they are called, and the file
// that stands for a raw file without a picture. Nothing is begun anew because a frame is out.
func TestStackIsBegunAnewWhereItsPicturesDiffer(t *testing.T) {
	of := func(first int, frames ...session.Frame) wanted {
		var w wanted
		for i, f := range frames {
			w.add(f, first+i)
		}
		w.key = keyOf(w)
		return w
	}
	raw := session.Frame{Fingerprint: "r", Name: "R.CR2"}
	paired := raw
	paired.Pairs = []string{"R.JPG"}
	previewed := paired
	previewed.Meta.Preview = &session.Preview{Length: 1}
	other := session.Frame{Fingerprint: "o", Name: "O.CR2"}
	for _, c := range []struct {
		what     string
		was, is  wanted
		same, on bool
	}{
		{"the same", of(1, raw), of(1, raw), true, true},
		{"a frame joined", of(1, raw), of(1, raw, other), false, true},
		{"the last was set aside", of(1, raw, other), of(1, raw), false, true},
		{"the first was set aside", of(1, raw, other), of(2, other), false, true},
		{"they are called otherwise", of(2, raw, other), of(1, raw, other), false, false},
		{"one before them is gone", of(1, raw, other), of(1, other), false, false},
		{"one is back that was out when they were read", of(2, other), of(1, raw, other), false, false},
		{"a file with a picture came", of(1, raw), of(1, paired), false, false},
		{"the raw file has its own", of(1, previewed), of(1, session.Frame{Fingerprint: "r", Name: "R.CR2", Meta: previewed.Meta}), true, true},
	} {
		s := stackSoFar{pictures: c.was.pictures, stack: &focus.Stack{}}
		for _, f := range c.was.frames {
			s.fingerprints = append(s.fingerprints, f.Fingerprint)
		}
		_, on := s.holds(c.is)
		if same := c.was.key == c.is.key; same != c.same || on != c.on {
			t.Errorf("%s: same verdict %v, goes on %v", c.what, same, on)
		}
	}
}

// TestForget: stacks are forgotten by their frames, oldest first, and never the one at work or the
// newest.
func TestForget(t *testing.T) {
	stack := func(id int64, frames int) *stackSoFar {
		return &stackSoFar{id: id, pictures: make([]string, frames)}
	}
	for _, c := range []struct {
		frames       []int // of stacks 1, 2, …
		work, newest int64
		left         []int64
	}{
		{[]int{10, 10, 10}, 3, 3, []int64{1, 2, 3}},
		{[]int{10, 10, 11}, 3, 3, []int64{2, 3}},
		{[]int{10, 10, 90}, 3, 3, []int64{3}},
		{[]int{50, 10, 90}, 2, 3, []int64{2, 3}},
		{[]int{1, 1, 1, 1, 1, 1}, 6, 6, []int64{1, 2, 3, 4, 5, 6}},
	} {
		var kept []*stackSoFar
		for i, n := range c.frames {
			kept = append(kept, stack(int64(i+1), n))
		}
		var left []int64
		for _, s := range forget(kept, c.work, c.newest) {
			left = append(left, s.id)
		}
		if !slices.Equal(left, c.left) {
			t.Errorf("of %v, %d at work: %v, want %v", c.frames, c.work, left, c.left)
		}
	}
}

// What was judged and is neither at work nor the newest is closed; what is still to be judged is not. A
// closed stack serves as long as no frame joins it.
func TestClosed(t *testing.T) {
	var kept []*stackSoFar
	for id := range int64(4) {
		kept = append(kept, &stackSoFar{id: id, pictures: []string{"a", "b"}, fingerprints: []string{"a", "b"}, stack: &focus.Stack{}, judged: id != 1})
	}
	for _, s := range forget(kept, 2, 3) {
		if want := s.id == 0; s.stack.Closed() != want {
			t.Errorf("stack %d: closed %v, want %v", s.id, s.stack.Closed(), want)
		}
		if err := s.stack.Add(focus.Frame{}); errors.Is(err, focus.ErrClosed) != s.stack.Closed() {
			t.Errorf("stack %d: a frame joins with %v", s.id, err)
		}
	}
	frame := func(fp string) session.Frame { return session.Frame{Fingerprint: fp} }
	fewer := wanted{frames: []session.Frame{frame("a")}, pictures: []string{"a"}}
	more := wanted{frames: []session.Frame{frame("a"), frame("b"), frame("c")}, pictures: []string{"a", "b", "c"}}
	if n, serves := kept[0].holds(fewer); n != 1 || !serves {
		t.Error("a closed stack does not serve what it holds")
	}
	if _, serves := kept[0].holds(more); serves {
		t.Error("a frame is to join a closed stack")
	}
	if n, serves := kept[3].holds(more); n != 2 || !serves {
		t.Error("no frame can join the newest stack")
	}
}

package app

import (
	"testing"
	"time"
)

// While something happens, or work goes on behind the window, the loop goes at its own pace; after some
// seconds in which nothing did it waits, until an event comes or something is handed to it.
func TestLullWaitsForEvents(t *testing.T) {
	now := time.Unix(1000, 0)
	waits, wakes := 0, 0
	takes := lullWait
	busy := false
	var during func()
	l := &lull{now: func() time.Time { return now }, wake: func() { wakes++ }, busy: func() bool { return busy }}
	l.wait = func(d time.Duration) {
		if d != lullWait {
			t.Errorf("it waits for %v, want %v", d, lullWait)
		}
		waits++
		if during != nil {
			during()
		}
		now = now.Add(takes)
	}
	// turns goes round the loop for so long, a turn every sixtieth of a second unless it waits.
	turns := func(d time.Duration) (n int) {
		for end := now.Add(d); now.Before(end); n++ {
			now = now.Add(time.Second / 60)
			l.turn()
		}
		return n
	}
	ran := 0
	do := l.through(func(fn func()) { fn() })

	l.happens()
	if turns(lullAfter - lullWait); waits != 0 {
		t.Errorf("it waited %d times while something had just happened", waits)
	}
	if n := turns(10 * time.Second); n > 160 {
		t.Errorf("%d turns of the loop in ten seconds in which nothing happens, want 160 at the most", n)
	}
	do(func() { ran++ })
	if waits = 0; ran != 1 || wakes != 0 {
		t.Errorf("a function ran %d times and woke a loop that does not wait %d times", ran, wakes)
	}
	if turns(lullAfter - lullWait); waits != 0 {
		t.Error("it waits at once after a function was handed to it")
	}
	turns(lullAfter)
	during = func() { do(func() { ran++ }) }
	takes = time.Millisecond
	waits = 0
	turns(lullAfter)
	if waits != 1 || ran != 2 || wakes != 1 {
		t.Errorf("%d waits, %d functions run and %d wakes, want 1, 2, 1", waits, ran, wakes)
	}
	turns(lullAfter)
	waits, during = 0, nil // an event of the window's own
	if turns(lullAfter); waits != 1 {
		t.Errorf("%d waits soon after an event, want 1", waits)
	}
	takes, waits, busy = lullWait, 0, true
	if turns(time.Minute); waits != 0 {
		t.Errorf("it waited %d times while frames were judged behind the window", waits)
	}
	busy = false
	if turns(lullAfter - lullWait); waits != 0 {
		t.Error("it waits at once after the last frame was judged")
	}
	if turns(time.Second); waits == 0 {
		t.Error("it does not wait when all is judged")
	}
}

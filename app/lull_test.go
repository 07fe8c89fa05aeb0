package app

import (
	"testing"
	"time"
)

// While something happens the loop goes at its own pace; after a second in which nothing did it waits,
// until an event comes or something is handed to it.
func TestLullWaitsForEvents(t *testing.T) {
	now := time.Unix(1000, 0)
	waits, wakes := 0, 0
	takes := lullWait
	var during func()
	l := &lull{now: func() time.Time { return now }, wake: func() { wakes++ }}
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
	if n := turns(10 * time.Second); n > 200 {
		t.Errorf("%d turns of the loop in ten seconds in which nothing happens, want 200 at the most", n)
	}
	do(func() { ran++ })
	if waits = 0; ran != 1 || wakes != 0 {
		t.Errorf("a function ran %d times and woke a loop that does not wait %d times", ran, wakes)
	}
	if turns(lullAfter - lullWait); waits != 0 {
		t.Error("it waits at once after a function was handed to it")
	}
	turns(time.Second)
	during = func() { do(func() { ran++ }) }
	takes = time.Millisecond
	waits = 0
	turns(lullAfter)
	if waits != 1 || ran != 2 || wakes != 1 {
		t.Errorf("%d waits, %d functions run and %d wakes, want 1, 2, 1", waits, ran, wakes)
	}
	turns(time.Second)
	waits, during = 0, nil // an event of the window's own
	if turns(lullAfter); waits != 1 {
		t.Errorf("%d waits in the second after an event, want 1", waits)
	}
}

// What others than the window hand to the loop while it waits runs before it waits again, though the loop
// takes its next turn first wherever it may choose.
func TestLullWaitsForNothingTwice(t *testing.T) {
	now := time.Unix(1000, 0)
	waits, ran := 0, 0 // ran: after how many waits the function did
	tick := now
	var queue []func()
	l := &lull{now: func() time.Time { return now }}
	l.wait = func(d time.Duration) {
		if waits++; waits == 1 {
			queue = append(queue, func() { ran = waits })
		}
		now = now.Add(d)
	}
	// As Fyne's loop: a ticker that keeps one tick, and a queue of functions.
	for end := now.Add(time.Second); now.Before(end); {
		if !now.Before(tick) {
			for !now.Before(tick) {
				tick = tick.Add(time.Second / 60)
			}
			l.turn()
			continue
		}
		for ; len(queue) > 0; queue = queue[1:] {
			queue[0]()
		}
		now = tick
	}
	if waits < 8 || ran != 1 {
		t.Errorf("of %d waits a function that came in the first ran after %d, want after that one", waits, ran)
	}
}

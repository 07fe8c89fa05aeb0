package app

import (
	"sync"
	"time"

	"fyne.io/fyne/v2"
)

const (
	// lullAfter is how long nothing has happened before events are waited for: until then what has just been
	// done may be followed by more.
	lullAfter = 10 * time.Second
	// lullWait is how long they are waited for at a time. What Fyne itself hands to its event loop
	// from elsewhere, of which there is next to nothing, waits as long, and sometimes some turns longer:
	// of it and its next turn the loop takes either.
	lullWait = 50 * time.Millisecond
)

// lull has a window to which nothing happens wait for events. Fyne asks for them sixty times a
// second, day and night, which alone takes about a hundredth of a core.
type lull struct {
	wait func(time.Duration)
	wake func()
	now  func() time.Time
	busy func() bool // work goes on behind the window; asked in the loop

	mu       sync.Mutex
	happened time.Time // when something last did
	waiting  bool
}

// start begins to wait whenever nothing happens, once the window's event loop runs. An animation is
// what Fyne calls in every turn of the loop, after it has asked for events and before it draws.
func (l *lull) start() {
	l.happens()
	a := fyne.NewAnimation(time.Hour, func(float32) { l.turn() })
	a.RepeatCount = fyne.AnimationRepeatForever
	a.Start()
}

// turn is one turn of the loop.
func (l *lull) turn() {
	begun, busy := l.now(), l.busy()
	l.mu.Lock()
	if busy {
		l.happened = begun
	}
	l.waiting = begun.Sub(l.happened) >= lullAfter
	waits := l.waiting
	l.mu.Unlock()
	if !waits {
		return
	}
	l.wait(lullWait)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.waiting = false
	// An event has been dealt with already. What follows from it should go at Fyne's own pace.
	if now := l.now(); now.Sub(begun) < lullWait {
		l.happened = now
	}
}

func (l *lull) happens() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.happened = l.now()
}

// through gives a do whose functions the loop runs at once, though it waits.
func (l *lull) through(do func(func())) func(func()) {
	return func(fn func()) {
		l.happens()
		do(fn)
		l.mu.Lock()
		defer l.mu.Unlock()
		if l.waiting { // the loop cannot have ended meanwhile
			l.wake()
		}
	}
}

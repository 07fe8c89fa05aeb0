package main

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// showProgress draws a bar on standard error while a folder is read in, when that is a
// terminal; the function it gives back takes the bar away again.
func showProgress(e env, d *desk.Desk) (stop func()) {
	f := terminal(e)
	if f == nil {
		return func() {}
	}
	done := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		tick := time.NewTicker(barEvery)
		defer tick.Stop()
		for {
			select {
			case <-done:
				fmt.Fprint(f, clearLine)
				return
			case <-tick.C:
				s := d.Snapshot()
				fmt.Fprintf(f, "\r%s %d of %d read", bar(s.Read, s.Found), s.Read, s.Found)
			}
		}
	})
	return func() { close(done); wg.Wait() }
}

// barEvery is how often a bar is drawn anew.
const barEvery = 200 * time.Millisecond

// clearLine takes a bar away (ECMA-48: EL).
const clearLine = "\r\x1b[K"

// terminal is standard error where somebody looks at it, nil elsewhere.
func terminal(e env) *os.File {
	f, ok := e.stderr.(*os.File)
	if !ok {
		return nil
	}
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return nil
	}
	return f
}

func bar(done, total int) string {
	n := 0
	if total > 0 {
		n = min(30*done/total, 30)
	}
	return strings.Repeat("#", n) + strings.Repeat(".", 30-n)
}

// tellProgress draws a bar of work that tells how far it is; stop takes the bar away.
func tellProgress(e env) (p session.Progress, stop func()) {
	f := terminal(e)
	if f == nil {
		return nil, func() {}
	}
	var last time.Time
	return func(done, total int) {
		if now := time.Now(); now.Sub(last) >= barEvery {
			last = now
			fmt.Fprintf(f, "\r%s", bar(done, total))
		}
	}, func() { fmt.Fprint(f, clearLine) }
}

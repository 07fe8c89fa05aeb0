package main

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"stillbench/session/desk"
)

// showProgress draws a bar on standard error while a folder is read in, when that is a
// terminal; the function it gives back takes the bar away again.
func showProgress(e env, d *desk.Desk) (stop func()) {
	f, ok := e.stderr.(*os.File)
	if !ok {
		return func() {}
	}
	if st, err := f.Stat(); err != nil || st.Mode()&os.ModeCharDevice == 0 {
		return func() {}
	}
	done := make(chan struct{})
	var wg sync.WaitGroup
	wg.Go(func() {
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-done:
				fmt.Fprint(f, "\r\x1b[K")
				return
			case <-tick.C:
				s := d.Snapshot()
				n := 0
				if s.Found > 0 {
					n = 30 * s.Read / s.Found
				}
				fmt.Fprintf(f, "\r%s%s %d of %d read", strings.Repeat("#", n), strings.Repeat(".", 30-n), s.Read, s.Found)
			}
		}
	})
	return func() { close(done); wg.Wait() }
}

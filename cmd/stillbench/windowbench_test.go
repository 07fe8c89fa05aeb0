package main

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// windowFigures are what BenchmarkWindow has measured, however often it is asked.
var windowFigures map[string]float64

// BenchmarkWindow leaves the real window open on a session of 1008 frames, the demo's 14 times over,
// until all is read in and judged, and starts it again: how long it takes until the first picture
// stands there, what memory it takes, and how busy it is when nothing comes. Before that it measures
// how long the event loop stalls while 500 frames come in. The frames are
// small; a frame of 45 megapixels is judged and shown at a size as small as these are.
func BenchmarkWindow(b *testing.B) {
	if os.Getenv("STILLBENCH_SMOKE") == "" {
		b.Skip("needs a screen of its own: make bench")
	}
	if windowFigures == nil {
		windowFigures = measureWindow(b)
	}
	report(b, windowFigures)
}

func measureWindow(b *testing.B) map[string]float64 {
	const days = 14
	dir, log := b.TempDir(), filepath.Join(b.TempDir(), "log.db")
	bin, names := program(b), demoDays(b, dir, days)
	found := measureStalls(b, names[:1000])
	s := startOn(b, bin, "--log", log, dir)
	time.Sleep(5 * time.Second) // it has begun
	atEase(b, s.cmd.Process.Pid, 30*time.Minute)
	found["MB-after-reading-in"] = float64(holds(b, s.cmd.Process.Pid).residentKB) / 1000
	s.signal(syscall.SIGTERM)
	s.ends("SIGTERM")

	begun := time.Now()
	s = startOn(b, bin, "--log", log, dir)
	s.until("the first picture again", picture.showsFrame)
	found["s-to-first-picture"] = time.Since(begun).Seconds()
	atEase(b, s.cmd.Process.Pid, 5*time.Minute)
	const rested, watched = 15 * time.Second, 10 * time.Second // the loop begins to wait after ten
	time.Sleep(rested)
	before := ticks(b, s.cmd.Process.Pid)
	time.Sleep(watched)
	found["%-of-a-core-idle"] = float64(ticks(b, s.cmd.Process.Pid)-before) / watched.Seconds()
	found["MB"] = float64(holds(b, s.cmd.Process.Pid).residentKB) / 1000
	s.signal(syscall.SIGTERM)
	s.ends("SIGTERM")
	return found
}

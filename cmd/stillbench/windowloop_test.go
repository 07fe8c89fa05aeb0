package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"fyne.io/fyne/v2"
)

// beatEvery is how often the window's event loop is asked to answer.
const beatEvery = 5 * time.Millisecond

// windowWithPulse is the program with a goroutine beside it that has the window's event loop run
// nothing at all, over and over, as fyne.Do runs things for everybody. How long that waits is
// what a key waits before the window does anything, drawing included. It begins with the first
// line on standard input; for every line the longest wait since the line before goes out, in
// microseconds.
func windowWithPulse() {
	var mu sync.Mutex
	var longest time.Duration
	beat := func() {
		for ; ; time.Sleep(beatEvery) {
			asked := time.Now()
			fyne.DoAndWait(func() {})
			waited := time.Since(asked)
			mu.Lock()
			longest = max(longest, waited)
			mu.Unlock()
		}
	}
	go func() {
		in := bufio.NewScanner(os.Stdin)
		for begin := sync.OnceFunc(func() { go beat() }); in.Scan(); begin() {
			mu.Lock()
			fmt.Println(longest.Microseconds())
			longest = 0
			mu.Unlock()
		}
	}()
	main()
}

// pulse asks a program that runs windowWithPulse.
type pulse struct {
	t   testing.TB
	in  io.Writer
	out *bufio.Scanner
}

// startWithPulse starts the window so that its event loop can be asked how long it stalled.
func startWithPulse(t testing.TB, args ...string) (*smoke, pulse) {
	t.Helper()
	cmd := exec.Command("stillbench-with-pulse", args...)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	return start(t, cmd), pulse{t, in, bufio.NewScanner(out)}
}

// longest gives the event loop's longest stall in milliseconds since it was asked before.
func (p pulse) longest() float64 {
	p.t.Helper()
	us := 0.0
	if _, err := fmt.Fprintln(p.in); err != nil || !p.out.Scan() {
		p.t.Fatalf("the window does not tell how its loop does: %v", err)
	}
	if _, err := fmt.Sscan(p.out.Text(), &us); err != nil {
		p.t.Fatal(err)
	}
	return us / 1000
}

// measureStalls has frames come into the open window, in two lots of frames: the first at once,
// the second one by one while somebody goes through the places. The window's event loop is asked
// how long it stalled; and before that while nothing comes but the keys, so that what drawing the
// window takes on this machine is known.
func measureStalls(b *testing.B, frames []string) map[string]float64 {
	found := map[string]float64{}
	dir := b.TempDir()
	s, loop := startWithPulse(b, "--log", filepath.Join(b.TempDir(), "log.db"), dir)
	pid := s.cmd.Process.Pid
	time.Sleep(5 * time.Second) // it has begun
	atEase(b, pid, time.Minute)
	loop.longest()
	for i := range 20 {
		s.keys(fmt.Sprint(1 + i%4))
		time.Sleep(500 * time.Millisecond)
	}
	s.keys("1")
	found["ms-longest-stall-when-quiet"] = loop.longest()

	half := len(frames) / 2
	args := append([]string{"-t", dir}, frames[:half]...)
	if out, err := exec.Command("cp", args...).CombinedOutput(); err != nil {
		b.Fatalf("cp: %v %s", err, out)
	}
	time.Sleep(5 * time.Second)
	atEase(b, pid, 30*time.Minute)
	found["ms-longest-stall-all-at-once"] = loop.longest()

	const every = 200 * time.Millisecond
	for i, name := range frames[half:] {
		begun := time.Now()
		if out, err := exec.Command("cp", "-t", dir, name).CombinedOutput(); err != nil {
			b.Fatalf("cp: %v %s", err, out)
		}
		if i%25 == 24 {
			s.keys(fmt.Sprint(1 + i/25%4))
		}
		time.Sleep(every - time.Since(begun))
	}
	s.keys("1")
	atEase(b, pid, 30*time.Minute)
	found["ms-longest-stall-one-by-one"] = loop.longest()
	s.keys("ctrl+q")
	s.ends("Ctrl Q")
	return found
}

package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stillbench/assets/demo"
)

var soak = flag.Bool("soak", false, "leave the window open over two hours of shooting, compressed in time (make soak)")

// TestSoak leaves the window open while 1224 frames arrive: the demo's session 17 times over,
// a day later each time, which is a frame every 6 seconds for two hours. Meanwhile somebody
// goes through the places. What the process holds is counted whenever it has come to rest: file
// handles stay as they were, those on the log within what its connections may take, and memory
// grows by no more than what is known of a frame.
func TestSoak(t *testing.T) {
	if !*soak {
		t.Skip("takes minutes, and a screen of its own: make soak")
	}
	const days = 17
	dir := t.TempDir()
	s := startOn(t, program(t), "--log", filepath.Join(t.TempDir(), "log.db"), dir)
	pid := s.cmd.Process.Pid
	var held []holding
	for day := range days {
		for i, name := range demo.Names() {
			data, err := demo.Frame(name)
			if err != nil {
				t.Fatal(err)
			}
			was := []byte("2026:05:16 ")
			now := []byte(fmt.Sprintf("2026:06:%02d ", day+1))
			data = bytes.ReplaceAll(data, was, now)
			to := filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", 1000+len(demo.Names())*day+i))
			if err := os.WriteFile(to, data, 0o666); err != nil {
				t.Fatal(err)
			}
			if i%6 == 5 {
				s.keys(fmt.Sprint(1 + i/6%4))
				time.Sleep(300 * time.Millisecond)
			}
		}
		s.keys("1")
		atEase(t, pid, 5*time.Minute)
		h := holds(t, pid)
		held = append(held, h)
		t.Logf("%4d frames: %3d MB, %d handles, %d on the log, %d threads", len(demo.Names())*(day+1), h.residentKB/1024, h.handles, h.onLog, h.threads)
	}
	s.look()
	s.keep("after the long run")
	s.keys("ctrl+q")
	s.ends("Ctrl Q")
	// Level: from the fifth day on caches are full.
	const settled, frameKB = 4, 20
	from, to := held[settled], held[days-1]
	allowed := from.residentKB + from.residentKB/10 + frameKB*len(demo.Names())*(days-1-settled)
	if to.residentKB > allowed {
		t.Errorf("memory grew from %d to %d MB", from.residentKB/1024, to.residentKB/1024)
	}
	if to.handles > from.handles+2 {
		t.Errorf("file handles grew from %d to %d", from.handles, to.handles)
	}
	// Of each of the log's two databases: the file and its journal once for the writer and once for
	// either reader, the index of the journal, and one that SQLite keeps until the others let go of
	// their locks (sqlite.org, "How To Corrupt An SQLite Database File", 2.2).
	const connections = 2 * (3*2 + 2)
	if to.onLog > connections {
		t.Errorf("%d handles on the log, more than its connections take", to.onLog)
	}
}

// holding is what a process holds: file handles on the log, which come and go with its
// connections, are counted apart from the others.
type holding struct{ residentKB, handles, onLog, threads int }

// holds reads proc(5).
func holds(t testing.TB, pid int) (h holding) {
	t.Helper()
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(status), "\n") {
		fmt.Sscanf(line, "VmRSS: %d kB", &h.residentKB)
		fmt.Sscanf(line, "Threads: %d", &h.threads)
	}
	handles, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", pid))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range handles {
		if to, _ := os.Readlink(fmt.Sprintf("/proc/%d/fd/%s", pid, e.Name())); strings.Contains(filepath.Base(to), ".db") {
			h.onLog++
		} else {
			h.handles++
		}
	}
	return h
}

// ticks is the processor time that a process has used, in hundredths of a second (proc(5)).
func ticks(t testing.TB, pid int) (n int) {
	t.Helper()
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(stat), ") ") // the name may hold anything
	field := strings.Fields(rest)
	for _, f := range field[11:13] {
		var v int
		fmt.Sscan(f, &v)
		n += v
	}
	return n
}

// atEase waits until a process does next to nothing for two seconds.
func atEase(t testing.TB, pid int, patience time.Duration) {
	t.Helper()
	for end := time.Now().Add(patience); time.Now().Before(end); {
		before := ticks(t, pid)
		time.Sleep(2 * time.Second)
		if ticks(t, pid)-before < 10 {
			return
		}
	}
	t.Error("the window never comes to rest")
}

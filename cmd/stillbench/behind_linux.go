package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"golang.org/x/sys/unix"
)

// behindBy is how much less of a processor the reckoning asks for than the window: by four steps of
// nice(2) it takes three tenths of it while the window wants it too (sched(7)), and all of it else. By
// more, it would wait long for other programs as well, and the window for it wherever the runtime stops
// all threads at once.
const behindBy = 4

// behindEvery is how often threads are looked for that stand in line again. There are hardly any: a new
// thread is as far behind as the one that started it, and the window's starts none itself.
const behindEvery = 10 * time.Second

// stayBehind has all threads of Go but the window's run behind it, until the context ends. Where no
// graphics card draws, the window is drawn by the processor, in threads of the GL library's own that
// stand in line with those that judge frames; a frame that came in held up a key for as long as its
// reckoning took.
func stayBehind(ctx context.Context) {
	t := time.NewTicker(behindEvery)
	defer t.Stop()
	for {
		for _, tid := range ownThreads() {
			// One that has ended meanwhile needs nothing.
			_ = unix.Setpriority(unix.PRIO_PROCESS, tid, behindBy)
		}
		select {
		case <-t.C:
		case <-ctx.Done():
			return
		}
	}
}

// ownThreads gives the threads of Go but the first, which is the window's. Those of a library carry
// a name that it gave them.
func ownThreads() []int {
	own, err := os.ReadFile("/proc/self/comm")
	if err != nil {
		return nil
	}
	tasks, _ := filepath.Glob("/proc/self/task/*/comm") // the pattern is sound
	var out []int
	for _, path := range tasks {
		tid, err := strconv.Atoi(filepath.Base(filepath.Dir(path)))
		if err != nil || tid == os.Getpid() {
			continue
		}
		if name, err := os.ReadFile(path); err == nil && bytes.Equal(name, own) {
			out = append(out, tid)
		}
	}
	return out
}

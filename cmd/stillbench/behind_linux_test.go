package main

import (
	"context"
	"os"
	"os/exec"
	"slices"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// All threads of Go stand behind the first, which keeps what it was started with. In a process of its
// own, since a thread that has stepped back may not step forward again.
func TestStayBehind(t *testing.T) {
	if os.Getenv("STILLBENCH_TEST_BEHIND") == "" {
		cmd := exec.Command(os.Args[0], "-test.run=^TestStayBehind$")
		cmd.Env = append(os.Environ(), "STILLBENCH_TEST_BEHIND=1")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Errorf("%v\n%s", err, out)
		}
		return
	}
	nice := func(tid int) int {
		// The system call gives 20 less nice.
		v, err := unix.Getpriority(unix.PRIO_PROCESS, tid)
		if err != nil {
			t.Fatal(err)
		}
		return 20 - v
	}
	first := nice(os.Getpid())
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan struct{})
	go func() { stayBehind(ctx); close(ended) }()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		tids := ownThreads()
		if len(tids) > 0 && !slices.ContainsFunc(tids, func(tid int) bool { return nice(tid) < behindBy }) {
			break
		}
		if time.Now().After(end) {
			t.Fatal("threads never step back")
		}
	}
	stop()
	<-ended
	if slices.Contains(ownThreads(), os.Getpid()) || nice(os.Getpid()) != first {
		t.Error("the window's thread stands behind as well")
	}
}

package main

import (
	"time"

	"github.com/go-gl/glfw/v3.3/glfw"
)

// screenRoom is how much of the primary screen windows may take, in pixels, bars of the desktop
// left out; 0, 0 where the system does not tell. Fyne, which has no question for it, draws by
// GLFW. It belongs to the UI goroutine of a window that is shown.
func screenRoom() (w, h int) {
	m := glfw.GetPrimaryMonitor()
	if m == nil {
		return 0, 0
	}
	_, _, w, h = m.GetWorkarea()
	return w, h
}

// waitForEvents waits for what happens to the window, for d at the longest, and deals with it. It belongs to
// the UI goroutine; wakeWindow ends it from any other.
func waitForEvents(d time.Duration) { glfw.WaitEventsTimeout(d.Seconds()) }

func wakeWindow() { glfw.PostEmptyEvent() }

package main

import (
	"runtime"
	"testing"
)

// Memory that work took goes back to the system at the second look after it: the first sees that it
// worked, the second that it has ended.
func TestMemoryGoesBack(t *testing.T) {
	held := func() uint64 {
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return (m.HeapSys - m.HeapReleased) >> 20
	}
	var r rest
	r.look()
	r.look()
	before := held()
	work := make([][]byte, 8)
	for i := range work {
		work[i] = make([]byte, 32<<20)
		for j := 0; j < len(work[i]); j += 4096 {
			work[i][j] = 1 // as the system counts it
		}
	}
	if held() < before+200 {
		t.Fatalf("%d MB are held, %d before: the test works nothing", held(), before)
	}
	runtime.KeepAlive(work)
	r.look()
	r.look()
	if after := held(); after > before+32 {
		t.Errorf("%d MB are held after the work, %d before", after, before)
	}
}

package main

import (
	"context"
	"runtime/debug"
	"runtime/metrics"
	"time"
)

const (
	// lookEvery is how often it is seen whether the program has come to rest.
	lookEvery = time.Second
	// muchBytes is what a look apart has allocated at least while pictures come and go.
	muchBytes = 32 << 20
)

// rest gives memory back to the system when work that took much of it has ended: left to itself
// the runtime does so only after minutes.
type rest struct {
	allocated uint64 // bytes since the start, at the last look
	worked    bool
}

// run looks until the context ends.
func (r *rest) run(ctx context.Context) {
	t := time.NewTicker(lookEvery)
	defer t.Stop()
	for {
		select {
		case <-t.C:
			r.look()
		case <-ctx.Done():
			return
		}
	}
}

func (r *rest) look() {
	sample := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(sample)
	now := sample[0].Value.Uint64()
	works := now-r.allocated >= muchBytes
	if r.worked && !works {
		debug.FreeOSMemory()
	}
	r.allocated, r.worked = now, works
}

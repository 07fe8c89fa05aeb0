package watch

import (
	"sync"

	"github.com/fsnotify/fsnotify"
)

// maxHints bounds the paths kept between two looks; with more, everything is scanned.
const maxHints = 4096

// hints gathers the paths that the system's file events name. Its goroutine does
// nothing else, so that the system's own queue is emptied as fast as it fills. A nil
// *hints is a system without file events.
type hints struct {
	listen func(dir string) error
	ignore func(dir string) error
	end    func() error
	poke   chan struct{}
	wg     sync.WaitGroup

	mu     sync.Mutex
	paths  map[string]struct{} // absolute
	lost   bool                // some events are lost: scan everything
	failed bool                // no more events will come
}

func openHints() (*hints, error) {
	fw, err := fsnotify.NewWatcher()
	if err != nil {
		return nil, err
	}
	h := &hints{listen: fw.Add, ignore: fw.Remove, end: fw.Close, poke: make(chan struct{}, 1), paths: map[string]struct{}{}}
	h.wg.Go(func() { h.gather(fw) })
	return h, nil
}

func (h *hints) gather(fw *fsnotify.Watcher) {
	for {
		select {
		case ev, ok := <-fw.Events:
			h.mu.Lock()
			if !ok {
				h.failed = true
			} else if len(h.paths) < maxHints {
				h.paths[ev.Name] = struct{}{}
			} else {
				h.lost = true
			}
			h.mu.Unlock()
			if !ok {
				return
			}
		case _, ok := <-fw.Errors: // the queue overflowed, or worse
			h.mu.Lock()
			h.lost, h.failed = true, h.failed || !ok
			h.mu.Unlock()
			if !ok {
				return
			}
		}
		select {
		case h.poke <- struct{}{}:
		default:
		}
	}
}

// add asks for the events of one folder; false when there will be none.
func (h *hints) add(dir string) bool {
	return h != nil && h.listen(dir) == nil
}

// remove ends the events of one folder that is no more where it was.
func (h *hints) remove(dir string) {
	if h != nil {
		h.ignore(dir) // its only error is that there was nothing to end
	}
}

// take gives the paths named since the last call, and whether events were lost.
func (h *hints) take() (paths map[string]struct{}, lost, failed bool) {
	if h == nil {
		return nil, false, true
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	paths, lost = h.paths, h.lost
	h.paths, h.lost = map[string]struct{}{}, false
	return paths, lost, h.failed
}

// poked delivers a value when there is something to take.
func (h *hints) poked() <-chan struct{} {
	if h == nil {
		return nil
	}
	return h.poke
}

func (h *hints) close() {
	if h != nil {
		h.end()
		h.wg.Wait()
	}
}

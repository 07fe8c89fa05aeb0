// Package watch turns a folder on disk into a stream of files that are whole. It
// knows paths, sizes and times, and nothing of what the files hold: which endings
// count and whether a file ends as it should is told by its caller. It opens files
// for reading at most, and never writes into the folder.
//
// File events of the system serve as hints only. What is true is found by looking:
// a rescan runs slowly behind the events, and fast where no events can be trusted
// (network and FUSE mounts, an event queue that failed, events that never came).
package watch

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Options say what to watch.
type Options struct {
	// Dir is the folder to follow, its subfolders included. Files and folders whose
	// name begins with a dot are left alone; symbolic links are never followed.
	Dir string
	// Leave names a file: a folder below Dir that holds it is left alone, with all below it.
	// "" means none is.
	Leave string
	// Extensions are the endings of the files that count, with the dot, in any case.
	Extensions []string
	// Whole says whether the file ends as it should; missing completes the sentence
	// "the file is not whole: ...". An error means that it could not be read. Nil takes
	// every file for whole once it has come to rest. It is called in Run's goroutine.
	Whole func(path string) (ok bool, missing Why, err error)
	// Settle is how long size and time must stay the same before a file is looked
	// into, and how long a file must be missing before it is Gone. 0 means 500 ms.
	Settle time.Duration
	// Rescan is the pace of looking where events cannot be trusted. 0 means 1 s. A
	// scan never takes more than a tenth of the time, however slow the folder.
	Rescan time.Duration
	// SlowRescan is the pace of looking behind events that work. 0 means 15 s.
	SlowRescan time.Duration
	// Once ends Run when every file found at the start is Ready or Unreadable. A file
	// that still grows is waited for.
	Once bool
}

const (
	// patience, in units of Settle, is how long a file may rest unfinished before it is
	// called Unreadable; it is still taken in when the rest arrives.
	patience = 20
	// quickAge is the age (by the wall clock) from which a file found at the start is
	// taken to have come to rest.
	quickAge = 10 * time.Second
	// scanShare bounds the share of time spent scanning: one part in scanShare.
	scanShare = 10
)

// EventKind says what happened.
type EventKind int

// The kinds of event.
const (
	// Ready: the file is whole, or whole again after it was replaced.
	Ready EventKind = iota + 1
	// Gone: what was told of Path is there no more: a file has vanished, or a folder
	// that was Unreadable is not.
	Gone
	// Moved: the file From, told as Ready, is now at Path, with the same bytes.
	Moved
	// Unreadable: the file or folder cannot be read, or rests without being whole.
	Unreadable
	// FolderAway: the watched folder cannot be seen. Its files are not Gone.
	FolderAway
	// FolderBack: the watched folder can be seen again.
	FolderBack
	// Scanned: all that was there at the start has been told, except for files that
	// are still growing. Sent once.
	Scanned
)

// String names the kind.
func (k EventKind) String() string {
	if names := [...]string{"", "ready", "gone", "moved", "unreadable", "folder-away", "folder-back", "scanned"}; k > 0 && int(k) < len(names) {
		return names[k]
	}
	return fmt.Sprintf("kind %d", int(k))
}

// Problem is a sentence in English. What goes into it is kept apart, so that it can be said in
// another language.
type Problem struct {
	// Form is a format for fmt.Sprintf; "" says nothing.
	Form string
	// Name is the file or folder that it is about.
	Name string
	// Why is the reason, where Form has a second %s.
	Why Why
}

// Why is a reason within a sentence: a format for fmt.Sprintf, whole where there are no Args, and
// what goes into it.
type Why struct {
	Form string
	Args []any
}

// String is the reason.
func (w Why) String() string {
	if len(w.Args) == 0 {
		return w.Form
	}
	return fmt.Sprintf(w.Form, w.Args...)
}

// is tells whether both say the same.
func (p Problem) is(q Problem) bool { return p.String() == q.String() }

// String is the sentence.
func (p Problem) String() string {
	switch strings.Count(p.Form, "%s") {
	case 0:
		return p.Form
	case 1:
		return fmt.Sprintf(p.Form, p.Name)
	}
	return fmt.Sprintf(p.Form, p.Name, p.Why)
}

// Event is one thing that happened in the folder.
type Event struct {
	Kind EventKind
	// Path is relative to the folder, with "/".
	Path string
	// From is where a Moved file was before.
	From string
	// Size in bytes and Modified are the file's, for Ready and Moved.
	Size     int64
	Modified time.Time
	// Problem is what is wrong, for Unreadable and FolderAway.
	Problem Problem
	// Count is the number of files found, for Scanned.
	Count int
}

// Watcher follows one folder. Make one with Open.
type Watcher struct {
	o      Options
	exts   map[string]bool
	events chan Event
	ctx    context.Context // ended by Close
	cancel context.CancelFunc
	ran    chan struct{} // holds the one right to run
	done   chan struct{} // closed when Run has ended

	// For tests: a system without file events, a folder that cannot be listed.
	openHints func() (*hints, error)
	readDir   func(string) ([]fs.DirEntry, error)

	tree
}

// Open prepares to watch a folder; Run does the work. The error says when the folder
// is not there or is no folder.
func Open(o Options) (*Watcher, error) {
	dir, err := filepath.Abs(o.Dir)
	if err != nil {
		return nil, fmt.Errorf("watch %s: %w", o.Dir, err)
	}
	o.Dir = dir
	st, err := os.Stat(o.Dir)
	if err == nil && !st.IsDir() {
		err = errors.New("it is not a folder")
	}
	if err != nil {
		return nil, fmt.Errorf("watch %s: %w", o.Dir, plain(err))
	}
	if o.Settle <= 0 {
		o.Settle = 500 * time.Millisecond
	}
	if o.Rescan <= 0 {
		o.Rescan = time.Second
	}
	if o.SlowRescan <= 0 {
		o.SlowRescan = 15 * time.Second
	}
	if o.Whole == nil {
		o.Whole = func(string) (bool, Why, error) { return true, Why{}, nil }
	}
	w := &Watcher{
		o: o, exts: map[string]bool{}, events: make(chan Event, 64),
		ran: make(chan struct{}, 1), done: make(chan struct{}),
		openHints: openHints, readDir: os.ReadDir, tree: newTree(),
	}
	for _, e := range o.Extensions {
		w.exts[strings.ToLower(e)] = true
	}
	w.ctx, w.cancel = context.WithCancel(context.Background())
	return w, nil
}

// Events delivers what happens; it is closed when Run ends. A slow reader loses
// nothing: the watcher waits for it, and looks again afterwards.
func (w *Watcher) Events() <-chan Event { return w.events }

// Run watches until the context ends, Close is called, or (with Once) everything has
// been told. It may be called once; nothing of it is left when it returns.
func (w *Watcher) Run(ctx context.Context) {
	select {
	case w.ran <- struct{}{}:
	default:
		panic("watch: Run called twice")
	}
	defer close(w.done)
	defer close(w.events)
	stop := context.AfterFunc(ctx, w.cancel)
	defer stop()
	defer func() { w.hints.close() }()
	w.rootID = idOf(w.o.Dir)
	w.hint()
	w.scan(scanFirst)
	first := time.Now()
	scanned := false
	for w.ctx.Err() == nil {
		now := time.Now()
		w.lookAtDue(now)
		if !scanned && (len(w.due) == 0 || w.away || !w.o.Once && now.Sub(first) >= w.o.Settle) {
			scanned = true
			w.send(Event{Kind: Scanned, Count: w.count()})
		}
		if scanned && w.o.Once {
			return
		}
		if !w.wait() {
			return
		}
		w.takeHints()
		if w.again {
			w.again = false
			w.scan(scanLost)
		}
		if !time.Now().Before(w.nextScan) {
			w.scan(scanAgain)
		}
	}
}

// Close ends Run and waits for it. A mount that hangs in the middle of a look holds it
// up until the system gives the look up.
func (w *Watcher) Close() error {
	w.cancel()
	select {
	case w.ran <- struct{}{}: // Run was never called, and cannot be any more
	default:
		<-w.done
	}
	return nil
}

// wait sleeps until there is something to do; false when the watcher is closed.
func (w *Watcher) wait() bool {
	next := w.nextScan
	if w.again {
		next = time.Now()
	}
	if !w.away {
		for e := range w.due {
			if e.look.Before(next) {
				next = e.look
			}
		}
	}
	t := time.NewTimer(time.Until(next))
	defer t.Stop()
	select {
	case <-w.ctx.Done():
		return false
	case <-t.C:
		return true
	case <-w.hints.poked():
	}
	// Events come in showers: let the shower pass before looking.
	t.Reset(w.o.Settle / 10)
	select {
	case <-w.ctx.Done():
		return false
	case <-t.C:
		return true
	}
}

// send hands an event out, unless the watcher is closed first.
func (w *Watcher) send(e Event) {
	select {
	case w.events <- e:
	case <-w.ctx.Done():
	}
}

// abs is where a relative path lies on the disk.
func (w *Watcher) abs(rel string) string {
	return filepath.Join(w.o.Dir, filepath.FromSlash(rel))
}

// whyOf is an error as the reason of a problem.
func whyOf(err error) Why { return Why{Form: plain(err).Error()} }

// plain takes the operation and the path off an error: the sentence around it names
// the file already.
func plain(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

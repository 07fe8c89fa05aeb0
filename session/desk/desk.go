// Package desk is the live session: one goroutine owns its state, takes in what the
// watcher and the readers bring, groups it, writes it to the log and hands out
// immutable snapshots. What the photographer does comes in as an edit; it is in the
// log before the snapshot that shows it goes out.
package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"stillbench/session"
	"stillbench/session/grouping"
	"stillbench/session/handoff"
	"stillbench/session/watch"
)

// publishEvery bounds how often the session is grouped, logged and shown while files
// pour in.
const publishEvery = 150 * time.Millisecond

// publishShare bounds the time that this takes while files pour in: one part in so many, since a large
// session is long in being grouped and reading waits meanwhile.
const publishShare = 5

// ErrClosed is given by calls that come after Close.
var ErrClosed = errors.New("the session is closed")

// Options say how to open a desk.
type Options struct {
	// Dir is the folder to follow.
	Dir string
	// Log keeps everything; it is not closed by the desk.
	Log Log
	// Notices are problems known before the start (the log could not be opened, ...).
	Notices []session.Problem
	// Once reads what is in Dir now and then stops looking (no file events).
	Once bool
	// Check has every stack judged (Snapshot.Checks).
	Check bool
	// Proof has a proof made of every stack (Snapshot.Proofs).
	Proof bool
	// Previews keeps frames that are judged at hand for Picture.
	Previews bool
	// Workers reads so many files at a time; 0 means one less than the cores, at least 1.
	Workers int
	// Now is the clock; nil means time.Now.
	Now func() time.Time
}

// Desk is one live session. Its methods may be called from any goroutine.
type Desk struct {
	o       Options
	log     Log
	snap    atomic.Pointer[Snapshot]
	changed chan struct{}
	calls   chan func()
	cancel  context.CancelFunc
	done    chan struct{}
	wg      sync.WaitGroup

	// All below belongs to the goroutine that runs loop.
	session session.Session
	grouper *grouping.Grouper
	remembered
	files    map[string]*file // by path
	waiting  []*file          // to be read
	reading  int              // being read
	arrivals uint64
	newest   newest
	arrived  time.Time
	scanned  bool
	away     session.Text // why the folder cannot be seen, "" when it can
	logFault error        // why the last write to the log failed, nil when it did not
	stale    bool         // something changed since the last snapshot
	adrift   bool         // the log was restored, and could not be read since (see reopen)
	shown    exposures
	groups   []session.Group
	inLog    []session.Group       // the groups as the log holds them
	kept     kept                  // how the session was grouped when it was left
	found    []session.Group       // what grouping found last, nil while kept holds
	standing []session.Edit        // the edits that hold
	warm     chan struct{}         // closed when the grouper is no longer at work (see warmUp)
	cool     context.CancelFunc    // ends that; nil when it was not begun, or is over
	saved    map[string]savedFrame // what the log holds of each frame, by fingerprint
	checks   *checker              // nil when stacks are not to be judged
	proofs   *proofer              // nil when no proofs are to be made
	previews previews
	rested   bool                 // everything found at the start has been read
	areas    map[int64]wantedArea // by Group.ID
	touches  map[int64][]session.Touch
	settled  []chan struct{}
	version  uint64
}

// remembered is what the log knew at the start, and the edits and setups since.
type remembered struct {
	known  map[string]session.Frame // by name: files that need not be read again
	edits  []session.Edit
	setups []session.Setup
	gear   session.Gear
}

// newest is the live file that was announced last: with several readers at work it need
// not be the one read last.
type newest struct {
	path  string
	order uint64
}

// savedFrame is enough of a frame to see whether the log is up to date.
type savedFrame struct {
	name     string
	pairs    string
	aside    bool
	gone     bool
	figures  bool
	modified time.Time
}

// Open starts a live session: it opens the session in the log and begins to read in
// the folder. The desk runs until Close.
func Open(ctx context.Context, o Options) (*Desk, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Workers <= 0 {
		o.Workers = max(1, runtime.NumCPU()-1)
	}
	dir, err := filepath.Abs(o.Dir)
	if err != nil {
		return nil, session.Fail("open %s: %s", o.Dir, err)
	}
	o.Dir = dir
	d := &Desk{
		o: o, log: o.Log, changed: make(chan struct{}, 1), calls: make(chan func()), done: make(chan struct{}),
		grouper: grouping.New(), files: map[string]*file{}, saved: map[string]savedFrame{},
	}
	if d.session, err = d.log.OpenSession(ctx, dir); err != nil {
		return nil, err
	}
	if err := d.remember(ctx); err != nil {
		return nil, err
	}
	w, err := watch.Open(watch.Options{Dir: dir, Leave: handoff.ManifestName, Extensions: Extensions, Whole: whole, Once: o.Once})
	if err != nil {
		return nil, err
	}
	run, cancel := context.WithCancel(context.Background())
	d.cancel = cancel
	jobs, results := make(chan *file), make(chan *file)
	d.recall()
	if o.Check {
		d.checks = newChecker(o.Dir, o.Log)
		if o.Previews {
			d.checks.previews = &d.previews
		}
	}
	if o.Proof {
		d.proofs = newProofer(o.Dir, o.Log)
	}
	d.publish(run)
	for range o.Workers {
		d.wg.Go(func() { d.work(run, jobs, results) })
	}
	d.wg.Go(func() { w.Run(run) })
	if d.checks != nil {
		d.wg.Go(func() { d.checks.run(run) })
	}
	if d.proofs != nil {
		d.wg.Go(func() { d.proofs.run(run) })
	}
	go d.loop(run, w, jobs, results)
	return d, nil
}

// remember loads what the log knows of this session.
func (d *Desk) remember(ctx context.Context) error {
	frames, err := d.log.Frames(ctx, d.session.ID)
	if err != nil {
		return err
	}
	d.known = make(map[string]session.Frame, len(frames))
	for _, f := range frames {
		d.known[f.Name] = f
		d.saved[f.Fingerprint] = savedAs(f)
	}
	if d.edits, err = d.log.Edits(ctx, d.session.ID); err != nil {
		return err
	}
	if d.setups, err = d.log.Setups(ctx, d.session.ID); err != nil {
		return err
	}
	if d.groups, err = d.log.Groups(ctx, d.session.ID); err != nil {
		return err
	}
	if d.gear, err = d.log.Gear(ctx); err != nil {
		return err
	}
	d.inLog = slices.Clone(d.groups)
	d.found = nil
	d.kept.key, d.kept.groups, err = d.log.Grouping(ctx, d.session.ID)
	return err
}

// recall takes the frames that the log knows for files that are there, until the folder has been
// looked at: so a session that is opened again is shown at once.
func (d *Desk) recall() {
	for name, k := range d.known {
		if !k.Gone && k.Figures != nil {
			d.files[name] = &file{path: name, size: k.Size, modified: k.Modified, fingerprint: k.Fingerprint, meta: k.Meta, figures: k.Figures, recalled: true}
		}
	}
}

// confirms tells whether the folder holds a file that was recalled as the log has it.
func (d *Desk) confirms(ev watch.Event) bool {
	f := d.files[ev.Path]
	if ev.Kind != watch.Ready || f == nil || !f.recalled || f.size != ev.Size || !f.modified.Equal(ev.Modified) {
		return false
	}
	d.arrivals++
	f.order, f.recalled = d.arrivals, false
	return true
}

// looked forgets what was recalled and is not in the folder.
func (d *Desk) looked() {
	d.scanned = true
	maps.DeleteFunc(d.files, func(_ string, f *file) bool { return f.recalled })
}

// Close stops the session and waits until all that was acknowledged is in the log.
func (d *Desk) Close() error {
	d.cancel()
	<-d.done
	return nil
}

// Snapshot gives the newest state; never nil.
func (d *Desk) Snapshot() *Snapshot { return d.snap.Load() }

// Changed delivers a value when there is a newer snapshot than the last one that was
// announced. It holds at most one value: a slow reader misses states, never the last.
func (d *Desk) Changed() <-chan struct{} { return d.changed }

// Settled waits until every file found so far has been read, grouped and checked.
func (d *Desk) Settled(ctx context.Context) error {
	ch := make(chan struct{})
	if err := d.call(ctx, func() { d.settled = append(d.settled, ch); d.stale = true }); err != nil {
		return err
	}
	select {
	case <-ch:
		return nil
	case <-d.done:
		return ErrClosed
	case <-ctx.Done():
		return ctx.Err()
	}
}

// call runs fn in the desk's goroutine and waits for it.
func (d *Desk) call(ctx context.Context, fn func()) error {
	ran := make(chan struct{})
	select {
	case d.calls <- func() { fn(); close(ran) }:
		<-ran // fn has been taken: it is short and will end
		return nil
	case <-d.done:
		return ErrClosed
	case <-ctx.Done():
		return ctx.Err()
	}
}

// work reads files until the context ends.
func (d *Desk) work(ctx context.Context, jobs <-chan *file, results chan<- *file) {
	known := func(fp string) (session.Meta, *session.Figures, bool) {
		m, f, ok, err := d.log.Known(ctx, fp)
		return m, f, ok && err == nil
	}
	for {
		select {
		case f := <-jobs:
			readFenced(d.o.Dir, f, known)
			select {
			case results <- f:
			case <-ctx.Done():
				return
			}
		case <-ctx.Done():
			return
		}
	}
}

// readFenced keeps a panic in a decoder from ending the session: the file is called
// unreadable instead.
func readFenced(dir string, f *file, known func(string) (session.Meta, *session.Figures, bool)) {
	defer func() {
		if r := recover(); r != nil {
			f.problem = session.Say("%s broke the reader (%s). It is left out; please report it.", f.path, fmt.Sprint(r))
		}
	}()
	read(dir, f, known)
}

// loop owns the state.
func (d *Desk) loop(ctx context.Context, w *watch.Watcher, jobs chan<- *file, results <-chan *file) {
	defer close(d.done)
	defer d.wg.Wait()
	ticker := time.NewTicker(publishEvery)
	defer ticker.Stop()
	events := w.Events()
	var verdicts <-chan checked
	if d.checks != nil {
		verdicts = d.checks.out
	}
	var proofs <-chan madeProof
	if d.proofs != nil {
		proofs = d.proofs.out
	}
	var due time.Time // when the session is published next while files pour in
	for {
		var out chan<- *file
		var next *file
		if len(d.waiting) > 0 {
			out, next = jobs, d.waiting[0]
		}
		// A ticker that nobody listens to wakes nobody either.
		var tick <-chan time.Time
		if d.stale {
			tick = ticker.C
		}
		select {
		case <-ctx.Done():
			if d.stale {
				d.publish(context.WithoutCancel(ctx))
			}
			d.keep(context.WithoutCancel(ctx))
			if d.cool != nil {
				d.cool() // it may have been begun by this last snapshot
			}
			return
		case ev, ok := <-events:
			if !ok {
				events = nil
				d.looked()
				d.stale = true
				break
			}
			d.take(ev)
		case out <- next:
			d.waiting = d.waiting[1:]
			d.reading++
		case f := <-results:
			d.reading--
			d.accept(f)
		case fn := <-d.calls:
			fn()
		case v := <-verdicts:
			d.stale = d.checks.accept(v) || d.stale
		case m := <-proofs:
			d.stale = d.proofs.accept(m) || d.stale
		case <-tick:
		}
		d.stale = d.stale || d.works() == d.snap.Load().Settled
		// A frame that comes alone is shown at once; a flood is shown in steps.
		if begun := time.Now(); d.stale && (d.idle() || !begun.Before(due)) {
			d.publish(ctx)
			due = begun.Add(max(publishEvery, publishShare*time.Since(begun)))
		}
		d.release()
	}
}

// idle: nothing is waiting to be read or being read.
func (d *Desk) idle() bool { return d.scanned && len(d.waiting) == 0 && d.reading == 0 }

// works: files are still read, or stacks judged or blended.
func (d *Desk) works() bool {
	return !d.idle() || d.checks != nil && d.checks.busy() || d.proofs != nil && d.proofs.busy()
}

// release lets those go who wait for Settled.
func (d *Desk) release() {
	if d.stale || d.works() {
		return
	}
	for _, ch := range d.settled {
		close(ch)
	}
	d.settled = nil
}

// take takes in what the watcher saw.
func (d *Desk) take(ev watch.Event) {
	if d.confirms(ev) {
		return // it is shown already
	}
	d.stale = true
	switch ev.Kind {
	case watch.Ready:
		d.queue(ev)
	case watch.Gone:
		delete(d.files, ev.Path)
	case watch.Moved:
		f := d.files[ev.From]
		delete(d.files, ev.From)
		if f == nil || f.problem.Form != "" {
			d.queue(ev)
			return
		}
		moved := *f
		moved.path = ev.Path
		d.files[ev.Path] = &moved
	case watch.Unreadable:
		d.files[ev.Path] = &file{path: ev.Path, problem: problemOf(ev.Problem)}
	case watch.FolderAway:
		d.away = problemOf(ev.Problem)
	case watch.FolderBack:
		d.away = session.Text{}
	case watch.Scanned:
		d.looked()
	}
}

// queue sends a file to be read, or takes it from the log's memory when neither its
// size nor its time has changed.
func (d *Desk) queue(ev watch.Event) {
	d.arrivals++
	f := &file{path: ev.Path, size: ev.Size, modified: ev.Modified, order: d.arrivals, live: d.scanned}
	if k, ok := d.known[ev.Path]; ok && k.Size == ev.Size && k.Modified.Equal(ev.Modified) && k.Figures != nil {
		f.fingerprint, f.meta, f.figures = k.Fingerprint, k.Meta, k.Figures
		d.accept(f)
		return
	}
	// Latest wish first: a file replaced while it waits is read once.
	d.waiting = slices.DeleteFunc(d.waiting, func(w *file) bool { return w.path == f.path })
	d.waiting = append(d.waiting, f)
}

// accept takes in a file that has been read.
func (d *Desk) accept(f *file) {
	d.stale = true
	if f.problem.Form == "" {
		for _, g := range d.files {
			if g.fingerprint == f.fingerprint && g.path != f.path && g.problem.Form == "" && !g.recalled &&
				(g.size != f.size || !sameBytes(d.abs(g.path), d.abs(f.path))) {
				// Another picture behind the same head and tail: tell them apart.
				if h, err := wholeHash(d.abs(f.path)); err == nil {
					f.fingerprint = h
				}
				break
			}
		}
	}
	d.files[f.path] = f
	if f.problem.Form == "" && f.live && f.order > d.newest.order {
		d.newest, d.arrived = newest{f.path, f.order}, d.o.Now()
	}
}

func (d *Desk) abs(name string) string { return filepath.Join(d.o.Dir, filepath.FromSlash(name)) }

// publish groups what is there, writes what changed to the log and hands out a snapshot.
func (d *Desk) publish(ctx context.Context) {
	d.stale = false
	d.regroup()
	if err := d.afterRestore(ctx, d.save(ctx)); err != nil {
		d.logFault = err
	} else {
		d.logFault = nil
		d.slim()
	}
	d.version++
	s := &Snapshot{
		Version: d.version, Session: d.session,
		Frames: slices.Clone(d.shown.frames), Groups: slices.Clone(d.groups),
		Setups: slices.Clone(d.setups), Duplicates: d.shown.copies,
		Found: len(d.files) + len(d.waiting) + d.reading, Read: len(d.files),
		LastArrival: d.arrived, Touches: d.touches, Gear: d.gear,
	}
	// While a session is read in, its stacks grow; each is judged once it is whole.
	d.rested = d.rested || d.idle()
	if d.checks != nil {
		if d.rested {
			d.checks.want(d.shown.frames, d.groups, terms{d.areas, d.setups, d.gear})
		}
		s.Checks = d.checks.all()
	}
	s.Wanted = d.checks.onMiddle(d.areas, s.Frames)
	if d.proofs != nil {
		if d.rested {
			d.proofs.want(d.shown.frames, d.groups, d.touches, d.checks != nil && d.checks.busy())
		}
		s.Proofs = d.proofs.all()
	}
	s.Settled = !d.works()
	for _, f := range d.files {
		if f.problem.Form != "" {
			s.Unreadable = append(s.Unreadable, session.Problem{File: f.path, Sentence: f.problem})
		}
	}
	slices.SortFunc(s.Unreadable, func(a, b session.Problem) int { return watch.Compare(a.File, b.File) })
	s.Notices = slices.Clone(d.o.Notices)
	if d.away.Form != "" {
		s.Notices = append(s.Notices, session.Problem{Sentence: d.away})
	}
	if d.logFault != nil {
		s.Notices = append(s.Notices, session.Problem{Sentence: session.Say("The setup log cannot be written: %s. The session goes on; it is tried again.", session.TextOf(d.logFault))})
	}
	s.Newest = d.newestFrame()
	if e := d.lastStanding(); e != nil {
		s.Undo = d.told(*e)
	}
	if e := d.firstUndone(); e != nil {
		s.Redo = d.told(*e)
	}
	if d.kept.key != "" && d.rested && !d.o.Once && d.cool == nil {
		d.warmUp(ctx)
	}
	d.snap.Store(s)
	select {
	case d.changed <- struct{}{}:
	default:
	}
}

// newestFrame is the frame that arrived last; where none came since the folder was first
// looked at, or that one has gone again, the last one in time.
func (d *Desk) newestFrame() string {
	last := ""
	for _, f := range d.shown.frames {
		if f.Name == d.newest.path || slices.Contains(f.Pairs, d.newest.path) {
			return f.Fingerprint
		}
		last = f.Fingerprint
	}
	return last
}

// regroup makes frames of files and groups of frames.
func (d *Desk) regroup() {
	list := make([]*file, 0, len(d.files))
	for _, f := range d.files {
		list = append(list, f)
	}
	// Of two copies the one nearer to the folder's top names the frame.
	slices.SortFunc(list, func(a, b *file) int {
		return cmp.Or(strings.Count(a.path, "/")-strings.Count(b.path, "/"), watch.Compare(a.path, b.path))
	})
	d.shown = exposuresOf(list)
	// A RAW that comes after its JPEG takes over the frame, and with it what was done
	// by hand to the JPEG.
	alias := func(fp string) string {
		if to, ok := d.shown.alias[fp]; ok {
			return to
		}
		return fp
	}
	aside := map[string]bool{}
	var standing []session.Edit
	for _, e := range d.edits {
		if e.Undone {
			continue
		}
		e.Frame = alias(e.Frame)
		standing = append(standing, e)
		switch e.Kind {
		case session.EditSetAside:
			aside[e.Frame] = true
		case session.EditPutBack:
			delete(aside, e.Frame)
		}
	}
	for i := range d.shown.frames {
		d.shown.frames[i].SetAside = aside[d.shown.frames[i].Fingerprint]
	}
	for i := range d.groups {
		for j, fp := range d.groups[i].Frames {
			if to := alias(fp); to != fp {
				d.groups[i].Frames = slices.Clone(d.groups[i].Frames)
				d.groups[i].Frames[j] = to
			}
		}
	}
	d.shown.frames = grouping.Order(d.shown.frames)
	d.standing = standing
	d.groups = d.group(standing)
	assignSetups(d.shown.frames, d.groups, d.setups, alias)
	d.areas = wantedAreas(d.groups, standing)
	d.touches = touchesOf(d.shown.frames, d.groups, standing, alias)
}

// save writes to the log what it does not hold yet.
func (d *Desk) save(ctx context.Context) error {
	if d.adrift {
		return session.ErrRestored
	}
	if !d.scanned && len(d.known) > 0 {
		return nil // what is shown so far is the log's own
	}
	var fresh []session.Frame
	here := map[string]bool{}
	for _, f := range d.shown.frames {
		here[f.Fingerprint] = true
		if s, ok := d.saved[f.Fingerprint]; !ok || s != savedAs(f) {
			if f.Figures != nil && !s.figures && !f.Figures.Whole() {
				f.Figures = d.whole(d.shown.alias)(f.Fingerprint) // they were kept as the figures of its JPEG
			}
			fresh = append(fresh, f)
		}
	}
	if d.scanned && d.away.Form == "" && len(d.waiting) == 0 && d.reading == 0 {
		// What was there and is not any more stays in the log, marked.
		for _, f := range d.known {
			if s := d.saved[f.Fingerprint]; !here[f.Fingerprint] && !s.gone {
				f.Gone = true
				fresh = append(fresh, f)
			}
		}
	}
	if len(fresh) > 0 {
		if err := d.log.SaveFrames(ctx, d.session.ID, fresh); err != nil {
			return err
		}
		for _, f := range fresh {
			d.saved[f.Fingerprint] = savedAs(f)
			d.known[f.Name] = f
		}
		if err := d.hearOfLenses(ctx, fresh); err != nil {
			return err
		}
	}
	if !d.idle() {
		return nil // groups are written when they have come to rest
	}
	if reflect.DeepEqual(d.inLog, d.groups) {
		return nil
	}
	if err := d.log.SaveGroups(ctx, d.session.ID, d.groups); err != nil {
		return err
	}
	d.inLog = slices.Clone(d.groups)
	return nil
}

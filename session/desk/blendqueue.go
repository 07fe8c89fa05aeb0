package desk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"stillbench/session"
)

// Queued is a blend in the queue, as it stands.
type Queued struct {
	// ID tells it from all others of the queue.
	ID int
	// Name is what people call the stack.
	Name string
	Job  BlendJob
	// Running since Began; Ended once it has come to its end. Before, it waits.
	Began, Ended time.Time
	// Done of Total steps.
	Done, Total int
	// Result is nil until it is done, Err why it was not: context.Canceled after Stop.
	Result *Blended
	Err    error
	// NoteErr is why the setup log was not told of it.
	NoteErr error
}

// Running: it is being worked on. Waiting: it has not begun.
func (q Queued) Running() bool { return !q.Began.IsZero() && q.Ended.IsZero() }

// Waiting tells that it has not begun.
func (q Queued) Waiting() bool { return q.Began.IsZero() && q.Ended.IsZero() }

// Left is how long it will take on, from how long it took so far; 0 when that cannot be told yet.
func (q Queued) Left(now time.Time) time.Duration {
	if !q.Running() || q.Done == 0 || q.Total <= 0 {
		return 0
	}
	return time.Duration(float64(now.Sub(q.Began)) * float64(q.Total-q.Done) / float64(q.Done))
}

// BlendQueue blends one after the other. Its methods may be called from any goroutine.
type BlendQueue struct {
	// Note tells the setup log of a blend that is done; nil is allowed.
	note    func(ctx context.Context, frames []string, file string) error
	changed func()
	now     func() time.Time
	ctx     context.Context
	cancel  context.CancelFunc
	work    sync.WaitGroup

	mu     sync.Mutex
	list   []Queued
	stops  map[int]context.CancelFunc
	last   int
	active bool
}

// NewBlendQueue makes an empty queue. changed is called, from any goroutine, when something
// of it is another; note tells the setup log of a blend that is done, and may be nil.
func NewBlendQueue(changed func(), note func(ctx context.Context, frames []string, file string) error) *BlendQueue {
	q := &BlendQueue{note: note, changed: changed, now: time.Now, stops: map[int]context.CancelFunc{}}
	q.ctx, q.cancel = context.WithCancel(context.Background())
	return q
}

// Close stops everything and waits until it has stopped.
func (q *BlendQueue) Close() {
	q.cancel()
	q.work.Wait()
}

// Add puts a blend at the end of the queue. An error says why it cannot be done at all: nothing
// is queued then.
func (q *BlendQueue) Add(name string, j BlendJob) error {
	if err := q.mayQueue(j); err != nil {
		return err
	}
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.ctx.Err() != nil {
		return ErrClosed
	}
	q.last++
	q.list = append(q.list, Queued{ID: q.last, Name: name, Job: j})
	if !q.active {
		q.active = true
		q.work.Go(q.run)
	}
	return nil
}

// mayQueue says, before all the work, why a blend would fail at its end.
func (q *BlendQueue) mayQueue(j BlendJob) error {
	if j.Dir != "" && Inside(j.Dir, j.Out) {
		return session.Refuse("%s lies in the folder of the frames, where it would be taken for a frame. Choose a folder beside it", j.Out)
	}
	q.mu.Lock()
	same := slices.ContainsFunc(q.list, func(o Queued) bool { return o.Ended.IsZero() && filepath.Clean(o.Job.Out) == filepath.Clean(j.Out) })
	q.mu.Unlock()
	if same {
		return session.Refuse("another blend in the queue goes to %s. Choose another name", j.Out)
	}
	if err := mayWriteInto(filepath.Dir(j.Out)); err != nil { // the depth map goes beside it
		return err
	}
	paths := make([]string, len(j.Files))
	for i, f := range j.Files {
		paths[i] = filepath.Join(j.Dir, filepath.FromSlash(f))
	}
	for _, out := range []string{j.Out, j.Depth} {
		if out == "" {
			continue
		}
		if err := mayWrite(out, paths, j.Replace); err != nil {
			return err
		}
	}
	return nil
}

// Inside tells whether a path lies in a folder, links followed as far as they exist.
func Inside(dir, path string) bool {
	real := func(p string) string {
		rest := ""
		for q := filepath.Clean(p); ; q = filepath.Dir(q) {
			if r, err := filepath.EvalSymlinks(q); err == nil {
				return filepath.Join(r, rest)
			}
			if q == filepath.Dir(q) {
				return filepath.Clean(p)
			}
			rest = filepath.Join(filepath.Base(q), rest)
		}
	}
	rel, err := filepath.Rel(real(dir), real(path))
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// Stop takes a blend out of the queue, or ends it where it stands. Nothing of it is left on disk.
func (q *BlendQueue) Stop(id int) {
	q.mu.Lock()
	if stop := q.stops[id]; stop != nil {
		stop()
	}
	for i := range q.list {
		if q.list[i].ID == id && q.list[i].Waiting() {
			q.list[i].Ended, q.list[i].Err = q.now(), context.Canceled
		}
	}
	q.mu.Unlock()
	q.changed()
}

// Forget takes those that have ended out of the list.
func (q *BlendQueue) Forget() {
	q.mu.Lock()
	q.list = slices.DeleteFunc(q.list, func(o Queued) bool { return !o.Ended.IsZero() })
	q.mu.Unlock()
	q.changed()
}

// List gives all that were queued and not forgotten, the oldest first.
func (q *BlendQueue) List() []Queued {
	q.mu.Lock()
	defer q.mu.Unlock()
	return slices.Clone(q.list)
}

// Busy is how many wait or are being worked on.
func (q *BlendQueue) Busy() (n int) {
	for _, o := range q.List() {
		if o.Ended.IsZero() {
			n++
		}
	}
	return n
}

// run blends until nothing waits.
func (q *BlendQueue) run() {
	for {
		job, ctx, ok := q.take()
		if !ok {
			return
		}
		q.changed()
		id := job.ID
		job.Job.Progress = func(done, total int) {
			q.set(id, func(o *Queued) { o.Done, o.Total = done, total })
		}
		r, err := q.blend(ctx, job.Job)
		var noted error
		if err == nil && q.note != nil {
			noted = q.note(context.WithoutCancel(ctx), usedOf(job.Job, r), job.Job.Out)
		}
		if r != nil {
			r.Picture, r.Depth = nil, nil // hundreds of megabytes, and on disk by now
		}
		q.set(id, func(o *Queued) { o.Ended, o.Result, o.Err, o.NoteErr = q.now(), r, err, noted })
	}
}

func (q *BlendQueue) take() (job Queued, ctx context.Context, ok bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	i := slices.IndexFunc(q.list, Queued.Waiting)
	if i < 0 || q.ctx.Err() != nil {
		q.active = false
		return job, nil, false
	}
	q.list[i].Began = q.now()
	var stop context.CancelFunc
	ctx, stop = context.WithCancel(q.ctx)
	q.stops[q.list[i].ID] = stop
	return q.list[i], ctx, true
}

func (q *BlendQueue) set(id int, fn func(*Queued)) {
	q.mu.Lock()
	for i := range q.list {
		if q.list[i].ID == id {
			fn(&q.list[i])
			if !q.list[i].Ended.IsZero() && q.stops[id] != nil {
				q.stops[id]()
				delete(q.stops, id)
			}
		}
	}
	q.mu.Unlock()
	q.changed()
}

// blend keeps a panic in a decoder from ending the program, and makes the folder that the blend
// goes to.
func (q *BlendQueue) blend(ctx context.Context, j BlendJob) (r *Blended, err error) {
	defer func() {
		if p := recover(); p != nil {
			r, err = nil, session.Fail("the blend broke (%s). Please report it", p)
		}
	}()
	dir := filepath.Dir(j.Out)
	_, missing := os.Stat(dir)
	if missing != nil {
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return nil, session.Fail("the folder %s cannot be made: %s", dir, err)
		}
		defer func() {
			if err != nil {
				os.Remove(dir) // goes only while it is empty
			}
		}()
	}
	r, err = Blend(ctx, j)
	if err != nil && ctx.Err() != nil && !errors.Is(err, context.Canceled) {
		err = context.Canceled
	}
	return r, err
}

// usedOf gives the fingerprints of the frames that went into a blend.
func usedOf(j BlendJob, r *Blended) (out []string) {
	for _, u := range r.Used {
		if i := slices.Index(j.Files, u.Name); i >= 0 && i < len(j.Fingerprints) {
			out = append(out, j.Fingerprints[i])
		}
	}
	return out
}

// BlendOf is the job that blends a stack of this session as it is now: without the frames set
// aside, with its touch-ups. Out and the rest are still to be said.
func (s *Snapshot) BlendOf(group int64) (BlendJob, error) {
	i := slices.IndexFunc(s.Groups, func(g session.Group) bool { return g.ID == group })
	if i < 0 || s.Groups[i].Kind != session.KindStack {
		return BlendJob{}, session.Missing("that stack is not in this session any more")
	}
	j := BlendJob{Dir: s.Session.Dir, Touches: slices.Clone(s.Touches[group])}
	for _, fp := range s.Groups[i].Frames {
		if f, ok := s.Frame(fp); ok && !f.SetAside {
			j.Files = append(j.Files, shownBy(f))
			j.Fingerprints = append(j.Fingerprints, fp)
		}
	}
	if len(j.Files) == 0 {
		return j, session.Refuse("every frame of that stack is set aside")
	}
	return j, nil
}

// FreeName gives path, or where a file of that name exists path with a number before its ending.
func FreeName(path string) string {
	ext := filepath.Ext(path)
	for n := 1; ; n++ {
		name := path
		if n > 1 {
			name = fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(path, ext), n, ext)
		}
		if _, err := os.Lstat(name); errors.Is(err, os.ErrNotExist) || n > 999 {
			return name
		}
	}
}

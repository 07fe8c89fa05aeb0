// Package pictures brings pictures to the places without making the window wait: it
// reads and scales in goroutines of its own, hands each picture over on the UI
// goroutine, keeps the last ones, has at hand what may be wanted next, and forgets what
// nobody wants to see any more. It knows no widgets.
package pictures

import (
	"container/list"
	"context"
	"image"
	"runtime"
	"slices"

	"stillbench/session"
)

// Want says which pixels to show. It is comparable: equal wants are one picture.
type Want struct {
	// Fingerprint is the frame's; Dir and Name stand for it when the frame is of
	// another session.
	Fingerprint string
	Dir, Name   string
	// W and H bound the picture in pixels of the screen.
	W, H int
	// Crop asks for the part round X, Y (0..1 of the upright picture) at one picture
	// pixel a pixel.
	Crop bool
	X, Y float64
	// Proof is the key of a proof of the session (session.Proof.Key) to show in place of a frame.
	Proof string
	// OnProof asks for that frame as it lies on a proof.
	OnProof session.ProofFrame
	// Covers asks for the proof of the stack that holds the frame Name in Dir, and where there
	// is none for that frame.
	Covers bool
	// Laid brings the picture Name in Dir onto another of the same framing.
	Laid session.Laid
	// Sharp asks for the drawing of the parts that are sharp, to lie over the frame.
	Sharp bool
}

// Source reads pictures; it is called from several goroutines at once.
type Source func(ctx context.Context, w Want) (*image.RGBA, error)

// keepBytes bounds the pictures that are kept as they are shown.
const keepBytes = 64 << 20

// readers is how many pictures are read at once. One of them is for the eye: more would take the
// cores away from the reading in.
var readers = max(2, runtime.NumCPU()/2)

// Loader loads pictures. All its methods, and the functions handed to them, run on
// the goroutine that its deliver function runs things on (the UI goroutine).
type Loader struct {
	source  Source
	deliver func(func())
	ctx     context.Context
	cancel  context.CancelFunc

	waiting []*request // the last one is read next
	later   []ahead    // the first one is read next, when nothing else waits
	reading map[Want]*request
	busy    int
	kept    cache
}

type request struct {
	want    Want
	callers []caller // none where it is only to be at hand
}

type ahead struct {
	want  Want
	scope *Scope
}

type caller struct {
	scope *Scope
	gen   uint64
	done  func(*image.RGBA, error)
}

// New makes a loader. Deliver must run what it is given on the UI goroutine, in the
// order given.
func New(source Source, deliver func(func())) *Loader {
	ctx, cancel := context.WithCancel(context.Background())
	return &Loader{
		source: source, deliver: deliver, ctx: ctx, cancel: cancel,
		reading: map[Want]*request{},
		kept:    newCache(keepBytes),
	}
}

// Close stops reading; nothing is handed over any more.
func (l *Loader) Close() {
	l.cancel()
	l.waiting, l.later = nil, nil
}

// Scope is a set of pictures that are wanted together: those of one drawing.
type Scope struct {
	loader *Loader
	gen    uint64
	// ahead are the whole frames that were read ahead: where they come from has them at hand,
	// though they may not be kept here.
	ahead map[Want]bool
}

// Scope makes a scope.
func (l *Loader) Scope() *Scope { return &Scope{loader: l, ahead: map[Want]bool{}} }

// Begin starts the set anew: what was wanted before and has not come is not wanted
// any more.
func (s *Scope) Begin() {
	s.gen++
	l := s.loader
	l.waiting = slices.DeleteFunc(l.waiting, func(r *request) bool {
		r.callers = slices.DeleteFunc(r.callers, func(c caller) bool { return c.scope == s })
		return len(r.callers) == 0
	})
	l.later = slices.DeleteFunc(l.later, func(a ahead) bool { return a.scope == s })
}

// Want asks for a picture and calls done with it: at once when it is at hand, later
// otherwise, never when the set was begun anew meanwhile. What is wanted last comes
// first. A picture must not be changed.
func (s *Scope) Want(w Want, done func(*image.RGBA, error)) {
	l := s.loader
	if img, ok := l.kept.get(w); ok {
		done(img, nil)
		return
	}
	if w.W <= 0 || w.H <= 0 || l.ctx.Err() != nil {
		return
	}
	c := caller{s, s.gen, done}
	if r := l.reading[w]; r != nil {
		r.callers = append(r.callers, c)
		return
	}
	if i := slices.IndexFunc(l.waiting, func(r *request) bool { return r.want == w }); i >= 0 {
		r := l.waiting[i]
		r.callers = append(r.callers, c)
		l.waiting = append(slices.Delete(l.waiting, i, i+1), r)
		return
	}
	r := &request{want: w, callers: []caller{c}}
	l.waiting = append(l.waiting, r)
	l.next()
}

// Has tells whether a picture is at hand: Want would call done at once.
func (s *Scope) Has(w Want) bool { return s.loader.kept.has(w) }

// Ahead has a picture at hand that may be wanted next. What is asked for first comes first, when
// nothing that is wanted now waits; a new beginning of the set drops what has not come.
func (s *Scope) Ahead(w Want) {
	l := s.loader
	if w.W <= 0 || w.H <= 0 || l.ctx.Err() != nil {
		return
	}
	l.later = append(l.later, ahead{w, s})
	l.next()
}

// next sends readers off while something waits.
func (l *Loader) next() {
	for l.busy < readers && len(l.waiting) > 0 && l.ctx.Err() == nil {
		r := l.waiting[len(l.waiting)-1]
		l.waiting = l.waiting[:len(l.waiting)-1]
		l.read(r)
	}
	for l.busy < readers-1 && len(l.later) > 0 && l.ctx.Err() == nil {
		a := l.later[0]
		l.later = l.later[1:]
		if l.kept.has(a.want) || l.reading[a.want] != nil || a.scope.ahead[a.want] {
			continue
		}
		if a.want.whole() {
			a.scope.ahead[a.want] = true
		}
		l.read(&request{want: a.want})
	}
}

func (l *Loader) read(r *request) {
	l.reading[r.want] = r
	l.busy++
	go func() {
		img, err := l.source(l.ctx, r.want)
		l.deliver(func() {
			l.busy--
			l.arrived(r, img, err)
			l.next()
		})
	}()
}

// whole tells whether a want is a frame as a whole, which its source has at hand once it was read.
func (w Want) whole() bool { return w.Fingerprint != "" && !w.Crop && !w.Sharp }

// arrived takes in a picture that was read.
func (l *Loader) arrived(r *request, img *image.RGBA, err error) {
	delete(l.reading, r.want)
	if l.ctx.Err() != nil {
		return
	}
	// A whole frame that is only to be at hand takes the place of nothing that was looked at.
	if err == nil && img != nil && (len(r.callers) > 0 || !r.want.whole() || l.kept.bytes+len(img.Pix) <= keepBytes) {
		l.kept.keep(r.want, img)
	}
	for _, c := range r.callers {
		if c.gen == c.scope.gen {
			c.done(img, err)
		}
	}
}

// cache keeps the pictures that were used last, up to so many bytes.
type cache struct {
	limit, bytes int
	byWant       map[Want]*list.Element
	recent       *list.List // of entry, the newest in front
}

type entry struct {
	want Want
	img  *image.RGBA
}

func newCache(limit int) cache {
	return cache{limit: limit, byWant: map[Want]*list.Element{}, recent: list.New()}
}

func (c *cache) has(w Want) bool { return c.byWant[w] != nil }

func (c *cache) get(w Want) (img *image.RGBA, ok bool) {
	e := c.byWant[w]
	if e == nil {
		return nil, false
	}
	c.recent.MoveToFront(e)
	return e.Value.(entry).img, true
}

func (c *cache) keep(w Want, img *image.RGBA) {
	if e := c.byWant[w]; e != nil {
		c.drop(e)
	}
	c.byWant[w] = c.recent.PushFront(entry{w, img})
	c.bytes += len(img.Pix)
	for c.bytes > c.limit && c.recent.Len() > 1 {
		c.drop(c.recent.Back())
	}
}

func (c *cache) drop(e *list.Element) {
	old := c.recent.Remove(e).(entry)
	delete(c.byWant, old.want)
	c.bytes -= len(old.img.Pix)
}

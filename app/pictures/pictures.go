// Package pictures brings pictures to the places without making the window wait: it
// reads and scales in goroutines of its own, hands each picture over on the UI
// goroutine, keeps the last ones, and forgets what nobody wants to see any more. It
// knows no widgets.
package pictures

import (
	"container/list"
	"context"
	"image"
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

const (
	// keepBytes bounds the pictures that are kept.
	keepBytes = 192 << 20
	// readers is how many pictures are read at once: one for the eye, one ahead; more
	// would take the cores away from the reading in.
	readers = 2
)

// Loader loads pictures. All its methods, and the functions handed to them, run on
// the goroutine that its deliver function runs things on (the UI goroutine).
type Loader struct {
	source  Source
	deliver func(func())
	ctx     context.Context
	cancel  context.CancelFunc

	waiting []*request // the last one is read next
	reading map[Want]*request
	busy    int
	kept    map[Want]*list.Element
	recent  *list.List // of *picture, the newest in front
	bytes   int
}

type request struct {
	want    Want
	callers []caller
}

type caller struct {
	scope *Scope
	gen   uint64
	done  func(*image.RGBA, error)
}

type picture struct {
	want Want
	img  *image.RGBA
}

// New makes a loader. Deliver must run what it is given on the UI goroutine, in the
// order given.
func New(source Source, deliver func(func())) *Loader {
	ctx, cancel := context.WithCancel(context.Background())
	return &Loader{
		source: source, deliver: deliver, ctx: ctx, cancel: cancel,
		reading: map[Want]*request{}, kept: map[Want]*list.Element{}, recent: list.New(),
	}
}

// Close stops reading; nothing is handed over any more.
func (l *Loader) Close() {
	l.cancel()
	l.waiting = nil
}

// Scope is a set of pictures that are wanted together: those of one drawing.
type Scope struct {
	loader *Loader
	gen    uint64
}

// Scope makes a scope.
func (l *Loader) Scope() *Scope { return &Scope{loader: l} }

// Begin starts the set anew: what was wanted before and has not come is not wanted
// any more.
func (s *Scope) Begin() {
	s.gen++
	l := s.loader
	l.waiting = slices.DeleteFunc(l.waiting, func(r *request) bool {
		r.callers = slices.DeleteFunc(r.callers, func(c caller) bool { return c.scope == s })
		return len(r.callers) == 0
	})
}

// Want asks for a picture and calls done with it: at once when it is at hand, later
// otherwise, never when the set was begun anew meanwhile. What is wanted last comes
// first. A picture must not be changed.
func (s *Scope) Want(w Want, done func(*image.RGBA, error)) {
	l := s.loader
	if e := l.kept[w]; e != nil {
		l.recent.MoveToFront(e)
		done(e.Value.(*picture).img, nil)
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
	l.waiting = append(l.waiting, &request{want: w, callers: []caller{c}})
	l.next()
}

// next sends readers off while something waits.
func (l *Loader) next() {
	for l.busy < readers && len(l.waiting) > 0 && l.ctx.Err() == nil {
		r := l.waiting[len(l.waiting)-1]
		l.waiting = l.waiting[:len(l.waiting)-1]
		l.reading[r.want] = r
		l.busy++
		go func() {
			img, err := l.source(l.ctx, r.want)
			l.deliver(func() { l.arrived(r, img, err) })
		}()
	}
}

func (l *Loader) arrived(r *request, img *image.RGBA, err error) {
	l.busy--
	delete(l.reading, r.want)
	if l.ctx.Err() != nil {
		return
	}
	if err == nil && img != nil {
		l.keep(r.want, img)
	}
	for _, c := range r.callers {
		if c.gen == c.scope.gen {
			c.done(img, err)
		}
	}
	l.next()
}

func (l *Loader) keep(w Want, img *image.RGBA) {
	l.kept[w] = l.recent.PushFront(&picture{w, img})
	l.bytes += len(img.Pix)
	for l.bytes > keepBytes && l.recent.Len() > 1 {
		old := l.recent.Remove(l.recent.Back()).(*picture)
		delete(l.kept, old.want)
		l.bytes -= len(old.img.Pix)
	}
}

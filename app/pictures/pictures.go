// Package pictures brings pictures to the places without making the window wait: it
// reads and scales in goroutines of its own, hands each picture over on the UI
// goroutine, keeps the last ones, has at hand what may be wanted next, and forgets what
// nobody wants to see any more. It knows no widgets.
package pictures

import (
	"bytes"
	"container/list"
	"context"
	"image"
	"image/draw"
	"image/jpeg"
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

const (
	// keepBytes bounds the pictures that are kept as they are shown.
	keepBytes = 96 << 20
	// packedBytes bounds the whole frames that are kept packed as JPEG besides: some hundred as
	// large as a window. To unpack one takes a tenth of the time that reading the file takes.
	packedBytes = 32 << 20
	// packFrom is how many bytes a picture takes at least that is packed.
	packFrom = 1 << 20
	// packQuality leaves nothing to be seen of the packing.
	packQuality = 95
)

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
	kept    cache[*image.RGBA]
	packed  cache[[]byte]
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
		kept:    newCache(keepBytes, func(img *image.RGBA) int { return len(img.Pix) }),
		packed:  newCache(packedBytes, func(data []byte) int { return len(data) }),
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
	if data, ok := l.packed.get(w); ok {
		l.reading[w] = r
		go func() {
			img, err := unpack(data)
			l.deliver(func() { l.arrived(r, img, nil, err) })
		}()
		return
	}
	l.waiting = append(l.waiting, r)
	l.next()
}

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

// atHand tells whether a picture needs no reading, or is being read.
func (l *Loader) atHand(w Want) bool { return l.kept.has(w) || l.packed.has(w) || l.reading[w] != nil }

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
		if !l.atHand(a.want) {
			l.read(&request{want: a.want})
		}
	}
}

func (l *Loader) read(r *request) {
	l.reading[r.want] = r
	l.busy++
	go func() {
		img, err := l.source(l.ctx, r.want)
		var data []byte
		if err == nil && img != nil && r.want.packs() && len(img.Pix) >= packFrom {
			data = pack(img)
		}
		l.deliver(func() {
			l.busy--
			l.arrived(r, img, data, err)
			l.next()
		})
	}()
}

// packs tells whether a picture may be kept packed: it is shown as a whole, not judged pixel by
// pixel.
func (w Want) packs() bool { return !w.Crop && !w.Sharp && w.Fingerprint != "" }

func pack(img *image.RGBA) []byte {
	var b bytes.Buffer
	if jpeg.Encode(&b, img, &jpeg.Options{Quality: packQuality}) != nil {
		return nil // too large for a JPEG: it is read anew
	}
	return b.Bytes()
}

func unpack(data []byte) (*image.RGBA, error) {
	img, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	out := image.NewRGBA(img.Bounds())
	draw.Draw(out, out.Rect, img, image.Point{}, draw.Src)
	return out, nil
}

// arrived takes in a picture that was read or unpacked; data is the same, packed, where it was
// read and is kept so.
func (l *Loader) arrived(r *request, img *image.RGBA, data []byte, err error) {
	delete(l.reading, r.want)
	if l.ctx.Err() != nil {
		return
	}
	if data != nil {
		l.packed.keep(r.want, data)
	}
	// What is only to be at hand takes the place of nothing that was looked at.
	if err == nil && img != nil && (len(r.callers) > 0 || data == nil || l.kept.bytes+len(img.Pix) <= keepBytes) {
		l.kept.keep(r.want, img)
	}
	for _, c := range r.callers {
		if c.gen == c.scope.gen {
			c.done(img, err)
		}
	}
}

// cache keeps what was used last, up to so many bytes.
type cache[T any] struct {
	limit, bytes int
	size         func(T) int
	byWant       map[Want]*list.Element
	recent       *list.List // of entry[T], the newest in front
}

type entry[T any] struct {
	want Want
	v    T
}

func newCache[T any](limit int, size func(T) int) cache[T] {
	return cache[T]{limit: limit, size: size, byWant: map[Want]*list.Element{}, recent: list.New()}
}

func (c *cache[T]) has(w Want) bool { return c.byWant[w] != nil }

func (c *cache[T]) get(w Want) (v T, ok bool) {
	e := c.byWant[w]
	if e == nil {
		return v, false
	}
	c.recent.MoveToFront(e)
	return e.Value.(entry[T]).v, true
}

func (c *cache[T]) keep(w Want, v T) {
	if e := c.byWant[w]; e != nil {
		c.drop(e)
	}
	c.byWant[w] = c.recent.PushFront(entry[T]{w, v})
	c.bytes += c.size(v)
	for c.bytes > c.limit && c.recent.Len() > 1 {
		c.drop(c.recent.Back())
	}
}

func (c *cache[T]) drop(e *list.Element) {
	old := c.recent.Remove(e).(entry[T])
	delete(c.byWant, old.want)
	c.bytes -= c.size(old.v)
}

// Package focus says whether a stack is complete: in which order of depth its frames lie,
// whether a depth between two of them is held sharp by neither, whether the subject goes on
// past the first or the last, and which frames are spoilt. A wrong "covered" costs the
// photographer the picture, a wrong "gap" a minute: what is decided here is decided with
// that in mind, and what cannot be decided is said to be so.
//
// A Stack takes one frame after the other and keeps small figures of each: how a frame lies
// on those before it (package align), and its detail by tile in octave bands. The focus places
// of the frames and the depth of every tile are fitted to these figures with the thin lens' own
// law of blur (places.go); they come out in pixels of blur, the unit that the circle of
// confusion is given in. Everything that is said of a stack follows from them.
package focus

import (
	"errors"
	"math"
	"slices"
	"sync"

	"stillbench/session"
	"stillbench/session/align"
	"stillbench/session/plane"
)

// Frame is one frame of a stack.
type Frame struct {
	Fingerprint string
	// Number is what the photographer knows the frame by; 0 means its place among those
	// that were taken in, from 1.
	Number int
	// Picture as stored in the file (before orientation), at full size or reduced; a long
	// side of 1500 to 3000 pixels is best. FullW and FullH must be set.
	Picture *plane.RGB
	Meta    session.Meta
}

// Options say what a stack is held to. The zero value is the default.
type Options struct {
	// CircleOfConfusion is the largest blur disc that counts as sharp, as a part of the
	// picture's diagonal; 0 means 1/1500.
	CircleOfConfusion float64
	// Wanted is the part that must be sharp, as a polygon in 0..1 of the width and height of the frame
	// that WantedOn is the fingerprint of, as stored; nil means all of it. The middle frame changes as a
	// stack grows, and a part that lies on it would creep over the subject. Where WantedOn is none of the
	// frames, or one that does not lie on the others, it is taken to be the middle one.
	Wanted   [][2]float64
	WantedOn string
	// Without are fingerprints of frames that were taken in and are not judged: those set aside.
	Without []string
	// Magnification, and SensorMM the length of the sensor's long side, let a gap be told in
	// millimetres; 0 where they are not known.
	Magnification, SensorMM float64
}

// workSide is the longest side, in pixels, that frames are worked on at.
const workSide = 2048

// ErrEmpty says that a frame has no picture.
var ErrEmpty = errors.New("the frame has no picture")

// ErrClosed says that no frame can join a stack any more.
var ErrClosed = errors.New("the stack is closed")

// Stack is a stack of frames as it grows. It is not safe for use by several goroutines at
// once.
type Stack struct {
	frames []*frame
	chain  align.Chain
	last   [comparedWith]*align.Frame // the newest first
	luma   *plane.Plane               // of the newest
	quiet  quiet
	floors floors // what quiet tells
	closed bool
}

// comparedWith is how many frames before it a frame is compared with: one may be set aside later.
const comparedWith = 2

// frame is what is kept of one.
type frame struct {
	fingerprint string
	number      int
	at          int // in the chain
	meta        session.Meta
	w, h        int     // working size
	full        float64 // full-size pixels a working pixel
	detail      *detail
	quiet       quiet // of itself, and against the frame before
	// differ is what it differs by from that, by band and tile of its own; nil where the two do not lie on each other.
	differ [bands][]float32
	light  *light
	// elsewhere are the parts that lie elsewhere than in the frame before, and than in the one before
	// that; pitch is the distance of parts side by side, and reversal the blur from which on nothing can
	// be said of them.
	elsewhere       [comparedWith][]align.Part
	pitch, reversal float64
}

// Add takes the next frame in. Its cost does not depend on how many there are. The picture is
// not kept. A frame whose shape differs from the first's is taken in and reported as
// one that cannot be laid on the others. The error is ErrEmpty or ErrClosed.
func (s *Stack) Add(f Frame) error {
	if s.closed {
		return ErrClosed
	}
	p := f.Picture
	if p == nil || p.W < 1 || p.H < 1 || len(p.Pix) < 3*p.W*p.H {
		return ErrEmpty
	}
	if long := max(p.W, p.H); long > workSide {
		k := float64(workSide) / float64(long)
		p = plane.ReduceRGB(nil, p, max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5)))
	}
	n := &frame{fingerprint: f.Fingerprint, number: f.Number, meta: f.Meta, w: p.W, h: p.H}
	if n.number == 0 {
		n.number = len(s.frames) + 1
	}
	n.full = float64(max(p.FullW, p.W)) / float64(p.W)
	luma := p.Luma()
	// To lay the frame on those before it keeps one processor busy; another measures it meanwhile.
	var measured sync.WaitGroup
	measured.Go(func() {
		n.detail = measure(luma)
		n.light = expose(p)
		n.quiet = n.detail.quiet()
	})
	laid := align.Prepare(luma)
	n.at, n.pitch, n.reversal = s.chain.Len(), laid.Pitch(), laid.Reversal()
	links := s.chain.Add(laid)
	for _, l := range links {
		if back := n.at - l.From; back <= comparedWith {
			n.elsewhere[back-1] = align.Elsewhere(s.last[back-1], laid, l.Move)
		}
	}
	measured.Wait()
	for _, l := range links {
		if l.From == n.at-1 {
			n.quiet.differ = n.differing(luma, s.luma, l.Move)
		}
	}
	s.last, s.luma = [comparedWith]*align.Frame{laid, s.last[0]}, luma
	s.join(n)
	return nil
}

// differing gives the floors that a frame's luma and that of the one before tell, which it lies on by a move, and takes in what they differ by.
func (f *frame) differing(luma, before *plane.Plane, move plane.Similarity) floors {
	difference := plane.Warp(nil, before, move.Inverse())
	for i, v := range luma.Pix {
		difference.Pix[i] = v - difference.Pix[i]
	}
	off := math.Hypot(move.DX, move.DY) + (math.Abs(move.Scale-1)+math.Abs(move.Turn))*float64(max(f.w, f.h))/2
	d := measure(difference)
	for b := range bands {
		f.differ[b] = d.tiles(d.maps[b])
	}
	return d.differing(f.detail.luma, 2+int(off)/cell)
}

// join takes a frame in.
func (s *Stack) join(f *frame) {
	if len(s.frames) == 0 {
		s.quiet = f.quiet
	} else {
		s.quiet.quieter(&f.quiet)
	}
	s.frames = append(s.frames, f)
	s.floors = s.quiet.told()
}

// Close gives back what only Add needs, which is most of what a stack takes: no more frames can join.
func (s *Stack) Close() {
	s.closed, s.last, s.luma = true, [comparedWith]*align.Frame{}, nil
	s.chain.Close()
}

// Closed tells that no frame can join any more.
func (s *Stack) Closed() bool { return s.closed }

// without is the stack as if the frames of some fingerprints had not been taken in, but that the
// others lie on each other by them too.
func (s *Stack) without(out []string) *Stack {
	if len(out) == 0 {
		return s
	}
	v := &Stack{chain: s.chain}
	for _, f := range s.frames {
		if slices.Contains(out, f.fingerprint) {
			continue
		}
		v.join(f)
	}
	return v
}

// circle is the largest blur that counts as sharp, in pixels of working size.
func (o *Options) circle(w, h int) float64 {
	part := o.CircleOfConfusion
	if part <= 0 {
		part = 1.0 / 1500
	}
	return part * math.Hypot(float64(w), float64(h))
}

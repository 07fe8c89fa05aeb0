package blend

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"stillbench/session"
	"stillbench/session/align"
	"stillbench/session/plane"
)

// Source is one frame of a blend.
type Source struct {
	// Name is told in errors and in the recipe.
	Name string
	// Fingerprint is what touch-ups know the frame by.
	Fingerprint string
	// Work decodes the frame reduced, to a long side of at least WorkSide where it has as
	// much; Full decodes all of it. Both give it as stored.
	Work func() (*plane.RGB, error)
	Full func() (Pixels, error)
}

// WorkSide is the least long side, in pixels, that frames are laid on each other at.
const WorkSide = 2048

// Job is one blend.
type Job struct {
	// Sources in time order. One frame alone is allowed.
	Sources   []Source
	Character Character
	// Touches are put over the blend in their order.
	Touches []session.Touch
	// Progress is told after each step; nil is allowed.
	Progress session.Progress
}

// LeftOut is a frame that is not in the blend.
type LeftOut struct {
	Name string
	// Err wraps ErrSize or ErrUnlaid, or says why the frame could not be read.
	Err error
}

// Used is a frame that is in the blend.
type Used struct {
	Name string
	// Move takes a place in the reference to its place in this frame, in full-size pixels
	// from the centres as stored.
	Move plane.Similarity
	// Gain is what R, G and B were multiplied by.
	Gain [3]float32
}

// Result is a blend.
type Result struct {
	Picture *plane.RGB16
	// Reference is the index in Used of the frame that the others were laid on: the middle
	// one, unless that could not be read.
	Reference int
	Used      []Used
	LeftOut   []LeftOut
	Character Character
	// Depth by the order of Used.
	Depth *Depth
}

// A step of the work in each frame, as Progress counts them.
const (
	alignSteps = 1
	fuseSteps  = 4
)

// Run blends. It holds two decoded frames at a time, the one it works on and the next; its other
// memory, some 28 bytes a pixel, does not grow with their number. It ends with ctx's error
// soon after ctx does, with ErrNoFrames when no frame could be read, and with the error of a
// touch-up that names a frame which is not in the blend.
func Run(ctx context.Context, j Job) (*Result, error) {
	r := &Result{Character: j.Character}
	done, total := 0, len(j.Sources)*(alignSteps+fuseSteps)+len(j.Touches)*fuseSteps+fuseSteps
	step := func(n int) {
		done += n
		j.Progress.Tell(min(done, total), total)
	}
	b, err := layAll(ctx, j, func() { step(alignSteps) })
	if err != nil {
		return nil, err
	}
	r.LeftOut = b.leftOut
	step(alignSteps*len(j.Sources) + fuseSteps*len(b.leftOut) - done)
	if err := b.fuse(ctx, j, r, step); err != nil {
		return nil, err
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if b.fuser.depth != nil {
		r.Depth = b.fuser.depth.result()
	}
	r.Picture = b.fuser.picture16()
	b.fuser = nil
	step(fuseSteps)
	if err := b.touchUp(ctx, r.Picture, j.Touches, step); err != nil {
		return nil, err
	}
	return r, nil
}

// blending is the work of a Run: the frames that take part, and how they lie.
type blending struct {
	sources   []Source
	small     []small
	moves     []plane.Similarity // at working size
	workW     int
	reference int
	leftOut   []LeftOut
	fuser     *fuser
}

// layAll decodes every frame at working size and lays them on the middle one.
func layAll(ctx context.Context, j Job, step func()) (*blending, error) {
	b := &blending{}
	var c chain
	var full [][2]int
	next := ahead(len(j.Sources), func(i int) (*plane.RGB, error) { return j.Sources[i].Work() })
	defer next.stop()
	for i := range j.Sources {
		pic, err := next.take()
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			b.leftOut = append(b.leftOut, LeftOut{j.Sources[i].Name, err})
			step()
			continue
		}
		size := [2]int{max(pic.FullW, pic.W), max(pic.FullH, pic.H)}
		if long := max(pic.W, pic.H); long > WorkSide {
			k := WorkSide / float64(long)
			pic = plane.ReduceRGB(nil, pic, max(1, int(float64(pic.W)*k+0.5)), max(1, int(float64(pic.H)*k+0.5)))
		}
		b.sources = append(b.sources, j.Sources[i])
		b.small = append(b.small, smallOf(pic))
		full = append(full, size)
		c.add(pic.Luma())
		step()
	}
	n := len(b.sources)
	if n == 0 {
		return nil, errors.Join(append([]error{ErrNoFrames}, reasons(b.leftOut)...)...)
	}
	// The size that most have is the size of the blend.
	count := map[[2]int]int{}
	for _, s := range full {
		count[s]++
	}
	size := full[n/2]
	for s, k := range count {
		if k > count[size] {
			size = s
		}
	}
	sound := func(l align.Link) bool { return full[l.From] == size && full[l.To] == size }
	links := slices.DeleteFunc(slices.Clone(c.links), func(l align.Link) bool { return !sound(l) })
	// The middle frame, unless most others lie on another than on it.
	var aligned []bool
	for _, m := range fromMiddle(n) {
		if full[m] != size {
			continue
		}
		moves, joined := align.Solve(n, m, links)
		if aligned == nil || trues(joined) > trues(aligned) {
			b.reference, b.moves, aligned = m, moves, joined
		}
		if 2*trues(aligned) >= n {
			break
		}
	}
	b.workW = c.frames[b.reference].W
	kept := &blending{workW: b.workW, leftOut: b.leftOut}
	for i := range b.sources {
		if i == b.reference {
			kept.reference = len(kept.sources)
		}
		if !aligned[i] {
			err := ErrUnlaid
			if full[i] != size {
				err = ErrSize
			}
			kept.leftOut = append(kept.leftOut, LeftOut{b.sources[i].Name, err})
			continue
		}
		kept.sources, kept.small, kept.moves = append(kept.sources, b.sources[i]), append(kept.small, b.small[i]), append(kept.moves, b.moves[i])
	}
	return kept, nil
}

// fromMiddle lists 0..n-1 from the middle outwards.
func fromMiddle(n int) []int {
	out := []int{n / 2}
	for d := 1; len(out) < n; d++ {
		for _, i := range []int{n/2 - d, n/2 + d} {
			if i >= 0 && i < n {
				out = append(out, i)
			}
		}
	}
	return out
}

func trues(v []bool) (n int) {
	for _, t := range v {
		if t {
			n++
		}
	}
	return n
}

func reasons(out []LeftOut) (errs []error) {
	for _, o := range out {
		errs = append(errs, fmt.Errorf("%s: %w", o.Name, o.Err))
	}
	return errs
}

// frame lays the i-th frame's pixels on the reference.
func (b *blending) frame(i int, p Pixels) (*laid, Used) {
	w, _ := p.Size()
	k := float64(w) / float64(b.workW)
	move := b.moves[i]
	move.DX, move.DY = move.DX*k, move.DY*k
	gain := gainOf(b.small[b.reference], b.small[i], b.moves[i], b.workW)
	return lay(p, move, gain), Used{Name: b.sources[i].Name, Move: move, Gain: gain}
}

// fuse adds every frame to the pyramid, each decoded while the one before is worked on.
func (b *blending) fuse(ctx context.Context, j Job, r *Result, step func(int)) error {
	next := ahead(len(b.sources), func(i int) (Pixels, error) { return b.sources[i].Full() })
	defer next.stop()
	for i, s := range b.sources {
		p, err := next.take()
		if ctx.Err() != nil {
			return ctx.Err()
		}
		w, h := p.Size()
		if err == nil && b.fuser != nil && (w != b.fuser.w || h != b.fuser.h) {
			err = ErrSize
		}
		if err != nil {
			if i == b.reference {
				return fmt.Errorf("%s, which the others are laid on: %w", s.Name, err)
			}
			r.LeftOut = append(r.LeftOut, LeftOut{s.Name, err})
			step(fuseSteps)
			continue
		}
		if b.fuser == nil {
			b.fuser = newFuser(w, h, j.Character)
			b.fuser.depth = newDepthFinder(b.fuser)
		}
		fr, used := b.frame(i, p)
		if i == b.reference {
			r.Reference = len(r.Used)
		}
		b.fuser.add(fr)
		r.Used = append(r.Used, used)
		step(fuseSteps)
	}
	return nil
}

// queue decodes one thing ahead of the one that is worked on.
type queue[T any] struct {
	out  chan decoded[T]
	quit chan struct{}
	done chan struct{}
}

type decoded[T any] struct {
	value T
	err   error
}

// ahead calls read for 0..n-1 in a goroutine, which stop ends and waits for.
func ahead[T any](n int, read func(i int) (T, error)) *queue[T] {
	q := &queue[T]{make(chan decoded[T]), make(chan struct{}), make(chan struct{})}
	go func() {
		defer close(q.done)
		for i := range n {
			v, err := read(i)
			select {
			case q.out <- decoded[T]{v, err}:
			case <-q.quit:
				return
			}
		}
	}()
	return q
}

func (q *queue[T]) take() (T, error) {
	d := <-q.out
	return d.value, d.err
}

func (q *queue[T]) stop() {
	close(q.quit)
	<-q.done
}

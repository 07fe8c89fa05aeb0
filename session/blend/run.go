package blend

import (
	"context"
	"errors"
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
	Sources []Source
	// Character "" takes the one that suits.
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
	// Suits is the character that suits the frames, and Why the reason.
	Suits Character
	Why   session.Text
	// Depth is nil for pictures too small to have one. It goes by the order of Used.
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
	done, total := 0, len(j.Sources)*(alignSteps+fuseSteps)+len(j.Touches)*fuseSteps+fuseSteps
	step := func(n int) {
		done += n
		j.Progress.Tell(min(done, total), total)
	}
	b, err := layAll(ctx, j, func() { step(alignSteps) })
	if err != nil {
		return nil, err
	}
	r := &Result{Character: j.Character, LeftOut: b.leftOut}
	if r.Suits, r.Why = Suggest(b.proof.Depth()); r.Character == "" {
		r.Character = r.Suits
	}
	b.proof = nil
	step(fuseSteps * len(b.leftOut))
	if err := b.fuse(ctx, r, step); err != nil {
		return nil, err
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
	workW     []int              // width of each at working size
	reference int
	leftOut   []LeftOut
	proof     *Proof // made small on the way, to tell which character suits
	fuser     *fuser
}

// proofSide is the long side of a Run's own proof: the size that Suggest goes by.
const proofSide = 480

// layAll decodes every frame at working size and lays them on the middle one. Frames that do
// not lie on it, or are of another size than most, are left out.
func layAll(ctx context.Context, j Job, step func()) (*blending, error) {
	b := &blending{proof: NewProof(Surfaces)}
	var all blending // before any is left out for how it lies
	var c align.Chain
	var sizes [][2]int
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
		sizes = append(sizes, [2]int{max(pic.FullW, pic.W), max(pic.FullH, pic.H)})
		pic = within(pic, WorkSide)
		all.sources, all.small = append(all.sources, j.Sources[i]), append(all.small, smallOf(pic))
		c.Add(align.Prepare(pic.Luma()))
		all.workW = append(all.workW, pic.W)
		_ = b.proof.Add(within(pic, proofSide)) // one that does not fit is told of below
		step()
	}
	if len(all.sources) == 0 {
		return nil, errors.Join(append([]error{ErrNoFrames}, reasons(b.leftOut)...)...)
	}
	size := mostOften(sizes)
	var aligned []bool
	all.reference, all.moves, aligned = reference(sizes, size, c.Links)
	for i, s := range all.sources {
		if i == all.reference {
			b.reference = len(b.sources)
		}
		if aligned[i] {
			b.sources, b.small = append(b.sources, s), append(b.small, all.small[i])
			b.moves, b.workW = append(b.moves, all.moves[i]), append(b.workW, all.workW[i])
			continue
		}
		err := ErrUnlaid
		if sizes[i] != size {
			err = ErrSize
		}
		b.leftOut = append(b.leftOut, LeftOut{s.Name, err})
	}
	return b, nil
}

// within reduces a picture to a long side of at most side pixels.
func within(p *plane.RGB, side int) *plane.RGB {
	k := float64(side) / float64(max(p.W, p.H))
	if k >= 1 {
		return p
	}
	return plane.ReduceRGB(nil, p, max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5)))
}

// mostOften is the size that most frames have; of two as frequent, that of the frame nearer the
// middle.
func mostOften(sizes [][2]int) [2]int {
	count := map[[2]int]int{}
	for _, s := range sizes {
		count[s]++
	}
	best := sizes[len(sizes)/2]
	for _, i := range fromMiddle(len(sizes)) {
		if count[sizes[i]] > count[best] {
			best = sizes[i]
		}
	}
	return best
}

// reference is the frame of that size that the others are laid on, and how they lie: the
// middle one, unless most lie on another than on it.
func reference(sizes [][2]int, size [2]int, links []align.Link) (at int, moves []plane.Similarity, aligned []bool) {
	n := len(sizes)
	links = slices.DeleteFunc(slices.Clone(links), func(l align.Link) bool { return sizes[l.From] != size || sizes[l.To] != size })
	for _, i := range fromMiddle(n) {
		if sizes[i] != size {
			continue
		}
		m, joined := align.Solve(n, i, links)
		if aligned == nil || trues(joined) > trues(aligned) {
			at, moves, aligned = i, m, joined
		}
		if 2*trues(aligned) >= n {
			break
		}
	}
	return at, moves, aligned
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
		errs = append(errs, session.Fail("%s: %s", o.Name, o.Err))
	}
	return errs
}

// frame lays the i-th frame's pixels on the reference.
func (b *blending) frame(i int, p Pixels) (*laid, Used) {
	w, _ := p.Size()
	k := float64(w) / float64(b.workW[i])
	move := b.moves[i]
	move.DX, move.DY = move.DX*k, move.DY*k
	gain := gainOf(b.small[b.reference], b.small[i], b.moves[i], b.workW[i])
	return lay(p, move, gain), Used{Name: b.sources[i].Name, Move: move, Gain: gain}
}

// fuse adds every frame to the pyramid, each decoded while the one before is worked on.
func (b *blending) fuse(ctx context.Context, r *Result, step func(int)) error {
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
				return session.Fail("%s, which the others are laid on: %s", s.Name, err)
			}
			r.LeftOut = append(r.LeftOut, LeftOut{s.Name, err})
			step(fuseSteps)
			continue
		}
		if b.fuser == nil {
			b.fuser = newFuser(w, h, r.Character)
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
	return ctx.Err()
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

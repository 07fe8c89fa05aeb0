package blend

import (
	"stillbench/session/align"
	"stillbench/session/plane"
)

// Proof is a blend at preview size that takes in one frame after the other: adding one
// costs one, however many there are. It is not safe for use by several goroutines at once.
//
// Frames are laid on the first; what Run makes of the same frames lies on the middle one.
type Proof struct {
	character Character
	chain     align.Chain
	fuser     *fuser
	first     small
	lies      []*Lie // of every picture that was given to Add; nil for those left out
}

// NewProof begins a proof of a character.
func NewProof(c Character) *Proof { return &Proof{character: c} }

// Add takes in the next frame, as stored (before orientation); the picture is not kept. The
// error is ErrSize or ErrUnlaid when it cannot lie on the others: it is then left out.
func (p *Proof) Add(pic *plane.RGB) error {
	l, err := p.add(pic)
	p.lies = append(p.lies, l)
	return err
}

func (p *Proof) add(pic *plane.RGB) (*Lie, error) {
	if pic == nil || pic.W < 1 || pic.H < 1 {
		return nil, ErrSize
	}
	s := smallOf(pic)
	if p.fuser == nil {
		p.chain.Add(align.Prepare(pic.Luma()))
		p.fuser, p.first = newFuser(pic.W, pic.H, p.character), s
		p.fuser.depth = newDepthFinder(p.fuser)
		p.fuser.add(lay(Pixels{RGB: pic}, plane.Identity, [3]float32{1, 1, 1}))
		return &Lie{plane.Identity, [3]float32{1, 1, 1}}, nil
	}
	if pic.W != p.fuser.w || pic.H != p.fuser.h {
		return nil, ErrSize
	}
	p.chain.Add(align.Prepare(pic.Luma()))
	n := p.chain.Len()
	moves, aligned := align.Solve(n, 0, p.chain.Links)
	if !aligned[n-1] {
		return nil, ErrUnlaid
	}
	l := Lie{moves[n-1], gainOf(p.first, s, moves[n-1], pic.W)}
	p.fuser.add(lay(Pixels{RGB: pic}, l.Move, l.Gain))
	return &l, nil
}

// Rest gives back the memory that only Add needs; the next Add takes it anew.
func (p *Proof) Rest() {
	if p.fuser != nil {
		p.fuser.strips.init(p.fuser.levels, p.fuser.strips.reach)
		p.fuser.whole.init(p.fuser.levels, p.fuser.whole.reach)
	}
}

// Frames is how many frames the proof is made of.
func (p *Proof) Frames() int {
	if p.fuser == nil {
		return 0
	}
	return p.fuser.count
}

// Picture is the blend so far, as stored (before orientation); nil before the first frame.
func (p *Proof) Picture() *plane.RGB {
	if p.fuser == nil {
		return nil
	}
	rgb := p.fuser.picture()
	out := plane.NewRGB(p.fuser.w, p.fuser.h)
	plane.Share(out.H, func(y0, y1 int) {
		for c := range rgb {
			for i := y0 * out.W; i < y1*out.W; i++ {
				out.Pix[3*i+c] = uint8(min(max(rgb[c].Pix[i], 0), 1)*255 + 0.5)
			}
		}
	})
	return out
}

// Depth is the depth map so far; nil before the first frame.
func (p *Proof) Depth() *Depth {
	if p.fuser == nil || p.fuser.depth == nil {
		return nil
	}
	return p.fuser.depth.result()
}

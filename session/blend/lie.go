package blend

import (
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

// Lie is how a frame lies on a proof, in pixels of the proof.
type Lie struct {
	// Move takes a place in the proof to its place in the frame, from the centres.
	Move plane.Similarity
	// Gain is what R, G and B are multiplied by.
	Gain [3]float32
}

// Lie is how the i-th picture given to Add (from 0) lies on the proof; ok is false for one that
// was left out.
func (p *Proof) Lie(i int) (l Lie, ok bool) {
	if i < 0 || i >= len(p.lies) || p.lies[i] == nil {
		return l, false
	}
	return *p.lies[i], true
}

// Lay gives a frame of the proof's size as it lies on the proof, and where it has a picture
// there: 1 inside, 0 outside; nil means everywhere.
func (l Lie) Lay(pic *plane.RGB) (*plane.RGB, *plane.Plane) {
	rgb, cover := lay(Pixels{RGB: pic}, l.Move, l.Gain).rows(0, pic.H)
	out := plane.NewRGB(pic.W, pic.H)
	for c, p := range rgb {
		for i, v := range p.Pix {
			out.Pix[3*i+c] = uint8(min(max(v, 0), 1)*255 + 0.5)
		}
	}
	return out, cover
}

// Touch fades a frame of the proof's size into a picture of the proof where a touch says, whose
// area lies on the proof.
func (l Lie) Touch(out, pic *plane.RGB, t session.Touch) {
	put(out.Pix, out.W, out.H, lay(Pixels{RGB: pic}, l.Move, l.Gain), t)
}

// FromProof takes an area on a proof of w x h pixels to where it lies on the frame, and ToProof
// back. Corners beyond the picture's edges are moved in to them.
func (l Lie) FromProof(a session.Area, w, h int) session.Area { return moved(a, l.Move, w, h) }

// ToProof takes an area on the frame to where it lies on the proof.
func (l Lie) ToProof(a session.Area, w, h int) session.Area { return moved(a, l.Move.Inverse(), w, h) }

func moved(a session.Area, s plane.Similarity, w, h int) session.Area {
	out := slices.Clone(a)
	for i, p := range a {
		x, y := s.Apply((p[0]-0.5)*float64(w), (p[1]-0.5)*float64(h))
		out[i] = [2]float64{min(max(x/float64(w)+0.5, 0), 1), min(max(y/float64(h)+0.5, 0), 1)}
	}
	return out
}

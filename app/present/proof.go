package present

import (
	"fmt"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Proof is the proof of a stack as it is shown: zero when there is none.
type Proof struct {
	Key   string // names the picture
	Of    string // "of 7 frames", "of 7 of 9 frames"
	Lines []string
	// W x H is its upright size.
	W, H int
}

// Note says it all in one line.
func (p Proof) Note() string {
	if len(p.Lines) == 0 {
		return ""
	}
	return strings.Join(p.Lines[1:], ", ")
}

// ProofOf says what the proof of a group is made of.
func ProofOf(s *desk.Snapshot, group int64) Proof { return open(s).proof(group) }

func (b book) proof(group int64) Proof {
	p, ok := b.Proofs[group]
	if !ok || len(p.Frames) == 0 {
		return Proof{}
	}
	out := Proof{Key: p.Key, W: p.W, H: p.H}
	if p.Turn >= 5 && p.Turn <= 8 {
		out.W, out.H = p.H, p.W
	}
	in := len(p.Frames)
	for i := range b.Groups {
		if b.Groups[i].ID != group {
			continue
		}
		in, _ = b.in(b.Groups[i])
		out.Lines = append(out.Lines, words.Lower(fmt.Sprintf(words.StackF, b.stackNo[i])))
	}
	out.Of = fmt.Sprintf(words.ProofOfF, Frames(len(p.Frames)))
	if in > len(p.Frames) {
		out.Of = fmt.Sprintf(words.ProofOfOfF, len(p.Frames), Frames(in))
	}
	out.Lines = append(out.Lines, out.Of)
	if left := b.numbers(group, p.LeftOut); len(left) > 0 {
		out.Lines = append(out.Lines, fmt.Sprintf(words.ProofLeftF, List(left)))
	}
	if p.Touches > 0 {
		out.Lines = append(out.Lines, Count(p.Touches, words.TouchOne, words.TouchMany))
	}
	return out
}

// numbers gives the numbers of frames within their stack.
func (b book) numbers(group int64, left []session.ProofLeft) (out []string) {
	for i := range b.Groups {
		if b.Groups[i].ID != group {
			continue
		}
		for n, fp := range b.Groups[i].Frames {
			for _, l := range left {
				if l.Fingerprint == fp {
					out = append(out, strconv.Itoa(n+1))
				}
			}
		}
	}
	return out
}

package focus

import (
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

// Two things speak for movement. A blur over all of the picture explains a frame that no place
// does (loss.go): but the law of blur is not quite that of every texture, so that many frames seem the
// better for a blur, and the gain is counted in spreads of the others' (the modified z-score of B. Iglewicz and
// D. Hoaglin, "How to detect and handle outliers", 1993), which are taken for the wider, the worse the law describes
// the stack's tiles. And detail is lacking along one direction (smear.go), which tells nothing of a shake without any.
// The two are fused into the odds that the frame is blurred, by logistic regression (D. R. Cox, "The regression analysis
// of binary sequences", J. R. Stat. Soc. B 20, 1958).

// terms are what the odds are a weighted sum of.
type terms [3]float64

// oddsOf are the weights, learned from about a hundred made-up stacks of up to 20 frames: set-ups on a table, sound ones of seeds 93000 to
// 93023 and flawed ones of 93036 to 93065, reliefs of 93100 to 93129, and others as dark and as striped. Left out were the sound
// frames of stacks with a blurred one, which are judged without that. TestFit makes such weights anew.
var oddsOf = terms{
	-5.86, // always
	3.56,  // ln(1 + spreads by which the gain of a blur is beyond the others')
	0.84,  // standard deviations by which a smear explains more: the root of its gain
}

const (
	// lossError is what a gain is wrong by where all others gain nothing, and the tiles' misfit is the usual.
	lossError = 0.02
	// endsWider is how many times wider the gains of the first and the last frame in depth spread, for blurs of less than pastAnEnd circles
	// of confusion.
	endsWider = 2
	pastAnEnd = 2
	// mostSigmas is how many standard deviations of a smear count.
	mostSigmas = 10
)

// A blurred frame that is missed costs the picture, a false one a minute: say twenty to one, and a frame is to be
// looked at from odds of one to twenty. But a stack has many frames, and an alarm that is false in every tenth
// stack is not believed: it is said from one to four, where three sound frames in a thousand are called
// blurred. What rests on the frame is another matter: without a sound one at its end a stack would be
// called open. It is left out from even odds.
var (
	oddsMayBe = math.Log(1.0 / 20)
	oddsSaid  = math.Log(1.0 / 4)
	oddsOut   = 0.0
)

// blurOf is the evidence for one frame.
type blurOf struct {
	loss  loss
	smear smear
	odds  float64 // logarithm of the odds that it is blurred
}

// usualLoss is what a blur explains of the other frames: medians, and the spread of the gain.
type usualLoss struct{ blur, gain, spread float64 }

// usual is taken over all frames but i that are not left out; no blur and no gain where there are fewer than two. What stands at an end of the stack
// no other frame holds from its far side, so that a frame focused a little past it looks much as one that is a little blurred: gains there spread
// the wider.
func (p *places) usual(all []blurOf, i int) (u usualLoss) {
	u.spread = lossError * max(1, p.misfits())
	if first, last := p.ends(); (p.s[i] <= first || p.s[i] >= last) && all[i].loss.blur < pastAnEnd*p.circle {
		u.spread *= endsWider
	}
	var blur, gain []float64
	for k := range all {
		if k != i && !p.skip[k] {
			blur, gain = append(blur, all[k].loss.blur), append(gain, all[k].loss.gain)
		}
	}
	if len(gain) < 2 {
		return u
	}
	u.blur, u.gain = median(blur), median(gain)
	for k, g := range gain {
		gain[k] = math.Abs(g - u.gain)
	}
	u.spread += 1.4826 * median(gain)
	return u
}

// misfits is how much worse than usual the tiles are explained, the median one.
func (p *places) misfits() float64 {
	var all []float64
	for k := range p.ev.tiles {
		if f := &p.ev.tiles[k].fit; f.ok {
			all = append(all, f.cost)
		}
	}
	if len(all) == 0 {
		return 1
	}
	return median(all)
}

// terms are those of a frame of which a working pixel is full full-size ones.
func (b *blurOf) terms(u usualLoss, full float64) terms {
	t := terms{1, 0, 0}
	if b.loss.blur > u.blur {
		t[1] = math.Log1p(max((b.loss.gain-u.gain)/u.spread, 0))
	}
	if b.smear.length*full > smearFullSize {
		t[2] = min(math.Sqrt(max(b.smear.gain, 0)), mostSigmas)
	}
	return t
}

// weigh fuses them, by weights.
func (t terms) weigh(by terms) (odds float64) {
	for k := range t {
		odds += by[k] * t[k]
	}
	return odds
}

// blurs gathers the evidence for all frames that are not left out, and the drift.
func (s *Stack) blurs(a *analysis) ([]blurOf, drift) {
	p := a.places
	all := make([]blurOf, p.ev.n)
	smears, drift := s.smears(a)
	plane.Share(p.ev.n, func(from, to int) {
		for i := from; i < to; i++ {
			if all[i].smear = smears[i]; p.ev.n > 2 && !p.skip[i] {
				all[i].loss = p.lossOf(i)
			}
		}
	})
	return all, drift
}

// tellBlurred finds the frames that movement blurred, the worst first: it must not be leant on when the
// others are judged. They are left out of the fit, where that is likelier than not, and put where their
// detail says.
func (s *Stack) tellBlurred(c *session.Check, a *analysis) {
	p := a.places
	n := p.ev.n
	if n < 2 {
		return
	}
	full := func(i int) float64 { return s.frames[a.in[i]].full }
	found := map[int]blurOf{}
	first := make([]float64, n) // odds at the first look
	for round := range n/3 + 1 {
		all, drift := s.blurs(a)
		worst := -1
		for i := range all {
			if p.skip[i] {
				continue
			}
			all[i].odds = all[i].terms(p.usual(all, i), full(i)).weigh(oddsOf)
			// What shows only once another frame is out is not this one's: it has become the end of
			// the stack, and what lies past an end is known the less.
			if round == 0 {
				first[i] = all[i].odds
			}
			if first[i] > oddsMayBe && all[i].odds > oddsSaid && (worst < 0 || all[i].odds > all[worst].odds) {
				worst = i
			}
		}
		if worst < 0 {
			break
		}
		before := p.clone()
		skip := slices.Clone(p.skip)
		skip[worst] = true
		usual := p.usual(all, worst)
		p.leaveOut(skip)
		// The others may have stood wrong because of it, or it because of them.
		again := blurOf{smear: s.smearAgain(a, &drift, worst)}
		if n > 2 {
			again.loss = p.lossOf(worst)
		}
		again.odds = again.terms(usual, full(worst)).weigh(oddsOf)
		said := again.odds > oddsSaid
		if said {
			found[worst] = again
		}
		if !said || first[worst] < oddsOut {
			first[worst] = math.Inf(-1) // it has been judged
			*p = *before
		}
	}
	for i, b := range found {
		f := &c.Frames[a.in[i]]
		f.Blurred = true
		length := smearAsDisc * b.loss.blur
		if b.smear.gain > sq(smearSigmas) {
			length, f.BlurDegrees = max(length, b.smear.length), b.smear.angle
		}
		f.BlurPixels = length * full(i)
		if n > 2 && p.skip[i] {
			p.s[i] = b.loss.place
		}
	}
	if slices.Contains(p.skip, true) {
		p.sort()
		p.finish()
	}
}

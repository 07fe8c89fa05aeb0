package focus

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stillbench/session"
)

// say puts the verdict into words: a headline that is read from two metres, and what to do
// with hand and ring. Frames go by Frame.Number. oriented tells that it is known which end is near; where it is not, the words
// must hold for either. doubt is a depth between two frames in which something may stand as well as not.
func (s *Stack) say(c *session.Check, oriented bool, doubt *session.Gap) {
	switch c.Verdict {
	case session.VerdictTooFew:
		c.Sure = true
		c.Headline = session.Say("One frame is no stack.")
		c.Advice = session.Say("Move the focus a little and shoot the next frame.")
		if len(c.Frames) == 0 {
			c.Headline = session.Say("No frame yet.")
			c.Advice = session.Say("Focus on the nearest part of the subject and shoot the first frame.")
		}
	case session.VerdictBlurred:
		c.Sure = true
		s.sayBlurred(c)
	case session.VerdictGap:
		c.Sure = true
		g := c.Gaps[0]
		x, y := s.number(g.After), s.number(g.Before)
		c.Headline = session.Say("Fill in between %d and %d.", min(x, y), max(x, y))
		c.Advice = session.Say("Set the focus between frames %d and %d and shoot at least one frame there.", min(x, y), max(x, y))
		if len(c.Gaps) > 1 {
			c.Headline = session.Say("Fill in %d gaps, the first between %d and %d.", len(c.Gaps), min(x, y), max(x, y))
			c.Advice = session.Say("The steps are too wide: shoot the stack again with smaller ones, or put a frame into each gap.")
		}
	case session.VerdictNearOpen, session.VerdictFarOpen:
		c.Sure = true
		s.sayOpen(c, oriented)
	case session.VerdictUnsteady:
		c.Sure = true
		s.sayUnsteady(c)
	case session.VerdictUndecided:
		c.Headline = session.Say("Undecided.")
		c.Advice = session.Say("Too little detail to tell whether the stack is complete: look at the frames yourself before anything moves.")
		if slices.ContainsFunc(c.Frames, func(f session.FrameCheck) bool { return f.Place != nil }) { // of some it can be told
			c.Advice = session.Say("Of many parts the depth cannot be told, in noise or by a regular pattern: look at the frames yourself before anything moves.")
		}
		if doubt != nil {
			x, y := s.number(doubt.After), s.number(doubt.Before)
			c.Advice = session.Say("Little seems to stand at the depths between frames %d and %d, and what does is sharp in neither: look there yourself, or shoot a frame with the focus between them.", min(x, y), max(x, y))
		}
		if n := s.apart(c); len(n) > 0 && len(c.NeverSharp) > 0 { // there is detail, but not on each other
			s.sayApart(c, n)
		}
	case session.VerdictCovered:
		c.Sure = true
		c.Headline = session.Say("Free to move.")
		c.Advice = session.Say("Every depth of the subject is sharp in one frame or another.")
	}
	if n := s.apart(c); len(n) > 0 && c.Verdict != session.VerdictUndecided {
		c.Sure = false
		out := session.Say("%d frames do not lie on the others and were left out: set them aside.", len(n))
		if len(n) == 1 {
			out = session.Say("Frame %d does not lie on the others and was left out: set it aside.", n[0])
		}
		c.Advice = c.Advice.And(out)
	}
	s.sayMoved(c)
	sayClipped(c)
}

// sayOpen says past which frame the subject goes on, and which way to turn the focus.
func (s *Stack) sayOpen(c *session.Check, oriented bool) {
	far := c.Verdict == session.VerdictFarOpen
	number := s.extreme(c, far)
	switch {
	case !oriented:
		c.Headline = session.Say("Go on past frame %d.", number)
		c.Advice = session.Say("The subject goes on past frame %d: turn the focus on from there, away from the other frames, a step at a time, until its last part is sharp. The frames do not tell whether that is its near end or its far one.", number)
	case far:
		c.Headline = session.Say("Go on farther.")
		c.Advice = session.Say("The subject goes on behind frame %d: turn the focus farther, a step at a time, until its farthest part is sharp.", number)
	default:
		c.Headline = session.Say("Start nearer.")
		c.Advice = session.Say("The subject goes on nearer than frame %d: turn the focus nearer, a step at a time, until its nearest part is sharp.", number)
	}
}

// sayBlurred names the first blurred frame that is to be shot again; one that was, by its double.
func (s *Stack) sayBlurred(c *session.Check) {
	first, double := -1, -1
	for i, f := range c.Frames {
		if !f.Blurred {
			continue
		}
		d := shotAgain(c, i)
		if first < 0 || d < 0 {
			first, double = i, d
		}
		if d < 0 {
			break
		}
	}
	n, pixels := s.frames[first].number, int(math.RoundToEven(c.Frames[first].BlurPixels))
	if double >= 0 {
		c.Headline = session.Say("Set frame %d aside.", n)
		c.Advice = session.Say("Frame %d is blurred by movement, about %d pixels; frame %d holds the same focus.", n, pixels, s.frames[double].number)
		return
	}
	c.Headline = session.Say("Shoot frame %d again.", n)
	c.Advice = session.Say("Frame %d is blurred by movement, about %d pixels: let everything come to rest and shoot it again at the same focus.", n, pixels)
}

// sayUnsteady names the frame whose light or settings are not the others', or the first of several. One alone is shot again, or set aside
// where another was shot in its place; several are no picture.
func (s *Stack) sayUnsteady(c *session.Check) {
	var odd []int
	for i, f := range c.Frames {
		if f.LightDiffers || f.SettingsDiffer {
			odd = append(odd, i)
		}
	}
	first := odd[0]
	n := s.frames[first].number
	if len(odd) > 1 {
		c.Headline = session.Say("The light or the settings changed.")
		c.Advice = session.Say("%d frames differ from the others, the first is frame %d: set exposure by hand and shoot the stack again under steady light.", len(odd), n)
		return
	}
	if double := shotAgain(c, first); double >= 0 {
		c.Headline = session.Say("Set frame %d aside.", n)
		c.Advice = session.Say("The light or the settings of frame %d are not those of the others; frame %d holds the same focus.", n, s.frames[double].number)
		return
	}
	c.Headline = session.Say("Shoot frame %d again.", n)
	c.Advice = session.Say("The light on frame %d is not that on the others: let it be as before and shoot the frame again at the same focus.", n)
	if c.Frames[first].SettingsDiffer {
		c.Advice = session.Say("Frame %d was shot with other settings than the others: set them as before and shoot it again at the same focus.", n)
	}
}

// shotAgain is the index of the sound frame that was shot in place of frame i, which is blurred or otherwise spoilt, -1 if there is none:
// the next in time, where it lies no farther from the one before than the stack's frames do in
// general. (Where the blurred frame itself lies is less well known than that.)
func shotAgain(c *session.Check, i int) int {
	var sound []int
	for k := range c.Frames {
		if f := &c.Frames[k]; k != i && !f.Blurred && f.Aligned && f.Place != nil {
			sound = append(sound, k)
		}
	}
	var steps []float64
	after := -1
	step := func(k int) float64 {
		return math.Abs(*c.Frames[sound[k]].Place - *c.Frames[sound[k-1]].Place)
	}
	for k := 1; k < len(sound); k++ {
		if sound[k-1] < i && i < sound[k] {
			after = k
		} else {
			steps = append(steps, step(k))
		}
	}
	if after < 0 || len(steps) == 0 || step(after) > evenStep*median(steps) {
		return -1
	}
	return sound[after]
}

// evenStep is up to how many of the usual steps two frames lie a step apart.
const evenStep = 1.5

// Of the picture, in the median frame: from where clipping is told, and below which part of it
// another channel's does not count.
const (
	clippedShare = 0.01
	clippedOther = 1.0 / 3
)

// sayClipped adds which channel clips long before the others: a saturated yellow or red loses its
// detail while the picture as a whole does not look too bright.
func sayClipped(c *session.Check) {
	if len(c.Frames) == 0 {
		return
	}
	var share [3]float64
	for k := range share {
		var all []float64
		for _, f := range c.Frames {
			all = append(all, f.Clipped[k])
		}
		share[k] = median(all)
	}
	for k, name := range [...]session.Text{session.Say("red"), session.Say("green"), session.Say("blue")} {
		a, b := share[(k+1)%3], share[(k+2)%3]
		if share[k] > clippedShare && min(a, b) < clippedOther*share[k] && share[k] >= max(a, b) {
			c.Advice = c.Advice.And(session.Say("Only %s clips, in %d %% of the picture: a little less exposure keeps its detail.", name, int(math.RoundToEven(100*share[k]))))
			return
		}
	}
}

// sayMoved adds which frame a part of the subject moved in.
func (s *Stack) sayMoved(c *session.Check) {
	var moved []int
	for i, f := range c.Frames {
		if f.Moved {
			moved = append(moved, s.frames[i].number)
		}
	}
	switch {
	case len(moved) == 0:
		return
	case len(moved) == 1:
		c.Advice = c.Advice.And(session.Say("A part of the subject moved before frame %d: look there first.", moved[0]))
	default:
		c.Advice = c.Advice.And(session.Say("Parts of the subject moved before frame %d and %d more: look there first.", moved[0], len(moved)-1))
	}
	if c.Verdict == session.VerdictCovered {
		c.Sure = false
	}
}

// sayApart says how many frames do not lie on the others, which, and what to do about it.
func (s *Stack) sayApart(c *session.Check, numbers []int) {
	if len(c.Frames) == 2 {
		c.Headline = session.Say("Frames %d and %d do not lie on each other.", s.frames[0].number, s.frames[1].number)
		c.Advice = session.Say("Undecided: the camera or the subject was moved between them, or they are of two stacks. Shoot both again with the camera held fast.")
		return
	}
	if len(numbers) == 1 {
		c.Headline = session.Say("Frame %d does not lie on the others.", numbers[0])
		c.Advice = session.Say("Undecided: the camera or the subject was moved. Set frame %d aside, or shoot it again with the camera held fast.", numbers[0])
		return
	}
	c.Headline = session.Say("%d frames do not lie on the others.", len(numbers))
	c.Advice = session.Say("Undecided: the camera or the subject was moved. Set %s aside, or shoot them again with the camera held fast.", listed(numbers))
}

// apart lists the numbers of the frames that do not lie on the others.
func (s *Stack) apart(c *session.Check) (numbers []int) {
	for i, f := range c.Frames {
		if !f.Aligned {
			numbers = append(numbers, s.frames[i].number)
		}
	}
	return numbers
}

// listed is "frames 4 and 6", "frames 4, 6 and 7", or "frames 4, 6, 7 and 3 more".
func listed(n []int) session.Text {
	const most = 4
	if len(n) > most {
		return session.Say("frames %s and %d more", commas(n[:most-1]), len(n)-most+1)
	}
	return session.Say("frames %s and %d", commas(n[:len(n)-1]), n[len(n)-1])
}

func commas(n []int) string {
	var all []string
	for _, v := range n {
		all = append(all, fmt.Sprint(v))
	}
	return strings.Join(all, ", ")
}

func (s *Stack) number(fingerprint string) int {
	for _, f := range s.frames {
		if f.fingerprint == fingerprint {
			return f.number
		}
	}
	return 0
}

// extreme is the number of the nearest or farthest frame.
func (s *Stack) extreme(c *session.Check, far bool) int {
	best := 0
	for i, f := range c.Frames {
		if f.Place == nil {
			continue
		}
		if b := c.Frames[best].Place; b == nil || (far && *f.Place > *b) || (!far && *f.Place < *b) {
			best = i
		}
	}
	return s.frames[best].number
}

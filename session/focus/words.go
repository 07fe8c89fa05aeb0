package focus

import (
	"fmt"
	"math"
	"strings"

	"stillbench/session"
)

// say puts the verdict into words: a headline that is read from two metres, and what to do
// with hand and ring. Frames go by Frame.Number.
func (s *Stack) say(c *session.Check) {
	switch c.Verdict {
	case session.VerdictTooFew:
		c.Sure = true
		c.Headline = "One frame is no stack."
		c.Advice = "Move the focus a little and shoot the next frame."
		if len(c.Frames) == 0 {
			c.Headline = "No frame yet."
			c.Advice = "Focus on the nearest part of the subject and shoot the first frame."
		}
	case session.VerdictBlurred:
		c.Sure = true
		s.sayBlurred(c)
	case session.VerdictGap:
		c.Sure = true
		g := c.Gaps[0]
		x, y := s.number(g.After), s.number(g.Before)
		c.Headline = fmt.Sprintf("Fill in between %d and %d.", min(x, y), max(x, y))
		c.Advice = fmt.Sprintf("Set the focus between frames %d and %d and shoot at least one frame there.", min(x, y), max(x, y))
		if len(c.Gaps) > 1 {
			c.Headline = fmt.Sprintf("Fill in %d gaps, the first between %d and %d.", len(c.Gaps), min(x, y), max(x, y))
			c.Advice = "The steps are too wide: shoot the stack again with smaller ones, or put a frame into each gap."
		}
	case session.VerdictNearOpen:
		c.Sure = true
		c.Headline = "Start nearer."
		c.Advice = fmt.Sprintf("The subject goes on nearer than frame %d: turn the focus nearer, a step at a time, until its nearest part is sharp.", s.extreme(c, false))
	case session.VerdictFarOpen:
		c.Sure = true
		c.Headline = "Go on farther."
		c.Advice = fmt.Sprintf("The subject goes on behind frame %d: turn the focus farther, a step at a time, until its farthest part is sharp.", s.extreme(c, true))
	case session.VerdictUnsteady:
		c.Sure = true
		c.Headline = "The light or the settings changed."
		c.Advice = "Set exposure by hand and shoot the stack again under steady light."
	case session.VerdictUndecided:
		c.Headline = "Undecided."
		c.Advice = "Too little detail to tell whether the stack is complete: look at the frames yourself before anything moves."
		if n := s.apart(c); len(n) > 0 && len(c.NeverSharp) > 0 { // there is detail, but not on each other
			s.sayApart(c, n)
		}
	case session.VerdictCovered:
		c.Sure = true
		c.Headline = "Free to move."
		c.Advice = "Every depth of the subject is sharp in one frame or another."
	}
	if n := s.apart(c); len(n) > 0 && c.Verdict != session.VerdictUndecided {
		c.Sure = false
		c.Advice += fmt.Sprintf(" %s not lie on the others and %s left out: set %s aside.", doFrames(n), wasOrWere(n), itOrThem(n))
	}
	s.sayMoved(c)
	sayClipped(c)
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
	n, pixels := s.frames[first].number, c.Frames[first].BlurPixels
	if double >= 0 {
		c.Headline = fmt.Sprintf("Set frame %d aside.", n)
		c.Advice = fmt.Sprintf("Frame %d is blurred by movement, about %.0f pixels; frame %d holds the same focus.", n, pixels, s.frames[double].number)
		return
	}
	c.Headline = fmt.Sprintf("Shoot frame %d again.", n)
	c.Advice = fmt.Sprintf("Frame %d is blurred by movement, about %.0f pixels: let everything come to rest and shoot it again at the same focus.", n, pixels)
}

// shotAgain is the index of the sound frame that was shot in place of frame i, -1 if there is none:
// the next in time, where it lies no farther from the one before than the stack's frames do in
// general. (Where the blurred frame itself lies is less well known than that.)
func shotAgain(c *session.Check, i int) int {
	var sound []int
	for k := range c.Frames {
		if f := &c.Frames[k]; !f.Blurred && f.Aligned && f.Place != nil {
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
	for k, name := range [...]string{"red", "green", "blue"} {
		a, b := share[(k+1)%3], share[(k+2)%3]
		if share[k] > clippedShare && min(a, b) < clippedOther*share[k] && share[k] >= max(a, b) {
			c.Advice += fmt.Sprintf(" Only %s clips, in %.0f %% of the picture: a little less exposure keeps its detail.", name, 100*share[k])
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
		c.Advice += fmt.Sprintf(" A part of the subject moved before frame %d: look there first.", moved[0])
	default:
		c.Advice += fmt.Sprintf(" Parts of the subject moved before frame %d and %d more: look there first.", moved[0], len(moved)-1)
	}
	if c.Verdict == session.VerdictCovered {
		c.Sure = false
	}
}

// sayApart says how many frames do not lie on the others, which, and what to do about it.
func (s *Stack) sayApart(c *session.Check, numbers []int) {
	if len(c.Frames) == 2 {
		c.Headline = fmt.Sprintf("Frames %d and %d do not lie on each other.", s.frames[0].number, s.frames[1].number)
		c.Advice = "Undecided: the camera or the subject was moved between them, or they are of two stacks. Shoot both again with the camera held fast."
		return
	}
	c.Headline = fmt.Sprintf("%s not lie on the others.", doFrames(numbers))
	c.Advice = fmt.Sprintf("Undecided: the camera or the subject was moved. Set %s aside, or shoot %s again with the camera held fast.", listed(numbers), itOrThem(numbers))
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

// doFrames is "Frame 4 does" or "3 frames do".
func doFrames(n []int) string {
	if len(n) == 1 {
		return fmt.Sprintf("Frame %d does", n[0])
	}
	return fmt.Sprintf("%d frames do", len(n))
}

// listed is "frame 4", "frames 4 and 6", "frames 4, 6 and 7", or "frames 4, 6, 7 and 3 more".
func listed(n []int) string {
	const most = 4
	switch {
	case len(n) == 1:
		return fmt.Sprintf("frame %d", n[0])
	case len(n) > most:
		return fmt.Sprintf("frames %s and %d more", commas(n[:most-1]), len(n)-most+1)
	}
	return fmt.Sprintf("frames %s and %d", commas(n[:len(n)-1]), n[len(n)-1])
}

func commas(n []int) string {
	var all []string
	for _, v := range n {
		all = append(all, fmt.Sprint(v))
	}
	return strings.Join(all, ", ")
}

func itOrThem(n []int) string {
	if len(n) == 1 {
		return "it"
	}
	return "them"
}

func wasOrWere(n []int) string {
	if len(n) == 1 {
		return "was"
	}
	return "were"
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

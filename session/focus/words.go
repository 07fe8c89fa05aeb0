package focus

import (
	"fmt"

	"stillbench/session"
)

// say puts the verdict into words: a headline that is read from two metres, and what to do
// with hand and ring. Frames go by their number in the stack, counted from 1.
func (s *Stack) say(c *session.Check, a *analysis) {
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
		for i, f := range c.Frames {
			if f.Blurred {
				c.Headline = fmt.Sprintf("Shoot frame %d again.", i+1)
				c.Advice = fmt.Sprintf("Frame %d is smeared by movement, about %.0f pixels: let everything come to rest and shoot it again at the same focus.", i+1, f.BlurPixels)
				break
			}
		}
	case session.VerdictGap:
		c.Sure = true
		g := c.Gaps[0]
		x, y := s.number(g.After), s.number(g.Before)
		c.Headline = fmt.Sprintf("Gap between frames %d and %d.", min(x, y), max(x, y))
		c.Advice = fmt.Sprintf("Set the focus between frames %d and %d and shoot at least one frame there.", min(x, y), max(x, y))
	case session.VerdictNearOpen:
		c.Sure = true
		c.Headline = "The near end is open."
		c.Advice = fmt.Sprintf("The subject goes on nearer than frame %d: turn the focus nearer, a step at a time, until its nearest part is sharp.", s.extreme(c, false))
	case session.VerdictFarOpen:
		c.Sure = true
		c.Headline = "The far end is open."
		c.Advice = fmt.Sprintf("The subject goes on behind frame %d: turn the focus farther, a step at a time, until its farthest part is sharp.", s.extreme(c, true))
	case session.VerdictUnsteady:
		c.Sure = true
		c.Headline = "The light or the settings changed."
		c.Advice = "Set exposure by hand and shoot the stack again under steady light."
	case session.VerdictCovered:
		c.Sure = c.NearEnd == session.EndClosed && c.FarEnd == session.EndClosed
		c.Headline = "Covered."
		c.Advice = "Every depth of the subject is sharp in one frame: free to move on."
		if !c.Sure {
			c.Headline = "Undecided."
			c.Advice = "Too little detail to tell whether the stack is complete: look at the frames yourself before anything moves."
		}
	}
}

func (s *Stack) number(fingerprint string) int {
	for i, f := range s.frames {
		if f.fingerprint == fingerprint {
			return i + 1
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
	return best + 1
}

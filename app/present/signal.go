package present

import (
	"fmt"

	"stillbench/session"
	"stillbench/session/desk"
)

// Signal is what is worth being heard away from the screen.
type Signal uint8

// The signals.
const (
	SignalNone  Signal = iota
	SignalAgain        // something of the open stack is to be shot again
	SignalFree         // the stack is covered: free to move
)

// SignalOf gives the signal of a snapshot, and what it is about: the same text again is no news.
// A far end that is still open is none: that is how every stack begins.
func SignalOf(s *desk.Snapshot) (signal Signal, about string) {
	i := s.GroupOf(s.Newest)
	if s.LastArrival.IsZero() || i < 0 || s.Groups[i].Kind != session.KindStack {
		return SignalNone, ""
	}
	c := s.Checks[s.Groups[i].ID]
	if c == nil {
		return SignalNone, ""
	}
	switch c.Verdict {
	case session.VerdictCovered:
		if !c.Sure {
			return SignalNone, ""
		}
		signal = SignalFree
	case session.VerdictBlurred, session.VerdictGap, session.VerdictUnsteady, session.VerdictNearOpen:
		signal = SignalAgain
	default:
		return SignalNone, ""
	}
	return signal, fmt.Sprint(s.Groups[i].ID, " ", c.Headline)
}

package handoff

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"stillbench/session"
)

// Session is what is handed on: the state of a session at one moment.
type Session struct {
	// Dir is the folder of the session, absolute.
	Dir string
	// Frames in time order, and Groups that cover them.
	Frames []session.Frame
	Groups []session.Group
	Setups []session.Setup
	// Checks holds the verdict on each stack that has one, Wanted what must be sharp in it
	// where that is not all of it, by Group.ID.
	Checks map[int64]*session.Check
	Wanted map[int64]session.Area
	// Proofs and Touches hold the proof of each stack that has one, and the changes that the
	// photographer made to its blend, by Group.ID.
	Proofs  map[int64]session.Proof
	Touches map[int64][]session.Touch
	// Words says in the photographer's language what people read: names of folders, the contact
	// sheet, sidecars. nil is English; so is, in any language, what programs read.
	Words func(session.Text) string `json:"-"`
}

func (s Session) say(t session.Text) string {
	if s.Words == nil {
		return t.String()
	}
	return s.Words(t)
}

// Stack is one group of a session with all that is known of it. Groups of other kinds are
// handed on in the same form.
type Stack struct {
	ID   int64
	Kind session.Kind
	// Number counts the session's groups of this kind, from 1.
	Number int
	// Name is the photographer's, "" when the group has none.
	Name string
	// Frames in time order, those that are gone left out.
	Frames []session.Frame
	Setup  *session.Setup // nil when none was logged
	Check  *session.Check // nil when there is no verdict
	Wanted session.Area
	Proof  *session.Proof // nil when none was made
	// Touches are the changes to its blend, in their order.
	Touches []session.Touch

	words func(session.Text) string // as Session.Words
}

func (k Stack) say(t session.Text) string { return Session{Words: k.words}.say(t) }

// kind is what sort of group it is, for people.
func (k Stack) kind() string { return k.say(session.Text{Form: string(k.Kind)}) }

// light describes a light for people, as session.Light.Words does in English.
func (k Stack) light(l session.Light) string {
	out := k.say(session.Text{Form: string(l.Kind)})
	if l.Modifier != "" {
		out += ", " + l.Modifier
	}
	out += " " + k.say(session.Text{Form: string(l.Side())}) + " " + k.say(session.Text{Form: string(l.Height())})
	if l.DistanceCM != nil {
		out += fmt.Sprintf(" %.0f cm", *l.DistanceCM)
	}
	if l.Power != "" {
		out += " " + l.Power
	}
	return out
}

// frames says how many frames.
func frames(n int) session.Text {
	if n == 1 {
		return session.Say("%d frame", 1)
	}
	return session.Say("%d frames", n)
}

// Stacks gives the groups of one kind that still have a frame, in time order.
func (s Session) Stacks(kind session.Kind) []Stack {
	frames := make(map[string]session.Frame, len(s.Frames))
	for _, f := range s.Frames {
		frames[f.Fingerprint] = f
	}
	var out []Stack
	n := 0
	for _, g := range s.Groups {
		if g.Kind != kind {
			continue
		}
		n++
		k := Stack{ID: g.ID, Kind: kind, Number: n, Name: g.Name, Check: s.Checks[g.ID], Wanted: s.Wanted[g.ID], Touches: s.Touches[g.ID], words: s.Words}
		if p, ok := s.Proofs[g.ID]; ok {
			k.Proof = &p
		}
		for _, fp := range g.Frames {
			if f, ok := frames[fp]; ok && !f.Gone {
				k.Frames = append(k.Frames, f)
			}
		}
		if i := slices.IndexFunc(s.Setups, func(x session.Setup) bool { return x.ID == g.SetupID }); i >= 0 {
			k.Setup = &s.Setups[i]
		}
		if len(k.Frames) > 0 {
			out = append(out, k)
		}
	}
	return out
}

// Subject is what the stack shows: the photographer's name for it, else the setup's
// subject, "" when neither is known.
func (k Stack) Subject() string {
	if k.Name != "" {
		return k.Name
	}
	if k.Setup != nil {
		return k.Setup.Subject
	}
	return ""
}

// Title names the stack: "Stack 4 · pine cone".
func (k Stack) Title() string {
	title := capital(k.kind()) + " " + fmt.Sprint(k.Number)
	if s := k.Subject(); s != "" {
		title += " · " + strings.Join(strings.Fields(s), " ")
	}
	return title
}

func capital(s string) string {
	if s == "" {
		return s
	}
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}

// Kept are the stack's frames without those set aside.
func (k Stack) Kept() []session.Frame {
	return slices.DeleteFunc(slices.Clone(k.Frames), func(f session.Frame) bool { return f.SetAside })
}

// FrameCheck finds what was found of a frame; nil when nothing was.
func (k Stack) FrameCheck(fingerprint string) *session.FrameCheck {
	if k.Check == nil {
		return nil
	}
	for i := range k.Check.Frames {
		if k.Check.Frames[i].Fingerprint == fingerprint {
			return &k.Check.Frames[i]
		}
	}
	return nil
}

// Settings are f-number, shutter and ISO in words, "f/10 · 1/6 s · ISO 100", where all of
// the stack's frames have the same; what differs is left out.
func (k Stack) Settings() string {
	var out []string
	for _, of := range []func(session.Meta) string{aperture, shutter, iso, focal} {
		first := of(k.Frames[0].Meta)
		if first != "" && !slices.ContainsFunc(k.Frames, func(f session.Frame) bool { return of(f.Meta) != first }) {
			out = append(out, first)
		}
	}
	return strings.Join(out, " · ")
}

func aperture(m session.Meta) string {
	if m.FNumber == nil {
		return ""
	}
	return fmt.Sprintf("f/%g", round(*m.FNumber, 1))
}

func shutter(m session.Meta) string {
	if m.ShutterSeconds == nil {
		return ""
	}
	switch s := *m.ShutterSeconds; {
	case !(s > 0):
		return ""
	case s < 0.3:
		return fmt.Sprintf("1/%.0f s", 1/s)
	default:
		return fmt.Sprintf("%g s", round(s, 1))
	}
}

func iso(m session.Meta) string {
	if m.ISO == nil {
		return ""
	}
	return fmt.Sprintf("ISO %d", *m.ISO)
}

func focal(m session.Meta) string {
	if m.FocalLengthMM == nil {
		return ""
	}
	return fmt.Sprintf("%g mm", round(*m.FocalLengthMM, 1))
}

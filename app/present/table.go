package present

import (
	"fmt"
	"path/filepath"
	"strconv"
	"time"
	"unicode/utf8"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Quiet is how long nothing must have come before the Table says so instead of asking
// to hold still.
const Quiet = 5 * time.Minute

// TableMode says which drawing of the Table to show.
type TableMode uint8

// The drawings of the Table.
const (
	TableEmpty  TableMode = iota // no frame yet
	TableFrame                   // the newest frame, its ribbon, the setup
	TableTrials                  // the last test frames side by side
)

// Table is what the Table shows.
type Table struct {
	Sentence
	Mode TableMode
	// Read of Found files are read in; Found is 0 when nothing is waiting.
	Read, Found int
	// Frame is the newest frame.
	Frame Frame
	// Ribbon is of the group that holds the newest frame; RibbonName stands beside it.
	Ribbon     Ribbon
	RibbonName []string
	// Proof is that of the stack that holds the newest frame.
	Proof Proof
	// Setup is what stands on the table now.
	Setup  Setup
	Trials []Trial // the last test frames, oldest first, with TableTrials
}

// Frame is a frame and its caption.
type Frame struct {
	Fingerprint string   // "" when there is none
	Heading     string   // "Frame 9"
	Lines       []string // time, aperture, shutter, ISO, focal length as far as known
	Picture     bool     // false when no picture can be decoded
	Upright     bool     // stands upright
}

// Trial is one test frame of a light trial.
type Trial struct {
	Frame
	Key     string // "A"
	SetupID int64
	Setup   session.Setup // zero when none was logged
	Title   string        // the first light: "LED panel, diffuser"
	Where   []string      // one line a light, then the frame and its time
	Clipped string        // "nothing", "1.2 % of red"
}

// TableOf makes the Table of a snapshot; now is the time by the same clock as
// Snapshot.LastArrival.
func TableOf(s *desk.Snapshot, now time.Time) Table {
	b := open(s)
	t := Table{}
	if s.Read < s.Found {
		t.Read, t.Found = s.Read, s.Found
	}
	if n := len(s.Setups); n > 0 {
		t.Setup = SetupOf(s.Setups[n-1])
	} else {
		t.Setup = SetupOf(session.Setup{})
	}
	newest := b.frames[s.Newest]
	group := -1
	if newest != nil {
		group = s.GroupOf(s.Newest)
	}
	if newest == nil {
		t.Sentence = b.nothing(t)
		return t
	}
	t.Mode = TableFrame
	t.Frame = b.frame(newest, group)
	if group >= 0 {
		g := s.Groups[group]
		check := s.Checks[g.ID]
		t.Ribbon = b.ribbon(g, check, s.Newest)
		t.RibbonName = b.ribbonName(group, t.Ribbon)
		t.Proof = b.proof(g.ID)
		t.Trials = b.trials(group)
		if len(t.Trials) >= 2 {
			t.Mode = TableTrials
		}
	}
	t.Sentence = b.tableSentence(t, group, now)
	return t
}

// longNotice is how many letters of a notice the sentence takes, about two lines of it; longer ones
// are read on their own sheet.
const longNotice = 120

func (b book) nothing(t Table) Sentence {
	if t.Found > 0 {
		return Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.ReadingF, t.Read, t.Found), WhatToDo: words.ReadingAdvice}
	}
	if n := len(b.Notices); n > 0 {
		s := Sentence{Mark: MarkNotice, Headline: words.NothingYet, WhatToDo: Capital(Said(b.Notices[n-1].Sentence))}
		if utf8.RuneCountInString(s.WhatToDo) > longNotice {
			s.WhatToDo = words.NoticeLong
		}
		return s
	}
	return Sentence{Mark: MarkNothing, Headline: words.NothingYet, WhatToDo: fmt.Sprintf(words.NothingYetAdviceF, filepath.Base(b.Session.Dir))}
}

// tableSentence decides what the Table says, by urgency: files still to be read, the
// verdict on the open stack, a trial, then what the last frame was.
func (b book) tableSentence(t Table, group int, now time.Time) Sentence {
	if t.Found > 0 && b.LastArrival.IsZero() {
		return Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.ReadingF, t.Read, t.Found), WhatToDo: words.ReadingAdvice}
	}
	if group < 0 {
		return Sentence{}
	}
	g := b.Groups[group]
	switch {
	case t.Mode == TableTrials:
		return trialSentence(t.Trials)
	case g.Kind == session.KindStack:
		return b.stackSentence(group, now)
	case g.Kind == session.KindMarker:
		return Sentence{Mark: MarkHold, Headline: words.MarkerSeen, WhatToDo: words.MarkerAdvice}
	case g.Kind == session.KindTest:
		return Sentence{Mark: MarkTrial, Headline: words.TestSeen, WhatToDo: words.TestAdvice}
	}
	return Sentence{Mark: MarkHold, Headline: words.SingleSeen, WhatToDo: words.SingleAdvice}
}

// stackSentence is the verdict on the open stack, or without one how far it has come.
func (b book) stackSentence(group int, now time.Time) Sentence {
	g := b.Groups[group]
	in, aside := b.in(g)
	name := b.stackName(group)
	if c := b.Checks[g.ID]; c != nil {
		s := Sentence{Mark: MarkVerdict, Verdict: c.Verdict, Headline: Said(c.Headline), WhatToDo: Said(c.Advice)}
		if c.Verdict == session.VerdictBlurred {
			s.Number = b.firstBlurred(g, c)
		}
		if c.Verdict == session.VerdictCovered && c.Sure && len(b.Wanted[g.ID]) > 0 {
			s.WhatToDo = words.CoveredWithin
		}
		return s
	}
	count := Frames(in)
	switch {
	case b.LastArrival.IsZero():
		return Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.AsLeftF, name, count), WhatToDo: words.AsLeftAdvice}
	case now.Sub(b.LastArrival) >= Quiet:
		return Sentence{
			Mark: MarkHold, Headline: fmt.Sprintf(words.QuietF, Ago(now.Sub(b.LastArrival))),
			WhatToDo: fmt.Sprintf(words.QuietStackF, name, count),
		}
	case aside > 0:
		return Sentence{
			Mark: MarkHold, Headline: words.HoldStill,
			WhatToDo: fmt.Sprintf(words.HoldAsideF, name, count, Count(aside, words.AsideOne, words.AsideMany)),
		}
	}
	return Sentence{Mark: MarkHold, Headline: words.HoldStill, WhatToDo: fmt.Sprintf(words.HoldAdviceF, name, count)}
}

// firstBlurred is the number of the first blurred frame within its group.
func (b book) firstBlurred(g session.Group, c *session.Check) string {
	for _, f := range c.Frames {
		if !f.Blurred {
			continue
		}
		for i, fp := range g.Frames {
			if fp == f.Fingerprint {
				return strconv.Itoa(i + 1)
			}
		}
	}
	return ""
}

func (b book) ribbonName(group int, r Ribbon) []string {
	g := b.Groups[group]
	in, _ := b.in(g)
	switch {
	case g.Kind != session.KindStack:
		return nil
	case r.Measured:
		return []string{words.NearFar, Frames(in)}
	}
	return []string{words.InOrder, Frames(in)}
}

// frame is a frame's caption; group is the index of its group, or -1.
func (b book) frame(f *session.Frame, group int) Frame {
	out := Frame{Fingerprint: f.Fingerprint, Picture: f.Figures != nil, Lines: captionLines(f.Meta)}
	out.Upright, _ = f.Meta.Upright()
	out.Heading = b.frameName(f.Fingerprint, group)
	return out
}

func (b book) frameName(fp string, group int) string {
	if group < 0 {
		return words.SingleFrame
	}
	switch b.Groups[group].Kind {
	case session.KindMarker:
		return words.MarkerFrame
	case session.KindTest:
		return words.TestFrame
	case session.KindSingle:
		return words.SingleFrame
	}
	for i, other := range b.Groups[group].Frames {
		if other == fp {
			return fmt.Sprintf(words.FrameF, i+1)
		}
	}
	return words.SingleFrame
}

// captionLines are time, exposure and focal length, one line each.
func captionLines(m session.Meta) []string {
	when := Clock(m.Taken)
	if when == "" {
		when = words.TimeUnknown
	}
	return append(append([]string{when}, Exposure(m)...), known(Focal(m.FocalLengthMM))...)
}

// trials are the test frames at the end of the session, at most the last three; fewer
// when another kind of group stands between.
func (b book) trials(last int) []Trial {
	type at struct {
		fp    string
		group int
	}
	var found []at
	for i := last; i >= 0 && b.Groups[i].Kind == session.KindTest && len(found) < 3; i-- {
		frames := b.Groups[i].Frames
		for j := len(frames) - 1; j >= 0 && len(found) < 3; j-- {
			if f := b.frames[frames[j]]; f != nil && !f.SetAside {
				found = append(found, at{frames[j], i})
			}
		}
	}
	var out []Trial
	for i := len(found) - 1; i >= 0; i-- {
		f := b.frames[found[i].fp]
		t := Trial{Frame: b.frame(f, found[i].group), Key: string(rune('A' + len(out))), Clipped: Clipped(f.Figures)}
		if s, ok := b.Setup(b.Groups[found[i].group].SetupID); ok {
			t.SetupID, t.Setup = s.ID, s
		}
		lines := Lights(t.Setup.Lights)
		t.Title = Capital(words.NoLights)
		if len(lines) > 0 {
			t.Title = lines[0].Title
			t.Where = append(t.Where, lines[0].Place)
		}
		for i := 1; i < len(lines); i++ {
			t.Where = append(t.Where, lines[i].Title+" · "+Side(t.Setup.Lights[i].Side()))
		}
		t.Where = append(t.Where, filepath.Base(f.Name)+", "+t.Lines[0])
		out = append(out, t)
	}
	return out
}

// trialSentence asks which light, when the test frames were shot under different
// setups that were logged; else it says how to come there.
func trialSentence(trials []Trial) Sentence {
	s := Sentence{Mark: MarkTrial, WhatToDo: words.TrialAdvicePlain}
	setups := map[int64]bool{}
	var keys []string
	for _, t := range trials {
		if len(t.Setup.Lights) > 0 {
			setups[t.SetupID] = true
			keys = append(keys, t.Key)
		}
	}
	if len(setups) < 2 {
		s.Headline = fmt.Sprintf(words.TrialFramesF, words.Number(len(trials)))
		return s
	}
	s.Headline = fmt.Sprintf(words.TrialLightsF, words.Number(len(setups)))
	s.WhatToDo = fmt.Sprintf(words.TrialAdviceF, either(keys))
	return s
}

// either joins with commas, and with "or" before the last.
func either(items []string) string {
	out := ""
	for i, s := range items {
		switch {
		case i == 0:
		case i == len(items)-1:
			out += " " + words.Or + " "
		default:
			out += ", "
		}
		out += s
	}
	return out
}

// Clipped says which channel is clipped most, and how much of the picture that is.
func Clipped(f *session.Figures) string {
	if f == nil {
		return words.ClippedUnknown
	}
	worst := 0
	for c := range f.Clipped {
		if f.Clipped[c] > f.Clipped[worst] {
			worst = c
		}
	}
	if f.Clipped[worst] == 0 {
		return words.ClippedNothing
	}
	return fmt.Sprintf(words.ClippedInF, Percent(f.Clipped[worst]), [...]string{words.Red, words.Green, words.Blue}[worst])
}

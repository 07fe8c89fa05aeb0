package present

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Stacks is what the place of that name shows: the session from top to bottom.
type Stacks struct {
	Sentence
	Rows []Row
}

// Row is one group.
type Row struct {
	GroupID int64
	Kind    session.Kind
	// Seam says why the group starts here. SeamShown is false for the first row, and
	// where the marker's own row above says it already.
	Seam      Seam
	SeamShown bool
	// First reports that no group lies before this one, so that it cannot be joined.
	First bool
	// Time is when its first frame was taken and Until when its last, to the minute;
	// Until is "" when that is the same minute.
	Time, Until string
	Name        string // "Stack 3", "Single", "Tests"
	Own         string // the photographer's name for it, ""
	About       string // "shell on sand, 12 frames", or the file's name
	Exposure    string // "f/10, 1/6 s, ISO 100" of its middle frame
	Cover       string // fingerprint of the frame that stands for it
	Proof       Proof  // of a stack, that stands for it where there is one
	Ribbon      Ribbon
	// State is the verdict and its words; "" when nothing was checked.
	Verdict  session.Verdict
	State    string
	YourTurn bool   // something is left to do
	Question string // what the program would like to know
	// OrElse is the kind that it may be instead, where the question is about that; else "".
	OrElse session.Kind
	// Frames are its frames, near to far where that is known, else in the order shot.
	Frames []RowFrame
	// NeverSharp is the map of what no frame holds: NeverW x NeverH cells, on the
	// middle frame as stored; empty when not known. NeverWords is its share.
	NeverW, NeverH int
	NeverSharp     []byte
	NeverWords     string
	// Middle is the frame that the map lies on, and Turn its EXIF orientation.
	Middle string
	Turn   int
}

// Asks is the question alone, without what the program thinks of it: the sentence above says that.
func (r *Row) Asks() string {
	question, _ := asks(r.Question)
	return question
}

// asks is a question, and what the program thinks of it behind that; "" when it does not say.
func asks(text string) (question, thinks string) {
	if before, after, ok := strings.Cut(text, "?"); ok {
		return before + "?", strings.TrimSpace(after)
	}
	return text, ""
}

// RowFrame is one frame of a group.
type RowFrame struct {
	Fingerprint string
	Number      int // in the order shot, from 1
	Heading     string
	File        string
	Caption     string // "14:22:10, f/10, 1/6 s, ISO 100"
	SetAside    bool
	First       bool // the group begins with it
	Marker      bool
	Picture     bool
	W, H        int // upright size in pixels, 0 when not known
}

// StacksOf makes the rows of a snapshot.
func StacksOf(s *desk.Snapshot) Stacks {
	b := open(s)
	out := Stacks{Sentence: b.stacksSentence()}
	for i := range s.Groups {
		if len(s.Groups[i].Frames) > 0 {
			out.Rows = append(out.Rows, b.row(i))
		}
	}
	return out
}

func (b book) row(i int) Row {
	g := b.Groups[i]
	check := b.Checks[g.ID]
	afterMarker := i > 0 && b.Groups[i-1].Kind == session.KindMarker
	r := Row{
		GroupID: g.ID, Kind: g.Kind, Seam: SeamOf(g.Seam, afterMarker), First: i == 0, Own: g.Name, Question: Said(g.Question), OrElse: g.OrElse(),
		Ribbon: b.ribbon(g, check, ""),
	}
	r.SeamShown = i > 0 && r.Seam.Strongest != ""
	first, last := b.frames[g.Frames[0]], b.frames[g.Frames[len(g.Frames)-1]]
	if first != nil && last != nil {
		r.Time, r.Until = ClockShort(first.Meta.Taken), ClockShort(last.Meta.Taken)
		if r.Until == r.Time {
			r.Until = ""
		}
	}
	r.Cover = b.cover(g)
	if f := b.frames[r.Cover]; f != nil {
		r.Exposure = strings.Join(Exposure(f.Meta), ", ")
	}
	r.Name, r.About = b.rowName(i)
	r.Frames = b.rowFrames(g, r.Ribbon)
	if g.Kind == session.KindStack {
		b.state(&r, check)
		r.Proof = b.proof(g.ID)
		b.neverSharp(&r, g, check)
	}
	return r
}

// rowName names a group, and says what it holds.
func (b book) rowName(i int) (name, about string) {
	g := b.Groups[i]
	in, _ := b.in(g)
	var parts []string
	if g.Name != "" {
		parts = append(parts, g.Name)
	} else if s, ok := b.Setup(g.SetupID); ok && s.Subject != "" {
		parts = append(parts, s.Subject)
	}
	if g.Kind == session.KindStack {
		return fmt.Sprintf(words.StackF, b.stackNo[i]), strings.Join(append(parts, Frames(in)), ", ")
	}
	switch g.Kind {
	case session.KindMarker:
		name, parts = words.MarkerFrame, nil
		if g.Name != "" {
			parts = []string{g.Name}
		}
	case session.KindTest:
		name = words.Plural(len(g.Frames), words.TestName, words.TestsName)
	default:
		name = words.SingleFrame
	}
	if f := b.frames[g.Frames[0]]; f != nil && len(g.Frames) == 1 {
		parts = append(parts, filepath.Base(f.Name))
	} else {
		parts = append(parts, Frames(len(g.Frames)))
	}
	return name, strings.Join(parts, ", ")
}

// cover is the middle frame of those that are in the group.
func (b book) cover(g session.Group) string {
	var in []string
	for _, fp := range g.Frames {
		if f := b.frames[fp]; f != nil && !f.SetAside {
			in = append(in, fp)
		}
	}
	if len(in) == 0 {
		return g.Frames[0]
	}
	return in[len(in)/2]
}

// rowFrames puts the frames in the order of the ribbon, those set aside behind the
// frame that was shot before them.
func (b book) rowFrames(g session.Group, r Ribbon) []RowFrame {
	var order []string
	for _, bar := range r.Bars {
		order = append(order, bar.Fingerprint)
	}
	for i, fp := range g.Frames {
		if slices.Contains(order, fp) {
			continue
		}
		at := 0
		if i > 0 {
			at = slices.Index(order, g.Frames[i-1]) + 1
		}
		order = slices.Insert(order, at, fp)
	}
	var out []RowFrame
	for _, fp := range order {
		f := b.frames[fp]
		if f == nil {
			continue
		}
		n := slices.Index(g.Frames, fp)
		rf := RowFrame{
			Fingerprint: fp, Number: n + 1, Heading: fmt.Sprintf(words.FrameF, n+1), File: f.Name,
			SetAside: f.SetAside, First: n == 0, Marker: g.Kind == session.KindMarker, Picture: f.Figures != nil,
			Caption: strings.Join(known(append([]string{Clock(f.Meta.Taken)}, Exposure(f.Meta)...)...), ", "),
		}
		if f.Meta.Width != nil && f.Meta.Height != nil {
			rf.W, rf.H = *f.Meta.Width, *f.Meta.Height
			if o := f.Meta.Orientation; o != nil && *o >= 5 && *o <= 8 {
				rf.W, rf.H = rf.H, rf.W
			}
		}
		out = append(out, rf)
	}
	return out
}

var stateWords = map[session.Verdict]string{
	session.VerdictTooFew: words.RowTooFew, session.VerdictBlurred: words.RowBlurred, session.VerdictGap: words.RowGap,
	session.VerdictNearOpen: words.RowNear, session.VerdictFarOpen: words.RowFar,
	session.VerdictUnsteady: words.RowUnsteady, session.VerdictUndecided: words.RowUndecided,
	session.VerdictCovered: words.RowCovered,
}

// state puts the verdict into a row. Where nothing in the session is checked, nothing
// is said.
func (b book) state(r *Row, c *session.Check) {
	if c == nil {
		if len(b.Checks) > 0 {
			r.State = words.RowNoCheck
		}
		return
	}
	r.Verdict, r.State, r.YourTurn = c.Verdict, stateWords[c.Verdict], c.Verdict != session.VerdictCovered
}

// neverSharp hands the map on, with the frame that it lies on: the middle one in the
// order shot of those that were checked.
func (b book) neverSharp(r *Row, g session.Group, c *session.Check) {
	if c == nil || c.MapW*c.MapH == 0 || len(c.NeverSharp) != c.MapW*c.MapH || len(c.Frames) == 0 {
		return
	}
	r.NeverW, r.NeverH, r.NeverSharp = c.MapW, c.MapH, pieces(c.NeverSharp, c.MapW, c.MapH)
	switch {
	case slices.Contains(r.NeverSharp, 1):
		r.NeverWords = fmt.Sprintf(words.NeverSharpShareF, Percent(c.NeverSharpShare))
	case c.NeverSharpShare > 0:
		r.NeverWords = words.NeverSharpSpecks
	default:
		r.NeverWords = words.NeverSharpNothing
	}
	r.Middle = c.Frames[len(c.Frames)/2].Fingerprint
	if f := b.frames[r.Middle]; f != nil && f.Meta.Orientation != nil {
		r.Turn = *f.Meta.Orientation
	}
}

// leastPiece is how many cells of the map of what is never sharp must touch to be shown:
// single ones stand on outlines, where near and far meet.
const leastPiece = 3

// pieces keeps the cells of a map that touch, by a side or a corner, enough others.
func pieces(cells []byte, w, h int) []byte {
	out := make([]byte, len(cells))
	seen := make([]bool, len(cells))
	var piece []int
	for start := range cells {
		if seen[start] || cells[start] == 0 {
			continue
		}
		seen[start] = true
		piece = append(piece[:0], start)
		for k := 0; k < len(piece); k++ {
			x, y := piece[k]%w, piece[k]/w
			for j := max(y-1, 0); j <= min(y+1, h-1); j++ {
				for i := max(x-1, 0); i <= min(x+1, w-1); i++ {
					if at := j*w + i; !seen[at] && cells[at] != 0 {
						seen[at] = true
						piece = append(piece, at)
					}
				}
			}
		}
		if len(piece) >= leastPiece {
			for _, at := range piece {
				out[at] = 1
			}
		}
	}
	return out
}

// takenFor says what the program takes a group for that may be of another kind.
var takenFor = map[session.Kind]string{session.KindStack: words.TakenForStack, session.KindSingle: words.TakenForSingle, session.KindTest: words.TakenForTest}

// questionSentence asks what the program would like to know of group i, and says how to answer.
func (b book) questionSentence(i int) Sentence {
	g := b.Groups[i]
	text, thinks := asks(Said(g.Question))
	advice := words.QuestionAdvice
	asksKind := g.OrElse() != ""
	if asksKind {
		thinks, advice = takenFor[g.Kind], words.KindQuestionAdvice
	}
	switch f := b.frames[g.Frames[0]]; {
	case g.Kind == session.KindStack:
		text = fmt.Sprintf(words.QuestionF, b.stackName(i), text)
	case asksKind && f != nil: // it names no frame itself
		text = fmt.Sprintf(words.QuestionF, filepath.Base(f.Name), text)
	}
	return Sentence{Mark: MarkHold, Headline: text, WhatToDo: strings.TrimSpace(thinks + " " + advice)}
}

// stacksSentence names the most urgent thing in the session, or says what there is.
func (b book) stacksSentence() Sentence {
	count := map[session.Kind]int{}
	stackFrames, covered := 0, 0
	worst := -1
	rank := func(i int) int { return slices.Index(session.Verdicts, b.Checks[b.Groups[i].ID].Verdict) }
	question := -1
	for i, g := range b.Groups {
		count[g.Kind]++
		if g.Question.Form != "" && question < 0 {
			question = i
		}
		if g.Kind != session.KindStack {
			continue
		}
		in, _ := b.in(g)
		stackFrames += in
		if c := b.Checks[g.ID]; c != nil {
			if c.Verdict == session.VerdictCovered {
				covered++
			} else if worst < 0 || rank(i) < rank(worst) {
				worst = i
			}
		}
	}
	stacks := count[session.KindStack]
	switch {
	case stacks == 0:
		return noStacks(count)
	case worst >= 0:
		return b.worstSentence(worst, covered, stacks)
	case question >= 0:
		return b.questionSentence(question)
	case covered == stacks:
		s := Sentence{Mark: MarkVerdict, Verdict: session.VerdictCovered, Headline: words.OneCovered, WhatToDo: words.CoveredAdvice}
		switch {
		case stacks == 2:
			s.Headline = words.BothCovered
		case stacks > 2:
			s.Headline = fmt.Sprintf(words.AllCoveredF, words.NumberWithin(stacks))
		}
		return s
	}
	s := Sentence{Mark: MarkPlan, Headline: fmt.Sprintf(words.StacksF, words.Number(stacks),
		words.Plural(stacks, words.StackWordOne, words.StackWordMany), Frames(stackFrames))}
	s.WhatToDo = words.StacksOnly
	if rest := others(count); rest != "" {
		s.WhatToDo = fmt.Sprintf(words.StacksAlsoF, rest)
	}
	if covered > 0 {
		s.WhatToDo = fmt.Sprintf(words.CheckedOfF, covered, stacks) + " " + s.WhatToDo
	}
	return s
}

func (b book) worstSentence(worst, covered, stacks int) Sentence {
	g := b.Groups[worst]
	c := b.Checks[g.ID]
	s := Sentence{
		Mark: MarkVerdict, Verdict: c.Verdict, WhatToDo: Said(c.Advice),
		Headline: fmt.Sprintf(words.StackFirstF, b.stackName(worst), lowerFirst(Said(c.Headline))),
	}
	if c.Verdict == session.VerdictBlurred {
		s.Number = b.firstBlurred(g, c)
	}
	switch rest := stacks - 1; {
	case covered != rest || rest == 0:
	case rest == 1:
		s.WhatToDo += " " + words.OtherCovered
	default:
		s.WhatToDo += " " + fmt.Sprintf(words.OthersCoveredF, words.NumberWithin(rest)+" "+words.StackWordMany)
	}
	return s
}

func noStacks(count map[session.Kind]int) Sentence {
	s := Sentence{Mark: MarkNothing, Headline: words.NoStacks, WhatToDo: words.NoStacksAdvice}
	if rest := others(count); rest != "" {
		s.WhatToDo = fmt.Sprintf(words.NoStacksAdviceF, rest)
	}
	return s
}

// others counts the groups that are no stacks: "5 tests, 3 singles and 6 markers".
func others(count map[session.Kind]int) string {
	var out []string
	for _, k := range []struct {
		kind      session.Kind
		one, many string
	}{
		{session.KindTest, words.TestOne, words.TestMany},
		{session.KindSingle, words.SingleOne, words.SingleMany},
		{session.KindMarker, words.MarkerOne, words.MarkerMany},
	} {
		if n := count[k.kind]; n > 0 {
			out = append(out, Count(n, k.one, k.many))
		}
	}
	return List(out)
}

func lowerFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return words.Lower(string(r)) + s[n:]
}

package present

import (
	"slices"
	"strings"
	"testing"
	"time"

	"stillbench/app/place/placetest"
	"stillbench/session"
)

func p[T any](v T) *T { return &v }

func TestNumbersAsTheyStandOnACamera(t *testing.T) {
	// Common practice: f-numbers and shutter speeds as engraved on lenses and dials;
	// the speeds of powers of two show as 1/15, 1/30, 1/60, 1/125.
	for _, c := range []struct{ got, want string }{
		{FNumber(p(10.0)), "f/10"}, {FNumber(p(3.5)), "f/3.5"}, {FNumber(p(5.6)), "f/5.6"}, {FNumber(nil), ""},
		{Shutter(p(1.0 / 6)), "1/6 s"}, {Shutter(p(1.0 / 64)), "1/60 s"}, {Shutter(p(1.0 / 60)), "1/60 s"},
		{Shutter(p(0.25)), "1/4 s"}, {Shutter(p(0.3)), "0.3 s"}, {Shutter(p(1.0)), "1 s"}, {Shutter(p(1.6)), "1.6 s"},
		{Shutter(p(30.0)), "30 s"}, {Shutter(p(1.0 / 8000)), "1/8000 s"}, {Shutter(p(0.0)), ""}, {Shutter(nil), ""},
		{ISO(p(100)), "ISO 100"}, {ISO(nil), ""}, {Focal(p(105.0)), "105 mm"}, {Focal(p(16.5)), "16.5 mm"},
		{Magnification(p(1.1)), "×1.1"}, {Magnification(p(0.05)), "×0.05"}, {Magnification(nil), ""},
		{Millimetres(0.4), "0.4"}, {Millimetres(0.03), "0.03"},
		{Percent(0), "0 %"}, {Percent(0.0004), "under 0.1 %"}, {Percent(0.012), "1.2 %"}, {Percent(0.47), "47 %"},
		{Distance(40), "40 cm"}, {Distance(110), "1.1 m"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestDates(t *testing.T) {
	now := time.Date(2026, 5, 21, 15, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		when time.Time
		want string
	}{
		{now.Add(-14 * time.Hour), "today"},
		{now.Add(-16 * time.Hour), "yesterday"},
		{time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), "2 May"},
		{time.Date(2025, 5, 22, 0, 0, 0, 0, time.UTC), "22 May 2025"},
		{time.Date(2026, 12, 1, 0, 0, 0, 0, time.UTC), "1 Dec 2026"}, // a camera's clock can be wrong
		{time.Time{}, ""},
	} {
		if got := Date(c.when, now); got != c.want {
			t.Errorf("%v: got %q, want %q", c.when, got, c.want)
		}
	}
}

// table is the Table some time after the newest frame.
func table(b *placetest.Builder, after time.Duration) Table {
	return TableOf(&b.S, b.S.LastArrival.Add(after))
}

func TestTableSentence(t *testing.T) {
	fresh := placetest.NewSession().Marker().Stack(7)
	old := placetest.NewSession().Marker().Stack(7)
	old.S.LastArrival = time.Time{}
	reading := placetest.NewSession().Marker().Stack(7)
	reading.S.LastArrival, reading.S.Found = time.Time{}, 500
	empty := placetest.NewSession()
	checked := placetest.NewSession().Marker().Stack(9).Check(session.VerdictBlurred, "Shoot frame 5 again.", "It is blurred.")
	checked.S.Checks[2].Frames[4].Blurred = true
	aside := placetest.NewSession().Marker().Stack(7)
	aside.S.Frames[3].SetAside = true
	for _, c := range []struct {
		name           string
		b              *placetest.Builder
		after          time.Duration
		headline, todo string // what must occur
	}{
		{"nothing has come", empty, 0, "No frame", "bench"},
		{"files are still read", reading, 0, "8 of 500", ""},
		{"a stack is being shot", fresh, time.Second, "Hold still.", "Stack 1, 7 frames so far."},
		{"one of them is set aside", aside, time.Second, "Hold still.", "Stack 1, 6 frames so far, 1 set aside."},
		{"nothing has come for a while", fresh, 12 * time.Minute, "Quiet for 12 minutes.", "Stack 1 has 7 frames."},
		{"the folder held it all before", old, 0, "Stack 1, 7 frames.", ""},
		{"there is a verdict", checked, 12 * time.Minute, "Shoot frame 5 again.", "It is blurred."},
		{"a hand was seen", placetest.NewSession().Stack(3).Marker(), time.Second, "Begin the stack.", "nearest"},
		{"a single came", placetest.NewSession().Stack(3).Group(session.KindSingle, 1), time.Second, "A single.", ""},
		{"one test frame came", placetest.NewSession().Group(session.KindTest, 1), time.Second, "A test frame.", ""},
	} {
		got := table(c.b, c.after).Sentence
		if !strings.Contains(got.Headline, c.headline) || !strings.Contains(got.WhatToDo, c.todo) {
			t.Errorf("%s: %q, %q", c.name, got.Headline, got.WhatToDo)
		}
	}
	if n := table(checked, 0).Number; n != "5" {
		t.Errorf("the shape's number is %q, want 5", n)
	}
}

func TestStackIsNumberedAmongStacks(t *testing.T) {
	b := placetest.Afternoon()
	if got := table(b, time.Second).WhatToDo; !strings.HasPrefix(got, "Stack 4,") {
		t.Errorf("%q", got)
	}
}

func TestCaption(t *testing.T) {
	got := table(placetest.NewSession().Stack(9), 0).Frame
	want := []string{"14:03:03", "f/10", "1/6 s", "ISO 100", "105 mm"}
	if got.Heading != "Frame 9" || strings.Join(got.Lines, "|") != strings.Join(want, "|") {
		t.Errorf("%q %q", got.Heading, got.Lines)
	}
	b := placetest.NewSession().Stack(1)
	b.S.Frames[0].Meta, b.S.Frames[0].Figures = session.Meta{}, nil
	got = table(b, 0).Frame
	if len(got.Lines) != 1 || got.Lines[0] != "time unknown" || got.Picture {
		t.Errorf("without metadata: %q, picture %v", got.Lines, got.Picture)
	}
}

func TestRibbonClaimsNoDepthWithoutACheck(t *testing.T) {
	b := placetest.NewSession().Stack(4)
	b.S.Frames[1].SetAside = true
	r := table(b, 0).Ribbon
	if r.Measured || len(r.Cover) != 0 || len(r.Gaps) != 0 || r.NearEnd != session.EndUnknown || r.FarEnd != session.EndUnknown {
		t.Errorf("%+v", r)
	}
	if len(r.Bars) != 3 || r.Bars[1].Number != 3 || r.Bars[0].From != 0 || r.Bars[2].To != 1 {
		t.Errorf("bars %+v", r.Bars)
	}
	if len(r.Aside) != 1 || r.Aside[0].Words != "2 set aside" {
		t.Errorf("set aside %+v", r.Aside)
	}
	if !r.Bars[2].Current || r.Bars[0].Current {
		t.Error("the newest frame is not the current one")
	}
}

func TestRibbonByDepth(t *testing.T) {
	b := placetest.NewSession().Stack(4).Check(session.VerdictGap, "", "")
	c := b.S.Checks[1]
	// Shot from far to near; the second frame from the near end is blurred.
	for i := range c.Frames {
		at := 1 - float64(i)/3
		c.Frames[i].Place, c.Frames[i].Near, c.Frames[i].Far = p(at), p(at-0.2), p(at+0.2)
	}
	c.Frames[2].Blurred = true
	c.Gaps = []session.Gap{{From: 0.2, To: 0.45, DepthMM: p(0.4)}}
	r := table(b, 0).Ribbon
	var order []int
	for _, bar := range r.Bars {
		order = append(order, bar.Number)
	}
	if !r.Measured || len(order) != 4 || order[0] != 4 || order[3] != 1 {
		t.Fatalf("order %v", order)
	}
	// The nearest holds 0..0.2; the blurred one counts for nothing; the others hold
	// from 2/3-0.2 to the far end without a break.
	if len(r.Cover) != 2 || r.Cover[0] != [2]float64{0, 0.2} || r.Cover[1][1] != 1 {
		t.Errorf("cover %v", r.Cover)
	}
	if r.Gaps[0].Words != "0.4 mm held by no frame" {
		t.Errorf("gap %q", r.Gaps[0].Words)
	}
}

func TestCheckThatDoesNotTellAllPlacesGivesNoDepth(t *testing.T) {
	b := placetest.NewSession().Stack(4).Check(session.VerdictCovered, "", "")
	b.S.Checks[1].Frames[2].Place = nil
	if table(b, 0).Ribbon.Measured {
		t.Error("a frame of unknown depth was placed")
	}
}

func TestLightTrial(t *testing.T) {
	b := placetest.NewSession().Setup("shell", placetest.Lamp()).Group(session.KindTest, 1).
		Setup("shell", placetest.LED()).Group(session.KindTest, 1).
		Setup("shell", placetest.LED(), placetest.Card()).Group(session.KindTest, 2)
	b.S.Frames[3].Figures.Clipped = [3]float64{0.012, 0.001, 0}
	v := table(b, 0)
	if v.Mode != TableTrials || v.Headline != "Two lights. Which one?" || !strings.Contains(v.WhatToDo, "A, B or C") {
		t.Errorf("%q %q", v.Headline, v.WhatToDo)
	}
	var keys, clipped, files []string
	for _, tr := range v.Trials {
		keys, clipped, files = append(keys, tr.Key), append(clipped, tr.Clipped), append(files, tr.Where[len(tr.Where)-1])
	}
	if strings.Join(keys, "") != "ABC" || strings.Join(clipped, "|") != "nothing|nothing|1.2 %, in red" {
		t.Errorf("%v %v", keys, clipped)
	}
	if !strings.HasPrefix(files[0], "A0002.JPG") || !strings.HasPrefix(files[2], "A0004.JPG") {
		t.Errorf("the last three are %v", files)
	}
}

func TestTrialEndsWithAnotherGroup(t *testing.T) {
	b := placetest.NewSession().Setup("shell", placetest.LED()).Group(session.KindTest, 3).Marker()
	if v := table(b, 0); v.Mode != TableFrame {
		t.Error("a hand was over the lens and the trial goes on")
	}
	b = placetest.NewSession().Group(session.KindTest, 3)
	if v := table(b, 0); v.Headline != "Three test frames." || !strings.Contains(v.WhatToDo, "(L)") {
		t.Errorf("without a logged light: %q %q", v.Headline, v.WhatToDo)
	}
}

func TestSeamsInWords(t *testing.T) {
	seam := func(reasons ...session.Reason) *session.Seam { return &session.Seam{Reasons: reasons} }
	for _, c := range []struct {
		seam              *session.Seam
		after             bool
		strongest, others string
	}{
		{nil, false, "", ""},
		{seam(session.Reason{Rule: session.RuleMarker, Detail: session.Say("a hand covers the lens in A0002.JPG")}), false, "a hand over the lens", ""},
		{seam(session.Reason{Rule: session.RuleAfterMarker}), true, "", ""},
		{seam(session.Reason{Rule: session.RuleAfterMarker}, session.Reason{Rule: session.RuleTurned, Detail: session.Say("turned upright")}), true, "turned upright", ""},
		{seam(session.Reason{Rule: session.RuleLightMoved}, session.Reason{Rule: session.RuleGap, Detail: session.Say("4 min pause")},
			session.Reason{Rule: session.RuleSettings, Detail: session.Say("f/10 → f/3.5")}), false, "the light moved", "4 min pause, f/10 → f/3.5"},
		{seam(session.Reason{Rule: session.RuleByHand}), false, "by hand", ""},
	} {
		got := SeamOf(c.seam, c.after)
		if got.Strongest != c.strongest || got.Others != c.others {
			t.Errorf("got %q, %q, want %q, %q", got.Strongest, got.Others, c.strongest, c.others)
		}
	}
}

func TestRows(t *testing.T) {
	b := placetest.Afternoon()
	b.S.Groups[2].Name = "left valve"
	rows := StacksOf(&b.S).Rows
	var names []string
	for _, r := range rows {
		names = append(names, r.Name)
	}
	want := "Tests|Marker|Stack 1|Marker|Stack 2|Single|Marker|Stack 3|Marker|Stack 4"
	if got := strings.Join(names, "|"); got != want {
		t.Fatalf("got %s, want %s", got, want)
	}
	if rows[0].SeamShown || !rows[0].First || rows[2].SeamShown || !rows[4].SeamShown || rows[4].Seam.Strongest != "4 min pause" {
		t.Errorf("seams: %+v", rows[4].Seam)
	}
	if rows[2].About != "left valve, 13 frames" || rows[4].About != "shell on sand, 21 frames" {
		t.Errorf("about: %q, %q", rows[2].About, rows[4].About)
	}
	if rows[2].State != "" {
		t.Errorf("nothing was checked, and it says %q", rows[2].State)
	}
	if rows[5].About != "shell on sand, A0039.JPG" {
		t.Errorf("single: %q", rows[5].About)
	}
}

func TestFramesSetAsideStayInTheirPlace(t *testing.T) {
	b := placetest.NewSession().Stack(4)
	b.S.Frames[0].SetAside, b.S.Frames[2].SetAside = true, true
	var order []int
	for _, f := range StacksOf(&b.S).Rows[0].Frames {
		order = append(order, f.Number)
	}
	if len(order) != 4 || order[0] != 1 || order[1] != 2 || order[2] != 3 || order[3] != 4 {
		t.Errorf("order %v", order)
	}
	for i := range b.S.Frames {
		b.S.Frames[i].SetAside = true
	}
	if r := StacksOf(&b.S).Rows[0]; r.Cover != "fp1" || len(r.Frames) != 4 {
		t.Errorf("all set aside: cover %q, %d frames", r.Cover, len(r.Frames))
	}
}

func TestStacksSentence(t *testing.T) {
	two := func() *placetest.Builder {
		return placetest.NewSession().Stack(5).Check(session.VerdictCovered, "Free to move.", "").Marker().Stack(6)
	}
	for _, c := range []struct {
		b              *placetest.Builder
		headline, todo string
	}{
		{placetest.NewSession(), "No stack yet.", "Hold a hand over the lens"},
		{placetest.NewSession().Group(session.KindSingle, 1).Marker(), "No stack yet.", "1 single and 1 marker"},
		{placetest.Afternoon(), "Four stacks, 53 frames.", "1 test, 1 single and 4 markers"},
		{two().Check(session.VerdictCovered, "Free to move.", ""), "Both stacks are covered.", ""},
		{two().Check(session.VerdictGap, "Fill in between 6 and 7.", "A gap of 0.9 mm."), "Stack 2: fill in between 6 and 7.", "A gap of 0.9 mm. The other stack is covered."},
		{two(), "Two stacks, 11 frames.", "1 of 2 checked so far."},
	} {
		got := StacksOf(&c.b.S).Sentence
		if got.Headline != c.headline || !strings.Contains(got.WhatToDo, c.todo) {
			t.Errorf("got %q, %q, want %q, %q", got.Headline, got.WhatToDo, c.headline, c.todo)
		}
	}
}

func TestQuestionIsAsked(t *testing.T) {
	b := placetest.NewSession().Marker().Stack(5)
	b.S.Groups[1].Question = session.Say("One stack or two?")
	if r := (Row{Question: "One stack or two? Perhaps another begins at A1."}); r.Asks() != "One stack or two?" {
		t.Errorf("a row asks %q", r.Asks())
	}
	if got := StacksOf(&b.S).Headline; got != "Stack 1: One stack or two?" {
		t.Errorf("%q", got)
	}
	b.S.Groups[1].Question = session.Say("One stack or two? Perhaps another begins at A1.")
	if got := StacksOf(&b.S); got.Headline != "Stack 1: One stack or two?" || !strings.HasPrefix(got.WhatToDo, "Perhaps another begins at A1. Open it") {
		t.Errorf("%q %q", got.Headline, got.WhatToDo)
	}
	b.S.Groups[0].Question = session.Say("Is A0001.JPG a marker?")
	if got := StacksOf(&b.S).Headline; got != "Is A0001.JPG a marker?" {
		t.Errorf("%q", got)
	}
	// What a group is: of one that is no stack the frame is named, since the question names none.
	b = placetest.NewSession().Marker().Stack(5).Group(session.KindSingle, 1)
	b.S.Groups[2].Question = session.AskKind(session.KindSingle, session.KindTest)
	got := StacksOf(&b.S)
	if file := b.S.Frames[6].Name; got.Headline != file+": Test or single?" || !strings.HasPrefix(got.WhatToDo, "Taken for a single. ") || !strings.Contains(got.WhatToDo, "(C) and press K") {
		t.Errorf("%q %q", got.Headline, got.WhatToDo)
	}
	if r := got.Rows[2]; r.OrElse != session.KindTest || got.Rows[1].OrElse != "" {
		t.Errorf("a single may be a %q, a stack that nobody asks about a %q", r.OrElse, got.Rows[1].OrElse)
	}
	b.S.Groups[1].Question = session.AskKind(session.KindSingle, session.KindStack)
	if got := StacksOf(&b.S); got.Headline != "Stack 1: Stack or single?" || !strings.HasPrefix(got.WhatToDo, "Taken for a stack. ") {
		t.Errorf("%q %q", got.Headline, got.WhatToDo)
	}
}

func TestMostUrgentStackIsNamed(t *testing.T) {
	b := placetest.NewSession().Stack(5).Check(session.VerdictFarOpen, "Go on farther.", "").Marker().
		Stack(5).Check(session.VerdictBlurred, "Shoot frame 2 again.", "").Marker().Stack(5).Check(session.VerdictGap, "Fill in.", "")
	if got := StacksOf(&b.S).Headline; got != "Stack 2: shoot frame 2 again." {
		t.Errorf("%q", got)
	}
}

func TestSetupsSentence(t *testing.T) {
	found := func(kinds ...session.LightKind) session.SetupResults {
		r := session.SetupResults{Total: len(kinds), Logged: 214}
		for _, k := range kinds {
			r.Setups = append(r.Setups, session.FoundSetup{Setup: session.Setup{Lights: []session.Light{{Kind: session.LightCard}, {Kind: k}}}})
		}
		return r
	}
	high := session.SetupQuery{Cells: []session.Cell{{Side: session.SideBackLeft, Height: session.HeightHigh}}}
	led, win := session.LightLED, session.LightWindow
	for _, c := range []struct {
		q              session.SetupQuery
		r              session.SetupResults
		headline, todo string
	}{
		{session.SetupQuery{}, session.SetupResults{}, "No setup in the log yet.", "(L)"},
		{session.SetupQuery{}, session.SetupResults{Total: 12, Logged: 12}, "Twelve setups in the log.", ""},
		{high, found(led, led, win, led, win, led), "Six setups, lit from back-left, high.", "Of 214 in the log. Four of them by an LED panel, two by a window."},
		{high, found(led), "One setup, lit from back-left, high.", "Of 214 in the log."},
		{session.SetupQuery{Words: "nowhere"}, found(), "No setups.", "Of 214 in the log."},
		{session.SetupQuery{Heights: []session.Height{session.HeightLow, session.HeightHigh}}, found(led), "One setup, lit from low or high.", ""},
	} {
		got := SetupsOf(c.q, c.r, time.Time{}).Sentence
		if got.Headline != c.headline || !strings.Contains(got.WhatToDo, c.todo) {
			t.Errorf("got %q, %q, want %q, %q", got.Headline, got.WhatToDo, c.headline, c.todo)
		}
	}
}

func TestOverheadHasNoSide(t *testing.T) {
	var q session.SetupQuery
	for _, s := range session.Sides {
		q.Cells = append(q.Cells, session.Cell{Side: s, Height: session.HeightOverhead})
	}
	got := SetupsOf(q, session.SetupResults{Logged: 3}, time.Time{}).Headline
	if got != "No setups, lit from overhead." {
		t.Errorf("%q", got)
	}
}

func TestProblemsAreCountedAndSaid(t *testing.T) {
	b := placetest.NewSession()
	b.S.Unreadable = []session.Problem{{File: "A1.JPG", Sentence: session.Say("A1.JPG is cut off.")}, {File: "A2.JPG", Sentence: session.Say("A2.JPG is empty.")}}
	if got := ProblemsSentence(&b.S).Headline; got != "2 files could not be read." {
		t.Errorf("%q", got)
	}
	b.S.Notices = []session.Problem{{Sentence: session.Say("The folder is away.")}}
	if got := ProblemsSentence(&b.S).Headline; got != "3 things to know." {
		t.Errorf("%q", got)
	}
	if all := Problems(&b.S); len(all) != 3 || all[0].Sentence.String() != "The folder is away." {
		t.Errorf("%v", all)
	}
}

func TestErrorsReadAsSentences(t *testing.T) {
	err := &wrapped{session.ErrInvalid, "not valid: no seam lies before A0001.JPG"}
	if got := Failed(err); got != "That was not done: no seam lies before A0001.JPG." {
		t.Errorf("%q", got)
	}
}

type wrapped struct {
	err  error
	text string
}

func (w *wrapped) Error() string { return w.text }
func (w *wrapped) Unwrap() error { return w.err }

func TestEveryVerdictHasWordsInARow(t *testing.T) {
	seen := map[string]session.Verdict{}
	for _, v := range session.Verdicts {
		w := stateWords[v]
		if other, ok := seen[w]; w == "" || ok {
			t.Errorf("%s: %q, as %s", v, w, other)
		}
		seen[w] = v
	}
}

func TestSpecksAreLeftOutOfTheMap(t *testing.T) {
	// 6 x 3 cells: one alone, two that touch, three that touch by corners.
	in := []byte{
		1, 0, 0, 0, 1, 0,
		0, 0, 0, 0, 0, 1,
		0, 1, 1, 0, 0, 1,
	}
	want := []byte{
		0, 0, 0, 0, 1, 0,
		0, 0, 0, 0, 0, 1,
		0, 0, 0, 0, 0, 1,
	}
	if got := pieces(in, 6, 3); !slices.Equal(got, want) {
		t.Errorf("%v, not %v", got, want)
	}
}

// A frame set aside leaves the ribbon's lanes at once, not only when the stack has been checked anew, and
// what it alone held sharp is no longer covered.
func TestAFrameSetAsideLeavesTheLanesAtOnce(t *testing.T) {
	b := placetest.NewSession().Stack(4).Check(session.VerdictCovered, "", "")
	c := b.S.Checks[1]
	for i := range c.Frames {
		at := float64(i) / 3
		c.Frames[i].Place, c.Frames[i].Near, c.Frames[i].Far = p(at), p(at-0.2), p(at+0.2)
	}
	if r := table(b, 0).Ribbon; len(r.Bars) != 4 || len(r.Cover) != 1 || len(r.Aside) != 0 {
		t.Fatalf("before: %d bars, cover %v, aside %v", len(r.Bars), r.Cover, r.Aside)
	}
	b.S.Frames[1].SetAside = true
	r := table(b, 0).Ribbon
	if !r.Measured || len(r.Bars) != 3 || len(r.Aside) != 1 || r.Aside[0].Words != "2 set aside" {
		t.Fatalf("set aside: measured %v, %d bars, aside %v", r.Measured, len(r.Bars), r.Aside)
	}
	if len(r.Cover) != 2 {
		t.Errorf("what frame 2 alone held is still covered: %v", r.Cover)
	}
}

// The name of a file stands once: its sentence goes on from there. Other sentences begin with a capital.
func TestNoticeGoesOnFromTheName(t *testing.T) {
	for _, c := range []struct{ file, sentence, want string }{
		{"A1.JPG", "A1.JPG is not whole: the file is empty.", "is not whole: the file is empty."},
		{"A1.JPG", "The card was taken out.", "The card was taken out."},
		{"", "the log is read only.", "The log is read only."},
	} {
		if got := Notice(session.Problem{File: c.file, Sentence: session.Say(c.sentence)}); got != c.want {
			t.Errorf("%q of %q: %q, want %q", c.sentence, c.file, got, c.want)
		}
	}
}

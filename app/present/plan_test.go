package present

import (
	"math"
	"slices"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/optics"
)

// bench1 is life size on full frame, 10 mm deep, sharp to 0.03 mm. By hand: f/8 holds
// 2·8·0.03·2 = 0.96 mm, the effective number is 16, and with an overlap of a fifth
// 0.96 + 12·0.768 is the first sum past 10 mm: 13 frames.
func bench1() PlanAsked {
	a := PlanAsked{Size: PlanMagnification}
	a.Text[PlanSensor], a.Text[PlanMagnification], a.Text[PlanDepth], a.Text[PlanSharp] = "36 × 24 mm", "1", "10 mm", "0.03 mm"
	a.Text[PlanExposure] = "f/8 · 1/4 s · ISO 100"
	return a
}

func row(t *testing.T, p Plan, f float64) PlanRow {
	t.Helper()
	i := slices.IndexFunc(p.Rows, func(r PlanRow) bool { return r.FNumber == f })
	if i < 0 {
		t.Fatalf("no row for f/%g in %+v", f, p)
	}
	return p.Rows[i]
}

func TestPlanRowByHand(t *testing.T) {
	p := PlanOf(bench1())
	if !p.Ready || len(p.Problems) > 0 {
		t.Fatalf("no plan: %v", p.Problems)
	}
	// Two stops from f/8 to f/16: four times 1/4 s (common practice, and APEX).
	for f, want := range map[float64][]string{
		8:  {"f/8", "0.96 mm", "13", "f/16", "1/4 s"},
		16: {"f/16", "1.92 mm", "7", "f/32", "1 s"},
	} {
		if got := row(t, p, f).Cells[:5]; !slices.Equal(got, want) {
			t.Errorf("f/%g: %q, want %q", f, got, want)
		}
	}
}

// TestPlanAgainstOptics: what the place shows is what optics says, for the published
// rows that package optics is held against as for all others.
func TestPlanAgainstOptics(t *testing.T) {
	one, depth, coc, width, height := 1.0, 10.0, 0.03, 36.0, 24.0
	want, errs := optics.MakePlan(optics.PlanInput{SensorWidthMM: &width, SensorHeightMM: &height, Magnification: &one, DepthMM: &depth, CoCMM: &coc})
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	p := PlanOf(bench1())
	if p.Frames != want.PlannedFrames || p.StepMM != want.PlannedStepMM || p.FNumber != want.Recommended {
		t.Errorf("%d frames %g apart at f/%g, want %d, %g, f/%g", p.Frames, p.StepMM, p.FNumber, want.PlannedFrames, want.PlannedStepMM, want.Recommended)
	}
	least := math.Inf(1)
	for _, r := range p.Rows {
		least = min(least, r.Both)
		if math.Abs(r.Both*r.Both-r.Focus*r.Focus-r.Diffraction*r.Diffraction) > 1e-6*r.Both*r.Both {
			t.Errorf("f/%g: %g is not both %g and %g", r.FNumber, r.Both, r.Focus, r.Diffraction)
		}
	}
	if p.Rows[p.Recommended].Both != least {
		t.Errorf("the recommended row blurs by %g, the least is %g", p.Rows[p.Recommended].Both, least)
	}
}

func TestPlanReckonsWhatIsNotGiven(t *testing.T) {
	a := bench1()
	a.Text[PlanLens] = "100 mm, pupil 1.0"
	p := PlanOf(a)
	// At life size a thin lens stands four focal lengths from the subject.
	if got := p.Inputs[PlanFieldWidth].Computed; got != "36 mm" {
		t.Errorf("field width %q", got)
	}
	if got := p.Inputs[PlanDistance].Computed; got != "40 cm" {
		t.Errorf("distance %q", got)
	}
	a.Size, a.Text[PlanFieldWidth] = PlanFieldWidth, "3.3 cm"
	if got := PlanOf(a).Inputs[PlanMagnification].Computed; got != "×1.09" {
		t.Errorf("magnification %q", got)
	}
	a.Size, a.Text[PlanDistance] = PlanDistance, "45 cm" // 1:2 with 100 mm: u 300, v 150
	if got := PlanOf(a).Inputs[PlanMagnification].Computed; got != "×0.500" {
		t.Errorf("magnification %q", got)
	}
}

func TestPlanAsksBeforeItComplains(t *testing.T) {
	a := bench1()
	a.Text[PlanDepth] = ""
	if p := PlanOf(a); p.Ready || len(p.Problems) > 0 || p.Headline == "" {
		t.Errorf("%+v", p.Sentence)
	}
	// What is wrong is told all the same, while something else is still missing.
	a.Text[PlanSensor] = "1236 x 24"
	if p := PlanOf(a); len(p.Problems) != 1 || p.Problems[0].Field != PlanSensor || !strings.Contains(p.WhatToDo, "1236") {
		t.Errorf("%+v, %v", p.Sentence, p.Problems)
	}
	a = PlanAsked{Size: PlanMagnification}
	a.Text[PlanSensor], a.Text[PlanLens] = "36 x 24", "-100 mm"
	if p := PlanOf(a); len(p.Problems) != 1 || p.Problems[0].Field != PlanLens {
		t.Errorf("%+v, %v", p.Sentence, p.Problems)
	}
}

func TestEveryWrongFieldIsNamed(t *testing.T) {
	set := func(f PlanField, text string) PlanAsked {
		a := bench1()
		a.Text[f] = text
		return a
	}
	for text, a := range map[string]PlanAsked{
		"sensor words": set(PlanSensor, "large"), "sensor zero": set(PlanSensor, "0 x 24"), "sensor strip": set(PlanSensor, "360 x 24"),
		"lens words": set(PlanLens, "long"), "lens negative": set(PlanLens, "-100 mm"), "pupil": set(PlanLens, "100 mm, pupil 0"),
		"magnification words": set(PlanMagnification, "big"), "magnification zero": set(PlanMagnification, "0"),
		"magnification absurd": set(PlanMagnification, "5000"), "depth negative": set(PlanDepth, "-3"), "depth words": set(PlanDepth, "deep"),
		"depth absurd": set(PlanDepth, "1e9"), "coc words": set(PlanSharp, "very"), "coc zero": set(PlanSharp, "0"),
		"frames half": set(PlanFrames, "2.5"), "frames none": set(PlanFrames, "0"), "frames words": set(PlanFrames, "many"),
		"exposure words": set(PlanExposure, "bright"), "exposure half": set(PlanExposure, "f/8"), "exposure zero": set(PlanExposure, "f/8 · 0 s"),
		"not a number": set(PlanDepth, "nan"), "endless": set(PlanDepth, "inf"),
	} {
		p := PlanOf(a)
		if p.Ready || len(p.Problems) != 1 || p.WhatToDo == "" {
			t.Errorf("%s: ready %v, %v", text, p.Ready, p.Problems)
			continue
		}
		want := map[string]PlanField{"sensor": PlanSensor, "lens": PlanLens, "pupil": PlanLens, "magnification": PlanMagnification,
			"depth": PlanDepth, "not": PlanDepth, "endless": PlanDepth, "coc": PlanSharp, "frames": PlanFrames, "exposure": PlanExposure}[strings.Fields(text)[0]]
		if p.Problems[0].Field != want {
			t.Errorf("%s: told of %s: %s", text, p.Problems[0].Name, p.Problems[0].Words)
		}
	}
}

func TestMeasureReadsAsPeopleWrite(t *testing.T) {
	for text, want := range map[string]float64{
		"33": 33, "33 mm": 33, "4.2 cm": 42, "0,5": 0.5, "1/4": 0.25, "1/4 s": 0.25, "20 µm": 0.02, "1.5 m": 1500, " 2 min ": 120,
	} {
		if got, _, ok := Measure(text); !ok || math.Abs(got-want) > 1e-9 {
			t.Errorf("%q is %g, %v", text, got, ok)
		}
	}
	for _, text := range []string{"", "mm", "1/0", "1/2/3", "three", "1,000,000", "NaN"} {
		if v, _, ok := Measure(text); ok {
			t.Errorf("%q is %g", text, v)
		}
	}
}

func TestConventionsByName(t *testing.T) {
	a := bench1()
	a.PixelsWide, a.PixelsHigh = 6000, 4000
	// 43.27 mm over 1500, 1000, 1440 and 1730; two pixels of 6 µm (the diagonals and
	// quotients of a full-frame sensor, by hand).
	for key, want := range map[string]string{"d1500": "0.029 mm", "d1000": "0.043 mm", "d1440": "0.030 mm", "d1730": "0.025 mm", "pixels2": "0.012 mm"} {
		a.Convention = key
		p := PlanOf(a)
		if got := p.Inputs[PlanSharp].Computed; got != want || p.Convention == "" {
			t.Errorf("%s: %q, want %q (%s)", key, got, want, p.Convention)
		}
	}
}

func TestChosenAperture(t *testing.T) {
	a := bench1()
	best := PlanOf(a)
	a.FNumber = 16
	p := PlanOf(a)
	if p.Recommended != best.Recommended || p.Rows[p.Chosen].FNumber != 16 || p.FNumber != 16 {
		t.Errorf("recommended row %d, chosen %d, f/%g", p.Recommended, p.Chosen, p.FNumber)
	}
	if !strings.HasPrefix(p.Headline, "f/16, ") || !strings.Contains(p.WhatToDo, "instead") {
		t.Errorf("%q %q", p.Headline, p.WhatToDo)
	}
}

func TestFramesAtMost(t *testing.T) {
	a := bench1()
	a.Text[PlanFrames] = "5"
	p := PlanOf(a)
	if p.Frames != 5 || len(p.Side.Slices) != 5 || p.TooMany == "" || !row(t, p, 8).TooMany || row(t, p, 32).TooMany {
		t.Errorf("%d frames, %d slices, %q", p.Frames, len(p.Side.Slices), p.TooMany)
	}
	s := p.Side.Slices
	if s[0].From != 0 || math.Abs(s[4].To-1) > 1e-9 {
		t.Errorf("the slices reach from %g to %g", s[0].From, s[4].To)
	}
	for i := 1; i < len(s); i++ {
		if s[i].From >= s[i-1].To || s[i].Height < s[i-1].Height {
			t.Errorf("slice %d: %+v after %+v", i, s[i], s[i-1])
		}
	}
}

func TestWindowHoldsRecommendedAndChosen(t *testing.T) {
	a := bench1()
	for _, f := range []float64{0, 1, 32} {
		a.FNumber = f
		p := PlanOf(a)
		for _, room := range []int{1, 5, 10, 31, 50} {
			from, to := p.Window(room)
			if p.Chosen < from || p.Chosen >= to || to-from > room || from < 0 || to > len(p.Rows) {
				t.Errorf("f/%g, room for %d: %d to %d with %d chosen", f, room, from, to, p.Chosen)
			}
			if n := p.Curve.MaxUM / p.Curve.StepUM; n < 1 || n > 6 {
				t.Errorf("f/%g, room for %d: %g µm in steps of %g", f, room, p.Curve.MaxUM, p.Curve.StepUM)
			}
		}
	}
}

// shotStack is a made-up session: a stack of n frames at an even pace, each of which
// holds so large a share of the whole depth.
func shotStack(n int, hold float64) *desk.Snapshot {
	s := &desk.Snapshot{Checks: map[int64]*session.Check{}}
	g := session.Group{ID: 1, Kind: session.KindStack}
	c := &session.Check{}
	f8, quarter, wide, high := 8.0, 0.25, 6000, 4000
	for i := range n {
		fp := string(rune('a' + i))
		s.Frames = append(s.Frames, session.Frame{Fingerprint: fp, Meta: session.Meta{FNumber: &f8, ShutterSeconds: &quarter, Width: &wide, Height: &high}})
		g.Frames = append(g.Frames, fp)
		at := float64(i) / float64(n-1)
		near, far := at-hold/2, at+hold/2
		c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: fp, Place: &at, Near: &near, Far: &far})
		s.Newest = fp
	}
	s.Groups, s.Checks[1] = []session.Group{g}, c
	return s
}

// TestPlanAgainstShot: at life size and f/8 a frame holds 2·8·c·2 with c the diagonal /
// 1500, 0.923 mm (by hand). A stack in which that is a tenth of the whole is 9.23 mm
// deep; eleven frames lie 0.923 mm apart.
func TestPlanAgainstShot(t *testing.T) {
	a := bench1()
	s := shotStack(11, 0.1)
	for planned, want := range map[float64]string{0.66: "1.4 times too far", 0.923: "as planned", 1.85: "0.5 of the step"} {
		if got := AgainstPlan(s, a, Plan{Ready: true, Frames: 11, StepMM: planned, FNumber: 8}); !strings.Contains(got, want) {
			t.Errorf("planned %g mm: %q, want %q", planned, got, want)
		}
	}
	// Another aperture than the plan's: what the plan asks for at f/8 is what counts.
	a.FNumber = 8
	own := PlanOf(a)
	a.FNumber = 0
	if got := AgainstPlan(s, a, Plan{Ready: true, Frames: 11, StepMM: 100, FNumber: 32}); !strings.Contains(got, digits(own.StepMM, 2)) || !strings.Contains(got, "f/8") {
		t.Errorf("%q does not compare with %g mm at f/8", got, own.StepMM)
	}
	for name, empty := range map[string]*desk.Snapshot{"no session": {}, "two frames": shotStack(2, 0.1)} {
		if got := AgainstPlan(empty, a, Plan{Ready: true, Frames: 11, StepMM: 1}); got != "" {
			t.Errorf("%s: %q", name, got)
		}
	}
}

func TestPlanKnownFromFrames(t *testing.T) {
	f, f35, n, s, iso, w, h, m := 60.0, 120.0, 8.0, 0.25, 100, 5184, 3888, 0.5
	snap := &desk.Snapshot{
		Newest: "a",
		Frames: []session.Frame{{Fingerprint: "a", Meta: session.Meta{Lens: "Meridian 60", FocalLengthMM: &f, FocalLength35MM: &f35, FNumber: &n, ShutterSeconds: &s, ISO: &iso, Width: &w, Height: &h}}},
		Gear:   session.Gear{Lenses: []session.Lens{{Name: "Meridian 60", FocalMM: 60, ShortestMM: 60, LongestMM: 60, Frames: 1}}},
		Setups: []session.Setup{{ID: 3, Subject: "dry seed pod", Magnification: &m, Lights: []session.Light{{Kind: session.LightLED, Power: "40 W"}}}},
	}
	k := PlanKnownOf(snap)
	// Half the diagonal of 36 × 24 with 4:3 pixels is four thirds.
	for field, want := range map[PlanField]string{
		PlanSensor: "17.3 × 13 mm", PlanLens: "60 mm", PlanExposure: "f/8 · 1/4 s · ISO 100", PlanMagnification: "0.500", PlanLight: "LED panel, 40 W",
	} {
		if k.Text[field] != want {
			t.Errorf("%s: %q, want %q", planFieldNames[field], k.Text[field], want)
		}
	}
	if len(k.Lenses) != 1 || k.Lenses[0].Name != "Meridian 60" || k.PixelsWide != w {
		t.Errorf("%+v", k)
	}
	a := PlanAsked{Size: PlanMagnification, Text: k.Text, PixelsWide: w, PixelsHigh: h, Words: k.Words}
	a.Text[PlanDepth] = "5"
	p := PlanOf(a)
	if !p.Ready || len(p.Cautions) < 2 || !strings.Contains(p.Cautions[0], "LED") {
		t.Errorf("%v %v", p.Problems, p.Cautions)
	}
}

func TestAlike(t *testing.T) {
	m := 0.6
	found := []session.FoundSetup{
		{Setup: session.Setup{ID: 9, Subject: "cone"}, Stacks: 1, Frames: 3},
		{Setup: session.Setup{ID: 8, Subject: "cone"}},
		{Setup: session.Setup{ID: 6, Subject: "gear train", Magnification: &m}, Stacks: 1, Frames: 21, FNumber: []float64{6.3}},
	}
	if got := Alike(found, 9); got != "Setup 6, gear train, ×0.6: f/6.3, 21 frames" {
		t.Errorf("%q", got)
	}
	if q := AlikeQueries("cone", 0.6); len(q) != 2 || q[0].Words != "cone" || q[1].MagnificationMin >= 0.6 || q[1].MagnificationMax <= 0.6 {
		t.Errorf("%+v", q)
	}
	if q := AlikeQueries("", math.NaN()); q != nil {
		t.Errorf("%+v", q)
	}
}

// TestMeasuredMagnification: 10 mm of ruler over a third of a 36 mm wide sensor's
// picture is 12 mm on the sensor, ×1.2.
func TestMeasuredMagnification(t *testing.T) {
	if m := MeasuredMagnification(bench1(), 400, 1200, "1 cm"); math.Abs(m-1.2) > 1e-9 {
		t.Errorf("×%g", m)
	}
	for _, text := range []string{"", "0", "-1", "ruler"} {
		if m := MeasuredMagnification(bench1(), 400, 1200, text); m > 0 {
			t.Errorf("%q: ×%g", text, m)
		}
	}
}

func TestPlannedFramesStandInTheRibbon(t *testing.T) {
	p := PlanOf(bench1())
	s := shotStack(5, 0.3)
	check := s.Checks[1]
	s.Checks = map[int64]*session.Check{}
	planned := PlannedOf(p, s)
	table := TableOf(s, s.LastArrival)
	table.Plan(s, planned)
	if n := len(table.Ribbon.Bars); n != p.Frames || !table.Ribbon.Bars[n-1].Planned || table.Ribbon.Bars[4].Planned {
		t.Errorf("%d bars for a plan of %d", n, p.Frames)
	}
	check.FarEnd = session.EndOpen
	s.Checks[1] = check
	table = TableOf(s, s.LastArrival)
	table.Plan(s, planned)
	last := table.Ribbon.Bars[len(table.Ribbon.Bars)-1]
	if !last.Planned || last.Number != p.Frames || last.To <= 1 {
		t.Errorf("the last bar is %+v", last)
	}
	check.FarEnd = session.EndClosed
	table = TableOf(s, s.LastArrival)
	table.Plan(s, planned)
	if len(table.Ribbon.Bars) != 5 {
		t.Errorf("planned frames past a closed end")
	}
	// A stack that was there, and judged, when the plan was taken is none of it.
	check.FarEnd = session.EndOpen
	table = TableOf(s, s.LastArrival)
	table.Plan(s, PlannedOf(p, s))
	if len(table.Ribbon.Bars) != 5 {
		t.Errorf("the plan changes a stack of before")
	}
}

// What cannot be understood is marked where it was typed, and nothing else is.
func TestPlanMarksWhatIsWrong(t *testing.T) {
	a := bench1()
	a.Text[PlanSensor] = "12"
	for f, in := range PlanOf(a).Inputs {
		if want := PlanField(f) == PlanSensor; in.Wrong != want {
			t.Errorf("%s: wrong is %v, want %v", in.Name, in.Wrong, want)
		}
	}
}

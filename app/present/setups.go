package present

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
)

// Setups is what was found in the log.
type Setups struct {
	Sentence
	Cards []Card
	Wheel map[session.Cell]int
	Total int
}

// Card is one setup that was found.
type Card struct {
	ID            int64
	Heading       string // "Setup 9"
	Subject       string
	Date          string // "today", "2 May"
	Aperture      string // "f/10", "f/8 to f/11"
	Magnification string
	Shutter       string
	Light         string // the first light: "LED panel, diffuser"
	Where         string // of the first light: "back-left · high"
	Distance      string // of the first light
	Others        string // the other lights: "card front-right, flag left"
	Frames        string // how many
	Came          string // what came of it: "2 stacks, 1 blended"; "" when nothing did
	Blended       string // "1 blended": of that what matters most; "" when none is
	Background    string
	Support, Lens string
	Lights        []session.Light
	Dir, Cover    string // where the picture that stands for it is
	Notes         string
	// Verdict is the most urgent on its stacks, "" while none is known, and State says it:
	// "covered", "1 of 3: a gap".
	Verdict session.Verdict
	State   string
}

// Judge puts the verdicts on a card's stacks onto it.
func (c *Card) Judge(verdicts []session.Verdict) {
	c.Verdict, c.State = "", ""
	for _, v := range session.Verdicts {
		n := 0
		for _, of := range verdicts {
			if of == v {
				n++
			}
		}
		switch {
		case n == 0:
			continue
		case n == len(verdicts):
			c.Verdict, c.State = v, stateWords[v]
		default:
			c.Verdict, c.State = v, fmt.Sprintf(words.VerdictOfF, n, len(verdicts), stateWords[v])
		}
		return
	}
}

// SetupsOf puts what was found into words; q is what was asked for.
func SetupsOf(q session.SetupQuery, r session.SetupResults, now time.Time) Setups {
	out := Setups{Wheel: r.Wheel, Total: r.Total, Sentence: setupsSentence(q, r)}
	for _, s := range r.Setups {
		out.Cards = append(out.Cards, card(s, now))
	}
	return out
}

func card(s session.FoundSetup, now time.Time) Card {
	c := Card{
		ID: s.ID, Heading: fmt.Sprintf(words.SetupF, s.ID), Subject: s.Subject, Notes: s.Notes,
		Aperture: apertures(s.FNumber), Magnification: Magnification(s.Magnification),
		Shutter: shutters(s.ShutterSeconds), Came: came(s), Background: s.Background, Support: s.Support, Lens: s.Lens,
		Frames:  strconv.Itoa(s.Frames),
		Blended: blended(s),
		Lights:  s.Lights, Dir: s.Dir, Cover: s.Cover,
	}
	taken := s.Taken
	if taken.IsZero() {
		taken = s.Logged
	}
	c.Date = Date(taken, now)
	if lines := Lights(s.Lights); len(lines) > 0 {
		c.Light = lines[0].Title
		c.Where = Side(s.Lights[0].Side()) + " · " + Height(s.Lights[0].Height())
		var others []string
		for _, l := range s.Lights[1:] {
			others = append(others, Kind(l.Kind)+" "+Side(l.Side()))
		}
		c.Others = strings.Join(others, ", ")
		if d := s.Lights[0].DistanceCM; d != nil {
			c.Distance = Distance(*d)
		}
	}
	return c
}

// came says what came of a setup: its stacks, and those of them that were blended.
func came(s session.FoundSetup) string {
	if s.Stacks == 0 {
		return ""
	}
	out := Count(s.Stacks, words.StackOne, words.StackMany)
	if b := blended(s); b != "" {
		out += ", " + b
	}
	return out
}

func blended(s session.FoundSetup) string {
	if s.Blended == 0 {
		return ""
	}
	return fmt.Sprintf(words.BlendedOfF, s.Blended)
}

// Compared is one line of two setups laid side by side.
type Compared struct {
	Name, A, B string
	Differs    bool
}

// Compare lays two setups side by side: where they differ first, then the rest; what is
// known of neither is left out.
func Compare(a, b Card) []Compared {
	var differ, same []Compared
	for _, row := range []Compared{
		{Name: words.LightName, A: a.Light, B: b.Light}, {Name: words.WhereName, A: a.Where, B: b.Where},
		{Name: words.DistanceName, A: a.Distance, B: b.Distance}, {Name: words.OthersName, A: a.Others, B: b.Others},
		{Name: words.BackgroundName, A: a.Background, B: b.Background},
		{Name: words.ApertureName, A: a.Aperture, B: b.Aperture}, {Name: words.ShutterName, A: a.Shutter, B: b.Shutter},
		{Name: words.Magnification, A: a.Magnification, B: b.Magnification}, {Name: words.LensName, A: a.Lens, B: b.Lens},
		{Name: words.StacksName, A: a.State, B: b.State}, {Name: words.SupportName, A: a.Support, B: b.Support}, {Name: words.FramesName, A: a.Frames, B: b.Frames},
	} {
		row.Differs = row.A != row.B
		switch {
		case row.A == "" && row.B == "":
		case row.Differs:
			differ = append(differ, row)
		default:
			same = append(same, row)
		}
	}
	return append(differ, same...)
}

// PairSentence says what two setups laid side by side differ in.
func PairSentence(a, b Card) string {
	var names []string
	for _, row := range Compare(a, b) {
		if row.Differs && row.Name != words.FramesName {
			names = append(names, row.Name)
		}
	}
	switch {
	case len(names) == 0:
		return fmt.Sprintf(words.PairSameF, a.Heading, b.Heading)
	case len(names) > 4:
		names = append(names[:3], words.PairMore)
	}
	return fmt.Sprintf(words.PairDifferF, a.Heading, b.Heading, List(names))
}

// shutters names one exposure time, or the first and last of several.
func shutters(s []float64) string {
	if len(s) == 0 {
		return ""
	}
	return Range{s[0], s[len(s)-1]}.Shutters()
}

// apertures names one f-number, or the first and last of several.
func apertures(n []float64) string {
	switch len(n) {
	case 0:
		return ""
	case 1:
		return FNumber(&n[0])
	}
	return fmt.Sprintf(words.RangeF, FNumber(&n[0]), FNumber(&n[len(n)-1]))
}

// Asks reports whether a query asks for anything at all.
func Asks(q session.SetupQuery) bool {
	return strings.TrimSpace(q.Words) != "" || len(q.Cells)+len(q.Sides)+len(q.Heights)+len(q.Kinds)+len(q.Modifiers) > 0 ||
		q.Blended || q.ShutterMin > 0 || q.ShutterMax > 0 ||
		q.ApertureMin > 0 || q.ApertureMax > 0 || q.MagnificationMin > 0 || q.MagnificationMax > 0 ||
		!q.Since.IsZero() || !q.Until.IsZero()
}

func setupsSentence(q session.SetupQuery, r session.SetupResults) Sentence {
	s := Sentence{Mark: MarkSetups, Cells: q.Cells}
	if r.Logged == 0 {
		s.Headline, s.WhatToDo = words.NoSetups, words.NoSetupsAdvice
		return s
	}
	noun := words.Plural(r.Total, words.SetupWordOne, words.SetupWordMany)
	if !Asks(q) {
		s.Headline = fmt.Sprintf(words.SetupsAllF, words.Number(r.Logged), words.Plural(r.Logged, words.SetupWordOne, words.SetupWordMany))
		s.WhatToDo = words.SetupsAllAdvice
		return s
	}
	s.Headline = words.Number(r.Total) + " " + noun
	if from := from(q); from != "" {
		s.Headline += fmt.Sprintf(words.LitFromF, from)
	}
	s.Headline += "."
	s.WhatToDo = fmt.Sprintf(words.OfLoggedF, words.Whole(r.Logged))
	if r.Meant != "" {
		s.WhatToDo = fmt.Sprintf(words.MeantF, r.Meant) + " " + s.WhatToDo
	}
	switch kinds := byKind(r); {
	case r.Total == 0:
		s.WhatToDo += " " + words.NothingFoundAdvice
	case kinds != "":
		s.WhatToDo += " " + kinds
	}
	return s
}

// from names the directions asked for, up to two; more are "several sides".
func from(q session.SetupQuery) string {
	var out []string
	for _, c := range q.Cells {
		if c.Height == session.HeightOverhead {
			out = append(out, Height(c.Height))
			continue
		}
		out = append(out, fmt.Sprintf(words.SideHeightF, Side(c.Side), Height(c.Height)))
	}
	for _, s := range q.Sides {
		out = append(out, Side(s))
	}
	var heights []string
	for _, h := range q.Heights {
		heights = append(heights, Height(h))
	}
	slices.Sort(out)
	out = slices.Compact(out)
	if len(out) > 2 {
		out = []string{words.SeveralSides}
	}
	if len(heights) > 0 && len(q.Cells) == 0 {
		h := either(heights)
		if len(out) == 0 {
			return h
		}
		return fmt.Sprintf(words.SideHeightF, either(out), h)
	}
	return either(out)
}

// byKind counts the setups found by their first light that gives light of its own,
// when all of them are at hand: "Four of them by an LED panel, two by a window."
func byKind(r session.SetupResults) string {
	if r.Total < 2 || r.Total != len(r.Setups) {
		return ""
	}
	count := map[session.LightKind]int{}
	for _, s := range r.Setups {
		for _, l := range s.Lights {
			if l.Kind != session.LightCard && l.Kind != session.LightFlag {
				count[l.Kind]++
				break
			}
		}
	}
	var out []string
	for _, k := range session.LightKinds {
		n := count[k]
		switch {
		case n == 0:
		case len(out) == 0:
			out = append(out, fmt.Sprintf(words.OfThemF, Capital(ofThem(n)), article(k)))
		default:
			out = append(out, fmt.Sprintf(words.ByF, ofThem(n), article(k)))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + "."
}

// ofThem counts setups without naming them: in some languages one alone has another form then.
func ofThem(n int) string {
	if n == 1 {
		return strings.ToLower(words.OneOfThem)
	}
	return words.NumberWithin(n)
}

func article(k session.LightKind) string {
	switch k {
	case session.LightLED:
		return words.AnLED
	case session.LightFlash:
		return words.AFlash
	case session.LightLamp:
		return words.ALamp
	case session.LightWindow:
		return words.AWindow
	}
	return Kind(k)
}

// NotHere says why a setup's stacks cannot be shown: they lie in another folder, or
// there are none.
func NotHere(c Card) string {
	if c.Cover == "" {
		return words.NoStacksShot
	}
	return fmt.Sprintf(words.OtherFolderF, c.Dir)
}

// InShort says in a line what a setup is: its subject and its lights.
func InShort(s session.Setup) string {
	out := known(s.Subject)
	for _, l := range s.Lights {
		out = append(out, Kind(l.Kind)+" "+Side(l.Side()))
	}
	return strings.Join(out, " · ")
}

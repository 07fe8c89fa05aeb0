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
	Light         string // the first light: "LED panel, diffuser"
	Distance      string // of the first light
	Frames        string // how many
	Lights        []session.Light
	Dir, Cover    string // where the picture that stands for it is
	Notes         string
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
		Frames: strconv.Itoa(s.Frames),
		Lights: s.Lights, Dir: s.Dir, Cover: s.Cover,
	}
	taken := s.Taken
	if taken.IsZero() {
		taken = s.Logged
	}
	c.Date = Date(taken, now)
	if lines := Lights(s.Lights); len(lines) > 0 {
		c.Light = lines[0].Title
		if d := s.Lights[0].DistanceCM; d != nil {
			c.Distance = Distance(*d)
		}
	}
	return c
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
	return strings.TrimSpace(q.Words) != "" || len(q.Cells)+len(q.Sides)+len(q.Heights)+len(q.Kinds) > 0 ||
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
	s.WhatToDo = fmt.Sprintf(words.OfLoggedF, r.Logged)
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
			out = append(out, string(c.Height))
			continue
		}
		out = append(out, fmt.Sprintf(words.SideHeightF, c.Side, c.Height))
	}
	for _, s := range q.Sides {
		out = append(out, string(s))
	}
	var heights []string
	for _, h := range q.Heights {
		heights = append(heights, string(h))
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
			out = append(out, fmt.Sprintf(words.OfThemF, words.Number(n), article(k)))
		default:
			out = append(out, fmt.Sprintf(words.ByF, strings.ToLower(words.Number(n)), article(k)))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return strings.Join(out, ", ") + "."
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
	return string(k)
}

// NotHere says why a setup's stacks cannot be shown: they lie in another folder, or
// there are none.
func NotHere(c Card) string {
	if c.Cover == "" {
		return words.NoStacksShot
	}
	return fmt.Sprintf(words.OtherFolderF, c.Dir)
}

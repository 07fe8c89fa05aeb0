package present

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
)

// Day is one group of frames of a subject, in the series over its days.
type Day struct {
	Sentence
	Name      string // in the list: "2 May · Stack, 13 frames"
	Day       string // "2 May"
	Dir, File string // the picture to show; File "" for none
	Lights    []session.Light
}

// Framed says in its sentence how the picture at place i lies on the others, given what was
// found of the first pictures of the series. Where there is nothing to say it is day.Sentence.
func Framed(list []Day, framings []session.Framing, i int) Sentence {
	s := list[i].Sentence
	pictures := 0
	for _, d := range list {
		if d.File != "" {
			pictures++
		}
	}
	if list[i].File == "" || pictures < 2 {
		return s
	}
	said := ""
	alone := func() bool {
		for k, f := range framings {
			if k != i && f.On == i {
				return false
			}
		}
		return true
	}
	switch {
	case len(framings) < len(list):
		said = fmt.Sprintf(words.DayLayingF, len(framings), len(list))
	case framings[i].On < 0: // the picture cannot be read, which its place says
	case framings[i].On != i:
		said = fmt.Sprintf(words.DayLaidF, list[framings[i].On].Day)
	case alone():
		said = words.DayAlone
	}
	if said != "" {
		s.WhatToDo = strings.TrimSuffix(s.WhatToDo, ".") + " · " + said + "."
	}
	return s
}

// DaysOf puts all that was shot of a subject into words, in time order.
func DaysOf(subject string, shots []session.Shot, now time.Time) []Day {
	subject, _ = session.SubjectName(subject)
	var first time.Time
	out := make([]Day, len(shots))
	for i, s := range shots {
		if first.IsZero() {
			first = s.Taken
		}
		what := fmt.Sprintf(words.DayStackF, kindName(s.Kind), len(s.Frames))
		switch len(s.Frames) {
		case 0:
			what = fmt.Sprintf(words.DayGoneF, kindName(s.Kind))
		case 1:
			what = kindName(s.Kind)
		}
		d := Day{Dir: s.Dir, File: s.Cover, Lights: s.Setup.Lights, Day: Date(s.Taken, now), Name: Date(s.Taken, now) + " · " + what}
		if d.File != "" && !filepath.IsAbs(d.File) && len(s.Blends) > 0 {
			// What became of the stack shows more than one frame of it.
			file := s.Blends[len(s.Blends)-1].File
			d.Dir, d.File = filepath.Dir(file), filepath.Base(file)
			d.Name += " · " + words.BlendedOnly
		}
		_, part := session.SubjectName(s.Setup.Subject)
		when := Date(s.Taken, now)
		if n := dayNumber(first, s.Taken); n > 1 {
			when = fmt.Sprintf(words.DaySinceF, n)
		}
		d.Mark = MarkSetups
		d.Headline = fmt.Sprintf(words.DaysHeadF, Capital(subject), when)
		said := known(strings.TrimSpace(Date(s.Taken, now)+" "+ClockShort(s.Taken)), part, what)
		if l := Lights(s.Setup.Lights); len(l) > 0 {
			said = append(said, l[0].Title+" "+Side(s.Setup.Lights[0].Side()))
		}
		d.WhatToDo = Capital(strings.Join(said, " · ")) + "."
		if i := s.Setup.MainLight(); i >= 0 {
			d.Cells = []session.Cell{{Side: s.Setup.Lights[i].Side(), Height: s.Setup.Lights[i].Height()}}
		}
		out[i] = d
	}
	return out
}

// dayNumber counts days from the first, which is 1, by the calendar; 0 when not known.
func dayNumber(first, t time.Time) int {
	if first.IsZero() || t.IsZero() {
		return 0
	}
	day := func(t time.Time) time.Time {
		y, m, d := t.Date()
		return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return 1 + int(day(t).Sub(day(first)).Hours()/24)
}

func kindName(k session.Kind) string {
	switch k {
	case session.KindTest:
		return words.TestFrame
	case session.KindSingle:
		return words.SingleFrame
	case session.KindMarker:
		return words.MarkerFrame
	}
	return words.StackName
}

// OfAll says which of how many: "3 of 7".
func OfAll(n, all int) string { return fmt.Sprintf(words.OfAllF, n, all) }

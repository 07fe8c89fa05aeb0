// Package present turns a snapshot of the session into what the places show, as plain
// text and numbers ready to draw. It knows no window, no files and no clock: the time
// is handed in. It judges nothing: what is said of a stack comes from its check, and
// where there is no check the words say no more than what is known.
package present

import (
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Mark is the shape before a sentence, or in a row.
type Mark uint8

// The marks.
const (
	MarkNone    Mark = iota
	MarkVerdict      // the shape of Sentence.Verdict
	MarkHold         // still arriving
	MarkTrial        // a light trial
	MarkSetups       // setups found
	MarkPlan         // Plan's answer
	MarkDraw         // the wanted area is being drawn
	MarkKeys         // a list of keys
	MarkNotice       // what could not be read, or failed
	MarkNothing      // nothing is there yet
	MarkFrame        // a frame is looked at closely, by Sentence.Number; none for the proof
)

// Sentence is what a place opens with.
type Sentence struct {
	Mark    Mark
	Verdict session.Verdict
	Number  string // the frame's number, in the shapes that have one
	// Headline is the answer, WhatToDo the next thing to do; either can be "".
	Headline, WhatToDo string
	Cells              []session.Cell // the directions asked for, with MarkSetups
}

// book finds frames, groups and their numbers in a snapshot.
type book struct {
	*desk.Snapshot
	frames map[string]*session.Frame
	// stackNo is the number of a stack among the stacks, by index in Groups; 0 for
	// other groups.
	stackNo []int
}

func open(s *desk.Snapshot) book {
	b := book{Snapshot: s, frames: make(map[string]*session.Frame, len(s.Frames)), stackNo: make([]int, len(s.Groups))}
	for i := range s.Frames {
		b.frames[s.Frames[i].Fingerprint] = &s.Frames[i]
	}
	n := 0
	for i, g := range s.Groups {
		if g.Kind == session.KindStack {
			n++
			b.stackNo[i] = n
		}
	}
	return b
}

// stackName is "Stack 4", or with the photographer's name "Stack 4 · left valve".
func (b book) stackName(group int) string {
	if name := b.Groups[group].Name; name != "" {
		return fmt.Sprintf(words.NamedStackF, b.stackNo[group], name)
	}
	return fmt.Sprintf(words.StackF, b.stackNo[group])
}

// in counts the frames of a group that are in it, and those set aside.
func (b book) in(g session.Group) (in, aside int) {
	for _, fp := range g.Frames {
		if f := b.frames[fp]; f != nil && f.SetAside {
			aside++
			continue
		}
		in++
	}
	return in, aside
}

// Count says how many: "1 frame", "7 frames".
func Count(n int, one, many string) string {
	return fmt.Sprintf(words.Plural(n, one, many), words.Whole(n))
}

// Frames says how many frames.
func Frames(n int) string { return Count(n, words.FrameOne, words.FrameMany) }

// List joins with commas, and with "and" before the last.
func List(items []string) string {
	switch len(items) {
	case 0:
		return ""
	case 1:
		return items[0]
	}
	return fmt.Sprintf(words.AndF, strings.Join(items[:len(items)-1], ", "), items[len(items)-1])
}

// Title is the window's title for a session's folder.
func Title(dir string) string {
	if dir == "" {
		return words.Program
	}
	return fmt.Sprintf(words.TitleF, filepath.Base(dir))
}

// Ago says how long ago in whole minutes or hours; less than a minute counts as one.
func Ago(d time.Duration) string {
	if d < 2*time.Hour {
		return Count(max(1, int(d/time.Minute)), words.MinuteOne, words.MinuteMany)
	}
	return Count(int(d/time.Hour), words.HourOne, words.HourMany)
}

// Problems lists what went wrong, the session's own first: one sentence each.
func Problems(s *desk.Snapshot) []session.Problem {
	return append(append([]session.Problem(nil), s.Notices...), s.Unreadable...)
}

package present

import (
	"context"
	"errors"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/desk"
)

// The queue says of each blend how it stands, and heads the list by what matters most: what is at work,
// then what has failed.
func TestQueueLines(t *testing.T) {
	now := time.Date(2026, 5, 2, 14, 0, 0, 0, time.UTC)
	waits := desk.Queued{Name: "stack 1"}
	works := desk.Queued{Name: "stack 2", Began: now.Add(-30 * time.Second), Done: 1, Total: 4}
	done := desk.Queued{Name: "stack 3", Began: now.Add(-time.Minute), Ended: now, Result: &desk.Blended{Result: &blend.Result{Character: blend.Surfaces}, W: 8256, H: 5504}}
	failed := desk.Queued{Name: "stack 4", Began: now.Add(-time.Minute), Ended: now, Err: errors.New("the disk is full")}
	short := done
	short.Name, short.Job.Out = "stack 6", "/day blends/Stack 6.tif"
	short.Result = &desk.Blended{Result: &blend.Result{Character: blend.Surfaces, LeftOut: []blend.LeftOut{
		{Name: "sub/A0009.JPG", Err: &fs.PathError{Op: "open", Path: filepath.FromSlash("/day/sub/A0009.JPG"), Err: fs.ErrNotExist}},
	}}, W: 8256, H: 5504}
	stopped := desk.Queued{Name: "stack 5", Began: now.Add(-time.Minute), Ended: now, Err: context.Canceled}

	said, lines := Queue([]desk.Queued{works, waits, done, failed, stopped, short}, now)
	var states []QueueState
	for _, l := range lines {
		states = append(states, l.State)
	}
	if want := []QueueState{QueueAtWork, QueueWaits, QueueDone, QueueFailed, QueueStopped, QueueShort}; !slices.Equal(states, want) {
		t.Errorf("states %v, want %v", states, want)
	}
	if lines[0].Share != 0.25 || !strings.Contains(lines[0].Text, "25 % done, about 90 seconds left") && !strings.Contains(lines[0].Text, "2 minutes left") {
		t.Errorf("at work: %+v", lines[0])
	}
	if want := "8,256 × 5,504 pixels, of 0 frames, as smooth surfaces: /day blends/Stack 6.tif. sub/A0009.JPG is left out: file does not exist."; lines[5].Text != want {
		t.Errorf("%q, want %q", lines[5].Text, want)
	}
	if said.Headline != "Blending stack 2." || !strings.Contains(said.WhatToDo, "2 blends to go, one after the other") {
		t.Errorf("%q %q", said.Headline, said.WhatToDo)
	}
	// One blend does not come one after the other.
	if said, _ := Queue([]desk.Queued{works}, now); strings.Contains(said.WhatToDo, "after the other") {
		t.Errorf("of one blend: %q", said.WhatToDo)
	}
	for _, c := range []struct {
		list []desk.Queued
		want string
		mark Mark
	}{
		{[]desk.Queued{stopped}, "Nothing is being blended.", MarkPlan},
		{[]desk.Queued{done, stopped}, "Stack 3 is blended.", MarkPlan},
		{[]desk.Queued{done, done}, "Two blends are made.", MarkPlan},
		{[]desk.Queued{short, done}, "Stack 6: frames are left out.", MarkNotice},
		{[]desk.Queued{done, failed}, "A blend has failed.", MarkNotice},
		{[]desk.Queued{failed, failed}, "Two blends have failed.", MarkNotice},
		{[]desk.Queued{failed, works}, "Blending stack 2.", MarkHold},
		{[]desk.Queued{waits}, "Beginning to blend.", MarkHold},
	} {
		if said, _ := Queue(c.list, now); said.Headline != c.want || said.Mark != c.mark {
			t.Errorf("%q with mark %d, want %q with %d", said.Headline, said.Mark, c.want, c.mark)
		}
	}
}

// Frames that are left out for one reason are named together, and a file that a blend failed for is named once.
func TestBlendNamesAFileOnce(t *testing.T) {
	gone := func(name string) blend.LeftOut {
		return blend.LeftOut{Name: name, Err: &fs.PathError{Op: "open", Path: filepath.FromSlash("/day/" + name), Err: fs.ErrNotExist}}
	}
	r := &blend.Result{Character: blend.Surfaces, LeftOut: []blend.LeftOut{gone("A1.JPG"), gone("A2.JPG"), {Name: "A3.JPG", Err: errors.New("it is broken")}}}
	got := BlendEnded(desk.Queued{Result: &desk.Blended{Result: r}})
	if want := "A1.JPG, A2.JPG are left out: file does not exist. A3.JPG is left out: it is broken."; !strings.HasSuffix(got, want) {
		t.Errorf("%q, want %q at its end", got, want)
	}
	err := errors.Join(blend.ErrNoFrames, session.Fail("%s: %s", "A1.JPG", gone("A1.JPG").Err))
	got = BlendEnded(desk.Queued{Err: err})
	if want := "There is no frame that could be blended; A1.JPG: file does not exist. "; !strings.HasPrefix(got, want) {
		t.Errorf("%q, want %q first", got, want)
	}
}

// Seconds left are said as roughly as they are known.
func TestTook(t *testing.T) {
	for d, want := range map[time.Duration]string{
		700 * time.Millisecond: "1 second", 17 * time.Second: "17 seconds", 81 * time.Second: "80 seconds", 100 * time.Second: "2 minutes",
	} {
		if got := took(d); got != want {
			t.Errorf("%v: %q, want %q", d, got, want)
		}
	}
}

// A refusal is a sentence, unless it begins with the name of a file, which stays as it is written.
func TestBlendRefused(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{session.Fail("the folder %s cannot be made: %s", "/cards/day", fs.ErrPermission), "The folder /cards/day cannot be made: permission denied. Look at the rights of the folder, or choose another."},
		{session.Refuse("%s is a file; name a folder", "notes.txt"), "notes.txt is a file; name a folder."},
	} {
		if got := BlendRefused(c.err); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

package present

import (
	"fmt"
	"testing"
	"time"

	"stillbench/session"
)

func TestSubjectOverDays(t *testing.T) {
	at := func(d, h int) time.Time { return time.Date(2026, 5, d, h, 30, 0, 0, time.UTC) }
	lit := session.Setup{Subject: "pine cone, upper half", Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 55}}}
	days := DaysOf("pine cone, wet", []session.Shot{
		{Kind: session.KindStack, Taken: at(2, 23), Frames: []string{"a", "b"}, Cover: "a", Dir: "/one", Setup: lit},
		{Kind: session.KindSingle, Taken: at(3, 1), Frames: []string{"c"}, Cover: "c", Dir: "/two"},
		{Kind: session.KindStack, Taken: at(5, 14), Frames: []string{"d", "e"}, Cover: "d", Dir: "/three", Blends: []session.Blend{{File: "/out/cone.tif"}}},
		{Kind: session.KindStack, Taken: at(5, 14), Dir: "/three"},
	}, at(5, 15))
	for i, want := range []struct{ head, name, dir, file string }{
		{"Pine cone, 2 May.", "2 May · Stack of 2 frames", "/one", "a"},
		{"Pine cone, day 2.", "3 May · Single", "/two", "c"}, // two hours later, past midnight
		{"Pine cone, day 4.", "today · Stack of 2 frames · blended", "/out", "cone.tif"},
		{"Pine cone, day 4.", "today · Stack, files gone", "/three", ""},
	} {
		if d := days[i]; d.Headline != want.head || d.Name != want.name || d.Dir != want.dir || d.File != want.file {
			t.Errorf("%+v, want %+v", d, want)
		}
	}
	if got := days[0].WhatToDo; got != "2 May 23:30 · upper half · Stack of 2 frames · LED panel back-left." {
		t.Errorf("%q", got)
	}
}

func TestDaysSayHowTheyAreLaid(t *testing.T) {
	list := make([]Day, 4)
	for i := range list {
		list[i] = Day{Sentence: Sentence{WhatToDo: "Shot."}, Day: fmt.Sprint(i+1, " May"), File: "A.JPG"}
	}
	done := []session.Framing{{On: 0}, {On: 0, Laid: session.Laid{Scale: 1}}, {On: 2}, {On: -1}}
	for i, want := range []string{"Shot.", "Shot · laid on 1 May.", "Shot · framed differently: not laid on the others.", "Shot."} {
		if got := Framed(list, done, i).WhatToDo; got != want {
			t.Errorf("day %d says %q, want %q", i, got, want)
		}
	}
	if got := Framed(list, done[:1], 1).WhatToDo; got != "Shot · laying them on each other: 1 of 4." {
		t.Errorf("while it is not known it says %q", got)
	}
	if got := Framed(list[:1], done[:1], 0).WhatToDo; got != "Shot." {
		t.Errorf("a single picture says %q", got)
	}
}

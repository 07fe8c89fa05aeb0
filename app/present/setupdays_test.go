package present

import (
	"testing"
	"time"

	"stillbench/session"
)

func TestSubjectOverDays(t *testing.T) {
	at := func(d, h int) time.Time { return time.Date(2026, 5, d, h, 30, 0, 0, time.UTC) }
	lit := session.Setup{Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 55}}}
	days := DaysOf("pine cone", []session.Shot{
		{Kind: session.KindStack, Taken: at(2, 23), Frames: []string{"a", "b"}, Cover: "a", Dir: "/one", Setup: lit},
		{Kind: session.KindSingle, Taken: at(3, 1), Frames: []string{"c"}, Cover: "c", Dir: "/two"},
		{Kind: session.KindStack, Taken: at(5, 14), Frames: []string{"d", "e"}, Cover: "d", Dir: "/three", Blends: []session.Blend{{File: "/out/cone.tif"}}},
	}, at(5, 15))
	for i, want := range []struct{ head, name, dir, file string }{
		{"Pine cone, 2 May.", "2 May · Stack of 2 frames", "/one", "a"},
		{"Pine cone, day 2.", "3 May · Single", "/two", "c"}, // two hours later, past midnight
		{"Pine cone, day 4.", "today · Stack of 2 frames · blended", "/out", "cone.tif"},
	} {
		if d := days[i]; d.Headline != want.head || d.Name != want.name || d.Dir != want.dir || d.File != want.file {
			t.Errorf("%+v, want %+v", d, want)
		}
	}
	if got := days[0].WhatToDo; got != "2 May 23:30 · Stack of 2 frames · LED panel back-left." {
		t.Errorf("%q", got)
	}
}

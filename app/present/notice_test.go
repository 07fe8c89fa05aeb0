package present

import (
	"strings"
	"testing"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Before the first frame the Table says what is amiss itself where that is short, and else where it can
// be read.
func TestNoticeBeforeTheFirstFrame(t *testing.T) {
	s := &desk.Snapshot{Session: session.Session{Dir: "/in"}}
	if got := TableOf(s, time.Now()).Sentence; got.Mark != MarkNothing || got.Headline != words.NothingYet {
		t.Errorf("without a notice: %+v", got)
	}
	s.Notices = []session.Problem{{Sentence: session.Say("the folder is away.")}}
	if got := TableOf(s, time.Now()).Sentence; got.Mark != MarkNotice || got.WhatToDo != "The folder is away." {
		t.Errorf("with a short notice: %+v", got)
	}
	s.Notices = []session.Problem{{Sentence: session.Say(strings.Repeat("far too much to be read from two metres. ", 6))}}
	if got := TableOf(s, time.Now()).Sentence; got.Mark != MarkNotice || got.WhatToDo != words.NoticeLong {
		t.Errorf("with a long notice: %+v", got)
	}
}

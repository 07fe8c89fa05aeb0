package setups

import (
	"errors"
	"strings"
	"testing"

	"stillbench/app/place"
	"stillbench/session"
)

func TestRestoringAsksFirstAndSaysWhatItWillDo(t *testing.T) {
	w := newBench(t)
	w.log.Kept.Copies = []session.LogCopy{{Path: "/copies/a.db", Made: w.h.Now().AddDate(0, 0, -1), Size: 300 << 10}}
	w.keys("L")
	w.take(1)
	l := w.leaf.(*logFile)
	if l.rows[0].name != "yesterday, 13:58" || l.rows[0].text != "daily copy" || l.rows[0].note != "300 kB" {
		t.Errorf("the copy is listed as %+v", l.rows[0])
	}
	w.keys(place.KeyEnter)
	if s := w.Sentence(); !strings.Contains(s.Headline, "yesterday, 13:58?") || !strings.Contains(s.WhatToDo, "A copy of the log as it is now is made first") {
		t.Errorf("it asks %q, %q", s.Headline, s.WhatToDo)
	}
	w.keys(place.KeyEscape)
	if len(w.log.Kept.Done) != 0 || w.leaf == nil {
		t.Fatal("Esc did not leave the log as it is")
	}
	w.keys(place.KeyEnter, "Y")
	w.take(1) // done; the search and the list come
	if len(w.log.Kept.Done) != 1 || w.log.Kept.Done[0] != "restore /copies/a.db" || !w.reopened {
		t.Errorf("done %v, opened again: %v", w.log.Kept.Done, w.reopened)
	}
	if !strings.Contains(w.told, "yesterday, 13:58") {
		t.Errorf("told %q", w.told)
	}
}

func TestLogIsTakenOutAndIn(t *testing.T) {
	w := newBench(t)
	w.keys("L")
	w.take(1)
	for i, c := range []struct {
		key   place.Key
		typed string
		done  string
		told  string
	}{
		{"O", "/out/log", "export /out/log.json", "/out/log.json"},
		{"V", "/out/tables", "export /out/tables", "/out/tables"},
		{"I", "/in/log.json", "import /in/log.json", "2 setups"},
		{"M", "/other/setups.db", "merge /other/setups.db", "3 setups"},
	} {
		w.keys(c.key)
		l := w.leaf.(*logFile)
		l.typing.Entry.SetText(c.typed)
		l.typing.Entry.OnEnter(c.typed)
		w.take(3) // done, the search, the list
		if len(w.log.Kept.Done) != i+1 || w.log.Kept.Done[i] != c.done || !strings.Contains(w.told, c.told) {
			t.Errorf("%s: done %v, told %q", c.key, w.log.Kept.Done, w.told)
		}
	}
	w.log.Refuse = errors.New("the disk is full")
	w.keys("O")
	w.leaf.(*logFile).typing.Entry.OnEnter("/out/log")
	w.take(2)
	if !strings.Contains(w.told, "the disk is full") {
		t.Errorf("told %q", w.told)
	}
}

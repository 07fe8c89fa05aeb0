package store

import (
	"reflect"
	"testing"
	"time"

	"stillbench/session"
)

// TestVerdictsUnderSetups: of each stack the newest verdict on just the frames that it holds.
func TestVerdictsUnderSetups(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/pictures/cone")
	a := logSetup(t, s, id, session.Setup{Subject: "pine cone"}).ID
	b := logSetup(t, s, id, session.Setup{Subject: "shell"}).ID
	at := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	var names []string
	for i := range 7 {
		f := frame(i, 8, at.Add(time.Duration(i)*time.Second))
		names = append(names, f.Fingerprint)
		save(t, s, id, f)
	}
	groups := []session.Group{
		{ID: 1, Kind: session.KindStack, Frames: names[0:2], SetupID: a},
		{ID: 2, Kind: session.KindStack, Frames: names[2:4], SetupID: a},
		{ID: 3, Kind: session.KindStack, Frames: names[4:6], SetupID: b},
		{ID: 4, Kind: session.KindSingle, Frames: names[6:7], SetupID: b},
	}
	if err := s.SaveGroups(t.Context(), id, groups); err != nil {
		t.Fatal(err)
	}
	judge := func(key string, v session.Verdict, frames ...string) {
		t.Helper()
		c := &session.Check{Verdict: v}
		for _, f := range frames {
			c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: f})
		}
		if err := s.SaveCheck(t.Context(), frames[0], key, c); err != nil {
			t.Fatal(err)
		}
	}
	judge("1", session.VerdictGap, names[0:2]...)
	judge("2", session.VerdictCovered, names[0:2]...)
	judge("3", session.VerdictBlurred, names[0], names[1], names[2]) // while it held one more
	judge("4", session.VerdictFarOpen, names[2:4]...)
	judge("5", session.VerdictTooFew, names[4]) // of the third stack before it grew
	got, err := s.VerdictsUnder(t.Context(), []int64{a, b, 999})
	want := map[int64][]session.Verdict{a: {session.VerdictCovered, session.VerdictFarOpen}}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("verdicts %v, %v, want %v", got, err, want)
	}
	if got, err := s.VerdictsUnder(t.Context(), nil); err != nil || len(got) != 0 {
		t.Errorf("of no setup: %v, %v", got, err)
	}
}

package desk_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// judged opens a desk that judges stacks and waits until it has judged all.
func judged(t testing.TB, dir string, log desk.Log) *desk.Desk {
	t.Helper()
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: log, Workers: 2, Check: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	settle(t, d)
	return d
}

func settle(t testing.TB, d *desk.Desk) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	if err := d.Settled(ctx); err != nil {
		t.Fatal(err)
	}
}

// A snapshot says that the session is settled when nothing is left to be read or judged, and not before.
func TestSnapshotSaysWhenSettled(t *testing.T) {
	dir := twoStacks(t)
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: openStore(t, filepath.Join(t.TempDir(), "log.db")), Workers: 2, Check: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	if d.Snapshot().Settled {
		t.Error("settled before the folder was looked at")
	}
	until := func(frames int) {
		t.Helper()
		late := time.After(time.Minute)
		for {
			s := d.Snapshot()
			all := s.Read == s.Found
			for _, g := range s.Groups {
				all = all && (g.Kind != session.KindStack || s.Checks[g.ID] != nil)
			}
			if s.Settled && !all {
				t.Fatalf("settled with %d of %d files read and %d checks of %s", s.Read, s.Found, len(s.Checks), shape(s))
			}
			if s.Settled && len(s.Frames) == frames {
				return
			}
			select {
			case <-d.Changed():
			case <-late:
				t.Fatalf("not settled after a minute: %d of %d files read, %d checks of %s", s.Read, s.Found, len(s.Checks), shape(s))
			}
		}
	}
	until(10)
	put(t, dir, "VTX_0011.JPG", jpeg(t, 2, noon.Add(11*time.Minute)))
	until(11)
}

// spoil makes every picture in dir undecodable without changing its size, time or how it
// ends, so that only a decode can notice: its frame header (SOF, ITU-T T.81 B.2.2) says
// zero columns.
// mend puts the pictures back.
func spoil(t *testing.T, dir string) (mend func()) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.JPG"))
	if err != nil || len(names) == 0 {
		t.Fatal(names, err)
	}
	originals := map[string]string{}
	for _, name := range names {
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		at := bytes.LastIndex(data, []byte{0xff, 0xc0, 0, 17})
		if at < 0 {
			t.Fatal("no frame header in " + name)
		}
		data[at+7], data[at+8] = 0, 0
		spoilt := filepath.Join(t.TempDir(), "spoilt")
		if err := os.WriteFile(spoilt, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(spoilt, info.ModTime(), info.ModTime()); err != nil {
			t.Fatal(err)
		}
		originals[name] = filepath.Join(t.TempDir(), "original")
		if err := errors.Join(os.Link(name, originals[name]), os.Rename(spoilt, name)); err != nil {
			t.Fatal(err)
		}
	}
	return func() {
		for name, original := range originals {
			if err := os.Rename(original, name); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// counts writes the verdict of every group and of how many frames it speaks.
func counts(s *desk.Snapshot) string {
	out := ""
	for _, g := range s.Groups {
		if c := s.Checks[g.ID]; c != nil {
			out += fmt.Sprintf("%s of %d, ", c.Verdict, len(c.Frames))
		}
	}
	return out
}

func TestReopenedSessionDecodesNothingForItsVerdicts(t *testing.T) {
	dir, path := twoStacks(t), filepath.Join(t.TempDir(), "setups.db")
	log := openStore(t, path)
	d := judged(t, dir, log)
	before := d.Snapshot()
	if len(before.Checks) != 2 || len(before.Checks[before.Groups[0].ID].Frames) != 5 {
		t.Fatalf("judged: %s", counts(before))
	}
	d.Close()
	log.Close()
	mend := spoil(t, dir)

	d = judged(t, dir, openStore(t, path))
	after := d.Snapshot()
	if len(after.Groups) != len(before.Groups) {
		t.Fatalf("%d groups, before %d", len(after.Groups), len(before.Groups))
	}
	for i, g := range after.Groups {
		if !reflect.DeepEqual(before.Checks[before.Groups[i].ID], after.Checks[g.ID]) {
			t.Errorf("group %d: was %+v, is %+v", i, before.Checks[before.Groups[i].ID], after.Checks[g.ID])
		}
	}
	// Held to something else, the frames are needed, and cannot be decoded any more: the
	// verdicts above did come from the log.
	if err := d.RememberCircle(t.Context(), session.Circle{Convention: "d1000"}); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	if got := counts(d.Snapshot()); got != "too-few of 0, too-few of 0, " {
		t.Errorf("held to another circle of confusion: %s", got)
	}
	d.Close()

	// A verdict that lacks a frame is not kept: when the pictures can be read again it is
	// found anew.
	mend()
	s := judged(t, dir, openStore(t, path)).Snapshot()
	if got := counts(s); strings.Contains(got, "of 0") {
		t.Errorf("with the pictures back: %s", got)
	}
}

func TestWantedAreaIsKeptFollowsTheStackAndIsJudgedWithoutDecoding(t *testing.T) {
	dir, path := twoStacks(t), filepath.Join(t.TempDir(), "setups.db")
	log := openStore(t, path)
	d := judged(t, dir, log)
	s := d.Snapshot()
	second := s.Groups[1]
	all := s.Checks[second.ID]
	spoil(t, dir)

	area := session.Area{{0.1, 0.1}, {0.6, 0.1}, {0.6, 0.9}}
	want := func(a session.Area) {
		t.Helper()
		if err := d.Edit(t.Context(), session.Edit{Kind: session.EditWanted, Frame: second.Frames[2], Area: a}); err != nil {
			t.Fatal(err)
		}
		settle(t, d)
	}
	want(area)
	s = d.Snapshot()
	if !reflect.DeepEqual(s.Wanted, map[int64]session.Area{second.ID: area}) {
		t.Errorf("wanted %v", s.Wanted)
	}
	if c := s.Checks[second.ID]; c == all || len(c.Frames) != 5 {
		t.Errorf("the verdict on the area speaks of %d frames, anew: %v", len(c.Frames), c != all)
	}

	// A frame is set aside and put back, and so is the one that the area lies on: nothing is
	// decoded for it either, and the area stays.
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditKindOf, Frame: second.Frames[0], Group: session.KindStack}); err != nil {
		t.Fatal(err)
	}
	for _, fp := range []string{second.Frames[1], second.Frames[2]} {
		for _, step := range []struct {
			kind session.EditKind
			left int
		}{{session.EditSetAside, 4}, {session.EditPutBack, 5}} {
			if err := d.Edit(t.Context(), session.Edit{Kind: step.kind, Frame: fp}); err != nil {
				t.Fatal(err)
			}
			settle(t, d)
			s := d.Snapshot()
			if c := s.Checks[second.ID]; c == nil || len(c.Frames) != step.left || !reflect.DeepEqual(s.Wanted[second.ID], area) {
				t.Errorf("%s %s: the verdict is %+v, wanted %v", step.kind, fp, c, s.Wanted[second.ID])
			}
		}
	}

	// Another frame joins the stack: the area holds for it.
	put(t, dir, "VTX_0011.JPG", jpeg(t, 2, noon.Add(10*time.Minute+50*time.Second)))
	deadline := time.Now().Add(30 * time.Second)
	for len(d.Snapshot().Frames) < 11 && time.Now().Before(deadline) {
		<-d.Changed()
	}
	settle(t, d)
	s = d.Snapshot()
	if g := s.Groups[1]; len(g.Frames) != 6 || !reflect.DeepEqual(s.Wanted[g.ID], area) || len(s.Checks[g.ID].Frames) != 6 {
		t.Errorf("grown to %d frames: wanted %v, verdict on %d", len(g.Frames), s.Wanted[g.ID], len(s.Checks[g.ID].Frames))
	}

	// The session read anew.
	d.Close()
	log.Close()
	d = judged(t, dir, openStore(t, path))
	if s := d.Snapshot(); !reflect.DeepEqual(s.Wanted[s.Groups[1].ID], area) {
		t.Errorf("opened again, wanted %v", s.Wanted)
	}

	// All of it, and that undone.
	want(nil)
	if s := d.Snapshot(); len(s.Wanted) != 0 {
		t.Errorf("all of it: %v", s.Wanted)
	}
	if err := d.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if s := d.Snapshot(); !reflect.DeepEqual(s.Wanted[s.Groups[1].ID], area) || s.Redo.String() != "want all of the picture sharp" {
		t.Errorf("undone: %v, redo %q", s.Wanted, s.Redo)
	}
}

// BenchmarkReopen opens a session of two stacks for the first time and again, and reports
// how many times faster its verdicts are there again.
func BenchmarkReopen(b *testing.B) {
	dir := twoStacks(b)
	var first, again time.Duration
	for b.Loop() {
		path := filepath.Join(b.TempDir(), "setups.db")
		for _, took := range []*time.Duration{&first, &again} {
			log := openStore(b, path)
			start := time.Now()
			d := judged(b, dir, log)
			*took += time.Since(start)
			d.Close()
			log.Close()
		}
	}
	b.ReportMetric(first.Seconds()/again.Seconds(), "x-faster-again")
}

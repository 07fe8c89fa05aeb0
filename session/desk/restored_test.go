package desk_test

import (
	"context"
	"errors"
	"path/filepath"
	"sync/atomic"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/store"
)

// TestRestoredUnderneath: a log that another program puts back from a copy while a session
// is open takes the session back to the copy; nothing is written under numbers that now mean
// something else.
func TestRestoredUnderneath(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	s, err := store.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	// A session that only the copy holds has the number that ours will have.
	if _, err := s.OpenSession(t.Context(), "/pictures/other"); err != nil {
		t.Fatal(err)
	}
	early, err := s.CopyDaily(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: s})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	edit := func(subject string) error {
		return d.Edit(t.Context(), session.Edit{Kind: session.EditSetup, Setup: &session.Setup{Subject: subject}})
	}
	if err := edit("before"); err != nil {
		t.Fatal(err)
	}
	other, err := store.Open(t.Context(), path) // another program
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if err := other.Restore(t.Context(), early, nil); err != nil {
		t.Fatal(err)
	}
	if err := edit("lost"); !errors.Is(err, session.ErrRestored) {
		t.Fatalf("an edit of a session that was opened before: %v", err)
	}
	if n := len(d.Snapshot().Setups); n != 0 {
		t.Errorf("%d setups are shown, the copy held none", n)
	}
	if err := edit("after"); err != nil {
		t.Fatal(err)
	}
	if got := d.Snapshot().Setups; len(got) != 1 || got[0].Subject != "after" {
		t.Errorf("after asking again: %+v", got)
	}
	r, err := other.FindSetups(t.Context(), session.SetupQuery{})
	if err != nil || r.Total != 1 || r.Setups[0].Dir != dir {
		t.Errorf("the log holds %+v, %v", r, err)
	}

	// The program that restores by itself need not ask twice.
	if err := s.Restore(t.Context(), early, nil); err != nil {
		t.Fatal(err)
	}
	if err := d.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := edit("at once"); err != nil {
		t.Error(err)
	}
}

// faulty is a log whose edits cannot be read for a while.
type faulty struct {
	desk.Log
	fails atomic.Bool
}

func (f *faulty) Edits(ctx context.Context, sessionID int64) ([]session.Edit, error) {
	if f.fails.Load() {
		return nil, errors.New("the disk does not read")
	}
	return f.Log.Edits(ctx, sessionID)
}

// TestRestoredAndUnreadable: as long as a restored log cannot be read, nothing is written to
// it: what is done and undone would be that of the log before.
func TestRestoredAndUnreadable(t *testing.T) {
	s := openStore(t, filepath.Join(t.TempDir(), "setups.db"))
	early, err := s.CopyDaily(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	log := &faulty{Log: s}
	d, err := desk.Open(t.Context(), desk.Options{Dir: t.TempDir(), Log: log})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	edit := func(subject string) error {
		return d.Edit(t.Context(), session.Edit{Kind: session.EditSetup, Setup: &session.Setup{Subject: subject}})
	}
	if err := edit("before"); err != nil {
		t.Fatal(err)
	}
	if err := s.Restore(t.Context(), early, nil); err != nil {
		t.Fatal(err)
	}
	log.fails.Store(true)
	for range 2 {
		if err := edit("lost"); !errors.Is(err, session.ErrRestored) {
			t.Errorf("an edit that cannot be of the log as it is: %v", err)
		}
		if err := d.Undo(t.Context()); !errors.Is(err, session.ErrRestored) {
			t.Errorf("undone what is not there: %v", err)
		}
	}
	log.fails.Store(false)
	if err := d.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	if err := edit("after"); err != nil {
		t.Fatal(err)
	}
	if err := d.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if s := d.Snapshot(); len(s.Setups) != 0 || s.Undo.Form != "" {
		t.Errorf("all undone: %+v, and yet to undo: %q", s.Setups, s.Undo)
	}
}

package main

import (
	"path/filepath"
	"testing"

	"stillbench/session"
	"stillbench/store"
)

// TestSessionFollowsWhatIsBroughtIn: what a merge or an import brings into the session that
// is open is shown, and an edit that the log has forgotten by it is not done again.
func TestSessionFollowsWhatIsBroughtIn(t *testing.T) {
	ctx, dir, logs := t.Context(), t.TempDir(), t.TempDir()
	openAt := func(name string) *store.Store {
		s, err := store.Open(ctx, filepath.Join(logs, name))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Close() })
		return s
	}
	edit := func(subject string) session.Edit {
		return session.Edit{Kind: session.EditSetup, Setup: &session.Setup{Subject: subject}}
	}
	other := openAt("other.db")
	own, err := other.OpenSession(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	bring := func(subject string) {
		if _, err := other.AddEdit(ctx, own.ID, edit(subject)); err != nil {
			t.Fatal(err)
		}
	}
	l := &windowLog{own: openAt("setups.db"), fixed: true}
	l.now.Store(l.own)
	if _, err := l.open(ctx, dir); err != nil {
		t.Fatal(err)
	}
	d := l.live.Load()
	defer d.Close()
	shows := func(want ...string) {
		t.Helper()
		s := d.Snapshot()
		var got []string
		for _, v := range s.Setups {
			got = append(got, v.Subject)
		}
		if len(got) != len(want) || len(got) > 0 && got[len(got)-1] != want[len(want)-1] || s.Redo.Form != "" {
			t.Errorf("setups %q, want %q; to do again: %q", got, want, s.Redo)
		}
	}

	if err := d.Edit(ctx, edit("undone")); err != nil {
		t.Fatal(err)
	}
	if err := d.Undo(ctx); err != nil {
		t.Fatal(err)
	}
	bring("merged")
	if _, err := l.Merge(ctx, other.Path(), nil); err != nil {
		t.Fatal(err)
	}
	shows("merged")

	bring("imported")
	export := filepath.Join(logs, "other.json")
	if err := other.ExportTo(ctx, export, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := l.ImportFrom(ctx, export, nil); err != nil {
		t.Fatal(err)
	}
	shows("merged", "imported")
}

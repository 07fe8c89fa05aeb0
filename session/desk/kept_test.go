package desk_test

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/grouping"
	"stillbench/store"
)

// TestGroupingIsKept: a session that is opened again as it was left shows the groups that were kept of
// it, question and reasons in form and arguments; and whatever they follow from changes, they are
// found again.
func TestGroupingIsKept(t *testing.T) {
	const decoy = "kept"
	for what, change := range map[string]func(t *testing.T, dir string, s *store.Store, was *desk.Snapshot){
		"nothing": nil,
		"a new frame": func(t *testing.T, dir string, _ *store.Store, _ *desk.Snapshot) {
			put(t, dir, "VTX_0011.JPG", jpeg(t, 2, noon.Add(11*time.Minute)))
		},
		"a frame gone": func(t *testing.T, dir string, _ *store.Store, _ *desk.Snapshot) {
			if err := os.Remove(filepath.Join(dir, "VTX_0004.JPG")); err != nil {
				t.Fatal(err)
			}
		},
		"another name": func(t *testing.T, dir string, _ *store.Store, _ *desk.Snapshot) {
			if err := os.Rename(filepath.Join(dir, "VTX_0004.JPG"), filepath.Join(dir, "VTX_0104.JPG")); err != nil {
				t.Fatal(err)
			}
		},
		"a frame set aside": func(t *testing.T, _ string, s *store.Store, was *desk.Snapshot) {
			said(t, s, was, session.Edit{Kind: session.EditSetAside, Frame: was.Frames[3].Fingerprint})
		},
		"a split": func(t *testing.T, _ string, s *store.Store, was *desk.Snapshot) {
			said(t, s, was, session.Edit{Kind: session.EditSplit, Frame: was.Frames[2].Fingerprint})
		},
		"a name": func(t *testing.T, _ string, s *store.Store, was *desk.Snapshot) {
			said(t, s, was, session.Edit{Kind: session.EditName, Frame: was.Frames[2].Fingerprint, Text: "cone"})
		},
		"an older program": func(t *testing.T, _ string, s *store.Store, was *desk.Snapshot) {
			key, groups, err := s.Grouping(t.Context(), was.Session.ID)
			if err == nil {
				err = s.SaveGrouping(t.Context(), was.Session.ID, key+"0", groups)
			}
			if err != nil {
				t.Fatal(err)
			}
		},
	} {
		t.Run(what, func(t *testing.T) {
			dir := twoStacks(t)
			s := openStore(t, filepath.Join(t.TempDir(), "log.db"))
			openDesk(t, dir, s, true).Close()
			d := openDesk(t, dir, s, false) // and this time from what was kept
			was := d.Snapshot()
			d.Close()
			key, groups, err := s.Grouping(t.Context(), was.Session.ID)
			if err != nil || len(groups) != 2 ||
				!slices.ContainsFunc(groups[1].Seam.Reasons, func(r session.Reason) bool { return len(r.Detail.Args) > 0 }) {
				t.Fatalf("kept: %+v, %v", groups, err)
			}
			if !reflect.DeepEqual(groups, was.Groups) {
				t.Errorf("shown %+v, kept %+v", was.Groups, groups)
			}
			// A name that nobody gave tells what was kept from what is found.
			groups[0].Name, groups[0].ID = decoy, 99
			if err := s.SaveGrouping(t.Context(), was.Session.ID, key, groups); err != nil {
				t.Fatal(err)
			}
			if change != nil {
				change(t, dir, s, was)
			}
			now := openDesk(t, dir, s, true).Snapshot()
			if change == nil {
				if now.Groups[0].Name != decoy || now.Groups[0].ID != was.Groups[0].ID {
					t.Errorf("found again: %+v", now.Groups[0])
				}
				return
			}
			edits, err := s.Edits(t.Context(), was.Session.ID)
			if err != nil {
				t.Fatal(err)
			}
			g := grouping.New()
			g.Whole = func(fp string) *session.Figures { f, _ := s.Figures(t.Context(), fp); return f }
			if want := g.Group(now.Frames, edits, was.Groups); !reflect.DeepEqual(now.Groups, want) {
				t.Errorf("shown %+v, want %+v", now.Groups, want)
			}
		})
	}
}

// counting counts how often whole figures are read from a log.
type counting struct {
	desk.Log
	figures atomic.Int64
}

func (c *counting) Figures(ctx context.Context, fingerprint string) (*session.Figures, error) {
	c.figures.Add(1)
	return c.Log.Figures(ctx, fingerprint)
}

// TestKeptGroupsAreWarmedUp: the frames of groups that were kept are compared behind the back of who
// opened the session, and the first edit finds them compared.
func TestKeptGroupsAreWarmedUp(t *testing.T) {
	dir := twoStacks(t)
	s := openStore(t, filepath.Join(t.TempDir(), "log.db"))
	openDesk(t, dir, s, true).Close()
	log := &counting{Log: s}
	d := openDesk(t, dir, log, false)
	frames := int64(len(d.Snapshot().Frames))
	for end := time.Now().Add(time.Minute); log.figures.Load() < frames && time.Now().Before(end); {
		time.Sleep(20 * time.Millisecond)
	}
	split := d.Snapshot().Frames[2].Fingerprint
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditSplit, Frame: split}); err != nil {
		t.Fatal(err)
	}
	if n := log.figures.Load(); n != frames {
		t.Errorf("figures read %d times, for %d frames", n, frames)
	}
	if got := d.Snapshot().Groups[1]; got.Frames[0] != split {
		t.Errorf("the second group begins with %s", got.Frames[0])
	}
}

// TestEditBeforeTheWarmingUp: an edit that comes before the frames are compared is obeyed all the same.
func TestEditBeforeTheWarmingUp(t *testing.T) {
	dir := twoStacks(t)
	s := openStore(t, filepath.Join(t.TempDir(), "log.db"))
	openDesk(t, dir, s, true).Close()
	d := openDesk(t, dir, s, false)
	split := d.Snapshot().Frames[2].Fingerprint
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditSplit, Frame: split}); err != nil {
		t.Fatal(err)
	}
	if got := d.Snapshot().Groups[1]; got.Frames[0] != split {
		t.Errorf("the second group begins with %s", got.Frames[0])
	}
	d.Close()
}

// said adds an edit while the session is not open.
func said(t *testing.T, s *store.Store, was *desk.Snapshot, e session.Edit) {
	t.Helper()
	e.Words, e.Made = "said", noon
	if _, err := s.AddEdit(context.Background(), was.Session.ID, e); err != nil {
		t.Fatal(err)
	}
}

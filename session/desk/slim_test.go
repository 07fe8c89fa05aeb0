package desk_test

import (
	"context"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/grouping"
)

// The small pictures are let go once the log has them, and the log gives them back whole; where it
// cannot be written they stay.
func TestSmallPicturesAreLetGo(t *testing.T) {
	dir := twoStacks(t)
	log := openStore(t, filepath.Join(t.TempDir(), "log.db"))
	d := openDesk(t, dir, &failing{Store: log, full: true}, true)
	want := grouping.Group(d.Snapshot().Frames, nil, nil)
	for _, f := range d.Snapshot().Frames {
		if !f.Figures.Whole() {
			t.Fatalf("%s: its pictures are gone, and were never kept", f.Name)
		}
	}
	whole := d.Snapshot().Frames
	if f, err := d.Figures(t.Context(), whole[0].Fingerprint); err != nil || f != whole[0].Figures {
		t.Errorf("figures that were never kept: %v, %v", f, err)
	}
	d.Close()

	d = openDesk(t, dir, log, false)
	for i, f := range d.Snapshot().Frames {
		if f.Figures.Whole() {
			t.Fatalf("%s: its pictures are kept in memory", f.Name)
		}
		kept, err := d.Figures(t.Context(), f.Fingerprint)
		if err != nil || !reflect.DeepEqual(kept, whole[i].Figures) {
			t.Fatalf("%s: the log gives other figures (%v)", f.Name, err)
		}
	}
	// A frame is saved anew under another name; its figures in the log stay whole.
	if err := os.Rename(filepath.Join(dir, "VTX_0003.JPG"), filepath.Join(dir, "VTX_0103.JPG")); err != nil {
		t.Fatal(err)
	}
	third := named(t, d.Snapshot(), "VTX_0003.JPG").Fingerprint
	until(t, d, "the renamed frame", func(s *desk.Snapshot) bool {
		f, _ := s.Frame(third)
		return f.Name == "VTX_0103.JPG"
	})
	d.Close()
	frames, err := log.Frames(context.Background(), d.Snapshot().Session.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range frames {
		if kept, err := log.Figures(context.Background(), f.Fingerprint); err != nil || !kept.Whole() {
			t.Errorf("%s: the log has lost its pictures", f.Name)
		}
	}
	got := d.Snapshot().Groups
	if !slices.EqualFunc(got, want, func(a, b session.Group) bool { return a.Kind == b.Kind && slices.Equal(a.Frames, b.Frames) }) {
		t.Errorf("groups %v, with the pictures %v", got, want)
	}
}

// A RAW without a picture that comes after its JPEG takes over the JPEG's figures, whole.
func TestRAWTakesOverFigures(t *testing.T) {
	raw, err := os.ReadFile("../../testdata/exif/exiftool-CanonRaw.cr2") // see testdata/SOURCES.md
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	put(t, dir, "VTX_0002.JPG", jpeg(t, 1, time.Date(2005, 8, 3, 18, 59, 18, 0, time.UTC))) // as that file has it
	log := openStore(t, filepath.Join(t.TempDir(), "log.db"))
	d := openDesk(t, dir, log, false)
	if f := named(t, d.Snapshot(), "VTX_0002.JPG"); f.Figures.Whole() {
		t.Fatal("the pictures are still in memory: this shows nothing")
	}
	put(t, dir, "VTX_0002.CR2", raw)
	snap := until(t, d, "the RAW", func(s *desk.Snapshot) bool {
		return slices.ContainsFunc(s.Frames, func(f session.Frame) bool { return f.Name == "VTX_0002.CR2" })
	})
	f := named(t, snap, "VTX_0002.CR2")
	if len(snap.Frames) != 1 || f.Figures == nil {
		t.Errorf("%d frames, figures %v", len(snap.Frames), f.Figures)
	}
	if kept, err := log.Figures(context.Background(), f.Fingerprint); err != nil || !kept.Whole() {
		t.Errorf("the log keeps no whole figures of the RAW (%v)", err)
	}
}

package desk_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// A session that is opened again is shown by the first snapshot as the log knows it, before the
// folder has been looked at; what is not there any more goes, and what is under another name
// stays one frame.
func TestOpenedAgainIsShownAtOnce(t *testing.T) {
	dir := twoStacks(t)
	log := openStore(t, filepath.Join(t.TempDir(), "log.db"))
	d := openDesk(t, dir, log, false)
	aside := d.Snapshot().Frames[2].Fingerprint
	if err := d.Edit(context.Background(), session.Edit{Kind: session.EditSetAside, Frame: aside}); err != nil {
		t.Fatal(err)
	}
	before := d.Snapshot()
	d.Close()
	if err := os.Remove(filepath.Join(dir, "VTX_0007.JPG")); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(filepath.Join(dir, "VTX_0008.JPG"), filepath.Join(dir, "VTX_0108.JPG")); err != nil {
		t.Fatal(err)
	}

	d, err := desk.Open(context.Background(), desk.Options{Dir: dir, Log: log, Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	first := d.Snapshot()
	if shape(first) != shape(before) || first.Newest != before.Newest {
		t.Errorf("at once it shows %q, it was left as %q", shape(first), shape(before))
	}
	if f, _ := first.Frame(aside); !f.SetAside {
		t.Error("at once it forgets what was set aside")
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if err := d.Settled(ctx); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range d.Snapshot().Frames {
		names = append(names, f.Name)
	}
	if len(names) != 9 || slices.Contains(names, "VTX_0007.JPG") || slices.Contains(names, "VTX_0008.JPG") || !slices.Contains(names, "VTX_0108.JPG") {
		t.Errorf("in the end it shows %v", names)
	}
	if f, ok := d.Snapshot().Frame(before.Frames[7].Fingerprint); !ok || f.Name != "VTX_0108.JPG" {
		t.Error("the frame under another name is another frame")
	}
	d.Close()
	known, err := log.Frames(ctx, before.Session.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range known {
		if gone := f.Fingerprint == before.Frames[6].Fingerprint; f.Gone != gone {
			t.Errorf("the log has %s as gone: %v", f.Name, f.Gone)
		}
	}
}

package desk_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/plane"
	"stillbench/store"
)

// The frames of these tests are invented: a patchy texture a composition, with the
// metadata that a camera would write.

var noon = time.Date(2026, 3, 4, 12, 0, 0, 0, time.FixedZone("", 3600))

// jpeg makes one frame of a composition, taken at a time.
func jpeg(t testing.TB, composition uint64, taken time.Time) []byte {
	t.Helper()
	const w, h = 192, 128
	r := rand.New(rand.NewPCG(composition, 1))
	pic := plane.NewRGB(w, h)
	var patch [12][8]byte
	for i := range patch {
		for j := range patch[i] {
			patch[i][j] = byte(40 + r.IntN(170))
		}
	}
	for y := range h {
		for x := range w {
			v := patch[x/16][y/16] + byte(r.IntN(12))
			copy(pic.Pix[(y*w+x)*3:], []byte{v, v, v})
		}
	}
	data, err := plane.EncodeJPEG(pic, 90, false)
	if err != nil {
		t.Fatal(err)
	}
	f, sec, mm, iso := 10.0, 1.0/6, 100.0, 100
	ww, hh := w, h
	data, err = exiftest.InsertJPEG(data, exiftest.Fields{
		Make: "Vellmar", Model: "TX-2", Taken: taken, HasOffset: true,
		FNumber: &f, ShutterSeconds: &sec, FocalLengthMM: &mm, ISO: &iso, Width: &ww, Height: &hh,
	})
	if err != nil {
		t.Fatal(err)
	}
	return data
}

func put(t testing.TB, dir, name string, data []byte) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	old := time.Now().Add(-time.Hour) // come to rest long ago
	if err := os.Chtimes(path, old, old); err != nil {
		t.Fatal(err)
	}
}

// twoStacks puts two stacks of five frames, ten minutes apart, into a new folder.
func twoStacks(t testing.TB) string {
	dir := t.TempDir()
	at := noon
	for i := range 10 {
		if i == 5 {
			at = at.Add(10 * time.Minute)
		}
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+1), jpeg(t, uint64(1+i/5), at))
		at = at.Add(5 * time.Second)
	}
	return dir
}

func openStore(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func openDesk(t testing.TB, dir string, log desk.Log, once bool) *desk.Desk {
	t.Helper()
	d, err := desk.Open(context.Background(), desk.Options{Dir: dir, Log: log, Once: once, Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if err := d.Settled(ctx); err != nil {
		t.Fatal(err)
	}
	return d
}

// sizes writes how many frames each group has.
func sizes(s *desk.Snapshot) string {
	var parts []string
	for _, g := range s.Groups {
		parts = append(parts, fmt.Sprint(len(g.Frames)))
	}
	return strings.Join(parts, " ")
}

// shape writes groups as "stack 5, single 1".
func shape(s *desk.Snapshot) string {
	var parts []string
	for _, g := range s.Groups {
		parts = append(parts, fmt.Sprintf("%s %d", g.Kind, len(g.Frames)))
	}
	return strings.Join(parts, ", ")
}

func named(t testing.TB, s *desk.Snapshot, name string) session.Frame {
	t.Helper()
	i := slices.IndexFunc(s.Frames, func(f session.Frame) bool { return f.Name == name })
	if i < 0 {
		t.Fatalf("no frame %s", name)
	}
	return s.Frames[i]
}

// until waits for a state; the clock bounds it only where something is broken.
func until(t testing.TB, d *desk.Desk, what string, ok func(*desk.Snapshot) bool) *desk.Snapshot {
	t.Helper()
	deadline := time.After(30 * time.Second)
	for {
		if s := d.Snapshot(); ok(s) {
			return s
		}
		select {
		case <-d.Changed():
		case <-deadline:
			t.Fatalf("never came: %s", what)
		}
	}
}

func edit(t testing.TB, d *desk.Desk, e session.Edit) *desk.Snapshot {
	t.Helper()
	if err := d.Edit(context.Background(), e); err != nil {
		t.Fatal(err)
	}
	return d.Snapshot()
}

func TestReadInAndReopen(t *testing.T) {
	dir, log := twoStacks(t), filepath.Join(t.TempDir(), "log.db")
	s := openStore(t, log)
	d := openDesk(t, dir, s, true)
	first := d.Snapshot()
	if got := shape(first); got != "stack 5, stack 5" {
		t.Fatalf("groups: %s", got)
	}
	seam := first.Groups[1].Seam
	if seam == nil || !slices.ContainsFunc(seam.Reasons, func(r session.Reason) bool { return r.Rule == session.RuleGap }) {
		t.Errorf("the second stack's seam does not name the pause: %+v", seam)
	}
	if m := first.Frames[0].Meta; m.FNumber == nil || *m.FNumber != 10 || !m.Taken.Equal(noon) {
		t.Errorf("metadata of the first frame: %+v", m)
	}
	d.Close()
	// The log alone knows the session.
	if groups, err := s.Groups(context.Background(), first.Session.ID); err != nil || len(groups) != 2 {
		t.Fatalf("groups in the log: %v, %v", groups, err)
	}
	again := openDesk(t, dir, s, true).Snapshot()
	if shape(again) != shape(first) || again.Groups[0].ID != first.Groups[0].ID || again.Groups[1].ID != first.Groups[1].ID {
		t.Errorf("reopened: %s with other numbers", shape(again))
	}
	if again.Session.ID != first.Session.ID {
		t.Errorf("reopened as another session")
	}
}

// What the photographer decided by hand is in the log at once: the desk is left
// without being closed, as a program that was killed would leave it.
func TestEditsHold(t *testing.T) {
	dir, log := twoStacks(t), filepath.Join(t.TempDir(), "log.db")
	d := openDesk(t, dir, openStore(t, log), true)
	third := named(t, d.Snapshot(), "VTX_0003.JPG").Fingerprint
	eighth := named(t, d.Snapshot(), "VTX_0008.JPG").Fingerprint

	if got := sizes(edit(t, d, session.Edit{Kind: session.EditSplit, Frame: third})); got != "2 3 5" {
		t.Fatalf("after the split: %s", got)
	}
	snap := edit(t, d, session.Edit{Kind: session.EditSetAside, Frame: eighth})
	if f, _ := snap.Frame(eighth); !f.SetAside {
		t.Error("not set aside")
	}
	if snap.Undo.String() != "set VTX_0008.JPG aside" {
		t.Errorf("undo says %q", snap.Undo)
	}
	other := openDesk(t, dir, openStore(t, log), true)
	if got := sizes(other.Snapshot()); got != "2 3 5" {
		t.Errorf("reopened: %s", got)
	}
	if f, _ := other.Snapshot().Frame(eighth); !f.SetAside {
		t.Error("reopened: not set aside any more")
	}
	ctx := context.Background()
	for _, want := range []string{"split before VTX_0003.JPG", ""} {
		if err := other.Undo(ctx); err != nil {
			t.Fatal(err)
		}
		if got := other.Snapshot().Undo.String(); got != want {
			t.Errorf("undo would do %q, want %q", got, want)
		}
	}
	if got := shape(other.Snapshot()); got != "stack 5, stack 5" {
		t.Errorf("all undone: %s", got)
	}
	if err := other.Redo(ctx); err != nil {
		t.Fatal(err)
	}
	if got := sizes(other.Snapshot()); got != "2 3 5" {
		t.Errorf("done again: %s", got)
	}
}

func TestEditsThatMakeNoSense(t *testing.T) {
	d := openDesk(t, twoStacks(t), openStore(t, filepath.Join(t.TempDir(), "log.db")), true)
	snap := d.Snapshot()
	first, sixth := snap.Frames[0].Fingerprint, snap.Frames[5].Fingerprint
	for _, e := range []session.Edit{
		{Kind: session.EditSplit, Frame: "no such frame"},
		{Kind: session.EditSplit, Frame: first},
		{Kind: session.EditSplit, Frame: sixth},
		{Kind: session.EditJoin, Frame: first},
		{Kind: session.EditJoin, Frame: snap.Frames[2].Fingerprint},
		{Kind: session.EditMoveBack, Frame: first},
		{Kind: session.EditKindOf, Frame: first, Group: "heap"},
		{Kind: session.EditSetup},
		{Kind: session.EditSetup, Setup: &session.Setup{ID: 77}},
		{Kind: session.EditSetup, Setup: &session.Setup{Lights: []session.Light{{Kind: session.LightLamp, ElevationDeg: 95}}}},
		{Kind: "dance", Frame: first},
	} {
		err := d.Edit(context.Background(), e)
		if !errors.Is(err, session.ErrInvalid) && !errors.Is(err, session.ErrNotFound) {
			t.Errorf("%+v: %v", e, err)
		}
	}
	if now := d.Snapshot(); now.Undo.Form != "" || shape(now) != shape(snap) {
		t.Errorf("something was done all the same: %s, undo %q", shape(now), now.Undo)
	}
}

func TestSetupsFollowTheFrames(t *testing.T) {
	dir := twoStacks(t)
	d := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "log.db")), false)
	lamp := func(az float64) *session.Setup {
		return &session.Setup{Subject: "wing nut", Lights: []session.Light{{Kind: session.LightLamp, AzimuthDeg: az, ElevationDeg: 40}}}
	}
	snap := edit(t, d, session.Edit{Kind: session.EditSetup, Setup: lamp(220)})
	if len(snap.Setups) != 1 || snap.Groups[0].SetupID != snap.Setups[0].ID || snap.Groups[1].SetupID != snap.Setups[0].ID {
		t.Fatalf("the first setup stood there from the beginning: %+v", snap.Groups)
	}
	snap = edit(t, d, session.Edit{Kind: session.EditSetup, Setup: lamp(90)})
	if snap.Undo.String() != "the light moved" || snap.Groups[1].SetupID != snap.Setups[0].ID {
		t.Errorf("the light moved after what was shot: undo %q, %+v", snap.Undo, snap.Groups)
	}
	at := noon.Add(30 * time.Minute)
	for i := range 4 {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+11), jpeg(t, 3, at))
		at = at.Add(5 * time.Second)
	}
	snap = until(t, d, "the third stack", func(s *desk.Snapshot) bool { return len(s.Frames) == 14 })
	if g := snap.Groups[len(snap.Groups)-1]; g.SetupID != snap.Setups[1].ID {
		t.Errorf("the third stack stands under setup %d, want %d", g.SetupID, snap.Setups[1].ID)
	}
	if f, _ := snap.Frame(snap.Newest); f.Name != "VTX_0014.JPG" {
		t.Errorf("newest is %s", f.Name)
	}
}

// Bad files are named in a sentence, the good ones are grouped, and none is changed.
func TestBadFiles(t *testing.T) {
	dir := twoStacks(t)
	good := jpeg(t, 9, noon.Add(time.Hour))
	put(t, dir, "EMPTY.JPG", nil)
	put(t, dir, "WORDS.JPG", []byte("this is not a picture, whatever its name says"))
	put(t, dir, "HALF.JPG", good[:len(good)/2])
	put(t, dir, "HEAD.CR3", good[:300])
	put(t, dir, "sub/BOMB.PNG", append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x7f\xff\xff\xff\x7f\xff\xff\xff\x08\x02\x00\x00\x00"), make([]byte, 64)...))
	before := hashes(t, dir)
	d := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "log.db")), true)
	snap := d.Snapshot()
	if got := shape(snap); got != "stack 5, stack 5" {
		t.Errorf("groups: %s", got)
	}
	var named []string
	for _, p := range snap.Unreadable {
		named = append(named, p.File)
		if !strings.Contains(p.Sentence.String(), p.File) {
			t.Errorf("%s: its sentence does not name it: %s", p.File, p.Sentence)
		}
	}
	slices.Sort(named)
	if want := []string{"EMPTY.JPG", "HALF.JPG", "HEAD.CR3", "WORDS.JPG", "sub/BOMB.PNG"}; !slices.Equal(named, want) {
		t.Errorf("unreadable: %v, want %v", named, want)
	}
	if after := hashes(t, dir); after != before {
		t.Error("the folder's files were changed")
	}
}

// hashes sums up names, times and bytes of all files.
func hashes(t testing.TB, dir string) string {
	h := sha256.New()
	err := filepath.Walk(dir, func(path string, st os.FileInfo, err error) error {
		if err != nil || st.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		fmt.Fprintln(h, path, st.ModTime().UnixNano(), st.Mode(), sha256.Sum256(data))
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf("%x", h.Sum(nil))
}

func TestCopiesAndRenames(t *testing.T) {
	dir := twoStacks(t)
	data, err := os.ReadFile(filepath.Join(dir, "VTX_0002.JPG"))
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "backup/VTX_0002.JPG", data)
	d := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "log.db")), false)
	snap := d.Snapshot()
	if len(snap.Frames) != 10 {
		t.Fatalf("%d frames, want 10: the same bytes twice are one frame", len(snap.Frames))
	}
	var copies []string
	for _, c := range snap.Duplicates {
		copies = append(copies, c...)
	}
	if len(copies) != 1 {
		t.Errorf("copies: %v", snap.Duplicates)
	}
	third := named(t, snap, "VTX_0003.JPG").Fingerprint
	edit(t, d, session.Edit{Kind: session.EditSplit, Frame: third})
	if err := os.Rename(filepath.Join(dir, "VTX_0003.JPG"), filepath.Join(dir, "renamed.jpg")); err != nil {
		t.Fatal(err)
	}
	snap = until(t, d, "the renamed frame", func(s *desk.Snapshot) bool {
		f, ok := s.Frame(third)
		return ok && f.Name == "renamed.jpg"
	})
	if got := sizes(snap); got != "2 3 5" {
		t.Errorf("after the rename: %s", got)
	}
	// A frame that vanishes leaves; what was decided about it comes back with it.
	if err := os.Rename(filepath.Join(dir, "renamed.jpg"), filepath.Join(dir, "..", filepath.Base(dir)+"-away.jpg")); err != nil {
		t.Fatal(err)
	}
	until(t, d, "the frame to be gone", func(s *desk.Snapshot) bool { return len(s.Frames) == 9 })
	if err := os.Rename(filepath.Join(dir, "..", filepath.Base(dir)+"-away.jpg"), filepath.Join(dir, "VTX_0003.JPG")); err != nil {
		t.Fatal(err)
	}
	snap = until(t, d, "the frame to be back", func(s *desk.Snapshot) bool { return len(s.Frames) == 10 })
	if got := sizes(snap); got != "2 3 5" {
		t.Errorf("after it came back: %s", got)
	}
}

// Two files that agree in size, head and tail are still two frames.
func TestSameHeadAndTail(t *testing.T) {
	dir := t.TempDir()
	a := jpeg(t, 1, noon)
	// A comment segment (T.81 B.2.4.5) of padding before the picture's own segments.
	pad := make([]byte, 0, 900<<10)
	for len(pad) < 880<<10 {
		pad = append(pad, 0xff, 0xfe, 0xff, 0xff)
		pad = append(pad, make([]byte, 0xfffd)...)
	}
	a = append(append([]byte{0xff, 0xd8}, pad...), a[2:]...)
	b := slices.Clone(a)
	b[700<<10] = 1
	put(t, dir, "A.JPG", a)
	put(t, dir, "B.JPG", b)
	put(t, dir, "C.JPG", a)
	snap := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "log.db")), true).Snapshot()
	if len(snap.Frames) != 2 {
		t.Fatalf("%d frames, want 2", len(snap.Frames))
	}
	if n := len(snap.Duplicates); n != 1 {
		t.Errorf("%d frames with copies, want 1: %v", n, snap.Duplicates)
	}
}

func TestFolderGoesAndComesBack(t *testing.T) {
	dir := twoStacks(t)
	d := openDesk(t, dir, openStore(t, filepath.Join(t.TempDir(), "log.db")), false)
	if err := os.Rename(dir, dir+"-away"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir + "-away") })
	snap := until(t, d, "word that the folder is away", func(s *desk.Snapshot) bool { return len(s.Notices) > 0 })
	if len(snap.Frames) != 10 {
		t.Errorf("%d frames while the folder is away", len(snap.Frames))
	}
	if err := os.Rename(dir+"-away", dir); err != nil {
		t.Fatal(err)
	}
	snap = until(t, d, "the folder back", func(s *desk.Snapshot) bool { return len(s.Notices) == 0 })
	if got := shape(snap); got != "stack 5, stack 5" {
		t.Errorf("back: %s", got)
	}
}

// failing is a log whose disk is full for a while.
type failing struct {
	*store.Store
	full bool
}

var errFull = errors.New("no space left on device")

func (f *failing) SaveFrames(ctx context.Context, id int64, fr []session.Frame) error {
	if f.full {
		return errFull
	}
	return f.Store.SaveFrames(ctx, id, fr)
}

func (f *failing) AddEdit(ctx context.Context, id int64, e session.Edit) (session.Edit, error) {
	if f.full {
		return e, errFull
	}
	return f.Store.AddEdit(ctx, id, e)
}

// slow is a log on a slow disk: every write takes its time.
type slow struct {
	*store.Store
	writes atomic.Int32
}

func (s *slow) wait() {
	s.writes.Add(1)
	time.Sleep(200 * time.Millisecond)
}

func (s *slow) SaveFrames(ctx context.Context, id int64, fr []session.Frame) error {
	s.wait()
	return s.Store.SaveFrames(ctx, id, fr)
}

func (s *slow) SaveGroups(ctx context.Context, id int64, g []session.Group) error {
	s.wait()
	return s.Store.SaveGroups(ctx, id, g)
}

func (s *slow) AddEdit(ctx context.Context, id int64, e session.Edit) (session.Edit, error) {
	s.wait()
	return s.Store.AddEdit(ctx, id, e)
}

// On a slow disk frames that come faster than they can be written are written together, and
// nothing that was acknowledged is missing afterwards.
func TestSlowDisk(t *testing.T) {
	dir, path := twoStacks(t), filepath.Join(t.TempDir(), "log.db")
	log := &slow{Store: openStore(t, path)}
	d := openDesk(t, dir, log, false)
	const more = 40
	at := noon.Add(time.Hour)
	for i := range more {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", 100+i), jpeg(t, 3, at))
		at = at.Add(2 * time.Second)
	}
	snap := until(t, d, "all frames", func(s *desk.Snapshot) bool { return len(s.Frames) == 10+more })
	if n := log.writes.Load(); n > more {
		t.Errorf("%d writes for %d frames", n, more)
	}
	edit(t, d, session.Edit{Kind: session.EditSplit, Frame: named(t, snap, "VTX_0003.JPG").Fingerprint})
	if err := d.Close(); err != nil {
		t.Fatal(err)
	}
	again := openDesk(t, dir, openStore(t, path), true).Snapshot()
	if got := sizes(again); got != fmt.Sprintf("2 3 5 %d", more) || again.Undo.Form == "" {
		t.Errorf("reopened: %s, to undo: %q", got, again.Undo)
	}
}

// A full disk is told, refuses edits rather than pretending, and loses nothing.
func TestFullDisk(t *testing.T) {
	dir := twoStacks(t)
	log := &failing{Store: openStore(t, filepath.Join(t.TempDir(), "log.db")), full: true}
	d := openDesk(t, dir, log, true)
	snap := d.Snapshot()
	if len(snap.Frames) != 10 || len(snap.Notices) != 1 || !strings.Contains(snap.Notices[0].Sentence.String(), "no space left") {
		t.Fatalf("%d frames, notices %v", len(snap.Frames), snap.Notices)
	}
	if err := d.Edit(context.Background(), session.Edit{Kind: session.EditSplit, Frame: snap.Frames[2].Fingerprint}); !errors.Is(err, errFull) {
		t.Errorf("an edit that is not in the log was acknowledged: %v", err)
	}
	if s := d.Snapshot(); s.Undo.Form != "" || shape(s) != "stack 5, stack 5" {
		t.Errorf("the refused edit shows: %s", shape(s))
	}
	log.full = false
	snap = edit(t, d, session.Edit{Kind: session.EditSplit, Frame: snap.Frames[2].Fingerprint})
	if len(snap.Notices) != 0 {
		t.Errorf("still told: %v", snap.Notices)
	}
	if frames, err := log.Frames(context.Background(), snap.Session.ID); err != nil || len(frames) != 10 {
		t.Errorf("%d frames in the log (%v), want 10", len(frames), err)
	}
}

func TestPictures(t *testing.T) {
	d := openDesk(t, twoStacks(t), openStore(t, filepath.Join(t.TempDir(), "log.db")), true)
	ctx, fp := context.Background(), d.Snapshot().Frames[0].Fingerprint
	img, err := d.Picture(ctx, fp, 96, 96)
	if err != nil || img.Rect.Dx() != 96 || img.Rect.Dy() != 64 {
		t.Fatalf("picture: %v, %v", img, err)
	}
	full, err := d.Picture(ctx, fp, 5000, 5000)
	if err != nil || full.Rect.Dx() != 192 {
		t.Fatalf("never enlarged: %v, %v", full.Rect, err)
	}
	cut, err := d.Crop(ctx, fp, 1, 1, 50, 40)
	if err != nil || cut.Rect.Dx() != 50 || cut.Rect.Dy() != 40 {
		t.Fatalf("crop: %v, %v", cut, err)
	}
	// The crop at the corner holds the corner's own pixels.
	for _, p := range [][2]int{{0, 0}, {49, 39}} {
		if cut.RGBAAt(p[0], p[1]) != full.RGBAAt(192-50+p[0], 128-40+p[1]) {
			t.Errorf("crop at %v differs from the picture", p)
		}
	}
	if _, err := d.Picture(ctx, "nobody", 96, 96); !errors.Is(err, session.ErrNotFound) {
		t.Errorf("a frame that is not there: %v", err)
	}
}

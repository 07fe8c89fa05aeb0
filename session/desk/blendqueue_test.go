package desk_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// waitFor waits until something is true of a queue.
func waitFor(t *testing.T, q *desk.BlendQueue, what string, is func([]desk.Queued) bool) []desk.Queued {
	t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		if l := q.List(); is(l) {
			return l
		}
	}
	t.Fatalf("%s never came: %+v", what, q.List())
	return nil
}

func allEnded(l []desk.Queued) bool {
	return !slices.ContainsFunc(l, func(o desk.Queued) bool { return o.Ended.IsZero() })
}

// TestQueue: several blends are done in their order, each into its file, with steps that grow to
// all of them; the log is told which frames.
func TestQueue(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	names := stackFiles(t, dir, ".JPG")
	var mu sync.Mutex
	noted := map[string][]string{}
	q := desk.NewBlendQueue(func() {}, func(_ context.Context, frames []string, file string) error {
		mu.Lock()
		defer mu.Unlock()
		noted[filepath.Base(file)] = frames
		return nil
	})
	defer q.Close()
	prints := []string{"a", "b", "c", "d", "e"}
	for _, to := range []string{"one.jpg", "new folder/two.png"} {
		if err := q.Add(to, desk.BlendJob{Dir: dir, Files: names, Fingerprints: prints, Out: filepath.Join(out, to)}); err != nil {
			t.Fatal(err)
		}
	}
	l := waitFor(t, q, "the end", allEnded)
	for i, o := range l {
		if o.Err != nil || o.Result == nil || len(o.Result.Used) != 5 || o.Done != o.Total || o.Total == 0 {
			t.Errorf("%s: %+v", o.Name, o)
		}
		if _, err := os.Stat(o.Job.Out); err != nil {
			t.Error(err)
		}
		if i > 0 && o.Began.Before(l[i-1].Ended) {
			t.Error("two at once")
		}
	}
	if got := noted["two.png"]; !slices.Equal(got, prints) {
		t.Errorf("the log was told of %v", got)
	}
	q.Forget()
	if len(q.List()) != 0 {
		t.Error("not forgotten")
	}
}

// TestQueueStops: what is stopped leaves nothing on disk, not even a folder made for it, whether
// it waited or was at work, and the next goes on.
func TestQueueStops(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	names := stackFiles(t, dir, ".JPG")
	many := slices.Repeat(names, 40) // long enough to be stopped in the middle
	q := desk.NewBlendQueue(func() {}, nil)
	defer q.Close()
	for _, j := range []desk.BlendJob{
		{Dir: dir, Files: many, Out: filepath.Join(out, "made for it", "long.tif")},
		{Dir: dir, Files: names, Out: filepath.Join(out, "waits.tif")},
		{Dir: dir, Files: names, Out: filepath.Join(out, "stays.jpg")},
	} {
		if err := q.Add(filepath.Base(j.Out), j); err != nil {
			t.Fatal(err)
		}
	}
	waitFor(t, q, "work", func(l []desk.Queued) bool { return l[0].Running() && l[0].Done > 2 })
	q.Stop(2)
	q.Stop(1)
	l := waitFor(t, q, "the end", allEnded)
	if !errors.Is(l[0].Err, context.Canceled) || !errors.Is(l[1].Err, context.Canceled) || l[2].Err != nil {
		t.Errorf("%v, %v, %v", l[0].Err, l[1].Err, l[2].Err)
	}
	if got := left(t, out); !slices.Equal(got, []string{"stays.jpg"}) {
		t.Errorf("left: %v", got)
	}
}

// TestQueueRefuses: what would fail at the end is said at the beginning.
func TestQueueRefuses(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	names := stackFiles(t, dir, ".JPG")
	put(t, out, "there.tif", []byte("dear to somebody"))
	q := desk.NewBlendQueue(func() {}, nil)
	defer q.Close()
	for to, says := range map[string]string{
		filepath.Join(dir, "blend.tif"): "folder of the frames", filepath.Join(dir, names[0]): "folder of the frames",
		filepath.Join(out, "there.tif"): "exists",
	} {
		if err := q.Add("x", desk.BlendJob{Dir: dir, Files: names, Out: to}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", to, err)
		}
	}
	if n := len(q.List()); n != 0 {
		t.Errorf("%d queued", n)
	}
	// A file that is away is named, with the rest left out.
	if err := q.Add("x", desk.BlendJob{Dir: dir, Files: append([]string{"GONE.JPG"}, names...), Out: filepath.Join(out, "rest.jpg")}); err != nil {
		t.Fatal(err)
	}
	o := waitFor(t, q, "the end", allEnded)[0]
	if o.Err != nil || len(o.Result.LeftOut) != 1 || o.Result.LeftOut[0].Name != "GONE.JPG" {
		t.Errorf("%+v", o)
	}
	if got := desk.FreeName(filepath.Join(out, "there.tif")); filepath.Base(got) != "there (2).tif" {
		t.Errorf("free name %s", got)
	}
}

// TestBlendOf: a job has the stack's frames without those set aside, and its touch-ups.
func TestBlendOf(t *testing.T) {
	s := desk.Snapshot{
		Session: session.Session{Dir: "/pictures"},
		Frames:  []session.Frame{{Name: "A.JPG", Fingerprint: "a"}, {Name: "B.JPG", Fingerprint: "b", SetAside: true}, {Name: "C.CR2", Pairs: []string{"C.JPG"}, Fingerprint: "c"}},
		Groups:  []session.Group{{ID: 7, Kind: session.KindStack, Frames: []string{"a", "b", "c"}}, {ID: 8, Kind: session.KindTest}},
		Touches: map[int64][]session.Touch{7: {{From: "a"}}},
	}
	j, err := s.BlendOf(7)
	if err != nil || j.Dir != "/pictures" || !slices.Equal(j.Files, []string{"A.JPG", "C.JPG"}) || !slices.Equal(j.Fingerprints, []string{"a", "c"}) || len(j.Touches) != 1 {
		t.Errorf("%+v, %v", j, err)
	}
	for _, id := range []int64{8, 9} {
		if _, err := s.BlendOf(id); !errors.Is(err, session.ErrNotFound) {
			t.Errorf("group %d: %v", id, err)
		}
	}
}

// TestQueueRefusesWhereNothingCanBeWritten: it is said before the work, and the try leaves nothing.
func TestQueueRefusesWhereNothingCanBeWritten(t *testing.T) {
	dir, out := t.TempDir(), t.TempDir()
	names := stackFiles(t, dir, ".JPG")
	q := desk.NewBlendQueue(func() {}, nil)
	defer q.Close()
	refused := func(to, says string) {
		t.Helper()
		err := q.Add("stack", desk.BlendJob{Dir: dir, Files: names, Out: to})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("to %s: %v, want %q in it", to, err, says)
		}
	}
	file := filepath.Join(out, "notes.txt")
	if err := os.WriteFile(file, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	refused(filepath.Join(file, "blend.tif"), "is a file; name a folder")
	refused(filepath.Join(file, "day", "blend.tif"), "is a file; name a folder")
	shut := filepath.Join(out, "shut")
	if err := os.Mkdir(shut, 0o500); err != nil {
		t.Fatal(err)
	}
	// Who may do everything writes into it all the same.
	if probe, err := os.CreateTemp(shut, ""); err == nil {
		probe.Close()
		os.Remove(probe.Name())
	} else {
		refused(filepath.Join(shut, "blend.tif"), shut+" cannot be written into: ")
		refused(filepath.Join(shut, "day", "blend.tif"), "the folder "+filepath.Join(shut, "day")+" cannot be made: ")
	}
	// Into the kernel's view of its processes (Linux, proc(5)) nobody writes.
	if st, err := os.Stat("/proc/self"); err == nil && st.IsDir() {
		refused("/proc/blend.tif", "/proc cannot be written into: ")
		refused("/proc/day/blend.tif", "the folder /proc/day cannot be made: ")
	}
	if l := q.List(); len(l) != 0 {
		t.Errorf("queued all the same: %+v", l)
	}
	if left, err := os.ReadDir(out); err != nil || len(left) != 2 {
		t.Errorf("beside the two: %v %v", left, err)
	}
}

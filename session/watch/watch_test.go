package watch

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"
)

// The files of these tests are invented: a file is whole when it ends in "END".
var end = []byte("END")

func endsWhole(path string) (bool, Why, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return false, Why{}, err
	}
	return bytes.HasSuffix(b, end), Why{"its last %d bytes are missing", []any{len(end)}}, nil
}

// running is a watcher under test with all that it has told.
type running struct {
	t      *testing.T
	w      *Watcher
	dir    string
	got    []Event // taken by next and drain
	ended  chan struct{}
	cancel context.CancelFunc
}

// start watches dir. With events == false the system has no file events.
func start(t *testing.T, dir string, events bool, change func(*Watcher)) *running {
	t.Helper()
	w, err := Open(Options{Dir: dir, Extensions: []string{".JPG", ".raw"}, Whole: endsWhole})
	if err != nil {
		t.Fatal(err)
	}
	if !events {
		w.openHints = func() (*hints, error) { return nil, errors.New("no events here") }
	}
	if change != nil {
		change(w)
	}
	ctx, cancel := context.WithCancel(t.Context())
	r := &running{t: t, w: w, dir: dir, ended: make(chan struct{}), cancel: cancel}
	go func() { defer close(r.ended); w.Run(ctx) }()
	return r
}

func (r *running) stop() {
	r.cancel()
	for range r.w.Events() {
	}
	<-r.ended
}

// drain takes the events told so far, in words. Inside synctest only.
func (r *running) drain() []string {
	r.t.Helper()
	synctest.Wait()
	var out []string
	for {
		select {
		case e, ok := <-r.w.Events():
			if !ok {
				return out
			}
			r.got = append(r.got, e)
			out = append(out, words(e))
			synctest.Wait()
		default:
			return out
		}
	}
}

// after lets time pass and gives what was told in it.
func (r *running) after(d time.Duration) []string {
	r.t.Helper()
	time.Sleep(d)
	return r.drain()
}

func words(e Event) string {
	switch e.Kind {
	case Moved:
		return fmt.Sprintf("moved %s to %s", e.From, e.Path)
	case Scanned:
		return fmt.Sprintf("scanned %d", e.Count)
	case FolderAway, FolderBack:
		return e.Kind.String()
	}
	return e.Kind.String() + " " + e.Path
}

func (r *running) write(name, text string) {
	r.t.Helper()
	put(r.t, filepath.Join(r.dir, name), text)
}

func put(t *testing.T, file, text string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func want(t *testing.T, got []string, wanted ...string) {
	t.Helper()
	if !slices.Equal(got, wanted) {
		t.Errorf("told %q, want %q", got, wanted)
	}
}

// longAgo is before the time that synctest's clock starts at (1 January 2000).
var longAgo = time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC)

func age(t *testing.T, file string) {
	t.Helper()
	must(t, os.Chtimes(file, longAgo, longAgo))
}

func TestExistingFilesComeFirstAndInNaturalOrder(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"A10.JPG", "A9.jpg", "a2.RAW", "notes.txt", ".A1.JPG", "._A9.jpg", "sub/B1.JPG", ".trash/C.JPG"} {
		put(t, filepath.Join(dir, n), "x END")
		age(t, filepath.Join(dir, n))
	}
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		// At once: they are old, and need not be watched to see that they rest.
		want(t, r.drain(), "ready a2.RAW", "ready A9.jpg", "ready A10.JPG", "ready sub/B1.JPG", "scanned 4")
		if e := r.got[0]; e.Size != 5 || !e.Modified.Equal(longAgo) {
			t.Errorf("a2.RAW told with %d bytes of %v", e.Size, e.Modified)
		}
		want(t, r.after(time.Minute))
	})
}

func TestOnceTellsEverythingAndEnds(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "A1.JPG"), "x END")
	put(t, filepath.Join(dir, "A2.JPG"), "cut short")
	put(t, filepath.Join(dir, "A3.JPG"), "")
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, func(w *Watcher) { w.o.Once = true })
		want(t, r.after(time.Second), "ready A1.JPG", "unreadable A2.JPG", "unreadable A3.JPG", "scanned 3")
		if p := r.got[1].Problem.String(); !strings.Contains(p, "A2.JPG") || !strings.Contains(p, "its last 3 bytes are missing") {
			t.Errorf("problem: %s", p)
		}
		<-r.ended
		r.cancel()
	})
}

func TestAGrowingFileIsToldOnlyWhenWhole(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.drain(), "scanned 0")
		text := ""
		for range 60 { // a minute of slow writing, which at times looks whole
			text += "END"
			r.write("A1.JPG", text)
			want(t, r.after(200*time.Millisecond))
			text += "more"
			r.write("A1.JPG", text)
			want(t, r.after(800*time.Millisecond))
		}
		r.write("A1.JPG", text+"END")
		want(t, r.after(2*time.Second), "ready A1.JPG")
	})
}

func TestAFileThatRestsUnfinishedIsNamedAndTakenWhenTheRestComes(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.drain(), "scanned 0")
		r.write("A1.JPG", "half")
		want(t, r.after(5*time.Second))
		want(t, r.after(10*time.Second), "unreadable A1.JPG")
		want(t, r.after(time.Minute)) // said once
		r.write("A1.JPG", "half END")
		want(t, r.after(2*time.Second), "ready A1.JPG")
	})
}

// The machine was suspended in the midst of a copy: no time passed for the watcher, and the file
// was last written hours ago by the clock on the wall.
func TestACopyCutByASleepOfTheMachineIsTakenWhenTheRestComes(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.drain(), "scanned 0")
		r.write("A1.JPG", "half")
		want(t, r.after(800*time.Millisecond))
		age(t, filepath.Join(dir, "A1.JPG"))
		want(t, r.after(2*time.Second))
		for _, text := range []string{"half and", "half and more"} {
			r.write("A1.JPG", text)
			want(t, r.after(800*time.Millisecond))
		}
		r.write("A1.JPG", "half and more END")
		want(t, r.after(2*time.Second), "ready A1.JPG")
	})
}

func TestAnUnreadableFileIsTriedAgain(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "A1.JPG"), "x END")
	age(t, filepath.Join(dir, "A1.JPG"))
	synctest.Test(t, func(t *testing.T) {
		var closed atomic.Bool
		closed.Store(true)
		r := start(t, dir, false, func(w *Watcher) {
			w.o.Whole = func(p string) (bool, Why, error) {
				if closed.Load() {
					return false, Why{}, &fs.PathError{Op: "open", Path: p, Err: fs.ErrPermission}
				}
				return true, Why{}, nil
			}
		})
		defer r.stop()
		want(t, r.after(time.Minute), "unreadable A1.JPG", "scanned 1")
		if p := r.got[0].Problem.String(); strings.Contains(p, dir) || !strings.Contains(p, "permission denied") {
			t.Errorf("problem: %s", p)
		}
		closed.Store(false)
		want(t, r.after(2*time.Second), "ready A1.JPG")
	})
}

func TestAnUnreadableFolderIsNamedAndItsFilesAreKept(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "sub/A1.JPG"), "x END")
	put(t, filepath.Join(dir, "B1.JPG"), "x END")
	synctest.Test(t, func(t *testing.T) {
		var closed atomic.Bool
		r := start(t, dir, false, func(w *Watcher) {
			w.readDir = func(p string) ([]fs.DirEntry, error) {
				if closed.Load() && filepath.Base(p) == "sub" {
					return nil, &fs.PathError{Op: "open", Path: p, Err: fs.ErrPermission}
				}
				return os.ReadDir(p)
			}
		})
		defer r.stop()
		want(t, r.after(time.Second), "ready B1.JPG", "ready sub/A1.JPG", "scanned 2")
		closed.Store(true)
		want(t, r.after(time.Minute), "unreadable sub")
		closed.Store(false)
		r.write("sub/A2.JPG", "y END")
		want(t, r.after(2*time.Second), "gone sub", "ready sub/A2.JPG")
	})
}

func TestReplacedVanishedAndRenamed(t *testing.T) {
	dir := t.TempDir()
	for i := range 5 {
		put(t, filepath.Join(dir, fmt.Sprintf("A%d.JPG", i)), fmt.Sprintf("%d END", i))
	}
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		r.after(time.Second)
		r.write("A0.JPG", "another END")
		must(t, os.Remove(filepath.Join(dir, "A1.JPG")))
		must(t, os.Rename(filepath.Join(dir, "A2.JPG"), filepath.Join(dir, "Z2.JPG")))
		must(t, os.Mkdir(filepath.Join(dir, "sub"), 0o755))
		must(t, os.Rename(filepath.Join(dir, "A3.JPG"), filepath.Join(dir, "sub/A3.JPG")))
		must(t, os.Link(filepath.Join(dir, "A4.JPG"), filepath.Join(dir, "Y4.JPG")))
		got := r.after(3 * time.Second)
		slices.Sort(got)
		want(t, got, "gone A1.JPG", "moved A2.JPG to Z2.JPG", "moved A3.JPG to sub/A3.JPG", "ready A0.JPG", "ready Y4.JPG")
		// A whole folder is renamed.
		must(t, os.Rename(filepath.Join(dir, "sub"), filepath.Join(dir, "a sub")))
		want(t, r.after(3*time.Second), "moved sub/A3.JPG to a sub/A3.JPG")
		// A file takes the name of another.
		must(t, os.Rename(filepath.Join(dir, "Z2.JPG"), filepath.Join(dir, "A0.JPG")))
		want(t, r.after(3*time.Second), "moved Z2.JPG to A0.JPG")
		// A file is away for a moment.
		must(t, os.Rename(filepath.Join(dir, "A0.JPG"), filepath.Join(dir, ".hidden")))
		time.Sleep(1100 * time.Millisecond)
		must(t, os.Rename(filepath.Join(dir, ".hidden"), filepath.Join(dir, "A0.JPG")))
		want(t, r.after(3*time.Second))
	})
}

func TestAFileThatVanishesBeforeItIsWholeWasNeverThere(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.drain(), "scanned 0")
		r.write("A1.JPG", "half")
		want(t, r.after(2*time.Second))
		must(t, os.Remove(filepath.Join(dir, "A1.JPG")))
		want(t, r.after(time.Minute))
	})
}

func TestTheFolderGoesAwayAndComesBack(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "card")
	put(t, filepath.Join(dir, "A1.JPG"), "1 END")
	put(t, filepath.Join(dir, "A2.JPG"), "2 END")
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.after(time.Second), "ready A1.JPG", "ready A2.JPG", "scanned 2")
		away := filepath.Join(top, "elsewhere")
		must(t, os.Rename(dir, away))
		want(t, r.after(time.Minute), "folder-away")
		if p := r.got[len(r.got)-1].Problem.String(); !strings.Contains(p, dir) {
			t.Errorf("problem: %s", p)
		}
		must(t, os.Remove(filepath.Join(away, "A2.JPG")))
		put(t, filepath.Join(away, "A3.JPG"), "3 END")
		must(t, os.Rename(away, dir))
		want(t, r.after(3*time.Second), "folder-back", "gone A2.JPG", "ready A3.JPG")
	})
}

// A card's folder is an empty one, with another number, once the card is out.
func TestAnEmptyMountPointIsNotADeletedSession(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "card")
	put(t, filepath.Join(dir, "A1.JPG"), "1 END")
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		r.after(time.Second)
		must(t, os.Rename(dir, filepath.Join(top, "elsewhere")))
		must(t, os.Mkdir(dir, 0o755))
		want(t, r.after(time.Minute), "folder-away")
		// The same card in another reader: other numbers, the same files.
		must(t, os.CopyFS(filepath.Join(top, "copy"), os.DirFS(filepath.Join(top, "elsewhere"))))
		st, err := os.Stat(filepath.Join(top, "elsewhere/A1.JPG"))
		must(t, err)
		must(t, os.Chtimes(filepath.Join(top, "copy/A1.JPG"), st.ModTime(), st.ModTime()))
		must(t, os.Remove(dir))
		must(t, os.Rename(filepath.Join(top, "copy"), dir))
		want(t, r.after(3*time.Second), "folder-back")
	})
}

func TestAClockSetBackChangesNothing(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		// The files are made now, the watcher's wall clock stands in the year 2000.
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.drain(), "scanned 0")
		r.write("A1.JPG", "x END")
		must(t, os.Chtimes(filepath.Join(dir, "A1.JPG"), longAgo.AddDate(90, 0, 0), longAgo.AddDate(90, 0, 0)))
		want(t, r.after(2*time.Second), "ready A1.JPG")
		// A newer file with an older time.
		r.write("A1.JPG", "y END")
		age(t, filepath.Join(dir, "A1.JPG"))
		want(t, r.after(3*time.Second), "ready A1.JPG")
	})
}

// Some network file systems number a file anew at any time: there only size and time
// tell that it is another one.
func TestNumbersThatChangeAreNoChangeOnANetworkMount(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "A1.JPG"), "x END")
	age(t, filepath.Join(dir, "A1.JPG"))
	renumber := func() {
		put(t, filepath.Join(dir, ".copy"), "y END")
		age(t, filepath.Join(dir, ".copy"))
		must(t, os.Rename(filepath.Join(dir, ".copy"), filepath.Join(dir, "A1.JPG")))
	}
	for _, strange := range []bool{true, false} {
		synctest.Test(t, func(t *testing.T) {
			r := start(t, dir, false, func(w *Watcher) { w.strangeIDs = strange })
			defer r.stop()
			want(t, r.drain(), "ready A1.JPG", "scanned 1")
			renumber()
			if got := r.after(3 * time.Second); strange != (len(got) == 0) {
				t.Errorf("numbers strange: %v, told %q", strange, got)
			}
		})
	}
}

func TestLinksAreNotFollowed(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "in")
	put(t, filepath.Join(dir, "A1.JPG"), "1 END")
	put(t, filepath.Join(top, "out/B1.JPG"), "2 END")
	must(t, os.Symlink("A1.JPG", filepath.Join(dir, "inside.JPG")))
	must(t, os.Symlink("../out/B1.JPG", filepath.Join(dir, "outside.JPG")))
	must(t, os.Symlink(filepath.Join(top, "out"), filepath.Join(dir, "folder")))
	must(t, os.Symlink(dir, filepath.Join(dir, "loop")))
	must(t, os.Symlink("nothing", filepath.Join(dir, "broken.JPG")))
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, nil)
		defer r.stop()
		want(t, r.after(time.Minute), "ready A1.JPG", "unreadable broken.JPG", "unreadable folder", "unreadable outside.JPG", "scanned 6")
	})
}

func TestTheFolderItselfMayBeALink(t *testing.T) {
	top := t.TempDir()
	put(t, filepath.Join(top, "real/A1.JPG"), "1 END")
	must(t, os.Symlink("real", filepath.Join(top, "link")))
	r := start(t, filepath.Join(top, "link"), true, nil)
	defer r.stop()
	r.until("ready A1.JPG")
	put(t, filepath.Join(top, "real/A2.JPG"), "2 END")
	r.until("ready A2.JPG")
}

func TestOpenNamesAFolderThatIsNotThere(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	put(t, file, "")
	for _, dir := range []string{file, file + "-not", filepath.Join(file, "x")} {
		if _, err := Open(Options{Dir: dir}); err == nil || !strings.Contains(err.Error(), dir) {
			t.Errorf("Open(%s): %v", dir, err)
		}
	}
}

// until reads events until one is told, and fails when it does not come.
func (r *running) until(wanted string) {
	r.t.Helper()
	limit := time.After(time.Minute)
	var seen []string
	for {
		select {
		case e, ok := <-r.w.Events():
			if !ok {
				r.t.Fatalf("ended; %q was not among %q", wanted, seen)
			}
			r.got = append(r.got, e)
			if seen = append(seen, words(e)); words(e) == wanted {
				return
			}
		case <-limit:
			r.t.Fatalf("%q was not told in a minute; told were %q", wanted, seen)
		}
	}
}

// quickly settles fast and rescans never, so that only the system's events can help.
func quickly(w *Watcher) {
	w.o.Settle = 30 * time.Millisecond
	w.o.SlowRescan = time.Hour
}

func TestEventsAloneSuffice(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "sub/A1.JPG"), "1 END")
	r := start(t, dir, true, quickly)
	defer r.stop()
	r.until("scanned 1")
	if r.w.hints == nil {
		t.Skip("this system gives no file events")
	}
	r.write("B1.JPG", "1 END")
	r.until("ready B1.JPG")
	r.write("new/deep/C1.JPG", "1 END") // folders that appear later
	r.until("ready new/deep/C1.JPG")
	r.write("new/deep/C2.JPG", "1 END")
	r.until("ready new/deep/C2.JPG")
	must(t, os.Rename(filepath.Join(dir, "new"), filepath.Join(dir, "renamed")))
	r.until("moved new/deep/C2.JPG to renamed/deep/C2.JPG")
	r.write("renamed/deep/C3.JPG", "1 END")
	r.until("ready renamed/deep/C3.JPG")
	must(t, os.RemoveAll(filepath.Join(dir, "renamed")))
	r.write("renamed/deep/C4.JPG", "1 END") // the same name, another folder
	r.until("ready renamed/deep/C4.JPG")
	r.write("renamed/deep/C5.JPG", "1 END")
	r.until("ready renamed/deep/C5.JPG")
	must(t, os.Remove(filepath.Join(dir, "B1.JPG")))
	r.until("gone B1.JPG")
	r.write("sub/A1.JPG", "half")
	time.Sleep(5 * time.Millisecond) // any time will do
	r.write("sub/A1.JPG", "whole END")
	r.until("ready sub/A1.JPG")
}

// leaving leaves folders alone that hold a file LEAVE.
func leaving(w *Watcher) {
	quickly(w)
	w.o.Leave = "LEAVE"
}

func TestFoldersToBeLeftAloneAreNotReadIn(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"LEAVE", "A1.JPG", "out/LEAVE", "out/A2.JPG", "out/deep/A3.JPG", "other/A4.JPG"} {
		put(t, filepath.Join(dir, n), "x END")
		age(t, filepath.Join(dir, n))
	}
	synctest.Test(t, func(t *testing.T) {
		r := start(t, dir, false, func(w *Watcher) { w.o.Leave = "LEAVE" })
		defer r.stop()
		// The watched folder itself is read in whatever it holds.
		want(t, r.drain(), "ready A1.JPG", "ready other/A4.JPG", "scanned 2")
		r.write("out/deep/A5.JPG", "x END")
		r.write("out/A6.JPG", "x END")
		want(t, r.after(time.Minute))
		// One that is to be left alone from now on takes its files with it ...
		r.write("other/LEAVE", "")
		want(t, r.after(time.Minute), "gone other/A4.JPG")
		// ... and one that is not any more brings them.
		must(t, os.Remove(filepath.Join(dir, "out", "LEAVE")))
		want(t, r.after(time.Minute), "ready out/A2.JPG", "ready out/A6.JPG", "ready out/deep/A3.JPG", "ready out/deep/A5.JPG")
	})
}

func TestAFolderLeftAloneWhileEventsWork(t *testing.T) {
	dir := t.TempDir()
	r := start(t, dir, true, leaving)
	defer r.stop()
	r.until("scanned 0")
	if r.w.hints == nil {
		t.Skip("this system gives no file events")
	}
	// A folder is seen before the file in it that says to leave it alone.
	must(t, os.Mkdir(filepath.Join(dir, "out"), 0o777))
	r.write("A1.JPG", "x END")
	r.until("ready A1.JPG")
	r.write("out/LEAVE", "")
	r.write("out/.part/A2.JPG", "x END")
	must(t, os.Rename(filepath.Join(dir, "out", ".part"), filepath.Join(dir, "out", "stack")))
	r.write("out/A3.JPG", "x END")
	r.write("A4.JPG", "x END")
	r.until("ready A4.JPG")
	r.write("A5.JPG", "x END")
	r.until("ready A5.JPG")
	for _, e := range r.got {
		if strings.HasPrefix(e.Path, "out/") {
			t.Errorf("%s was told", words(e))
		}
	}
}

func TestTheFolderIsReplacedWhileEventsWork(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "in")
	put(t, filepath.Join(dir, "A1.JPG"), "1 END")
	r := start(t, dir, true, func(w *Watcher) { quickly(w); w.o.Rescan = 20 * time.Millisecond })
	defer r.stop()
	r.until("ready A1.JPG")
	must(t, os.Rename(dir, filepath.Join(top, "elsewhere")))
	r.until("folder-away")
	put(t, filepath.Join(dir, "A2.JPG"), "2 END")
	r.until("folder-back")
	r.until("gone A1.JPG")
	put(t, filepath.Join(dir, "A3.JPG"), "3 END")
	r.until("ready A3.JPG")
}

func TestEventsThatNeverComeAreNoticed(t *testing.T) {
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		// A queue that never says anything, as on a mount that passes for a local disk.
		r := start(t, dir, false, func(w *Watcher) {
			w.openHints = func() (*hints, error) {
				silent := func(string) error { return nil }
				return &hints{listen: silent, ignore: silent, end: func() error { return nil }}, nil
			}
		})
		defer r.stop()
		r.after(time.Second)
		r.write("A1.JPG", "1 END")
		want(t, r.after(20*time.Second), "ready A1.JPG") // by the slow rescan
		r.after(20 * time.Second)                        // which learns from it
		r.write("A2.JPG", "2 END")
		want(t, r.after(3*time.Second), "ready A2.JPG")
	})
}

func TestTwentyThousandAtOnceAndASlowReader(t *testing.T) {
	const n = 20000
	top := t.TempDir()
	dir := filepath.Join(top, "in")
	must(t, os.Mkdir(dir, 0o755))
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	r := start(t, dir, true, func(w *Watcher) {
		w.o.Settle = 30 * time.Millisecond
		w.o.Whole = func(string) (bool, Why, error) { return true, Why{}, nil }
	})
	defer r.stop()
	r.until("scanned 0")
	put(t, filepath.Join(top, "one"), "x END")
	for i := range n { // nobody reads events meanwhile; hard links are made faster than files
		must(t, os.Link(filepath.Join(top, "one"), filepath.Join(dir, fmt.Sprintf("A%05d.JPG", i))))
	}
	told := map[string]bool{}
	for e := range r.w.Events() {
		if e.Kind != Ready || told[e.Path] {
			t.Fatalf("told %s, after %d files", words(e), len(told))
		}
		if told[e.Path] = true; len(told) == n {
			break
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > n*1500 {
		t.Errorf("%d files are kept in %d bytes", n, grown)
	}
}

func TestNothingOutlivesClose(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "A1.JPG"), "1 END")
	before := runtime.NumGoroutine()
	for range 5 {
		w, err := Open(Options{Dir: dir, Extensions: []string{".jpg"}, Settle: time.Millisecond})
		must(t, err)
		go w.Run(t.Context())
		<-w.Events()
		must(t, w.Close())
		must(t, w.Close())
	}
	// One that never ran, and one that nobody listens to.
	w, err := Open(Options{Dir: dir})
	must(t, err)
	must(t, w.Close())
	for i := range 200 {
		put(t, filepath.Join(dir, fmt.Sprintf("B%d.JPG", i)), "")
	}
	w, err = Open(Options{Dir: dir, Extensions: []string{".jpg"}, Settle: time.Millisecond})
	must(t, err)
	ended := make(chan struct{})
	go func() { w.Run(t.Context()); close(ended) }()
	<-w.Events()
	must(t, w.Close())
	<-ended
	for range 100 { // a goroutine that has closed its channel may take a moment to end
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	buf := make([]byte, 1<<20)
	t.Errorf("%d goroutines before, %d after:\n%s", before, runtime.NumGoroutine(), buf[:runtime.Stack(buf, true)])
}

// BenchmarkScan looks over a folder of 2000 files in which nothing has changed.
func BenchmarkScan(b *testing.B) {
	dir := b.TempDir()
	for i := range 2000 {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("A%04d.JPG", i)), nil, 0o644); err != nil {
			b.Fatal(err)
		}
	}
	w, err := Open(Options{Dir: dir, Extensions: []string{".jpg"}, Once: true})
	if err != nil {
		b.Fatal(err)
	}
	defer w.Close()
	w.rootID = idOf(dir)
	b.ReportAllocs()
	for b.Loop() {
		w.scan(scanAgain)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/2000, "µs/file")
}

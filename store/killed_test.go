package store_test

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/store"
)

// bringer does one thing to the whole log, says when it begins and when it is done, and is
// killed on the way: what is restore, import or merge, with what it needs.
func bringer(path, what, from string) {
	s, err := store.Open(ctx, path)
	if err == nil {
		fmt.Println("begun")
		switch what {
		case "restore":
			err = s.Restore(ctx, from, nil)
		case "import":
			_, err = s.ImportFrom(ctx, from, nil)
		case "merge":
			_, err = s.Merge(ctx, from, nil)
		}
	}
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	fmt.Println("done")
}

// TestKilledBringers: a program is killed while it restores a copy, reads an export in or
// merges another log. The next one finds the log as it was, or as it should become, and
// nothing between.
func TestKilledBringers(t *testing.T) {
	dir := t.TempDir()
	manySetups := func(path, subject string, n int) *store.Store {
		s := open(t, path)
		own := begin(t, s, "/pictures/"+subject)
		for i := range n {
			logSetup(t, s, own.ID, session.Setup{Subject: fmt.Sprint(subject, " ", i), Notes: strings.Repeat("words to fill the pages ", 20)})
		}
		return s
	}
	other := manySetups(filepath.Join(dir, "other.db"), "theirs", 60)
	export := filepath.Join(dir, "other.json")
	if err := other.ExportTo(ctx, export, nil); err != nil {
		t.Fatal(err)
	}
	other.Close()
	ours := manySetups(filepath.Join(dir, "ours.db"), "ours", 15)
	pristine, err := ours.CopyDaily(ctx)
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(pristine)
	if err != nil {
		t.Fatal(err)
	}
	state := func(path string) string {
		s := open(t, path)
		defer s.Close()
		var b bytes.Buffer
		if err := s.Export(ctx, &b, nil); err != nil {
			t.Fatal(err)
		}
		r, err := s.FindSetups(ctx, session.SetupQuery{Words: "fill"})
		if err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(r.Total, b.String())
	}
	// bring runs the other program and kills it after a time; 0 lets it end.
	bring := func(path, what, from string, after time.Duration) (took time.Duration) {
		cmd, out := startOther(t, "bringer", path, "STILLBENCH_STORE_WHAT="+what, "STILLBENCH_STORE_FROM="+from)
		first := make([]byte, len("begun\n"))
		if _, err := io.ReadFull(out, first); err != nil {
			t.Fatal(err)
		}
		begun := time.Now()
		if after > 0 {
			time.AfterFunc(after, func() { cmd.Process.Signal(syscall.SIGKILL) })
		}
		rest, _ := io.ReadAll(out)
		cmd.Wait() // killed, or not
		if strings.Contains(string(rest), "error") {
			t.Errorf("%s: %s", what, rest)
		}
		return time.Since(begun)
	}
	r := rand.New(rand.NewPCG(41, 8))
	for _, work := range []struct{ what, from string }{
		{"restore", filepath.Join(dir, "other.db")}, {"import", export}, {"merge", filepath.Join(dir, "other.db")},
	} {
		fresh := func(name string) string {
			path := filepath.Join(t.TempDir(), name)
			if err := os.WriteFile(path, data, 0o666); err != nil {
				t.Fatal(err)
			}
			return path
		}
		whole := fresh("whole.db")
		before := state(whole)
		took := bring(whole, work.what, work.from, 0)
		after := state(whole)
		if after == before {
			t.Fatalf("%s brings nothing", work.what)
		}
		for range 4 {
			path := fresh("log.db")
			bring(path, work.what, work.from, time.Millisecond+time.Duration(r.Int64N(int64(took))))
			if got := state(path); got != before && got != after {
				t.Errorf("%s, killed: neither the log as it was nor as it should become", work.what)
			}
			healthy(t, path)
		}
	}
}

package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// TestNamesAreOnlyNames gives files names that a shell, SQL, a spreadsheet, a path or a terminal
// would take for more than names, and goes through all that is written of them.
func TestNamesAreOnlyNames(t *testing.T) {
	top := t.TempDir()
	dir, out := filepath.Join(top, "s"), filepath.Join(top, "out")
	if err := os.Mkdir(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	names := []string{
		"$(touch owned).JPG", "`touch owned`.JPG", "a;touch owned;.JPG", "a|touch owned.JPG", "a\ntouch owned\n.JPG",
		"'); DROP TABLE frames; --.JPG", "\" OR 1=1.JPG", "%s%n%d.JPG", "-o.JPG", "--help.JPG",
		"a...%2e%2e%2fowned.JPG", "a..\\..\\owned.JPG", "C:owned.JPG", "=cmd()+1.JPG", "\x1b[2J.JPG", "\u202egnp.JPG", "a b  c.JPG", "{date}.JPG",
	}
	for i, name := range names {
		s := shot{of: uint64(1 + i/6), focus: float64(i%6) / 5, at: time.Duration(i/6)*10*time.Minute + time.Duration(i)*5*time.Second, f: 10, camera: "300417", exif: true, times: true}
		data, err := s.jpeg()
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name), data, 0o666)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	run := func(args ...string) []byte {
		t.Helper()
		cmd := exec.Command("stillbench", append(args, "--log", filepath.Join(top, "log.db"))...)
		cmd.Dir = top
		var errs strings.Builder
		cmd.Stderr = &errs
		said, err := cmd.Output()
		if err != nil {
			t.Fatalf("%q: %v\n%s", args, err, &errs)
		}
		return said
	}
	for range 2 { // the second time out of the log
		var now sessionJSON
		if err := json.Unmarshal(run("group", "--json", dir), &now); err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, g := range now.Groups {
			got = append(got, g.Frames...)
		}
		slices.Sort(got)
		if want := slices.Sorted(slices.Values(names)); !slices.Equal(got, want) {
			t.Errorf("grouped %q\nwant %q", got, want)
		}
	}
	if said := string(run("group", dir)); strings.Contains(said, "\x1b") {
		t.Errorf("an escape sequence reaches the terminal: %q", said)
	}
	run("handoff", dir, "-o", out, "--others", "--sidecars", "--sheet", "--tables")
	landed := 0
	err := filepath.WalkDir(out, func(_ string, e os.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(e.Name(), ".JPG") {
			return err
		}
		landed++
		// What no other system takes as a name (Microsoft, Naming Files, Paths, and Namespaces),
		// and what turns a line of text round.
		if bad := strings.IndexFunc(e.Name(), func(r rune) bool { return r < ' ' || strings.ContainsRune("<>:\"/\\|?*\u202e", r) }); bad >= 0 {
			t.Errorf("handed on as %q", e.Name())
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if landed != len(names) {
		t.Errorf("%d of %d handed on", landed, len(names))
	}
	table, err := os.ReadFile(filepath.Join(out, "tables", "session.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{"\n=", "\n-o", "\n--help"} { // the name stands first
		if strings.Contains(string(table), bad) {
			t.Errorf("a spreadsheet would run %q", bad[1:])
		}
	}
	if !strings.Contains(string(table), "'=cmd()+1.JPG") {
		t.Error("the table has lost a name")
	}
	left, err := os.ReadDir(top)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range left {
		if n := e.Name(); n != "s" && n != "out" && !strings.HasPrefix(n, "log") {
			t.Errorf("beside the folders there is %q", n)
		}
	}
}

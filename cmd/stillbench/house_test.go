package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
)

// TestHouse holds the rules of the house: who may import whom (DEVELOPERS.md has the
// map). Each rule names a package (a trailing /... takes in those below it) and what
// its dependencies, direct or not, may not hold.
func TestHouse(t *testing.T) {
	const module = "stillbench"
	ours := func(deps []string) []string {
		return slices.DeleteFunc(slices.Clone(deps), func(d string) bool { return !strings.HasPrefix(d, module+"/") })
	}
	under := func(pkg, dir string) bool { return pkg == module+"/"+dir || strings.HasPrefix(pkg, module+"/"+dir+"/") }

	// files and windows, by the import path they come with
	heavy := []string{"database/sql", "fyne.io/fyne/v2", "github.com/mattn/go-sqlite3"}
	for _, p := range packages(t) {
		pkg, d := p.ImportPath, p.Deps
		forbid := func(why string, bad func(string) bool) {
			t.Helper()
			for _, dep := range d {
				if bad(dep) {
					t.Errorf("%s may not reach %s: %s", pkg, dep, why)
				}
			}
		}
		// By itself only: libraries reach them for uses that are none of ours.
		for _, imp := range p.Imports {
			if slices.Contains([]string{"net", "net/http", "os/exec"}, imp) {
				t.Errorf("%s imports %s: the program uses no network and starts no other", pkg, imp)
			}
		}
		switch {
		case pkg == module+"/session":
			forbid("the subject's types import the standard library only", func(s string) bool {
				return strings.Contains(strings.SplitN(s, "/", 2)[0], ".") || strings.HasPrefix(s, module+"/")
			})
		case pkg == module+"/exifread", pkg == module+"/session/optics", pkg == module+"/session/plane", pkg == module+"/session/watch":
			if o := ours(d); len(o) > 0 {
				t.Errorf("%s imports nothing of ours, and reaches %v", pkg, o)
			}
		case under(pkg, "session/marker"), under(pkg, "session/grouping"), under(pkg, "session/focus"), under(pkg, "session/align"), under(pkg, "session/blend"), under(pkg, "session/figures"), under(pkg, "session/lighting"):
			forbid("planes and numbers in, numbers out", func(s string) bool {
				return slices.Contains(heavy, s) || under(s, "app") || under(s, "store") || under(s, "exifread") || under(s, "session/desk") || under(s, "session/watch")
			})
		case under(pkg, "session/desk"):
			forbid("the desk speaks to the log through its own interface and knows no window", func(s string) bool {
				return slices.Contains(heavy, s) || under(s, "app") || under(s, "store")
			})
		case under(pkg, "session/handoff"):
			forbid("it takes the types and writes files, and knows no log and no window", func(s string) bool {
				return slices.Contains(heavy, s) || under(s, "app") || under(s, "store") || under(s, "session/desk")
			})
		case under(pkg, "store"):
			forbid("the log knows the types and no window", func(s string) bool {
				return strings.HasPrefix(s, "fyne.io/") || under(s, "app") || under(s, "exifread")
			})
		case under(pkg, "app"):
			forbid("the window knows snapshots and commands", func(s string) bool {
				return s == "database/sql" || s == "github.com/mattn/go-sqlite3" || under(s, "store")
			})
			for _, imp := range p.Imports {
				if under(imp, "exifread") {
					t.Errorf("%s imports %s: the window never reads files itself", pkg, imp)
				}
			}
			if under(pkg, "app/present") {
				forbid("what a place shows is plain text and numbers", func(s string) bool { return strings.HasPrefix(s, "fyne.io/") })
			}
		}
	}
}

// listed is a package of ours: what it imports itself, and all that it reaches.
type listed struct {
	ImportPath    string
	Imports, Deps []string
}

// buildTags are those with which the Makefile builds the program.
func buildTags(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("../../Makefile")
	if err != nil {
		t.Fatal(err)
	}
	_, after, found := strings.Cut(string(data), "\nTAGS := ")
	if !found {
		t.Fatal("the Makefile names no tags")
	}
	tags, _, _ := strings.Cut(after, "\n")
	return tags
}

func packages(t *testing.T) []listed {
	t.Helper()
	cmd := exec.Command("go", "list", "-json=ImportPath,Imports,Deps", "-tags", buildTags(t), "./...")
	cmd.Dir = "../.."
	var errs strings.Builder
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, errs.String())
	}
	var all []listed
	for dec := json.NewDecoder(bytes.NewReader(out)); dec.More(); {
		var p listed
		if err := dec.Decode(&p); err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	return all
}

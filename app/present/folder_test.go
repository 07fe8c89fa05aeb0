package present

import (
	"path/filepath"
	"testing"

	"stillbench/session/desk"
)

func TestFolderTyped(t *testing.T) {
	at := filepath.FromSlash
	for _, c := range []struct{ path, dir, begun string }{
		{"", "", ""}, {"/", "/", ""}, {"/home", "/", "home"}, {"/home/", "/home", ""}, {"/home/so/pic", "/home/so", "pic"},
	} {
		if dir, begun := FolderTyped(at(c.path)); dir != at(c.dir) || begun != c.begun {
			t.Errorf("%q is %q and %q, want %q and %q", c.path, dir, begun, c.dir, c.begun)
		}
	}
	if got := FolderPath(at("/"), "home"); got != at("/home/") {
		t.Errorf("home in the root is %q", got)
	}
	if got := FolderPath(at("/home"), ".."); got != at("/") {
		t.Errorf("above home is %q", got)
	}
	subs := []desk.Subfolder{{Name: "Day 1"}, {Name: "day 2"}, {Name: "Übung"}, {Name: "d"}}
	if got := FoldersBegun(subs, "da"); len(got) != 2 {
		t.Errorf("begun with da: %v", got)
	}
	if got := FoldersBegun(subs, ""); len(got) != 4 {
		t.Errorf("begun with nothing: %v", got)
	}
}

// An absolute path, or one from the home folder, typed behind the one that stood in the field takes
// its place.
func TestFolderAnew(t *testing.T) {
	home := filepath.FromSlash("/home/ada")
	for typed, want := range map[string]string{
		"/home/ada/pictures//":        "/",
		"/home/ada/pictures//mnt/car": "/mnt/car",
		"/home/ada/pictures/~/":       "/home/ada/",
		"~/today":                     "/home/ada/today",
		"~":                           "",
		"/home/ada/a~/":               "",
		"/home/ada/pictures/to":       "",
		"/":                           "",
		"//":                          "",
		"":                            "",
	} {
		got, ok := FolderAnew(filepath.FromSlash(typed), home)
		if ok != (want != "") || ok && got != filepath.FromSlash(want) {
			t.Errorf("%q gives %q, %v; want %q", typed, got, ok, want)
		}
	}
	if got, ok := FolderAnew(filepath.FromSlash("~/today"), ""); ok {
		t.Errorf("without a home folder ~ gives %q", got)
	}
}

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// licences that may be linked into a program under the MIT licence, each by words that its own
// text has and no other's here.
var licences = []struct {
	name  string
	words *regexp.Regexp
}{
	{"Apache-2.0", regexp.MustCompile(`Apache License\s+Version 2\.0`)},
	{"BSD", regexp.MustCompile(`Redistributions? (in|of|and|with)`)},
	{"MIT", regexp.MustCompile(`(?s)Permission is hereby granted, free of charge.*without restriction`)},
	{"ISC", regexp.MustCompile(`Permission to use, copy, modify, and(/or)? distribute this software`)},
}

// TestLicences: every module in the program has a licence that fits its own, and each that
// it asks for by name is in DEVELOPERS.md with a reason.
func TestLicences(t *testing.T) {
	cmd := exec.Command("go", "list", "-deps", "-tags", buildTags(t),
		"-f", "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Dir}}\t{{.Indirect}}{{end}}{{end}}", ".")
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	told, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		part := strings.Split(line, "\t")
		if len(part) != 3 || seen[part[0]] {
			continue
		}
		seen[part[0]] = true
		if part[2] == "false" && !strings.Contains(string(told), "`"+part[0]+"`") {
			t.Errorf("%s is linked in, and DEVELOPERS.md does not say why", part[0])
		}
		files, err := filepath.Glob(filepath.Join(part[1], "[LC][IO][CP][EY]*")) // LICENSE, LICENCE, COPYING
		if err != nil || len(files) == 0 {
			t.Errorf("%s has no licence", part[0])
			continue
		}
		text, err := os.ReadFile(files[0])
		if err != nil {
			t.Fatal(err)
		}
		kind := ""
		for _, l := range licences {
			if l.words.Match(text) {
				kind = l.name
				break
			}
		}
		if kind == "" {
			t.Errorf("%s: the licence in %s is none of those that fit", part[0], filepath.Base(files[0]))
		}
		t.Logf("%-10s %s", kind, part[0])
	}
	if len(seen) < 10 {
		t.Errorf("only %d modules were found", len(seen))
	}
}

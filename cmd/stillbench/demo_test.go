package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stillbench/assets/demo"
)

// TestDemoTruth: the demo, made and grouped as from a command line, has the groups and
// the kinds that its recipe has.
func TestDemoTruth(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	say := func(want int, args ...string) []byte {
		t.Helper()
		var out, errs bytes.Buffer
		if got := run(env{t.Context(), &out, &errs}, args); got != want || errs.Len() > 0 {
			t.Fatalf("stillbench %s: exit code %d\n%s", strings.Join(args, " "), got, errs.String())
		}
		return out.Bytes()
	}
	if got := strings.TrimSpace(string(say(exitDone, "demo", "--no-window", dir))); got != dir {
		t.Errorf("made in %s, says %s", dir, got)
	}
	// A log of its own: nothing that making the demo left behind may help.
	var got struct {
		Groups []struct {
			Kind   string
			Frames []string
		}
	}
	log := filepath.Join(t.TempDir(), "log.db")
	if err := json.Unmarshal(say(exitDone, "group", "--json", "--log", log, dir), &got); err != nil {
		t.Fatal(err)
	}
	var have, want []string
	for _, g := range got.Groups {
		have = append(have, fmt.Sprint(g.Kind, " ", g.Frames))
	}
	for _, g := range demo.Truth() {
		want = append(want, fmt.Sprint(g.Kind, " ", g.Frames))
	}
	for _, g := range want {
		if !slices.Contains(have, g) {
			t.Errorf("not found: %s", g)
		}
	}
	for _, g := range have {
		if !slices.Contains(want, g) {
			t.Errorf("found, and not in the recipe: %s", g)
		}
	}
	if !t.Failed() && !slices.Equal(have, want) {
		t.Errorf("the groups are out of order:\n%s", strings.Join(have, "\n"))
	}
}

// A demo that goes with the window leaves nothing, and takes nothing along that is not its own.
func TestDemoIsClearedAway(t *testing.T) {
	dir, err := makeDemo(t.Context(), filepath.Join(t.TempDir(), "demo"), "")
	if err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(dir, "mine.txt")
	if err := os.WriteFile(own, []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	clearDemo(dir)
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 || left[0].Name() != "mine.txt" {
		t.Errorf("left are %v (%v), want mine.txt alone", left, err)
	}
	if err := os.Remove(own); err != nil {
		t.Fatal(err)
	}
	clearDemo(dir)
	if _, err := os.Stat(dir); !os.IsNotExist(err) {
		t.Errorf("the empty folder is still there: %v", err)
	}
}

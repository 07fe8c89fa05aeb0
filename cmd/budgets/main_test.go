package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
)

// As `go test -bench` prints it: the format is golang.org/design/14313-benchmark-format.
const printed = `goos: linux
pkg: stillbench/session/focus
BenchmarkJoin/30_frames-2   	       3	 920000000 ns/op	       427.5 peak-MB	         0.9200 s/frame	         4.600 x-turbo-alone
BenchmarkGroup1000/again-2 	     200	   6000000 ns/op	    1024 B/op	       3 allocs/op
BenchmarkGroup1000/first_time-2 	     5	 200000000 ns/op
--- BENCH: BenchmarkBlend-2
    blend_test.go:120: blend 260.8 s
PASS
ok  	stillbench/session/focus	12.3s
`

// TestTable: what was measured stands beside what was asked, and what was not says so.
func TestTable(t *testing.T) {
	name := filepath.Join(t.TempDir(), "kept", "run.txt")
	var screen bytes.Buffer
	got, failed, err := keep(strings.NewReader(printed), &screen, name, "abc")
	if err != nil || failed || screen.String() != printed {
		t.Fatalf("%v, %v, %q", err, failed, screen.String())
	}
	var out bytes.Buffer
	if err := table(&out, got); err != nil {
		t.Fatal(err)
	}
	for what, want := range map[string][]string{
		"joins a stack of 30": {"at most 1 s", "0.92 s", "4.6 x libjpeg-turbo alone", "within"},
		"pass over 1 000":     {"6 ms", "within"},
		"first such pass":     {"200 ms", "FALLS SHORT"},
		"against ExifTool":    {"at least 20 x", "not measured"},
		"blended to a TIFF":   {"not measured"},
		"at most 600 MB":      {"428 MB", "within"},
	} {
		line := ""
		for l := range strings.SplitSeq(out.String(), "\n") {
			if strings.Contains(l, what) {
				line = l
			}
		}
		for _, w := range want {
			if !strings.Contains(line, w) {
				t.Errorf("%q: no %q in %q\n%s", what, w, line, out.String())
			}
		}
	}
	if _, failed, _ := keep(strings.NewReader(printed+"FAIL\n"), &screen, name, "abc"); !failed {
		t.Error("a failure is not seen")
	}
	if err := run(true, "", []string{name, name}); err != nil {
		t.Error(err)
	}
	if err := run(true, "", []string{name}); err == nil {
		t.Error("one file was compared")
	}
}

package desk

import (
	"bytes"
	"errors"
	"fmt"
	"testing"

	"stillbench/exifread"
	"stillbench/session/plane"
	"stillbench/session/watch"
)

// What readers and decoders say of a file stays the same words in English, and keeps numbers and
// names apart for other languages. The sentences are libjpeg-turbo's (jerror.h) and invented ones.
func TestReasonsKeepTheirParts(t *testing.T) {
	for _, c := range []struct {
		reason, form string
		args         int
	}{
		{"Premature end of JPEG file", "Premature end of JPEG file", 0},
		{"Corrupt JPEG data: 12 extraneous bytes before marker 0xd9", "Corrupt JPEG data: %s extraneous bytes before marker %s", 2},
		{"Corrupt JPEG data: found marker 0xd9 instead of RST5", "Corrupt JPEG data: found marker %s instead of RST%s", 2},
		{"100% of 7", "%s%% of %s", 2},
		{"all of 100 %", "all of %s %%", 1},
	} {
		got := numbered(c.reason)
		if got.String() != c.reason || got.Form != c.form || len(got.Args) != c.args {
			t.Errorf("%q: form %q with %d arguments says %q", c.reason, got.Form, len(got.Args), got)
		}
	}
	partial := &plane.PartialError{Reason: "Unsupported marker type 0x09"}
	if got := whyOf(partial).String(); got != partial.Error() {
		t.Errorf("said %q, want %q", got, partial)
	}
}

// A file cut short names what is missing with its numbers apart: a box says how long it is in its first
// four bytes (ISO/IEC 14496-12, 4.2), and the second of this file is longer than what is there.
func TestWhatIsMissingKeepsItsParts(t *testing.T) {
	cut := []byte("\x00\x00\x00\x14ftypheic\x00\x00\x00\x00mif1\x00\x00\x01\x00meta\x00\x00\x00\x00")
	ok, missing := exifread.Whole(bytes.NewReader(cut), int64(len(cut)))
	if ok || len(missing.Args) == 0 {
		t.Fatalf("whole: %v, %q with %v", ok, missing.Form, missing.Args)
	}
	p := problemOf(watch.Problem{Form: "%s is not whole: %s. It is taken in when that changes.", Name: "A1.HEIC", Why: watch.Why(missing)})
	if want := fmt.Sprintf("A1.HEIC is not whole: %s. It is taken in when that changes.", missing); p.String() != want {
		t.Errorf("said %q, want %q", p, want)
	}
	part := exifread.What{Form: "%s ends at byte %d, beyond the end", Args: []any{exifread.What{Form: "picture %d of a multi-picture file", Args: []any{2}}, 700}}
	if got, want := whyOf(&exifread.FormatError{Offset: 600, What: part}).String(), "broken at byte 600: picture 2 of a multi-picture file ends at byte 700, beyond the end"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
	if got := whyOf(errors.New("no such thing")).String(); got != "no such thing" {
		t.Errorf("said %q", got)
	}
}

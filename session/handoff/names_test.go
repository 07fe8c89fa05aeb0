package handoff

import (
	"errors"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"stillbench/session"
)

// invented is an invented stack.
func invented() Stack {
	return Stack{
		ID: 7, Kind: session.KindStack, Number: 4, Name: "pine cone",
		Frames: []session.Frame{{Name: "a.jpg", Meta: session.Meta{Taken: time.Date(2026, 5, 16, 10, 11, 12, 0, time.UTC), FNumber: ptr(3.5)}}},
		Setup: &session.Setup{ID: 9, Lights: []session.Light{
			{Kind: session.LightCard, AzimuthDeg: 90}, {Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 60},
		}},
	}
}

func TestPattern(t *testing.T) {
	for in, want := range map[string]string{
		"":                                "2026-05-16 04 pine cone f3.5",
		"{date}/{time} {subject}":         "2026-05-16/10.11.12 pine cone",
		"{{{number}}} {frames}":           "{04} 1",
		"{setup} {side} {height}":         "9 back-left high",
		"{session}_{number}":              "table_04",
		"../../{subject}":                 "pine cone",
		"/abs/{number}//x":                "abs/04/x",
		"///":                             "stack 04",
		"--rf {number} .":                 "rf 04",
		"con":                             "_con",
		"LPT1.{number}":                   "_LPT1.04",
		"com¹":                            "_com¹",
		"a<b>c:d\"e\\f|g?h*i\x01{number}": "a_b_c_d_e_f_g_h_i_04",
		"e\u0301":                         "\u00e9",
	} {
		p, err := parsePattern(in)
		if err != nil {
			t.Errorf("%q: %v", in, err)
			continue
		}
		if got := p.folder(invented(), "/home/x/table", 2); got != want {
			t.Errorf("%q gives %q, want %q", in, got, want)
		}
	}
	for _, in := range []string{"{nonsense}", "{date", "date}", "\xff"} {
		if err := CheckPattern(in); !errors.Is(err, session.ErrInvalid) {
			t.Errorf("%q: %v", in, err)
		}
	}
	// What is not known leaves nothing.
	k := invented()
	k.Name, k.Setup, k.Frames[0].Meta = "", nil, session.Meta{}
	p, _ := parsePattern("")
	if got := p.folder(k, "/x", 3); got != "004" {
		t.Errorf("a stack of which nothing is known is called %q", got)
	}
	k.Name = "a/b: c"
	if got := p.folder(k, "/x", 2); got != "04 a_b_ c" {
		t.Errorf("a slash in a name gives %q", got)
	}
}

// FuzzNames: whatever a name holds, what comes of it may stand on Linux and on Windows
// (Microsoft, "Naming Files, Paths, and Namespaces"), is NFC, and stays what it is when it is
// cleaned again.
func FuzzNames(f *testing.F) {
	for _, s := range []string{"a", "con.txt", "NUL", " .x. ", strings.Repeat("é", 200) + ".jpeg", "e\u0301", "\xff\xfe", "a\u202eb", "COM¹.raw", strings.Repeat("e\u0301", 99)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, of := range []func(string) string{cleanFile, cleanFolder} {
			got := of(s)
			if got == "" {
				continue
			}
			switch {
			case len(got) > 255, !utf8.ValidString(got), !norm.NFC.IsNormalString(got), strings.ContainsAny(got, forbidden),
				strings.ContainsFunc(got, func(r rune) bool { return r < 32 || r == 127 }), strings.HasSuffix(got, "."), strings.HasSuffix(got, " "),
				strings.HasPrefix(got, "."), isDevice(got):
				t.Errorf("%q becomes %q", s, got)
			}
			if again := of(got); again != got {
				t.Errorf("%q becomes %q, and that %q", s, got, again)
			}
		}
	})
}

func TestLongNamesKeepTheirEnding(t *testing.T) {
	got := fit(strings.Repeat("ä", 200)+".JPEG", " (2)")
	if len(got) > 255 || !strings.HasSuffix(got, "ä (2).JPEG") || !utf8.ValidString(got) {
		t.Errorf("%q", got)
	}
	if got := shorten("xe\u0301", 2); got != "x" {
		t.Errorf("an accent was parted from its letter: %q", got)
	}
}

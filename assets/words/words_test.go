package words

import (
	"os"
	"os/exec"
	"strings"
	"testing"

	"golang.org/x/text/language"
)

// The preferred language that there is; English where there is none.
func TestChoose(t *testing.T) {
	for _, c := range []struct {
		wished []string
		want   string
	}{
		{nil, "en-GB"},
		{[]string{"en-US"}, "en-GB"},
		{[]string{"de-DE"}, "de-DE"},
		{[]string{"de-CH"}, "de-CH"},
		{[]string{"fr-CA"}, "fr-CA"},
		{[]string{"es-ES"}, "en-GB"},
		{[]string{"es-ES", "fr-FR", "de-DE"}, "fr-FR"},
		{[]string{"en-US", "de-DE"}, "en-GB"},
		{[]string{"no locale at all", "de"}, "de"},
		{[]string{"", "C"}, "en-GB"},
	} {
		if got := choose(c.wished).String(); got != c.want {
			t.Errorf("%v: %s, want %s", c.wished, got, c.want)
		}
	}
}

// Cardinal plural rules of Unicode CLDR 45, https://www.unicode.org/cldr/charts/45/supplemental/language_plural_rules.html
func TestPlural(t *testing.T) {
	defer func(l language.Tag) { Language = l }(Language)
	for tag, one := range map[string][]int{"en-GB": {1}, "de-DE": {1}, "de-CH": {1}, "fr-FR": {0, 1}, "fr-CA": {0, 1}} {
		Language = language.MustParse(tag)
		for n := range 25 {
			want := "many"
			for _, o := range one {
				if n == o {
					want = "one"
				}
			}
			if got := Plural(n, "one", "many"); got != want {
				t.Errorf("%s, %d: %s, want %s", tag, n, got, want)
			}
		}
	}
}

// What the environment asks for is what is spoken. The test starts itself again, since that is
// decided once.
func TestSystemLocale(t *testing.T) {
	if os.Getenv("STILLBENCH_TEST_SAY") != "" {
		os.Stdout.WriteString("«" + Language.String() + "»")
		return
	}
	for _, c := range []struct{ env, want string }{
		{"", "en-GB"},
		{"LANG=C", "en-GB"},
		{"LANG=C.UTF-8", "en-GB"},
		{"LANG=en_US.UTF-8", "en-GB"},
		{"LANG=de_DE.UTF-8", "de-DE"},
		{"LANG=fr_FR.UTF-8", "fr-FR"},
		{"LANG=en_US.UTF-8 LC_MESSAGES=de_AT.UTF-8", "de-AT"},
		{"LANG=de_DE.UTF-8 LC_ALL=fr_CH.UTF-8", "fr-CH"},
		{"LANG=fr_FR.UTF-8 LC_ALL=C", "en-GB"},
	} {
		cmd := exec.Command(os.Args[0], "-test.run=^TestSystemLocale$")
		cmd.Env = append(strings.Fields(c.env), "STILLBENCH_TEST_SAY=1")
		out, err := cmd.CombinedOutput()
		if err != nil || !strings.Contains(string(out), "«"+c.want+"»") {
			t.Errorf("%q: %s (%v), want %s", c.env, out, err, c.want)
		}
	}
}

// Within a sentence numbers are written small, in German too.
func TestNumberWithin(t *testing.T) {
	before, spoke := numbers[4], Language
	defer func() { numbers[4], Language = before, spoke }()
	if got := NumberWithin(4); got != "four" {
		t.Errorf("%q", got)
	}
	numbers[4], Language = "Vier", language.German
	if got := NumberWithin(4); got != "vier" {
		t.Errorf("%q", got)
	}
}

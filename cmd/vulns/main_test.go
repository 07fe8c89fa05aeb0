package main

import (
	"io"
	"strings"
	"testing"
)

const begun = `{"config":{"protocol_version":"v1.0.0","db":"file:///db"}}`

func finding(pkg, function string) string {
	return `{"finding":{"osv":"GO-2020-0001","fixed_version":"v1.2.3","trace":[{"module":"m","version":"v1.0.0","package":"` +
		pkg + `","function":"` + function + `"},{"module":"stillbench","package":"stillbench/app"}]}}`
}

func TestWhatMatters(t *testing.T) {
	for name, c := range map[string]struct {
		stream string
		fails  string
	}{
		"nothing found":              {begun, ""},
		"called":                     {begun + finding("image/jpeg", "Decode"), "GO-2020-0001 in image/jpeg of m v1.0.0, mended in v1.2.3"},
		"required and never called":  {begun + finding("image/jpeg", ""), ""},
		"of the network":             {begun + finding("net/http", "Get"), ""},
		"of the network and another": {begun + finding("net/http", "Get") + finding("image/jpeg", "Decode"), "image/jpeg"},
		"no scan":                    {"", "has not run"},
		"a scan cut short":           {begun + `{"finding":`, "EOF"},
	} {
		err := run(strings.NewReader(c.stream), io.Discard)
		if c.fails == "" && err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if c.fails != "" && (err == nil || !strings.Contains(err.Error(), c.fails)) {
			t.Errorf("%s: %v, want %q", name, err, c.fails)
		}
	}
}

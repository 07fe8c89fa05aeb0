// Package clocale has the locale C.UTF-8 taken for English.
//
// Fyne asks for the system's language while its packages are initialized, knows "C" but not "C.UTF-8", which is what containers
// and scripts have, and complains about it on the terminal at every start. So it is told before that: packages are
// initialized in the order of their import paths as far as what they import is (The Go Programming Language
// Specification, "Program initialization"), and Fyne's waits for text/template, which comes after this one.
package clocale

import (
	"os"
	"strings"
)

func init() {
	// The order in which they count: Single UNIX Specification, version 4, XBD 8.2.
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		locale := os.Getenv(name)
		if locale == "" {
			continue
		}
		language, charset, _ := strings.Cut(locale, ".")
		if (language == "C" || language == "POSIX") && charset != "" && os.Getenv("LANGUAGE") == "" {
			os.Setenv("LANGUAGE", "en") // leaves the programs that this one starts their character set
		}
		return
	}
}

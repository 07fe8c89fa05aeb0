package session

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// A spreadsheet runs a field that begins with one of these as a formula, which may be told to
// send the table away or to start a program; subjects and lenses may come from somebody else's
// frames or log. OWASP's verification standard (ASVS 5.0, 1.2.10) has an apostrophe put before
// such a field. The wide forms are those that its page on CSV injection adds.
const formulaStarts = "=+-@\t\r\n\x00\uFF1D\uFF0B\uFF0D\uFF20"

// runs reports whether a spreadsheet might run a field. A number does no harm.
func runs(f string) bool {
	first, size := utf8.DecodeRuneInString(f)
	if size == 0 || !strings.ContainsRune(formulaStarts, first) {
		return false
	}
	_, err := strconv.ParseFloat(f, 64)
	return err != nil
}

// Guarded is a text as it is written into a table that a spreadsheet may open: with an apostrophe
// before it where it might be run as a formula, and where some apostrophes stand before such a
// one already, so that what stood there can be found again.
func Guarded(f string) string {
	if runs(strings.TrimLeft(f, "'")) {
		return "'" + f
	}
	return f
}

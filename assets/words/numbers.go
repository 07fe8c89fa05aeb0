package words

import (
	"fmt"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// point and group are what stands before the decimals of a number and between its thousands,
// as Unicode CLDR has them for the language and its region (golang.org/x/text has CLDR 32, in
// which French thousands stand apart by U+00A0; the narrow U+202F of later ones is not in the
// typeface).
var point, group = separators(Language)

func separators(tag language.Tag) (point, group string) {
	p := message.NewPrinter(tag)
	point = strings.Trim(p.Sprint(number.Decimal(1.5)), "15")
	group = strings.Trim(p.Sprint(number.Decimal(11111)), "1")
	return point, group
}

// Decimal is a number that formats (%.1f, %g, ...) write with the decimal sign of the language.
type Decimal float64

// Format writes what fmt writes of a float64.
func (d Decimal) Format(s fmt.State, verb rune) {
	fmt.Fprint(s, Localised(fmt.Sprintf(fmt.FormatString(s, verb), float64(d))))
}

// Localised is a number written with a point, as strconv has it, with the language's decimal
// sign. Other text must not stand in it.
func Localised(number string) string { return strings.ReplaceAll(number, ".", point) }

// CommaIsPoint tells that a comma between two digits is the language's decimal sign.
func CommaIsPoint() bool { return point == "," }

// Whole is a count that formats (%d) write with the language's thousands apart: 12,345.
type Whole int

// Format writes what fmt writes of an int.
func (n Whole) Format(s fmt.State, verb rune) {
	text := fmt.Sprintf(fmt.FormatString(s, verb), int(n))
	for i := len(text) - 3; i > 0 && text[i-1] >= '0' && text[i-1] <= '9'; i -= 3 {
		text = text[:i] + group + text[i:]
	}
	fmt.Fprint(s, text)
}

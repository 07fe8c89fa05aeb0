package words

import (
	"fmt"
	"strconv"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// point and group are what stands before the decimals of a number and between its thousands,
// as Unicode CLDR has them for the language and its region.
var point, group = separators(Language)

func separators(tag language.Tag) (point, group string) {
	p := message.NewPrinter(tag)
	point = strings.Trim(p.Sprint(number.Decimal(1.5)), "15")
	group = strings.Trim(p.Sprint(number.Decimal(11111)), "1")
	if base, _ := tag.Base(); base.String() == "fr" && group == "\u00a0" {
		group = "\u202f" // since CLDR 34; golang.org/x/text has the tables of CLDR 32
	}
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

// Whole is a count with the language's thousands apart: 12,345.
func Whole(n int) string {
	digits := strconv.Itoa(n)
	sign := ""
	if n < 0 {
		sign, digits = "-", digits[1:]
	}
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + group + digits[i:]
	}
	return sign + digits
}

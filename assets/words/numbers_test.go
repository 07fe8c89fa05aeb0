package words

import (
	"fmt"
	"testing"

	"golang.org/x/text/language"
)

// Decimal and grouping signs of Unicode CLDR 45, common/main/{en,de,de_AT,de_CH,fr,fr_CH}.xml,
// symbols of the default numbering system; French groups by U+00A0 here, for want of U+202F in
// the typeface.
func TestNumbers(t *testing.T) {
	defer func(p, g string) { point, group = p, g }(point, group)
	for tag, want := range map[string][4]string{
		"en-GB": {"1.50", "1,234,567", "999", "-1,234"},
		"de-DE": {"1,50", "1.234.567", "999", "-1.234"},
		"de-AT": {"1,50", "1\u00a0234\u00a0567", "999", "-1\u00a0234"},
		"de-CH": {"1.50", "1’234’567", "999", "-1’234"},
		"fr-FR": {"1,50", "1\u00a0234\u00a0567", "999", "-1\u00a0234"},
		"fr-CH": {"1,50", "1\u00a0234\u00a0567", "999", "-1\u00a0234"},
	} {
		point, group = separators(language.MustParse(tag))
		got := [4]string{
			fmt.Sprintf("%.2f", Decimal(1.5)), fmt.Sprintf("%d", Whole(1234567)), fmt.Sprintf("%d", Whole(999)), fmt.Sprintf("%d", Whole(-1234)),
		}
		if got != want {
			t.Errorf("%s: %q, want %q", tag, got, want)
		}
	}
}

// A number formats as it does in English, but for its signs.
func TestDecimal(t *testing.T) {
	defer func(p, g string) { point, group = p, g }(point, group)
	point, group = ",", "."
	for format, want := range map[string]string{"%.1f": "-2,5", "%.0f": "-2", "%v": "-2,5", "%g": "-2,5", "%6.2f": " -2,50"} {
		if got := fmt.Sprintf(format, Decimal(-2.5)); got != want {
			t.Errorf("%s: %q, want %q", format, got, want)
		}
	}
}

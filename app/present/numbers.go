package present

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/optics"
)

// FNumber writes an f-number as it stands on the lens and on the camera's display: f/10, f/3.5,
// with a point in every language; "" when nil.
func FNumber(n *float64) string {
	if n == nil {
		return ""
	}
	return "f/" + plainTenths(*n)
}

// tenths writes a number with at most one decimal.
func tenths(v float64) string { return words.Localised(plainTenths(v)) }

func plainTenths(v float64) string {
	return strings.TrimSuffix(strconv.FormatFloat(v, 'f', 1, 64), ".0")
}

// Shutter writes an exposure time in seconds as cameras show it; "" when nil or not
// positive.
func Shutter(t *float64) string {
	if t == nil || !(*t > 0) {
		return ""
	}
	return words.Localised(optics.ShutterWords(*t))
}

// ISO writes a sensitivity; "" when nil.
func ISO(v *int) string {
	if v == nil {
		return ""
	}
	return fmt.Sprintf("ISO %d", *v)
}

// Focal writes a focal length in millimetres; "" when nil.
func Focal(mm *float64) string {
	if mm == nil {
		return ""
	}
	return tenths(*mm) + " mm"
}

// Exposure lists what is known of aperture, shutter and sensitivity.
func Exposure(m session.Meta) []string {
	return known(FNumber(m.FNumber), Shutter(m.ShutterSeconds), ISO(m.ISO))
}

func known(items ...string) []string {
	var out []string
	for _, s := range items {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// Clock is the time of day to the second; ClockShort to the minute. A zero time
// gives "".
func Clock(t time.Time) string { return clock(t, "15:04:05") }

// ClockShort is the time of day to the minute; "" for a zero time.
func ClockShort(t time.Time) string { return clock(t, "15:04") }

func clock(t time.Time, layout string) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(layout)
}

// Date is a day as seen from now: today, yesterday, 2 May, 2 May 2025; "" for a zero
// time. The year is left out for the last eleven months.
func Date(t, now time.Time) string {
	if t.IsZero() {
		return ""
	}
	y, m, d := t.Date()
	day := func(t time.Time) bool { ty, tm, td := t.Date(); return ty == y && tm == m && td == d }
	switch {
	case day(now):
		return words.Today
	case day(now.AddDate(0, 0, -1)):
		return words.Yesterday
	case t.Before(now) && t.After(now.AddDate(0, -11, 0)):
		return fmt.Sprintf(words.DateF, d, words.Month(int(m)))
	}
	return fmt.Sprintf(words.DateYearF, d, words.Month(int(m)), y)
}

// Magnification writes a magnification: ×1.1, ×0.25; "" when nil.
func Magnification(m *float64) string {
	if m == nil {
		return ""
	}
	if *m < 0.1 {
		return "×" + words.Localised(strconv.FormatFloat(*m, 'f', 2, 64))
	}
	return "×" + tenths(*m)
}

// Millimetres writes a small length: two decimals below 0.1 mm, one from there.
func Millimetres(v float64) string {
	if v < 0.1 {
		return words.Localised(strconv.FormatFloat(v, 'f', 2, 64))
	}
	return words.Localised(strconv.FormatFloat(v, 'f', 1, 64))
}

// size writes an amount of data given in bytes, in decimal units.
func size(bytes int64) string {
	switch n := words.Decimal(bytes); {
	case n < 1e6:
		return fmt.Sprintf(words.KilobytesF, (bytes+999)/1000)
	case n < 1e9:
		return fmt.Sprintf(words.MegabytesF, n/1e6)
	default:
		return fmt.Sprintf(words.GigabytesF, n/1e9)
	}
}

// Percent writes a share of 0..1: 1.2 %, 47 %, 0 %; what is not nothing and rounds to
// nothing is "under 0.1 %".
func Percent(v float64) string {
	p := v * 100
	switch {
	case p > 0 && p < 0.1:
		return words.UnderTenth
	case p < 9.95:
		return tenths(p) + " %"
	}
	return fmt.Sprintf("%.0f %%", p)
}

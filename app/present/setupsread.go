package present

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
)

// Range is a range of a number as a search asks for it; 0 is open at that end.
type Range struct{ Min, Max float64 }

// readRange reads a range as people write it: one value, "8-11", "8 to 11", "8..", "..11".
// What cannot be read is open; a single value is both ends.
func readRange(text string, read func(string) float64) Range {
	text = strings.NewReplacer("..", "–", " to ", "–", rangeTo(), "–", "-", "–").Replace(" " + strings.ToLower(text) + " ")
	from, to, isRange := strings.Cut(text, "–")
	r := Range{Min: read(strings.TrimSpace(from))}
	if !isRange {
		r.Max = r.Min
		return r
	}
	r.Max = read(strings.TrimSpace(to))
	if r.Max > 0 && r.Min > r.Max {
		r.Min, r.Max = r.Max, r.Min
	}
	return r
}

// rangeTo is what stands between the ends of a range in the window's language: " to ".
func rangeTo() string {
	return strings.ToLower(strings.TrimSuffix(strings.TrimPrefix(words.RangeF, "%s"), "%s"))
}

// number reads a positive number, with a point or a comma; 0 when it is none.
func number(s string) float64 {
	v, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(s), ",", "."), 64)
	if err != nil || !(v > 0) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// ratio reads "1/60" and "1:2" as well as plain numbers.
func ratio(s, mark string) float64 {
	over, under, ok := strings.Cut(s, mark)
	if !ok {
		return number(s)
	}
	a, b := number(over), number(under)
	if a == 0 || b == 0 {
		return 0
	}
	return a / b
}

// ReadApertures reads f-numbers: "8", "f/8", "f/8 to f/11".
func ReadApertures(text string) Range {
	return readRange(text, func(s string) float64 { return number(strings.TrimPrefix(s, "f/")) })
}

// ReadShutters reads exposure times in seconds: "1/60", "1/60 to 1/4", "2 s".
func ReadShutters(text string) Range {
	return readRange(text, func(s string) float64 { return ratio(strings.TrimSpace(strings.TrimSuffix(s, "s")), "/") })
}

// ReadMagnifications reads magnifications: "0.5", "×0.5 to ×1", "1:2".
func ReadMagnifications(text string) Range {
	return readRange(text, func(s string) float64 {
		return ratio(strings.TrimSpace(strings.Trim(s, "×x")), ":")
	})
}

// ReadDays reads days: "2026-05-02", "2 May", "May 2026", "2026", "today", and two of them
// with "to" or ".." between. Until is the day after the last, at its start; both are zero
// when nothing can be read. Days are those of readings of the camera's clock (UTC).
func ReadDays(text string, now time.Time) (since, until time.Time) {
	text = strings.TrimSpace(strings.NewReplacer("..", "–", " to ", "–", rangeTo(), "–", " - ", "–").Replace(" " + strings.ToLower(text) + " "))
	from, to, isRange := strings.Cut(text, "–")
	first, after, ok := readDay(strings.TrimSpace(from), now)
	switch {
	case !isRange && !ok:
		return time.Time{}, time.Time{}
	case !isRange:
		return first, after
	}
	_, end, okEnd := readDay(strings.TrimSpace(to), now)
	if ok {
		since = first
	}
	if okEnd {
		until = end
	}
	if ok && okEnd && until.Before(since) {
		since, until = time.Time{}, time.Time{}
	}
	return since, until
}

// readDay reads a day, a month or a year; after is the start of the next one.
func readDay(s string, now time.Time) (first, after time.Time, ok bool) {
	day := func(t time.Time) (time.Time, time.Time, bool) {
		y, m, d := t.Date()
		t = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
		return t, t.AddDate(0, 0, 1), true
	}
	switch s {
	case "":
		return first, after, false
	case words.Today:
		return day(now)
	case words.Yesterday:
		return day(now.AddDate(0, 0, -1))
	}
	if t, err := time.Parse("2006-01-02", s); err == nil {
		return day(t)
	}
	if t, err := time.Parse("2006-01", s); err == nil {
		return t, t.AddDate(0, 1, 0), true
	}
	var d, m, y int
	for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '.' || r == ',' }) {
		switch n, err := strconv.Atoi(f); {
		case err == nil && n >= 1000 && n < 10000 && y == 0:
			y = n
		case err == nil && n >= 1 && n <= 31 && d == 0:
			d = n
		case err != nil && m == 0 && month(f) > 0:
			m = month(f)
		default:
			return first, after, false
		}
	}
	switch {
	case d > 0 && m == 0:
		return first, after, false
	case y == 0 && m == 0:
		return first, after, false
	case m == 0:
		t := time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC)
		return t, t.AddDate(1, 0, 0), true
	}
	if y == 0 { // the last one that has been
		y = now.Year()
		if time.Date(y, time.Month(m), max(d, 1), 0, 0, 0, 0, time.UTC).After(now) {
			y--
		}
	}
	if d == 0 {
		t := time.Date(y, time.Month(m), 1, 0, 0, 0, 0, time.UTC)
		return t, t.AddDate(0, 1, 0), true
	}
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if t.Day() != d {
		return first, after, false
	}
	return day(t)
}

// month gives the number of a month by the first letters of its name, at least three, in English,
// or by its name in the window's language, written out or short; 0 when it is none.
func month(s string) int {
	if len(s) < 3 {
		return 0
	}
	for i := range 12 {
		own := strings.ToLower(strings.TrimSuffix(words.Month(i+1), "."))
		if strings.HasPrefix(strings.ToLower(time.Month(i+1).String()), s) || strings.HasPrefix(s, own) {
			return i + 1
		}
	}
	return 0
}

// The same ranges as text, as they are written on the screens.

// Apertures, Shutters and Magnifications write a range, "" for an open one.
func (r Range) Apertures() string { return r.text(func(v float64) string { return FNumber(&v) }) }

// Shutters writes a range of exposure times.
func (r Range) Shutters() string { return r.text(func(v float64) string { return Shutter(&v) }) }

// Magnifications writes a range of magnifications.
func (r Range) Magnifications() string {
	return r.text(func(v float64) string { return Magnification(&v) })
}

func (r Range) text(one func(float64) string) string {
	switch {
	case r.Min <= 0 && r.Max <= 0:
		return ""
	case r.Max <= 0:
		return one(r.Min) + " .."
	case r.Min <= 0:
		return ".. " + one(r.Max)
	case one(r.Min) == one(r.Max):
		return one(r.Min)
	}
	return fmt.Sprintf(words.RangeF, one(r.Min), one(r.Max))
}

// Days writes days as ReadDays reads them; until is the day after the last.
func Days(since, until time.Time) string {
	const iso = "2006-01-02"
	switch {
	case since.IsZero() && until.IsZero():
		return ""
	case until.IsZero():
		return since.Format(iso) + " .."
	case since.IsZero():
		return ".. " + until.AddDate(0, 0, -1).Format(iso)
	case until.Equal(since.AddDate(1, 0, 0)) && since.YearDay() == 1:
		return since.Format("2006")
	case until.Equal(since.AddDate(0, 1, 0)) && since.Day() == 1:
		return since.Format("2006-01")
	case until.Equal(since.AddDate(0, 0, 1)):
		return since.Format(iso)
	}
	return fmt.Sprintf(words.RangeF, since.Format(iso), until.AddDate(0, 0, -1).Format(iso))
}

// SearchName says in one line what a search asks for, as it stands in the list of earlier
// ones.
func SearchName(q session.SetupQuery) string {
	var out []string
	add := func(s string) {
		if s != "" {
			out = append(out, s)
		}
	}
	add(strings.TrimSpace(q.Words))
	if f := from(q); f != "" {
		add(fmt.Sprintf(words.FromSideF, f))
	}
	var kinds []string
	for _, k := range q.Kinds {
		kinds = append(kinds, Kind(k))
	}
	add(either(kinds))
	add(either(q.Modifiers))
	if q.MainLight {
		add(words.MainOnly)
	}
	add(Range{q.ApertureMin, q.ApertureMax}.Apertures())
	add(Range{q.ShutterMin, q.ShutterMax}.Shutters())
	add(Range{q.MagnificationMin, q.MagnificationMax}.Magnifications())
	add(Days(q.Since, q.Until))
	if q.Blended {
		add(words.BlendedOnly)
	}
	if len(out) == 0 {
		return words.Everything
	}
	return strings.Join(out, " · ")
}

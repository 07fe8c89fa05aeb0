package present

import (
	"testing"
	"time"

	"stillbench/session"
)

func TestRangesAsPeopleWriteThem(t *testing.T) {
	type r = Range
	for _, c := range []struct {
		read func(string) Range
		text string
		want Range
	}{
		{ReadApertures, "", r{}}, {ReadApertures, "8", r{8, 8}}, {ReadApertures, "f/5.6", r{5.6, 5.6}},
		{ReadApertures, "F/5,6", r{5.6, 5.6}}, {ReadApertures, "8-11", r{8, 11}}, {ReadApertures, "8..11", r{8, 11}},
		{ReadApertures, "f/8 to f/11", r{8, 11}}, {ReadApertures, "8-", r{8, 0}}, {ReadApertures, "-11", r{0, 11}},
		{ReadApertures, "11 to 8", r{8, 11}}, {ReadApertures, "wide", r{}}, {ReadApertures, "-", r{}}, {ReadApertures, "inf", r{}},
		{ReadShutters, "1/60", r{1.0 / 60, 1.0 / 60}}, {ReadShutters, "1/60 to 1/4 s", r{1.0 / 60, 0.25}},
		{ReadShutters, "2 s", r{2, 2}}, {ReadShutters, "1/0", r{}}, {ReadShutters, "..1", r{0, 1}},
		{ReadMagnifications, "×0.5 to ×1", r{0.5, 1}}, {ReadMagnifications, "1:2", r{0.5, 0.5}}, {ReadMagnifications, "2x", r{2, 2}},
	} {
		if got := c.read(c.text); got != c.want {
			t.Errorf("%q: %v, want %v", c.text, got, c.want)
		}
	}
}

func TestDaysAsPeopleWriteThem(t *testing.T) {
	now := time.Date(2026, 5, 21, 14, 0, 0, 0, time.UTC)
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	for text, want := range map[string][2]time.Time{
		"2026-05-02":               {day(2026, 5, 2), day(2026, 5, 3)},
		"2 May":                    {day(2026, 5, 2), day(2026, 5, 3)},
		"24 Dec":                   {day(2025, 12, 24), day(2025, 12, 25)}, // the last one that has been
		"May 2026":                 {day(2026, 5, 1), day(2026, 6, 1)},
		"2025":                     {day(2025, 1, 1), day(2026, 1, 1)},
		"today":                    {day(2026, 5, 21), day(2026, 5, 22)},
		"yesterday":                {day(2026, 5, 20), day(2026, 5, 21)},
		"2 May to 5 May":           {day(2026, 5, 2), day(2026, 5, 6)},
		"2026-05-02 .. 2026-05-05": {day(2026, 5, 2), day(2026, 5, 6)},
		"2026-05 ..":               {day(2026, 5, 1), {}},
		".. 2025":                  {{}, day(2026, 1, 1)},
		"30 Feb":                   {}, "soon": {}, "": {}, "5 May to 2 May": {}, "99": {}, "5": {},
	} {
		if since, until := ReadDays(text, now); !since.Equal(want[0]) || !until.Equal(want[1]) {
			t.Errorf("%q: %v to %v, want %v", text, since, until, want)
		}
	}
}

func TestWhatIsWrittenReadsBack(t *testing.T) {
	now := time.Date(2026, 5, 21, 14, 0, 0, 0, time.UTC)
	for _, text := range []string{"2026-05-02", "2026-05", "2025", "2026-05-02 to 2026-05-05", "2026-05-02 ..", ".. 2026-05-05"} {
		since, until := ReadDays(text, now)
		if got := Days(since, until); got != text {
			t.Errorf("%q is written as %q", text, got)
		}
	}
	for _, r := range []Range{{8, 8}, {8, 11}, {8, 0}, {0, 11}} {
		if got := ReadApertures(r.Apertures()); got != r {
			t.Errorf("%v is written %q and read as %v", r, r.Apertures(), got)
		}
	}
}

func TestSearchName(t *testing.T) {
	q := session.SetupQuery{
		Words: "cone", Cells: []session.Cell{{Side: session.SideBackLeft, Height: session.HeightHigh}},
		Kinds: []session.LightKind{session.LightLED, session.LightFlash}, ApertureMin: 8, ApertureMax: 11, Blended: true,
	}
	if got, want := SearchName(q), "cone · from back-left, high · LED panel or flash · f/8 to f/11 · blended"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := SearchName(session.SetupQuery{}); got != "everything" {
		t.Errorf("the empty search is %q", got)
	}
}

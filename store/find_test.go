package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"stillbench/session"
)

// TestFindAgainstReading: searches over a made-up log find what reading every setup and
// taking session.SetupQuery's comment at its word finds, in its order; and every count is
// what a search that makes that choice finds.
func TestFindAgainstReading(t *testing.T) {
	s := newLog(t)
	r := rand.New(rand.NewPCG(31, 7))
	id := newSession(t, s, "/p")
	day := time.Date(2025, 12, 20, 12, 0, 0, 0, time.Local)
	words := []string{"cone", "shell", "seed", "pod", "slate", "façade"}
	edges := []float64{0, 22.5, 67.5, 112.5, 157.5, 202.5, 247.5, 292.5, 337.5, 359.999999}
	var groups []session.Group
	apertures := []float64{2.8, 4, 5.6, 8, 11, 16}
	shutters := []float64{1 / 250.0, 1 / 60.0, 1 / 50.0, 1 / 8.0, 1, 2.5}
	modifiers := []string{"", "Diffuser", "diffuser ", "grid", "paper, white", "Papier"}
	for i := range 140 {
		v := session.Setup{Subject: words[r.IntN(6)] + " " + words[r.IntN(6)], Notes: words[r.IntN(6)], Logged: day.Add(time.Duration(r.IntN(40)) * 12 * time.Hour)}
		if r.IntN(3) > 0 {
			v.Magnification = ptr(float64(1+r.IntN(8)) / 4)
		}
		for range r.IntN(4) {
			l := lightAt(session.LightKinds[r.IntN(6)], 360*r.Float64(), -90+180*r.Float64())
			if r.IntN(2) == 0 {
				l.AzimuthDeg, l.ElevationDeg = edges[r.IntN(len(edges))], []float64{20, 50, 75, 19.9, 49.9, 75.1}[r.IntN(6)]
			}
			l.Modifier = modifiers[r.IntN(6)]
			v.Lights = append(v.Lights, l)
		}
		v = logSetup(t, s, id, v)
		if n := r.IntN(4); n > 0 {
			g := session.Group{ID: int64(i + 1), Kind: session.KindStack, SetupID: v.ID}
			for j := range n {
				f := frame(10*i+j, apertures[r.IntN(6)], v.Logged)
				f.Meta.ShutterSeconds = ptr(shutters[r.IntN(6)])
				save(t, s, id, f)
				g.Frames = append(g.Frames, f.Fingerprint)
			}
			groups = append(groups, g)
		}
	}
	if err := s.SaveGroups(t.Context(), id, groups); err != nil {
		t.Fatal(err)
	}
	for _, g := range groups {
		if g.ID%3 == 0 {
			if err := s.RecordBlend(t.Context(), g.Frames, fmt.Sprintf("/b/%d.tif", g.ID), day); err != nil {
				t.Fatal(err)
			}
		}
	}
	all := find(t, s, session.SetupQuery{Limit: 1000}).Setups
	if len(all) != 140 {
		t.Fatalf("%d setups", len(all))
	}
	for _, f := range all {
		want := 0
		if i := slices.IndexFunc(groups, func(g session.Group) bool { return g.SetupID == f.ID }); i >= 0 && groups[i].ID%3 == 0 {
			want = 1
		}
		if f.Blended != want {
			t.Errorf("setup %d: %d blended, want %d", f.ID, f.Blended, want)
		}
	}

	reading := func(q session.SetupQuery) (ids []int64) {
		for _, f := range all {
			if fits(f, q) {
				ids = append(ids, f.ID)
			}
		}
		return ids
	}
	hits := 0
	for round := range 400 {
		q := session.SetupQuery{Limit: 1000}
		maybe := func(set func()) {
			if r.IntN(5) == 0 {
				set()
			}
		}
		maybe(func() { q.Words = words[r.IntN(5)] })
		maybe(func() { q.Words += " " + words[r.IntN(5)][:3] })
		maybe(func() { q.Sides = append(q.Sides, session.Sides[r.IntN(8)], session.Sides[r.IntN(8)]) })
		maybe(func() { q.Heights = append(q.Heights, session.Heights[r.IntN(4)]) })
		maybe(func() { q.Kinds = append(q.Kinds, session.LightKinds[r.IntN(6)], session.LightKinds[r.IntN(6)]) })
		maybe(func() {
			for range 4 {
				q.Cells = append(q.Cells, session.Cell{Side: session.Sides[r.IntN(8)], Height: session.Heights[r.IntN(4)]})
			}
		})
		maybe(func() {
			q.Modifiers = []string{[]string{"DIFFUSER", "white paper", "Paper White", "none such", ""}[r.IntN(5)], "grid"}
		})
		maybe(func() { q.MainLight = true })
		maybe(func() { q.ApertureMin = apertures[r.IntN(6)] - 0.5*float64(r.IntN(2)) })
		maybe(func() { q.ApertureMax = apertures[r.IntN(6)] })
		maybe(func() { q.ShutterMin = shutters[r.IntN(6)] })
		maybe(func() { q.ShutterMax = shutters[r.IntN(6)] })
		maybe(func() { q.MagnificationMin = float64(r.IntN(8)) / 4 })
		maybe(func() { q.MagnificationMax = float64(1+r.IntN(8)) / 4 })
		maybe(func() { q.Since = day.Add(time.Duration(r.IntN(40)) * 12 * time.Hour) })
		maybe(func() { q.Until = day.Add(time.Duration(r.IntN(40)) * 12 * time.Hour) })
		maybe(func() { q.Blended = true })
		q.Order = []session.SetupOrder{session.OrderBest, session.OrderNewest, session.OrderOldest}[r.IntN(3)]
		got := find(t, s, q)
		var ids []int64
		for _, f := range got.Setups {
			ids = append(ids, f.ID)
		}
		want := reading(q)
		switch {
		case q.Order == session.OrderOldest:
			slices.Reverse(want)
		case q.Words != "" && q.Order == session.OrderBest: // by relevance
			slices.Sort(ids)
			slices.Sort(want)
		}
		if !slices.Equal(ids, want) || got.Total != len(want) {
			t.Fatalf("%+v\nfound %v (%d)\nwant  %v", q, ids, got.Total, want)
		}
		hits += len(want)
		if round%8 == 0 {
			checkCounts(t, q, got, func(q session.SetupQuery) int { return len(reading(q)) }, modifiers)
		}
	}
	if hits < 1000 {
		t.Errorf("the queries find too little to say anything: %d", hits)
	}
}

// fits reports whether a setup fulfils a query, whose words differ from their second letter
// on.
func fits(f session.FoundSetup, q session.SetupQuery) bool {
	in := func(n, lo, hi float64) bool { return n >= lo && (hi == 0 || n <= hi) }
	anyIn := func(list []float64, lo, hi float64) bool {
		return lo == 0 && hi == 0 || slices.ContainsFunc(list, func(n float64) bool { return in(n, lo, hi) })
	}
	for _, w := range strings.Fields(q.Words) {
		if !strings.Contains(f.Subject+" "+f.Notes, w) {
			return false
		}
	}
	if !anyIn(f.FNumber, q.ApertureMin, q.ApertureMax) || !anyIn(f.ShutterSeconds, q.ShutterMin, q.ShutterMax) || q.Blended && f.Blended == 0 {
		return false
	}
	if (q.MagnificationMin > 0 || q.MagnificationMax > 0) && (f.Magnification == nil || !in(*f.Magnification, q.MagnificationMin, q.MagnificationMax)) {
		return false
	}
	if !q.Since.IsZero() && f.Logged.Before(q.Since) || !q.Until.IsZero() && !f.Logged.Before(q.Until) {
		return false
	}
	if len(q.Cells)+len(q.Sides)+len(q.Heights)+len(q.Kinds)+len(q.Modifiers) == 0 {
		return true
	}
	for i, l := range f.Lights {
		if (len(q.Cells) == 0 || slices.Contains(q.Cells, session.Cell{Side: l.Side(), Height: l.Height()})) &&
			(len(q.Sides) == 0 || slices.Contains(q.Sides, l.Side())) &&
			(len(q.Heights) == 0 || slices.Contains(q.Heights, l.Height())) &&
			(len(q.Kinds) == 0 || slices.Contains(q.Kinds, l.Kind)) &&
			(len(q.Modifiers) == 0 || slices.ContainsFunc(q.Modifiers, func(m string) bool { return m != "" && plainWords(m) == plainWords(l.Modifier) })) &&
			(!q.MainLight || i == f.MainLight()) {
			return true
		}
	}
	return false
}

// plainWords folds the test's own modifiers.
func plainWords(s string) string {
	return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(s, ",", ""))), " ")
}

// checkCounts holds every count of a result against reading.
func checkCounts(t *testing.T, q session.SetupQuery, got session.SetupResults, reading func(session.SetupQuery) int, modifiers []string) {
	t.Helper()
	check := func(what string, n int, change func(q *session.SetupQuery)) {
		t.Helper()
		choice := q
		change(&choice)
		if want := reading(choice); n != want {
			t.Fatalf("%+v\n%s: counted %d, a search finds %d", q, what, n, want)
		}
	}
	for _, side := range session.Sides {
		for _, height := range session.Heights {
			c := session.Cell{Side: side, Height: height}
			check(fmt.Sprint(c), got.Wheel[c], func(q *session.SetupQuery) { q.Cells = []session.Cell{c} })
		}
	}
	check("overhead on the wheel", got.Wheel[session.Cell{Height: session.HeightOverhead}], func(q *session.SetupQuery) {
		q.Cells = nil
		for _, side := range session.Sides {
			q.Cells = append(q.Cells, session.Cell{Side: side, Height: session.HeightOverhead})
		}
	})
	for _, h := range session.Heights {
		check(string(h), got.Heights[h], func(q *session.SetupQuery) { q.Heights = []session.Height{h} })
	}
	for _, k := range session.LightKinds {
		check(string(k), got.Kinds[k], func(q *session.SetupQuery) { q.Kinds = []session.LightKind{k} })
	}
	counted := map[string]int{}
	for _, c := range got.Modifiers {
		counted[plainWords(c.Text)] = c.Setups
	}
	for _, m := range modifiers[1:] {
		check(m, counted[plainWords(m)], func(q *session.SetupQuery) { q.Modifiers = []string{m} })
	}
	check("main light", got.Main, func(q *session.SetupQuery) { q.MainLight = true })
	check("blended", got.Blended, func(q *session.SetupQuery) { q.Blended = true })
	for _, b := range got.Apertures {
		check(fmt.Sprint("aperture ", b), b.Setups, func(q *session.SetupQuery) { q.ApertureMin, q.ApertureMax = b.Min, b.Max })
	}
	for _, b := range got.Shutters {
		check(fmt.Sprint("shutter ", b), b.Setups, func(q *session.SetupQuery) { q.ShutterMin, q.ShutterMax = b.Min, b.Max })
	}
	for _, b := range got.Magnifications {
		check(fmt.Sprint("magnification ", b), b.Setups, func(q *session.SetupQuery) { q.MagnificationMin, q.MagnificationMax = b.Min, b.Max })
	}
	if q.Since.IsZero() && q.Until.IsZero() {
		for _, y := range []int{2024, 2025, 2026} {
			check(fmt.Sprint(y), got.Years[y], func(q *session.SetupQuery) {
				q.Since, q.Until = time.Date(y, 1, 1, 0, 0, 0, 0, time.Local), time.Date(y+1, 1, 1, 0, 0, 0, 0, time.Local)
			})
		}
	}
}

// TestPages: pages follow each other without gaps or doubles, and end.
func TestPages(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	for i := range 25 {
		logSetup(t, s, id, session.Setup{Subject: fmt.Sprint("cone ", i)})
	}
	for _, words := range []string{"", "cone"} {
		whole := find(t, s, session.SetupQuery{Words: words}).Setups
		var got []session.FoundSetup
		for offset := 0; offset < 40; offset += 7 {
			r := find(t, s, session.SetupQuery{Words: words, Limit: 7, Offset: offset})
			if r.Total != 25 {
				t.Errorf("total %d", r.Total)
			}
			got = append(got, r.Setups...)
		}
		if len(whole) != 25 || !reflect.DeepEqual(got, whole) {
			t.Errorf("%q: pages give %d setups, all at once %d", words, len(got), len(whole))
		}
	}
	if r := find(t, s, session.SetupQuery{Offset: -5, Limit: -1}); len(r.Setups) != 25 {
		t.Errorf("an offset below nothing: %d", len(r.Setups))
	}
}

// TestRelevance: a word in the subject counts for more than the same word in a long note,
// and a setup that says it more often comes before one that says it once.
func TestRelevance(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	for i := range 20 {
		logSetup(t, s, id, session.Setup{Subject: "seed pod", Notes: fmt.Sprint("other ", i)})
	}
	once := logSetup(t, s, id, session.Setup{Subject: "shell", Notes: "beside a cone lies something quite different, which is what all this is about"})
	subject := logSetup(t, s, id, session.Setup{Subject: "cone"})
	often := logSetup(t, s, id, session.Setup{Subject: "shell", Notes: "cone, cone and cone once more lies something quite different, which is what it is about"})
	r := find(t, s, session.SetupQuery{Words: "cone"})
	var got []int64
	last := r.Setups[0].Score
	for _, f := range r.Setups {
		got = append(got, f.ID)
		if f.Score > last || f.Score <= 0 {
			t.Errorf("scores do not fall: %v after %v", f.Score, last)
		}
		last = f.Score
	}
	if want := []int64{subject.ID, often.ID, once.ID}; !slices.Equal(got, want) {
		t.Errorf("order %v, want %v", got, want)
	}
}

// TestManyHolders: words that very many setups hold still say which of them is meant, and
// the pages of so many follow each other in one order.
func TestManyHolders(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	const all = 700
	err := s.change(t.Context(), session.Say("fill"), func(tx *sql.Tx) error {
		for i := range all {
			v := session.Setup{SessionID: id, Notes: "cone" + strings.Repeat(" beside", i%7), Logged: time.Date(2026, 1, 1, 0, 0, i, 0, time.UTC)}
			if i == 300 {
				v.Subject, v.Notes = "cone", ""
			}
			if err := writeSetup(t.Context(), tx, &v, newUID(), timeText(v.Logged)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	whole := find(t, s, session.SetupQuery{Words: "cone", Limit: all}).Setups
	if len(whole) != all || whole[0].Subject != "cone" {
		t.Fatalf("%d found, first %+v", len(whole), whole[0])
	}
	for i := 1; i < all; i++ {
		a, b := whole[i-1], whole[i]
		if a.Score < b.Score || a.Score == b.Score && !a.Logged.After(b.Logged) {
			t.Fatalf("%d before %d: scores %v, %v", a.ID, b.ID, a.Score, b.Score)
		}
	}
	for _, at := range []int{0, 3, 150, 690} {
		r := find(t, s, session.SetupQuery{Words: "cone", Limit: 10, Offset: at})
		if !reflect.DeepEqual(r.Setups, whole[at:at+10]) {
			t.Errorf("page at %d differs from the whole", at)
		}
	}
	if r := find(t, s, session.SetupQuery{Words: "cone", Limit: 2, Order: session.OrderNewest}); r.Setups[0].ID != all || r.Setups[1].ID != all-1 {
		t.Errorf("newest first: %+v", r.Setups)
	}
	if r := find(t, s, session.SetupQuery{Words: "cone", Limit: 2, Order: session.OrderOldest}); r.Setups[0].ID != 1 || r.Setups[1].ID != 2 {
		t.Errorf("oldest first: %+v", r.Setups)
	}
}

// TestMistyped: words that stand nowhere find those that a slip of the hand makes of them:
// a letter changed, left out, put in, or two swapped; two slips in long words.
func TestMistyped(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	logSetup(t, s, id, session.Setup{Subject: "translucent shell", Notes: "façade 1250", Tags: []string{"pod"}})
	logSetup(t, s, id, session.Setup{Subject: "movement", Background: "slate"})
	for words, want := range map[string]string{
		"shall": "translucent shell", "shel": "translucent shell", "shelll": "translucent shell", "hsell": "translucent shell",
		"translucnet": "translucent shell", "transluzend shell": "translucent shell", "transluzend slate": "",
		"facahde": "translucent shell", "movemen": "movement", "mvoem": "movement", "movement": "movement", "slote mov": "movement",
		// too short, a number, too far, nothing left of it
		"pad": "", "1240": "", "shore": "", "movement shore": "", "\"": "both",
	} {
		r := find(t, s, session.SetupQuery{Words: words})
		got := ""
		switch {
		case len(r.Setups) == 1:
			got = r.Setups[0].Subject
		case len(r.Setups) == 2:
			got = "both"
		}
		if got != want {
			t.Errorf("%q finds %q, want %q", words, got, want)
		}
	}
}

// TestTokens: accents, cases and forms are folded as people expect who cannot type them.
func TestTokens(t *testing.T) {
	for text, want := range map[string]string{
		"Façade CAFÉ":        "facade cafe",
		"Cafe\u0301":         "cafe",          // the accent as a character of its own
		"ﬁne ½ Ｗｉｄｅ":         "fine 1 2 wide", // compatibility forms (Unicode NFKD)
		"Straße Łódź Ørsted": "strasse lodz orsted",
		"ΟΔΟΣ οδός":          "οδοσ οδοσ", // the last sigma
		"שָׁלוֹם":            "שלום",      // without vowel points
		"back-left, f/5.6":   "back left f 5 6",
		"松ぼっくり":              "松 ほ っ く り",
		"cone🌰wet ❄\ufe0f":   "cone 🌰 wet ❄",
		"a\x00b\tc\u200bd":   "a b c d",
		"60° \"x\" ; '":      "60 x",
		"\xff\xfe":           "",
	} {
		if got := strings.Join(tokens(text), " "); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestDistance: the textbook pairs, and what a free end changes.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b   string
		prefix bool
		want   int
	}{
		{"kitten", "sitting", false, 3}, // the usual example of Levenshtein's distance
		{"ca", "abc", false, 3},         // where optimal string alignment (3) and Damerau's own (2) part
		{"ab", "ba", false, 1},
		{"", "abc", false, 3}, {"abc", "", false, 3}, {"", "", false, 0},
		{"mov", "movement", true, 0}, {"mvo", "movement", true, 1}, {"mov", "mo", true, 1},
	} {
		if got := distance([]rune(c.a), []rune(c.b), c.prefix); got != c.want {
			t.Errorf("%q to %q (beginning %v): %d, want %d", c.a, c.b, c.prefix, got, c.want)
		}
	}
}

// TestFacetRecords: a record says what the facet held; nothing else is read as one.
func TestFacetRecords(t *testing.T) {
	for _, k := range session.LightKinds {
		if !slices.Contains(facetKinds[:], k) {
			t.Errorf("%s has no place in a record", k)
		}
	}
	f := facet{at: -1234567, magnification: 1 / 3.0, blended: 300, apertures: []float64{2.8, 5.6, 11}, shutters: []float64{1 / 60.0, 4}}
	for i := range facetKinds {
		f.lights = append(f.lights, facetLight{cell: uint8(31 - i), kind: uint8(len(facetKinds) - 1 - i), modifier: 1000 * uint32(i)})
	}
	f.lights[2].main = true // after a flag and a card
	got := facet{lights: make([]facetLight, 9), apertures: []float64{1}}
	if err := got.read(f.record()); err != nil || !reflect.DeepEqual(got, f) {
		t.Errorf("%+v, want %+v, %v", got, f, err)
	}
	whole := f.record()
	for i := range whole {
		if err := got.read(whole[:i]); err == nil {
			t.Errorf("%d of %d bytes are read", i, len(whole))
		}
	}
	if err := got.read(append(whole, 0)); err == nil {
		t.Error("a byte too many is read")
	}
}

// FuzzFind: no text is an error, in a search or as the words of a setup; and a setup is
// found by every word that its text is taken apart into.
func FuzzFind(f *testing.F) {
	for _, s := range append(slices.Clone(awkward), `AND OR NOT NEAR(a, b) ^x y* subject:z -a +b {c} "`, "\xff\xfe", "松ぼっくり", strings.Repeat("x", 5000)) {
		f.Add(s)
	}
	s, err := OpenInMemory(f.Context())
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { s.Close() })
	id := newSession(f, s, "/p")
	v := logSetup(f, s, id, session.Setup{Subject: "first"})
	f.Fuzz(func(t *testing.T, text string) {
		find(t, s, session.SetupQuery{Words: text})
		if len(text) > session.MaxNotes {
			return
		}
		v.Notes = text
		if clean(v).Validate() != nil {
			return // bytes that are no text grow when they are replaced
		}
		v = logSetup(t, s, id, v)
		for i, w := range tokens(text) {
			if i == 50 {
				break
			}
			if r := find(t, s, session.SetupQuery{Words: w + " "}); r.Total != 1 {
				t.Errorf("%q is not found by %q", text, w)
			}
		}
	})
}

// TestFoundWhatShouldBe is the table of queries and the setups that each should find, as
// somebody types them a year later: beginnings, other cases and accents, slips, words in any
// order and from any field, other scripts.
func TestFoundWhatShouldBe(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	cm := ptr(40.0)
	for _, v := range []session.Setup{
		{Subject: "Pine cone, wet", Notes: "ridges came out when the lamp stood low behind", Lens: "Invented Macro 100 mm f/2.8", Tags: []string{"bark", "winter"},
			Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 190, ElevationDeg: 10, DistanceCM: cm, Modifier: "diffuser", Power: "40 W"}}},
		{Subject: "Seashell", Background: "black velvet", Support: "blu clay", Notes: "translucent edge, lit through from below",
			Lights: []session.Light{{Kind: session.LightFlash, AzimuthDeg: 0, ElevationDeg: -80, Power: "1/8"}}},
		{Subject: "Façade of a doll's house", Notes: "naïve paint; crème brûlée colours", Tags: []string{"Möbel"}},
		{Subject: "кора берёзы", Notes: "сухая"},
		{Subject: "קליפת עץ", Notes: "אור נמוך מאחור"},
		{Subject: "松ぼっくり", Notes: "低い光"},
		{Subject: "lichen 🌿👩‍🔬", Notes: "e\u0301tude nº 2, 60°"},
		{Subject: "gear wheel", Notes: strings.Repeat("long note about brass teeth ", 400) + "finally verdigris"},
	} {
		logSetup(t, s, id, v)
	}
	if n := len(strings.Repeat("long note about brass teeth ", 400)); n < 10000 {
		t.Fatal("the long note is too short: ", n)
	}
	for _, c := range []struct{ words, want string }{
		{"pine", "Pine cone, wet"}, {"PINE CONE", "Pine cone, wet"}, {"cone pine", "Pine cone, wet"}, {"pi co", "Pine cone, wet"}, {"pi cox", ""}, {"pine co", "Pine cone, wet"},
		{"ridges low", "Pine cone, wet"}, {"winter 100", "Pine cone, wet"}, {"f/2.8", "Pine cone, wet"}, {"100 mm diffuser", "Pine cone, wet"}, {"40 W", "Pine cone, wet"},
		{"back low led", "Pine cone, wet"}, {"pine-cone", "Pine cone, wet"}, {"cone-pine", ""}, {"40 cm pi", "Pine cone, wet"},
		{"rigdes", "Pine cone, wet"}, {"difuser", "Pine cone, wet"}, {"pnie cone", "Pine cone, wet"}, {"winterr", "Pine cone, wet"}, {"diffusre low", "Pine cone, wet"},
		{"shell", ""}, {"seash", "Seashell"}, {"seashel", "Seashell"}, {"sea shell", ""}, {"trasnlucent", "Seashell"}, {"velvet clay", "Seashell"}, {"1/8", "Seashell"},
		{"facade", "Façade of a doll's house"}, {"FAÇADE", "Façade of a doll's house"}, {"doll's", "Façade of a doll's house"}, {"dolls", "Façade of a doll's house"},
		{"naive creme brulee", "Façade of a doll's house"}, {"mobel", "Façade of a doll's house"}, {"möb", "Façade of a doll's house"},
		{"КОРА", "кора берёзы"}, {"березы", "кора берёзы"}, {"бер", "кора берёзы"},
		{"עץ", "קליפת עץ"}, {"נמוך", "קליפת עץ"}, {"松", "松ぼっくり"}, {"ぼっく", "松ぼっくり"}, {"光", "松ぼっくり"},
		{"🌿", "lichen 🌿👩‍🔬"}, {"etude", "lichen 🌿👩‍🔬"}, {"ÉTUDE", "lichen 🌿👩‍🔬"}, {"60°", "lichen 🌿👩‍🔬"},
		{"verdigris", "gear wheel"}, {"brass teeth final", "gear wheel"}, {"verdigriss", "gear wheel"},
		{"pine seashell", ""}, {"aluminium", ""},
		// Signs that mean something elsewhere mean nothing here.
		{`"pine" AND (cone OR NOT wet)`, ""}, {`pine* +cone`, "Pine cone, wet"}, {`subject:pine`, ""}, {`'pine'; --`, "Pine cone, wet"}, {`pine%`, "Pine cone, wet"},
	} {
		r := find(t, s, session.SetupQuery{Words: c.words})
		got := ""
		for _, f := range r.Setups {
			got += f.Subject
		}
		if got != c.want {
			t.Errorf("%q finds %q (meant %q), want %q", c.words, got, r.Meant, c.want)
		}
	}
	// What was looked up instead is said, and nothing is where the words stand as typed.
	if r := find(t, s, session.SetupQuery{Words: "rigdes"}); r.Meant != "ridges" {
		t.Errorf("meant %q", r.Meant)
	}
	if r := find(t, s, session.SetupQuery{Words: "ridges"}); r.Meant != "" {
		t.Errorf("meant %q", r.Meant)
	}
}

// TestSearchWhileWriting: searches from several goroutines while setups are logged find each
// log as it was at some moment, none older than what this one had seen.
func TestSearchWhileWriting(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	done := make(chan bool)
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			seen := 0
			for {
				r, err := s.FindSetups(context.Background(), session.SetupQuery{Words: "cone", Kinds: []session.LightKind{session.LightLED}})
				switch {
				case err != nil:
					t.Error(err)
				case r.Total < seen || len(r.Setups) != r.Total || r.Wheel[session.Cell{Side: session.SideFront, Height: session.HeightLow}] != r.Total:
					t.Errorf("%d found of %d, %d before", len(r.Setups), r.Total, seen)
				}
				seen = r.Total
				select {
				case <-done:
					return
				default:
				}
			}
		})
	}
	for range 60 {
		logSetup(t, s, id, session.Setup{Subject: "cone", Lights: []session.Light{lightAt(session.LightLED, 0, 0)}})
	}
	close(done)
	wg.Wait()
}

// TestDamagedIndex: records that cannot be, as a failing disk may leave them, end in an error.
func TestDamagedIndex(t *testing.T) {
	for what, f := range map[string]facet{
		"a modifier that is not there": {lights: []facetLight{{modifier: 7}}},
		"no kind of light":             {lights: []facetLight{{kind: uint8(len(facetKinds))}}},
	} {
		s, err := OpenInMemory(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		logSetup(t, s, newSession(t, s, "/p"), session.Setup{Subject: "cone"})
		if err := s.change(t.Context(), session.Say("damage"), func(tx *sql.Tx) error { return facetPages.put(t.Context(), tx, 1, f.record()) }); err != nil {
			t.Fatal(err)
		}
		if _, err := s.FindSetups(t.Context(), session.SetupQuery{}); !errors.Is(err, errIndex) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestWordsAreReadyAfterTheFirstLook: who looks at the log does not wait for the index of
// words, and who then types does not either. Close waits for whoever makes it.
func TestWordsAreReadyAfterTheFirstLook(t *testing.T) {
	s := newLog(t)
	logSetup(t, s, newSession(t, s, "/p"), session.Setup{Subject: "cone"})
	s.wordIndexes.Lock() // it takes its time
	find(t, s, session.SetupQuery{})
	find(t, s, session.SetupQuery{})
	s.wordIndexes.Unlock()
	s.work.Wait()
	index := s.wordIndexes.index
	if index == nil || len(index.terms) != 1 {
		t.Fatalf("the index is %+v", index)
	}
	if r := find(t, s, session.SetupQuery{Words: "cone"}); r.Total != 1 || s.wordIndexes.index != index {
		t.Errorf("found %d; the index made anew: %v", r.Total, s.wordIndexes.index != index)
	}

	for range 20 {
		other, err := Open(t.Context(), s.Path())
		if err != nil {
			t.Fatal(err)
		}
		find(t, other, session.SetupQuery{})
		if err := other.Close(); err != nil {
			t.Error(err)
		}
		other.readyWords() // by a search that was on its way: too late
		if !other.wordIndexes.TryLock() {
			t.Error("the index is being made after Close")
		}
	}
}

// A word of the window's language finds the lights, which stand in English in the log, beside
// what the photographer wrote in it.
func TestWordsInAnotherLanguage(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/pictures/a")
	log := func(subject string, l session.Light) int64 {
		return logSetup(t, s, id, session.Setup{Subject: subject, Logged: time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC), Lights: []session.Light{l}}).ID
	}
	window := log("Zahnrad", session.Light{Kind: session.LightWindow, AzimuthDeg: 225, ElevationDeg: 30})
	lamp := log("Muschel am Fenster", session.Light{Kind: session.LightLamp, AzimuthDeg: 135, ElevationDeg: 30})
	meaning := map[string]string{"Fenster": "window", "Lampe": "lamp", "links": "left", "rechts": "right", "hinten": "back", "zénithale": "overhead"}
	for query, want := range map[string][]int64{
		"Fenster":            {lamp, window},
		"fens":               {lamp, window},
		"window":             {window},
		"hinten links":       {window},
		"hinten-rechts":      {lamp},
		"back rechts":        {lamp},
		"Fenster Zahnrad":    {window},
		"Zahnrad Lampe":      nil,
		"zenithale":          nil,
		"hinten":             {lamp, window},
		"Muschel hinten Lam": {lamp},
	} {
		var got []int64
		for _, f := range find(t, s, session.SetupQuery{Words: query, Meaning: meaning}).Setups {
			got = append(got, f.ID)
		}
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%q: %v, want %v", query, got, want)
		}
	}
	if n := find(t, s, session.SetupQuery{Words: "hinten"}).Total; n != 0 {
		t.Errorf("a word without a meaning finds %d", n)
	}
}

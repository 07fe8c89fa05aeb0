package store_test

import (
	"bufio"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/store"
)

var _ desk.Log = (*store.Store)(nil)

// Subjects, frames and lights of these tests are invented.

var ctx = context.Background()

func TestMain(m *testing.M) {
	switch os.Getenv("STILLBENCH_STORE_ROLE") {
	case "writer":
		writer(os.Getenv("STILLBENCH_STORE_LOG"))
	case "":
		os.Exit(m.Run())
	}
}

func open(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func begin(t testing.TB, s *store.Store, dir string) session.Session {
	t.Helper()
	own, err := s.OpenSession(ctx, dir)
	if err != nil {
		t.Fatal(err)
	}
	return own
}

func logSetup(t testing.TB, s *store.Store, sessionID int64, v session.Setup) session.Setup {
	t.Helper()
	v.SessionID = sessionID
	if v.Logged.IsZero() {
		v.Logged = time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	}
	e, err := s.AddEdit(ctx, sessionID, session.Edit{Kind: session.EditSetup, Setup: &v, Words: "log a setup", Made: v.Logged})
	if err != nil {
		t.Fatal(err)
	}
	return *e.Setup
}

func light(kind session.LightKind, az, el float64) session.Light {
	return session.Light{Kind: kind, AzimuthDeg: az, ElevationDeg: el}
}

// healthy asks SQLite itself (PRAGMA integrity_check, foreign_key_check).
func healthy(t testing.TB, path string) {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var verdict string
	if err := db.QueryRow(`PRAGMA integrity_check`).Scan(&verdict); err != nil || verdict != "ok" {
		t.Errorf("integrity_check: %q, %v", verdict, err)
	}
	rows, err := db.Query(`PRAGMA foreign_key_check`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	if rows.Next() {
		t.Error("foreign_key_check finds rows that hang on nothing")
	}
}

func TestFramesAndGroupsComeBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	s := open(t, path)
	own := begin(t, s, "/pictures/a")
	if again := begin(t, s, "/pictures/a"); again.ID != own.ID {
		t.Errorf("one folder, two sessions: %d and %d", own.ID, again.ID)
	}
	fNumber, sec, iso := 9.0, 1.0/6, 100
	zone := time.FixedZone("", 5400) // an offset that no named zone gives away
	frame := session.Frame{
		Name: "sub/VTX_0001.CR3", Pairs: []string{"sub/VTX_0001.JPG"}, Fingerprint: "f1", Size: 123,
		Modified: time.Date(2026, 5, 2, 10, 0, 0, 123456789, time.UTC),
		Meta: session.Meta{Container: "cr3", Taken: time.Date(2026, 5, 2, 12, 0, 0, 340e6, zone), TakenHasOffset: true,
			FNumber: &fNumber, ShutterSeconds: &sec, ISO: &iso},
		Figures: &session.Figures{Version: session.FiguresVersion, SmallW: 1, SmallH: 1, Small: []byte{1, 2, 3}, Detail: []float64{0.25}, MeanEV: -2.5},
	}
	bare := session.Frame{Name: "VTX_0002.JPG", Fingerprint: "f2", Modified: frame.Modified, SetAside: true}
	if err := s.SaveFrames(ctx, own.ID, []session.Frame{frame, bare}); err != nil {
		t.Fatal(err)
	}
	groups := []session.Group{
		{ID: 4, Kind: session.KindTest, Frames: []string{"f2"}, Confidence: 0.5, Question: "One stack or two?"},
		{ID: 2, Kind: session.KindStack, Frames: []string{"f1"}, Confidence: 1, Name: "ridge",
			Seam: &session.Seam{Confidence: 0.75, Reasons: []session.Reason{{Rule: session.RuleGap, Detail: "4 min pause"}, {Rule: session.RuleSettings, Detail: "f/10 → f/3.5"}}}},
	}
	if err := s.SaveGroups(ctx, own.ID, groups); err != nil {
		t.Fatal(err)
	}
	s.Close()

	s = open(t, path)
	got, err := s.Frames(ctx, own.ID)
	if err != nil || len(got) != 2 {
		t.Fatalf("%d frames, %v", len(got), err)
	}
	slices.SortFunc(got, func(a, b session.Frame) int { return strings.Compare(a.Fingerprint, b.Fingerprint) })
	for i := range got {
		if got[i].ID == 0 {
			t.Error("a frame without a number")
		}
		got[i].ID = 0
	}
	if !got[0].Meta.Taken.Equal(frame.Meta.Taken) || got[0].Meta.Taken.Format(time.RFC3339Nano) != frame.Meta.Taken.Format(time.RFC3339Nano) {
		t.Errorf("taken %v, want %v with its offset", got[0].Meta.Taken, frame.Meta.Taken)
	}
	got[0].Meta.Taken = frame.Meta.Taken
	if !got[0].Modified.Equal(frame.Modified) {
		t.Errorf("modified %v, want %v", got[0].Modified, frame.Modified)
	}
	got[0].Modified = frame.Modified
	if got[0].Figures == nil || got[0].Figures.MeanEV != -2.5 || !slices.Equal(got[0].Figures.Small, frame.Figures.Small) || !slices.Equal(got[0].Figures.Detail, frame.Figures.Detail) {
		t.Errorf("figures came back as %+v", got[0].Figures)
	}
	got[0].Figures = frame.Figures
	if !reflect.DeepEqual(got[0], frame) {
		t.Errorf("frame came back as\n%+v, want\n%+v", got[0], frame)
	}
	if !got[1].SetAside || got[1].Figures != nil || got[1].Meta.FNumber != nil || !got[1].Meta.Taken.IsZero() {
		t.Errorf("a frame of which nothing is known came back as %+v", got[1])
	}
	back, err := s.Groups(ctx, own.ID)
	if err != nil || !reflect.DeepEqual(back, groups) {
		t.Errorf("groups came back as %+v (%v)", back, err)
	}
	m, fig, ok, err := s.Known(ctx, "f1")
	if err != nil || !ok || fig == nil || m.FNumber == nil || *m.FNumber != 9 {
		t.Errorf("known: %+v %v %v %v", m, fig, ok, err)
	}
	if _, _, ok, err := s.Known(ctx, "never seen"); ok || err != nil {
		t.Errorf("knows what it never saw: %v %v", ok, err)
	}
	healthy(t, path)
}

// Undoing everything leads back to where the edits began, doing it all again to where
// they ended, whatever they were.
func TestUndoLeadsBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	s := open(t, path)
	own := begin(t, s, "/pictures/a")
	state := func() string {
		setups, err := s.Setups(ctx, own.ID)
		if err != nil {
			t.Fatal(err)
		}
		found, err := s.FindSetups(ctx, session.SetupQuery{})
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for _, v := range setups {
			fmt.Fprintln(&b, v.ID, v.Subject, v.Lights)
		}
		fmt.Fprint(&b, found.Total, found.Wheel)
		return b.String()
	}
	r := rand.New(rand.NewPCG(7, 7))
	states := []string{state()}
	for i := range 30 {
		setups, err := s.Setups(ctx, own.ID)
		if err != nil {
			t.Fatal(err)
		}
		e := session.Edit{Kind: session.EditSplit, Frame: fmt.Sprint("f", i), Words: "split", Made: time.Now()}
		if r.IntN(3) > 0 {
			e = session.Edit{Kind: session.EditSetup, Words: "setup", Made: time.Now()}
			v := session.Setup{SessionID: own.ID, Logged: time.Now(), Subject: fmt.Sprint("subject ", i), Lights: []session.Light{light(session.LightLamp, float64(r.IntN(360)), float64(r.IntN(91)))}}
			if len(setups) > 0 && r.IntN(2) == 0 {
				before := setups[r.IntN(len(setups))]
				v.ID, e.Before = before.ID, &before
			}
			e.Setup = &v
		}
		if _, err := s.AddEdit(ctx, own.ID, e); err != nil {
			t.Fatal(err)
		}
		states = append(states, state())
	}
	edits, err := s.Edits(ctx, own.ID)
	if err != nil || len(edits) != 30 {
		t.Fatalf("%d edits, %v", len(edits), err)
	}
	for i := len(edits) - 1; i >= 0; i-- {
		if err := s.SetUndone(ctx, own.ID, edits[i].ID, true); err != nil {
			t.Fatal(err)
		}
		if got := state(); got != states[i] {
			t.Fatalf("edit %d undone:\n%s\nwant\n%s", i, got, states[i])
		}
	}
	for i := range edits {
		if err := s.SetUndone(ctx, own.ID, edits[i].ID, false); err != nil {
			t.Fatal(err)
		}
		if got := state(); got != states[i+1] {
			t.Fatalf("edit %d done again:\n%s\nwant\n%s", i, got, states[i+1])
		}
	}
	healthy(t, path)
}

func TestSearch(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "log.db"))
	own := begin(t, s, "/pictures/a")
	day := func(d int) time.Time { return time.Date(2026, 3, d, 12, 0, 0, 0, time.UTC) }
	mag := 1.5
	ids := map[string]int64{}
	for name, v := range map[string]session.Setup{
		"crystal": {Subject: "Quartz crystal, cracked", Notes: "rough surface; façade of steps", Logged: day(1), Magnification: &mag,
			Lights: []session.Light{light(session.LightLED, 135, 60), light(session.LightCard, 20, 10)}},
		"gear":  {Subject: "gear train", Notes: "café table, brass", Logged: day(2), Tags: []string{"metal"}, Lights: []session.Light{light(session.LightWindow, 225, 60)}},
		"bark":  {Subject: "Birkenrinde", Notes: "rough, dry; 50 % power", Logged: day(3), Lights: []session.Light{{Kind: session.LightFlash, AzimuthDeg: 90, ElevationDeg: 5, Modifier: "grid"}}},
		"plain": {Subject: "松ぼっくり 🌲", Background: "slate", Logged: day(4)},
	} {
		ids[name] = logSetup(t, s, own.ID, v).ID
	}
	for _, c := range []struct {
		name string
		q    session.SetupQuery
		want []string // newest first without words, any order with
	}{
		{"everything", session.SetupQuery{}, []string{"plain", "bark", "gear", "crystal"}},
		{"a word", session.SetupQuery{Words: "rough"}, []string{"crystal", "bark"}},
		{"both words", session.SetupQuery{Words: "rough crystal"}, []string{"crystal"}},
		{"a beginning", session.SetupQuery{Words: "bir"}, []string{"bark"}},
		{"no accent typed", session.SetupQuery{Words: "facade"}, []string{"crystal"}},
		{"an accent typed", session.SetupQuery{Words: "CAFÉ"}, []string{"gear"}},
		{"a tag", session.SetupQuery{Words: "metal"}, []string{"gear"}},
		{"lights in words", session.SetupQuery{Words: "back-left window"}, []string{"gear"}},
		{"the modifier", session.SetupQuery{Words: "grid"}, []string{"bark"}},
		{"another script", session.SetupQuery{Words: "松"}, []string{"plain"}},
		{"an emoji", session.SetupQuery{Words: "🌲"}, []string{"plain"}},
		{"a side", session.SetupQuery{Sides: []session.Side{session.SideBackRight}}, []string{"crystal"}},
		{"side and height of one light", session.SetupQuery{Sides: []session.Side{session.SideBackRight}, Heights: []session.Height{session.HeightLow}}, nil},
		{"kind", session.SetupQuery{Kinds: []session.LightKind{session.LightFlash, session.LightWindow}}, []string{"bark", "gear"}},
		{"kind and side of one light", session.SetupQuery{Kinds: []session.LightKind{session.LightCard}, Sides: []session.Side{session.SideBackRight}}, nil},
		{"a cell", session.SetupQuery{Cells: []session.Cell{{Side: session.SideBackLeft, Height: session.HeightHigh}}}, []string{"gear"}},
		{"words and side", session.SetupQuery{Words: "rough", Sides: []session.Side{session.SideRight}}, []string{"bark"}},
		{"since", session.SetupQuery{Since: day(3)}, []string{"plain", "bark"}},
		{"until", session.SetupQuery{Until: day(2)}, []string{"crystal"}},
		{"magnification", session.SetupQuery{MagnificationMin: 1}, []string{"crystal"}},
		{"nothing of it", session.SetupQuery{Words: "aluminium"}, nil},
	} {
		r, err := s.FindSetups(ctx, c.q)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got, want []int64
		for _, f := range r.Setups {
			got = append(got, f.ID)
		}
		for _, w := range c.want {
			want = append(want, ids[w])
		}
		if c.q.Words != "" {
			slices.Sort(got)
			slices.Sort(want)
		}
		if !slices.Equal(got, want) || r.Total != len(want) || r.Logged != 4 {
			t.Errorf("%s: found %v (total %d of %d), want %v", c.name, got, r.Total, r.Logged, want)
		}
	}
}

// No text is an error, whatever it means to SQL or to FTS5's own language.
func TestSearchTakesAnyText(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "log.db"))
	own := begin(t, s, "/pictures/a")
	logSetup(t, s, own.ID, session.Setup{Subject: `AND OR NOT NEAR "quoted" 'x' (y) *z ^a b:c -d`})
	texts := []string{`"`, `'; DROP TABLE setups; --`, `AND`, `NOT x`, `NEAR(a b, 3)`, `subject:x`, `a*b*`, `((((`, `^`, `+`, `{a}`, "\x00", "a\x00b",
		"\xff\xfe", "🌲🌲", "e\u0301", "\u202eabc", strings.Repeat("word ", 500), strings.Repeat("x", 100000), "%", "_", "\\", ":", "-", "*"}
	r := rand.New(rand.NewPCG(3, 3))
	alphabet := []rune(`ab"'*()^:-+{}%_\ ~NOTANDé🌲` + "\x00\n")
	for range 300 {
		b := make([]rune, 1+r.IntN(12))
		for i := range b {
			b[i] = alphabet[r.IntN(len(alphabet))]
		}
		texts = append(texts, string(b))
	}
	for _, text := range texts {
		if _, err := s.FindSetups(ctx, session.SetupQuery{Words: text}); err != nil {
			t.Errorf("%.40q: %v", text, err)
		}
	}
	if r, err := s.FindSetups(ctx, session.SetupQuery{}); err != nil || r.Total != 1 {
		t.Errorf("after all that: %d setups, %v", r.Total, err)
	}
}

// The wheel's cells are those of words.md: eighths of 45 degrees centred on their word,
// and four heights. Each cell counts what it would find if it were chosen alone.
func TestWheelAtItsEdges(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "log.db"))
	own := begin(t, s, "/pictures/a")
	for _, c := range []struct {
		az, el float64
		side   session.Side
		height session.Height
	}{
		{0, 0, session.SideFront, session.HeightLow}, {359.999, 19.999, session.SideFront, session.HeightLow},
		{337.5, 20, session.SideFront, session.HeightMiddle}, {337.499, 49.999, session.SideFrontLeft, session.HeightMiddle},
		{22.499, 50, session.SideFront, session.HeightHigh}, {22.5, 75, session.SideFrontRight, session.HeightHigh},
		{67.5, 75.001, session.SideRight, session.HeightOverhead}, {180, 90, session.SideBack, session.HeightOverhead},
		{270, -30, session.SideLeft, session.HeightLow}, {202.5, 35, session.SideBackLeft, session.HeightMiddle},
	} {
		v := logSetup(t, s, own.ID, session.Setup{Subject: "x", Lights: []session.Light{light(session.LightLamp, c.az, c.el)}})
		r, err := s.FindSetups(ctx, session.SetupQuery{Sides: []session.Side{c.side}, Heights: []session.Height{c.height}})
		if err != nil {
			t.Fatal(err)
		}
		if !slices.ContainsFunc(r.Setups, func(f session.FoundSetup) bool { return f.ID == v.ID }) {
			t.Errorf("a lamp at %g/%g degrees is not found at %s, %s", c.az, c.el, c.side, c.height)
		}
		for _, side := range session.Sides {
			for _, height := range session.Heights {
				cell := session.Cell{Side: side, Height: height}
				alone, err := s.FindSetups(ctx, session.SetupQuery{Cells: []session.Cell{cell}})
				if err != nil {
					t.Fatal(err)
				}
				if alone.Total != r.Wheel[cell] && (len(r.Wheel) == 0 || side == c.side && height == c.height) {
					t.Errorf("the wheel counts %d at %v, chosen alone it finds %d", r.Wheel[cell], cell, alone.Total)
				}
			}
		}
	}
}

func TestWhatWasShot(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "log.db"))
	own := begin(t, s, "/pictures/a")
	v := logSetup(t, s, own.ID, session.Setup{Subject: "shell"})
	var frames []session.Frame
	for i, f := range []float64{10, 10, 3.5, 10} {
		frames = append(frames, session.Frame{Name: fmt.Sprintf("V%d.JPG", i), Fingerprint: fmt.Sprint(i), Meta: session.Meta{FNumber: &f, Taken: time.Date(2026, 5, 3, 9, i, 0, 0, time.UTC)}})
	}
	if err := s.SaveFrames(ctx, own.ID, frames); err != nil {
		t.Fatal(err)
	}
	if err := s.SaveGroups(ctx, own.ID, []session.Group{
		{ID: 1, Kind: session.KindMarker, Frames: []string{"0"}, SetupID: v.ID},
		{ID: 2, Kind: session.KindStack, Frames: []string{"1", "3"}, SetupID: v.ID},
		{ID: 3, Kind: session.KindSingle, Frames: []string{"2"}, SetupID: v.ID},
	}); err != nil {
		t.Fatal(err)
	}
	r, err := s.FindSetups(ctx, session.SetupQuery{ApertureMin: 8, ApertureMax: 11})
	if err != nil || len(r.Setups) != 1 {
		t.Fatalf("%+v, %v", r, err)
	}
	f := r.Setups[0]
	if !slices.Equal(f.FNumber, []float64{3.5, 10}) || f.Stacks != 1 || f.Frames != 3 || f.Dir != "/pictures/a" || f.Taken.Day() != 3 {
		t.Errorf("%+v", f)
	}
	if f.Cover != "V3.JPG" && f.Cover != "V1.JPG" {
		t.Errorf("cover %q is no frame of the stack", f.Cover)
	}
	if r, err := s.FindSetups(ctx, session.SetupQuery{ApertureMin: 4, ApertureMax: 8}); err != nil || r.Total != 0 {
		t.Errorf("f/4 to f/8 finds %d, %v", r.Total, err)
	}
}

func TestRefusesWhatItCannotKeep(t *testing.T) {
	s := open(t, filepath.Join(t.TempDir(), "log.db"))
	own := begin(t, s, "/pictures/a")
	for _, v := range []session.Setup{
		{Notes: strings.Repeat("x", session.MaxNotes+1)},
		{Lights: []session.Light{{Kind: "candle of a sort"}}},
		{Lights: []session.Light{light(session.LightLamp, 360, 0)}},
		{Lights: []session.Light{light(session.LightLamp, 0, 91)}},
	} {
		_, err := s.AddEdit(ctx, own.ID, session.Edit{Kind: session.EditSetup, Setup: &v, Made: time.Now()})
		if !errors.Is(err, session.ErrInvalid) {
			t.Errorf("%+v: %v", v.Lights, err)
		}
	}
	if edits, _ := s.Edits(ctx, own.ID); len(edits) != 0 {
		t.Errorf("%d edits were kept all the same", len(edits))
	}
	long := session.Setup{Notes: strings.Repeat("é🌲", 1600) + "\u202e", Subject: "ش"}
	if got := logSetup(t, s, own.ID, long); got.Notes != long.Notes {
		t.Error("notes in any script did not come back whole")
	}
}

func TestNewerLogIsLeftAsItIs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	s := open(t, path)
	begin(t, s, "/pictures/a")
	s.Close()
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`INSERT INTO migrations VALUES (9999, '9999_future.sql', '2030-01-01T00:00:00Z'); PRAGMA journal_mode = DELETE`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = store.Open(ctx, path)
	if !errors.Is(err, session.ErrNewerLog) || !strings.Contains(err.Error(), path) {
		t.Fatalf("a log of a newer version: %v", err)
	}
	after, err := os.ReadFile(path)
	if err != nil || string(before) != string(after) {
		t.Errorf("it was changed (%v)", err)
	}
}

func TestFilesThatAreNoLog(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "notes.txt")
	if err := os.WriteFile(text, []byte(strings.Repeat("not a database ", 500)), 0o600); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite3", other)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`CREATE TABLE accounts (a)`); err != nil {
		t.Fatal(err)
	}
	db.Close()
	for _, path := range []string{text, other, dir} {
		before, _ := os.ReadFile(path)
		s, err := store.Open(ctx, path)
		if err == nil {
			s.Close()
			t.Errorf("%s was opened as a log", path)
			continue
		}
		if !strings.Contains(err.Error(), path) {
			t.Errorf("the sentence does not name the file: %v", err)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s was changed", path)
		}
	}
}

func TestLockedLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	s := open(t, path)
	own := begin(t, s, "/pictures/a")
	db, err := sql.Open("sqlite3", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec(`BEGIN IMMEDIATE`); err != nil {
		t.Fatal(err)
	}
	short, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	err = s.SaveFrames(short, own.ID, []session.Frame{{Name: "a", Fingerprint: "a"}})
	if !errors.Is(err, session.ErrLogBusy) {
		t.Errorf("writing while another program holds the log: %v", err)
	}
	if _, err := s.Frames(ctx, own.ID); err != nil {
		t.Errorf("reading meanwhile: %v", err)
	}
	if _, err := db.Exec(`ROLLBACK`); err != nil {
		t.Fatal(err)
	}
	if err := s.SaveFrames(ctx, own.ID, []session.Frame{{Name: "a", Fingerprint: "a"}}); err != nil {
		t.Errorf("once it is free: %v", err)
	}
}

// writer logs setups and says each one that is acknowledged, until it is killed.
func writer(path string) {
	s, err := store.Open(ctx, path)
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	own, err := s.OpenSession(ctx, fmt.Sprintf("/pictures/%d", os.Getpid()))
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	for i := 0; ; i++ {
		v := session.Setup{SessionID: own.ID, Subject: fmt.Sprintf("subject %d %d", os.Getpid(), i), Logged: time.Now()}
		if _, err := s.AddEdit(ctx, own.ID, session.Edit{Kind: session.EditSetup, Setup: &v, Made: time.Now()}); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		fmt.Println(v.Subject)
	}
}

// Two programs write to one log and are killed in the middle, again and again: every
// setup that was acknowledged is there afterwards, and the file is sound.
func TestKilledWriters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	open(t, path).Close()
	var acknowledged []string
	r := rand.New(rand.NewPCG(11, 5))
	for range 5 {
		var killed []*exec.Cmd
		lines := make(chan string, 100000)
		for range 2 {
			cmd := exec.Command(os.Args[0])
			cmd.Env = append(os.Environ(), "STILLBENCH_STORE_ROLE=writer", "STILLBENCH_STORE_LOG="+path)
			out, err := cmd.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			killed = append(killed, cmd)
			go func() {
				for sc := bufio.NewScanner(out); sc.Scan(); {
					lines <- sc.Text()
				}
				lines <- ""
			}()
		}
		n := 5 + r.IntN(60) // kill after so many lines, wherever the writers then are
		ended := 0
		for ended < 2 {
			line := <-lines
			switch {
			case line == "":
				ended++
			case strings.HasPrefix(line, "error"):
				t.Error(line)
			default:
				acknowledged = append(acknowledged, line)
			}
			if n--; n == 0 || strings.HasPrefix(line, "error") {
				for _, c := range killed {
					c.Process.Signal(syscall.SIGKILL)
				}
			}
		}
		for _, c := range killed {
			c.Wait()
		}
	}
	s := open(t, path)
	there := map[string]bool{}
	for off := 0; ; off += 1000 {
		r, err := s.FindSetups(ctx, session.SetupQuery{Limit: 1000, Offset: off})
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range r.Setups {
			there[f.Subject] = true
		}
		if len(r.Setups) < 1000 {
			break
		}
	}
	if len(acknowledged) < 50 {
		t.Fatalf("only %d setups were acknowledged", len(acknowledged))
	}
	for _, a := range acknowledged {
		if !there[a] {
			t.Errorf("%q was acknowledged and is lost", a)
		}
	}
	s.Close()
	healthy(t, path)
}

package store_test

import (
	"bufio"
	"compress/gzip"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
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
	case "opener":
		opener(os.Getenv("STILLBENCH_STORE_LOG"))
	case "bringer":
		bringer(os.Getenv("STILLBENCH_STORE_LOG"), os.Getenv("STILLBENCH_STORE_WHAT"), os.Getenv("STILLBENCH_STORE_FROM"))
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
			cmd, out := startOther(t, "writer", path)
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

// startOther starts another program (this one, see TestMain) that plays a role with a log, and
// gives what it says.
func startOther(t *testing.T, role, path string, more ...string) (*exec.Cmd, io.Reader) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), append(more, "TMPDIR="+t.TempDir(), "STILLBENCH_STORE_ROLE="+role, "STILLBENCH_STORE_LOG="+path)...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, out
}

// opener opens a log, which brings it up to date, until it is killed.
func opener(path string) {
	s, err := store.Open(ctx, path)
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	fmt.Println("open")
	s.Close()
}

// A program is killed while it brings an old log up to date: the next one finds all that
// was in it, and a whole copy of how it was if there is any.
func TestKilledInMigration(t *testing.T) {
	packed, err := os.Open("testdata/setups-version-1.db.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	unpacked, err := gzip.NewReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	old, err := io.ReadAll(unpacked)
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(21, 4))
	for range 8 {
		path := filepath.Join(t.TempDir(), "setups.db")
		if err := os.WriteFile(path, old, 0o666); err != nil {
			t.Fatal(err)
		}
		cmd, out := startOther(t, "opener", path)
		// from the moment that SQLite first touches the log, a little later each time
		for begun := time.Now(); time.Since(begun) < 5*time.Second; time.Sleep(100 * time.Microsecond) {
			if _, err := os.Stat(path + "-wal"); err == nil {
				break
			}
		}
		time.Sleep(time.Duration(r.IntN(20000)) * time.Microsecond)
		cmd.Process.Signal(syscall.SIGKILL)
		if said, _ := io.ReadAll(out); strings.HasPrefix(string(said), "error") {
			t.Errorf("%s", said)
		}
		cmd.Wait()
		copies, err := filepath.Glob(filepath.Join(filepath.Dir(path), "setups-copies", "setups-*.db"))
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range copies {
			healthy(t, c)
		}
		s, err := store.Open(ctx, path)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := s.FindSetups(ctx, session.SetupQuery{}); err != nil || r.Total != 2 {
			t.Errorf("%d setups, %v", r.Total, err)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		healthy(t, path)
	}
}

// A program killed in its very first change leaves a file with a journal beside it that
// only a writer can roll back ("hot journal", sqlite.org/lockingv3.html): the next start
// rolls it back and goes on, whichever of the two files it was.
func TestHotJournalIsRolledBack(t *testing.T) {
	dir := t.TempDir()
	half := filepath.Join(dir, "half.db")
	db, err := sql.Open("sqlite3", "file:"+half)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	// So small a cache has the pages written out before the transaction ends.
	if _, err := db.Exec(`PRAGMA journal_mode = DELETE; PRAGMA cache_size = 2; BEGIN; CREATE TABLE t (x);
		WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2000) INSERT INTO t SELECT randomblob(500) FROM n`); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"setups.db", "setups-figures.db"} {
		t.Run(name, func(t *testing.T) {
			into := t.TempDir()
			for _, end := range []string{"", "-journal"} {
				data, err := os.ReadFile(half + end)
				if err != nil || len(data) == 0 {
					t.Fatalf("%d bytes of %q, %v", len(data), end, err)
				}
				if err := os.WriteFile(filepath.Join(into, name+end), data, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			s := open(t, filepath.Join(into, "setups.db"))
			begin(t, s, "/pictures/a")
			s.Close()
			healthy(t, filepath.Join(into, name))
		})
	}
}

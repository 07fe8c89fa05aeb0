package store

import (
	"compress/gzip"
	"context"
	"database/sql"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

var _ desk.Log = (*Store)(nil)

// newLog opens a log in a real file and checks, when the test ends, that SQLite finds it
// whole.
func newLog(t testing.TB) *Store {
	t.Helper()
	return openLog(t, filepath.Join(t.TempDir(), "setups.db"))
}

func openLog(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		whole(t, s)
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// whole checks the log with SQLite's own means, and that what is derived agrees with
// what it was derived from.
func whole(t testing.TB, s *Store) {
	t.Helper()
	for _, d := range []*database{s.log, s.figures} {
		var verdict string
		if err := d.write.QueryRow(`PRAGMA integrity_check`).Scan(&verdict); err != nil || verdict != "ok" {
			t.Errorf("integrity_check of %s: %q, %v", d.path, verdict, err)
		}
		var broken int
		if err := d.write.QueryRow(`SELECT count(*) FROM pragma_foreign_key_check`).Scan(&broken); err != nil || broken != 0 {
			t.Errorf("foreign_key_check of %s: %d rows, %v", d.path, broken, err)
		}
	}
	if n := count(t, s.log.write, `SELECT count(*) FROM setups LEFT JOIN shot ON setup_id = id WHERE (setup_id IS NULL) <> hidden`); n != 0 {
		t.Errorf("setups without a sum: %d", n)
	}
	derived(t, s)
}

// derived checks that what searches go by is what would be derived now.
func derived(t testing.TB, s *Store) {
	t.Helper()
	tx, err := s.log.write.Begin()
	if err != nil {
		t.Error(err)
		return
	}
	defer tx.Rollback()
	records := func() map[string]string {
		out := map[string]string{}
		for _, k := range []pageKind{facetPages, wordPages} {
			err := k.changed(context.Background(), tx, -1, func(page int64, b []byte) error {
				return eachRecord(page, b, func(id int64, data []byte) error {
					out[fmt.Sprint(k.table, " ", id)] = string(data)
					return nil
				})
			})
			if err != nil {
				t.Error(err)
			}
		}
		return out
	}
	before := records()
	if _, err := tx.Exec(`UPDATE search_state SET stale = 1`); err != nil {
		t.Error(err)
	}
	if err := derive(context.Background(), tx); err != nil {
		t.Error(err)
	}
	if after := records(); !maps.Equal(before, after) {
		t.Errorf("what is derived differs from what it was derived from:\nkept    %q\nderived %q", before, after)
	}
}

func newSession(t testing.TB, s *Store, dir string) int64 {
	t.Helper()
	ses, err := s.OpenSession(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return ses.ID
}

func ptr[T any](v T) *T { return &v }

func lightAt(kind session.LightKind, azimuth, elevation float64) session.Light {
	return session.Light{Kind: kind, AzimuthDeg: azimuth, ElevationDeg: elevation}
}

// logSetup logs a setup through an edit, as the desk does.
func logSetup(t testing.TB, s *Store, sessionID int64, v session.Setup) session.Setup {
	t.Helper()
	e, err := s.AddEdit(t.Context(), sessionID, session.Edit{Kind: session.EditSetup, Setup: &v, Words: "log a setup"})
	if err != nil {
		t.Fatal(err)
	}
	return *e.Setup
}

// frame makes a frame up.
func frame(n int, fNumber float64, taken time.Time) session.Frame {
	return session.Frame{
		Name: fmt.Sprintf("A%04d.JPG", n), Fingerprint: fmt.Sprintf("fp%04d", n), Size: int64(1000 + n),
		Modified: taken.Add(time.Second),
		Meta:     session.Meta{Container: "jpeg", FNumber: ptr(fNumber), Taken: taken, Lens: "Invented 100 mm"},
	}
}

func save(t testing.TB, s *Store, sessionID int64, frames ...session.Frame) {
	t.Helper()
	if err := s.SaveFrames(t.Context(), sessionID, frames); err != nil {
		t.Fatal(err)
	}
}

func find(t testing.TB, s *Store, q session.SetupQuery) session.SetupResults {
	t.Helper()
	r, err := s.FindSetups(context.Background(), q)
	if err != nil {
		t.Fatalf("%+v: %v", q, err)
	}
	return r
}

// inEachKind runs a test on a log in a file and on one in memory.
func inEachKind(t *testing.T, test func(t *testing.T, s *Store)) {
	t.Run("file", func(t *testing.T) { test(t, newLog(t)) })
	t.Run("memory", func(t *testing.T) {
		s, err := OpenInMemory(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { whole(t, s); s.Close() })
		test(t, s)
	})
}

// count gives one number from the log.
func count(t testing.TB, db *sql.DB, query string, args ...any) int {
	t.Helper()
	var n int
	if err := db.QueryRow(query, args...).Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// oldLog unpacks a log as an older version of the program left it.
func oldLog(t testing.TB, version int) string {
	t.Helper()
	packed, err := os.Open(fmt.Sprintf("testdata/setups-version-%d.db.gz", version))
	if err != nil {
		t.Fatal(err)
	}
	defer packed.Close()
	r, err := gzip.NewReader(packed)
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "setups.db")
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

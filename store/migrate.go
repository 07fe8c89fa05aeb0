package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path"
	"strconv"
	"strings"
	"time"

	"github.com/mattn/go-sqlite3"

	"stillbench/session"
)

//go:embed migrations
var migrationFiles embed.FS

// kind is a sort of file: what people call it, the mark in its header, and how it
// grew from version to version.
type kind struct {
	what          session.Text
	applicationID int64 // PRAGMA application_id: tells our files from other databases
	migrations    []migration
}

// migration is one step of a file's form. Applied ones never change.
type migration struct {
	number int64
	name   string
	sql    string
}

var (
	logKind     = kind{session.Say("the setup log"), 0x53744c67, embedded("migrations")}            // "StLg"
	figuresKind = kind{session.Say("the figures file"), 0x53744667, embedded("migrations/figures")} // "StFg"
)

// embedded reads the migrations NNNN_name.sql of a folder in the program, which come in
// the order of their numbers.
func embedded(dir string) []migration {
	entries, err := fs.ReadDir(migrationFiles, dir)
	if err != nil {
		panic("store: " + err.Error())
	}
	var list []migration
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		text, err := migrationFiles.ReadFile(path.Join(dir, e.Name()))
		number, nerr := strconv.ParseInt(strings.SplitN(e.Name(), "_", 2)[0], 10, 64)
		if err != nil || nerr != nil {
			panic("store: not a migration: " + e.Name())
		}
		list = append(list, migration{number, e.Name(), string(text)})
	}
	return list
}

// newest is the version that this program writes.
func (k kind) newest() int64 { return k.migrations[len(k.migrations)-1].number }

// peek looks at a file without writing to it and gives its version, 0 where there is
// none yet. It refuses what is not ours or newer than the program.
func (d *database) peek(ctx context.Context, busy time.Duration) (version int64, err error) {
	if d.path == "" {
		return 0, nil
	}
	info, err := os.Stat(d.path)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil
	}
	if err != nil {
		return 0, err
	}
	if !info.Mode().IsRegular() {
		return 0, session.Fail("this is not a file")
	}
	if info.Size() == 0 {
		return 0, nil
	}
	version, err = d.peekAs(ctx, busy, "ro")
	// Killed in its very first change, before the file kept a write-ahead log: a journal
	// lies beside it that only a writer can roll back.
	var se sqlite3.Error
	if errors.As(err, &se) && se.ExtendedCode == sqlite3.ErrReadonlyRollback {
		version, err = d.peekAs(ctx, busy, "rw")
	}
	return version, err
}

// peekAs is peek on a file that is there and not empty, opened as SQLite's mode says.
func (d *database) peekAs(ctx context.Context, busy time.Duration, mode string) (version int64, err error) {
	db := sql.OpenDB(connector{dsn(d.path, busy, url.Values{"mode": {mode}})})
	defer db.Close()
	var id, tables int64
	if err := db.QueryRowContext(ctx, `SELECT (SELECT application_id FROM pragma_application_id), (SELECT count(*) FROM sqlite_master)`).Scan(&id, &tables); err != nil {
		return 0, err
	}
	if tables == 0 {
		return 0, nil
	}
	if id != d.kind.applicationID {
		return 0, session.Fail("the file is a database of another program; choose another file with --log")
	}
	if err := db.QueryRowContext(ctx, `SELECT max(number) FROM migrations`).Scan(&version); err != nil {
		return 0, err
	}
	if newest := d.kind.newest(); version > newest {
		return 0, session.Fail("%s: it has version %d, this program knows up to %d. It was left as it is", session.ErrNewerLog, version, newest)
	}
	return version, nil
}

// migrate brings the file from version existing to the newest, one transaction a step.
func (d *database) migrate(ctx context.Context, existing int64) error {
	var fts5 bool
	if err := d.write.QueryRowContext(ctx, `SELECT sqlite_compileoption_used('ENABLE_FTS5')`).Scan(&fts5); err != nil {
		return err
	}
	if !fts5 {
		return errors.New("this program was built without full-text search; build it with the tag sqlite_fts5 (the Makefile does)")
	}
	if existing != 0 && existing < d.kind.newest() {
		if err := d.copyBeforeMigration(ctx, existing); err != nil {
			return err
		}
	}
	return d.advance(ctx, existing)
}

// advance runs the migrations after version existing.
func (d *database) advance(ctx context.Context, existing int64) error {
	for _, m := range d.kind.migrations {
		if m.number <= existing {
			continue
		}
		err := transact(ctx, d.write, func(tx *sql.Tx) error { return d.apply(ctx, tx, m) })
		if err != nil {
			return fmt.Errorf("migration %s: %w", m.name, err)
		}
	}
	if d.kind.applicationID != logKind.applicationID {
		return nil
	}
	return transact(ctx, d.write, func(tx *sql.Tx) error { return derive(ctx, tx) })
}

// apply runs one migration, unless another process was faster.
func (d *database) apply(ctx context.Context, tx *sql.Tx, m migration) error {
	if _, err := tx.ExecContext(ctx, fmt.Sprintf(`PRAGMA application_id = %d;
		CREATE TABLE IF NOT EXISTS migrations (number INTEGER PRIMARY KEY, name TEXT NOT NULL, applied TEXT NOT NULL) STRICT`, d.kind.applicationID)); err != nil {
		return err
	}
	var done bool
	if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM migrations WHERE number = ?)`, m.number).Scan(&done); err != nil || done {
		return err
	}
	if _, err := tx.ExecContext(ctx, m.sql); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO migrations (number, name, applied) VALUES (?, ?, ?)`, m.number, m.name, timeText(time.Now()))
	return err
}

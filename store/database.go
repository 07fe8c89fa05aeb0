package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"net/url"
	"path/filepath"
	"runtime"
	"strconv"
	"time"

	"github.com/mattn/go-sqlite3"

	"stillbench/session"
)

// database is one SQLite file with a single writer and a pool of readers.
type database struct {
	path        string // "" in memory
	kind        kind
	write, read *sql.DB
}

// connector opens connections of one kind without a global driver name.
type connector struct{ dsn string }

func (c connector) Connect(context.Context) (driver.Conn, error) {
	return (&sqlite3.SQLiteDriver{}).Open(c.dsn)
}

func (c connector) Driver() driver.Driver { return &sqlite3.SQLiteDriver{} }

// dsn addresses a file. Settings go with every connection that a pool may ever open; a
// PRAGMA run once would reach only one of them.
func dsn(path string, busy time.Duration, settings url.Values) string {
	settings.Set("_busy_timeout", strconv.FormatInt(busy.Milliseconds(), 10))
	settings.Set("_foreign_keys", "on")
	settings.Set("_stmt_cache_size", "64") // statements need not be parsed again
	if path == "" {
		return "file::memory:?" + settings.Encode()
	}
	slashed := filepath.ToSlash(path)
	if runtime.GOOS == "windows" {
		slashed = "/" + slashed
	}
	return "file:" + (&url.URL{Path: slashed}).EscapedPath() + "?" + settings.Encode()
}

// openDatabase opens or makes a file of the given kind and brings it up to date.
func openDatabase(ctx context.Context, path string, k kind, busy time.Duration) (*database, error) {
	d := &database{path: path, kind: k}
	existing, err := d.peek(ctx, busy)
	if err != nil {
		return nil, d.explain(session.Say("open"), err)
	}
	d.connect(busy)
	if err := d.migrate(ctx, existing); err != nil {
		return nil, errors.Join(d.explain(session.Say("open"), err), d.close())
	}
	return d, nil
}

// connect makes the pools of connections, which connect when they are used.
func (d *database) connect(busy time.Duration) {
	// FULL: what has been acknowledged survives a power cut, not only a crash.
	d.write = sql.OpenDB(connector{dsn(d.path, busy, url.Values{
		"_journal_mode": {"WAL"}, "_synchronous": {"FULL"}, "_txlock": {"immediate"}, "_cache_size": {"-16000"},
	})})
	d.write.SetMaxOpenConns(1)
	if d.path == "" {
		d.read = d.write // a second connection to memory would see another database
		return
	}
	d.read = sql.OpenDB(connector{dsn(d.path, busy, url.Values{
		"_query_only": {"on"}, "_cache_size": {"-32000"},
	})})
	d.read.SetMaxOpenConns(max(2, runtime.NumCPU()))
	d.read.SetMaxIdleConns(2)
}

func (d *database) close() error {
	var err error
	if d.read != d.write {
		err = d.read.Close()
	}
	return errors.Join(err, d.write.Close())
}

// change runs fn in one immediate transaction.
func (d *database) change(ctx context.Context, what session.Text, fn func(tx *sql.Tx) error) error {
	return d.explain(what, transact(ctx, d.write, fn))
}

// view runs fn in one reading transaction.
func (d *database) view(ctx context.Context, what session.Text, fn func(tx *sql.Tx) error) error {
	return d.explain(what, transact(ctx, d.read, fn))
}

func transact(ctx context.Context, db *sql.DB, fn func(tx *sql.Tx) error) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // after Commit it does nothing
	if err := fn(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// explain makes a sentence of an error, with what was tried and the file.
func (d *database) explain(what session.Text, err error) error {
	if err == nil {
		return nil
	}
	file := d.kind.what
	if d.path != "" {
		file = session.Say("%s %s", file, d.path)
	}
	var se sqlite3.Error
	if !errors.As(err, &se) {
		if errors.Is(err, sql.ErrNoRows) {
			err = session.ErrNotFound
		}
		return session.Fail("%s: %s: %s", what, file, err)
	}
	why := session.Text{}
	switch se.Code {
	case sqlite3.ErrBusy, sqlite3.ErrLocked:
		return session.Fail("%s: %s: %s. Close the other program and try again", what, session.ErrLogBusy, file)
	case sqlite3.ErrFull:
		why = session.Say("the disk is full; make room and try again")
	case sqlite3.ErrReadonly:
		why = session.Say("it cannot be written; look at the permissions of the file and its folder")
	case sqlite3.ErrCantOpen:
		why = session.Say("it cannot be opened; look at the permissions of the file and its folder")
	case sqlite3.ErrNotADB:
		return session.Fail("%s: %s: %s. Move it away, choose another with --log, or put back a dated copy (stillbench log restore)", what, file, session.ErrDamagedLog)
	case sqlite3.ErrCorrupt:
		return session.Fail("%s: %s: %s. Put back one of its dated copies (stillbench log restore)", what, file, session.ErrDamagedLog)
	case sqlite3.ErrIoErr:
		why = session.Say("the disk does not read or write it")
	case sqlite3.ErrConstraint:
		return session.Refuse("%s: %s: it names something that the log does not hold, or breaks one of its rules: %s", what, file, err)
	default:
		return session.Fail("%s: %s: %s", what, file, err)
	}
	return session.Fail("%s: %s: %s (%s)", what, file, why, err)
}

package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/mattn/go-sqlite3"

	"stillbench/session"
)

// How many of the daily copies are kept: the newest ones, and beyond them the newest of
// each month. Copies made before a migration or before restoring are rare, and stay.
const (
	keepDays   = 7
	keepMonths = 12
)

const dayLayout = "2006-01-02"

// Copy is a copy of the log in the folder beside it (setups.db has setups-copies).
type Copy struct {
	Path string
	Made time.Time // when the copy was written
	Size int64     // bytes
	// Why is "" for a daily copy, else what it was made before: "version-1" (a
	// migration from that version) or "before-restore".
	Why string
}

// errInMemory is given for what only a log in a file can do.
var errInMemory = errors.New("a log that is kept in memory has no copies")

// CopyDaily makes today's copy of the log unless there is one, and removes daily copies
// that are too old: the 7 newest and the newest of each of 12 months stay. It gives the
// copy's path. The log can be used meanwhile. Figures are not copied: they can be
// computed again.
func (s *Store) CopyDaily(ctx context.Context) (string, error) {
	path, err := s.log.copyTo(ctx, s.Now().Format(dayLayout))
	if err != nil {
		return "", s.log.explain("make the daily copy", err)
	}
	return path, s.log.explain("remove old copies", s.prune())
}

func (s *Store) prune() error {
	copies, err := s.Copies()
	if err != nil {
		return err
	}
	months := map[string]bool{}
	days := 0
	for _, c := range copies {
		if c.Why != "" {
			continue
		}
		days++
		month := strings.TrimPrefix(filepath.Base(c.Path), s.log.stem()+"-")[:len("2006-01")]
		first := !months[month]
		months[month] = true
		if days > keepDays && !(first && len(months) <= keepMonths) {
			if err := os.Remove(c.Path); err != nil {
				return err
			}
		}
	}
	return nil
}

// Copies lists the copies of the log, newest first.
func (s *Store) Copies() ([]Copy, error) {
	if s.log.path == "" {
		return nil, nil
	}
	entries, err := os.ReadDir(s.log.copies())
	if err != nil && !os.IsNotExist(err) {
		return nil, s.log.explain("list its copies", err)
	}
	var out []Copy
	for _, e := range entries {
		name, ours := strings.CutPrefix(e.Name(), s.log.stem()+"-")
		name, whole := strings.CutSuffix(name, filepath.Ext(s.log.path))
		if !ours || !whole || len(name) < len(dayLayout) {
			continue
		}
		if _, err := time.Parse(dayLayout, name[:len(dayLayout)]); err != nil {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue // removed meanwhile
		}
		out = append(out, Copy{
			Path: filepath.Join(s.log.copies(), e.Name()), Made: info.ModTime(), Size: info.Size(),
			Why: strings.TrimPrefix(name[len(dayLayout):], "-"),
		})
	}
	slices.SortFunc(out, func(a, b Copy) int { return cmp.Compare(b.Path, a.Path) })
	return out, nil
}

// Restore puts a copy in place of all that the log holds, in one transaction, after a copy
// of the log as it is. Sessions have to be opened again afterwards: their numbers are those
// of the copy. A copy that is damaged, of another program or of a newer version is refused
// and changes nothing.
func (s *Store) Restore(ctx context.Context, path string) error {
	return s.log.explain("restore the copy "+path, s.restore(ctx, path))
}

func (s *Store) restore(ctx context.Context, path string) error {
	from := &database{path: path, kind: logKind}
	version, err := from.peek(ctx, busyTimeout)
	if err != nil {
		return err
	}
	if version == 0 {
		return fmt.Errorf("%w: the copy", session.ErrNotFound)
	}
	source := sql.OpenDB(connector{dsn(path, busyTimeout, url.Values{"mode": {"ro"}})})
	defer source.Close()
	var verdict string
	if err := source.QueryRowContext(ctx, `PRAGMA quick_check`).Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return errors.New("the copy is damaged: " + verdict)
	}
	if _, err := s.log.copyTo(ctx, s.Now().Format(dayLayout)+"-before-restore-"+s.Now().Format("150405.000")); err != nil {
		return err
	}
	if err := copyInto(ctx, s.log.write, source); err != nil {
		return err
	}
	if err := s.log.advance(ctx, version); err != nil {
		return err
	}
	// Every program that has the log open sees by it that all is different.
	return transact(ctx, s.log.write, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE facets_state SET epoch = hex(randomblob(16))`)
		return err
	})
}

// copyInto replaces the content of one database by that of another, whole or not at all
// (SQLite's backup interface).
func copyInto(ctx context.Context, to, from *sql.DB) error {
	return raw(ctx, to, func(to *sqlite3.SQLiteConn) error {
		return raw(ctx, from, func(from *sqlite3.SQLiteConn) error {
			b, err := to.Backup("main", from, "main")
			if err != nil {
				return err
			}
			_, err = b.Step(-1)
			return errors.Join(err, b.Finish())
		})
	})
}

// raw hands out SQLite's own connection.
func raw(ctx context.Context, db *sql.DB, fn func(*sqlite3.SQLiteConn) error) error {
	conn, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	return conn.Raw(func(c any) error { return fn(c.(*sqlite3.SQLiteConn)) })
}

// copyBeforeMigration keeps the log as it is before its form changes. Nothing is copied
// of the figures file.
func (d *database) copyBeforeMigration(ctx context.Context, version int64) error {
	if d.kind.applicationID != logKind.applicationID {
		return nil
	}
	_, err := d.copyTo(ctx, fmt.Sprintf("%s-version-%d", time.Now().Format(dayLayout), version))
	return err
}

// copyTo writes a copy whose name ends in the given one, and gives its path. A copy of that
// name is left as it is: it is complete, since copies are written under another name first.
func (d *database) copyTo(ctx context.Context, name string) (string, error) {
	if d.path == "" {
		return "", errInMemory
	}
	if err := os.MkdirAll(d.copies(), 0o777); err != nil {
		return "", fmt.Errorf("make the folder for copies: %w", err)
	}
	path := filepath.Join(d.copies(), d.stem()+"-"+name+filepath.Ext(d.path))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	return path, vacuumInto(ctx, d.path, path)
}

// vacuumInto writes a database as it is at one moment to another file, which has its name
// only when it is complete. Writers go on meanwhile.
func vacuumInto(ctx context.Context, from, to string) error {
	part, err := os.MkdirTemp(filepath.Dir(to), ".part")
	if err != nil {
		return err
	}
	defer os.RemoveAll(part)
	temp := filepath.Join(part, filepath.Base(to))
	db := sql.OpenDB(connector{dsn(from, busyTimeout, url.Values{"mode": {"ro"}})})
	defer db.Close()
	if _, err := db.ExecContext(ctx, `VACUUM INTO ?`, temp); err != nil {
		return fmt.Errorf("copy to %s: %w", to, err)
	}
	f, err := os.OpenFile(temp, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("copy to %s: %w", to, err)
	}
	return os.Rename(temp, to)
}

// stem is the log's file name without its extension.
func (d *database) stem() string {
	return strings.TrimSuffix(filepath.Base(d.path), filepath.Ext(d.path))
}

// copies is the folder for copies.
func (d *database) copies() string { return filepath.Join(filepath.Dir(d.path), d.stem()+"-copies") }

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

// errInMemory is given for what only a log in a file can do.
var errInMemory = session.Fail("a log that is kept in memory has no copies")

// CopyDaily makes today's copy of the log unless there is one, and removes daily copies
// that are too old: the 7 newest and the newest of each of 12 months stay. It gives the
// copy's path. The log can be used meanwhile. Figures are not copied: they can be
// computed again.
func (s *Store) CopyDaily(ctx context.Context) (string, error) {
	path, err := s.log.copyTo(ctx, s.Now().Format(dayLayout))
	if err != nil {
		return "", s.log.explain(session.Say("make the daily copy"), err)
	}
	return path, s.log.explain(session.Say("remove old copies"), s.prune())
}

func (s *Store) prune() error {
	if err := s.log.sweep(s.Now()); err != nil {
		return err
	}
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

// sweep removes what was left of copies when a program was killed while it made one. None
// takes a day to make.
func (d *database) sweep(now time.Time) error {
	entries, err := os.ReadDir(d.copies())
	if err != nil {
		return err
	}
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !e.IsDir() || !strings.HasPrefix(e.Name(), partPrefix) || now.Sub(info.ModTime()) < 24*time.Hour {
			continue
		}
		if err := os.RemoveAll(filepath.Join(d.copies(), e.Name())); err != nil {
			return err
		}
	}
	return nil
}

// Copies lists the copies of the log in the folder beside it (setups.db has setups-copies),
// newest first.
func (s *Store) Copies() ([]session.LogCopy, error) {
	if s.log.path == "" {
		return nil, nil
	}
	return s.log.listCopies()
}

// CopiesOf lists the copies of the log in a file, whether or not that can be opened.
func CopiesOf(path string) ([]session.LogCopy, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	return (&database{path: path, kind: logKind}).listCopies()
}

func (d *database) listCopies() ([]session.LogCopy, error) {
	entries, err := os.ReadDir(d.copies())
	if err != nil && !os.IsNotExist(err) {
		return nil, d.explain(session.Say("list its copies"), err)
	}
	var out []session.LogCopy
	for _, e := range entries {
		name, ours := strings.CutPrefix(e.Name(), d.stem()+"-")
		name, whole := strings.CutSuffix(name, filepath.Ext(d.path))
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
		out = append(out, session.LogCopy{
			Path: filepath.Join(d.copies(), e.Name()), Made: info.ModTime(), Size: info.Size(),
			Why: strings.TrimPrefix(name[len(dayLayout):], "-"),
		})
	}
	slices.SortFunc(out, func(a, b session.LogCopy) int { return cmp.Compare(b.Path, a.Path) })
	return out, nil
}

// Replace puts a copy in the place of a log that is damaged (session.ErrDamagedLog), and
// gives the name under which the damaged file is kept beside it. A log that can be opened is
// restored by Restore, which tells the programs that have it open.
func Replace(ctx context.Context, path, copy string) (aside string, err error) {
	path, err = filepath.Abs(path)
	if err != nil {
		return "", err
	}
	d := &database{path: path, kind: logKind}
	what := session.Say("put the copy %s in place", copy)
	if whole, err := d.whole(ctx); err != nil {
		return "", d.explain(what, err)
	} else if whole {
		return "", d.explain(what, session.Refuse("the log is not damaged"))
	}
	dir, err := os.MkdirTemp(filepath.Dir(path), partPrefix)
	if err != nil {
		return "", d.explain(what, err)
	}
	defer os.RemoveAll(dir)
	ready, err := readied(ctx, copy, dir)
	if err == nil {
		err = errors.Join(vacuumInto(ctx, ready.path, filepath.Join(dir, "whole.db")), ready.close())
	}
	if err != nil {
		return "", d.explain(what, err)
	}
	aside = strings.TrimSuffix(path, filepath.Ext(path)) + "-damaged-" + time.Now().Format("2006-01-02-150405") + filepath.Ext(path)
	// What lies beside the damaged file belongs to it: it would be read into the copy.
	for _, end := range []string{"-wal", "-shm", "-journal"} {
		if err := os.Rename(path+end, aside+end); err != nil && !os.IsNotExist(err) {
			return "", d.explain(what, err)
		}
	}
	// A second name, where there can be one: whoever comes now finds the damaged log or the
	// copy, and does not begin an empty one.
	if os.Link(path, aside) != nil {
		if err := os.Rename(path, aside); err != nil {
			return "", d.explain(what, err)
		}
	}
	return aside, d.explain(what, os.Rename(filepath.Join(dir, "whole.db"), path))
}

// whole reports whether the file can be read from end to end. It is no error when it cannot
// because it is damaged.
func (d *database) whole(ctx context.Context) (bool, error) {
	_, err := d.peek(ctx, busyTimeout)
	if err == nil {
		db := sql.OpenDB(connector{dsn(d.path, busyTimeout, url.Values{"mode": {"ro"}})})
		defer db.Close()
		var verdict string
		if err = db.QueryRowContext(ctx, `PRAGMA quick_check`).Scan(&verdict); err == nil {
			return verdict == "ok", nil
		}
	}
	if errors.Is(d.explain(session.Text{}, err), session.ErrDamagedLog) {
		return false, nil
	}
	return false, err
}

// Restore puts a copy in place of all that the log holds, in one transaction, after a copy
// of the log as it is. Programs that have the log open go on with what was restored; what
// they write to a session that they opened before gives session.ErrRestored until they open
// it again, since its numbers are those of the copy now. A copy that is damaged, of another
// program or of a newer version is refused and changes nothing; so does a context that ends
// on the way. Progress counts database pages.
func (s *Store) Restore(ctx context.Context, path string, p session.Progress) error {
	return s.log.explain(session.Say("restore the copy %s", path), s.restore(ctx, path, p))
}

func (s *Store) restore(ctx context.Context, path string, p session.Progress) error {
	if s.log.path == "" {
		return errInMemory
	}
	if path, err := filepath.Abs(path); err != nil || path == s.log.path {
		return errors.Join(session.Refuse("this is the log itself"), err)
	}
	dir, err := os.MkdirTemp("", "stillbench-restore")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	ready, err := readied(ctx, path, dir)
	if err != nil {
		return err
	}
	// Every program that has the log open sees by it that all is different.
	if err := ready.change(ctx, session.Say("restore"), func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `UPDATE search_state SET epoch = hex(randomblob(16))`)
		return err
	}); err != nil {
		return errors.Join(err, ready.close())
	}
	if _, err := s.log.copyTo(ctx, s.Now().Format(dayLayout)+"-before-restore-"+s.Now().Format("150405.000")); err != nil {
		return errors.Join(err, ready.close())
	}
	return errors.Join(copyInto(ctx, s.log.write, ready.write, p), ready.close())
}

// readied opens a copy, made in dir, of a log that some program may have open: whole, and
// of the newest version. The log itself is left as it is.
func readied(ctx context.Context, path, dir string) (*database, error) {
	from := &database{path: path, kind: logKind}
	version, err := from.peek(ctx, busyTimeout)
	if err != nil {
		return nil, err
	}
	if version == 0 {
		return nil, session.Fail("%s: %s", os.ErrNotExist, path)
	}
	temp := filepath.Join(dir, "setups.db")
	if err := vacuumInto(ctx, path, temp); err != nil {
		return nil, err
	}
	d := &database{path: temp, kind: logKind}
	whole, err := d.whole(ctx)
	if err == nil && !whole {
		err = session.ErrDamagedLog
	}
	d.connect(busyTimeout)
	if err == nil {
		err = d.advance(ctx, version)
	}
	if err != nil {
		return nil, errors.Join(err, d.close())
	}
	return d, nil
}

// stepPages is how many pages are copied between two looks at the context.
const stepPages = 500

// copyInto replaces the content of one database by that of another, whole or not at all
// (SQLite's backup interface).
func copyInto(ctx context.Context, to, from *sql.DB, p session.Progress) error {
	return raw(ctx, to, func(to *sqlite3.SQLiteConn) error {
		return raw(ctx, from, func(from *sqlite3.SQLiteConn) error {
			b, err := to.Backup("main", from, "main")
			if err != nil {
				return err
			}
			for done := false; !done && err == nil; {
				if done, err = b.Step(stepPages); err == nil {
					p.Tell(b.PageCount()-b.Remaining(), b.PageCount())
					if !done {
						err = ctx.Err()
					}
				}
			}
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
		return "", session.Fail("make the folder for copies: %s", err)
	}
	path := filepath.Join(d.copies(), d.stem()+"-"+name+filepath.Ext(d.path))
	if _, err := os.Stat(path); err == nil {
		return path, nil
	}
	return path, vacuumInto(ctx, d.path, path)
}

// partPrefix begins the names of folders for what is not complete yet.
const partPrefix = ".part"

// vacuumInto writes a database as it is at one moment to another file, which has its name
// only when it is complete. Writers go on meanwhile.
func vacuumInto(ctx context.Context, from, to string) error {
	part, err := os.MkdirTemp(filepath.Dir(to), partPrefix)
	if err != nil {
		return err
	}
	defer os.RemoveAll(part)
	temp := filepath.Join(part, filepath.Base(to))
	db := sql.OpenDB(connector{dsn(from, busyTimeout, url.Values{"mode": {"ro"}})})
	defer db.Close()
	if _, err := db.ExecContext(ctx, `VACUUM INTO ?`, temp); err != nil {
		return session.Fail("copy to %s: %s", to, err)
	}
	f, err := os.OpenFile(temp, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return session.Fail("copy to %s: %s", to, err)
	}
	return os.Rename(temp, to)
}

// stem is the log's file name without its extension.
func (d *database) stem() string {
	return strings.TrimSuffix(filepath.Base(d.path), filepath.Ext(d.path))
}

// copies is the folder for copies.
func (d *database) copies() string { return filepath.Join(filepath.Dir(d.path), d.stem()+"-copies") }

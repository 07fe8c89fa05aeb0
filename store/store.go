// Package store is the setup log: sessions, frames, groups, setups and what the
// photographer did by hand, in an SQLite file. It keeps and finds; it decides nothing
// about photographs, opens none, and knows no window.
//
// The log is two files side by side: setups.db holds all that cannot be made again,
// setups-figures.db what was computed from pixels. The second may be deleted; it fills
// itself as the photographs are read again.
//
// Every change is one transaction and is on disk when the call returns. Several
// processes may use one log. Errors are sentences that name the file; session.ErrNewerLog,
// session.ErrLogBusy, session.ErrNotFound and session.ErrInvalid tell the kinds apart.
package store

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"stillbench/session"
)

// Store is an open setup log. Its methods may be called from any goroutine.
type Store struct {
	// Now is the clock; set it before first use.
	Now func() time.Time

	log         *database
	figures     *database
	catalogues  catalogues
	wordIndexes wordIndexes

	looked sync.Once       // when a search has looked at the log
	open   context.Context // until Close
	ended  context.CancelFunc
	work   sync.WaitGroup // what is done until then on the side

	mu     sync.Mutex
	opened map[int64]string // by session: the epoch of the log when it was opened
}

// busyTimeout is how long a change waits for another process to finish its own.
const busyTimeout = 5 * time.Second

// Open opens the log in the file path, and makes it where there is none. A log of an
// older version is copied (see Copies) and brought up to date. One of a newer version
// gives session.ErrNewerLog and is left as it is; one that another process holds locked
// gives session.ErrLogBusy.
func Open(ctx context.Context, path string) (*Store, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, session.Fail("open setup log: %s", err)
	}
	// The XDG base directory specification asks for 0700 on folders made for data.
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, session.Fail("open setup log %s: its folder cannot be made: %s", path, err)
	}
	return open(ctx, path, busyTimeout)
}

// OpenInMemory opens a log that lives as long as the Store: for a session whose log
// cannot be opened.
func OpenInMemory(ctx context.Context) (*Store, error) { return open(ctx, "", busyTimeout) }

// open opens the log at an absolute path, or in memory where path is "".
func open(ctx context.Context, path string, busy time.Duration) (*Store, error) {
	s := &Store{Now: time.Now, opened: map[int64]string{}}
	s.open, s.ended = context.WithCancel(context.Background())
	var err error
	if s.log, err = openDatabase(ctx, path, logKind, busy); err != nil {
		return nil, err
	}
	if s.figures, err = openDatabase(ctx, figuresPath(path), figuresKind, busy); err != nil {
		return nil, errors.Join(err, s.log.close())
	}
	return s, nil
}

// Close closes the log. Nothing waits to be written.
func (s *Store) Close() error {
	s.mu.Lock()
	s.ended()
	s.mu.Unlock()
	s.work.Wait()
	return errors.Join(s.figures.close(), s.log.close())
}

// Path is the log's file, "" for a log in memory.
func (s *Store) Path() string { return s.log.path }

// figuresPath is the file for figures beside the log: setups.db has setups-figures.db.
func figuresPath(log string) string {
	if log == "" {
		return ""
	}
	ext := filepath.Ext(log)
	return strings.TrimSuffix(log, ext) + "-figures" + ext
}

// DefaultPath is where the user's own log lives: $XDG_DATA_HOME/stillbench/setups.db
// (~/.local/share where the variable is unset or not absolute, as the XDG base directory
// specification says), ~/Library/Application Support on macOS, %LocalAppData% on Windows.
func DefaultPath() (string, error) {
	var dir string
	switch runtime.GOOS {
	case "windows":
		dir = os.Getenv("LocalAppData")
	case "darwin":
	default:
		dir = os.Getenv("XDG_DATA_HOME")
	}
	if !filepath.IsAbs(dir) {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", session.Fail("find the folder for the setup log: %s", err)
		}
		switch runtime.GOOS {
		case "windows":
			dir = filepath.Join(home, "AppData", "Local")
		case "darwin":
			dir = filepath.Join(home, "Library", "Application Support")
		default:
			dir = filepath.Join(home, ".local", "share")
		}
	}
	return filepath.Join(dir, "stillbench", "setups.db"), nil
}

// change runs fn in one transaction of the log's writer: all of it happens, or nothing.
func (s *Store) change(ctx context.Context, what session.Text, fn func(tx *sql.Tx) error) error {
	return s.log.change(ctx, what, fn)
}

// changeSession is change for what belongs to a session. Since the session was opened the log
// may have been put back from a copy, where its number, and those of its setups, mean
// something else: then nothing is changed and session.ErrRestored is given.
func (s *Store) changeSession(ctx context.Context, sessionID int64, what session.Text, fn func(tx *sql.Tx) error) error {
	return s.change(ctx, what, func(tx *sql.Tx) error {
		s.mu.Lock()
		then, ok := s.opened[sessionID]
		s.mu.Unlock()
		if ok {
			now, err := epoch(ctx, tx)
			if err != nil {
				return err
			}
			if now != then {
				return session.ErrRestored
			}
		}
		return fn(tx)
	})
}

// epoch tells the log apart from what it was before it was restored.
func epoch(ctx context.Context, tx *sql.Tx) (e string, err error) {
	err = tx.QueryRowContext(ctx, `SELECT epoch FROM search_state`).Scan(&e)
	return e, err
}

// view runs fn on one unchanging state of the log.
func (s *Store) view(ctx context.Context, what session.Text, fn func(tx *sql.Tx) error) error {
	return s.log.view(ctx, what, fn)
}

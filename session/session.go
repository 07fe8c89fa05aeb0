// Package session holds the subject itself: frames, groups of frames, the seams
// between them, the setups on the table and their lights, and the rules that
// belong to these types alone. It knows no files, no pixels, no database and no
// window, and imports the standard library only, so that everybody may import it.
package session

import (
	"errors"
	"time"
)

// Sentinel errors that every layer uses, so that callers can tell the kinds apart
// with errors.Is.
var (
	// ErrNotFound: what was asked for is not in the log.
	ErrNotFound = errors.New("not in the log")
	// ErrInvalid: a value breaks a rule of its type; the wrapping text says which.
	ErrInvalid = errors.New("not valid")
	// ErrNewerLog: the setup log was written by a later version of the program.
	ErrNewerLog = Fail("the setup log is from a newer version")
	// ErrRestored: the setup log was put back from a copy; sessions must be opened again.
	ErrRestored = Fail("the setup log was put back from a copy meanwhile")
	// ErrDamagedLog: the file of the setup log cannot be read as one.
	ErrDamagedLog = Fail("the file is damaged, or no setup log")
	// ErrLogBusy: another process holds the setup log locked.
	ErrLogBusy = Fail("the setup log is locked by another program")
)

// Session is one sitting at the table: a folder of frames and what was done with them.
type Session struct {
	ID      int64
	Dir     string // absolute path of the watched folder
	Started time.Time
}

// Problem is something that went wrong with one file or folder: what happened, to
// which file, and what to do, as one sentence for the photographer.
type Problem struct {
	File     string // relative to the session's folder, with "/"; "" when it concerns the whole session
	Sentence Text
}

package session

import "time"

// Template is a setup kept under a name, to start from.
type Template struct {
	ID   int64
	Name string
	// Setup has neither number nor session: it is logged anew where it is used.
	Setup Setup
	Saved time.Time
	Used  time.Time // zero before it was
}

// KeptSearch is a search that the log remembers.
type KeptSearch struct {
	ID    int64
	Name  string // "" for a recent one, which the log forgets in time
	Query SetupQuery
	Used  time.Time
}

// SetupField names what is typed into a setup.
type SetupField string

// The fields for which the log knows what was typed before.
const (
	FieldSubject    SetupField = "subject"
	FieldBackground SetupField = "background"
	FieldSupport    SetupField = "support"
	FieldLens       SetupField = "lens"
	FieldTag        SetupField = "tag"
	FieldModifier   SetupField = "modifier"
	FieldPower      SetupField = "power"
)

// Shot is a group of frames of one subject, in a series over days.
type Shot struct {
	SessionID int64
	Dir       string // folder of the session
	Group     int64  // Group.ID in that session
	Kind      Kind
	Name      string // of the group, "" when not named
	Taken     time.Time
	Setup     Setup // under which it was shot
	// Frames are names relative to Dir in time order, without those that are gone or set
	// aside; Cover is the one to show (the middle one of a stack, else the last), "" when none.
	Frames []string
	Cover  string
	Blends []Blend
}

// Blend is a file into which a stack was blended.
type Blend struct {
	File string // absolute path
	Made time.Time
}

// LogCopy is a copy of the setup log in the folder beside it.
type LogCopy struct {
	Path string
	Made time.Time // when the copy was written
	Size int64     // bytes
	// Why is "" for a daily copy, else what it was made before: "version-1" (a change of
	// the log's form from that version) or "before-restore-" and the time of day.
	Why string
}

// Merged counts what a merge or an import brought that was not there.
type Merged struct {
	Sessions, Frames, Setups, Edits int
	// Updated setups were in both logs and changed later in the other.
	Updated int
	// Templates, Searches and Blends that were not there.
	Templates, Searches, Blends int
	// Gear is what was told of cameras and lenses there, and not here or earlier.
	Gear int
}

// Progress is told how far long work has come: done of total units, which grow as the work
// does. It is called from the goroutine that does the work, and nil is allowed.
type Progress func(done, total int)

// Tell calls p where there is one.
func (p Progress) Tell(done, total int) {
	if p != nil {
		p(done, total)
	}
}

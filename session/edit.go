package session

import "time"

// EditKind says what the photographer did by hand.
type EditKind string

// The edits. All hold for good, survive re-reading the folder, and can be undone.
const (
	EditSplit    EditKind = "split"     // a group starts at Frame
	EditJoin     EditKind = "join"      // no group starts at Frame
	EditMark     EditKind = "mark"      // Frame is a marker
	EditUnmark   EditKind = "unmark"    // Frame is no marker
	EditSetAside EditKind = "set-aside" // Frame is out of its stack
	EditPutBack  EditKind = "put-back"  // Frame is in its stack again
	EditKindOf   EditKind = "kind"      // the group holding Frame is of kind Group
	EditMoveBack EditKind = "move-back" // Frame belongs to the group before
	EditMoveOn   EditKind = "move-on"   // Frame belongs to the group after
	EditName     EditKind = "name"      // the group holding Frame is called Text
	EditSetup    EditKind = "setup"     // Setup was logged or changed
	EditUseSetup EditKind = "use-setup" // the group holding Frame was shot under Setup.ID
)

// Edit is one thing the photographer did by hand.
type Edit struct {
	ID   int64
	Kind EditKind
	// Frame is the fingerprint of the frame that the edit is about.
	Frame string
	// Group is the kind given by EditKindOf.
	Group Kind
	// Text is the name given by EditName.
	Text string
	// Setup is the setup after EditSetup (ID 0 asks the log for a new one), and
	// Before what it was (nil when it is new).
	Setup, Before *Setup
	// Words describe the edit for undo, e.g. "split before A0012.JPG".
	Words string
	// Made is when; Undone tells that it was taken back and can be done again.
	Made   time.Time
	Undone bool
}

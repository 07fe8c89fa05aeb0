package session

import (
	"time"
)

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
	EditWanted   EditKind = "wanted"    // Area is what must be sharp in the stack holding Frame; none: all of it
	EditTouch    EditKind = "touch"     // Touch is one change to the blend of the stack holding Frame
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
	// Area is the wanted area given by EditWanted, as it lies on Frame.
	Area Area
	// Touch is the change given by EditTouch.
	Touch *Touch
	// Words describe the edit for undo, e.g. "split before A0012.JPG".
	Words string
	// Made is when; Undone tells that it was taken back and can be done again.
	Made   time.Time
	Undone bool
}

// Area is a part of a stack's picture: a closed polygon of [x, y] corners, in 0..1 of the
// width and height of a frame as stored in the file, x right and y down. Which frame is said
// where there is one.
// Fewer than three corners mean all of it.
type Area [][2]float64

// Touch is one change to a blend: inside Area its picture is taken from one frame.
type Touch struct {
	Area Area `json:"area"`
	// From is the fingerprint of the frame that the picture is taken from.
	From string `json:"from"`
	// Soft is how far the change fades into the blend around it, as a part of the picture's
	// diagonal, 0 to 0.1.
	Soft float64 `json:"soft"`
}

// Validate says, in a sentence that wraps ErrInvalid, which corner cannot be.
func (a Area) Validate() error {
	if len(a) > 10000 {
		return Refuse("an area of %d corners, at most 10000 are kept", len(a))
	}
	for _, p := range a {
		if !(p[0] >= 0 && p[0] <= 1 && p[1] >= 0 && p[1] <= 1) {
			return Refuse("a corner of an area at %g, %g (both are from 0 to 1)", p[0], p[1])
		}
	}
	return nil
}

// Validate says, in a sentence that wraps ErrInvalid, what of the touch cannot be.
func (t Touch) Validate() error {
	switch {
	case len(t.Area) < 3:
		return Refuse("a touch-up of an area with %d corners (3 at least)", len(t.Area))
	case t.From == "":
		return Refuse("a touch-up without a frame to take the picture from")
	case !(t.Soft >= 0 && t.Soft <= 0.1):
		return Refuse("a touch-up that fades over %g of the diagonal (0 to 0.1)", t.Soft)
	}
	return t.Area.Validate()
}

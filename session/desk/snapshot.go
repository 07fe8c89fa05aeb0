package desk

import (
	"time"

	"stillbench/session"
)

// Snapshot is the whole state of the live session at one moment. It is immutable:
// the desk never changes one that it has handed out, and neither may its readers.
type Snapshot struct {
	// Version grows by at least one with every snapshot.
	Version uint64
	Session session.Session
	// Frames are all frames that could be read, in time order.
	Frames []session.Frame
	// Groups cover Frames, in time order.
	Groups []session.Group
	// Checks holds the verdict on each stack that has one, by Group.ID.
	Checks map[int64]*session.Check
	// Proofs holds what is known of each stack's proof, by Group.ID; Desk.Proof gives the
	// picture. It may lag some frames behind a stack that grows.
	Proofs map[int64]session.Proof
	// Touches holds the touch-ups of each stack that has any, oldest first, by Group.ID.
	Touches map[int64][]session.Touch
	// Wanted holds what must be sharp in each stack where that is not all of it, by Group.ID, as it lies on
	// the middle frame of the stack's check.
	Wanted map[int64]session.Area
	// Duplicates lists, by a frame's name, further files that hold the same bytes.
	Duplicates map[string][]string
	// Unreadable are files that were looked at and could not be read.
	Unreadable []session.Problem
	// Notices concern the whole session: the log cannot be written, the folder is
	// away, ... They stand until their cause is gone.
	Notices []session.Problem
	// Setups of this session, oldest first. The last one is on the table now.
	Setups []session.Setup
	// Gear is what is remembered of cameras and lenses, from all sessions.
	Gear session.Gear
	// Read and Found count files: Read of Found have been read in so far.
	Read, Found int
	// Settled: every file found so far has been read and grouped, and every stack has its verdict and its
	// proof, as far as they are asked for.
	Settled bool
	// Newest is the fingerprint of the frame that arrived last, "" before any.
	Newest string
	// LastArrival is when it arrived, by the desk's clock.
	LastArrival time.Time
	// Undo and Redo say what each would do, empty when there is nothing.
	Undo, Redo session.Text
}

// Frame finds a frame by fingerprint.
func (s *Snapshot) Frame(fingerprint string) (session.Frame, bool) {
	for i := range s.Frames {
		if s.Frames[i].Fingerprint == fingerprint {
			return s.Frames[i], true
		}
	}
	return session.Frame{}, false
}

// GroupOf finds the group that holds a frame, as an index into Groups, -1 when none does.
func (s *Snapshot) GroupOf(fingerprint string) int {
	for i := range s.Groups {
		for _, f := range s.Groups[i].Frames {
			if f == fingerprint {
				return i
			}
		}
	}
	return -1
}

// Setup finds one of the session's setups by its number.
func (s *Snapshot) Setup(id int64) (session.Setup, bool) {
	for i := range s.Setups {
		if s.Setups[i].ID == id {
			return s.Setups[i], true
		}
	}
	return session.Setup{}, false
}

package desk

import (
	"context"

	"stillbench/session"
)

// Log is what the desk needs of the setup log. Package store implements it on
// SQLite. Every method is one transaction: it has happened whole, or not at all.
type Log interface {
	// OpenSession finds the session of a folder (absolute path), or starts one.
	OpenSession(ctx context.Context, dir string) (session.Session, error)

	// Known gives what the log knows of the bytes with this fingerprint, from any
	// session; ok is false when it knows nothing. Figures come without Small and Grey; they are nil when
	// they were computed by another session.FiguresVersion.
	Known(ctx context.Context, fingerprint string) (m session.Meta, f *session.Figures, ok bool, err error)
	// Figures gives the figures of the bytes with this fingerprint, Small and Grey among them; nil
	// when the log has none of the present session.FiguresVersion.
	Figures(ctx context.Context, fingerprint string) (*session.Figures, error)
	// SaveFrames inserts or updates frames of a session, by fingerprint. Figures without Small
	// and Grey are known to it already.
	SaveFrames(ctx context.Context, sessionID int64, frames []session.Frame) error
	// Frames gives the frames of a session that the log knows, in no order, their figures
	// without Small and Grey.
	Frames(ctx context.Context, sessionID int64) ([]session.Frame, error)

	// SaveCheck keeps the verdict on a stack under a key that stands for all that it
	// follows from. Of one stack, known by the fingerprint of its first frame, the log
	// need keep no more than the newest few.
	SaveCheck(ctx context.Context, stack, key string, c *session.Check) error
	// Check gives the verdict with that key; nil when the log has none.
	Check(ctx context.Context, key string) (*session.Check, error)

	// SaveProof keeps a proof and its picture, an upright JPEG, under its key. Of one stack,
	// known by the fingerprint of its first frame, the log need keep no more than the newest
	// few.
	SaveProof(ctx context.Context, stack string, p session.Proof, picture []byte) error
	// RecallProof gives the proof with that key, which is from now on the newest of its stack;
	// nil when the log has none. ProofPicture gives its picture.
	RecallProof(ctx context.Context, key string) (*session.Proof, error)
	ProofPicture(ctx context.Context, key string) ([]byte, error)

	// SaveGroups replaces the groups and seams of a session.
	SaveGroups(ctx context.Context, sessionID int64, groups []session.Group) error
	// Groups gives them back, in time order.
	Groups(ctx context.Context, sessionID int64) ([]session.Group, error)

	// SaveGrouping keeps how a session is grouped, under a key that stands for all that it
	// follows from, in place of what was kept of it before.
	SaveGrouping(ctx context.Context, sessionID int64, key string, groups []session.Group) error
	// Grouping gives it back with its key; "" and nil when the log has none.
	Grouping(ctx context.Context, sessionID int64) (key string, groups []session.Group, err error)

	// AddEdit keeps an edit, drops what could have been redone, and for EditSetup
	// writes the setup itself; it gives the edit back with its numbers.
	AddEdit(ctx context.Context, sessionID int64, e session.Edit) (session.Edit, error)
	// SetUndone takes an edit back or does it again (for EditSetup: puts Before or
	// Setup in place; a setup whose Before is nil is hidden while undone).
	SetUndone(ctx context.Context, sessionID, editID int64, undone bool) error
	// Edits gives all edits of a session, oldest first, undone ones included.
	Edits(ctx context.Context, sessionID int64) ([]session.Edit, error)

	// Gear gives what is remembered of cameras and lenses, from all sessions.
	Gear(ctx context.Context) (session.Gear, error)
	// RememberCamera, RememberLens and RememberCircle keep what the photographer told.
	RememberCamera(ctx context.Context, c session.Camera) error
	RememberLens(ctx context.Context, l session.Lens) error
	RememberCircle(ctx context.Context, c session.Circle) error

	// Setups gives the session's setups, oldest first, hidden ones left out.
	Setups(ctx context.Context, sessionID int64) ([]session.Setup, error)
	// FindSetups searches the whole log.
	FindSetups(ctx context.Context, q session.SetupQuery) (session.SetupResults, error)
}

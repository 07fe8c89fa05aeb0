package place

import (
	"context"
	"image"
	"time"

	"stillbench/session"
)

// Log is what the window needs of the setup log, with or without a session. Package store
// implements most of it. All of it may wait: it is called off the UI goroutine.
type Log interface {
	Find(ctx context.Context, q session.SetupQuery) (session.SetupResults, error)
	// VerdictsUnder gives the verdicts on the stacks shot under setups, by setup.
	VerdictsUnder(ctx context.Context, setups []int64) (map[int64][]session.Verdict, error)
	PictureIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error)
	// ProofIn gives the proof of the stack that holds a frame, without the photographs;
	// session.ErrNotFound when there is none.
	ProofIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error)
	// PrintSetup writes the page by which a setup is built again to a PDF file, and gives
	// its path.
	PrintSetup(ctx context.Context, s session.FoundSetup) (path string, err error)
	SubjectOverDays(ctx context.Context, subject string) ([]session.Shot, error)
	// LaySeries finds which of some pictures, in time order, are framed alike, and tells of
	// each; PictureLaid is PictureIn, brought onto the picture that it is laid on.
	LaySeries(ctx context.Context, list []session.PictureFile, found func(i int, f session.Framing)) error
	PictureLaid(ctx context.Context, dir, name string, laid session.Laid, maxW, maxH int) (*image.RGBA, error)
	TypedBefore(ctx context.Context, field session.SetupField, typed string, limit int) ([]string, error)

	Templates(ctx context.Context) ([]session.Template, error)
	SaveTemplate(ctx context.Context, name string, s session.Setup) (session.Template, error)
	UseTemplate(ctx context.Context, id int64) (session.Setup, error)
	DeleteTemplate(ctx context.Context, id int64) error

	KeptSearches(ctx context.Context) ([]session.KeptSearch, error)
	RecentSearches(ctx context.Context) ([]session.KeptSearch, error)
	KeepSearch(ctx context.Context, name string, q session.SetupQuery) (session.KeptSearch, error)
	NoteSearch(ctx context.Context, q session.SetupQuery) error
	DeleteSearch(ctx context.Context, id int64) error

	// Path is the log's file, "" for one in memory.
	Path() string
	// RecordBlend notes that frames, known by their fingerprints, were blended into a file.
	RecordBlend(ctx context.Context, frames []string, file string, made time.Time) error
	Copies(ctx context.Context) ([]session.LogCopy, error)
	Restore(ctx context.Context, path string, p session.Progress) error
	Merge(ctx context.Context, path string, p session.Progress) (session.Merged, error)
	ExportTo(ctx context.Context, path string, p session.Progress) error
	ImportFrom(ctx context.Context, path string, p session.Progress) (session.Merged, error)
}

package place

import (
	"context"
	"image"

	"stillbench/session"
)

// Log is what the window needs of the setup log, with or without a session. All of it may
// wait: it is called off the UI goroutine.
type Log interface {
	Find(ctx context.Context, q session.SetupQuery) (session.SetupResults, error)
	PictureIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error)
	// PrintSetup writes the page by which a setup is built again to a PDF file, and gives
	// its path.
	PrintSetup(ctx context.Context, s session.FoundSetup) (path string, err error)
}

// Package desk is the live session: one goroutine owns its state, takes in what the
// watcher and the readers bring, groups it, writes it to the log and hands out
// immutable snapshots. What the photographer does comes in as an edit; it is in the
// log before the snapshot that shows it goes out.
package desk

import (
	"context"
	"image"
	"time"

	"stillbench/session"
)

// Options say how to open a desk.
type Options struct {
	// Dir is the folder to follow.
	Dir string
	// Log keeps everything; it is not closed by the desk.
	Log Log
	// Notices are problems known before the start (the log could not be opened, ...).
	Notices []session.Problem
	// Once reads what is in Dir now and then stops looking (no file events).
	Once bool
	// Workers reads so many files at a time; 0 means one less than the cores, at least 1.
	Workers int
	// Now is the clock; nil means time.Now.
	Now func() time.Time
}

// Desk is one live session. Its methods may be called from any goroutine.
type Desk struct{}

// Open starts a live session: it opens the session in the log and begins to read in
// the folder. The desk runs until Close.
func Open(ctx context.Context, o Options) (*Desk, error) { panic("being written") }

// Close stops the session and waits until all that was acknowledged is in the log.
func (d *Desk) Close() error { panic("being written") }

// Snapshot gives the newest state; never nil.
func (d *Desk) Snapshot() *Snapshot { panic("being written") }

// Changed delivers a value when there is a newer snapshot than the last one that was
// announced. It holds at most one value: a slow reader misses states, never the last.
func (d *Desk) Changed() <-chan struct{} { panic("being written") }

// Settled waits until every file found so far has been read and grouped.
func (d *Desk) Settled(ctx context.Context) error { panic("being written") }

// Edit does what the photographer asked and returns when it is in the log. The
// snapshot that shows it is out by then. An edit that makes no sense (a frame that is
// not there) is an error that says so and changes nothing.
func (d *Desk) Edit(ctx context.Context, e session.Edit) error { panic("being written") }

// Undo takes back the last edit that stands; Redo does the last undone one again.
// Both do nothing when there is nothing to do.
func (d *Desk) Undo(ctx context.Context) error { panic("being written") }

// Redo does the edit again that Undo took back last.
func (d *Desk) Redo(ctx context.Context) error { panic("being written") }

// Find searches the setups of the whole log.
func (d *Desk) Find(ctx context.Context, q session.SetupQuery) (session.SetupResults, error) {
	panic("being written")
}

// Picture decodes a frame of this session upright, at the size that fits into maxW x
// maxH pixels (never enlarged), as a fresh RGBA that starts at 0,0. It works in the
// caller's goroutine and takes tens to hundreds of milliseconds: never call it from
// the window's own.
func (d *Desk) Picture(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error) {
	panic("being written")
}

// Crop decodes the part of a frame around (x, y), which are 0..1 of the upright
// picture's width and height, at one picture pixel a pixel, w x h pixels large.
func (d *Desk) Crop(ctx context.Context, fingerprint string, x, y float64, w, h int) (*image.RGBA, error) {
	panic("being written")
}

// PictureIn decodes a frame of any folder that the log knows, as Picture does: for
// the covers of found setups.
func (d *Desk) PictureIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error) {
	panic("being written")
}

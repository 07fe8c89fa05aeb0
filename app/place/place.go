// Package place is what the shell and the four places agree on: what a place is, what
// the shell does for it, and what both need of the live session. It draws nothing
// itself but the few arrangements that every place uses.
package place

import (
	"context"
	"image"
	"slices"
	"time"
	"unicode"
	"unicode/utf8"

	"fyne.io/fyne/v2"

	"stillbench/app/pictures"
	"stillbench/app/present"
	"stillbench/session"
	"stillbench/session/desk"
)

// Desk is what the window needs of a live session. Package desk implements it.
type Desk interface {
	Snapshot() *desk.Snapshot
	Changed() <-chan struct{}
	Edit(ctx context.Context, e session.Edit) error
	Undo(ctx context.Context) error
	Redo(ctx context.Context) error
	RememberCamera(ctx context.Context, c session.Camera) error
	RememberLens(ctx context.Context, l session.Lens) error
	RememberCircle(ctx context.Context, c session.Circle) error
	Figures(ctx context.Context, fingerprint string) (*session.Figures, error)
	Picture(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error)
	Crop(ctx context.Context, fingerprint string, x, y float64, w, h int) (*image.RGBA, error)
	Sharp(ctx context.Context, fingerprint string) (*image.Alpha, error)
	Proof(ctx context.Context, key string, maxW, maxH int) (*image.RGBA, error)
	PictureOnProof(ctx context.Context, f session.ProofFrame, maxW, maxH int) (*image.RGBA, error)
	Close() error
}

// Number names the places in their order.
type Number int

// The places.
const (
	Table Number = iota
	Stacks
	Setups
	Plan
)

// Host is what the shell does for a place. All functions are called on the UI
// goroutine.
type Host struct {
	// Run does something with the session off the UI goroutine. An error is shown.
	Run func(fn func(ctx context.Context, d Desk) error)
	// Log is the setup log.
	Log Log
	// Pictures loads pictures.
	Pictures *pictures.Loader
	// Pixels gives how many pixels of the screen stand on one Fyne unit.
	Pixels func() float32
	// Focus gives the keys to a field; nil gives them back to the place.
	Focus func(f fyne.Focusable)
	// Say has the sentence, the keys and the place's layout looked at again.
	Say func()
	// Go changes to another place.
	Go func(n Number)
	// Show changes to Stacks and opens the first group shot under a setup; false when
	// this session has none.
	Show func(setupID int64) bool
	// Blend asks how a stack is to be blended at full size, and puts it in the queue.
	Blend func(group int64)
	// Closely looks closely at a frame of a group, at a spot in shares of the upright picture.
	Closely func(group int64, frame string, x, y float64)
	// HandOn is the key that opens the sheet on which the stacks are handed on.
	HandOn func() Action
	// Reopen opens the session's folder anew: the log was put back from a copy.
	Reopen func()
	// WriteDown opens the setup on the table as text, with these lights, in Setups, and
	// comes back from there.
	WriteDown func(lights []session.Light)
	// Tell shows a sentence until the next key.
	Tell func(sentence string)
	// Key and Rune take keys that a field or a drawing with the focus does not use.
	Key  func(*fyne.KeyEvent)
	Rune func(rune)
	// Deliver runs fn on the UI goroutine, from any goroutine.
	Deliver func(fn func())
	// Planned is the plan that was taken to the Table; nil before one was.
	Planned *present.Planned
	// Now is the clock.
	Now func() time.Time
}

// Key is a key that was pressed: a letter in upper case, a sign, a digit, or one of
// the names below.
type Key string

// The keys that write nothing.
const (
	KeyLeft     Key = "←"
	KeyRight    Key = "→"
	KeyUp       Key = "↑"
	KeyDown     Key = "↓"
	KeyEnter    Key = "↵"
	KeyEscape   Key = "Esc"
	KeyTab      Key = "Tab"
	KeyBackTab  Key = "Shift Tab"
	KeySpace    Key = "Space"
	KeyDelete   Key = "Del"
	KeyHome     Key = "Home"
	KeyEnd      Key = "End"
	KeyPageUp   Key = "Page ↑"
	KeyPageDown Key = "Page ↓"
	KeyFull     Key = "F11"
	KeyHelp     Key = "F1"
)

// Action is a key of a place and what it does.
type Action struct {
	Keys []Key
	// Also are second keys of it under the left hand on QWERTY, QWERTZ and AZERTY alike, listed on "?"
	// alone: the right hand is at the focus ring.
	Also []Key
	Word string
	Do   func()
	// Margin lists it in the margin or below; on "?" every action with a word is listed.
	Margin bool
	// Strong sets the word brighter: what one would do next.
	Strong bool
	// Off: it does nothing now.
	Off bool
}

// Writes tells that one of its keys is a letter or a sign, which a field that has the focus takes
// for itself.
func (a Action) Writes() bool {
	return slices.ContainsFunc(a.Keys, func(k Key) bool {
		r, n := utf8.DecodeRuneInString(string(k))
		return n == len(k) && unicode.In(r, unicode.L, unicode.N, unicode.P)
	})
}

// Place is one of the four places.
type Place interface {
	// Body is drawn below the sentence over the whole width of the window, its upper
	// edge at the sentence's lower edge.
	Body() fyne.CanvasObject
	// Show takes in a new snapshot; never nil.
	Show(s *desk.Snapshot)
	// Sentence is what the place opens with.
	Sentence() present.Sentence
	// Actions are its keys at this moment.
	Actions() []Action
	// KeysBelow has the keys stand in a row below the place instead of in the margin
	// column, which it needs for itself.
	KeysBelow() bool
	// Leave ends what was begun, such as words being typed, without keeping it.
	Leave()
}

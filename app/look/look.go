// Package look is how the program looks: its colours in a lit and in a dark room, its
// roles of type, its distances, and the Fyne theme made of them. It draws nothing
// and knows nothing of photography; the drawings are in app/parts.
//
// All distances and sizes are in px at scale 1. Whoever draws multiplies by
// Current().Scale.
package look

import (
	"sync/atomic"

	"fyne.io/fyne/v2"
)

// State is what can change about the look while the program runs.
type State struct {
	// Dim swaps every colour for its value in a dark room and lays Veil over every picture.
	Dim bool
	// Full shows the pictures in full light although Dim is on: for as long as the
	// key is held.
	Full bool
	// Scale multiplies every size; 1 is as designed, 0 counts as 1.
	Scale float32
}

var current atomic.Pointer[State]

// Current is the state that is drawn with. It starts in normal light at scale 1.
func Current() State {
	if s := current.Load(); s != nil {
		return *s
	}
	return State{Scale: 1}
}

// Set changes the state. Nothing is redrawn by it: call Apply for that, or refresh
// what shows the change. A Scale outside 0.5 to 4 is brought to the nearer bound.
func Set(s State) {
	switch {
	case s.Scale == 0:
		s.Scale = 1
	case s.Scale < 0.5:
		s.Scale = 0.5
	case s.Scale > 4:
		s.Scale = 4
	}
	current.Store(&s)
}

// Apply sets the state and has every window of the app drawn anew with it.
func Apply(a fyne.App, s State) {
	Set(s)
	a.Settings().SetTheme(Theme{})
}

// PicturesDimmed says whether black is laid over the pictures at this moment.
func (s State) PicturesDimmed() bool { return s.Dim && !s.Full }

// The distances of the design. Use no other.
const (
	Space4  float32 = 4
	Space8  float32 = 8
	Space12 float32 = 12
	Space16 float32 = 16
	Space24 float32 = 24
	Space32 float32 = 32
	Space48 float32 = 48

	LineStep float32 = 23 // from one base line of text to the next
)

// Grid is where things stand in a window.
type Grid struct {
	Margin   float32 // bare ground round everything
	Column   float32 // width of the margin column of names and numbers; 0 when it is gone
	ContentX float32 // left edge of the content
	ThreadX  float32 // the thread left of the rows in Stacks
	// SentenceY and SentenceH are the band of the sentence; ContentY is where the
	// content begins below it.
	SentenceY, SentenceH, ContentY float32
}

// Wide is the grid of windows from 1280 px, Narrow that of smaller ones: its margin
// column is gone and names stand above or below what they name.
var (
	Wide   = Grid{Margin: 32, Column: 120, ContentX: 176, ThreadX: 160, SentenceY: 28, SentenceH: 104, ContentY: 152}
	Narrow = Grid{Margin: 24, ContentX: 24, ThreadX: 10, SentenceY: 24, SentenceH: 96, ContentY: 128}
)

// GridFor gives the grid for a window so many px wide (at scale 1, i.e. after the
// window's width has been divided by the scale).
func GridFor(width float32) Grid {
	if width < 1280 {
		return Narrow
	}
	return Wide
}

// ScaleFor gives the scale for a window of the given width in Fyne's units and the
// system's text scale (1 when it does not say). A window as wide as a 4K screen that
// the system does not enlarge gets at least 1.75: what is 15 px in the design would
// be too small to read at arm's length there.
func ScaleFor(width, text float32) float32 {
	if text <= 0 {
		text = 1
	}
	if width >= 3200 && text < 1.75 {
		return 1.75
	}
	return text
}

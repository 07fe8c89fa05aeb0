package look

// Role is what a text is for; it fixes its size, weight and colour.
type Role uint8

// The roles of type, from the largest.
const (
	Verdict  Role = iota // the sentence, read from two metres
	WhatToDo             // what to do about it
	Typed                // words that are being typed
	Heading              // headings, a frame's caption
	Card                 // a card's title (bold)
	Input                // the value of an input
	Base                 // captions, numbers, actions
	Name                 // as Base, in bold: what a thing is called
	Note                 // notes, column heads
	Ring                 // labels of rings and scales
)

var roles = [...]struct {
	px     float32
	bold   bool
	colour Colour
}{
	Verdict:  {52, true, Ink1},
	WhatToDo: {26, false, Ink2},
	Typed:    {22, false, Ink1},
	Heading:  {20, true, Ink1},
	Card:     {17, true, Ink1},
	Input:    {17, false, Ink1},
	Base:     {15, false, Ink2},
	Name:     {15, true, Ink1},
	Note:     {14, false, Ink3},
	Ring:     {13, false, Ink3},
}

// VerdictSteps are the sizes that the sentence steps down through before it wraps.
// It is never smaller than the last.
var VerdictSteps = []float32{52, 44, 38}

// Px is the size of the role's type at scale 1.
func (r Role) Px() float32 { return roles[r].px }

// Bold says whether the role is set in the bold face.
func (r Role) Bold() bool { return roles[r].bold }

// Colour is the role's colour.
func (r Role) Colour() Colour { return roles[r].colour }

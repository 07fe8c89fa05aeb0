// Package blend makes one picture of many frames, each sharp at another depth: at preview
// size as the frames arrive (Proof), and at full size from the files (Run).
//
// The method is a Laplacian pyramid (P. J. Burt and E. H. Adelson, "The Laplacian pyramid as a
// compact image code", IEEE Trans. Comm. 31(4), 1983) whose coefficients are weighted by
// local saliency and by how far the frames agree (after P. J. Burt and R. J. Kolczynski,
// "Enhanced image capture through fusion", ICCV 1993): decided once on luma for all three
// channels, so that no colour is made up; a mean of the frames where none has detail, so that
// no noise is picked for being the loudest.
//
// Values are blended as the files have them, gamma-encoded: there the noise is about the same
// in the dark and in the light, which saliency is measured against, and a file's colour
// profile holds for the result without being applied and undone.
//
// The package takes pictures and numbers and gives pictures and numbers back. It opens no
// file and leaves no goroutine behind.
package blend

import (
	"stillbench/session"
	"stillbench/session/plane"
)

// Character is what a blend is good at, where one method cannot serve all.
type Character string

// The characters.
const (
	// Threads keeps hair, bristles and structures that cross in front of each other: sharpness
	// is told in narrow neighbourhoods, so that a hair and what lies behind it come from
	// different frames.
	Threads Character = "threads"
	// Surfaces keeps smooth surfaces and true tones: sharpness is told in wide
	// neighbourhoods, whose parts come from the same frames.
	Surfaces Character = "surfaces"
)

// Characters lists the characters.
var Characters = []Character{Threads, Surfaces}

// Words names the character for people, and says when to use it.
func (c Character) Words() (name, use string) {
	if c == Surfaces {
		return "Smooth surfaces", "for skins, shells and leaves: tones stay even and noise is averaged out"
	}
	return "Fine threads", "for hair, bristles and whatever crosses in front of something else"
}

// Suggest says which character suits a stack, and why, by how often the depth jumps between
// neighbouring parts of a proof of 480 pixels (the share falls as pictures grow). d may be
// nil.
func Suggest(d *Depth) (Character, session.Text) {
	if d == nil {
		return Surfaces, session.Say("the picture is too small to tell its depth")
	}
	jumps := d.Jumps()
	switch {
	case jumps > manyJumps:
		return Threads, session.Say("its depth jumps beside %.1f %% of the sharp parts: something fine stands before something else", 100*jumps)
	case jumps < 0.0005:
		return Surfaces, session.Say("its depth jumps nowhere")
	}
	return Surfaces, session.Say("its depth jumps beside %.1f %% of the sharp parts, which is little", 100*jumps)
}

// manyJumps lies between made-up bristles (seeds 11 to 16: 0.032 to 0.046) and everything
// else (thin leaves have the most, 0.023 to 0.026).
const manyJumps = 0.029

// Errors that a frame can be left out for, and that a blend can end with.
var (
	ErrSize     = session.Fail("the frame has another size or orientation than the others")
	ErrUnlaid   = session.Fail("the frame cannot be laid on the others")
	ErrNoFrames = session.Fail("there is no frame that could be blended")
)

// Pixels is a decoded picture as stored (before orientation), of 8 or of 16 bits a channel:
// one of the two is set.
type Pixels struct {
	RGB   *plane.RGB
	RGB16 *plane.RGB16
}

// Size is the picture's width and height in pixels, 0 x 0 when there is none.
func (p Pixels) Size() (w, h int) {
	switch {
	case p.RGB != nil:
		return p.RGB.W, p.RGB.H
	case p.RGB16 != nil:
		return p.RGB16.W, p.RGB16.H
	}
	return 0, 0
}

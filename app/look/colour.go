package look

import "image/color"

// Colour is one of the nine colours of the program. All but Accent are neutral
// (R = G = B), so that nothing round a photograph tints it.
type Colour uint8

// The colours, by what they are for.
const (
	Ground Colour = iota // the window, right up to the pictures
	Field                // wheel cells, the recommended row
	Line                 // guides only: rings, a chart's grid
	Edge                 // key caps, stitches, arcs, planned bars, lines under inputs
	Ink1                 // the verdict, the newest frame, the cover line
	Ink2                 // text
	Ink3                 // notes, computed values
	Bar                  // sharp zones; the number on it is in Ground
	Accent               // "your turn", and never the only sign of it
)

// colours holds each colour as 0xRRGGBB, first for a lit room, then for a dark one.
var colours = [...]struct {
	name        string
	normal, dim uint32
}{
	Ground: {"ground", 0x1A1A1A, 0x0A0A0A},
	Field:  {"field", 0x262626, 0x131313},
	Line:   {"line", 0x3D3D3D, 0x262626},
	Edge:   {"edge", 0x686868, 0x5C5C5C},
	Ink1:   {"ink 1", 0xE6E6E6, 0x9A9A9A},
	Ink2:   {"ink 2", 0xB9B9B9, 0x8A8A8A},
	Ink3:   {"ink 3", 0x8E8E8E, 0x7E7E7E},
	Bar:    {"bar", 0xA6A6A6, 0x7A7A7A},
	Accent: {"accent", 0xC9D650, 0x949E3C},
}

// Colours lists every colour, in the order of the constants.
var Colours = []Colour{Ground, Field, Line, Edge, Ink1, Ink2, Ink3, Bar, Accent}

// Veil is the black that lies over every picture in a dark room, 40 %. What is white in a picture is
// ink 1 under it: nothing round a picture is brighter than it can be.
var Veil = color.NRGBA{A: 0x65}

// String is the colour's name in the design, e.g. "ink 2".
func (c Colour) String() string { return colours[c].name }

// In is the colour's opaque value in normal (false) or dim (true) light.
func (c Colour) In(dim bool) color.NRGBA {
	v := colours[c].normal
	if dim {
		v = colours[c].dim
	}
	return color.NRGBA{R: uint8(v >> 16), G: uint8(v >> 8), B: uint8(v), A: 0xFF}
}

// Now is the colour's value in the light that is set at this moment.
func (c Colour) Now() color.NRGBA { return c.In(Current().Dim) }

package look

import (
	"encoding/binary"

	"fyne.io/fyne/v2"

	"stillbench/assets"
)

var (
	regular = fyne.NewStaticResource("B612-Regular.otf", withLine(assets.FontRegular))
	bold    = fyne.NewStaticResource("B612-Bold.otf", withLine(assets.FontBold))
)

// The line of type, in em: what stands above and below the base line.
const (
	lineAbove = 1.0
	lineBelow = 0.5
)

// withLine gives a copy of an OpenType font, for use in memory only, whose line is
// lineAbove + lineBelow em instead of its own.
//
// B612's line is 0.965 + 0.25 em. Fyne paints a text into a texture of just that
// height, rounded up to whole pixels, and shows it at that height rounded to the
// nearest: descenders are cut off, and most sizes are squeezed by a part of a pixel,
// which blurs them. With 1 + 0.5 em the base line and the height of the design's
// sizes fall on whole pixels (or a half, which rounds up both times).
//
// A font whose tables cannot be found is given back as it is.
func withLine(font []byte) []byte {
	head, ok1 := table(font, "head")
	hhea, ok2 := table(font, "hhea")
	if !ok1 || !ok2 || len(head) < 20 || len(hhea) < 10 {
		return font
	}
	unitsPerEm := float64(binary.BigEndian.Uint16(head[18:])) // OpenType 1.9, "head"
	out := append([]byte(nil), font...)
	hhea, _ = table(out, "hhea")
	// OpenType 1.9, "hhea": ascender, descender and line gap follow the version.
	binary.BigEndian.PutUint16(hhea[4:], uint16(int16(lineAbove*unitsPerEm)))
	binary.BigEndian.PutUint16(hhea[6:], uint16(int16(-lineBelow*unitsPerEm)))
	binary.BigEndian.PutUint16(hhea[8:], 0)
	return out
}

// table gives the bytes of a table of an OpenType font, as part of font.
func table(font []byte, tag string) ([]byte, bool) {
	if len(font) < 12 {
		return nil, false
	}
	n := int(binary.BigEndian.Uint16(font[4:]))
	for i := range n {
		record := 12 + 16*i
		if record+16 > len(font) {
			return nil, false
		}
		if string(font[record:record+4]) != tag {
			continue
		}
		offset := uint64(binary.BigEndian.Uint32(font[record+8:]))
		length := uint64(binary.BigEndian.Uint32(font[record+12:]))
		if offset+length > uint64(len(font)) {
			return nil, false
		}
		return font[offset : offset+length], true
	}
	return nil, false
}

package exifread

import (
	"encoding/binary"
)

// box is a box of ISO/IEC 14496-12 (section 4.2): body to end is what follows its
// head.
type box struct {
	kind      string
	off       int64
	body, end int64
}

// uuid returns the 16 bytes that name a box of kind "uuid", "" when cut off.
func (b box) uuid(src *source) string {
	if b.end-b.body < 16 {
		return ""
	}
	raw, err := src.bytes(b.body, 16)
	if err != nil {
		return ""
	}
	return string(raw)
}

// maxBoxes bounds the boxes visited on one level.
const maxBoxes = 4096

// boxes calls visit for the boxes between off and end. A box that claims to go on
// beyond end is visited with what is there, and then reported.
func boxes(src *source, off, end int64, visit func(box)) error {
	for range maxBoxes {
		if off >= end {
			return nil
		}
		var head [16]byte
		n := min(end-off, 16)
		if n < 8 {
			return brokenAt(off, "the file ends within the head of a box")
		}
		if err := src.peek(off, head[:n]); err != nil {
			return err
		}
		b := box{kind: string(head[4:8]), off: off, body: off + 8}
		size := int64(binary.BigEndian.Uint32(head[:]))
		switch {
		case size == 0: // to the end of what holds it
			size = end - off
		case size == 1 && n == 16: // 64-bit size follows
			b.body += 8
			size = int64(binary.BigEndian.Uint64(head[8:]))
		}
		if size < b.body-off {
			return brokenAt(off, "a box of %d bytes cannot be", size)
		}
		if size > end-off {
			b.end = end
			visit(b)
			return brokenAt(off, "the box %q has %d bytes of which %d are there", printable(b.kind), size, end-off)
		}
		b.end = off + size
		visit(b)
		off = b.end
	}
	return brokenAt(off, "too many boxes")
}

// printable makes a box's name fit for a message.
func printable(kind string) string {
	out := []byte(kind)
	for i, c := range out {
		if c < ' ' || c > '~' {
			out[i] = '?'
		}
	}
	return string(out)
}

// boxBrand tells CR3 and HEIF from other files made of boxes, by the major brand
// (ISO/IEC 23008-12 section 10 and annex B; Canon's is in ExifTool's QuickTime table).
func boxBrand(brand string) (string, error) {
	switch brand {
	case "crx ":
		return cr3File, nil
	case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "mif2", "msf1", "avif", "avis":
		return heifFile, nil
	}
	return "", &UnsupportedError{What{"a film or another file of boxes (%q), not a picture that is read here", []any{printable(brand)}}}
}

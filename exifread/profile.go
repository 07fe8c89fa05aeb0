package exifread

import (
	"bytes"
	"cmp"
	"compress/zlib"
	"encoding/binary"
	"io"
	"slices"
)

// maxProfile is the longest colour profile that is taken: display and printer profiles have
// a few megabytes at most.
const maxProfile = 4 << 20

// Profile gives the ICC colour profile of a JPEG, PNG or TIFF of size bytes; nil when there
// is none that can be read. Where it stands: ICC.1:2010 annex B (JPEG's APP2 segments, TIFF's
// tag 34675), PNG third edition section 11.3.2.3 (iCCP).
func Profile(r io.ReaderAt, size int64) []byte {
	src := newSource(r, size)
	kind, err := detect(src)
	if err != nil {
		return nil
	}
	var p []byte
	switch kind {
	case jpegFile:
		p = jpegProfile(src)
	case pngFile:
		p = pngProfile(src)
	case tiffFile:
		p = tiffProfile(src)
	}
	// A profile begins with its own length, and has "acsp" at byte 36 (section 7.2).
	if len(p) < 128 || string(p[36:40]) != "acsp" || int64(binary.BigEndian.Uint32(p)) != int64(len(p)) {
		return nil
	}
	return p
}

// jpegProfile joins the numbered pieces.
func jpegProfile(src *source) []byte {
	const name = "ICC_PROFILE\x00"
	type piece struct {
		number byte
		extent
	}
	var pieces []piece
	// What stands before damage is still good: the profile's own length tells if it is all.
	_ = segments(src, 2, src.size, func(s segment) bool {
		const head = len(name) + 2 // the piece's number and how many there are
		if s.marker != markAPP2 || s.length < head {
			return true
		}
		if raw, err := src.bytes(s.off, head); err == nil && bytes.HasPrefix(raw, []byte(name)) {
			pieces = append(pieces, piece{raw[len(name)], extent{s.off + int64(head), int64(s.length - head)}})
		}
		return true
	})
	slices.SortStableFunc(pieces, func(a, b piece) int { return cmp.Compare(a.number, b.number) })
	var parts []extent
	for _, p := range pieces {
		parts = append(parts, p.extent)
	}
	out, err := src.gather(parts, maxProfile)
	if err != nil {
		return nil
	}
	return out
}

// pngProfile inflates what follows the profile's name and the number of the method.
func pngProfile(src *source) []byte {
	var at chunk
	_ = chunks(src, func(c chunk) {
		if c.kind == "iCCP" {
			at = c
		}
	})
	if at.length == 0 || at.length > maxProfile {
		return nil
	}
	raw, err := src.bytes(at.off, int(at.length))
	if err != nil {
		return nil
	}
	i := bytes.IndexByte(raw, 0)
	if i < 0 || i+2 > len(raw) {
		return nil
	}
	z, err := zlib.NewReader(bytes.NewReader(raw[i+2:]))
	if err != nil {
		return nil
	}
	defer z.Close()
	out := make([]byte, maxProfile)
	n, _ := io.ReadFull(z, out) // what is missing, the profile's own length tells
	return out[:n]
}

func tiffProfile(src *source) []byte {
	const tagProfile = 34675
	b, first, err := header(src, 0, src.size)
	if err != nil {
		return nil
	}
	// A directory cut short may still have the tag.
	dir, _, _ := newDirReader().read(b, first)
	e, ok := dir.find(tagProfile)
	if !ok {
		return nil
	}
	out, err := dir.value(e, maxProfile)
	if err != nil {
		return nil
	}
	return out
}

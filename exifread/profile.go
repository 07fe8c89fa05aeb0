package exifread

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"io"
	"sort"
)

// maxProfile is the longest colour profile that is taken: display and printer profiles have
// a few megabytes at most.
const maxProfile = 8 << 20

// Profile gives the ICC colour profile in a whole JPEG, PNG or TIFF file; nil when there is none
// that can be read. Where it stands: ICC.1:2010 annex B (JPEG's APP2 segments, TIFF's
// tag 34675), PNG (iCCP).
func Profile(data []byte) []byte {
	var p []byte
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xD8}):
		p = jpegProfile(data)
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		p = pngProfile(data)
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")):
		p = tiffProfile(data)
	}
	// A profile begins with its own length, and has "acsp" at byte 36.
	if len(p) < 128 || len(p) > maxProfile || string(p[36:40]) != "acsp" || int64(binary.BigEndian.Uint32(p)) != int64(len(p)) {
		return nil
	}
	return p
}

// jpegProfile joins the numbered pieces.
func jpegProfile(data []byte) []byte {
	const name = "ICC_PROFILE\x00"
	type piece struct {
		number byte
		data   []byte
	}
	var pieces []piece
	src := newSource(bytes.NewReader(data), int64(len(data)))
	err := segments(src, 2, int64(len(data)), func(s segment) bool {
		if s.marker == 0xDA {
			return false
		}
		if s.marker != 0xE2 || s.end() > int64(len(data)) {
			return true
		}
		if body := data[s.off:s.end()]; bytes.HasPrefix(body, []byte(name)) && len(body) >= len(name)+2 {
			pieces = append(pieces, piece{body[len(name)], body[len(name)+2:]})
		}
		return true
	})
	if err != nil && len(pieces) == 0 {
		return nil
	}
	sort.SliceStable(pieces, func(i, j int) bool { return pieces[i].number < pieces[j].number })
	var out []byte
	for _, p := range pieces {
		out = append(out, p.data...)
	}
	return out
}

func pngProfile(data []byte) []byte {
	for off := 8; off+8 <= len(data); {
		n := int64(binary.BigEndian.Uint32(data[off:]))
		if n > int64(len(data)-off-8) {
			return nil
		}
		body := data[off+8 : off+8+int(n)]
		switch string(data[off+4 : off+8]) {
		case "iCCP":
			// Name, 0, method 0, zlib.
			i := bytes.IndexByte(body, 0)
			if i < 0 || i+2 > len(body) {
				return nil
			}
			z, err := zlib.NewReader(bytes.NewReader(body[i+2:]))
			if err != nil {
				return nil
			}
			out, err := io.ReadAll(io.LimitReader(z, maxProfile+1))
			if err != nil {
				return nil
			}
			return out
		case "IDAT":
			return nil
		}
		if off += 12 + int(n); off < 0 {
			return nil
		}
	}
	return nil
}

func tiffProfile(data []byte) []byte {
	var o binary.ByteOrder = binary.LittleEndian
	if len(data) < 8 {
		return nil
	}
	if data[0] == 'M' {
		o = binary.BigEndian
	}
	at := int64(o.Uint32(data[4:]))
	if at+2 > int64(len(data)) {
		return nil
	}
	n := int64(o.Uint16(data[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > int64(len(data)) {
			return nil
		}
		if o.Uint16(data[e:]) != 34675 {
			continue
		}
		length, off := int64(o.Uint32(data[e+4:])), int64(o.Uint32(data[e+8:]))
		if length > maxProfile || off+length > int64(len(data)) {
			return nil
		}
		return data[off : off+length]
	}
	return nil
}

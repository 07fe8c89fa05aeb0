package exifread

import (
	"bytes"
	"encoding/binary"
)

// JPEG markers (ITU-T T.81 table B.1).
const (
	markSOF0 = 0xC0
	markSOF2 = 0xC2
	markDHT  = 0xC4
	markJPG  = 0xC8
	markDAC  = 0xCC
	markRST0 = 0xD0
	markRST7 = 0xD7
	markSOI  = 0xD8
	markEOI  = 0xD9
	markSOS  = 0xDA
	markAPP1 = 0xE1
	markAPP2 = 0xE2
	markTEM  = 0x01
)

// segment is one marker segment; off and length are of what follows the length
// field.
type segment struct {
	marker byte
	off    int64
	length int
}

// end is where the next marker is looked for.
func (s segment) end() int64 { return s.off + int64(s.length) }

// maxSegments bounds a walk. An extended XMP of some megabytes makes a hundred.
const maxSegments = 4096

// segments calls visit for the marker segments from off (just behind SOI) to the
// first scan or EOI, until visit returns false. end bounds the stream; a segment
// that goes on beyond it is visited with what is there, and then reported.
func segments(src *source, off, end int64, visit func(segment) bool) error {
	for range maxSegments {
		var m [4]byte
		if off+2 > end {
			return brokenAt(off, "the JPEG stream ends before its picture begins")
		}
		if err := src.peek(off, m[:2]); err != nil {
			return err
		}
		if m[0] != 0xFF {
			return brokenAt(off, "no JPEG marker where one must stand")
		}
		switch {
		case m[1] == 0xFF: // fill byte (T.81 section B.1.1.2)
			off++
			continue
		case m[1] == markTEM, m[1] == markSOI, m[1] >= markRST0 && m[1] <= markRST7:
			off += 2 // markers without a segment
			continue
		case m[1] == markEOI:
			return brokenAt(off, "the JPEG stream ends without a picture")
		case m[1] == 0:
			return brokenAt(off, "no JPEG marker where one must stand")
		}
		raw, err := src.bytes(off, 4)
		if err != nil {
			return err
		}
		n := int(binary.BigEndian.Uint16(raw[2:]))
		s := segment{marker: m[1], off: off + 4, length: n - 2}
		if n < 2 {
			return brokenAt(off, "a JPEG segment of %d bytes cannot be", n)
		}
		if s.end() > end {
			s.length = int(max(0, end-s.off))
			visit(s)
			return brokenAt(off, "a JPEG segment has %d bytes of which %d are there", n-2, s.length)
		}
		if !visit(s) || s.marker == markSOS {
			return nil
		}
		off = s.end()
	}
	return brokenAt(off, "too many JPEG segments")
}

// isFrame tells a start-of-frame marker from the others in its range.
func isFrame(marker byte) bool {
	return marker >= markSOF0 && marker <= 0xCF && marker != markDHT && marker != markJPG && marker != markDAC
}

// frameSize reads width and height out of a start of frame (T.81 section B.2.2).
// usable: baseline or progressive Huffman with 8 bits and 1 or 3 components,
// which is what every decoder takes; the lossless frames of raw data are not.
func frameSize(src *source, s segment) (w, h int, usable bool) {
	raw, err := src.bytes(s.off, 6)
	if err != nil || s.length < 6 {
		return 0, 0, false
	}
	h, w = int(binary.BigEndian.Uint16(raw[1:])), int(binary.BigEndian.Uint16(raw[3:]))
	usable = s.marker <= markSOF2 && raw[0] == 8 && (raw[5] == 1 || raw[5] == 3) && w > 0 && h > 0
	return w, h, usable
}

// Identifiers at the head of APP segments: DC-008 section 4.7.2, XMP part 3 section
// 1.1.3, CIPA DC-007 section 5.
var (
	exifHead        = []byte("Exif\x00")
	xmpHead         = []byte("http://ns.adobe.com/xap/1.0/\x00")
	extendedXMPHead = []byte("http://ns.adobe.com/xmp/extension/\x00")
	mpfHead         = []byte("MPF\x00")
)

// jpeg reads a JPEG file: EXIF and XMP segments in whatever order they stand.
func (x *extractor) jpeg() error {
	m := x.m
	var own *Preview
	err := x.jpegStream(0, x.src.size, func(w, h int, ok bool) {
		if w > 0 && h > 0 {
			setIfNil(&m.Width, w)
			setIfNil(&m.Height, h)
		}
		if ok {
			own = &Preview{Offset: 0, Length: x.src.size, Width: w, Height: h}
		}
	})
	if own != nil {
		m.Preview, x.jpegs = own, nil // the file itself: its thumbnails do not matter
	}
	return err
}

// jpegStream reads the metadata of the JPEG stream that fills off to end, and
// hands the size in its frame header to size.
func (x *extractor) jpegStream(off, end int64, size func(w, h int, usable bool)) error {
	var exifs, xmps []segment
	var extended []segment
	err := segments(x.src, off+2, end, func(s segment) bool {
		switch {
		case s.marker == markAPP1:
			head, err := x.src.bytes(s.off, min(s.length, len(extendedXMPHead)))
			switch {
			case err != nil:
			case bytes.HasPrefix(head, exifHead):
				exifs = append(exifs, s)
			case bytes.HasPrefix(head, xmpHead):
				xmps = append(xmps, s)
			case bytes.HasPrefix(head, extendedXMPHead):
				extended = append(extended, s)
			}
		case isMPF(x.src, s):
			for _, p := range morePictures(x.src, s) {
				x.candidate(p.off, p.length)
			}
		case isFrame(s.marker):
			w, h, usable := frameSize(x.src, s)
			size(w, h, usable)
		}
		return true
	})
	x.exifSegments(exifs)
	for _, s := range xmps {
		n := int64(len(xmpHead))
		x.xmpAt(s.off+n, int64(s.length)-n)
	}
	x.extendedXMP(extended)
	return err
}

// isMPF tells the segment with the index of a multi-picture file.
func isMPF(src *source, s segment) bool {
	if s.marker != markAPP2 || s.length <= len(mpfHead) {
		return false
	}
	raw, err := src.bytes(s.off, len(mpfHead))
	return err == nil && bytes.Equal(raw, mpfHead)
}

// morePictures lists the pictures behind the first one (CIPA DC-007 section 5.2.3):
// entries of 16 bytes with the length and the offset from the index's TIFF header,
// which is 0 for the first picture. A broken index lists nothing.
func morePictures(src *source, s segment) (out []extent) {
	const tagMPEntry, entrySize, maxPictures = 0xB002, 16, 64
	b, first, err := header(src, s.off+int64(len(mpfHead)), s.end())
	if err != nil {
		return nil
	}
	dir, _, err := newDirReader().read(b, first)
	if err != nil {
		return nil
	}
	e, ok := dir.find(tagMPEntry)
	if !ok {
		return nil
	}
	raw, err := dir.value(e, entrySize*maxPictures)
	if err != nil {
		return nil
	}
	for ; len(raw) >= entrySize; raw = raw[entrySize:] {
		if off := int64(b.order.Uint32(raw[8:])); off != 0 {
			out = append(out, extent{b.base + off, int64(b.order.Uint32(raw[4:]))})
		}
	}
	return out
}

// exifSegments reads the EXIF blocks of a JPEG. One that does not begin with a
// byte order goes on where the one before ended: the way out that is in use for
// blocks over 64 KiB (ExifTool reads it so; no standard has it).
func (x *extractor) exifSegments(segs []segment) {
	const headLen = 6
	for i := 0; i < len(segs); {
		first := segs[i]
		i++
		var rest []segment
		for i < len(segs) && !x.beginsTIFF(segs[i].off+headLen) {
			rest = append(rest, segs[i])
			i++
		}
		if len(rest) == 0 {
			x.tiffBlock(x.src, first.off+headLen, first.end())
			continue
		}
		var parts []extent
		for _, s := range append([]segment{first}, rest...) {
			parts = append(parts, extent{s.off + headLen, int64(s.length - headLen)})
		}
		whole, err := x.src.gather(parts, maxValue)
		if err != nil {
			x.missing(err)
			continue
		}
		x.tiffBlock(x.memory(whole), 0, int64(len(whole)))
	}
}

func (x *extractor) beginsTIFF(off int64) bool {
	raw, err := x.src.bytes(off, 2)
	return err == nil && (string(raw) == "II" || string(raw) == "MM")
}

// memory makes a source of bytes gathered from several places, on a part of the same
// budget.
func (x *extractor) memory(data []byte) *source {
	s := newSource(bytes.NewReader(data), int64(len(data)))
	s.left = min(x.src.left, len(data)+windowSize*windowCount)
	x.src.left -= s.left
	return s
}

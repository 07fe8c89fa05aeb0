package exifread

import "encoding/binary"

// uuidLength is the length of the name at the head of a box of kind "uuid".
const uuidLength = 16

// Canon's boxes (ExifTool, QuickTime.pm and Canon.pm): where in moov the camera's
// TIFF blocks and thumbnail stand, the preview, and XMP.
const (
	canonUUID   = "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48"
	previewUUID = "\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16"
	xmpUUID     = "\xbe\x7a\xcf\xcb\x97\xa9\x42\xe8\x9c\x71\x99\x94\x91\xe3\xaf\xac"
)

// canonBlocks are the boxes with the TIFF blocks (CMT1 the 0th IFD, CMT2 the Exif
// IFD, CMT3 the maker note) and with the XMP packet.
type canonBlocks struct{ zeroth, exif, note, xmp box }

// cr3 reads Canon's third raw format, a file of boxes whose metadata are TIFF
// blocks.
func (x *extractor) cr3() error {
	var blocks canonBlocks
	err := boxes(x.src, 0, x.src.size, func(b box) {
		switch {
		case b.kind == "moov":
			x.level(b.body, b.end, func(b box) {
				switch {
				case b.kind == "trak":
					x.canonTrack(b)
				case b.kind == "uuid" && b.uuid(x.src) == canonUUID:
					x.canonMetadata(b, &blocks)
				}
			})
		case b.kind == "uuid" && b.uuid(x.src) == xmpUUID:
			blocks.xmp = b
		case b.kind == "uuid" && b.uuid(x.src) == previewUUID:
			// Eight bytes before the one box in it.
			x.level(b.body+uuidLength+8, b.end, func(b box) {
				if b.kind == "PRVW" {
					x.canonPicture(b)
				}
			})
		}
	})
	x.canonFacts(blocks)
	return err
}

// canonMetadata finds the blocks and the thumbnail in Canon's box.
func (x *extractor) canonMetadata(in box, blocks *canonBlocks) {
	x.level(in.body+uuidLength, in.end, func(b box) {
		switch b.kind {
		case "CMT1":
			blocks.zeroth = b
		case "CMT2":
			blocks.exif = b
		case "CMT3":
			blocks.note = b
		case "THMB":
			x.canonPicture(b)
		}
	})
}

// level visits boxes of an inner level, where a fault costs only what is there. At
// the end of a file that is cut off, the outermost level reports it for all.
func (x *extractor) level(off, end int64, visit func(box)) {
	if err := boxes(x.src, off, end, visit); err != nil && end < x.src.size {
		x.missing(err)
	}
}

// canonFacts takes over what the blocks say, in the order of their weight.
func (x *extractor) canonFacts(in canonBlocks) {
	zeroth, exif := x.blockDirectory(in.zeroth), x.blockDirectory(in.exif)
	x.exif(exif)
	x.exif(zeroth)
	w, ok1 := zeroth.uint(tagImageWidth)
	h, ok2 := zeroth.uint(tagImageLength)
	if ok1 && ok2 && w > 0 && h > 0 && w <= maxSide && h <= maxSide {
		setIfNil(&x.m.Width, int(w))
		setIfNil(&x.m.Height, int(h))
	}
	if in.note.kind != "" {
		if b, first, err := header(x.src, in.note.body, in.note.end); err == nil {
			x.readNote(b, first, (*extractor).canonNote)
		}
	}
	if in.xmp.kind != "" {
		x.xmpAt(in.xmp.body+uuidLength, in.xmp.end-in.xmp.body-uuidLength)
	}
}

// blockDirectory reads the first directory of a TIFF block in a box; an empty one
// when there is none.
func (x *extractor) blockDirectory(in box) *directory {
	dir := &directory{block: block{src: x.src, order: binary.LittleEndian}}
	if in.kind == "" {
		return dir
	}
	b, first, err := header(x.src, in.body, in.end)
	if err == nil {
		*dir, _, err = x.dirs.read(b, first)
	}
	if err != nil {
		x.missing(err)
	}
	return dir
}

// canonPicture notes the JPEG in a box PRVW or THMB. The fields before it give its
// size differently from version to version; the JPEG's own frame header is asked
// instead.
func (x *extractor) canonPicture(b box) {
	const fields = 16
	x.candidate(b.body+fields, b.end-b.body-fields)
}

// inside follows a path of boxes, the first of each kind; the box it returns has no
// kind where the path ends early.
func (x *extractor) inside(b box, path ...string) box {
	for _, kind := range path {
		var next box
		x.level(b.body, b.end, func(b box) {
			if b.kind == kind && next.kind == "" {
				next = b
			}
		})
		b = next
	}
	return b
}

// canonTrack notes the full-size JPEG: the one sample of a track (ISO/IEC 14496-12
// sections 8.7.3 stsz and 8.7.5 co64).
func (x *extractor) canonTrack(trak box) {
	table := x.inside(trak, "mdia", "minf", "stbl")
	sizes := x.inside(table, "stsz")
	chunks, width := x.inside(table, "co64"), int64(8)
	if chunks.kind == "" {
		chunks, width = x.inside(table, "stco"), 4
	}
	// stsz: version and flags, the size of every sample or 0, their count, sizes.
	// stco and co64: version and flags, count, offsets.
	size, ok1 := x.field(sizes, 4, 4)
	count, ok2 := x.field(sizes, 8, 4)
	if ok1 && ok2 && size == 0 && count > 0 {
		size, ok1 = x.field(sizes, 12, 4)
	}
	off, ok3 := x.field(chunks, 8, width)
	if ok1 && ok2 && ok3 && count == 1 {
		x.candidate(int64(off), int64(size))
	}
}

// field reads a big-endian number of 1, 2, 4 or 8 bytes at a place in a box.
func (x *extractor) field(b box, at, width int64) (uint64, bool) {
	if b.kind == "" || b.body+at+width > b.end {
		return 0, false
	}
	raw, err := x.src.bytes(b.body+at, int(width))
	if err != nil {
		return 0, false
	}
	var v uint64
	for _, c := range raw {
		v = v<<8 | uint64(c)
	}
	return v, true
}

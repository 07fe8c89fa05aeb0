package exifread

import "encoding/binary"

// Canon's boxes (ExifTool, QuickTime.pm and Canon.pm): where in moov the camera's
// TIFF blocks and thumbnail stand, the preview, and XMP.
const (
	canonUUID   = "\x85\xc0\xb6\x87\x82\x0f\x11\xe0\x81\x11\xf4\xce\x46\x2b\x6a\x48"
	previewUUID = "\xea\xf4\x2b\x5e\x1c\x98\x4b\x88\xb9\xfb\xb7\xdc\x40\x6e\x4d\x16"
	xmpUUID     = "\xbe\x7a\xcf\xcb\x97\xa9\x42\xe8\x9c\x71\x99\x94\x91\xe3\xaf\xac"
)

// cr3 reads Canon's third raw format, a file of boxes whose metadata are TIFF
// blocks: CMT1 the 0th IFD, CMT2 the Exif IFD, CMT3 the maker note.
func (x *extractor) cr3() error {
	var ifd0, exif, note box
	err := boxes(x.src, 0, x.src.size, func(b box) {
		switch b.kind {
		case "moov":
			x.level(b.body, b.end, func(b box) {
				switch {
				case b.kind == "uuid" && b.uuid(x.src) == canonUUID:
					x.level(b.body+16, b.end, func(b box) {
						switch b.kind {
						case "CMT1":
							ifd0 = b
						case "CMT2":
							exif = b
						case "CMT3":
							note = b
						case "THMB":
							x.canonPicture(b, 16)
						}
					})
				case b.kind == "trak":
					x.canonTrack(b)
				}
			})
		case "uuid":
			switch b.uuid(x.src) {
			case xmpUUID:
				x.xmpAt(b.body+16, b.end-b.body-16)
			case previewUUID:
				// Eight bytes before the one box in it.
				x.level(b.body+24, b.end, func(b box) {
					if b.kind == "PRVW" {
						x.canonPicture(b, 16)
					}
				})
			}
		}
	})
	x.canonBlocks(ifd0, exif, note)
	return err
}

// level visits boxes of an inner level, where a fault costs only what is there.
func (x *extractor) level(off, end int64, visit func(box)) {
	if err := boxes(x.src, off, end, visit); err != nil {
		x.missing(err)
	}
}

// canonBlocks reads the TIFF blocks together: the focal length is needed where
// the maker note is read.
func (x *extractor) canonBlocks(ifd0, exif, note box) {
	zeroth, second := x.blockDirectory(ifd0), x.blockDirectory(exif)
	x.exif(second, zeroth)
	w, ok1 := zeroth.uint(tagImageWidth)
	h, ok2 := zeroth.uint(tagImageLength)
	if ok1 && ok2 && w > 0 && h > 0 && w <= maxSide && h <= maxSide {
		setIfNil(&x.m.Width, int(w))
		setIfNil(&x.m.Height, int(h))
	}
	if note.kind != "" {
		if b, first, err := header(x.src, note.body, note.end); err == nil {
			x.readNote(b, first, (*extractor).canonNote)
		}
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

// canonPicture notes the JPEG in a box PRVW or THMB, which begins at bytes after
// the box's head. The fields before it give its size differently from version to
// version; the JPEG's own frame header is asked instead.
func (x *extractor) canonPicture(b box, at int64) {
	x.candidate(b.body+at, b.end-b.body-at)
}

// canonTrack notes the full-size JPEG: the one sample of a track (ISO/IEC 14496-12
// sections 8.7.3 stsz and 8.7.5 co64).
func (x *extractor) canonTrack(trak box) {
	var sizes, chunks box
	wide := false
	x.level(trak.body, trak.end, func(b box) {
		if b.kind != "mdia" {
			return
		}
		x.level(b.body, b.end, func(b box) {
			if b.kind != "minf" {
				return
			}
			x.level(b.body, b.end, func(b box) {
				if b.kind != "stbl" {
					return
				}
				x.level(b.body, b.end, func(b box) {
					switch b.kind {
					case "stsz":
						sizes = b
					case "stco", "co64":
						chunks, wide = b, b.kind == "co64"
					}
				})
			})
		})
	})
	// stsz: version and flags, the size of every sample or 0, their count, sizes.
	// stco and co64: version and flags, count, offsets.
	size, ok1 := x.field(sizes, 4, 4)
	count, ok2 := x.field(sizes, 8, 4)
	if ok1 && ok2 && size == 0 && count > 0 {
		size, ok1 = x.field(sizes, 12, 4)
	}
	width := int64(4)
	if wide {
		width = 8
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

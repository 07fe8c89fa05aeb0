package exifread

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// chunk is a PNG chunk (PNG third edition section 5.3).
type chunk struct {
	kind        string
	off, length int64 // of its data
}

// maxChunks bounds a walk; a writer that cuts 200 megapixels into 8 KiB makes
// some 100 000.
const maxChunks = 1 << 18

// chunks calls visit for every chunk up to IEND.
func chunks(src *source, visit func(chunk)) error {
	off := int64(8)
	for range maxChunks {
		var head [8]byte
		if err := src.peek(off, head[:]); err != nil {
			return err
		}
		c := chunk{string(head[4:]), off + 8, int64(binary.BigEndian.Uint32(head[:]))}
		if c.off+c.length+4 > src.size { // a checksum follows
			return &FormatError{off, fmt.Sprintf("the chunk %q is cut off", printable(c.kind))}
		}
		visit(c)
		if c.kind == "IEND" {
			return nil
		}
		off = c.off + c.length + 4
	}
	return &FormatError{off, "too many chunks"}
}

// png reads a PNG file: size from IHDR (section 11.2.1), EXIF from eXIf (11.3.4.5),
// XMP from the international text named for it (XMP part 3 section 1.1.5).
func (x *extractor) png() error {
	const xmpKey = "XML:com.adobe.xmp\x00\x00\x00"
	var exifs, texts []chunk
	err := chunks(x.src, func(c chunk) {
		switch {
		case c.kind == "IHDR" && c.length >= 8:
			if raw, err := x.src.bytes(c.off, 8); err == nil {
				w, h := binary.BigEndian.Uint32(raw), binary.BigEndian.Uint32(raw[4:])
				if w > 0 && h > 0 && w <= 1<<31-1 && h <= 1<<31-1 {
					setIfNil(&x.m.Width, int(w))
					setIfNil(&x.m.Height, int(h))
				}
			}
		case c.kind == "eXIf" && len(exifs) < 4:
			exifs = append(exifs, c)
		case c.kind == "iTXt" && len(texts) < 64:
			texts = append(texts, c)
		}
	})
	for _, c := range exifs {
		x.tiffBlock(x.src, c.off, c.off+c.length)
	}
	for _, c := range texts {
		head, err := x.src.bytes(c.off, int(min(c.length, int64(len(xmpKey)))))
		if err != nil || !bytes.HasPrefix(head, []byte(xmpKey[:len(xmpKey)-2])) {
			continue
		}
		x.pngXMP(c, len(xmpKey)-2)
	}
	return err
}

// pngXMP reads an iTXt chunk from behind its keyword: compression flag and method,
// then language and translated keyword, each closed by NUL (section 11.3.3.4).
func (x *extractor) pngXMP(c chunk, at int) {
	raw, err := x.src.bytes(c.off, int(min(c.length, maxXMP)))
	if err != nil || len(raw) < at+2 || raw[at] != 0 {
		return // a compressed packet is against XMP's own rule
	}
	raw = raw[at+2:]
	for range 2 {
		i := bytes.IndexByte(raw, 0)
		if i < 0 {
			return
		}
		raw = raw[i+1:]
	}
	x.xmp(raw)
}

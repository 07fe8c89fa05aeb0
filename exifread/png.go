package exifread

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"encoding/hex"
	"io"
	"strconv"
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
			return brokenAt(off, "the chunk %q is cut off", printable(c.kind))
		}
		visit(c)
		if c.kind == "IEND" {
			return nil
		}
		off = c.off + c.length + 4
	}
	return brokenAt(off, "too many chunks")
}

// png reads a PNG file: size from IHDR (section 11.2.1), EXIF from eXIf (11.3.4.5),
// XMP from the international text named for it (XMP part 3 section 1.1.5). Before there
// was eXIf, programs wrote EXIF as a text of hexadecimal digits (textProfile); it counts
// for less.
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
		case (c.kind == "iTXt" || c.kind == "tEXt" || c.kind == "zTXt") && len(texts) < 64:
			texts = append(texts, c)
		}
	})
	for _, c := range exifs {
		x.tiffBlock(x.src, c.off, c.off+c.length)
	}
	for _, c := range texts {
		const longestKey = 79 // section 11.3.3.2
		head, err := x.src.bytes(c.off, int(min(c.length, longestKey+1)))
		switch {
		case err != nil:
		case c.kind == "iTXt" && bytes.HasPrefix(head, []byte(xmpKey[:len(xmpKey)-2])):
			x.pngXMP(c, len(xmpKey)-2)
		case c.kind != "iTXt":
			for _, name := range []string{"exif", "APP1", "xmp"} {
				if key := "Raw profile type " + name + "\x00"; bytes.HasPrefix(head, []byte(key)) {
					x.textProfile(c, len(key))
				}
			}
		}
	}
	return err
}

// maxTextProfile bounds the text of a profile: its EXIF, at two digits a byte, has no more
// than the 64 KiB of a JPEG segment as a rule.
const maxTextProfile = 512 << 10

// textProfile reads a profile written as text, from behind its keyword: a line with its
// name, one with its length in decimal, then bytes as hexadecimal digits with line ends
// between. In zTXt the text is deflated behind a byte for the method (section 11.3.3.3).
// No standard has this form; it is told from files and from ExifTool's reader (PNG.pm).
func (x *extractor) textProfile(c chunk, at int) {
	raw, err := x.src.bytes(c.off, int(min(c.length, maxTextProfile)))
	if err == nil {
		raw = raw[at:]
		if c.kind == "zTXt" {
			raw, err = x.inflate(c.off, raw)
		}
	}
	var data []byte
	if err == nil {
		data, err = x.hexText(c.off, raw)
	}
	if err != nil {
		x.missing(brokenAt(c.off, "a text profile in the PNG is cut off or damaged"))
	}
	switch packet, ok := bytes.CutPrefix(data, []byte(xmpHead)); {
	case ok, bytes.HasPrefix(data, []byte("<")):
		x.xmp(packet)
	case len(data) > 0:
		data = bytes.TrimPrefix(data, []byte("Exif\x00\x00"))
		x.tiffBlock(x.memory(data), 0, int64(len(data)))
	}
}

// hexText decodes a text profile: what there is of it, and an error when that is not all.
func (x *extractor) hexText(off int64, text []byte) ([]byte, error) {
	var head [2][]byte // name, length
	for i := range head {
		text = bytes.TrimLeft(text, "\n ")
		n := bytes.IndexByte(text, '\n')
		if n < 0 {
			return nil, io.ErrUnexpectedEOF
		}
		head[i], text = text[:n], text[n:]
	}
	length, err := strconv.Atoi(string(head[1]))
	if err != nil || length < 0 {
		return nil, hex.ErrLength
	}
	if err := x.src.charge(off, len(text)); err != nil {
		return nil, err
	}
	digits := make([]byte, 0, len(text))
	for _, d := range text {
		if d != '\n' && d != ' ' {
			digits = append(digits, d)
		}
	}
	n, err := hex.Decode(digits, digits)
	if err == nil && n < length {
		err = io.ErrUnexpectedEOF
	}
	return digits[:min(n, length)], err
}

// inflate unpacks a deflated text of the chunk at off, which begins with the number of the
// method.
func (x *extractor) inflate(off int64, packed []byte) ([]byte, error) {
	if len(packed) < 1 {
		return nil, io.ErrUnexpectedEOF
	}
	r, err := zlib.NewReader(bytes.NewReader(packed[1:]))
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if err := x.src.charge(off, maxTextProfile); err != nil {
		return nil, err
	}
	out := make([]byte, maxTextProfile)
	n, err := io.ReadFull(r, out)
	if n > 0 {
		return out[:n], nil // what is not there is missed later
	}
	return nil, err
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

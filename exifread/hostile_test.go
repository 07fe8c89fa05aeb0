package exifread

import (
	"bytes"
	"encoding/binary"
	"testing"
)

// TestAmplification: files in which few bytes ask for much work or memory. checkAny
// holds the bound on memory; that the test ends at all holds the one on work.
func TestAmplification(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	block := func(exif ...tiffField) []byte { return append(l.header("II*\x00"), l.directory(8, 0, exif...)...) }
	filler := bytes.Repeat([]byte("<a b='c'/>"), 60<<10/10)
	tests := map[string][]byte{
		// Every item of a list is the same large stretch of the file.
		"HEIF items that overlap":   overlappingItems("Exif", 3000),
		"HEIF packets that overlap": overlappingItems("mime", 3000),
		// A hundred packets of markup.
		"XMP in a hundred segments": func() []byte {
			out := picture(t, 64, 48)
			for range 100 {
				out = withSegment(out, markAPP1, append(xmpPacket("1/2"), filler[:60000]...))
			}
			return out
		}(),
		"extended XMP that claims 4 GiB": withSegment(picture(t, 64, 48), markAPP1,
			append(append(bytes.Clone(extendedXMPHead), "0123456789ABCDEF0123456789ABCDEF"...), be32(0xFFFFFFFF, 0)...)),
		// Chunks of no bytes, as many as the file has room for.
		"PNG of empty chunks":  append([]byte("\x89PNG\r\n\x1a\n"), bytes.Repeat(pngChunk("tEXt", nil), 50000)...),
		"boxes of no bytes":    append(isoBox("ftyp", []byte("crx "), be32(0)), bytes.Repeat(isoBox("free"), 50000)...),
		"boxes in boxes":       nestedBoxes(2000),
		"JPEG of fill bytes":   append([]byte{0xFF, 0xD8}, bytes.Repeat([]byte{0xFF}, 300000)...),
		"segments of no bytes": append([]byte{0xFF, 0xD8}, bytes.Repeat([]byte{0xFF, 0xE1, 0, 2}, 50000)...),
		"every entry a directory": block(l.long(tagSubIFDs, func() (v []uint32) {
			for i := range uint32(4000) {
				v = append(v, 8+12*i)
			}
			return v
		}()...)),
	}
	// Every directory of a chain lists the same quarter of a megabyte as its strips.
	tests["strips that overlap"] = func() []byte {
		const dirs, count = 90, 1 << 18
		size := 2 + 3*12 + 4
		shared := uint32(8 + dirs*size)
		out := l.header("II*\x00")
		for i := range dirs {
			at := 8 + i*size
			next := uint32(at + size)
			if i == dirs-1 {
				next = 0
			}
			out = append(out, l.u16(3)...)
			for _, tag := range []uint16{tagStripOffsets, tagStripCounts, tagTileOffsets} {
				out = append(out, l.u16(tag, typeByte)...)
				out = append(out, l.u32(count, shared)...)
			}
			out = append(out, l.u32(next)...)
		}
		return append(out, make([]byte, count)...)
	}()
	// Ninety EXIF blocks in which every field is the same kilobyte.
	tests["EXIF blocks with overlapping fields"] = func() []byte {
		fields := make([]byte, 0, 12*len(wanted))
		for tag := range wanted {
			fields = append(fields, l.u16(tag, typeByte)...)
			fields = append(fields, l.u32(1024, uint32(8+2+12*len(wanted)+4))...)
		}
		exif := bytes.Join([][]byte{[]byte("Exif\x00\x00"), l.header("II*\x00"), l.u16(uint16(len(wanted))),
			fields, l.u32(0), make([]byte, 1024)}, nil)
		out := picture(t, 64, 48)
		for range 90 {
			out = withSegment(out, markAPP1, exif)
		}
		return out
	}()
	for name, data := range tests {
		t.Run(name, func(t *testing.T) { checkAny(t, data) })
	}
}

// overlappingItems makes a meta box with n items of one kind that all are the same
// 200 kB behind it.
func overlappingItems(kind string, n int) []byte {
	const length = 200 << 10
	ftyp := isoBox("ftyp", []byte("heic"), be32(0))
	meta := func(at uint32) []byte {
		var infos, places []byte
		for i := range n {
			infos = append(infos, isoBox("infe", be32(2<<24), be16(uint16(i+1), 0), []byte(kind), []byte("\x00application/rdf+xml\x00"))...)
			places = append(places, append(be16(uint16(i+1), 0, 2), be32(at, length/2, at, length/2)...)...)
		}
		return isoBox("meta", be32(0), isoBox("iinf", be32(0), be16(uint16(n)), infos),
			isoBox("iloc", be32(0), be16(0x4400, uint16(n)), places))
	}
	at := len(ftyp) + len(meta(0)) + 8
	return bytes.Join([][]byte{ftyp, meta(uint32(at)), isoBox("mdat", make([]byte, length))}, nil)
}

func nestedBoxes(depth int) []byte {
	out := []byte("inside")
	for i := range depth {
		out = isoBox([]string{"moov", "trak", "mdia", "minf", "stbl"}[i%5], out)
	}
	return append(isoBox("ftyp", []byte("crx "), be32(0)), out...)
}

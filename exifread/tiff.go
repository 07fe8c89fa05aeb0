package exifread

import (
	"encoding/binary"
	"fmt"
)

// TIFF field types (TIFF 6.0 section 2 "Types"; 13 is IFD of Adobe's TIFF
// Technical Note 1, 129 is UTF-8 of Exif 3.0).
const (
	typeByte      = 1
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeRational  = 5
	typeSByte     = 6
	typeUndefined = 7
	typeSShort    = 8
	typeSLong     = 9
	typeSRational = 10
	typeFloat     = 11
	typeDouble    = 12
	typeIFD       = 13
	typeUTF8      = 129
)

// typeSize gives the bytes of one value, 0 for a type that does not exist.
func typeSize(typ uint16) int64 {
	switch typ {
	case typeByte, typeASCII, typeSByte, typeUndefined, typeUTF8:
		return 1
	case typeShort, typeSShort:
		return 2
	case typeLong, typeSLong, typeFloat, typeIFD:
		return 4
	case typeRational, typeSRational, typeDouble:
		return 8
	}
	return 0
}

// block is a stretch of a source in which TIFF offsets count from one place.
type block struct {
	src *source
	// base is where offset 0 lies. It may be negative in a note that was moved
	// together with its old offsets.
	base int64
	// start and end bound what may be read.
	start, end int64
	order      binary.ByteOrder
}

// entry is one field of a directory whose value lies within its block.
type entry struct {
	tag, typ uint16
	count    uint32
	at       int64 // of the value, from the start of the source
	size     int64
}

// directory is an IFD (TIFF 6.0 section 2 "Image File Directory").
type directory struct {
	block
	at      int64
	entries []entry
	next    int64 // offset of the following one in the block, 0 for none
}

// Bounds on what one file may make us walk. The largest directories seen in
// camera files have some 250 entries, the most directories some 30.
const (
	maxDirectories = 96
	maxEntries     = 8192
)

// dirReader reads directories, each place once, and no more than the bounds.
type dirReader struct {
	seen        map[int64]bool
	entriesLeft int
}

func newDirReader() *dirReader {
	return &dirReader{seen: make(map[int64]bool), entriesLeft: maxEntries}
}

// header checks a TIFF header at off in src and returns the block from there to
// end, with the offset of the first directory. The magic number is not checked:
// raw formats change it.
func header(src *source, off, end int64) (b block, first int64, err error) {
	head, err := src.bytes(off, 8)
	if err != nil {
		return block{}, 0, err
	}
	b = block{src: src, base: off, start: off, end: end}
	switch string(head[:2]) {
	case "II":
		b.order = binary.LittleEndian
	case "MM":
		b.order = binary.BigEndian
	default:
		return block{}, 0, &FormatError{off, "a TIFF block must begin with II or MM"}
	}
	return b, int64(b.order.Uint32(head[4:])), nil
}

// read reads the directory at offset off of b. Entries whose type does not exist
// or whose value lies outside the block are left out, and lost says how many of
// the latter there were. When the directory itself is cut off, it returns what
// is there together with the error.
func (d *dirReader) read(b block, off int64) (dir directory, lost int, err error) {
	at := b.base + off
	dir = directory{block: b, at: at}
	if at < b.start || at > b.end-2 {
		return dir, 0, &FormatError{at, "a directory is announced here but the block ends before"}
	}
	if d.seen[at] {
		return dir, 0, &FormatError{at, "the directories form a loop"}
	}
	if len(d.seen) >= maxDirectories {
		return dir, 0, &FormatError{at, "too many directories"}
	}
	d.seen[at] = true
	head, err := b.src.bytes(at, 2)
	if err != nil {
		return dir, 0, err
	}
	claimed := int(b.order.Uint16(head))
	n := claimed
	if room := int((b.end - at - 2) / 12); n > room {
		n = room
	}
	n = min(n, d.entriesLeft)
	d.entriesLeft -= n
	raw, err := b.src.bytes(at+2, 12*n)
	if err != nil {
		return dir, 0, err
	}
	dir.entries = make([]entry, 0, n)
	for i := range n {
		e, ok, inside := b.entry(raw[12*i:], at+2+12*int64(i))
		if !inside {
			lost++
		}
		if ok {
			dir.entries = append(dir.entries, e)
		}
	}
	if n < claimed {
		return dir, lost, &FormatError{at, fmt.Sprintf("the directory claims %d entries, %d could be read", claimed, n)}
	}
	if end := at + 2 + 12*int64(n); end+4 <= b.end {
		if raw, err := b.src.bytes(end, 4); err == nil {
			dir.next = int64(b.order.Uint32(raw))
		}
	}
	return dir, lost, nil
}

// entry decodes the 12 bytes of an entry that stand at pos. ok: it can be used;
// inside: its value does not lie beyond the block.
func (b block) entry(raw []byte, pos int64) (e entry, ok, inside bool) {
	e = entry{
		tag:   b.order.Uint16(raw),
		typ:   b.order.Uint16(raw[2:]),
		count: b.order.Uint32(raw[4:]),
	}
	unit := typeSize(e.typ)
	e.size = unit * int64(e.count)
	if e.size == 0 {
		return e, false, true
	}
	if e.size <= 4 {
		e.at = pos + 8
		return e, true, true
	}
	e.at = b.base + int64(b.order.Uint32(raw[8:]))
	if e.at < b.start || e.size > b.end-e.at {
		return e, false, false
	}
	return e, true, true
}

// find returns the first entry with the tag.
func (d *directory) find(tag uint16) (entry, bool) {
	for _, e := range d.entries {
		if e.tag == tag {
			return e, true
		}
	}
	return entry{}, false
}

// maxValue bounds one value held in memory.
const maxValue = 1 << 20

// value returns the bytes of an entry, at most limit of them.
func (b block) value(e entry, limit int64) ([]byte, error) {
	return b.src.bytes(e.at, int(min(e.size, limit, maxValue)))
}

// uints returns up to limit values of an entry of whole numbers, nil for any
// other type or when they cannot be read. A signed value keeps its bits.
func (b block) uints(e entry, limit int) []uint32 {
	unit := typeSize(e.typ)
	switch e.typ {
	case typeByte, typeUndefined, typeShort, typeLong, typeIFD, typeSByte, typeSShort, typeSLong:
	default:
		return nil
	}
	raw, err := b.value(e, int64(limit)*unit)
	if err != nil {
		return nil
	}
	n := len(raw) / int(unit)
	if b.src.charge(e.at, 4*n) != nil {
		return nil
	}
	out := make([]uint32, 0, n)
	for ; len(raw) >= int(unit); raw = raw[unit:] {
		switch unit {
		case 1:
			out = append(out, uint32(raw[0]))
		case 2:
			out = append(out, uint32(b.order.Uint16(raw)))
		default:
			out = append(out, b.order.Uint32(raw))
		}
	}
	return out
}

// uint returns the first value of a tag of whole numbers.
func (d *directory) uint(tag uint16) (v uint32, ok bool) {
	e, ok := d.find(tag)
	if !ok {
		return 0, false
	}
	vs := d.uints(e, 1)
	if len(vs) == 0 {
		return 0, false
	}
	return vs[0], true
}

// all returns the values of a tag of whole numbers, at most limit of them.
func (d *directory) all(tag uint16, limit int) []uint32 {
	e, ok := d.find(tag)
	if !ok {
		return nil
	}
	return d.uints(e, limit)
}

// text returns a tag's text.
func (d *directory) text(tag uint16) string {
	e, ok := d.find(tag)
	if !ok {
		return ""
	}
	raw, err := d.value(e, maxText)
	if err != nil {
		return ""
	}
	return clean(raw)
}

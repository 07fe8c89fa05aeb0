package exifread

import (
	"encoding/binary"
	"math"
)

// TIFF field types (TIFF 6.0 section 2 "Types"; 13 is IFD of Adobe's TIFF
// Technical Note 1, 16 to 18 are of BigTIFF, 129 is UTF-8 of Exif 3.0).
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
	typeLong8     = 16
	typeSLong8    = 17
	typeIFD8      = 18
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
	case typeRational, typeSRational, typeDouble, typeLong8, typeSLong8, typeIFD8:
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
	// big: the directories are those of BigTIFF, the extension of TIFF 6.0 for large
	// files that DNG 1.6 allows (its layout by the LibTIFF project's page "BigTIFF
	// Design", from memory): numbers and offsets take 8 bytes where they took 2 or 4.
	big bool
}

// The parts of a directory in bytes: how many entries there are, an entry, a value in it
// or its offset.
func (b block) sizes() (count, entry, value int64) {
	if b.big {
		return 8, 20, 8
	}
	return 2, 12, 4
}

// offset decodes an offset; one beyond what a file can hold lies beyond every end.
func (b block) offset(raw []byte) int64 {
	if !b.big {
		return int64(b.order.Uint32(raw))
	}
	return int64(min(b.order.Uint64(raw), math.MaxInt64/4))
}

// entry is one field of a directory whose value lies within its block.
type entry struct {
	tag, typ uint16
	count    uint64
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
		return block{}, 0, brokenAt(off, "a TIFF block must begin with II or MM")
	}
	if b.order.Uint16(head[2:]) != 43 {
		return b, b.offset(head[4:]), nil
	}
	// The number of bytes of an offset, and zeros, go before the first one.
	if head, err = src.bytes(off, 16); err != nil {
		return block{}, 0, err
	}
	if b.order.Uint16(head[4:]) != 8 || b.order.Uint16(head[6:]) != 0 {
		return block{}, 0, brokenAt(off, "the offsets of this BigTIFF are not 8 bytes long")
	}
	b.big = true
	return b, b.offset(head[8:]), nil
}

// read reads the directory at offset off of b. Entries whose type does not exist
// or whose value lies outside the block are left out, and lost says how many of
// the latter there were. When the directory itself is cut off, it returns what
// is there together with the error.
func (d *dirReader) read(b block, off int64) (dir directory, lost int, err error) {
	at := b.base + off
	dir = directory{block: b, at: at}
	countLen, entryLen, valueLen := b.sizes()
	if at < b.start || at > b.end-countLen {
		return dir, 0, brokenAt(at, "a directory is announced here but the block ends before")
	}
	if d.seen[at] {
		return dir, 0, brokenAt(at, "the directories form a loop")
	}
	if len(d.seen) >= maxDirectories {
		return dir, 0, brokenAt(at, "too many directories")
	}
	d.seen[at] = true
	head, err := b.src.bytes(at, int(countLen))
	if err != nil {
		return dir, 0, err
	}
	claimed := uint64(b.order.Uint16(head))
	if b.big {
		claimed = b.order.Uint64(head)
	}
	n := int(min(claimed, uint64((b.end-at-countLen)/entryLen), uint64(d.entriesLeft)))
	d.entriesLeft -= n
	raw, err := b.src.bytes(at+countLen, n*int(entryLen))
	if err != nil {
		return dir, 0, err
	}
	dir.entries = make([]entry, 0, n)
	for i := range int64(n) {
		e, ok, inside := b.entry(raw[entryLen*i:], at+countLen+entryLen*i)
		if !inside {
			lost++
		}
		if ok {
			dir.entries = append(dir.entries, e)
		}
	}
	if uint64(n) < claimed {
		return dir, lost, brokenAt(at, "the directory claims %d entries, %d could be read", claimed, n)
	}
	if end := at + countLen + entryLen*int64(n); end+valueLen <= b.end {
		if raw, err := b.src.bytes(end, int(valueLen)); err == nil {
			dir.next = b.offset(raw)
		}
	}
	return dir, lost, nil
}

// entry decodes the bytes of an entry that stand at pos. ok: it can be used;
// inside: its value does not lie beyond the block.
func (b block) entry(raw []byte, pos int64) (e entry, ok, inside bool) {
	_, entryLen, valueLen := b.sizes()
	valueAt := entryLen - valueLen
	e = entry{tag: b.order.Uint16(raw), typ: b.order.Uint16(raw[2:]), count: uint64(b.order.Uint32(raw[4:]))}
	if b.big {
		e.count = min(b.order.Uint64(raw[4:]), math.MaxInt64/64)
	}
	unit := typeSize(e.typ)
	e.size = unit * int64(e.count)
	if e.size == 0 {
		return e, false, true
	}
	if e.size <= valueLen {
		e.at = pos + valueAt
		return e, true, true
	}
	e.at = b.base + b.offset(raw[valueAt:])
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
// other type or when they cannot be read. A signed value keeps its bits. A value that
// takes more than 32 bits, such as an offset beyond 4 GiB, becomes the largest that does
// not: nothing is looked for there.
func (b block) uints(e entry, limit int) []uint32 {
	unit := typeSize(e.typ)
	switch e.typ {
	case typeByte, typeUndefined, typeShort, typeLong, typeIFD, typeSByte, typeSShort, typeSLong, typeLong8, typeIFD8:
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
		case 8:
			out = append(out, uint32(min(b.order.Uint64(raw), math.MaxUint32)))
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

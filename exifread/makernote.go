package exifread

import (
	"bytes"
	"encoding/binary"
	"strings"
)

// Maker notes follow no standard. What is read here, and how each maker lays out
// its note, is in the public tables of ExifTool (lib/Image/ExifTool/*.pm) and
// exiv2 (src/*mn_int.cpp); the names in FocusDistance.Source are ExifTool's.

// note is how one maker's note begins.
type note struct {
	// magic is what the note begins with, "" for a note that begins with its
	// directory and is known by Make only.
	magic string
	// maker is how Make begins, in capitals, "" where magic is enough.
	maker string
	// at is where the directory begins, from the start of the note.
	at int64
	// own: offsets count from the start of the note, not of the EXIF block.
	own  bool
	read func(x *extractor, d *directory)
}

// notes lists the layouts that are read; the first that fits is taken.
var notes = []note{
	{magic: "Apple iOS\x00", at: 14, own: true, read: (*extractor).appleNote},
	{magic: "OLYMPUS\x00", at: 12, own: true, read: (*extractor).olympusNote},
	{magic: "OM SYSTEM\x00", at: 16, own: true, read: (*extractor).olympusNote},
	{magic: "OLYMP\x00", at: 8, read: (*extractor).olympusNote},
	{magic: "Panasonic\x00", at: 12, read: (*extractor).panasonicNote},
	{magic: "QVC\x00\x00\x00", at: 6, read: (*extractor).casioNote2},
	{magic: "DCI\x00\x00\x00", at: 6, read: (*extractor).casioNote2},
	{magic: "SONY DSC \x00", at: 12, read: (*extractor).sonyNote},
	{magic: "SONY CAM \x00", at: 12, read: (*extractor).sonyNote},
	{magic: "FUJIFILM", at: 12, own: true, read: (*extractor).fujifilmNote},
	{maker: "CANON", read: (*extractor).canonNote},
	{maker: "NIKON", read: (*extractor).nikonNote},
	{maker: "MINOLTA", read: (*extractor).minoltaNote},
	{maker: "KONICA MINOLTA", read: (*extractor).minoltaNote},
	{maker: "CASIO", read: (*extractor).casioNote1},
	{maker: "SONY", read: (*extractor).sonyNote},
}

// makerNote reads the note that entry e of block b holds.
func (x *extractor) makerNote(b block, e entry) {
	const longestHead = 18
	head, err := b.value(e, longestHead)
	if err != nil {
		x.missing(err)
		return
	}
	// The third layout of Nikon's note holds a TIFF block of its own.
	if bytes.HasPrefix(head, []byte("Nikon\x00\x02")) {
		own, first, err := header(b.src, e.at+10, b.end)
		if err == nil {
			x.readNote(own, first, (*extractor).nikonNote)
		}
		return
	}
	if bytes.HasPrefix(head, []byte("Nikon\x00")) {
		return // the layout of early compact cameras, which has nothing of use here
	}
	maker := strings.ToUpper(x.m.Make)
	for _, n := range notes {
		if !bytes.HasPrefix(head, []byte(n.magic)) || !strings.HasPrefix(maker, n.maker) {
			continue
		}
		if n.own {
			b = ownBlock(b, e, head)
		}
		x.readNote(b, e.at+n.at-b.base, n.read)
		return
	}
}

// ownBlock makes the block of a note whose offsets count from its own start. The
// byte order is that of a mark near the head, else of the EXIF block.
func ownBlock(b block, e entry, head []byte) block {
	own := block{src: b.src, base: e.at, start: e.at, end: b.end, order: b.order}
	for _, at := range []int{8, 12} {
		if len(head) >= at+2 {
			switch string(head[at : at+2]) {
			case "II":
				own.order = binary.LittleEndian
			case "MM":
				own.order = binary.BigEndian
			}
		}
	}
	if bytes.HasPrefix(head, []byte("FUJIFILM")) {
		own.order = binary.LittleEndian
	}
	return own
}

// readNote reads the directory at off and hands it to its maker's reader. Some
// notes are written in the other byte order than the block around them; a count of
// entries whose high byte is the larger gives them away.
func (x *extractor) readNote(b block, off int64, read func(*extractor, *directory)) {
	b.big = false // a note is carried over as the camera wrote it
	raw, err := b.src.bytes(b.base+off, 2)
	if err != nil {
		return
	}
	if n := b.order.Uint16(raw); n>>8 > n&0xFF {
		b.order = other(b.order)
	}
	// A note is a private matter: its faults cost its own facts and no more.
	dir, _, err := x.dirs.read(b, off)
	if err != nil && len(dir.entries) == 0 {
		x.missing(err)
		return
	}
	read(x, &dir)
}

func other(o binary.ByteOrder) binary.ByteOrder {
	if o == binary.ByteOrder(binary.BigEndian) {
		return binary.LittleEndian
	}
	return binary.BigEndian
}

// movedMakerNote reads the note that a DNG converter kept in DNGPrivateData:
// "Adobe", then records of a name, a length, and for the note ("MakN") its byte
// order and the offset at which it stood before (ExifTool, DNG.pm).
func (x *extractor) movedMakerNote(b block, e entry) {
	head, err := b.value(e, 20)
	if err != nil || len(head) < 20 || string(head[:10]) != "Adobe\x00MakN" {
		return
	}
	length := int64(binary.BigEndian.Uint32(head[10:]))
	was := int64(binary.BigEndian.Uint32(head[16:]))
	at := e.at + 20
	end := min(at+length-6, e.at+e.size)
	moved := block{src: b.src, base: at - was, start: at, end: end, order: binary.LittleEndian}
	if string(head[14:16]) == "MM" {
		moved.order = binary.BigEndian
	}
	if end > at {
		x.makerNote(moved, entry{tag: tagMakerNote, typ: typeUndefined, count: uint64(end - at), at: at, size: end - at})
	}
}

// distance takes over a focus distance unless one is known already. EXIF's own tag is
// read first, then the maker's note, and XMP last: its value is what some converter
// made of the maker's.
func (x *extractor) distance(d *FocusDistance) {
	if d != nil && x.m.FocusDistance == nil {
		x.m.FocusDistance = d
	}
}

// millimetres makes a distance of whole millimetres.
func millimetres(v uint32, infinite bool, source string) *FocusDistance {
	if infinite {
		return &FocusDistance{Infinity: true, Source: source}
	}
	if v == 0 {
		return nil
	}
	d := exactDistance(float64(v)/1000, source)
	d.StepM = 0.001
	return d
}

// fractions returns the first four fractions of an entry, 0 for what is not there.
func (b block) fractions(e entry) (v [4]float64) {
	if e.typ != typeRational {
		return v
	}
	raw, err := b.value(e, 32)
	if err != nil {
		return v
	}
	for i := 0; i < 4 && len(raw) >= 8; i, raw = i+1, raw[8:] {
		if den := b.order.Uint32(raw[4:]); den > 0 {
			v[i] = float64(b.order.Uint32(raw)) / float64(den)
		}
	}
	return v
}

// Wordings of Metadata.ShutterMode.
const (
	mechanical   = "mechanical"
	firstCurtain = "electronic first curtain"
	electronic   = "electronic"
)

// shutterMode takes over a maker's number for what the shutter did.
func (x *extractor) shutterMode(names map[uint32]string, v uint32) {
	setText(&x.m.ShutterMode, names[v])
}

package exifread

import (
	"bytes"
	"encoding/binary"
	"math"
	"strconv"
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
		x.makerNote(moved, entry{tag: tagMakerNote, typ: typeUndefined, count: uint32(end - at), at: at, size: end - at})
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

// between makes a distance of two limits in whole centimetres, in any order; 0
// means that one is not known, infinity and above that it is infinite.
func between(a, b, infinity uint32, source string) *FocusDistance {
	if a == 0 || b == 0 {
		a, b = max(a, b), max(a, b)
	}
	near, far := min(a, b), max(a, b)
	if far == 0 {
		return nil
	}
	d := &FocusDistance{Infinity: far >= infinity, Source: source}
	if near < infinity {
		n := float64(near) / 100
		d.NearM, d.StepM = &n, 0.01
	}
	if far < infinity {
		f := float64(far) / 100
		d.FarM = &f
	}
	return d
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

// canonNote reads Canon's note (ExifTool, Canon.pm). Arrays of 16-bit numbers begin
// with their own length in bytes, so that index 1 is the first value.
func (x *extractor) canonNote(d *directory) {
	const (
		shotInfo = 0x0004
		serial   = 0x000C
		fileInfo = 0x0093
		lens     = 0x0095
		focusing = 0x4053
	)
	x.lens(d.text(lens))
	if v, ok := d.uint(serial); ok && v > 0 && x.m.Serial == "" {
		x.m.Serial = strconv.FormatUint(uint64(v), 10)
	}
	file := d.all(fileInfo, 32)
	shot := d.all(shotInfo, 32)
	// Both give the distance in whole centimetres; above 655.345 m it is infinite.
	const infinity = 0xFFFF
	if len(file) > 21 && file[20] != 0 {
		x.distance(between(file[20], file[21], infinity, "Canon.FocusDistanceUpper"))
	}
	if len(shot) > 20 && shot[19] != 0 {
		x.distance(between(shot[19], shot[20], infinity, "Canon.FocusDistanceUpper"))
	}
	if len(shot) > 2 {
		x.canonSensitivity(shot[1], shot[2])
	}
	if len(file) > 23 {
		x.shutterMode(map[uint32]string{0: mechanical, 1: firstCurtain, 2: electronic}, file[23])
	}
	series := d.all(focusing, 4)
	if len(series) > 1 && series[1] == 1 && len(file) > 5 && file[5] > 0 && file[5] < 1000 {
		setIfNil(&x.m.BracketShot, int(file[5]))
	}
}

// canonSensitivity makes an ISO value of the base value and what the automatic
// made of it, both 32nds of a stop, for cameras that leave EXIF's tag out.
func (x *extractor) canonSensitivity(auto, base uint32) {
	a, b := float64(int16(auto)), float64(int16(base))
	if b <= 0 || b > 1000 || math.Abs(a) > 500 {
		return
	}
	iso := math.Exp2(b/32) * 100 / 32 * math.Exp2(a/32)
	setIfNil(&x.m.ISO, int(math.Round(iso)))
}

// nikonNote reads the second and third layout of Nikon's note (ExifTool, Nikon.pm).
func (x *extractor) nikonNote(d *directory) {
	const (
		previewIFD  = 0x0011
		serial      = 0x001D
		isoInfo     = 0x0025
		shutterMode = 0x0034
		lensRanges  = 0x0084
		manualFocus = 0x0085
		lensData    = 0x0098
	)
	setText(&x.m.Serial, d.text(serial))
	if e, ok := d.find(lensRanges); ok {
		x.lensByRange(lensRange(d.fractions(e)))
	}
	if v, ok := d.uint(shutterMode); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 80: mechanical, 16: electronic, 96: electronic,
			48: firstCurtain, 81: firstCurtain}, v)
	}
	if e, ok := d.find(manualFocus); ok && e.typ == typeRational {
		if raw, err := d.value(e, 8); err == nil && len(raw) == 8 {
			x.distance(distanceOf(int64(d.order.Uint32(raw)), int64(d.order.Uint32(raw[4:])), "Nikon.ManualFocusDistance"))
		}
	}
	if e, ok := d.find(lensData); ok {
		if raw, err := d.value(e, 32); err == nil {
			x.distance(nikonLensData(raw))
		}
	}
	if e, ok := d.find(isoInfo); ok && e.typ == typeUndefined {
		if raw, err := d.value(e, 1); err == nil && raw[0] > 0 {
			setIfNil(&x.m.ISO, int(math.Round(100*math.Exp2(float64(raw[0])/12-5))))
		}
	}
	if off, ok := d.uint(previewIFD); ok {
		if sub, _, err := x.dirs.read(d.block, int64(off)); err == nil {
			x.announced(&sub)
		}
	}
}

// nikonLensData reads the distance in the one plain version of LensData that has
// it, 0101: a byte v, 0.01 m x 10^(v/40), 0 for infinity. ExifTool calls it
// approximate. From 0201 on the block is enciphered.
func nikonLensData(raw []byte) *FocusDistance {
	const source = "Nikon.LensData.FocusDistance"
	if len(raw) < 10 || string(raw[:4]) != "0101" {
		return nil
	}
	v := float64(raw[9])
	if v == 0 {
		return &FocusDistance{Infinity: true, Source: source}
	}
	d := exactDistance(0.01*math.Pow(10, v/40), source)
	d.StepM = *d.NearM * (math.Pow(10, 1.0/40) - 1) // to the next byte
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

// olympusNote reads the note of Olympus and OM (ExifTool, Olympus.pm).
func (x *extractor) olympusNote(d *directory) {
	const (
		manualFocus   = 0x100C
		previewValid  = 0x1035
		previewStart  = 0x1036
		previewLength = 0x1037
		equipment     = 0x2010
		settings      = 0x2020
		focusInfo     = 0x2050
	)
	if e, ok := d.find(manualFocus); ok && e.typ == typeRational {
		if raw, err := d.value(e, 8); err == nil && len(raw) == 8 {
			num, den := d.order.Uint32(raw), d.order.Uint32(raw[4:])
			if den > 0 && num/den > 0 {
				x.distance(millimetres(num/den, num == math.MaxUint32, "Olympus.ManualFocusDistance"))
			}
		}
	}
	if v, ok := d.uint(previewValid); !ok || v != 0 {
		x.olympusPreview(d, previewStart, previewLength)
	}
	if sub := x.subdirectory(d, equipment); sub != nil {
		const serial, lensModel = 0x0101, 0x0203
		setText(&x.m.Serial, sub.text(serial))
		x.lens(sub.text(lensModel))
	}
	if sub := x.subdirectory(d, settings); sub != nil {
		x.olympusSettings(sub)
	}
	if sub := x.subdirectory(d, focusInfo); sub != nil {
		const steps, distance = 0x0301, 0x0305
		if v, ok := sub.uint(steps); ok {
			setIfNil(&x.m.FocusStep, int(v))
		}
		// Written as a fraction, but the numerator alone is millimetres whatever stands
		// below it.
		if e, ok := sub.find(distance); ok && e.typ == typeRational {
			if raw, err := sub.value(e, 4); err == nil {
				v := sub.order.Uint32(raw)
				x.distance(millimetres(v, v == math.MaxUint32, "Olympus.FocusDistance"))
			}
		}
	}
}

// olympusSettings reads CameraSettings: what the shutter did, whether the camera
// stepped the focus by itself, whether it blended, and where its preview stands.
func (x *extractor) olympusSettings(d *directory) {
	const (
		previewStart  = 0x0101
		previewLength = 0x0102
		driveMode     = 0x0600
		stackedImage  = 0x0804
	)
	x.olympusPreview(d, previewStart, previewLength)
	// Mode, shot number, bits of the mode, ?, shutter.
	drive := d.all(driveMode, 5)
	const bracketing, byFocus = 5, 1 << 6
	if len(drive) >= 3 && drive[0] == bracketing && drive[2]&byFocus != 0 && drive[1] > 0 {
		setIfNil(&x.m.BracketShot, int(drive[1]))
	}
	if len(drive) >= 5 {
		x.shutterMode(map[uint32]string{2: firstCurtain, 4: electronic}, drive[4])
	}
	if v := d.all(stackedImage, 2); len(v) == 2 {
		setIfNil(&x.m.InCameraComposite, v[0] != 0)
	}
}

func (x *extractor) olympusPreview(d *directory, start, length uint16) {
	if d.src != x.src {
		return
	}
	off, ok1 := d.uint(start)
	n, ok2 := d.uint(length)
	if ok1 && ok2 {
		x.candidate(d.base+int64(off), int64(n))
	}
}

// subdirectory reads the directory that a tag of a note points at. Older Olympus
// cameras keep it as the value of the tag.
func (x *extractor) subdirectory(d *directory, tag uint16) *directory {
	e, ok := d.find(tag)
	if !ok {
		return nil
	}
	off := e.at - d.base
	if e.typ == typeIFD || e.typ == typeLong {
		v, _ := d.uint(tag)
		off = int64(v)
	}
	sub, _, err := x.dirs.read(d.block, off)
	if err != nil && len(sub.entries) == 0 {
		return nil
	}
	return &sub
}

// panasonicNote reads Panasonic's note (ExifTool, Panasonic.pm). It has no distance
// in metres.
func (x *extractor) panasonicNote(d *directory) {
	const lens, shutter, bracket = 0x0051, 0x009F, 0x00BD
	x.lens(d.text(lens))
	if v, ok := d.uint(shutter); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 1: electronic, 2: firstCurtain}, v)
	}
	if v, ok := d.uint(bracket); ok && v != 0 {
		setIfNil(&x.m.BracketOffset, int(int16(v)))
	}
}

// fujifilmNote reads Fujifilm's note (ExifTool, FujiFilm.pm), which has no distance.
func (x *extractor) fujifilmNote(d *directory) {
	const shutter = 0x1050
	if v, ok := d.uint(shutter); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 1: electronic, 2: electronic, 3: firstCurtain}, v)
	}
}

// sonyNote reads Sony's note (ExifTool, Sony.pm). Newer cameras encipher what
// would matter here; older ones keep the focus in a block of which only the count
// tells the layout.
func (x *extractor) sonyNote(d *directory) {
	const focusInfo = 0x0020
	e, ok := d.find(focusInfo)
	if !ok || e.size != 19154 && e.size != 19148 || !sonyFocusPosition[x.m.Model] || x.m.FocalLengthMM == nil {
		return
	}
	const at, infinity = 0x09BB, 128
	raw, err := d.src.bytes(e.at+at, 1)
	if err != nil || raw[0] == 0 {
		return
	}
	const source = "Sony.FocusPosition"
	if raw[0] >= infinity {
		x.distance(&FocusDistance{Infinity: true, Source: source})
		return
	}
	// In focal lengths.
	dist := exactDistance(float64(raw[0])**x.m.FocalLengthMM/1000, source)
	dist.StepM = *x.m.FocalLengthMM / 1000
	x.distance(dist)
}

// sonyFocusPosition are the models whose note has the position in a known place.
var sonyFocusPosition = map[string]bool{
	"DSLR-A200": true, "DSLR-A230": true, "DSLR-A290": true, "DSLR-A300": true, "DSLR-A330": true,
	"DSLR-A350": true, "DSLR-A380": true, "DSLR-A390": true, "DSLR-A700": true, "DSLR-A850": true,
	"DSLR-A900": true,
}

// minoltaNote reads Minolta's note (ExifTool, Minolta.pm): an array of big-endian
// 32-bit numbers, the distance in millimetres with 0 for infinity.
func (x *extractor) minoltaNote(d *directory) {
	const settingsOld, settings, distance = 0x0001, 0x0003, 19
	for _, tag := range []uint16{settings, settingsOld} {
		e, ok := d.find(tag)
		if !ok || e.typ != typeUndefined || e.size < 4*(distance+1) {
			continue
		}
		raw, err := d.src.bytes(e.at+4*distance, 4)
		if err != nil {
			continue
		}
		v := binary.BigEndian.Uint32(raw)
		if v > 1000e3 {
			continue // a kilometre and more is another layout
		}
		x.distance(millimetres(v, v == 0, "Minolta.FocusDistance"))
		return
	}
}

// casioNote1 and casioNote2 read Casio's two notes (ExifTool, Casio.pm): the
// distance in millimetres.
func (x *extractor) casioNote1(d *directory) {
	const objectDistance, iso = 0x0006, 0x0014
	if v, ok := d.uint(objectDistance); ok {
		x.distance(millimetres(v, v == math.MaxUint32, "Casio.ObjectDistance"))
	}
	if v, ok := d.uint(iso); ok && v > 0 && v < 0xFFFF {
		setIfNil(&x.m.ISO, int(v))
	}
}

func (x *extractor) casioNote2(d *directory) {
	const objectDistance, infinity = 0x2022, 0x20000000
	if v, ok := d.uint(objectDistance); ok {
		x.distance(millimetres(v, v >= infinity, "Casio.ObjectDistance"))
	}
}

// appleNote reads Apple's note (ExifTool, Apple.pm): nearest and farthest focus in
// metres, in any order.
func (x *extractor) appleNote(d *directory) {
	const focusRange = 0x000C
	e, ok := d.find(focusRange)
	if !ok || e.typ != typeSRational || e.count != 2 {
		return
	}
	raw, err := d.value(e, 16)
	if err != nil {
		return
	}
	var v [2]float64
	for i := range v {
		num, den := int32(d.order.Uint32(raw[8*i:])), int32(d.order.Uint32(raw[8*i+4:]))
		if num <= 0 || den <= 0 {
			return
		}
		v[i] = float64(num) / float64(den)
	}
	near, far := min(v[0], v[1]), max(v[0], v[1])
	x.distance(&FocusDistance{NearM: &near, FarM: &far, Source: "Apple.FocusDistanceRange"})
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

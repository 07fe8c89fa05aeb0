// Package exiftest builds small EXIF blocks with known contents: for tests of a
// reader, and for made-up photographs that should carry metadata. It shares no
// code with the reader it serves, so that the two can check each other.
//
// Layout: CIPA DC-008-2019 (Exif 2.32) section 4.6, which rests on TIFF 6.0
// section 2. It writes no maker notes and no thumbnails.
package exiftest

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"sort"
	"time"
)

// Fields is what an EXIF block shall say. An empty string, a zero time and a nil
// pointer leave the tag out.
type Fields struct {
	Make, Model, Lens, Serial string
	// Taken is written with its fraction (milliseconds) and, if HasOffset, with
	// its distance from UTC.
	Taken     time.Time
	HasOffset bool

	FNumber          *float64
	ShutterSeconds   *float64
	FocalLengthMM    *float64
	FocalLength35MM  *float64 // written as a whole number of millimetres
	ExposureBiasEV   *float64
	SubjectDistanceM *float64 // +Inf is written as infinity (numerator 0xFFFFFFFF)

	ISO        *int
	FlashFired *bool

	Orientation *int
	// Width and Height are the pixel size of the picture.
	Width, Height *int
}

// TIFF field types (TIFF 6.0 section 2, "Types").
const (
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeRational  = 5
	typeUndefined = 7
	typeSRational = 10
)

// field is one directory entry before its place in the block is known.
type field struct {
	tag, typ uint16
	count    uint32
	data     []byte
}

// TIFF returns the TIFF block of an EXIF segment: header, 0th IFD, Exif IFD. All
// offsets count from its first byte.
func TIFF(f Fields, order binary.ByteOrder) []byte {
	b := builder{order: order}
	zeroth, exif := b.zeroth(f), b.exif(f)

	const header = 8
	// The pointer to the Exif IFD is part of the 0th IFD, whose length does not
	// depend on the pointer's value.
	pointer := field{tag: 0x8769, typ: typeLong, count: 1, data: make([]byte, 4)}
	zeroth = append(zeroth, pointer)
	exifAt := header + length(zeroth)
	order.PutUint32(pointer.data, uint32(exifAt))

	out := []byte("II")
	if order.Uint16([]byte{0, 1}) == 1 {
		out = []byte("MM")
	}
	out = b.append16(out, 42)
	out = b.append32(out, header)
	out = b.appendIFD(out, zeroth)
	return b.appendIFD(out, exif)
}

// InsertJPEG returns a copy of a JPEG stream with an EXIF segment holding f
// right after its SOI marker (DC-008 section 4.5.4: APP1, "Exif", two zero
// bytes, the TIFF block). It is an error if jpeg does not start with SOI or the
// segment would exceed the 65 533 bytes that a segment can hold.
func InsertJPEG(jpeg []byte, f Fields) ([]byte, error) {
	if len(jpeg) < 4 || jpeg[0] != 0xFF || jpeg[1] != 0xD8 {
		return nil, errors.New("exiftest: not a JPEG stream")
	}
	payload := append([]byte("Exif\x00\x00"), TIFF(f, binary.LittleEndian)...)
	if len(payload) > 0xFFFF-2 {
		return nil, fmt.Errorf("exiftest: an EXIF block of %d bytes does not fit a JPEG segment", len(payload))
	}
	out := make([]byte, 0, len(jpeg)+len(payload)+4)
	out = append(out, 0xFF, 0xD8, 0xFF, 0xE1)
	out = binary.BigEndian.AppendUint16(out, uint16(len(payload)+2))
	out = append(out, payload...)
	return append(out, jpeg[2:]...), nil
}

type builder struct{ order binary.ByteOrder }

func (b builder) append16(out []byte, v uint16) []byte {
	var p [2]byte
	b.order.PutUint16(p[:], v)
	return append(out, p[:]...)
}

func (b builder) append32(out []byte, v uint32) []byte {
	var p [4]byte
	b.order.PutUint32(p[:], v)
	return append(out, p[:]...)
}

// zeroth gives the entries of the 0th IFD (DC-008 section 4.6.4).
func (b builder) zeroth(f Fields) []field {
	var fs []field
	fs = appendText(fs, 0x010F, f.Make)
	fs = appendText(fs, 0x0110, f.Model)
	if f.Orientation != nil {
		fs = append(fs, b.short(0x0112, *f.Orientation))
	}
	if !f.Taken.IsZero() {
		fs = appendText(fs, 0x0132, f.Taken.Format("2006:01:02 15:04:05"))
	}
	return fs
}

// exif gives the entries of the Exif IFD (DC-008 section 4.6.5).
func (b builder) exif(f Fields) []field {
	fs := []field{{tag: 0x9000, typ: typeUndefined, count: 4, data: []byte("0232")}}
	if f.ShutterSeconds != nil {
		fs = append(fs, b.rational(0x829A, typeRational, shutter(*f.ShutterSeconds)))
	}
	if f.FNumber != nil {
		fs = append(fs, b.rational(0x829D, typeRational, scaled(*f.FNumber, 100)))
	}
	if f.ISO != nil {
		fs = append(fs, b.short(0x8827, *f.ISO))
	}
	if !f.Taken.IsZero() {
		fs = appendText(fs, 0x9003, f.Taken.Format("2006:01:02 15:04:05"))
		fs = appendText(fs, 0x9004, f.Taken.Format("2006:01:02 15:04:05"))
		fs = appendText(fs, 0x9291, fmt.Sprintf("%03d", f.Taken.Nanosecond()/int(time.Millisecond)))
		if f.HasOffset {
			fs = appendText(fs, 0x9010, f.Taken.Format("-07:00"))
			fs = appendText(fs, 0x9011, f.Taken.Format("-07:00"))
		}
	}
	if f.ExposureBiasEV != nil {
		// A sixth covers the third-stop and half-stop steps of real dials.
		fs = append(fs, b.rational(0x9204, typeSRational, scaled(*f.ExposureBiasEV, 6)))
	}
	if f.SubjectDistanceM != nil {
		d := [2]uint32{0xFFFFFFFF, 1}
		if !math.IsInf(*f.SubjectDistanceM, 1) {
			d = scaled(*f.SubjectDistanceM, 10000)
		}
		fs = append(fs, b.rational(0x9206, typeRational, d))
	}
	if f.FlashFired != nil {
		flash := 0x10 // did not fire, switched off
		if *f.FlashFired {
			flash = 0x01
		}
		fs = append(fs, b.short(0x9209, flash))
	}
	if f.FocalLengthMM != nil {
		fs = append(fs, b.rational(0x920A, typeRational, scaled(*f.FocalLengthMM, 100)))
	}
	if f.Width != nil {
		fs = append(fs, b.long(0xA002, *f.Width))
	}
	if f.Height != nil {
		fs = append(fs, b.long(0xA003, *f.Height))
	}
	if f.FocalLength35MM != nil {
		fs = append(fs, b.short(0xA405, int(math.Round(*f.FocalLength35MM))))
	}
	fs = appendText(fs, 0xA431, f.Serial)
	return appendText(fs, 0xA434, f.Lens)
}

// appendText adds an ASCII entry with its closing NUL, or nothing for "".
func appendText(fs []field, tag uint16, s string) []field {
	if s == "" {
		return fs
	}
	data := append([]byte(s), 0)
	return append(fs, field{tag: tag, typ: typeASCII, count: uint32(len(data)), data: data})
}

func (b builder) short(tag uint16, v int) field {
	return field{tag: tag, typ: typeShort, count: 1, data: b.append16(nil, uint16(v))}
}

func (b builder) long(tag uint16, v int) field {
	return field{tag: tag, typ: typeLong, count: 1, data: b.append32(nil, uint32(v))}
}

func (b builder) rational(tag, typ uint16, v [2]uint32) field {
	return field{tag: tag, typ: typ, count: 1, data: b.append32(b.append32(nil, v[0]), v[1])}
}

// scaled gives v as a fraction over den; a negative numerator is two's complement.
func scaled(v float64, den uint32) [2]uint32 {
	return [2]uint32{uint32(int32(math.Round(v * float64(den)))), den}
}

// shutter gives an exposure time as cameras write it: 1/n where that is exact to
// a part in a thousand, else tenths of milliseconds.
func shutter(s float64) [2]uint32 {
	if s > 0 && s < 1 {
		if n := math.Round(1 / s); math.Abs(n*s-1) < 1e-3 {
			return [2]uint32{1, uint32(n)}
		}
	}
	return scaled(s, 10000)
}

// length is the size in bytes of a directory with the values that do not fit in
// its entries.
func length(fs []field) int {
	n := 2 + 12*len(fs) + 4
	for _, f := range fs {
		if len(f.data) > 4 {
			n += even(len(f.data))
		}
	}
	return n
}

// even rounds up: values begin on a word boundary (TIFF 6.0 section 2).
func even(n int) int { return n + n&1 }

// appendIFD adds a directory, its entries sorted by tag, and then its values.
func (b builder) appendIFD(out []byte, fs []field) []byte {
	sort.Slice(fs, func(i, j int) bool { return fs[i].tag < fs[j].tag })
	valuesAt := len(out) + 2 + 12*len(fs) + 4
	var values []byte
	out = b.append16(out, uint16(len(fs)))
	for _, f := range fs {
		out = b.append16(out, f.tag)
		out = b.append16(out, f.typ)
		out = b.append32(out, f.count)
		if len(f.data) <= 4 {
			var p [4]byte
			copy(p[:], f.data)
			out = append(out, p[:]...)
			continue
		}
		out = b.append32(out, uint32(valuesAt+len(values)))
		values = append(values, f.data...)
		if len(values)&1 == 1 {
			values = append(values, 0)
		}
	}
	out = b.append32(out, 0)
	return append(out, values...)
}

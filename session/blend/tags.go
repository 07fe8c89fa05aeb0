package blend

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"

	"stillbench/session"
)

// Carried is what is known of the frames and still holds of their blend. Nothing that a
// blend changes is carried: not the focus distance, not the preview, not the maker's own notes.
type Carried struct {
	// Profile is the ICC profile that the values are to be read by; nil is sRGB.
	Profile []byte
	// Meta of the frame that the others were laid on.
	Meta session.Meta
	// Software is the program's name, Description how the picture came about.
	Software, Description string
}

// field is an entry of an image file directory (TIFF 6.0 section 2).
type field struct {
	tag, kind uint16
	count     int
	value     []byte
}

// The types of fields.
const (
	kindASCII    = 2
	kindShort    = 3
	kindLong     = 4
	kindRational = 5
	kindUndef    = 7
	kindLong8    = 16 // BigTIFF alone
)

var little = binary.LittleEndian

func ascii(tag uint16, s string) field {
	b := append([]byte(s), 0)
	return field{tag, kindASCII, len(b), b}
}

func short(tag uint16, v ...uint16) field {
	var b []byte
	for _, v := range v {
		b = little.AppendUint16(b, v)
	}
	return field{tag, kindShort, len(v), b}
}

func long(tag uint16, v ...uint32) field {
	var b []byte
	for _, v := range v {
		b = little.AppendUint32(b, v)
	}
	return field{tag, kindLong, len(v), b}
}

func rational(tag uint16, v float64) field {
	n, d := fraction(v)
	return field{tag, kindRational, 1, little.AppendUint32(little.AppendUint32(nil, n), d)}
}

// fraction writes a value as makers write shutter times: 1/n where that is true to a
// thousandth, else over a power of ten.
func fraction(v float64) (n, d uint32) {
	if !(v > 0) {
		return 0, 1
	}
	if inv := math.Round(1 / v); v < 1 && inv < 1<<31 && math.Abs(v*inv-1) < 1e-3 {
		return 1, uint32(inv)
	}
	d = 1
	for d < 1e6 && v*float64(d) < 1e8 && math.Abs(v*float64(d)-math.Round(v*float64(d))) > 1e-6*v*float64(d) {
		d *= 10
	}
	return uint32(min(math.Round(v*float64(d)), math.MaxUint32)), d
}

// mainFields are those of the first directory that do not tell of pixels, exifFields those of
// the EXIF directory (CIPA DC-008-2012, tables 4 to 8).
func (c Carried) mainFields() (out []field) {
	text := func(tag uint16, s string) {
		if s != "" {
			out = append(out, ascii(tag, s))
		}
	}
	text(0x010E, c.Description)
	text(0x010F, c.Meta.Make)
	text(0x0110, c.Meta.Model)
	out = append(out, short(0x0112, 1)) // the pixels stand upright
	text(0x0131, c.Software)
	if t := c.Meta.Taken; !t.IsZero() {
		text(0x0132, t.Format("2006:01:02 15:04:05"))
	}
	return out
}

func (c Carried) exifFields() (out []field) {
	m := c.Meta
	number := func(tag uint16, v *float64) {
		if v != nil {
			out = append(out, rational(tag, *v))
		}
	}
	number(0x829A, m.ShutterSeconds)
	number(0x829D, m.FNumber)
	if m.ISO != nil && *m.ISO > 0 {
		out = append(out, short(0x8827, uint16(min(*m.ISO, 65535))))
	}
	out = append(out, field{0x9000, kindUndef, 4, []byte("0230")})
	if !m.Taken.IsZero() {
		out = append(out, ascii(0x9003, m.Taken.Format("2006:01:02 15:04:05")))
		if m.TakenHasOffset {
			out = append(out, ascii(0x9011, m.Taken.Format("-07:00")))
		}
	}
	number(0x920A, m.FocalLengthMM)
	if c.Profile == nil {
		out = append(out, short(0xA001, 1)) // sRGB
	} else {
		out = append(out, short(0xA001, 65535)) // by the profile
	}
	if m.FocalLength35MM != nil {
		out = append(out, short(0xA405, uint16(min(max(math.Round(*m.FocalLength35MM), 0), 65535))))
	}
	if m.Serial != "" {
		out = append(out, ascii(0xA431, m.Serial))
	}
	if m.Lens != "" {
		out = append(out, ascii(0xA434, m.Lens))
	}
	return out
}

// directory lays an image file directory out for the place in the file where it will stand;
// big is BigTIFF's form. Values that do not fit into an entry follow it.
func directory(fields []field, at int64, big bool) []byte {
	slices.SortStableFunc(fields, func(a, b field) int { return int(a.tag) - int(b.tag) })
	entry, inline := 12, 4
	var head, tail bytes.Buffer
	if big {
		entry, inline = 20, 8
		head.Write(little.AppendUint64(nil, uint64(len(fields))))
	} else {
		head.Write(little.AppendUint16(nil, uint16(len(fields))))
	}
	after := at + int64(head.Len()+entry*len(fields)+inline)
	after += after & 1
	for _, f := range fields {
		head.Write(little.AppendUint16(little.AppendUint16(nil, f.tag), f.kind))
		value := slices.Clone(f.value)
		if len(value) > inline {
			if tail.Len()&1 == 1 {
				tail.WriteByte(0)
			}
			off := after + int64(tail.Len())
			tail.Write(value)
			value = little.AppendUint64(nil, uint64(off))[:inline]
		}
		for len(value) < inline {
			value = append(value, 0)
		}
		if big {
			head.Write(little.AppendUint64(nil, uint64(f.count)))
		} else {
			head.Write(little.AppendUint32(nil, uint32(f.count)))
		}
		head.Write(value)
	}
	head.Write(make([]byte, inline)) // no further directory
	if (at+int64(head.Len()))&1 == 1 {
		head.WriteByte(0)
	}
	head.Write(tail.Bytes())
	return head.Bytes()
}

// block is a TIFF structure of metadata alone, as it stands in a JPEG's APP1 segment and a
// PNG's eXIf chunk.
func (c Carried) block() []byte {
	out := []byte("II*\x00\x08\x00\x00\x00")
	// The EXIF directory follows the first one, whose length does not depend on where it points.
	main := directory(append(c.mainFields(), long(0x8769, 0)), 8, false)
	at := int64(8 + len(main))
	at += at & 1
	main = directory(append(c.mainFields(), long(0x8769, uint32(at))), 8, false)
	out = append(out, main...)
	if len(out)&1 == 1 {
		out = append(out, 0)
	}
	return append(out, directory(c.exifFields(), at, false)...)
}

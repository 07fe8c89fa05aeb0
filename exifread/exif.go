package exifread

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/rwcarlsen/goexif/tiff"
)

// Tags of the 0th IFD and the Exif IFD (DC-008 sections 4.6.4 and 4.6.5; the last
// two: DNG 1.4 chapter 4).
const (
	tagMake                = 0x010F
	tagModel               = 0x0110
	tagOrientation         = 0x0112
	tagExposureTime        = 0x829A
	tagFNumber             = 0x829D
	tagExifIFD             = 0x8769
	tagSensitivity         = 0x8827
	tagSensitivityType     = 0x8830
	tagStandardOutput      = 0x8831
	tagRecommendedExposure = 0x8832
	tagISOSpeed            = 0x8833
	tagDateTimeOriginal    = 0x9003
	tagDateTimeDigitized   = 0x9004
	tagOffsetOriginal      = 0x9011
	tagOffsetDigitized     = 0x9012
	tagShutterSpeedValue   = 0x9201
	tagApertureValue       = 0x9202
	tagExposureBias        = 0x9204
	tagSubjectDistance     = 0x9206
	tagFlash               = 0x9209
	tagFocalLength         = 0x920A
	tagMakerNote           = 0x927C
	tagSubSecOriginal      = 0x9291
	tagSubSecDigitized     = 0x9292
	tagPixelX              = 0xA002
	tagPixelY              = 0xA003
	tagFocalPlaneX         = 0xA20E
	tagFocalPlaneY         = 0xA20F
	tagFocalPlaneUnit      = 0xA210
	tagFocalLength35       = 0xA405
	tagBodySerial          = 0xA431
	tagLensSpecification   = 0xA432
	tagLensModel           = 0xA434
	tagCompositeImage      = 0xA460
	tagCameraSerialDNG     = 0xC62F
	tagLensInfoDNG         = 0xC630
)

// wanted are the tags that are copied out for decoding.
var wanted = map[uint16]bool{
	tagMake: true, tagModel: true, tagOrientation: true,
	tagExposureTime: true, tagFNumber: true, tagSensitivity: true, tagSensitivityType: true,
	tagStandardOutput: true, tagRecommendedExposure: true, tagISOSpeed: true,
	tagDateTimeOriginal: true, tagDateTimeDigitized: true, tagOffsetOriginal: true,
	tagOffsetDigitized: true, tagShutterSpeedValue: true, tagApertureValue: true,
	tagExposureBias: true, tagSubjectDistance: true, tagFlash: true, tagFocalLength: true,
	tagSubSecOriginal: true, tagSubSecDigitized: true, tagPixelX: true, tagPixelY: true,
	tagFocalPlaneX: true, tagFocalPlaneY: true, tagFocalPlaneUnit: true, tagFocalLength35: true,
	tagBodySerial: true, tagLensSpecification: true, tagLensModel: true, tagCompositeImage: true,
	tagCameraSerialDNG: true, tagLensInfoDNG: true,
}

// Bounds on one field: no name in a camera file comes near the first, and no field
// wanted here has more numbers than the second.
const (
	maxText    = 512
	maxNumbers = 4
)

// exif takes over what the directories of one block say, the first of them first:
// pass the Exif IFD before the 0th IFD, whose copies of its tags (TIFF/EP) count for
// less.
func (x *extractor) exif(dirs ...*directory) {
	t, err := decodeTags(dirs)
	if err != nil {
		x.missing(err)
		return
	}
	m := x.m
	setText(&m.Make, t.text(tagMake))
	setText(&m.Model, t.text(tagModel))
	x.lens(t.text(tagLensModel))
	x.lensByRange(firstText(t.lensRange(tagLensSpecification), t.lensRange(tagLensInfoDNG)))
	setText(&m.Serial, firstText(t.text(tagBodySerial), t.text(tagCameraSerialDNG)))
	if m.Taken.IsZero() {
		m.Taken, m.TakenHasOffset = t.taken()
	}
	x.exposure(t)
	if v, ok := t.whole(tagOrientation); ok && v >= 1 && v <= 8 {
		setIfNil(&m.Orientation, v)
	}
	x.distance(t.subjectDistance())
	// DC-008 section 4.6.5 CompositeImage: 1 not composite, 2 composite, 3 composite
	// captured while shooting; 0 unknown.
	if v, ok := t.whole(tagCompositeImage); ok && v >= 1 && v <= 3 {
		setIfNil(&m.InCameraComposite, v != 1)
	}
	x.focalPlane(t)
}

// exposure takes over the settings of the exposure. A zero stands for "not
// known" in all of them but the bias: cameras write it for a lens without
// contacts and for bulb.
func (x *extractor) exposure(t tags) {
	m := x.m
	if v, ok := t.number(tagFNumber); ok && v > 0 {
		setIfNil(&m.FNumber, v)
	} else if v, ok := t.number(tagApertureValue); ok && v > 0 && v < 20 {
		setIfNil(&m.FNumber, math.Exp2(v/2)) // DC-008 annex C: Av = 2 log2 N
	}
	if v, ok := t.number(tagExposureTime); ok && v > 0 {
		setIfNil(&m.ShutterSeconds, v)
	} else if v, ok := t.number(tagShutterSpeedValue); ok && v > -20 && v < 20 && v != 0 {
		setIfNil(&m.ShutterSeconds, math.Exp2(-v)) // DC-008 annex C: Tv = -log2 t
	}
	if v, ok := t.sensitivity(); ok {
		setIfNil(&m.ISO, v)
	}
	if v, ok := t.number(tagExposureBias); ok && math.Abs(v) < 50 {
		setIfNil(&m.ExposureBiasEV, v)
	}
	if v, ok := t.number(tagFocalLength); ok && v > 0 {
		setIfNil(&m.FocalLengthMM, v)
	}
	if v, ok := t.number(tagFocalLength35); ok && v > 0 {
		setIfNil(&m.FocalLength35MM, v)
	}
	if v, ok := t.whole(tagFlash); ok {
		setIfNil(&m.FlashFired, v&1 == 1) // bit 0: fired
	}
}

// tags are decoded fields by tag number.
type tags map[uint16]*tiff.Tag

// decodeTags copies the wanted fields into a small TIFF block of our own making
// and lets goexif decode that. Nothing of the file's structure reaches it: it
// reads a file whole, follows loops and panics on short values.
func decodeTags(dirs []*directory) (t tags, err error) {
	blk := newCompact(dirs)
	if blk == nil {
		return tags{}, nil
	}
	defer func() {
		if p := recover(); p != nil {
			t, err = tags{}, fmt.Errorf("the EXIF fields cannot be decoded: %v", p)
		}
	}()
	decoded, err := tiff.Decode(bytes.NewReader(blk))
	if err != nil {
		return tags{}, fmt.Errorf("the EXIF fields cannot be decoded: %w", err)
	}
	t = make(tags, len(wanted))
	for _, dir := range decoded.Dirs {
		for _, tag := range dir.Tags {
			t[tag.Id] = tag
		}
	}
	return t, nil
}

// newCompact builds the block: header, one directory, values. It returns nil when
// there is nothing to decode. All directories share one byte order.
func newCompact(dirs []*directory) []byte {
	type kept struct {
		entry
		data []byte
	}
	var keep []kept
	taken := make(map[uint16]bool, len(wanted))
	for _, d := range dirs {
		for _, e := range d.entries {
			if !wanted[e.tag] || taken[e.tag] {
				continue
			}
			unit, most := typeSize(e.typ), int64(maxNumbers)
			switch e.typ {
			case typeASCII, typeUndefined, typeUTF8, typeByte:
				most = maxText
			case typeLong8, typeSLong8, typeIFD8:
				continue // nothing wanted here needs them
			}
			n := min(int64(e.count), most)
			data, err := d.value(e, n*unit)
			if err != nil {
				continue
			}
			taken[e.tag] = true
			e.count = uint64(n)
			if e.typ == typeUTF8 {
				e.typ = typeASCII
			}
			keep = append(keep, kept{e, data})
		}
	}
	if len(keep) == 0 {
		return nil
	}
	order := dirs[0].order
	var out []byte
	put16 := func(v uint16) { out = append(out, 0, 0); order.PutUint16(out[len(out)-2:], v) }
	put32 := func(v uint32) { out = append(out, 0, 0, 0, 0); order.PutUint32(out[len(out)-4:], v) }
	out = append(out, "II"...)
	if order.Uint16([]byte{0, 1}) == 1 {
		copy(out, "MM")
	}
	put16(42)
	put32(8)
	put16(uint16(len(keep)))
	at := 8 + 2 + 12*len(keep) + 4
	for _, k := range keep {
		put16(k.tag)
		put16(k.typ)
		put32(uint32(k.count))
		if len(k.data) <= 4 {
			out = append(out, k.data...)
			out = append(out, make([]byte, 4-len(k.data))...)
			continue
		}
		put32(uint32(at))
		at += len(k.data)
	}
	put32(0)
	for _, k := range keep {
		if len(k.data) > 4 {
			out = append(out, k.data...)
		}
	}
	return out
}

// text returns a field's text; cameras have been seen to write one as bytes.
func (t tags) text(id uint16) string {
	tag := t[id]
	if tag == nil {
		return ""
	}
	switch tag.Type {
	case tiff.DTAscii, tiff.DTUndefined, tiff.DTByte:
		return clean(tag.Val)
	}
	return ""
}

// clean cuts a text at its NUL, drops blanks around it and mends its encoding:
// DC-008 allows 7-bit ASCII only, cameras and editors write UTF-8 or Latin-1.
func clean(raw []byte) string {
	if i := bytes.IndexByte(raw, 0); i >= 0 {
		raw = raw[:i]
	}
	s := strings.TrimSpace(strings.ToValidUTF8(string(raw), "\uFFFD"))
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7F {
			return -1
		}
		return r
	}, s)
}

func setText(dst *string, v string) {
	if *dst == "" {
		*dst = v
	}
}

func firstText(vs ...string) string {
	for _, v := range vs {
		if v != "" {
			return v
		}
	}
	return ""
}

// rational returns the i-th fraction of a field.
func (t tags) rational(id uint16, i int) (num, den int64, ok bool) {
	tag := t[id]
	if tag == nil || tag.Format() != tiff.RatVal || i >= int(tag.Count) {
		return 0, 0, false
	}
	num, den, err := tag.Rat2(i)
	return num, den, err == nil
}

// number returns the first value of a field as a number; not ok for a fraction
// over 0, which is how cameras write "not known".
func (t tags) number(id uint16) (float64, bool) {
	tag := t[id]
	if tag == nil {
		return 0, false
	}
	var v float64
	switch tag.Format() {
	case tiff.RatVal:
		num, den, ok := t.rational(id, 0)
		if !ok || den == 0 || num == math.MaxUint32 {
			return 0, false
		}
		v = float64(num) / float64(den)
	case tiff.IntVal:
		n, err := tag.Int64(0)
		if err != nil {
			return 0, false
		}
		v = float64(n)
	case tiff.FloatVal:
		f, err := tag.Float(0)
		if err != nil {
			return 0, false
		}
		v = f
	default:
		return 0, false
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}

// whole returns the first value of a field that holds whole numbers.
func (t tags) whole(id uint16) (int, bool) {
	v, ok := t.number(id)
	if !ok || v != math.Trunc(v) || math.Abs(v) > math.MaxInt32 {
		return 0, false
	}
	return int(v), true
}

// sensitivity returns the ISO value. DC-008 section 4.6.5: PhotographicSensitivity
// holds 65535 when the value does not fit, and SensitivityType says which of the
// long tags then carries it.
func (t tags) sensitivity() (int, bool) {
	if v, ok := t.whole(tagSensitivity); ok && v > 0 && v != 0xFFFF {
		return v, true
	}
	long := []uint16{tagRecommendedExposure, tagStandardOutput, tagISOSpeed}
	switch kind, _ := t.whole(tagSensitivityType); kind {
	case 1, 4, 5:
		long[0], long[1] = tagStandardOutput, tagRecommendedExposure
	case 3, 6:
		long[0], long[2] = tagISOSpeed, tagRecommendedExposure
	}
	for _, id := range long {
		if v, ok := t.whole(id); ok && v > 0 {
			return v, true
		}
	}
	return 0, false
}

// taken returns when the exposure began, from DateTimeOriginal or, without it,
// DateTimeDigitized (in a camera the same moment). DateTime is no help: it is the
// time of the file's last change.
func (t tags) taken() (at time.Time, hasOffset bool) {
	at, ok := parseTime(t.text(tagDateTimeOriginal))
	fraction, offset := t.text(tagSubSecOriginal), t.text(tagOffsetOriginal)
	if !ok {
		if at, ok = parseTime(t.text(tagDateTimeDigitized)); !ok {
			return time.Time{}, false
		}
		fraction, offset = t.text(tagSubSecDigitized), t.text(tagOffsetDigitized)
	}
	at = at.Add(parseFraction(fraction))
	if zone, ok := parseOffset(offset); ok {
		y, mo, d := at.Date()
		h, mi, s := at.Clock()
		return time.Date(y, mo, d, h, mi, s, at.Nanosecond(), zone), true
	}
	return at, false
}

// parseTime reads "YYYY:MM:DD HH:MM:SS" (DC-008 section 4.6.4, DateTime). Blanks,
// zeros, dates that do not exist, and those before there was photography (1826) mean that
// the time is not known.
func parseTime(s string) (time.Time, bool) {
	if len(s) < 19 {
		return time.Time{}, false
	}
	var v [6]int
	for i, p := range [6][2]int{{0, 4}, {5, 7}, {8, 10}, {11, 13}, {14, 16}, {17, 19}} {
		n, err := strconv.ParseUint(s[p[0]:p[1]], 10, 16)
		if err != nil {
			return time.Time{}, false
		}
		v[i] = int(n)
	}
	at := time.Date(v[0], time.Month(v[1]), v[2], v[3], v[4], v[5], 0, time.UTC)
	y, mo, d := at.Date()
	h, mi, sec := at.Clock()
	if v[0] < 1826 || [6]int{y, int(mo), d, h, mi, sec} != v {
		return time.Time{}, false
	}
	return at, true
}

// parseFraction reads SubSecTime: digits of a decimal fraction of a second.
func parseFraction(s string) time.Duration {
	var ns, unit time.Duration = 0, time.Second
	for _, c := range s {
		if c < '0' || c > '9' || unit == 1 {
			break
		}
		unit /= 10
		ns += time.Duration(c-'0') * unit
	}
	return ns
}

// parseOffset reads OffsetTime: "+HH:MM" or "-HH:MM", blanks when not known.
func parseOffset(s string) (*time.Location, bool) {
	if len(s) != 6 || s[3] != ':' || s[0] != '+' && s[0] != '-' {
		return nil, false
	}
	h, err1 := strconv.ParseUint(s[1:3], 10, 8)
	m, err2 := strconv.ParseUint(s[4:6], 10, 8)
	if err1 != nil || err2 != nil || h > 15 || m > 59 {
		return nil, false
	}
	seconds := int(h*3600 + m*60)
	if s[0] == '-' {
		seconds = -seconds
	}
	return time.FixedZone("", seconds), true
}

// lensRange words a lens by its range where the camera gives no name: shortest
// and longest focal length in mm, smallest f-number at either (DC-008 section
// 4.6.5, LensSpecification; an f-number of 0/0 is not known).
func (t tags) lensRange(id uint16) string {
	var v [4]float64
	for i := range v {
		num, den, ok := t.rational(id, i)
		if !ok {
			return ""
		}
		if den > 0 && num != math.MaxUint32 {
			v[i] = float64(num) / float64(den)
		}
	}
	return lensRange(v)
}

// lens takes over a lens's name.
func (x *extractor) lens(name string) {
	if name != "" && (x.m.Lens == "" || x.lensIsRange) {
		x.m.Lens, x.lensIsRange = name, false
	}
}

// lensByRange takes over the wording of a lens whose name is not known.
func (x *extractor) lensByRange(r string) {
	if r != "" && x.m.Lens == "" {
		x.m.Lens, x.lensIsRange = r, true
	}
}

func lensRange(v [4]float64) string {
	if v[0] <= 0 {
		return ""
	}
	pair := func(a, b float64) string {
		s := strconv.FormatFloat(math.Round(a*10)/10, 'f', -1, 64)
		if b > 0 && b != a {
			s += "-" + strconv.FormatFloat(math.Round(b*10)/10, 'f', -1, 64)
		}
		return s
	}
	s := pair(v[0], v[1]) + "mm"
	if v[2] > 0 {
		s += " f/" + pair(v[2], v[3])
	}
	return s
}

// subjectDistance reads SubjectDistance (DC-008 section 4.6.5): metres, numerator
// 0xFFFFFFFF for infinity, 0 for not known.
func (t tags) subjectDistance() *FocusDistance {
	num, den, ok := t.rational(tagSubjectDistance, 0)
	if !ok {
		return nil
	}
	return distanceOf(num, den, "Exif.SubjectDistance")
}

// distanceOf makes a distance of a fraction of metres. A power of ten below it
// tells how finely the value was written; any other denominator tells nothing.
func distanceOf(num, den int64, source string) *FocusDistance {
	switch {
	case num == math.MaxUint32:
		return &FocusDistance{Infinity: true, Source: source}
	case num <= 0 || den <= 0:
		return nil
	}
	d := exactDistance(float64(num)/float64(den), source)
	switch den {
	case 1, 10, 100, 1000:
		d.StepM = 1 / float64(den)
	}
	return d
}

func exactDistance(m float64, source string) *FocusDistance {
	near, far := m, m
	return &FocusDistance{NearM: &near, FarM: &far, Source: source}
}

package exifread

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
)

// TestBuiltFieldsComeBack: what exiftest writes is what is read, in both byte
// orders. exiftest itself is checked against ExifTool.
func TestBuiltFieldsComeBack(t *testing.T) {
	for _, order := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		f := invented()
		exif := append([]byte("Exif\x00\x00"), exiftest.TIFF(f, order)...)
		m := read(t, withSegment(picture(t, 64, 48), markAPP1, exif))
		if m.Make != f.Make || m.Model != f.Model || m.Lens != f.Lens || m.Serial != f.Serial {
			t.Errorf("%v: texts %q %q %q %q", order, m.Make, m.Model, m.Lens, m.Serial)
		}
		if !m.Taken.Equal(f.Taken) || !m.TakenHasOffset {
			t.Errorf("%v: taken %v, want %v", order, m.Taken, f.Taken)
		}
		for name, pair := range map[string][2]*float64{
			"f-number": {m.FNumber, f.FNumber}, "shutter": {m.ShutterSeconds, f.ShutterSeconds},
			"bias": {m.ExposureBiasEV, f.ExposureBiasEV}, "focal length": {m.FocalLengthMM, f.FocalLengthMM},
			"35 mm": {m.FocalLength35MM, f.FocalLength35MM},
		} {
			if pair[0] == nil || math.Abs(*pair[0]-*pair[1]) > 1e-9 {
				t.Errorf("%v: %s %v, want %v", order, name, show(pair[0]), *pair[1])
			}
		}
		if orZero(m.ISO) != 100 || !orZero(m.FlashFired) || orZero(m.Orientation) != 6 || orZero(m.Width) != 64 || orZero(m.Height) != 48 {
			t.Errorf("%v: %+v", order, m)
		}
		if got := distanceText(m.FocusDistance); !strings.HasPrefix(got, "0.3125..0.3125 m") {
			t.Errorf("%v: distance %s", order, got)
		}
	}
}

// TestMissingIsAbsent: a tag that is left out, or holds what a standard calls
// unknown, gives nil and never 0.
func TestMissingIsAbsent(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	empty := exiftest.Fields{Make: "Lumen & Fells"}
	zeros := func() []byte {
		exif := []tiffField{
			l.rational(tagExposureTime, 0, 1), l.rational(tagFNumber, 0, 0), l.short(tagSensitivity, 0),
			l.text(tagDateTimeOriginal, "    :  :     :  :  "), l.text(tagSubSecOriginal, "34"),
			l.text(tagOffsetOriginal, "   :  "), l.rational(tagSubjectDistance, 0, 1),
			l.rational(tagFocalLength, 0, 10), l.short(tagFocalLength35, 0), l.short(tagCompositeImage, 0),
			l.text(tagLensModel, "   "),
		}
		zeroth := func(at uint32) []byte {
			return l.directory(8, 0, l.text(tagMake, "Lumen & Fells"), l.short(tagOrientation, 0), l.long(tagExifIFD, at))
		}
		at := 8 + len(zeroth(0))
		return append(append(l.header("II*\x00"), zeroth(uint32(at))...), l.directory(at, 0, exif...)...)
	}
	for name, block := range map[string][]byte{"left out": exiftest.TIFF(empty, binary.BigEndian), "unknown": zeros()} {
		m := read(t, withSegment(picture(t, 64, 48), markAPP1, append([]byte("Exif\x00\x00"), block...)))
		if m.FNumber != nil || m.ShutterSeconds != nil || m.ISO != nil || m.ExposureBiasEV != nil || m.FocalLengthMM != nil ||
			m.FocalLength35MM != nil || m.FlashFired != nil || m.FocusDistance != nil || m.Orientation != nil ||
			m.InCameraComposite != nil || m.Lens != "" || m.Serial != "" || !m.Taken.IsZero() || m.TakenHasOffset {
			t.Errorf("%s: %+v", name, m)
		}
	}
}

// TestTimes: DC-008 section 4.6.5: DateTimeOriginal, SubSecTimeOriginal (digits of
// a decimal fraction, blanks behind them ignored), OffsetTimeOriginal.
func TestTimes(t *testing.T) {
	at := time.Date(2026, 5, 2, 10, 11, 12, 0, time.UTC)
	for _, tt := range []struct {
		text, fraction, offset string
		want                   time.Time
		hasOffset              bool
	}{
		{"2026:05:02 10:11:12", "", "", at, false},
		{"2026:05:02 10:11:12", "340", "", at.Add(340 * time.Millisecond), false},
		{"2026:05:02 10:11:12", "05  ", "", at.Add(50 * time.Millisecond), false},
		{"2026:05:02 10:11:12", "0532", "", at.Add(53200 * time.Microsecond), false},
		{"2026:05:02 10:11:12", "123456789123", "", at.Add(123456789), false},
		{"2026:05:02 10:11:12", "", "+05:30", at.Add(-5*time.Hour - 30*time.Minute), true},
		{"2026:05:02 10:11:12", "5", "-06:00", at.Add(6*time.Hour + 500*time.Millisecond), true},
		{"2026:05:02 10:11:12", "", "   :  ", at, false},
		{"2026:05:02 10:11:12", "", "+99:00", at, false},
		{"0000:00:00 00:00:00", "12", "+02:00", time.Time{}, false},
		{"2026:02:30 10:11:12", "", "", time.Time{}, false},
		{"2026:05:02 24:11:12", "", "", time.Time{}, false},
		{"2026:05", "", "", time.Time{}, false},
	} {
		l := layout{order: binary.BigEndian}
		block := append(l.header("MM\x00*"), l.directory(8, 0, l.text(tagDateTimeOriginal, tt.text),
			l.text(tagSubSecOriginal, tt.fraction), l.text(tagOffsetOriginal, tt.offset))...)
		b, first, err := header(newSource(bytes.NewReader(block), int64(len(block))), 0, int64(len(block)))
		if err != nil {
			t.Fatal(err)
		}
		dir, _, err := newDirReader().read(b, first)
		if err != nil {
			t.Fatal(err)
		}
		tags, err := decodeTags([]*directory{&dir})
		if err != nil {
			t.Fatal(err)
		}
		got, hasOffset := tags.taken()
		if !got.Equal(tt.want) || hasOffset != tt.hasOffset {
			t.Errorf("%q %q %q: %v (offset %v), want %v (%v)", tt.text, tt.fraction, tt.offset, got, hasOffset, tt.want, tt.hasOffset)
		}
		if hasOffset && got.Format("15:04:05") != tt.text[11:] {
			t.Errorf("%q %q: the clock reading has changed to %v", tt.text, tt.offset, got)
		}
	}
}

// TestAPEXStandsIn: DC-008 annex C: ApertureValue = 2 log2 N, ShutterSpeedValue =
// -log2 t. The figures 1695994/1000000 (f/1.8) and 8643856/1000000 (1/400 s) are
// from a real file quoted at photo.stackexchange.com, questions 108817 and 19143.
func TestAPEXStandsIn(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	block := append(l.header("II*\x00"), l.directory(8, 0,
		l.rational(tagShutterSpeedValue, 8643856, 1000000), l.rational(tagApertureValue, 1695994, 1000000))...)
	m := read(t, withSegment(picture(t, 64, 48), markAPP1, append([]byte("Exif\x00\x00"), block...)))
	if m.FNumber == nil || math.Abs(*m.FNumber-1.8) > 1e-5 {
		t.Errorf("f-number %v, want 1.8", show(m.FNumber))
	}
	if m.ShutterSeconds == nil || math.Abs(*m.ShutterSeconds*400-1) > 1e-5 {
		t.Errorf("shutter %v, want 1/400 s", show(m.ShutterSeconds))
	}
}

// TestSensitivity: DC-008 section 4.6.5: PhotographicSensitivity 65535 sends to the
// long tag that SensitivityType names (1 standard output, 2 recommended exposure
// index, 3 ISO speed).
func TestSensitivity(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	for kind, want := range map[uint16]int{1: 100000, 2: 200000, 3: 300000} {
		block := append(l.header("II*\x00"), l.directory(8, 0,
			l.short(tagSensitivity, 65535), l.short(tagSensitivityType, kind), l.long(tagStandardOutput, 100000),
			l.long(tagRecommendedExposure, 200000), l.long(tagISOSpeed, 300000))...)
		m := read(t, withSegment(picture(t, 64, 48), markAPP1, append([]byte("Exif\x00\x00"), block...)))
		if orZero(m.ISO) != want {
			t.Errorf("type %d: ISO %v, want %d", kind, orZero(m.ISO), want)
		}
	}
}

func TestSensorSize(t *testing.T) {
	f := func(v float64) *float64 { return &v }
	n := func(v int) *int { return &v }
	told := &Sensor{WidthMM: 30, HeightMM: 20}
	for _, tt := range []struct {
		name   string
		m      Metadata
		told   *Sensor
		w, h   float64
		source string
	}{
		// 5760 pixels at 5760/36 mm each way: full frame in inches and in centimetres.
		{"inches", Metadata{plane: focalPlane{5760, 3840, 4064, 4064, 25.4}}, told, 36, 24, "Exif.FocalPlaneResolution"},
		{"centimetres", Metadata{plane: focalPlane{5760, 3840, 1600, 1600, 10}}, told, 36, 24, "Exif.FocalPlaneResolution"},
		{"one resolution only", Metadata{plane: focalPlane{5760, 3840, 1600, 0, 10}}, nil, 36, 24, "Exif.FocalPlaneResolution"},
		// Scaled to a quarter by a program that left the resolution alone: the 35 mm
		// equivalent (a diagonal of 43.27 mm x 90/135) shows it.
		{"scaled picture", Metadata{plane: focalPlane{1440, 960, 4064, 4064, 25.4}, Width: n(1440), Height: n(960),
			FocalLengthMM: f(90), FocalLength35MM: f(135)}, told, 24, 16, "Exif.FocalLengthIn35mmFilm"},
		{"both agree", Metadata{plane: focalPlane{6000, 4000, 6350, 6350, 25.4}, Width: n(6000), Height: n(4000),
			FocalLengthMM: f(90), FocalLength35MM: f(135)}, nil, 24, 16, "Exif.FocalPlaneResolution"},
		{"absurd resolution", Metadata{plane: focalPlane{5760, 3840, 1, 1, 25.4}}, told, 30, 20, "photographer"},
		{"unit without length", Metadata{plane: focalPlane{5760, 3840, 4064, 4064, 0}}, told, 30, 20, "photographer"},
		{"nothing but the photographer's word", Metadata{}, told, 30, 20, "photographer"},
		{"nothing", Metadata{}, nil, 0, 0, ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, ok := tt.m.SensorSize(tt.told)
			if ok != (tt.source != "") || s.Source != tt.source || math.Abs(s.WidthMM-tt.w) > 1e-3 || math.Abs(s.HeightMM-tt.h) > 1e-3 {
				t.Errorf("got %+v, %v", s, ok)
			}
		})
	}
}

// TestSensorSizeOfRealCameras: sizes as their makers publish them. 36 x 24 for the
// two full-frame cameras, 22.2 x 14.8 mm for the 350D; the 1/1.8-inch type of the
// G2 is 7.18 x 5.32 mm by common practice. Cameras round, hence 5 %.
func TestSensorSizeOfRealCameras(t *testing.T) {
	fixturesOnDisk := fixtures(t, "jpg", "cr2", "dng")
	for name, want := range map[string][2]float64{
		"canon-canon-eos-5d-mark-iii-1.jpg": {36, 24},
		"exiftool-CanonRaw.cr2":             {22.2, 14.8},
		"exiftool-DNG.dng":                  {22.2, 14.8},
		"canon-canon-powershot-s50-1.jpg":   {7.18, 5.32},
	} {
		m := read(t, fixturesOnDisk[name])
		s, ok := m.SensorSize(nil)
		if !ok || math.Abs(s.WidthMM/want[0]-1) > 0.05 || math.Abs(s.HeightMM/want[1]-1) > 0.05 {
			t.Errorf("%s: %+v, want %v mm", name, s, want)
		}
	}
}

// TestErrors: what is not a picture, is empty, or has no metadata is told apart.
func TestErrors(t *testing.T) {
	var broken *FormatError
	var foreign *UnsupportedError
	for name, tt := range map[string]struct {
		data []byte
		is   func(error) bool
		meta bool
	}{
		"empty":              {nil, func(err error) bool { return errors.As(err, &broken) }, false},
		"zeros":              {make([]byte, 5000), func(err error) bool { return errors.As(err, &broken) }, false},
		"text":               {[]byte("Dear photographer,"), func(err error) bool { return errors.As(err, &foreign) }, false},
		"a film":             {isoBox("ftyp", []byte("isom"), be32(0)), func(err error) bool { return errors.As(err, &foreign) }, false},
		"BigTIFF cut off":    {[]byte("II+\x00\x08\x00\x00\x00"), func(err error) bool { return errors.As(err, &broken) }, true},
		"JPEG without EXIF":  {picture(t, 64, 48), func(err error) bool { return errors.Is(err, ErrNoMetadata) }, true},
		"PNG without EXIF":   {pngFileOf(), func(err error) bool { return errors.Is(err, ErrNoMetadata) }, true},
		"three bytes":        {[]byte("\xFF\xD8\xFF"), func(err error) bool { return errors.As(err, &broken) }, true},
		"TIFF header alone":  {[]byte("II*\x00\x08\x00\x00\x00"), func(err error) bool { return errors.As(err, &broken) }, true},
		"JPEG cut in a head": {picture(t, 64, 48)[:40], func(err error) bool { return errors.As(err, &broken) }, true},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := Read(bytes.NewReader(tt.data), int64(len(tt.data)))
			if err == nil || !tt.is(err) || err.Error() == "" {
				t.Errorf("error %v", err)
			}
			if (m != nil) != tt.meta {
				t.Errorf("metadata %+v", m)
			}
		})
	}
	m, err := Read(bytes.NewReader(picture(t, 64, 48)), int64(len(picture(t, 64, 48))))
	if !errors.Is(err, ErrNoMetadata) || orZero(m.Width) != 64 || m.Preview == nil {
		t.Errorf("a JPEG without EXIF still has a size and a picture: %+v, %v", m, err)
	}
}

// brokenDisk fails after some bytes.
type brokenDisk struct {
	data []byte
	good int64
}

func (d brokenDisk) ReadAt(p []byte, off int64) (int, error) {
	if off >= d.good {
		return 0, io.ErrUnexpectedEOF
	}
	return bytes.NewReader(d.data).ReadAt(p, off)
}

func TestErrorOfTheReaderComesThrough(t *testing.T) {
	data := fixtures(t, "arw")["bep-sample.arw"]
	_, err := Read(brokenDisk{data, 20000}, int64(len(data)))
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("got %v", err)
	}
	// A file that has become shorter since its size was asked for.
	m, err := Read(bytes.NewReader(data[:20000]), int64(len(data)))
	if err != nil || len(m.Missing) == 0 {
		t.Errorf("got %v, missing %v", err, m.Missing)
	}
}

// TestHostileDirectories: loops, endless chains and absurd counts come to an end.
func TestHostileDirectories(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	loop := func() []byte { // two directories that point at each other
		a := l.directory(8, 26, l.short(tagOrientation, 1))
		return append(append(l.header("II*\x00"), a...), l.directory(26, 8, l.short(tagOrientation, 1))...)
	}
	self := append(l.header("II*\x00"), l.directory(8, 8, l.short(tagOrientation, 1))...)
	chain := func() []byte { // 10 000 directories in a row
		out := l.header("II*\x00")
		for i := range 10000 {
			at := 8 + 18*i
			out = append(out, l.directory(at, uint32(at+18), l.short(tagOrientation, 1))...)
		}
		return out
	}
	wide := func() []byte { // one directory of 10 000 entries
		fields := []tiffField{l.text(tagMake, "Lumen & Fells")}
		for i := range 9999 {
			fields = append(fields, l.short(uint16(0x1000+i%7), 1))
		}
		return append(l.header("II*\x00"), l.directory(8, 0, fields...)...)
	}
	selfExif := append(l.header("II*\x00"), l.directory(8, 0, l.text(tagMake, "Lumen"), l.long(tagExifIFD, 8))...)
	subLoop := append(l.header("II*\x00"), l.directory(8, 0, l.text(tagMake, "Lumen"), l.long(tagSubIFDs, 8, 8, 8, 8))...)
	huge := append(l.header("II*\x00"), l.directory(8, 0, l.text(tagMake, "Lumen"),
		tiffField{tagModel, typeASCII, 0xFFFFFFFF, l.u32(8)}, tiffField{tagXMP, typeDouble, 0x7FFFFFFF, l.u32(8)})...)
	for name, tt := range map[string]struct {
		data []byte
		make string
	}{
		"two that point at each other": {loop(), ""},
		"one that points at itself":    {self, ""},
		"10 000 in a row":              {chain(), ""},
		"10 000 entries":               {wide(), "Lumen & Fells"},
		"Exif IFD is the 0th IFD":      {selfExif, "Lumen"},
		"SubIFDs are the 0th IFD":      {subLoop, "Lumen"},
		"values of 4 and 16 GiB":       {huge, "Lumen"},
	} {
		t.Run(name, func(t *testing.T) {
			checkAny(t, tt.data)
			m, err := Read(bytes.NewReader(tt.data), int64(len(tt.data)))
			if m.Make != tt.make {
				t.Errorf("make %q, want %q", m.Make, tt.make)
			}
			if err == nil && len(m.Missing) == 0 {
				t.Error("nothing said of the fault")
			}
		})
	}
}

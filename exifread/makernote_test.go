package exifread

import (
	"bytes"
	"encoding/binary"
	"maps"
	"math"
	"testing"
)

// madeNote is a maker note: at says where in the EXIF block it will stand, for
// notes whose offsets count from there.
type madeNote struct {
	model string
	note  func(l layout, at int) []byte
}

// noteBlock makes an EXIF block with a maker note and a focal length of 50 mm.
func noteBlock(l layout, maker string, n madeNote) []byte {
	fields := func(exifAt uint32) []tiffField {
		return []tiffField{l.text(tagMake, maker), l.text(tagModel, n.model), l.long(tagExifIFD, exifAt)}
	}
	exifAt := 8 + len(l.directory(8, 0, fields(0)...))
	noteAt := exifAt + 2 + 2*12 + 4 + 8
	out := append(l.header(l.magic()), l.directory(8, 0, fields(uint32(exifAt))...)...)
	return append(out, l.directory(exifAt, 0,
		l.rational(tagFocalLength, 50, 1), l.undefined(tagMakerNote, n.note(l, noteAt)))...)
}

func noteJPEG(t testing.TB, l layout, maker string, n madeNote) []byte {
	return withSegment(picture(t, 64, 48), markAPP1, append([]byte("Exif\x00\x00"), noteBlock(l, maker, n)...))
}

// shorts makes an array of n 16-bit numbers with some of them set.
func (l layout) shorts(n int, set map[int]uint16) tiffField {
	v := make([]uint16, n)
	for i, x := range set {
		v[i] = x
	}
	return l.short(0, v...)
}

func (f tiffField) as(tag uint16) tiffField { f.tag = tag; return f }

// makerNotes are invented notes in the layouts of the makers' real ones (ExifTool's
// tag tables; the module of each is named in makernote.go).
func makerNotes(layout) map[string]madeNote {
	little := layout{order: binary.LittleEndian}
	big := layout{order: binary.BigEndian}
	return map[string]madeNote{
		"Canon": {"invented", func(l layout, at int) []byte {
			return l.directory(at, 0,
				l.shorts(34, map[int]uint16{0: 68, 19: 35, 20: 31}).as(0x0004),
				l.long(0x000C, 12345),
				l.shorts(33, map[int]uint16{0: 66, 5: 7, 20: 33, 21: 32, 23: 1}).as(0x0093),
				l.text(0x0095, "invented 90mm"),
				l.long(0x4053, 20, 1, 30, 4))
		}},
		"NIKON": {"invented", func(_ layout, _ int) []byte {
			dir := big.directory(8, 0,
				big.text(0x001D, "778899"),
				big.short(0x0034, 48),
				big.rational(0x0084, 600, 10, 600, 10, 28, 10, 28, 10),
				big.rational(0x0085, 0, 1),
				big.undefined(0x0098, append([]byte("0101\x00\x00\x00\x00\x00"), 60, 0, 0)))
			return append(append([]byte("Nikon\x00\x02\x10\x00\x00"), big.header("MM\x00*")...), dir...)
		}},
		"OM Digital Solutions": {"invented", func(_ layout, _ int) []byte {
			sub := func(settingsAt, focusAt int) []byte {
				return little.directory(16, 0, little.long(0x2020, uint32(settingsAt)), little.long(0x2050, uint32(focusAt)))
			}
			settingsAt := 16 + len(sub(0, 0))
			settings := little.directory(settingsAt, 0,
				little.short(0x0600, 5, 12, 1<<6, 0, 4), little.long(0x0804, 9, 8))
			focusAt := settingsAt + len(settings)
			focus := little.directory(focusAt, 0, little.short(0x0301, 1234), little.rational(0x0305, 287, 10))
			return bytes.Join([][]byte{[]byte("OM SYSTEM\x00\x00\x00II\x04\x00"), sub(settingsAt, focusAt), settings, focus}, nil)
		}},
		"Panasonic": {"invented", func(l layout, at int) []byte {
			return append([]byte("Panasonic\x00\x00\x00"), l.directory(at+12, 0,
				l.text(0x0051, "invented 45mm"), l.short(0x009F, 1), l.short(0x00BD, 0xFFFD))...)
		}},
		"SONY": {"DSLR-A850", func(l layout, at int) []byte {
			block := make([]byte, 19148)
			block[0x09BB] = 9
			return append([]byte("SONY DSC \x00\x00\x00"), l.directory(at+12, 0, l.undefined(0x0020, block))...)
		}},
		"Minolta Co., Ltd.": {"invented", func(l layout, at int) []byte {
			v := make([]uint32, 40)
			v[19] = 420
			return l.directory(at, 0, l.undefined(0x0003, big.u32(v...)))
		}},
		"CASIO": {"invented", func(l layout, at int) []byte {
			return l.directory(at, 0, l.long(0x0006, 179), l.short(0x0014, 64))
		}},
		"CASIO COMPUTER CO.,LTD.": {"invented", func(_ layout, at int) []byte {
			return append([]byte("QVC\x00\x00\x00"), big.directory(at+6, 0, big.long(0x2022, 0x20000000))...)
		}},
		"Apple": {"invented", func(_ layout, _ int) []byte {
			f := big.rational(0x000C, 17, 64, 61, 256)
			f.typ = typeSRational
			return append([]byte("Apple iOS\x00\x00\x01MM"), big.directory(14, 0, f)...)
		}},
		"FUJIFILM": {"invented", func(_ layout, _ int) []byte {
			return append([]byte("FUJIFILM\x0c\x00\x00\x00"), little.directory(12, 0, little.short(0x1050, 3))...)
		}},
	}
}

func TestMakerNotes(t *testing.T) {
	type want struct {
		near, far, step float64
		infinity        bool
		source          string
		lens, serial    string
		shutter         string
		shot, offset    int
		focusStep, iso  int
		composite       bool
	}
	// Values worked out by hand from the tables: Canon whole centimetres; Nikon
	// 0.01 m x 10^(60/40) = 0.316228 m; Sony 9 x 50 mm.
	wants := map[string]want{
		"Canon": {near: 0.32, far: 0.33, step: 0.01, source: "Canon.FocusDistanceUpper", lens: "invented 90mm",
			serial: "12345", shutter: firstCurtain, shot: 7},
		"NIKON": {near: 0.316228, far: 0.316228, step: 0.316228 * 0.0592537, source: "Nikon.LensData.FocusDistance",
			lens: "60mm f/2.8", serial: "778899", shutter: firstCurtain},
		"OM Digital Solutions": {near: 0.287, far: 0.287, step: 0.001, source: "Olympus.FocusDistance", shutter: electronic,
			shot: 12, focusStep: 1234, composite: true},
		"Panasonic":               {lens: "invented 45mm", shutter: electronic, offset: -3},
		"SONY":                    {near: 0.45, far: 0.45, step: 0.05, source: "Sony.FocusPosition"},
		"Minolta Co., Ltd.":       {near: 0.42, far: 0.42, step: 0.001, source: "Minolta.FocusDistance"},
		"CASIO":                   {near: 0.179, far: 0.179, step: 0.001, source: "Casio.ObjectDistance", iso: 64},
		"CASIO COMPUTER CO.,LTD.": {infinity: true, source: "Casio.ObjectDistance"},
		"Apple":                   {near: 61.0 / 256, far: 17.0 / 64, source: "Apple.FocusDistanceRange"},
		"FUJIFILM":                {shutter: firstCurtain},
	}
	for _, l := range []layout{{order: binary.LittleEndian}, {order: binary.BigEndian}} {
		notes := makerNotes(l)
		if len(notes) != len(wants) {
			t.Fatal("every note must have its truth")
		}
		for maker := range maps.Keys(notes) {
			w := wants[maker]
			t.Run(maker+l.magic()[:2], func(t *testing.T) {
				data := noteJPEG(t, l, maker, notes[maker])
				m, err := Read(bytes.NewReader(data), int64(len(data)))
				if err != nil {
					t.Fatal(err)
				}
				if len(m.Missing) > 0 {
					t.Errorf("missing: %v", m.Missing)
				}
				if got := distanceText(m.FocusDistance); w.source == "" && m.FocusDistance != nil {
					t.Errorf("distance %s where the maker writes none", got)
				}
				if w.source != "" {
					d := m.FocusDistance
					if d == nil || d.Source != w.source || d.Infinity != w.infinity {
						t.Fatalf("distance %s, want source %s, infinity %v", distanceText(d), w.source, w.infinity)
					}
					if !w.infinity && (!near(*d.NearM, w.near) || !near(*d.FarM, w.far)) || !near(d.StepM, w.step) {
						t.Errorf("distance %s, want %v to %v in steps of %v m", distanceText(d), w.near, w.far, w.step)
					}
				}
				if m.Lens != w.lens || m.Serial != w.serial || m.ShutterMode != w.shutter {
					t.Errorf("lens %q serial %q shutter %q, want %q %q %q", m.Lens, m.Serial, m.ShutterMode, w.lens, w.serial, w.shutter)
				}
				if orZero(m.BracketShot) != w.shot || orZero(m.BracketOffset) != w.offset ||
					orZero(m.FocusStep) != w.focusStep || orZero(m.ISO) != w.iso || orZero(m.InCameraComposite) != w.composite {
					t.Errorf("shot %v offset %v step %v ISO %v composite %v, want %+v", orZero(m.BracketShot), orZero(m.BracketOffset),
						orZero(m.FocusStep), orZero(m.ISO), orZero(m.InCameraComposite), w)
				}
			})
		}
	}
}

func orZero[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}

// near: equal to six digits, which is what the truths are written to.
func near(a, b float64) bool { return math.Abs(a-b) <= 2e-6*max(math.Abs(a), math.Abs(b)) }

// TestDistanceSentinels: "infinity" and "unknown" never become a number.
func TestDistanceSentinels(t *testing.T) {
	const src = "test"
	tests := []struct {
		name      string
		got       *FocusDistance
		near, far float64 // 0 for nil
		infinity  bool
	}{
		// DC-008 section 4.6.5 SubjectDistance: numerator 0xFFFFFFFF infinity, 0 unknown.
		{"EXIF infinity", distanceOf(math.MaxUint32, 1, src), 0, 0, true},
		{"EXIF unknown", distanceOf(0, 1, src), 0, 0, false},
		{"EXIF 0/0", distanceOf(0, 0, src), 0, 0, false},
		{"EXIF over 0", distanceOf(3, 0, src), 0, 0, false},
		// ExifTool Canon.pm: 0xFFFF is above 655.345 m.
		{"Canon far limit infinite", between(0xFFFF, 120, 0xFFFF, src), 1.2, 0, true},
		{"Canon both infinite", between(0xFFFF, 0xFFFF, 0xFFFF, src), 0, 0, true},
		{"Canon lower 0", between(49, 0, 0xFFFF, src), 0.49, 0.49, false},
		{"Canon both 0", between(0, 0, 0xFFFF, src), 0, 0, false},
		{"Canon in the wrong order", between(22, 24, 0xFFFF, src), 0.22, 0.24, false},
		// ExifTool XMP.pm: 4294967295 is infinity.
		{"XMP infinity", approximateDistance("4294967295"), 0, 0, true},
		{"XMP infinity as a fraction", approximateDistance("4294967295/1"), 0, 0, true},
		{"XMP unknown", approximateDistance("0/1"), 0, 0, false},
		{"XMP nonsense", approximateDistance("near"), 0, 0, false},
		{"XMP NaN", approximateDistance("NaN"), 0, 0, false},
		{"XMP decimal", approximateDistance("0.39"), 0.39, 0.39, false},
		// ExifTool Nikon.pm LensData01: byte 0 is infinity; the version decides.
		{"Nikon infinity", nikonLensData([]byte("0101\x00\x00\x00\x00\x00\x00")), 0, 0, true},
		{"Nikon enciphered", nikonLensData([]byte("0204\x00\x00\x00\x00\x00\x21")), 0, 0, false},
		{"Nikon without distance", nikonLensData([]byte("0100\x00\x00\x00\x00\x00\x21")), 0, 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := orZero(tt.got)
			if d.Infinity != tt.infinity || orZero(d.NearM) != tt.near || orZero(d.FarM) != tt.far {
				t.Errorf("got %s", distanceText(tt.got))
			}
			if tt.got != nil && tt.near == 0 && !tt.infinity {
				t.Error("an unknown distance must be nil")
			}
		})
	}
}

// TestCoarsenessOfADistance: a maker's whole centimetres must not pass for
// millimetres.
func TestCoarsenessOfADistance(t *testing.T) {
	for _, tt := range []struct {
		d    *FocusDistance
		want float64
	}{
		{between(33, 32, 0xFFFF, "test"), 0.01},
		{distanceOf(31, 100, "test"), 0.01},
		{distanceOf(312, 1000, "test"), 0.001},
		{distanceOf(2, 1, "test"), 1},
		{distanceOf(5000, 16000, "test"), 0}, // no power of ten: nobody knows
		{millimetres(287, false, "test"), 0.001},
	} {
		if tt.d.StepM != tt.want {
			t.Errorf("%s: step %v, want %v", distanceText(tt.d), tt.d.StepM, tt.want)
		}
	}
}

package exifread

import (
	"bytes"
	"encoding/binary"
	"errors"
	"maps"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"runtime/metrics"
	"slices"
	"testing"

	"stillbench/exifread/exiftest"
)

// fixtures returns the small real files in testdata with one of the extensions.
func fixtures(t testing.TB, exts ...string) map[string][]byte {
	t.Helper()
	out := make(map[string][]byte)
	for _, ext := range exts {
		names, err := filepath.Glob(filepath.Join("..", "testdata", "exif", "*."+ext))
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			out[filepath.Base(name)] = data
		}
	}
	if len(out) == 0 {
		t.Fatalf("no fixtures with extension %v", exts)
	}
	return out
}

// allocated is the number of bytes allocated since the program began.
func allocated() uint64 {
	s := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	metrics.Read(s)
	return s[0].Value.Uint64()
}

// checkAny reads a file of whatever content and holds what must be true of any.
func checkAny(t *testing.T, data []byte) {
	before := allocated()
	m, err := Read(bytes.NewReader(data), int64(len(data)))
	if got, most := allocated()-before, uint64(len(data)+16<<20); got > most {
		t.Errorf("Read allocated %d bytes for a file of %d", got, len(data))
	}
	before = allocated()
	ok, what := Whole(bytes.NewReader(data), int64(len(data)))
	if got, most := allocated()-before, uint64(len(data)+16<<20); got > most {
		t.Errorf("Whole allocated %d bytes for a file of %d", got, len(data))
	}
	before = allocated()
	Profile(bytes.NewReader(data), int64(len(data)))
	if got, most := allocated()-before, uint64(len(data)+16<<20); got > most {
		t.Errorf("Profile allocated %d bytes for a file of %d", got, len(data))
	}
	if ok != (what.Form == "") {
		t.Errorf("Whole: %v with %q", ok, what)
	}
	if m == nil {
		if err == nil {
			t.Error("neither metadata nor an error")
		}
		return
	}
	if err == nil && !ok && len(m.Missing) == 0 {
		t.Errorf("not whole (%s), yet nothing missing", what)
	}
	checkSane(t, m, int64(len(data)))
	again, err2 := Read(bytes.NewReader(data), int64(len(data)))
	if !reflect.DeepEqual(m, again) || (err == nil) != (err2 == nil) {
		t.Error("reading twice gives two answers")
	}
}

// checkSane holds the promises of Metadata's doc comments.
func checkSane(t *testing.T, m *Metadata, size int64) {
	t.Helper()
	for name, v := range map[string]*float64{
		"FNumber": m.FNumber, "ShutterSeconds": m.ShutterSeconds,
		"FocalLengthMM": m.FocalLengthMM, "FocalLength35MM": m.FocalLength35MM,
	} {
		if v != nil && (!(*v > 0) || math.IsInf(*v, 0)) {
			t.Errorf("%s is %v", name, *v)
		}
	}
	if v := m.ISO; v != nil && *v <= 0 {
		t.Errorf("ISO is %d", *v)
	}
	if v := m.Orientation; v != nil && (*v < 1 || *v > 8) {
		t.Errorf("Orientation is %d", *v)
	}
	if (m.Width == nil) != (m.Height == nil) {
		t.Error("width without height")
	}
	if m.Width != nil && (*m.Width <= 0 || *m.Height <= 0) {
		t.Errorf("size is %d x %d", *m.Width, *m.Height)
	}
	if m.TakenHasOffset && m.Taken.IsZero() {
		t.Error("an offset without a time")
	}
	if d := m.FocusDistance; d != nil {
		if d.Source == "" || d.Infinity != (d.FarM == nil) {
			t.Errorf("distance %+v", *d)
		}
		if d.NearM != nil && !(*d.NearM > 0) || d.NearM != nil && d.FarM != nil && *d.NearM > *d.FarM {
			t.Errorf("distance from %v to %v", d.NearM, d.FarM)
		}
	}
	if p := m.Preview; p != nil &&
		(p.Offset < 0 || p.Length <= 0 || p.Offset+p.Length > size || p.Width <= 0 || p.Height <= 0) {
		t.Errorf("preview %+v in a file of %d", *p, size)
	}
	if s, ok := m.SensorSize(nil); ok && (!(s.WidthMM > 0) || !(s.HeightMM > 0) || s.Source == "") {
		t.Errorf("sensor %+v", s)
	}
}

func fuzz(f *testing.F, seeds ...[]byte) {
	for _, s := range seeds {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<20 {
			t.Skip("longer than any seed")
		}
		checkAny(t, data)
	})
}

// heads gives the beginnings of the fixtures, where all that is read here stands: a
// mutation in coded pixels finds nothing.
func heads(m map[string][]byte) (out [][]byte) {
	const enough = 16 << 10
	for _, name := range slices.Sorted(maps.Keys(m)) {
		out = append(out, m[name][:min(len(m[name]), enough)])
	}
	return out
}

func FuzzJPEG(f *testing.F) {
	seeds := heads(fixtures(f, "jpg"))
	plain := picture(f, 64, 48)
	seeds = append(seeds, plain, withEXIF(f, plain, invented()), withSegment(plain, markAPP1, xmpPacket("39/100")),
		multiPicture(f))
	for maker, note := range makerNotes(layout{order: binary.LittleEndian}) {
		seeds = append(seeds, noteJPEG(f, layout{order: binary.LittleEndian}, maker, note))
	}
	fuzz(f, seeds...)
}

// FuzzTIFF covers TIFF, DNG, CR2, NEF, ARW, PEF, ORF and RW2: one walker reads
// them all.
func FuzzTIFF(f *testing.F) {
	seeds := heads(fixtures(f, "dng", "cr2", "nef", "arw", "pef", "rw2"))
	for _, o := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		seeds = append(seeds, exiftest.TIFF(invented(), o))
	}
	seeds = append(seeds, tiffKinds(f)...)
	fuzz(f, seeds...)
}

func FuzzRAF(f *testing.F) {
	fuzz(f, append(heads(fixtures(f, "raf")), rafFileOf(withEXIF(f, picture(f, 64, 48), invented())))...)
}

func FuzzCR3(f *testing.F) {
	fuzz(f, append(heads(fixtures(f, "cr3")), builtCR3(f))...)
}

func FuzzHEIF(f *testing.F) {
	exif := exiftest.TIFF(invented(), binary.BigEndian)
	fuzz(f, heifFileOf(exif, picture(f, 32, 24)), heifFileOf(exif, nil, isoBox("irot", []byte{3}), isoBox("imir", []byte{1})),
		heifWideFileOf(exif))
}

func FuzzPNG(f *testing.F) {
	exif := pngChunk("eXIf", exiftest.TIFF(invented(), binary.BigEndian))
	seeds := [][]byte{pngFileOf(exif), pngFileOf(pngChunk("IDAT", make([]byte, 50)), exif), pngFileOf(pngXMPChunk("39/100"))}
	for _, c := range textProfiles() {
		seeds = append(seeds, pngFileOf(c))
	}
	fuzz(f, seeds...)
}

// TestSeedsReadWithoutPanicWhenCut cuts every fixture at many places.
func TestSeedsReadWithoutPanicWhenCut(t *testing.T) {
	for name, data := range fixtures(t, "jpg", "dng", "cr2", "cr3", "nef", "arw", "pef", "rw2", "raf") {
		step := max(1, len(data)/60)
		for n := 0; n < len(data); n += step {
			m, err := Read(bytes.NewReader(data[:n]), int64(n))
			var broken *FormatError
			var foreign *UnsupportedError
			switch {
			case m == nil && !errors.As(err, &broken) && !errors.As(err, &foreign):
				t.Errorf("%s cut to %d bytes: %v", name, n, err)
			case m != nil && err == nil && len(m.Missing) == 0 && isCut(data, n):
				t.Errorf("%s cut to %d bytes reads as if nothing were missing", name, n)
			}
			if m != nil {
				checkSane(t, m, int64(n))
			}
		}
	}
}

// isCut reports whether the first n bytes must be seen to be cut: not when the
// format itself can end there.
func isCut(data []byte, n int) bool {
	whole, _ := Whole(bytes.NewReader(data[:n]), int64(n))
	return !whole
}

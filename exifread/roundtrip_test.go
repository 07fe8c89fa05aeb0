package exifread

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// written are values that another program writes into a file, and what must then be
// read. They are chosen so that no fixture has them already.
var written = []struct {
	exiftool, exiv2 string
	read            func(m *Metadata) string
	want            string
}{
	{"ExifIFD:FNumber=7.1", "Exif.Photo.FNumber Rational 71/10", func(m *Metadata) string { return show(m.FNumber) }, "7.1"},
	{"ExifIFD:ExposureTime=1/13", "Exif.Photo.ExposureTime Rational 1/13", func(m *Metadata) string { return fmt.Sprintf("%.6f", orZero(m.ShutterSeconds)) }, "0.076923"},
	{"ExifIFD:ISO=160", "Exif.Photo.ISOSpeedRatings Short 160", func(m *Metadata) string { return show(m.ISO) }, "160"},
	{"ExifIFD:ExposureCompensation=-1.5", "Exif.Photo.ExposureBiasValue SRational -3/2", func(m *Metadata) string { return show(m.ExposureBiasEV) }, "-1.5"},
	{"ExifIFD:FocalLength=61", "Exif.Photo.FocalLength Rational 61/1", func(m *Metadata) string { return show(m.FocalLengthMM) }, "61"},
	{"ExifIFD:FocalLengthIn35mmFormat=92", "Exif.Photo.FocalLengthIn35mmFilm Short 92", func(m *Metadata) string { return show(m.FocalLength35MM) }, "92"},
	{"ExifIFD:Flash=1", "Exif.Photo.Flash Short 1", func(m *Metadata) string { return show(m.FlashFired) }, "true"},
	{"IFD0:Orientation=8", "Exif.Image.Orientation Short 8", func(m *Metadata) string { return show(m.Orientation) }, "8"},
	{"ExifIFD:LensModel=invented 61mm", "Exif.Photo.LensModel Ascii invented 61mm", func(m *Metadata) string { return m.Lens }, "invented 61mm"},
	{"ExifIFD:SerialNumber=A-61", "Exif.Photo.BodySerialNumber Ascii A-61", func(m *Metadata) string { return m.Serial }, "A-61"},
	{"ExifIFD:SubjectDistance=0.312", "Exif.Photo.SubjectDistance Rational 312/1000", func(m *Metadata) string { return fmt.Sprintf("%.6f", orZero(m.FocusDistance.NearM)) }, "0.312000"},
	{"ExifIFD:DateTimeOriginal=2026:05:02 10:11:12", "Exif.Photo.DateTimeOriginal Ascii 2026:05:02 10:11:12", nil, ""},
	{"ExifIFD:SubSecTimeOriginal=34", "Exif.Photo.SubSecTimeOriginal Ascii 34", nil, ""},
	{"ExifIFD:OffsetTimeOriginal=+02:00", "Exif.Photo.OffsetTimeOriginal Ascii +02:00",
		func(m *Metadata) string { return m.Taken.Format(time.RFC3339Nano) }, "2026-05-02T10:11:12.34+02:00"},
}

// scratch writes the files to be changed: one of every container that the other
// programs write.
func scratch(t *testing.T, only ...string) []string {
	t.Helper()
	files := map[string][]byte{
		"plain.jpg": picture(t, 64, 48),
		"built.jpg": withEXIF(t, picture(t, 64, 48), invented()),
		"built.png": pngFileOf(pngChunk("IDAT", []byte{0x78, 0x9c, 3, 0, 0, 0, 0, 1})),
	}
	little := layout{order: binary.LittleEndian}
	files["built.tif"] = rawFile(t, little, "II*\x00", "Lumen & Fells", nil, nil, picture(t, 40, 30))
	files["built.orf"] = rawFile(t, little, "IIRO", "OLYMPUS IMAGING CORP.", nil, nil, picture(t, 40, 30))
	// The fixtures of these two are cut off as well.
	files["built.arw"] = rawFile(t, little, "II*\x00", "SONY", nil, nil, picture(t, 40, 30))
	files["built.pef"] = rawFile(t, little, "II*\x00", "PENTAX Corporation", nil, nil, picture(t, 40, 30))
	for name, data := range fixtures(t, "dng", "cr2", "cr3", "nef", "raf", "rw2") {
		if name != "bep-sample.dng" { // its strips are cut off: no program writes it
			files[name] = data
		}
	}
	// The HEIF files are too large to lie with the others.
	heifs, err := filepath.Glob(filepath.Join(sharedData, "*.heic"))
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range heifs {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.Base(path)] = data
	}
	dir := t.TempDir()
	var out []string
	for name, data := range files {
		if len(only) > 0 && !strings.Contains(strings.Join(only, " "), filepath.Ext(name)) {
			continue
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		out = append(out, path)
	}
	return out
}

func readPath(t *testing.T, path string) *Metadata {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Read(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatalf("%s: %v", filepath.Base(path), err)
	}
	return m
}

func checkWritten(t *testing.T, path string) {
	t.Helper()
	m := readPath(t, path)
	for _, w := range written {
		// How an HEIF picture stands is said by its item's properties, not by EXIF (ISO/IEC
		// 23008-12 section 6.5.10; DC-008's tag is for information there).
		if w.read == nil || filepath.Ext(path) == ".heic" && strings.Contains(w.exiftool, "Orientation") {
			continue
		}
		if m.FocusDistance == nil {
			t.Fatal("no distance read")
		}
		if got := w.read(m); got != w.want {
			t.Errorf("%s: read %s, want %s", w.exiftool, got, w.want)
		}
	}
}

// TestWhatExifToolWrites: ExifTool (Debian: libimage-exiftool-perl) writes into a
// file of each container.
func TestWhatExifToolWrites(t *testing.T) {
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed")
	}
	args := []string{"-q", "-m", "-n", "-overwrite_original"}
	for _, w := range written {
		args = append(args, "-"+w.exiftool)
	}
	files := scratch(t)
	if out, err := exec.Command(tool, append(args, files...)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) { checkWritten(t, path) })
	}
}

// TestExifToolReadsOurBigTIFF: it does not write BigTIFF, but reads it: what it reads of a
// file of our making is what was meant.
func TestExifToolReadsOurBigTIFF(t *testing.T) {
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed")
	}
	path := filepath.Join(t.TempDir(), "big.tif")
	data := rawFile(t, layout{binary.LittleEndian, true}, "II+\x00", "Lumen & Fells", nil, nil, picture(t, 40, 30))
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-n", "-s3", "-FNumber", "-ExposureTime", "-FocalLength", "-Make", "-SubIFD:ImageWidth", path).Output()
	m := readPath(t, path)
	if want := fmt.Sprintf("%s\n%s\n%s\n%s\n%s\n", show(m.FNumber), show(m.ShutterSeconds), show(m.FocalLengthMM), m.Make, show(m.Width)); err != nil || string(out) != want {
		t.Errorf("ExifTool reads %q, we %q (%v)", out, want, err)
	}
}

// TestWhatExiv2Writes: the same by a second, independent program. (Into PNG its older
// versions write a private text chunk, not eXIf.)
func TestWhatExiv2Writes(t *testing.T) {
	tool, err := exec.LookPath("exiv2")
	if err != nil {
		t.Skip("exiv2 is not installed")
	}
	args := []string{"-q"}
	for _, w := range written {
		args = append(args, "-M", "set "+w.exiv2)
	}
	files := scratch(t, ".jpg")
	if out, err := exec.Command(tool, append(args, files...)...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) { checkWritten(t, path) })
	}
}

// TestDistancesThatExifToolWritesIntoNotes: maker notes and XMP, where nothing that
// goes before stands in the file.
func TestDistancesThatExifToolWritesIntoNotes(t *testing.T) {
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed")
	}
	dir := t.TempDir()
	var args, paths []string
	var checks []func(*testing.T)
	for _, tt := range []struct {
		fixture string
		args    []string
		source  string
		near    float64
		far     float64 // 0: infinity
		within  float64 // how finely the note can hold it
	}{
		{"canon-canon-eos-5d-mark-iii-1.jpg", []string{"-Canon:FocusDistanceUpper=0.58", "-Canon:FocusDistanceLower=0.55"},
			"Canon.FocusDistanceUpper", 0.55, 0.58, 0},
		{"exiftool-CanonRaw.cr3", []string{"-Canon:FocusDistanceUpper=655.35", "-Canon:FocusDistanceLower=1.2"},
			"Canon.FocusDistanceUpper", 1.2, 0, 0},
		{"exiftool-Nikon.nef", []string{"-Nikon:FocusDistance=0.35"}, "Nikon.LensData.FocusDistance", 0.35, 0.35, 0.02},
		{"casio-ex-s1-1.jpg", []string{"-Casio:ObjectDistance=0.213"}, "Casio.ObjectDistance", 0.213, 0.213, 0},
		{"exiftool-CanonRaw.cr2", []string{"-XMP-aux:ApproximateFocusDistance=0.27"}, "XMP.aux:ApproximateFocusDistance", 0.27, 0.27, 1e-9},
		{"sanyo-sr662-1.jpg", []string{"-XMP-aux:ApproximateFocusDistance=0.27"}, "XMP.aux:ApproximateFocusDistance", 0.27, 0.27, 1e-9},
	} {
		data := fixtures(t, strings.TrimPrefix(filepath.Ext(tt.fixture), "."))[tt.fixture]
		path := filepath.Join(dir, fmt.Sprintf("%d-%s", len(paths), tt.fixture))
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, append(tt.args, path, "-execute")...)
		paths = append(paths, path)
		checks = append(checks, func(t *testing.T) {
			d := readPath(t, path).FocusDistance
			if d == nil || d.Source != tt.source || d.Infinity != (tt.far == 0) {
				t.Fatalf("read %s", distanceText(d))
			}
			if math.Abs(orZero(d.NearM)-tt.near) > tt.within*tt.near || math.Abs(orZero(d.FarM)-tt.far) > tt.within*tt.far {
				t.Errorf("read %s, written %v to %v", distanceText(d), tt.near, tt.far)
			}
		})
	}
	args = append(args, "-common_args", "-q", "-m", "-n", "-overwrite_original")
	if out, err := exec.Command(tool, args...).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for i, check := range checks {
		t.Run(filepath.Base(paths[i]), check)
	}
}

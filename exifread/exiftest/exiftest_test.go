package exiftest_test

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"image"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
)

func ptr[T any](v T) *T { return &v }

// full is invented: no such camera exists.
func full() exiftest.Fields {
	return exiftest.Fields{
		Make: "Lumen & Fells", Model: "LF-7", Lens: "LF Closeup 90mm f/3.5", Serial: "0040123",
		Taken:     time.Date(2026, 5, 2, 10, 11, 12, 340e6, time.FixedZone("", 2*3600)),
		HasOffset: true,
		FNumber:   ptr(10.0), ShutterSeconds: ptr(1.0 / 6), FocalLengthMM: ptr(90.0),
		FocalLength35MM: ptr(135.0), ExposureBiasEV: ptr(-2.0 / 3), SubjectDistanceM: ptr(0.3125),
		ISO: ptr(100), FlashFired: ptr(true), Orientation: ptr(6), Width: ptr(64), Height: ptr(48),
	}
}

func small(t *testing.T) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, image.NewGray(image.Rect(0, 0, 64, 48)), nil); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// The independent reader is ExifTool (Debian package libimage-exiftool-perl),
// numeric form (-n).
func TestExifToolReadsWhatWasWritten(t *testing.T) {
	tool, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool is not installed")
	}
	file, err := exiftest.InsertJPEG(small(t), full())
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{
		"jpeg.jpg":   file,
		"big.tif":    exiftest.TIFF(full(), binary.BigEndian),
		"little.tif": exiftest.TIFF(full(), binary.LittleEndian),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), name)
			if err := os.WriteFile(path, data, 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(tool, "-n", "-j", "-validate", "-warning", "-a", "-EXIF:all", path).Output()
			if err != nil {
				t.Fatal(err)
			}
			var read []map[string]any
			if err := json.Unmarshal(out, &read); err != nil {
				t.Fatal(err)
			}
			for tag, want := range map[string]any{
				"Make": "Lumen & Fells", "Model": "LF-7", "LensModel": "LF Closeup 90mm f/3.5",
				"SerialNumber": "0040123", "DateTimeOriginal": "2026:05:02 10:11:12",
				"SubSecTimeOriginal": 340.0, "OffsetTimeOriginal": "+02:00",
				"FNumber": 10.0, "ExposureTime": 0.1666666667, "FocalLength": 90.0,
				"FocalLengthIn35mmFormat": 135.0, "ExposureCompensation": -0.6666666667,
				"SubjectDistance": 0.3125, "ISO": 100.0, "Flash": 1.0, "Orientation": 6.0,
				"ExifImageWidth": 64.0, "ExifImageHeight": 48.0,
			} {
				got := read[0][tag]
				if tag == "SerialNumber" && got == 40123.0 {
					continue // JSON output prints digits as a number
				}
				if got != want {
					t.Errorf("%s: ExifTool reads %v, written %v", tag, got, want)
				}
			}
		})
	}
}

func TestEmptyFieldsLeaveTagsOut(t *testing.T) {
	// TIFF 6.0 section 2 and DC-008 section 4.6.3: header, a directory with the Exif
	// pointer alone, a directory with ExifVersion alone.
	want := []byte{'I', 'I', 42, 0, 8, 0, 0, 0,
		1, 0, 0x69, 0x87, 4, 0, 1, 0, 0, 0, 26, 0, 0, 0, 0, 0, 0, 0,
		1, 0, 0x00, 0x90, 7, 0, 4, 0, 0, 0, '0', '2', '3', '2', 0, 0, 0, 0}
	if got := exiftest.TIFF(exiftest.Fields{}, binary.LittleEndian); !bytes.Equal(got, want) {
		t.Errorf("got % x, want % x", got, want)
	}
}

func TestInsertJPEGKeepsThePicture(t *testing.T) {
	plain := small(t)
	with, err := exiftest.InsertJPEG(plain, full())
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasSuffix(with, plain[2:]) {
		t.Error("the stream after SOI has changed")
	}
	if _, err := jpeg.Decode(bytes.NewReader(with)); err != nil {
		t.Error(err)
	}
	if _, err := exiftest.InsertJPEG([]byte("no picture"), full()); err == nil {
		t.Error("took what is not a JPEG")
	}
	f := full()
	f.Lens = string(make([]byte, 70000))
	if _, err := exiftest.InsertJPEG(plain, f); err == nil {
		t.Error("took a segment longer than 65 533 bytes")
	}
}

package blend

import (
	"bytes"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"golang.org/x/image/tiff"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/plane"
)

func ptr[T any](v T) *T { return &v }

// carried holds invented metadata, and a profile that is one by its length and signature alone.
func carried() Carried {
	profile := make([]byte, 70001)
	profile[2], profile[3] = 0x11, 0x71 // 70001, ICC.1:2010 clause 7.2.2
	profile[1] = 0x01
	copy(profile[36:], "acsp")
	for i := 128; i < len(profile); i++ {
		profile[i] = byte(i * 7)
	}
	return Carried{
		Profile: profile, Software: "Stillbench", Description: "Focus stack of 3 frames",
		Meta: session.Meta{
			Make: "Vellmar", Model: "Vellmar TX-2", Lens: "Vellmar Near 100 mm f/2.8", Serial: "0041178",
			Taken: time.Date(2026, 5, 16, 14, 21, 57, 0, time.FixedZone("", 2*3600)), TakenHasOffset: true,
			FNumber: ptr(7.1), ShutterSeconds: ptr(1 / 125.0), ISO: ptr(100), FocalLengthMM: ptr(100.0), FocalLength35MM: ptr(150.0),
		},
	}
}

func picture(w, h int) *plane.RGB16 {
	p := plane.NewRGB16(w, h)
	for i := range p.Pix {
		p.Pix[i] = uint16(32768 + 30000*math.Sin(float64(i)*0.01) + float64(i%251))
	}
	return p
}

// TestFilesReadBack: what is written is read back by the decoders and readers of others: the
// standard library, x/image, ExifTool and exiv2, and libtiff behind ImageMagick's convert.
func TestFilesReadBack(t *testing.T) {
	dir, c := t.TempDir(), carried()
	p := picture(331, 207)
	small := bigFrom
	for _, f := range []struct {
		name  string
		write func(io.WriteSeeker) error
	}{
		{"a.tif", func(w io.WriteSeeker) error { return WriteTIFF(w, p, c) }},
		{"big.tif", func(w io.WriteSeeker) error {
			bigFrom = 1000
			defer func() { bigFrom = small }()
			return WriteTIFF(w, p, c)
		}},
		{"a.png", func(w io.WriteSeeker) error { return WritePNG(w, p, c) }},
		{"a.jpg", func(w io.WriteSeeker) error { return WriteJPEG(w, p.To8(), c) }},
	} {
		path := filepath.Join(dir, f.name)
		file, err := os.Create(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.write(file); err != nil {
			t.Fatal(err)
		}
		if err := file.Close(); err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		switch f.name {
		case "a.tif", "a.png":
			got, deep, err := plane.DecodeDeep(data)
			if err != nil || !deep {
				t.Fatalf("%s: %v, %v", f.name, deep, err)
			}
			same(t, f.name, got, p)
			if f.name == "a.tif" {
				_, err = tiff.Decode(bytes.NewReader(data))
			} else {
				_, err = png.Decode(bytes.NewReader(data))
			}
			if err != nil {
				t.Errorf("%s: %v", f.name, err)
			}
		case "a.jpg":
			got, err := plane.Decode(data, 0)
			if err != nil || got.W != p.W || got.H != p.H {
				t.Errorf("%s: %v", f.name, err)
			}
		}
		if f.name != "big.tif" {
			if got := exifread.Profile(bytes.NewReader(data), int64(len(data))); !bytes.Equal(got, c.Profile) {
				t.Errorf("%s: a profile of %d bytes came back as %d", f.name, len(c.Profile), len(got))
			}
			m, err := exifread.Read(bytes.NewReader(data), int64(len(data)))
			if err != nil {
				t.Fatalf("%s: %v", f.name, err)
			}
			if m.Make != c.Meta.Make || m.Model != c.Meta.Model || m.Lens != c.Meta.Lens || *m.FNumber != 7.1 || *m.ISO != 100 ||
				math.Abs(*m.ShutterSeconds-1/125.0) > 1e-9 || *m.FocalLengthMM != 100 || !m.Taken.Equal(c.Meta.Taken) || m.Orientation != nil && *m.Orientation != 1 {
				t.Errorf("%s: %+v", f.name, m)
			}
		}
		others(t, path, p)
	}
}

func same(t *testing.T, name string, got, want *plane.RGB16) {
	t.Helper()
	if got.W != want.W || got.H != want.H {
		t.Fatalf("%s: %d x %d, want %d x %d", name, got.W, got.H, want.W, want.H)
	}
	for i := range want.Pix {
		if got.Pix[i] != want.Pix[i] {
			t.Fatalf("%s: value %d is %d, want %d", name, i, got.Pix[i], want.Pix[i])
		}
	}
}

// others has the tools of others read a file, where they are installed.
func others(t *testing.T, path string, p *plane.RGB16) {
	t.Helper()
	if _, err := exec.LookPath("exiftool"); err == nil {
		out, err := exec.Command("exiftool", "-s3", "-n", "-ImageWidth", "-ImageHeight", "-FNumber", "-ISO", "-LensModel", "-Orientation", path).Output()
		want := "331\n207\n7.1\n100\nVellmar Near 100 mm f/2.8\n1\n"
		if err != nil || string(out) != want {
			t.Errorf("%s by ExifTool: %v, %q, want %q", filepath.Base(path), err, out, want)
		}
		if out, _ := exec.Command("exiftool", "-validate", "-s3", "-warning", "-error", path).CombinedOutput(); strings.Contains(string(out), "rror") {
			t.Errorf("%s: ExifTool says %s", filepath.Base(path), out)
		}
	} else {
		t.Log("ExifTool is not installed")
	}
	if _, err := exec.LookPath("exiv2"); err == nil && filepath.Base(path) != "big.tif" { // exiv2 reads no BigTIFF
		out, err := exec.Command("exiv2", "-Pv", "-K", "Exif.Photo.FNumber", path).Output()
		if err != nil || strings.TrimSpace(string(out)) != "71/10" {
			t.Errorf("%s by exiv2: %v, %q", filepath.Base(path), err, out)
		}
	} else if err != nil {
		t.Log("exiv2 is not installed")
	}
	if _, err := exec.LookPath("convert"); err == nil && strings.HasSuffix(path, ".tif") {
		out, err := exec.Command("convert", path, "-depth", "16", "-endian", "MSB", "rgb:-").Output()
		if err != nil || len(out) != 2*len(p.Pix) {
			t.Fatalf("%s by convert: %v, %d bytes", filepath.Base(path), err, len(out))
		}
		for i, v := range p.Pix {
			if got := uint16(out[2*i])<<8 | uint16(out[2*i+1]); got != v {
				t.Fatalf("%s by convert: value %d is %d, want %d", filepath.Base(path), i, got, v)
			}
		}
	} else if err != nil {
		t.Log("convert is not installed")
	}
}

// TestFraction: shutter times are written as makers write them (common practice).
func TestFraction(t *testing.T) {
	for _, c := range []struct {
		v    float64
		n, d uint32
	}{{1 / 125.0, 1, 125}, {0.3, 3, 10}, {2.5, 25, 10}, {7.1, 71, 10}, {30, 30, 1}, {1.0 / 3, 1, 3}, {0, 0, 1}, {math.NaN(), 0, 1}} {
		if n, d := fraction(c.v); n != c.n || d != c.d {
			t.Errorf("%g is %d/%d, want %d/%d", c.v, n, d, c.n, c.d)
		}
	}
}

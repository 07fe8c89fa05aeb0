package exifread

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	_ "image/jpeg" // to look at previews
	"testing"

	"stillbench/exifread/exiftest"
)

// wholeFiles are files that end as they should.
func wholeFiles(t testing.TB) map[string][]byte {
	jpg := picture(t, 64, 48)
	exif := exiftest.TIFF(invented(), binary.BigEndian)
	out := map[string][]byte{
		"jpeg":           jpg,
		"jpeg with EXIF": withEXIF(t, jpg, invented()),
		"multi-picture":  multiPicture(t),
		"cr3":            builtCR3(t),
		"heif":           heifFileOf(exif, jpg),
		"png":            pngFileOf(pngChunk("IDAT", make([]byte, 300)), pngChunk("eXIf", exif)),
		"raf":            rafFileOf(withEXIF(t, jpg, invented())),
	}
	for i, k := range tiffKindList(t) {
		out[fmt.Sprintf("%s %d", k.container, i)] = k.data
	}
	for _, name := range []string{"canon-canon-powershot-s50-1.jpg", "sanyo-sr662-1.jpg", "olympus-c750uz-1.jpg", "panasonic-pv-sd4090-1.jpg"} {
		out[name] = fixtures(t, "jpg")[name]
	}
	return out
}

func TestWhole(t *testing.T) {
	const padded = "panasonic-pv-sd4090-1.jpg" // has 521 bytes behind its picture
	for name, data := range wholeFiles(t) {
		t.Run(name, func(t *testing.T) {
			if ok, what := Whole(bytes.NewReader(data), int64(len(data))); !ok {
				t.Fatal(what)
			}
			// Half written: cut at 50 places, and padded with zeros to the full size as
			// some copying programs do.
			for i := range 50 {
				n := len(data) * i / 50
				if ok, what := Whole(bytes.NewReader(data[:n]), int64(n)); ok || what.Form == "" {
					t.Errorf("the first %d of %d bytes pass for a whole file (%q)", n, len(data), what)
				}
			}
			if name == padded {
				return
			}
			cut := data[:len(data)-1]
			if ok, _ := Whole(bytes.NewReader(cut), int64(len(cut))); ok {
				t.Error("a file without its last byte passes for whole")
			}
		})
	}
}

// TestWholeJPEGFilledWithZeros: a copy that reserves the full size first.
func TestWholeJPEGFilledWithZeros(t *testing.T) {
	data := fixtures(t, "jpg")["canon-canon-powershot-s50-1.jpg"] // ends with its end marker
	for _, n := range []int{len(data) / 3, len(data) / 2, len(data) - 100} {
		half := append(bytes.Clone(data[:n]), make([]byte, len(data)-n)...)
		if ok, _ := Whole(bytes.NewReader(half), int64(len(half))); ok {
			t.Errorf("%d bytes and then zeros pass for a whole file", n)
		}
	}
}

// TestWholeToleratesWhatMayFollow: T.81 says nothing of what stands behind EOI, and
// cameras put much there.
func TestWholeToleratesWhatMayFollow(t *testing.T) {
	jpg := withEXIF(t, picture(t, 64, 48), invented())
	for name, tail := range map[string][]byte{
		"zeros":             make([]byte, 3000),
		"a film":            isoBox("ftyp", []byte("mp42"), make([]byte, 9000)),
		"a maker's trailer": append(bytes.Repeat([]byte("trailer "), 1000), "SEFT"...),
	} {
		data := append(bytes.Clone(jpg), tail...)
		if ok, what := Whole(bytes.NewReader(data), int64(len(data))); !ok {
			t.Errorf("%s: %s", name, what)
		}
	}
	png := append(pngFileOf(), "behind IEND"...)
	if ok, what := Whole(bytes.NewReader(png), int64(len(png))); !ok {
		t.Errorf("PNG: %s", what)
	}
}

// TestWholeIsNotFooledByAThumbnail: the end marker of a thumbnail in the EXIF block
// is not that of the picture.
func TestWholeIsNotFooledByAThumbnail(t *testing.T) {
	thumb := picture(t, 16, 12)
	data := withSegment(picture(t, 64, 48), markAPP1, append([]byte("Exif\x00\x00"), thumb...))
	end := bytes.Index(data, thumb) + len(thumb)
	if ok, _ := Whole(bytes.NewReader(data[:end]), int64(end)); ok {
		t.Error("a file cut behind its thumbnail passes for whole")
	}
}

// TestWholeOfFixtures: the heads of raw files whose pixels were cut off.
func TestWholeOfFixtures(t *testing.T) {
	all := fixtures(t, "arw", "dng", "rw2")
	for _, name := range []string{"bep-sample.arw", "bep-sample.dng", "exiftool-Panasonic.rw2"} {
		if ok, _ := Whole(bytes.NewReader(all[name]), int64(len(all[name]))); ok {
			t.Errorf("%s passes for whole", name)
		}
	}
}

// TestPreviewsDecode: what Preview points at is a JPEG that the standard library
// decodes to the size that was promised.
func TestPreviewsDecode(t *testing.T) {
	files := wholeFiles(t)
	for name, data := range fixtures(t, "jpg", "arw", "pef", "raf") {
		files[name] = data
	}
	seen := 0
	for name, data := range files {
		m, _ := Read(bytes.NewReader(data), int64(len(data)))
		if m == nil || m.Preview == nil {
			continue
		}
		p := m.Preview
		img, kind, err := image.Decode(bytes.NewReader(data[p.Offset:][:p.Length]))
		if err != nil || kind != "jpeg" || img.Bounds().Dx() != p.Width || img.Bounds().Dy() != p.Height {
			t.Errorf("%s: %s %v, promised %+v", name, kind, err, *p)
		}
		seen++
	}
	if seen < 20 {
		t.Errorf("only %d previews", seen)
	}
}

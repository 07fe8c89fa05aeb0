package plane

import (
	"os"
	"path/filepath"
	"testing"
)

// A phone's HEIF file of 12 megapixels (real files beside the repository): decoded whole and upright, to the size that ExifTool 12.57 reads in them.
func TestDecodeHEIF(t *testing.T) {
	for name, want := range map[string][2]int{"apple-iphone-xr-1.heic": {4032, 3024}} {
		data, err := os.ReadFile(filepath.Join("..", "..", "..", "shared", "data", "exif", name))
		if err != nil {
			t.Skipf("the larger set of real files is not here: %v", err)
		}
		pic, err := Decode(data, 1000)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		long, short := max(pic.FullW, pic.FullH), min(pic.FullW, pic.FullH)
		if long != want[0] || short != want[1] || max(pic.W, pic.H) < 1000 || max(pic.W, pic.H) > 2100 {
			t.Errorf("%s: %d x %d of %d x %d", name, pic.W, pic.H, pic.FullW, pic.FullH)
		}
		if _, err := Decode(data[:len(data)/2], 1000); err == nil {
			t.Errorf("%s, cut in half: no error", name)
		}
	}
}

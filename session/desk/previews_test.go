package desk

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"stillbench/session"
	"stillbench/session/focus"
	"stillbench/session/plane"
)

// photo writes a made-up picture, smooth but for a diagonal edge, as a JPEG.
func photo(t testing.TB, path string, w, h int) {
	t.Helper()
	p := plane.NewRGB(w, h)
	for y := range h {
		for x := range w {
			v := 40 + 160*x/w
			if x*h > y*w {
				v /= 2
			}
			i := 3 * (y*w + x)
			p.Pix[i], p.Pix[i+1], p.Pix[i+2] = uint8(v), uint8(200-v/2), uint8(100*y/h)
		}
	}
	data, err := plane.EncodeJPEG(p, 95, true)
	if err == nil {
		err = os.WriteFile(path, data, 0o666)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// A frame comes again without its file, at every size up to that of a preview, looks as the file
// does, and stands upright however the camera was held.
func TestPreviewStandsForTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "frame.jpg")
	photo(t, path, 3000, 2000)
	for _, o := range []int{1, 6} {
		var p previews
		f := session.Frame{Fingerprint: "a", Meta: session.Meta{Container: "jpeg", Orientation: &o}}
		if _, err := p.upright(f, path, 300); err != nil {
			t.Fatal(err)
		}
		for _, long := range []int{96, 800, 1500} {
			want, err := upright(path, f.Meta, long)
			if err != nil {
				t.Fatal(err)
			}
			got, err := p.upright(f, "no such file", long)
			if err != nil {
				t.Fatal(err)
			}
			w, h := fit(want.W, want.H, long, long)
			a, b := plane.ReduceRGB(nil, want, w, h), plane.ReduceRGB(nil, got, w, h)
			sum := 0.0
			for i := range a.Pix {
				d := float64(a.Pix[i]) - float64(b.Pix[i])
				sum += d * d
			}
			// 40 dB and more is held to be a copy that the eye does not tell from the original.
			if rms := math.Sqrt(sum / float64(len(a.Pix))); rms > 2.55 {
				t.Errorf("orientation %d, %d pixels: %.2f codes rms off the file", o, long, rms)
			}
		}
		if _, err := p.upright(f, "no such file", 2000); err == nil {
			t.Error("1500 pixels stand for 2000")
		}
	}
}

// What was wanted larger is kept as large, and one that is smaller does not take its place; a file
// that is as small as a preview is read itself.
func TestPreviewIsAsLargeAsWasWanted(t *testing.T) {
	dir := t.TempDir()
	large, small := filepath.Join(dir, "large.jpg"), filepath.Join(dir, "small.jpg")
	photo(t, large, 3000, 2000)
	photo(t, small, 2000, 1333)
	var p previews
	f := session.Frame{Fingerprint: "a", Meta: session.Meta{Container: "jpeg"}}
	for _, long := range []int{1000, 2500, 1000} {
		if _, err := p.upright(f, large, long); err != nil {
			t.Fatal(err)
		}
	}
	if pic, err := p.upright(f, "no such file", 2500); err != nil || pic.W != 2500 {
		t.Errorf("wanted 2500 pixels once: %v", err)
	}
	f.Fingerprint = "b"
	if _, err := p.upright(f, small, 500); err != nil {
		t.Fatal(err)
	}
	if p.find(f.Fingerprint, 1) != nil {
		t.Error("a small file has a preview")
	}
}

// The previews looked at last are kept, and no more than there is room for.
func TestPreviewsAreBounded(t *testing.T) {
	pic := plane.NewRGB(1500, 1000)
	seed := uint32(1)
	for i := range pic.Pix {
		seed = seed*1664525 + 1013904223
		pic.Pix[i] = uint8(seed >> 24)
	}
	pic.FullW, pic.FullH = 6000, 4000
	var p previews
	name := func(i int) string { return string(rune('a' + i)) }
	n := 0
	for len(p.list) == n {
		p.keep(name(n), pic, 1, 1500)
		n++
		p.find(name(0), 1) // somebody goes on looking at the first
	}
	if p.bytes > previewBytes || p.bytes != len(p.list)*len(p.list[0].data) {
		t.Errorf("%d bytes in %d previews of %d", p.bytes, len(p.list), len(p.list[0].data))
	}
	if p.find(name(0), 1) == nil || p.find(name(1), 1) != nil || p.find(name(n-1), 1) == nil {
		t.Error("those looked at last are not the ones kept")
	}
}

// Where somebody looks, frames that were judged are at hand: their files are not read again.
func TestJudgedFramesAreAtHand(t *testing.T) {
	dir := t.TempDir()
	var p previews
	c := newChecker(dir, nil)
	c.previews = &p
	path := filepath.Join(dir, "a.jpg")
	photo(t, path, 3000, 2000)
	turned := 6 // the camera was held on its side
	f := session.Frame{Fingerprint: "a", Name: "a.jpg", Meta: session.Meta{Container: "jpeg", Orientation: &turned, Preview: &session.Preview{Width: 3000, Height: 2000}}}
	w := wanted{}
	w.add(f, 1)
	s := &stackSoFar{stack: &focus.Stack{}}
	c.add(s, w, 0)
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	pic, err := p.upright(f, path, 1200)
	if err != nil {
		t.Fatal(err)
	}
	if pic.H < 1200 || pic.W >= pic.H {
		t.Errorf("%d x %d pixels of a frame that stands upright", pic.W, pic.H)
	}
}

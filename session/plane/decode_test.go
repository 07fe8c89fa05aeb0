package plane

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"golang.org/x/image/tiff"
)

// picture is a made-up picture with edges, gradients and colour.
func picture(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			v := 128 + 90*math.Sin(float64(x)/9)*math.Cos(float64(y)/7)
			c := color.RGBA{uint8(v), uint8(255 * x / w), uint8(255 * y / h), 255}
			if (x-w/3)*(x-w/3)+(y-h/2)*(y-h/2) < h*h/16 {
				c = color.RGBA{220, 60, 30, 255}
			}
			img.SetRGBA(x, y, c)
		}
	}
	return img
}

func jpegOf(t testing.TB, img image.Image, quality int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// difference gives the root mean square and the largest difference in code values.
func difference(t *testing.T, a, b *RGB) (rms, most float64) {
	t.Helper()
	if a.W != b.W || a.H != b.H {
		t.Fatalf("%d x %d against %d x %d", a.W, a.H, b.W, b.H)
	}
	for i := range a.Pix {
		d := math.Abs(float64(a.Pix[i]) - float64(b.Pix[i]))
		rms += d * d
		most = math.Max(most, d)
	}
	return math.Sqrt(rms / float64(len(a.Pix))), most
}

func TestDecodeJPEGAgainstStandardLibrary(t *testing.T) {
	img := image.NewGray(image.Rect(0, 0, 203, 131))
	for i := range img.Pix {
		img.Pix[i] = uint8(128 + 100*math.Sin(float64(i%203)/11)*math.Sin(float64(i/203)/5))
	}
	for _, c := range []struct {
		name      string
		img       image.Image
		rms, most float64
	}{
		// The transforms of two decoders may differ by a code or two (ITU-T T.83 allows
		// it); with 4:2:0 they also enlarge colour differently: libjpeg-turbo by a
		// triangle filter, the standard library by repeating.
		{"grey", img, 0.5, 2},
		{"colour 4:2:0", picture(203, 131), 12, 255},
	} {
		data := jpegOf(t, c.img, 92)
		got, err := DecodeJPEG(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		std, err := jpeg.Decode(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		rms, most := difference(t, got, FromImage(std))
		if rms > c.rms || most > c.most {
			t.Errorf("%s: differs by %.2f rms, %g at most", c.name, rms, most)
		}
	}
}

// TestRealFiles decodes cameras' files and compares luma, which is stored at full
// resolution, with the standard library's.
func TestRealFiles(t *testing.T) {
	dir := filepath.Join("..", "..", "..", "shared", "data", "exif")
	files, _ := filepath.Glob(filepath.Join(dir, "*.jpg"))
	if len(files) == 0 {
		t.Skip("the folder shared/data beside the repository is absent")
	}
	compared := 0
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		std, err := jpeg.Decode(bytes.NewReader(data))
		if err != nil {
			continue // broken on purpose or by age; whatever we make of it, no panic:
		}
		got, err := DecodeJPEG(data, 0)
		if got == nil {
			t.Errorf("%s: %v, though the standard library decodes it", filepath.Base(f), err)
			continue
		}
		grey, ok := std.(*image.YCbCr)
		if !ok || grey.Rect.Dx()*grey.Rect.Dy() > 4_000_000 {
			continue
		}
		l, worst := got.Luma(), 0.0
		for y := range got.H {
			for x, v := range l.Row(y) {
				want := float64(grey.Y[grey.YOffset(x, y)])
				c := got.Pix[3*(y*got.W+x) : 3*(y*got.W+x)+3]
				if c[0]%255 == 0 || c[1]%255 == 0 || c[2]%255 == 0 {
					continue // clipped on the way to RGB: luma is lost
				}
				worst = math.Max(worst, math.Abs(float64(v)*255-want))
			}
		}
		if worst > 4 {
			t.Errorf("%s: luma differs by %.1f codes", filepath.Base(f), worst)
		}
		compared++
	}
	if compared < 20 {
		t.Errorf("only %d of %d files were compared", compared, len(files))
	}
}

func TestDecodeReduced(t *testing.T) {
	img := picture(1008, 752)
	data := jpegOf(t, img, 95)
	full, err := DecodeJPEG(data, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ min, w, h int }{
		{0, 1008, 752}, {2000, 1008, 752}, {505, 1008, 752}, {504, 504, 376}, {300, 504, 376},
		{252, 252, 188}, {126, 126, 94}, {1, 126, 94},
	} {
		got, err := Decode(data, c.min)
		if err != nil {
			t.Fatal(err)
		}
		if got.W != c.w || got.H != c.h || got.FullW != 1008 || got.FullH != 752 {
			t.Errorf("long side of %d: %d x %d of %d x %d, want %d x %d", c.min, got.W, got.H, got.FullW, got.FullH, c.w, c.h)
			continue
		}
		// libjpeg keeps the low frequencies of each 8 x 8 block: not quite the area
		// average, but the same picture.
		area, rms := Reduce(nil, full.Luma(), c.w, c.h), 0.0
		for i, v := range got.Luma().Pix {
			d := float64(v-area.Pix[i]) * 255
			rms += d * d / float64(len(area.Pix))
		}
		if rms = math.Sqrt(rms); rms > 2 {
			t.Errorf("long side of %d: luma differs from the area average by %.1f codes rms", c.min, rms)
		}
	}
}

// TestDecodeReducedOdd: where the size is no multiple, the last pixel is a part of one.
func TestDecodeReducedOdd(t *testing.T) {
	got, err := DecodeJPEG(jpegOf(t, picture(1003, 750), 95), 1)
	if err != nil || got.W != 126 || got.H != 94 {
		t.Fatalf("%v, %v", got, err)
	}
}

func TestDecodeLossless(t *testing.T) {
	img := picture(60, 41)
	want := FromImage(img)
	var p, tf bytes.Buffer
	if err := png.Encode(&p, img); err != nil {
		t.Fatal(err)
	}
	if err := tiff.Encode(&tf, img, nil); err != nil {
		t.Fatal(err)
	}
	deep := image.NewRGBA64(img.Rect)
	for y := range 41 {
		for x := range 60 {
			deep.Set(x, y, img.At(x, y))
		}
	}
	var p16 bytes.Buffer
	if err := png.Encode(&p16, deep); err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{"png": p.Bytes(), "tiff": tf.Bytes(), "16-bit png": p16.Bytes()} {
		got, err := Decode(data, 0)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if _, most := difference(t, got, want); most != 0 {
			t.Errorf("%s: differs by %g", name, most)
		}
		if got, err = Decode(data, 30); err != nil || got.W != 30 || got.H != 21 || got.FullW != 60 {
			t.Errorf("%s reduced: %v, %v", name, got, err)
		}
		if got, err := Decode(data[:len(data)/2], 0); err == nil || got != nil {
			t.Errorf("%s cut short gives no error, or a picture with it", name)
		}
	}
	// A SubImage keeps the stride of the whole.
	sub := img.SubImage(image.Rect(10, 5, 30, 25))
	if _, most := difference(t, FromImage(sub), want.Crop(10, 5, 20, 20)); most != 0 {
		t.Errorf("a SubImage differs by %g", most)
	}
}

func TestDecodeCutShort(t *testing.T) {
	data := jpegOf(t, picture(400, 300), 90)
	whole, err := DecodeJPEG(data, 0)
	if err != nil {
		t.Fatal(err)
	}
	got, err := DecodeJPEG(data[:len(data)*6/10], 0)
	var partial *PartialError
	if !errors.As(err, &partial) || partial.Reason == "" || got == nil {
		t.Fatalf("got %v, %v", got, err)
	}
	top := got.Crop(0, 0, 400, 100)
	if _, most := difference(t, top, whole.Crop(0, 0, 400, 100)); most != 0 {
		t.Errorf("the part that is there differs by %g", most)
	}
}

func TestDecodeBad(t *testing.T) {
	good := jpegOf(t, picture(64, 64), 90)
	huge := bytes.Clone(good)
	i := bytes.Index(huge, []byte{0xFF, 0xC0}) // SOF0: length, precision, height, width
	binary.BigEndian.PutUint16(huge[i+5:], 65000)
	binary.BigEndian.PutUint16(huge[i+7:], 65000)
	var size *SizeError
	if _, err := Decode(huge, 0); !errors.As(err, &size) || size.W != 65000 {
		t.Errorf("65000 x 65000: %v", err)
	}
	if _, err := Decode(huge, 100); !errors.As(err, &size) {
		t.Errorf("65000 x 65000 reduced: %v", err)
	}
	for name, data := range map[string][]byte{
		"nil": nil, "one byte": {0xFF}, "text": []byte("not a picture at all"), "zeros": make([]byte, 100),
	} {
		if pic, err := Decode(data, 0); pic != nil || !errors.Is(err, ErrFormat) {
			t.Errorf("%s: %v, %v", name, pic, err)
		}
	}
	for n := range min(len(good), 700) { // through all headers
		if pic, err := Decode(good[:n], 0); err == nil {
			t.Errorf("%d bytes: no error (%v)", n, pic)
		}
	}
}

// TestDecodePart holds parts that are decoded alone against the same parts of the whole
// picture, to the last bit, also where they end at the picture's edge or on no block's edge.
func TestDecodePart(t *testing.T) {
	half := jpegOf(t, picture(331, 217), 90) // colour at half resolution
	all, err := EncodeJPEG(FromImage(picture(331, 217)), 90, false)
	if err != nil {
		t.Fatal(err)
	}
	grey := image.NewGray(image.Rect(0, 0, 331, 217))
	draw.Draw(grey, grey.Rect, picture(331, 217), image.Point{}, draw.Src)
	// A made-up plasma, written by ImageMagick.
	progressive, err := os.ReadFile(filepath.Join("testdata", "progressive.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	var lossless bytes.Buffer
	if err := png.Encode(&lossless, picture(331, 217)); err != nil {
		t.Fatal(err)
	}
	at := func(r image.Rectangle) func(int, int) image.Rectangle {
		return func(int, int) image.Rectangle { return r }
	}
	for name, data := range map[string][]byte{"half": half, "all": all, "grey": jpegOf(t, grey, 80), "progressive": progressive, "PNG": lossless.Bytes()} {
		full, err := Decode(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		whole := image.Rect(0, 0, full.W, full.H)
		for _, r := range []image.Rectangle{
			whole, image.Rect(0, 0, 1, 1), image.Rect(37, 41, 38, 42), image.Rect(16, 16, 48, 64), image.Rect(33, 35, 90, 61),
			image.Rect(full.W-5, full.H-3, full.W+40, full.H+40), image.Rect(-10, full.H/2, full.W/2, full.H/2+9),
		} {
			got, err := DecodePart(data, at(r))
			if err != nil {
				t.Fatalf("%s %v: %v", name, r, err)
			}
			in := r.Intersect(whole)
			if _, most := difference(t, got, full.Crop(in.Min.X, in.Min.Y, in.Dx(), in.Dy())); most != 0 || got.FullW != full.W || got.FullH != full.H {
				t.Errorf("%s %v: differs by %g, of %d x %d", name, r, most, got.FullW, got.FullH)
			}
		}
		if pic, err := DecodePart(data, at(image.Rect(full.W, 0, full.W+10, 10))); err == nil || pic != nil {
			t.Errorf("%s: a crop outside gives no error", name)
		}
	}
	var partial *PartialError
	if pic, err := DecodePart(half[:len(half)/2], at(image.Rect(10, 180, 60, 210))); !errors.As(err, &partial) || pic == nil {
		t.Errorf("of half a file: %v, %v", pic, err)
	}
	if pic, err := DecodePart(half[:len(half)/2], at(image.Rect(10, 8, 60, 20))); err != nil || pic == nil {
		t.Errorf("of the half that is there: %v, %v", pic, err)
	}
}

func TestEncodeJPEG(t *testing.T) {
	pic := FromImage(picture(200, 150))
	data, err := EncodeJPEG(pic, 95, false)
	if err != nil {
		t.Fatal(err)
	}
	std, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if rms, _ := difference(t, FromImage(std), pic); rms > 3 {
		t.Errorf("the standard library reads it with a difference of %.2f rms", rms)
	}
	half, err := EncodeJPEG(pic, 95, true)
	if err != nil || len(half) >= len(data) {
		t.Errorf("colour at half resolution: %d bytes against %d, %v", len(half), len(data), err)
	}
	if _, err := EncodeJPEG(pic, 0, false); err == nil {
		t.Error("quality 0 gives no error")
	}
	if _, err := EncodeJPEG(&RGB{}, 90, false); err == nil {
		t.Error("an empty picture gives no error")
	}
}

// FuzzDecode: whatever the bytes, no panic; a picture has the size it says.
func FuzzDecode(f *testing.F) {
	f.Add(jpegOf(f, picture(40, 30), 80), 10)
	var p bytes.Buffer
	if err := png.Encode(&p, picture(20, 20)); err != nil {
		f.Fatal(err)
	}
	f.Add(p.Bytes(), 0)
	p.Reset()
	if err := tiff.Encode(&p, picture(20, 20), &tiff.Options{Compression: tiff.Deflate}); err != nil {
		f.Fatal(err)
	}
	f.Add(p.Bytes(), 5)
	f.Fuzz(func(t *testing.T, data []byte, min int) {
		// A small file may well claim a picture of millions of pixels: legal, but slow.
		if c, _, err := image.DecodeConfig(bytes.NewReader(data)); err == nil && c.Width*c.Height > 1e6 {
			t.Skip("claims more pixels than a fuzz step has time for")
		}
		pic, err := Decode(data, min)
		var partial *PartialError
		if (pic == nil) != (err != nil && !errors.As(err, &partial)) {
			t.Fatalf("%v with %v", pic, err)
		}
		if pic != nil && (len(pic.Pix) != 3*pic.W*pic.H || pic.FullW < pic.W || pic.FullH < pic.H) {
			t.Fatalf("%d x %d of %d x %d in %d bytes", pic.W, pic.H, pic.FullW, pic.FullH, len(pic.Pix))
		}
		part, err := DecodePart(data, func(w, h int) image.Rectangle { return image.Rect(w/3, h/3, w/3+10, h/3+10) })
		if (part == nil) != (err != nil && !errors.As(err, &partial)) || part != nil && len(part.Pix) != 3*part.W*part.H {
			t.Fatalf("a part: %v with %v", part, err)
		}
	})
}

package plane

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"

	"github.com/gen2brain/heic"
	"golang.org/x/image/tiff"
)

// Limits on what a file may claim. The largest camera pictures that are made today by
// moving the sensor between exposures have about 400 million pixels.
const (
	maxFullPixels    = 500_000_000
	maxDecodedPixels = 250_000_000
)

// ErrFormat says that the bytes are no picture of a kind that can be decoded here.
var ErrFormat = errors.New("not a JPEG, PNG, TIFF or HEIF picture")

// PartialError says that a picture was decoded only in part: the file is cut short or
// damaged. The picture that comes with it holds what could be decoded, the rest is grey
// or a guess.
type PartialError struct {
	Reason string // the decoder's words
}

func (e *PartialError) Error() string { return "decoded only in part: " + e.Reason }

// BrokenError says that a picture cannot be decoded.
type BrokenError struct {
	JPEG   bool
	Reason string // the decoder's words
}

func (e *BrokenError) Error() string {
	if e.JPEG {
		return "the JPEG is broken: " + e.Reason
	}
	return "the picture is broken: " + e.Reason
}

// SizeError says that a picture claims a size that is not decoded, before any memory is
// taken for it.
type SizeError struct {
	W, H int // pixels, as claimed by the file
}

func (e *SizeError) Error() string {
	return fmt.Sprintf("a picture of %d x %d pixels is not decoded", e.W, e.H)
}

// Decode decodes a JPEG, PNG, TIFF or HEIF, told apart by its first bytes, to 8-bit sRGB. The
// picture is reduced by 1, 2, 4 or 8, whichever is the most that leaves its long side at
// minLongSide pixels or more (0: full size). Transparent pixels are laid over black; deeper
// samples are cut to 8 bits; an embedded colour profile is not applied. A HEIF comes upright:
// its rotation is part of the picture (ISO/IEC 23008-12, irot and imir), not a hint beside it.
//
// An error comes without a picture, but for a *PartialError. Errors are ErrFormat, a
// *SizeError, a *BrokenError, or the decoder's.
func Decode(data []byte, minLongSide int) (*RGB, error) {
	switch {
	case bytes.HasPrefix(data, []byte{0xFF, 0xD8}):
		return DecodeJPEG(data, minLongSide)
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		return decodeWith(data, minLongSide, png.DecodeConfig, png.Decode)
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")):
		return decodeWith(data, minLongSide, tiff.DecodeConfig, tiff.Decode)
	case isHEIF(data):
		return decodeWith(data, minLongSide, nil, heic.Decode)
	}
	return nil, ErrFormat
}

// DecodePart decodes a part of what Decode decodes, at full size, for a look at one to one:
// the rectangle that part gives for the picture's size as stored, cut to the picture. Of a JPEG
// only what lies in it becomes pixels, which takes a third of the time of the whole picture on
// average and next to none of its memory; of a progressive or CMYK one, and of other formats,
// the whole picture is decoded on the way. A part that lies wholly outside gives an error;
// other errors are Decode's. FullW and FullH are the whole picture's.
func DecodePart(data []byte, part func(fullW, fullH int) image.Rectangle) (*RGB, error) {
	if bytes.HasPrefix(data, []byte{0xFF, 0xD8}) {
		return decodeJPEGPart(data, part)
	}
	pic, err := Decode(data, 0)
	return partOf(pic, err, part)
}

var errOutside = errors.New("the part lies outside the picture")

// partOf cuts a part out of a picture that was decoded whole, if need be with an error.
func partOf(pic *RGB, err error, part func(fullW, fullH int) image.Rectangle) (*RGB, error) {
	if pic == nil {
		return nil, err
	}
	r := part(pic.W, pic.H).Intersect(image.Rect(0, 0, pic.W, pic.H))
	if r.Empty() {
		return nil, errOutside
	}
	out := pic.Crop(r.Min.X, r.Min.Y, r.Dx(), r.Dy())
	out.FullW, out.FullH = pic.FullW, pic.FullH
	return out, err
}

// isHEIF tells by the file type box (ISO/IEC 14496-12, clause 4.3) whether a file holds
// still pictures coded by HEVC. CR3 begins with the same box and another brand.
func isHEIF(data []byte) bool {
	if len(data) < 12 || string(data[4:8]) != "ftyp" {
		return false
	}
	switch string(data[8:12]) {
	case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
		return true
	}
	return false
}

// reduction is the largest of 1, 2, 4, 8 that leaves the long side of w x h at
// minLongSide or more. Sizes are rounded up, as libjpeg's scaled sizes are.
func reduction(w, h, minLongSide int) int {
	if minLongSide <= 0 {
		return 1
	}
	for by := 8; by > 1; by /= 2 {
		if (max(w, h)+by-1)/by >= minLongSide {
			return by
		}
	}
	return 1
}

// checkSize returns a *SizeError for a size that is not to be decoded.
func checkSize(w, h, by int) error {
	if w < 1 || h < 1 || int64(w)*int64(h) > maxFullPixels ||
		int64(w)*int64(h)/int64(by*by) > maxDecodedPixels {
		return &SizeError{W: w, H: h}
	}
	return nil
}

// decodeWith decodes by a decoder of the standard library's shape. config is nil for HEIF,
// whose library looks for the size in the first kilobytes only, misses it in files with
// many tiles, and refuses absurd sizes itself.
func decodeWith(data []byte, minLongSide int, config func(r io.Reader) (image.Config, error), decode func(r io.Reader) (image.Image, error)) (pic *RGB, err error) {
	// The TIFF decoder has had panics on hostile files; a file must never end the program.
	defer func() {
		if r := recover(); r != nil {
			pic, err = nil, &BrokenError{Reason: fmt.Sprint(r)}
		}
	}()
	if config != nil {
		c, err := config(bytes.NewReader(data))
		if err != nil {
			return nil, err
		}
		if err := checkSize(c.Width, c.Height, 1); err != nil {
			return nil, err
		}
	}
	img, err := decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	full := FromImage(img)
	by := reduction(full.W, full.H, minLongSide)
	if by == 1 {
		return full, nil
	}
	return ReduceRGB(nil, full, (full.W+by-1)/by, (full.H+by-1)/by), nil
}

// FromImage copies an image of the standard library; transparent pixels are laid over
// black, deeper samples cut to 8 bits.
func FromImage(img image.Image) *RGB {
	b := img.Bounds()
	out := NewRGB(b.Dx(), b.Dy())
	rows(out.H, out.W, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			dst := out.Pix[3*out.W*y : 3*out.W*(y+1)]
			if m, ok := img.(*image.RGBA); ok {
				src := m.Pix[m.PixOffset(b.Min.X, b.Min.Y+y):]
				for i, j := 0, 0; i < len(dst); i, j = i+3, j+4 {
					dst[i], dst[i+1], dst[i+2] = src[j], src[j+1], src[j+2]
				}
				continue
			}
			for x := range out.W {
				r, g, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				dst[3*x], dst[3*x+1], dst[3*x+2] = uint8(r>>8), uint8(g>>8), uint8(bl>>8)
			}
		}
	})
	return out
}

package plane

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"io"

	"golang.org/x/image/tiff"
)

// RGB16 is a picture of 16 bits a channel, as stored: encoded as its file says, no profile
// applied.
type RGB16 struct {
	// W x H is the size in pixels.
	W, H int
	// Pix holds R G B, row by row, without padding: 3*W*H values.
	Pix []uint16
}

// NewRGB16 returns a black picture of w x h pixels.
func NewRGB16(w, h int) *RGB16 {
	return &RGB16{W: w, H: h, Pix: make([]uint16, 3*w*h)}
}

// To8 rounds to 8 bits a channel.
func (p *RGB16) To8() *RGB {
	out := NewRGB(p.W, p.H)
	rows(p.H, p.W, func(y0, y1 int) {
		src, dst := p.Pix[3*y0*p.W:3*y1*p.W], out.Pix[3*y0*p.W:3*y1*p.W]
		for i, v := range src {
			dst[i] = uint8((uint32(v)*255 + 32767) / 65535)
		}
	})
	return out
}

// Oriented returns the picture as it is to be looked at, as RGB's Oriented does.
func (p *RGB16) Oriented(orientation int) *RGB16 {
	if orientation < 2 || orientation > 8 {
		return p
	}
	w, h := p.W, p.H
	if orientation >= 5 {
		w, h = h, w
	}
	out := NewRGB16(w, h)
	turn(out.Pix, p.Pix, p.W, p.H, orientation, w, h)
	return out
}

// DecodeDeep decodes a PNG or TIFF of 16 bits a channel at full size; ok is false for
// everything else, which Decode loses nothing of. Transparent pixels are laid over black.
func DecodeDeep(data []byte) (pic *RGB16, ok bool, err error) {
	var config func(io.Reader) (image.Config, error)
	var decode func(io.Reader) (image.Image, error)
	switch {
	case bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")):
		config, decode = png.DecodeConfig, png.Decode
	case bytes.HasPrefix(data, []byte("II*\x00")), bytes.HasPrefix(data, []byte("MM\x00*")):
		config, decode = tiff.DecodeConfig, tiff.Decode
	default:
		return nil, false, nil
	}
	defer func() {
		if r := recover(); r != nil {
			pic, err = nil, &BrokenError{Reason: fmt.Sprint(r)}
		}
	}()
	c, err := config(bytes.NewReader(data))
	if err != nil {
		return nil, false, err
	}
	if err := checkSize(c.Width, c.Height, 1); err != nil {
		return nil, false, err
	}
	if !deep(c) {
		return nil, false, nil
	}
	img, err := decode(bytes.NewReader(data))
	if err != nil {
		return nil, true, err
	}
	b := img.Bounds()
	out := NewRGB16(b.Dx(), b.Dy())
	rows(out.H, out.W, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			dst := out.Pix[3*out.W*y : 3*out.W*(y+1)]
			for x := range out.W {
				r, g, bl, _ := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				dst[3*x], dst[3*x+1], dst[3*x+2] = uint16(r), uint16(g), uint16(bl)
			}
		}
	})
	return out, true, nil
}

func deep(c image.Config) bool {
	probe := c.ColorModel.Convert(deepColour{})
	r, _, _, _ := probe.RGBA()
	return r == 0x1234
}

// deepColour does not survive being cut to 8 bits.
type deepColour struct{}

func (deepColour) RGBA() (r, g, b, a uint32) { return 0x1234, 0x1234, 0x1234, 0xFFFF }

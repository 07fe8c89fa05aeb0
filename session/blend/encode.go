package blend

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"

	"stillbench/session/plane"
)

// jpegQuality is that of a JPEG made to be kept.
const jpegQuality = 95

// WriteJPEG writes a baseline JPEG of quality 95 without chroma subsampling.
func WriteJPEG(w io.Writer, p *plane.RGB, c Carried) error {
	data, err := plane.EncodeJPEG(p, jpegQuality, false)
	if err != nil {
		return err
	}
	// The marker segments come after SOI and the JFIF segment, which EXIF does without.
	rest := data[2:]
	if len(rest) > 4 && rest[0] == 0xFF && rest[1] == 0xE0 {
		rest = rest[2+int(binary.BigEndian.Uint16(rest[2:])):]
	}
	out := []byte{0xFF, 0xD8}
	segment := func(marker byte, body []byte) error {
		if len(body)+2 > 0xFFFF {
			return errors.New("the metadata do not fit into a JPEG")
		}
		out = append(out, 0xFF, marker)
		out = binary.BigEndian.AppendUint16(out, uint16(len(body)+2))
		out = append(out, body...)
		return nil
	}
	if err := segment(0xE1, append([]byte("Exif\x00\x00"), c.block()...)); err != nil {
		return err
	}
	const piece = 65000
	n := (len(c.Profile) + piece - 1) / piece
	for i := range n {
		body := append([]byte("ICC_PROFILE\x00"), byte(i+1), byte(n))
		if err := segment(0xE2, append(body, c.Profile[i*piece:min(len(c.Profile), (i+1)*piece)]...)); err != nil {
			return err
		}
	}
	if _, err := w.Write(out); err != nil {
		return err
	}
	_, err = w.Write(rest)
	return err
}

// WritePNG writes a PNG of 16 bits a channel.
func WritePNG(w io.Writer, p *plane.RGB16, c Carried) error {
	chunks := chunk("eXIf", c.block())
	if c.Profile != nil {
		var b bytes.Buffer
		b.WriteString("profile\x00\x00")
		z := zlib.NewWriter(&b)
		z.Write(c.Profile) // a Buffer takes everything
		z.Close()
		chunks = append(chunk("iCCP", b.Bytes()), chunks...)
	}
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	return e.Encode(&afterHeader{w: w, insert: chunks}, deepImage{p})
}

// WriteDepth writes a depth map as a grey PNG of 16 bits and w x h pixels: of n frames the
// nearest is black (0) and the farthest white (65535). farFirst says that the frames began
// with the farthest. orientation is EXIF's, of the frames as stored.
func WriteDepth(out io.Writer, d *Depth, w, h, n int, farFirst bool, orientation int) error {
	span := float32(max(1, n-1))
	return writeGrey(out, w, h, orientation, func(x, y int) float32 {
		v := d.at(d.Frame, x, y) / span
		if farFirst {
			v = 1 - v
		}
		return v
	})
}

// WriteSure writes how sure the depth is, as WriteDepth writes depth: white where it was seen
// clearly, black where it is filled in from around.
func WriteSure(out io.Writer, d *Depth, w, h, orientation int) error {
	return writeGrey(out, w, h, orientation, func(x, y int) float32 { return d.at(d.Sure, x, y) })
}

func writeGrey(out io.Writer, w, h, orientation int, value func(x, y int) float32) error {
	p := plane.NewRGB16(w, h)
	plane.Share(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			for x := range w {
				p.Pix[3*(y*w+x)] = uint16(min(max(value(x, y), 0), 1)*65535 + 0.5)
			}
		}
	})
	p = p.Oriented(orientation)
	img := image.NewGray16(image.Rect(0, 0, p.W, p.H))
	for i := range p.W * p.H {
		binary.BigEndian.PutUint16(img.Pix[2*i:], p.Pix[3*i])
	}
	return png.Encode(out, img)
}

// at interpolates between cells; a cell (x, y) sits on the pixel (Cell x, Cell y).
func (d *Depth) at(v []float32, x, y int) float32 {
	fx, fy := float32(x)/float32(d.Cell), float32(y)/float32(d.Cell)
	x0, y0 := min(int(fx), d.W-1), min(int(fy), d.H-1)
	x1, y1 := min(x0+1, d.W-1), min(y0+1, d.H-1)
	fx, fy = fx-float32(x0), fy-float32(y0)
	a := v[y0*d.W+x0]*(1-fx) + v[y0*d.W+x1]*fx
	b := v[y1*d.W+x0]*(1-fx) + v[y1*d.W+x1]*fx
	return a*(1-fy) + b*fy
}

// chunk is one of a PNG's (W3C, PNG third edition, clause 5.3).
func chunk(name string, body []byte) []byte {
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	out = append(append(out, name...), body...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// afterHeader puts chunks in behind a PNG's signature and IHDR, 33 bytes.
type afterHeader struct {
	w      io.Writer
	insert []byte
	passed int
}

const headerEnd = 8 + 12 + 13

func (a *afterHeader) Write(b []byte) (int, error) {
	n := 0
	if a.passed < headerEnd {
		n = min(len(b), headerEnd-a.passed)
		if k, err := a.w.Write(b[:n]); err != nil {
			return k, err
		}
		if a.passed += n; a.passed == headerEnd {
			if _, err := a.w.Write(a.insert); err != nil {
				return n, err
			}
		}
	}
	k, err := a.w.Write(b[n:])
	return n + k, err
}

// deepImage is a picture as the standard library takes it.
type deepImage struct{ p *plane.RGB16 }

func (d deepImage) ColorModel() color.Model { return color.RGBA64Model }
func (d deepImage) Bounds() image.Rectangle { return image.Rect(0, 0, d.p.W, d.p.H) }
func (d deepImage) Opaque() bool            { return true }
func (d deepImage) At(x, y int) color.Color {
	s := d.p.Pix[3*(y*d.p.W+x):]
	return color.RGBA64{R: s[0], G: s[1], B: s[2], A: 0xFFFF}
}

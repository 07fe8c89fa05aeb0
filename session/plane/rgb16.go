package plane

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

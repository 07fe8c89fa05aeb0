package exifread

// panasonicNote reads Panasonic's note (ExifTool, Panasonic.pm). It has no distance
// in metres.
func (x *extractor) panasonicNote(d *directory) {
	const lens, shutter, bracket = 0x0051, 0x009F, 0x00BD
	x.lens(d.text(lens))
	if v, ok := d.uint(shutter); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 1: electronic, 2: firstCurtain}, v)
	}
	if v, ok := d.uint(bracket); ok && v != 0 {
		setIfNil(&x.m.BracketOffset, int(int16(v)))
	}
}

package exifread

// fujifilmNote reads Fujifilm's note (ExifTool, FujiFilm.pm), which has no distance.
func (x *extractor) fujifilmNote(d *directory) {
	const shutter = 0x1050
	if v, ok := d.uint(shutter); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 1: electronic, 2: electronic, 3: firstCurtain}, v)
	}
}

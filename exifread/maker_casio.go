package exifread

import "math"

// casioNote1 and casioNote2 read Casio's two notes (ExifTool, Casio.pm): the
// distance in millimetres.
func (x *extractor) casioNote1(d *directory) {
	const objectDistance, iso = 0x0006, 0x0014
	if v, ok := d.uint(objectDistance); ok {
		x.distance(millimetres(v, v == math.MaxUint32, "Casio.ObjectDistance"))
	}
	if v, ok := d.uint(iso); ok && v > 0 && v < 0xFFFF {
		setIfNil(&x.m.ISO, int(v))
	}
}

func (x *extractor) casioNote2(d *directory) {
	const objectDistance, infinity = 0x2022, 0x20000000
	if v, ok := d.uint(objectDistance); ok {
		x.distance(millimetres(v, v >= infinity, "Casio.ObjectDistance"))
	}
}

package exifread

import "encoding/binary"

// sonyNote reads Sony's note (ExifTool, Sony.pm). Newer cameras encipher what
// would matter here; older ones keep the focus in a block of which only the count
// tells the layout.
func (x *extractor) sonyNote(d *directory) {
	const focusInfo = 0x0020
	e, ok := d.find(focusInfo)
	if !ok || e.size != 19154 && e.size != 19148 || !sonyFocusPosition[x.m.Model] || x.m.FocalLengthMM == nil {
		return
	}
	const at, infinity = 0x09BB, 128
	raw, err := d.src.bytes(e.at+at, 1)
	if err != nil || raw[0] == 0 {
		return
	}
	const source = "Sony.FocusPosition"
	if raw[0] >= infinity {
		x.distance(&FocusDistance{Infinity: true, Source: source})
		return
	}
	// In focal lengths.
	dist := exactDistance(float64(raw[0])**x.m.FocalLengthMM/1000, source)
	dist.StepM = *x.m.FocalLengthMM / 1000
	x.distance(dist)
}

// sonyFocusPosition are the models whose note has the position in a known place.
var sonyFocusPosition = map[string]bool{
	"DSLR-A200": true, "DSLR-A230": true, "DSLR-A290": true, "DSLR-A300": true, "DSLR-A330": true,
	"DSLR-A350": true, "DSLR-A380": true, "DSLR-A390": true, "DSLR-A700": true, "DSLR-A850": true,
	"DSLR-A900": true,
}

// minoltaNote reads Minolta's note (ExifTool, Minolta.pm): an array of big-endian
// 32-bit numbers, the distance in millimetres with 0 for infinity.
func (x *extractor) minoltaNote(d *directory) {
	const settingsOld, settings, distance = 0x0001, 0x0003, 19
	for _, tag := range []uint16{settings, settingsOld} {
		e, ok := d.find(tag)
		if !ok || e.typ != typeUndefined || e.size < 4*(distance+1) {
			continue
		}
		raw, err := d.src.bytes(e.at+4*distance, 4)
		if err != nil {
			continue
		}
		v := binary.BigEndian.Uint32(raw)
		if v > 1000e3 {
			continue // a kilometre and more is another layout
		}
		x.distance(millimetres(v, v == 0, "Minolta.FocusDistance"))
		return
	}
}

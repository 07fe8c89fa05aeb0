package exifread

// appleNote reads Apple's note (ExifTool, Apple.pm): nearest and farthest focus in
// metres, in any order.
func (x *extractor) appleNote(d *directory) {
	const focusRange = 0x000C
	e, ok := d.find(focusRange)
	if !ok || e.typ != typeSRational || e.count != 2 {
		return
	}
	raw, err := d.value(e, 16)
	if err != nil {
		return
	}
	var v [2]float64
	for i := range v {
		num, den := int32(d.order.Uint32(raw[8*i:])), int32(d.order.Uint32(raw[8*i+4:]))
		if num <= 0 || den <= 0 {
			return
		}
		v[i] = float64(num) / float64(den)
	}
	near, far := min(v[0], v[1]), max(v[0], v[1])
	x.distance(&FocusDistance{NearM: &near, FarM: &far, Source: "Apple.FocusDistanceRange"})
}

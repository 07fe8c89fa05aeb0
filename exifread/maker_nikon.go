package exifread

import "math"

// nikonNote reads the second and third layout of Nikon's note (ExifTool, Nikon.pm).
func (x *extractor) nikonNote(d *directory) {
	const (
		previewIFD  = 0x0011
		serial      = 0x001D
		isoInfo     = 0x0025
		shutterMode = 0x0034
		lensRanges  = 0x0084
		manualFocus = 0x0085
		lensData    = 0x0098
	)
	setText(&x.m.Serial, d.text(serial))
	if e, ok := d.find(lensRanges); ok {
		x.lensByRange(lensRange(d.fractions(e)))
	}
	if v, ok := d.uint(shutterMode); ok {
		x.shutterMode(map[uint32]string{0: mechanical, 80: mechanical, 16: electronic, 96: electronic,
			48: firstCurtain, 81: firstCurtain}, v)
	}
	if e, ok := d.find(manualFocus); ok && e.typ == typeRational {
		if raw, err := d.value(e, 8); err == nil && len(raw) == 8 {
			x.distance(distanceOf(int64(d.order.Uint32(raw)), int64(d.order.Uint32(raw[4:])), "Nikon.ManualFocusDistance"))
		}
	}
	if e, ok := d.find(lensData); ok {
		if raw, err := d.value(e, 32); err == nil {
			x.distance(nikonLensData(raw))
		}
	}
	if e, ok := d.find(isoInfo); ok && e.typ == typeUndefined {
		if raw, err := d.value(e, 1); err == nil && raw[0] > 0 {
			setIfNil(&x.m.ISO, int(math.Round(100*math.Exp2(float64(raw[0])/12-5))))
		}
	}
	if off, ok := d.uint(previewIFD); ok {
		if sub, _, err := x.dirs.read(d.block, int64(off)); err == nil {
			x.announced(&sub)
		}
	}
}

// nikonLensData reads the distance in the one plain version of LensData that has
// it, 0101: a byte v, 0.01 m x 10^(v/40), 0 for infinity. ExifTool calls it
// approximate. From 0201 on the block is enciphered.
func nikonLensData(raw []byte) *FocusDistance {
	const source = "Nikon.LensData.FocusDistance"
	if len(raw) < 10 || string(raw[:4]) != "0101" {
		return nil
	}
	v := float64(raw[9])
	if v == 0 {
		return &FocusDistance{Infinity: true, Source: source}
	}
	d := exactDistance(0.01*math.Pow(10, v/40), source)
	d.StepM = *d.NearM * (math.Pow(10, 1.0/40) - 1) // to the next byte
	return d
}

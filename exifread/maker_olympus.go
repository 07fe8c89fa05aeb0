package exifread

import "math"

// olympusNote reads the note of Olympus and OM (ExifTool, Olympus.pm).
func (x *extractor) olympusNote(d *directory) {
	const (
		manualFocus   = 0x100C
		previewValid  = 0x1035
		previewStart  = 0x1036
		previewLength = 0x1037
		equipment     = 0x2010
		settings      = 0x2020
		focusInfo     = 0x2050
	)
	if e, ok := d.find(manualFocus); ok && e.typ == typeRational {
		if raw, err := d.value(e, 8); err == nil && len(raw) == 8 {
			num, den := d.order.Uint32(raw), d.order.Uint32(raw[4:])
			if den > 0 && num/den > 0 {
				x.distance(millimetres(num/den, num == math.MaxUint32, "Olympus.ManualFocusDistance"))
			}
		}
	}
	if v, ok := d.uint(previewValid); !ok || v != 0 {
		x.olympusPreview(d, previewStart, previewLength)
	}
	if sub := x.subdirectory(d, equipment); sub != nil {
		const serial, lensModel = 0x0101, 0x0203
		setText(&x.m.Serial, sub.text(serial))
		x.lens(sub.text(lensModel))
	}
	if sub := x.subdirectory(d, settings); sub != nil {
		x.olympusSettings(sub)
	}
	if sub := x.subdirectory(d, focusInfo); sub != nil {
		const steps, distance = 0x0301, 0x0305
		if v, ok := sub.uint(steps); ok {
			setIfNil(&x.m.FocusStep, int(v))
		}
		// Written as a fraction, but the numerator alone is millimetres whatever stands
		// below it.
		if e, ok := sub.find(distance); ok && e.typ == typeRational {
			if raw, err := sub.value(e, 4); err == nil {
				v := sub.order.Uint32(raw)
				x.distance(millimetres(v, v == math.MaxUint32, "Olympus.FocusDistance"))
			}
		}
	}
}

// olympusSettings reads CameraSettings: what the shutter did, whether the camera
// stepped the focus by itself, whether it blended, and where its preview stands.
func (x *extractor) olympusSettings(d *directory) {
	const (
		previewStart  = 0x0101
		previewLength = 0x0102
		driveMode     = 0x0600
		stackedImage  = 0x0804
	)
	x.olympusPreview(d, previewStart, previewLength)
	// Mode, shot number, bits of the mode, ?, shutter.
	drive := d.all(driveMode, 5)
	const bracketing, byFocus = 5, 1 << 6
	if len(drive) >= 3 && drive[0] == bracketing && drive[2]&byFocus != 0 && drive[1] > 0 {
		setIfNil(&x.m.BracketShot, int(drive[1]))
	}
	if len(drive) >= 5 {
		x.shutterMode(map[uint32]string{2: firstCurtain, 4: electronic}, drive[4])
	}
	if v := d.all(stackedImage, 2); len(v) == 2 {
		setIfNil(&x.m.InCameraComposite, v[0] != 0)
	}
}

func (x *extractor) olympusPreview(d *directory, start, length uint16) {
	if d.src != x.src {
		return
	}
	off, ok1 := d.uint(start)
	n, ok2 := d.uint(length)
	if ok1 && ok2 {
		x.candidate(d.base+int64(off), int64(n))
	}
}

// subdirectory reads the directory that a tag of a note points at. Older Olympus
// cameras keep it as the value of the tag.
func (x *extractor) subdirectory(d *directory, tag uint16) *directory {
	e, ok := d.find(tag)
	if !ok {
		return nil
	}
	off := e.at - d.base
	if e.typ == typeIFD || e.typ == typeLong {
		v, _ := d.uint(tag)
		off = int64(v)
	}
	sub, _, err := x.dirs.read(d.block, off)
	if err != nil && len(sub.entries) == 0 {
		return nil
	}
	return &sub
}

package exifread

import (
	"math"
	"strconv"
)

// canonNote reads Canon's note (ExifTool, Canon.pm). Arrays of 16-bit numbers begin
// with their own length in bytes, so that index 1 is the first value.
func (x *extractor) canonNote(d *directory) {
	const (
		shotInfo = 0x0004
		serial   = 0x000C
		fileInfo = 0x0093
		lens     = 0x0095
		focusing = 0x4053
	)
	x.lens(d.text(lens))
	if v, ok := d.uint(serial); ok && v > 0 && x.m.Serial == "" {
		x.m.Serial = strconv.FormatUint(uint64(v), 10)
	}
	file := d.all(fileInfo, 32)
	shot := d.all(shotInfo, 32)
	// Both give the distance in whole centimetres; above 655.345 m it is infinite.
	const infinity = 0xFFFF
	if len(file) > 21 && file[20] != 0 {
		x.distance(between(file[20], file[21], infinity, "Canon.FocusDistanceUpper"))
	}
	if len(shot) > 20 && shot[19] != 0 {
		x.distance(between(shot[19], shot[20], infinity, "Canon.FocusDistanceUpper"))
	}
	if len(shot) > 2 {
		x.canonSensitivity(shot[1], shot[2])
	}
	if len(file) > 23 {
		x.shutterMode(map[uint32]string{0: mechanical, 1: firstCurtain, 2: electronic}, file[23])
	}
	series := d.all(focusing, 4)
	if len(series) > 1 && series[1] == 1 && len(file) > 5 && file[5] > 0 && file[5] < 1000 {
		setIfNil(&x.m.BracketShot, int(file[5]))
	}
}

// canonSensitivity makes an ISO value of the base value and what the automatic
// made of it, both 32nds of a stop, for cameras that leave EXIF's tag out.
func (x *extractor) canonSensitivity(auto, base uint32) {
	a, b := float64(int16(auto)), float64(int16(base))
	if b <= 0 || b > 1000 || math.Abs(a) > 500 {
		return
	}
	if iso := int(math.Round(math.Exp2(b/32) * 100 / 32 * math.Exp2(a/32))); iso > 0 {
		setIfNil(&x.m.ISO, iso)
	}
}

// between makes a distance of two limits in whole centimetres, in any order; 0
// means that one is not known, infinity and above that it is infinite.
func between(a, b, infinity uint32, source string) *FocusDistance {
	if a == 0 || b == 0 {
		a, b = max(a, b), max(a, b)
	}
	near, far := min(a, b), max(a, b)
	if far == 0 {
		return nil
	}
	d := &FocusDistance{Infinity: far >= infinity, Source: source}
	if near < infinity {
		n := float64(near) / 100
		d.NearM, d.StepM = &n, 0.01
	}
	if far < infinity {
		f := float64(far) / 100
		d.FarM = &f
	}
	return d
}

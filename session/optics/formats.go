package optics

import "math"

// Format is a size of sensor.
type Format struct {
	Name              string
	WidthMM, HeightMM float64
}

// FullFrame is the size of 35 mm film.
var FullFrame = Format{"full frame", 36, 24}

// Formats are common sensors, largest first. The sizes are approximate (they differ by
// a few tenths of a millimetre between cameras); the medium format is from memory.
var Formats = []Format{
	{"medium format", 43.8, 32.9},
	FullFrame,
	{"APS-C", 23.6, 15.6},
	{"APS-C, small", 22.2, 14.8},
	{"four thirds", 17.3, 13},
	{"1 inch", 13.2, 8.8},
}

// DiagonalMM is the diagonal of the sensor.
func (f Format) DiagonalMM() float64 { return math.Hypot(f.WidthMM, f.HeightMM) }

// Convention is a way to choose the circle of confusion.
type Convention struct {
	// Key is the name to store, Name the name to show.
	Key, Name string
	// Source says where the convention comes from.
	Source string
	// CoCMM gives the circle of confusion for a sensor with a pixel pitch (0 where it is
	// not known); NaN when it needs what is not known.
	CoCMM func(f Format, pitchUM float64) float64
}

func diagonalOver(n float64) func(Format, float64) float64 {
	return func(f Format, _ float64) float64 { return f.DiagonalMM() / n }
}

// Conventions are the circles of confusion in use; the first is the default.
var Conventions = []Convention{
	{"d1500", "diagonal / 1500", "Carl Zeiss, Camera Lens News 1/2007: the usual choice for 35 mm", diagonalOver(1500)},
	{"d1000", "diagonal / 1000", "Carl Zeiss, Camera Lens News 1/2007: the general standard", diagonalOver(1000)},
	{"d1440", "diagonal / 1440", "ExifTool, composite tag CircleOfConfusion: 0.030 mm on full frame", diagonalOver(1440)},
	{"d1730", "diagonal / 1730", "Wikipedia, \"Zeiss formula\": 0.025 mm on full frame", diagonalOver(1730)},
	{"pixels2", "two pixels", "common practice for sensors with a colour mosaic", func(_ Format, pitchUM float64) float64 {
		if !positive(pitchUM) {
			return math.NaN()
		}
		return 2 * pitchUM / 1000
	}},
}

// PrintCoCMM is the circle of confusion for a print of a width, seen from 25 cm, where
// a blur of 0.2 mm (5 line pairs a mm) still counts as sharp. Wikipedia, "Circle of
// confusion", citing S. Ray, Applied Photographic Optics (2000).
func PrintCoCMM(sensorWidthMM, printWidthMM float64) float64 {
	if !positive(sensorWidthMM) || !positive(printWidthMM) {
		return math.NaN()
	}
	return 0.2 * sensorWidthMM / printWidthMM
}

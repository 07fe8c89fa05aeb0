package optics

import (
	"math"
	"slices"
)

// MovementBlurPixels is how far a thing that moves across the picture at speedMMS
// (mm a second, in the subject) travels on the sensor during an exposure: m·v·t/pitch.
func MovementBlurPixels(speedMMS, m, seconds, pitchUM float64) float64 {
	if !(speedMMS >= 0) || !(m >= 0) || !(seconds >= 0) || !positive(pitchUM) {
		return math.NaN()
	}
	return speedMMS * m * seconds * 1000 / pitchUM
}

// SteadySeconds is the longest exposure in which a thing that moves at speedMMS stays
// within cMM on the sensor: c/(m·v).
func SteadySeconds(speedMMS, m, cMM float64) float64 {
	if !positive(speedMMS) || !positive(m) || !positive(cMM) {
		return math.NaN()
	}
	return cMM / (m * speedMMS)
}

// PixelPitchUM is the side of a pixel: sensor side over pixels along it.
func PixelPitchUM(sensorMM, pixels float64) float64 {
	if !positive(sensorMM) || !positive(pixels) {
		return math.NaN()
	}
	return sensorMM * 1000 / pixels
}

// FlickerEV is how much the exposures of frames can differ, at worst, under a lamp on
// mains of so many hertz. The lamp's light swells and fades twice a cycle by the share
// modulation (0 to 1) around its mean; over p = 2·hz·t periods the mean of such a wave
// strays by s = modulation·|sin(πp)/(πp)|, so that frames lie up to
// log2((1+s)/(1−s)) EV apart: nothing where p is whole.
func FlickerEV(seconds, mainsHz, modulation float64) float64 {
	if !positive(seconds) || !positive(mainsHz) || !(modulation >= 0 && modulation <= 1) {
		return math.NaN()
	}
	p := math.Pi * 2 * mainsHz * seconds
	s := modulation * math.Abs(math.Sin(p)/p)
	return math.Log2((1 + s) / (1 - s))
}

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// Package optics is the arithmetic of close-up photography and of a focus stack:
// magnification, depth of field, diffraction, exposure, movement, and the plan made
// of them. Everything is a pure function of numbers. It knows no files, no frames and
// no window.
//
// Lengths carry their unit in the name: MM, UM (micrometres), NM (nanometres). The
// symbols of the formulas:
//
//	f  focal length                      N  f-number as marked on the lens
//	m  magnification, image over object  P  pupil magnification, exit pupil over entrance pupil
//	c  circle of confusion               λ  wavelength
//	u  subject distance from the front principal plane
//	s  subject distance from the entrance pupil, s = f(1/m + 1/P)
//
// Some authors print P the other way round, entrance over exit. Unless a comment says
// otherwise, arguments out of the stated range give NaN; a NaN never becomes a number
// again, so it cannot pass for a result. MakePlan checks its input and says in words
// what is wrong.
//
// The lens is a thin lens with a pupil magnification: it does not change its focal
// length or its pupils as it focuses. Real macro lenses do both, which is why a
// magnification that was measured is better than one reckoned from a distance.
package optics

import "math"

// DefaultWavelengthNM is green light, where the eye and a sensor see best. A common
// convention; Nikon's microscope tables go by it too.
const DefaultWavelengthNM = 550

// positive reports whether x is a finite number above zero.
func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// orOne is the pupil magnification, 1 where it is not given.
func orOne(pupil float64) float64 {
	if pupil == 0 {
		return 1
	}
	return pupil
}

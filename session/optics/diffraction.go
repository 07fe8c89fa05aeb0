package optics

import "math"

// firstDark is the radius of the first dark ring of the Airy pattern in units of λ·N:
// the first zero of the Bessel function J1 over π.
const firstDark = 1.2196698912665045

// AiryDiskUM is the diameter of the first dark ring, 2.44·λ·N, on the sensor. At close
// range N is the effective f-number. Edmund Optics, Imaging Resource Guide, section 2.4,
// equation 1.
func AiryDiskUM(wavelengthNM, effectiveN float64) float64 {
	return 2 * RayleighUM(wavelengthNM, effectiveN)
}

// RayleighUM is the distance on the sensor at which two points are just told apart,
// 1.22·λ·N (Lord Rayleigh's criterion).
func RayleighUM(wavelengthNM, effectiveN float64) float64 {
	if !positive(wavelengthNM) || !positive(effectiveN) {
		return math.NaN()
	}
	return firstDark * wavelengthNM / 1000 * effectiveN
}

// TotalBlurUM joins the blur of defocus and of diffraction as the root of the sum of
// their squares (Hansma 1996 and Peterson 1996, by way of Wikipedia, "Depth of field").
func TotalBlurUM(defocusUM, airyUM float64) float64 { return math.Hypot(defocusUM, airyUM) }

// OptimumFNumber is the marked f-number that holds a depth with the least total blur
// at its two ends: where defocus and diffraction are equal,
//
//	Neff = m·√(depth/(2·2.44·λ))   N = Neff/(1 + m/P)
//
// In terms of the focus spread D = depth·m² on the sensor's side it is Hansma's
// √(375·D) (from memory; D in mm, λ = 547 nm).
func OptimumFNumber(depthMM, m, pupil, wavelengthNM float64) float64 {
	pupil = orOne(pupil)
	if !positive(depthMM) || !positive(m) || !positive(pupil) || !positive(wavelengthNM) {
		return math.NaN()
	}
	return m * math.Sqrt(depthMM/(4*firstDark*wavelengthNM*1e-6)) / (1 + m/pupil)
}

// FNumbersWithin are the marked f-numbers between which a depth is held with a total
// blur of at most blurUM at its ends. ok is false when no aperture can. It is the
// question of Peterson 1996, by the formula of OptimumFNumber.
func FNumbersWithin(blurUM, depthMM, m, pupil, wavelengthNM float64) (lowest, highest float64, ok bool) {
	pupil = orOne(pupil)
	if !positive(blurUM) || !positive(depthMM) || !positive(m) || !positive(pupil) || !positive(wavelengthNM) {
		return math.NaN(), math.NaN(), false
	}
	// (a/Neff)² + (k·Neff)² = b², a quadratic in Neff².
	a := depthMM * 1000 * m * m / 2
	k := 2 * firstDark * wavelengthNM / 1000
	root := math.Pow(blurUM, 4) - 4*a*a*k*k
	if root < 0 {
		return math.NaN(), math.NaN(), false
	}
	bb, r := blurUM*blurUM, math.Sqrt(root)
	high := math.Sqrt((bb + r) / (2 * k * k))
	low := a / (k * high) // the product of the two roots is a/k
	bellows := 1 + m/pupil
	return low / bellows, high / bellows, true
}

// UsableShare is the part of the geometric depth of field that is left when diffraction
// takes its share of the circle of confusion: √(1 − (airy/c)²), 0 when the Airy disk
// alone is larger than c. Where both blurs are equal it is 71 %: the "about 70 %" of
// R. Littlefield's FAQ, photomacrography.net p=44833.
func UsableShare(airyUM, cMM float64) float64 {
	if !(airyUM >= 0) || !positive(cMM) {
		return math.NaN()
	}
	r := airyUM / (cMM * 1000)
	return math.Sqrt(math.Max(0, 1-r*r))
}

package focus

import "math"

// GaussianPeak fits a Gaussian to a focus measure taken at three equally spaced places:
// f at place d, fl one step before it and fr one step after it. It gives the place of
// the peak, its standard deviation in the unit of d, and its height. ok is false where the three do not
// make a peak (the middle is not above the mean, in logarithms, of the others) or a value is not positive.
//
// S. K. Nayar and Y. Nakagawa, "Shape from focus", IEEE PAMI 16(8), 1994.
func GaussianPeak(d, step, fl, f, fr float64) (peak, sigma, height float64, ok bool) {
	if !(fl > 0 && f > 0 && fr > 0) {
		return 0, 0, 0, false
	}
	left, right := math.Log(f)-math.Log(fl), math.Log(f)-math.Log(fr)
	bend := left + right
	if !(bend > 0) {
		return 0, 0, 0, false
	}
	off := step * (left - right) / (2 * bend)
	sigma = step / math.Sqrt(bend)
	return d + off, sigma, f * math.Exp(off*off/(2*sigma*sigma)), true
}

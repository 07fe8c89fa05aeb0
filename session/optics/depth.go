package optics

import "math"

// Shot is what the lens does in one exposure.
type Shot struct {
	// FNumber is N, as marked on the lens; above 0.
	FNumber float64
	// Magnification is m, from 0 (focused at infinity) up.
	Magnification float64
	// Pupil is P, exit pupil over entrance pupil; 0 means 1.
	Pupil float64
	// FocalMM is f; 0 where it is not known. In close-ups depth of field depends on it
	// hardly at all, and is then taken as symmetric.
	FocalMM float64
}

func (s Shot) ok() bool {
	return positive(s.FNumber) && s.Magnification >= 0 && !math.IsInf(s.Magnification, 1) &&
		positive(orOne(s.Pupil)) && (s.FocalMM == 0 || positive(s.FocalMM))
}

// EffectiveFNumber is N(1 + m/P), what exposure and diffraction go by. With P = 1 it
// is the N(1 + m) of Canon's MP-E 65mm instructions, p. ENG-7.
func (s Shot) EffectiveFNumber() float64 {
	if !s.ok() {
		return math.NaN()
	}
	return s.FNumber * (1 + s.Magnification/orOne(s.Pupil))
}

// Depth is the depth that is sharp around the focused plane.
type Depth struct {
	// NearMM reaches from the focused plane toward the camera, FarMM away from it; FarMM
	// is +Inf at and beyond the hyperfocal distance.
	NearMM, FarMM float64
	// TotalMM is their sum.
	TotalMM float64
}

// DepthOfField is the depth whose blur from defocus stays within cMM on the sensor.
// With A = N·c·(1 + m/P)/m² and q = N·c/(f·m),
//
//	near = A/(1+q)   far = A/(1−q)   total = 2A/(1−q²)
//
// as J. Conrad gives it in "Depth of Field in Depth" (quoted from memory), and as follows from the
// similar triangles behind the entrance pupil. It holds at any magnification; at m = 0
// all is +Inf, and Limits is of use.
func (s Shot) DepthOfField(cMM float64) Depth {
	if !s.ok() || !positive(cMM) {
		return Depth{math.NaN(), math.NaN(), math.NaN()}
	}
	m := s.Magnification
	if m == 0 {
		return Depth{math.Inf(1), math.Inf(1), math.Inf(1)}
	}
	a := s.EffectiveFNumber() * cMM / (m * m)
	q := 0.0
	if s.FocalMM > 0 {
		q = s.FNumber * cMM / (s.FocalMM * m)
	}
	d := Depth{NearMM: a / (1 + q), FarMM: math.Inf(1), TotalMM: math.Inf(1)}
	if q < 1 {
		d.FarMM = a / (1 - q)
		d.TotalMM = d.NearMM + d.FarMM
	}
	return d
}

// Limits are the nearest and the farthest distance from the entrance pupil whose blur
// stays within cMM:
//
//	near = f(1 + m/P)/(m + N·c/f)   far = f(1 + m/P)/(m − N·c/f), +Inf where that is not positive
//
// It needs the focal length, and holds from m = 0 up. With P = 1 the entrance pupil
// lies in the principal plane, and these are u/(1+t) and u/(1−t), t = N·c·(u−f)/f².
func (s Shot) Limits(cMM float64) (nearMM, farMM float64) {
	if !s.ok() || s.FocalMM == 0 || !positive(cMM) {
		return math.NaN(), math.NaN()
	}
	m, k := s.Magnification, s.FNumber*cMM/s.FocalMM
	top := s.FocalMM * (1 + m/orOne(s.Pupil))
	nearMM, farMM = top/(m+k), math.Inf(1)
	if m > k {
		farMM = top / (m - k)
	}
	return nearMM, farMM
}

// DefocusBlurMM is the blur on the sensor of a point xMM behind the focused plane (in
// front of it when negative):
//
//	b = m·|x| / (N·(1/m + 1/P + x/f))
//
// the f·m·x/(N(s±x)) of the usual texts, with s from the entrance pupil. A point at or
// behind the pupil gives NaN; m must be above 0.
func (s Shot) DefocusBlurMM(xMM float64) float64 {
	m := s.Magnification
	if !s.ok() || m == 0 || math.IsNaN(xMM) {
		return math.NaN()
	}
	t := 1/m + 1/orOne(s.Pupil)
	if s.FocalMM > 0 {
		if math.IsInf(xMM, 1) {
			return m * s.FocalMM / s.FNumber
		}
		t += xMM / s.FocalMM
	}
	if t <= 0 {
		return math.NaN()
	}
	return m * math.Abs(xMM) / (s.FNumber * t)
}

// NumericalAperture on the subject's side is m/(2·N(1 + m/P)), the small-angle form.
func (s Shot) NumericalAperture() float64 {
	return s.Magnification / (2 * s.EffectiveFNumber())
}

// WaveDepthMM is the depth within which defocus costs no more than a quarter wave,
// 4λ·Neff²/m² = λ/NA², which takes the place of geometric depth at high magnification.
// R. Littlefield, photomacrography.net t=19756. Other schools print half of it (one
// side only) or twice as much.
func (s Shot) WaveDepthMM(wavelengthNM float64) float64 {
	return WaveDepthUM(wavelengthNM, s.NumericalAperture(), 1) / 1000
}

// WaveDepthUM is λ·n/NA², the first term of the depth formula of Nikon's MicroscopyU, in a
// medium of index n (1 in air).
func WaveDepthUM(wavelengthNM, na, index float64) float64 {
	if !positive(wavelengthNM) || !positive(na) || !(index >= na) {
		return math.NaN()
	}
	return wavelengthNM / 1000 * index / (na * na)
}

// DetectorDepthUM is n·e/(M·NA), the second term of the same formula: what the
// detector's own resolution eUM adds behind an objective of magnification M.
func DetectorDepthUM(eUM, magnification, na, index float64) float64 {
	if !positive(eUM) || !positive(magnification) || !positive(na) || !(index >= na) {
		return math.NaN()
	}
	return index * eUM / (magnification * na)
}

// HyperfocalMM is the distance from the principal plane to focus at so that infinity is
// just sharp, f²/(N·c) + f.
func HyperfocalMM(focalMM, n, cMM float64) float64 {
	if !positive(focalMM) || !positive(n) || !positive(cMM) {
		return math.NaN()
	}
	return focalMM*focalMM/(n*cMM) + focalMM
}

// FocusBetweenMM is where to focus so that both limits are equally sharp, the harmonic
// mean 2·near·far/(near + far) of their distances from the entrance pupil. farMM may
// be +Inf.
func FocusBetweenMM(nearMM, farMM float64) float64 {
	if !positive(nearMM) || !(farMM >= nearMM) {
		return math.NaN()
	}
	return 2 * nearMM / (nearMM/farMM + 1)
}

package optics

import "math"

// MagnificationFromFieldWidth is m = sensor / field: the long side of the sensor over
// what it takes in of the subject, both in mm and above 0.
func MagnificationFromFieldWidth(sensorMM, fieldMM float64) float64 {
	if !positive(sensorMM) || !positive(fieldMM) {
		return math.NaN()
	}
	return sensorMM / fieldMM
}

// FieldMM is how much of the subject a side of the sensor takes in: sensor / m. It is
// +Inf at m = 0.
func FieldMM(sensorMM, m float64) float64 {
	if !positive(sensorMM) || !(m >= 0) {
		return math.NaN()
	}
	return sensorMM / m
}

// MagnificationFromRuler is measured on a frame of a ruler: two marks that are
// lengthMM apart on the ruler lie pixels apart in a picture that is pictureWidth
// pixels wide and was taken by sensorWidthMM of the sensor (width along the same side).
// m = (pixels / pictureWidth) · sensorWidth / length. A picture that was made smaller
// gives the same m; one that was cropped does not. The ruler must lie in the focused
// plane, square to the lens.
func MagnificationFromRuler(pixels, pictureWidth, sensorWidthMM, lengthMM float64) float64 {
	if !positive(pixels) || !positive(pictureWidth) || !positive(sensorWidthMM) || !positive(lengthMM) {
		return math.NaN()
	}
	return pixels / pictureWidth * sensorWidthMM / lengthMM
}

// MagnificationFromSubjectDistance is m = f/(u−f), for u > f counted from the front
// principal plane; 0 at u = +Inf. D. Jacobson, rec.photo lenses FAQ (1995), Q5.
func MagnificationFromSubjectDistance(focalMM, uMM float64) float64 {
	if !positive(focalMM) || !(uMM > focalMM) {
		return math.NaN()
	}
	return focalMM / (uMM - focalMM)
}

// MagnificationFromSensorDistance solves L = f(2 + m + 1/m), where L is the distance
// from the sensor plane to the subject through a thin lens (the gap between the
// principal planes is taken for 0). Of the two solutions, m and 1/m, it gives the one
// up to life size, the position with the lens nearer to the sensor. A thin lens cannot
// focus nearer than L = 4f, where m = 1: below that the result is NaN.
func MagnificationFromSensorDistance(focalMM, distanceMM float64) float64 {
	if !positive(focalMM) || !positive(distanceMM) {
		return math.NaN()
	}
	k := distanceMM/focalMM - 2 // m + 1/m
	if k < 2 {
		return math.NaN()
	}
	return 2 / (k + math.Sqrt(k*k-4)) // the stable form of (k − √(k²−4))/2
}

// SensorDistanceMM is the inverse of MagnificationFromSensorDistance, for m > 0:
// L = f(2 + m + 1/m).
func SensorDistanceMM(focalMM, m float64) float64 {
	if !positive(focalMM) || !positive(m) {
		return math.NaN()
	}
	return focalMM * (2 + m + 1/m)
}

// AngleOfViewDeg is 2·atan(X / (2f(m+1))) for a side X of the sensor, in degrees.
// Jacobson's FAQ, Q6; for a lens whose pupils are of one size.
func AngleOfViewDeg(sensorMM, focalMM, m float64) float64 {
	if !positive(sensorMM) || !positive(focalMM) || !(m >= 0) {
		return math.NaN()
	}
	return 2 * math.Atan(sensorMM/(2*focalMM*(m+1))) * 180 / math.Pi
}

package parts

import (
	"math"

	"stillbench/session"
)

// The table seen from above: azimuth 0 is at the camera, which is at the bottom; 90
// is right, 180 top. Fyne's arcs have 0 at the top and run clockwise.

// planPoint gives where a thing at an azimuth stands, dist px from the centre.
func planPoint(cx, cy, dist float32, azimuthDeg float64) (x, y float32) {
	sin, cos := math.Sincos(azimuthDeg * math.Pi / 180)
	return cx + dist*float32(sin), cy + dist*float32(cos)
}

// planAzimuth is planPoint's inverse: azimuth in [0, 360) and distance of a point.
func planAzimuth(cx, cy, x, y float32) (azimuthDeg float64, dist float32) {
	dx, dy := float64(x-cx), float64(y-cy)
	return session.NormalAzimuth(math.Atan2(dx, dy) * 180 / math.Pi), float32(math.Hypot(dx, dy))
}

// fyneAngle gives the angle, clockwise from the top, of an azimuth.
func fyneAngle(azimuthDeg float64) float32 { return float32(180 - azimuthDeg) }

// fyneAngles gives the bounds, clockwise, of an eighth of the circle.
func fyneAngles(eighth int) (from, to float32) {
	mid := fyneAngle(45 * float64(eighth))
	return mid - 22.5, mid + 22.5
}

// eighthOf gives the index of a side in session.Sides: its azimuth is 45 times it.
func eighthOf(s session.Side) int {
	for i, side := range session.Sides {
		if side == s {
			return i
		}
	}
	return 0
}

package present

import (
	"math"

	"stillbench/session"
)

// apartDeg and apartCM are how far a new light stands from every other one, round the subject or
// farther in or out, so that both are seen and can be taken hold of.
const (
	apartDeg = 30
	apartCM  = 12
)

// AnotherLight is where a light is drawn before it is moved: a panel from the back left, half high;
// beside others a quarter turn on from the last, or the next place after that where none stands.
func AnotherLight(lights []session.Light) session.Light {
	l := session.Light{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 45}
	if n := len(lights); n > 0 {
		l.AzimuthDeg = lights[n-1].AzimuthDeg + 90
	}
	from := l.AzimuthDeg
	for _, cm := range []float64{40, 25, 55} {
		l.DistanceCM = &cm
		for eighth := range 8 {
			if l.AzimuthDeg = session.NormalAzimuth(from + 45*float64(eighth)); free(lights, l) {
				return l
			}
		}
	}
	return l
}

// free tells that no light stands where l does.
func free(lights []session.Light, l session.Light) bool {
	for _, other := range lights {
		cm := 40.0
		if other.DistanceCM != nil {
			cm = *other.DistanceCM
		}
		turn := math.Abs(math.Remainder(other.AzimuthDeg-l.AzimuthDeg, 360))
		if turn < apartDeg && math.Abs(cm-*l.DistanceCM) < apartCM {
			return false
		}
	}
	return true
}

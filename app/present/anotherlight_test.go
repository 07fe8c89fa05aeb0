package present

import (
	"math"
	"testing"

	"stillbench/session"
)

// A new light never lands on another one: any two of sixteen stand a good way apart, wherever the
// first ones were put.
func TestAnotherLightStandsApart(t *testing.T) {
	near, far := 40.0, 60.0
	for name, lights := range map[string][]session.Light{
		"none":                 nil,
		"one from the side":    {{AzimuthDeg: 90, DistanceCM: &far}},
		"a turn back":          {{AzimuthDeg: 315, DistanceCM: &near}, {AzimuthDeg: 45, DistanceCM: &near}, {AzimuthDeg: 225, DistanceCM: &near}},
		"of unknown distance":  {{AzimuthDeg: 0}, {AzimuthDeg: 270}},
		"north of nothing":     {{AzimuthDeg: 359, DistanceCM: &near}, {AzimuthDeg: 269, DistanceCM: &near}},
		"between the eighths":  {{AzimuthDeg: 22, DistanceCM: &near}},
		"one behind the other": {{AzimuthDeg: 180, DistanceCM: &near}, {AzimuthDeg: 180, DistanceCM: &far}},
	} {
		for len(lights) < 16 {
			l := AnotherLight(lights)
			x, y := at(l)
			for i, other := range lights {
				if ox, oy := at(other); math.Hypot(x-ox, y-oy) < 10 {
					t.Errorf("%s: light %d at %.0f° lands on light %d at %.0f°", name, len(lights)+1, l.AzimuthDeg, i+1, other.AzimuthDeg)
				}
			}
			lights = append(lights, l)
		}
	}
}

// at is where a light stands as drawn from above, in cm.
func at(l session.Light) (x, y float64) {
	cm := 40.0
	if l.DistanceCM != nil {
		cm = *l.DistanceCM
	}
	rad := l.AzimuthDeg * math.Pi / 180
	return cm * math.Sin(rad), cm * math.Cos(rad)
}

package desk

import (
	"math"
	"testing"

	"stillbench/session"
)

// TestCircleForAFrame: a convention needs no sensor, a diameter needs one, and what cannot
// be told is the default.
func TestCircleForAFrame(t *testing.T) {
	w, h := 6000, 4000
	pixels := session.Meta{Make: "Vantor", Model: "VTX 2", Width: &w, Height: &h}
	told := []session.Camera{{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 36, SensorHeightMM: 24}}
	measured := session.Meta{Sensor: &session.Sensor{WidthMM: 18, HeightMM: 12, Source: "Exif.FocalPlaneResolution"}}
	for name, c := range map[string]struct {
		g    session.Gear
		m    session.Meta
		want float64
	}{
		"nothing chosen":          {session.Gear{}, pixels, 0},
		"by the diagonal":         {session.Gear{Circle: session.Circle{Convention: "d1730"}}, session.Meta{}, 1.0 / 1730},
		"two pixels":              {session.Gear{Circle: session.Circle{Convention: "pixels2"}}, pixels, 2 / math.Hypot(6000, 4000)},
		"two pixels of no number": {session.Gear{Circle: session.Circle{Convention: "pixels2"}}, session.Meta{}, 0},
		"of a later version":      {session.Gear{Circle: session.Circle{Convention: "later"}}, pixels, 0},
		"mm, sensor told":         {session.Gear{Circle: session.Circle{MM: 0.03}, Cameras: told}, pixels, 0.03 / math.Hypot(36, 24)},
		"mm, sensor in the file":  {session.Gear{Circle: session.Circle{MM: 0.03}, Cameras: told}, measured, 0.03 / math.Hypot(18, 12)},
		"mm, no sensor":           {session.Gear{Circle: session.Circle{MM: 0.03}}, pixels, 0},
	} {
		if got := circleFor(c.g, c.m); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %g, want %g", name, got, c.want)
		}
	}
}

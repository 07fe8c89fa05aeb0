package session

import (
	"math"
	"time"
)

// Gear is what the log remembers, from every session, of what pictures are taken with:
// what the frames told, and what the photographer had to say since no frame tells it.
type Gear struct {
	// Cameras are those whose sensor the photographer told, by make and model.
	Cameras []Camera
	// Lenses are those that frames named or the photographer told of, the most used
	// first, then by name.
	Lenses []Lens
	// Circle is the circle of confusion chosen; zero when none was.
	Circle Circle
}

// Camera is the sensor size that the photographer told for a model.
type Camera struct {
	Make, Model string
	// SensorWidthMM and SensorHeightMM are of the sensor held level, width the longer;
	// both 0 forget what was told.
	SensorWidthMM, SensorHeightMM float64
}

// Lens is a lens by the name that frames give it.
type Lens struct {
	Name string
	// PupilMagnification is what the photographer told: exit pupil over entrance pupil
	// (by diameter); nil when nothing was told, or to forget it.
	PupilMagnification *float64
	// FocalMM is the focal length of the newest frame with this lens, ShortestMM and
	// LongestMM the extremes seen; 0 when no frame said.
	FocalMM, ShortestMM, LongestMM float64
	// Frames is how many frames showed it, LastUsed when the newest was taken (zero when
	// no frame said).
	Frames   int
	LastUsed time.Time
}

// Circle is a choice of the largest blur on the sensor that counts as sharp.
type Circle struct {
	// Convention is the key of a convention (package optics); "" goes by MM.
	Convention string
	// MM is a diameter on the sensor in mm; 0 with a convention, or when none was chosen.
	MM float64
}

// Sensor is the size of the light-sensitive surface that a frame was recorded from.
type Sensor struct {
	WidthMM, HeightMM float64 // width along the frame's rows, before Orientation
	// Source says where it is known from: "Exif.FocalPlaneResolution",
	// "Exif.FocalLengthIn35mmFilm" or "photographer".
	Source string
}

// The sources of a sensor's size.
const (
	SensorBy35mm = "Exif.FocalLengthIn35mmFilm"
	SensorTold   = "photographer"
)

// Sensor tells the size of the sensor that a frame was taken with: from its metadata,
// else what the photographer told for its camera model. ok is false when neither says.
func (g Gear) Sensor(m Meta) (s Sensor, ok bool) {
	if m.Sensor != nil {
		return *m.Sensor, true
	}
	if s, ok := m.sensorBy35mm(); ok {
		return s, true
	}
	c, ok := g.Camera(m.Make, m.Model)
	if !ok {
		return Sensor{}, false
	}
	s = Sensor{c.SensorWidthMM, c.SensorHeightMM, SensorTold}
	if m.Width != nil && m.Height != nil && *m.Height > *m.Width {
		s.WidthMM, s.HeightMM = s.HeightMM, s.WidthMM
	}
	return s, true
}

// sensorBy35mm goes by the focal length and that which gives the same diagonal of view on
// 35 mm film (43.27 mm). Frames that the log knew before it kept sensors have these two.
func (m Meta) sensorBy35mm() (Sensor, bool) {
	if m.FocalLengthMM == nil || m.FocalLength35MM == nil || m.Width == nil || m.Height == nil ||
		!(*m.FocalLengthMM > 0 && *m.FocalLength35MM > 0 && *m.Width > 0 && *m.Height > 0) {
		return Sensor{}, false
	}
	w, h := float64(*m.Width), float64(*m.Height)
	k := math.Hypot(36, 24) * *m.FocalLengthMM / *m.FocalLength35MM / math.Hypot(w, h)
	return Sensor{w * k, h * k, SensorBy35mm}, true
}

// Camera finds what was told of a model.
func (g Gear) Camera(maker, model string) (Camera, bool) {
	for _, c := range g.Cameras {
		if c.Make == maker && c.Model == model {
			return c, true
		}
	}
	return Camera{}, false
}

// Lens finds a lens by its name.
func (g Gear) Lens(name string) (Lens, bool) {
	for _, l := range g.Lenses {
		if l.Name == name {
			return l, true
		}
	}
	return Lens{}, false
}

// Fits reports whether a focal length is one that the lens has, as far as frames told: from
// the shortest to the longest seen and a fiftieth beyond, since makers round the lengths
// they write.
func (l Lens) Fits(focalMM float64) bool {
	return l.LongestMM == 0 || focalMM >= l.ShortestMM*0.98 && focalMM <= l.LongestMM*1.02
}

// The largest sensors of cameras are some 110 mm long, that of a view camera's film 254.
const maxSensorMM = 300

// Validate says, in a sentence that wraps ErrInvalid, what cannot be.
func (c Camera) Validate() error {
	forget := c.SensorWidthMM == 0 && c.SensorHeightMM == 0
	switch {
	case c.Model == "":
		return Refuse("a sensor size without a camera model")
	case !forget && !(c.SensorHeightMM > 0 && c.SensorWidthMM >= c.SensorHeightMM && c.SensorWidthMM <= maxSensorMM):
		return Refuse("a sensor of %g x %g mm", c.SensorWidthMM, c.SensorHeightMM)
	}
	return nil
}

// Validate says, in a sentence that wraps ErrInvalid, what cannot be.
func (l Lens) Validate() error {
	switch p := l.PupilMagnification; {
	case l.Name == "":
		return Refuse("a pupil magnification without the lens's name")
	case p != nil && !(*p > 0 && *p <= 100):
		return Refuse("a pupil magnification of %g", *p)
	}
	return nil
}

// Validate says, in a sentence that wraps ErrInvalid, what cannot be.
func (c Circle) Validate() error {
	if !(c.MM >= 0 && c.MM <= maxSensorMM) || c.Convention != "" && c.MM != 0 {
		return Refuse("a circle of confusion of %g mm (%q)", c.MM, c.Convention)
	}
	return nil
}

package exifread

import "math"

// focalPlane is what the EXIF block says about the size of the sensor.
type focalPlane struct {
	pixelX, pixelY float64 // PixelXDimension, PixelYDimension
	resX, resY     float64 // pixels per unit
	unitMM         float64 // length of the unit
}

// Sensor is the size of the light-sensitive surface that a frame was recorded
// from (after an in-camera crop: of the part that was used).
type Sensor struct {
	WidthMM, HeightMM float64 // width along the frame's rows, before Orientation
	// Source is "Exif.FocalPlaneResolution", "Exif.FocalLengthIn35mmFilm" or
	// "photographer".
	Source string
}

// focalPlane takes over the fields that speak of the sensor's size.
func (x *extractor) focalPlane(t tags) {
	p := &x.m.plane
	if p.pixelX != 0 || p.resX != 0 {
		return
	}
	p.pixelX, _ = t.number(tagPixelX)
	p.pixelY, _ = t.number(tagPixelY)
	p.resX, _ = t.number(tagFocalPlaneX)
	p.resY, _ = t.number(tagFocalPlaneY)
	// DC-008 section 4.6.5: 2 inch (the default), 3 centimetre. 4 (mm) and 5 (µm) are
	// in use though no standard has them (ExifTool's Exif table).
	unit, ok := t.whole(tagFocalPlaneUnit)
	if !ok {
		unit = 2
	}
	p.unitMM = map[int]float64{2: 25.4, 3: 10, 4: 1, 5: 0.001}[unit]
}

// The sensors of cameras that take pictures measure from 1 mm (phones, endoscopes)
// to some 110 mm (view-camera backs): common practice.
const minSensorMM, maxSensorMM = 1, 120

// SensorSize tells how large the sensor is: from the focal-plane resolution if
// that can be believed, else from the focal length and its 35 mm equivalent, else
// what the photographer said for this camera (told, nil for nothing).
//
// The focal-plane resolution counts pixels of the picture as the camera recorded
// it. A program that scales a picture and leaves the field alone makes it wrong,
// and some cameras write it in another unit than they claim; so it is believed
// only if it agrees with the 35 mm equivalent, where there is one, to a quarter.
// The 35 mm equivalent goes by the diagonal (43.27 mm) and is written in whole
// millimetres, so its answer is good to some per cent. ok is false when nothing
// is known.
func (m *Metadata) SensorSize(told *Sensor) (s Sensor, ok bool) {
	byPlane, okPlane := m.sensorByPlane()
	by35, ok35 := m.sensorBy35()
	if okPlane && ok35 {
		ratio := math.Hypot(byPlane.WidthMM, byPlane.HeightMM) / math.Hypot(by35.WidthMM, by35.HeightMM)
		okPlane = ratio > 0.8 && ratio < 1.25
	}
	switch {
	case okPlane:
		return byPlane, true
	case ok35:
		return by35, true
	case told != nil && told.WidthMM > 0 && told.HeightMM > 0:
		return Sensor{told.WidthMM, told.HeightMM, "photographer"}, true
	}
	return Sensor{}, false
}

// sensorByPlane is pixels over pixels per unit. Cameras that write one resolution
// only have square pixels; raw formats that leave PixelXDimension out mean the
// sensor image.
func (m *Metadata) sensorByPlane() (Sensor, bool) {
	p := m.plane
	if p.pixelX <= 0 && p.pixelY <= 0 && m.Width != nil && m.Height != nil {
		p.pixelX, p.pixelY = float64(*m.Width), float64(*m.Height)
	}
	if p.resY <= 0 {
		p.resY = p.resX
	}
	if p.pixelX <= 0 || p.pixelY <= 0 || p.resX <= 0 || p.unitMM == 0 {
		return Sensor{}, false
	}
	s := Sensor{p.pixelX / p.resX * p.unitMM, p.pixelY / p.resY * p.unitMM, "Exif.FocalPlaneResolution"}
	return s, s.plausible()
}

func (m *Metadata) sensorBy35() (Sensor, bool) {
	if m.FocalLengthMM == nil || m.FocalLength35MM == nil || m.Width == nil || m.Height == nil ||
		*m.Width <= 0 || *m.Height <= 0 {
		return Sensor{}, false
	}
	w, h := float64(*m.Width), float64(*m.Height)
	diagonal := math.Hypot(36, 24) * *m.FocalLengthMM / *m.FocalLength35MM
	scale := diagonal / math.Hypot(w, h)
	s := Sensor{w * scale, h * scale, "Exif.FocalLengthIn35mmFilm"}
	return s, s.plausible()
}

func (s Sensor) plausible() bool {
	return min(s.WidthMM, s.HeightMM) >= minSensorMM && max(s.WidthMM, s.HeightMM) <= maxSensorMM
}

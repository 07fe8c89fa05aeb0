package optics

import (
	"fmt"
	"math"
	"slices"
)

// Field names one input of a plan, as the terminal's option is called.
type Field string

// The fields.
const (
	FieldSensor        Field = "sensor"
	FieldFocal         Field = "focal"
	FieldMagnification Field = "magnification"
	FieldFieldWidth    Field = "field-width"
	FieldDistance      Field = "distance"
	FieldDepth         Field = "depth"
	FieldFNumber       Field = "f"
	FieldPupil         Field = "pupil"
	FieldCoC           Field = "coc"
	FieldWavelength    Field = "wavelength"
	FieldOverlap       Field = "overlap"
	FieldShutter       Field = "shutter"
	FieldShutterAt     Field = "at"
	FieldPixels        Field = "pixels"
	FieldFrames        Field = "frames"
	FieldSettle        Field = "settle"
	FieldTurn          Field = "turn"
)

// FieldError says in words what is wrong with one field.
type FieldError struct {
	Field   Field
	Problem string
	// Form and Args are what Problem was made of: a format for fmt.Sprintf in English, with
	// names of values and numbers as strings.
	Form string
	Args []any
}

// Error names the field and the problem.
func (e FieldError) Error() string { return fmt.Sprintf("%s: %s", e.Field, e.Problem) }

// agree is how far apart two ways to give the magnification may lie: rulers and
// distances are read to a few parts in a hundred.
const agree = 0.03

// goal is a plan's input with nothing missing.
type goal struct {
	width, height, focal, m, depth  float64
	pupil, coc, wavelength, overlap float64
	shutter, shutterN               float64
	shutterM                        *float64
	pitch, settle, turn             float64
	fNumbers                        []float64
}

// checker gathers complaints.
type checker struct{ errs []FieldError }

func (c *checker) complain(f Field, format string, args ...any) {
	c.errs = append(c.errs, FieldError{f, fmt.Sprintf(format, args...), format, args})
}

// value gives *x when it is within low and high, and complains otherwise. what names
// the value with its unit, e.g. "The depth in mm". A value that is not given is def.
func (c *checker) value(f Field, x *float64, low, high, def float64, what string) float64 {
	switch {
	case x == nil:
		return def
	case math.IsNaN(*x) || math.IsInf(*x, 0):
		c.complain(f, "%s must be a number.", what)
	case *x < 0 && low >= 0:
		c.complain(f, "%s cannot be negative.", what)
	case *x == 0 && low > 0:
		c.complain(f, "%s cannot be 0.", what)
	case *x < low:
		c.complain(f, "%s is %s; below %s it makes no sense.", what, number(*x), number(low))
	case *x > high:
		c.complain(f, "%s is %s; above %s it makes no sense.", what, number(*x), number(high))
	default:
		return *x
	}
	return math.NaN()
}

// check fills in what was not given and complains of what cannot be.
func check(in PlanInput) (goal, []FieldError) {
	var c checker
	var g goal
	c.sensor(in, &g)
	g.focal = c.value(FieldFocal, in.FocalMM, 1, 5000, 0, "The focal length in mm")
	g.pupil = c.value(FieldPupil, in.Pupil, 0.1, 10, 1, "The pupil magnification")
	c.magnification(in, &g)
	g.depth = c.value(FieldDepth, in.DepthMM, 0.0001, 10000, math.NaN(), "The depth in mm")
	if in.DepthMM == nil {
		c.complain(FieldDepth, "How deep is the subject? Give its depth in mm, from its nearest to its farthest point.")
	}
	if far := SensorDistanceMM(g.focal, g.m); g.depth > far {
		c.complain(FieldDepth, "The subject is %s mm deep, but only %.0f mm away from the sensor.", number(g.depth), far)
	}
	diagonal := math.Hypot(g.width, g.height)
	g.coc = c.value(FieldCoC, in.CoCMM, 0.0001, 1, diagonal/1500, "The circle of confusion in mm")
	if g.coc > diagonal/100 {
		c.complain(FieldCoC, "A circle of confusion of %s mm is more than a hundredth of the sensor's diagonal: nothing would be blurred.", number(g.coc))
	}
	g.wavelength = c.value(FieldWavelength, in.WavelengthNM, 100, 2000, DefaultWavelengthNM, "The wavelength in nm")
	g.overlap = c.value(FieldOverlap, in.Overlap, 0, 0.9, DefaultOverlap, "The overlap, a share of a slice,")
	g.settle = c.value(FieldSettle, in.SettleSeconds, 0, 3600, DefaultSettleSeconds, "The time to settle in s")
	g.turn = c.value(FieldTurn, in.TurnSeconds, 0, 3600, DefaultTurnSeconds, "The time to turn in s")
	if n := in.FramesAtMost; n != nil && (*n < 1 || *n > maxFrames) {
		c.complain(FieldFrames, "The stack can have 1 to %d frames, not %d.", maxFrames, *n)
	}
	c.apertures(in, &g)
	c.exposure(in, &g)
	return g, c.errs
}

func (c *checker) sensor(in PlanInput, g *goal) {
	w, h := math.NaN(), math.NaN()
	if in.SensorWidthMM == nil || in.SensorHeightMM == nil {
		c.complain(FieldSensor, "How large is the sensor? Give width x height in mm, such as 36x24.")
	} else {
		before := len(c.errs)
		w = c.value(FieldSensor, in.SensorWidthMM, 1, 500, 0, "The sensor's width in mm")
		h = c.value(FieldSensor, in.SensorHeightMM, 1, 500, 0, "The sensor's height in mm")
		if len(c.errs) == before && math.Max(w, h) > 5*math.Min(w, h) {
			c.complain(FieldSensor, "A sensor of %s x %s mm would be a strip. Is a digit wrong?", number(w), number(h))
		}
	}
	g.width, g.height = math.Max(w, h), math.Min(w, h)
	if in.PixelsWide == nil && in.PixelsHigh == nil {
		return
	}
	if in.PixelsWide == nil || in.PixelsHigh == nil || *in.PixelsWide < 16 || *in.PixelsHigh < 16 || *in.PixelsWide > 1e6 || *in.PixelsHigh > 1e6 {
		c.complain(FieldPixels, "Pixels are given as width x height, such as 8192x5464.")
		return
	}
	pw, ph := float64(max(*in.PixelsWide, *in.PixelsHigh)), float64(min(*in.PixelsWide, *in.PixelsHigh))
	if r := pw / ph / (g.width / g.height); r > 1.05 || r < 1/1.05 {
		c.complain(FieldPixels, "%.0f x %.0f pixels have another shape than the sensor of %s x %s mm. Is one of them cropped?", pw, ph, number(g.width), number(g.height))
	}
	g.pitch = g.width * 1000 / pw
}

// magnification finds m from whichever was given, and complains when they disagree.
func (c *checker) magnification(in PlanInput, g *goal) {
	type way struct {
		field Field
		m     float64
		words string
	}
	var ways []way
	if in.Magnification != nil {
		m := c.value(FieldMagnification, in.Magnification, 0.001, 100, 0, "The magnification")
		ways = append(ways, way{FieldMagnification, m, "the magnification given"})
	}
	if in.FieldWidthMM != nil {
		field := c.value(FieldFieldWidth, in.FieldWidthMM, 0.01, 100000, 0, "The field width in mm")
		ways = append(ways, way{FieldFieldWidth, g.width / field, fmt.Sprintf("a field %s mm wide", number(field))})
	}
	if in.DistanceMM != nil {
		d := c.value(FieldDistance, in.DistanceMM, 1, 1e6, 0, "The distance in mm")
		m := math.NaN()
		switch {
		case in.FocalMM == nil:
			c.complain(FieldFocal, "A distance says how large the subject is only together with the focal length. Give it, or give the field width.")
		case d < 4*g.focal:
			c.complain(FieldDistance, "%s mm is too near: a simple lens of %s mm comes no nearer than 4 focal lengths, %s mm from the sensor. A macro lens gets shorter as it focuses: give the field width or the magnification instead.",
				number(d), number(g.focal), number(4*g.focal))
		default:
			m = MagnificationFromSensorDistance(g.focal, d)
		}
		ways = append(ways, way{FieldDistance, m, fmt.Sprintf("a distance of %s mm", number(d))})
	}
	if len(ways) == 0 {
		c.complain(FieldFieldWidth, "How large does the subject appear? Give the field width in mm, the magnification, or the distance.")
		g.m = math.NaN()
		return
	}
	g.m = ways[0].m
	for _, w := range ways[1:] {
		if r := w.m / g.m; r > 1+agree || r < 1-agree {
			c.complain(w.field, "This contradicts %s: %s is a magnification of %s, not %s. Give one of them.", ways[0].field, w.words, number(w.m), number(g.m))
		}
	}
	if g.m < 0.001 {
		c.complain(ways[0].field, "That is a magnification of %s: far too small for a stack.", number(g.m))
	} else if g.m > 100 {
		c.complain(ways[0].field, "That is a magnification of %s: no lens does that.", number(g.m))
	}
}

func (c *checker) apertures(in PlanInput, g *goal) {
	const widest, narrowest = 0.5, 512
	if len(in.FNumbers) > 0 {
		for _, n := range in.FNumbers {
			c.value(FieldFNumber, &n, widest, narrowest, 0, "The f-number")
		}
		g.fNumbers = slices.Compact(slices.Sorted(slices.Values(in.FNumbers)))
		return
	}
	series := FNumbers(3)
	low := c.value(FieldFNumber, in.WidestFNumber, widest, narrowest, series[0].Nominal, "The lens's widest f-number")
	high := c.value(FieldFNumber, in.NarrowestFNumber, widest, narrowest, series[len(series)-1].Nominal, "The lens's narrowest f-number")
	for _, s := range series {
		if s.Nominal >= low && s.Nominal <= high {
			g.fNumbers = append(g.fNumbers, s.Nominal)
		}
	}
	if len(g.fNumbers) == 0 && !math.IsNaN(low) && !math.IsNaN(high) {
		c.complain(FieldFNumber, "No aperture lies between the widest, f/%s, and the narrowest, f/%s.", number(low), number(high))
	}
}

func (c *checker) exposure(in PlanInput, g *goal) {
	switch {
	case in.ShutterSeconds == nil && in.ShutterFNumber == nil:
		return
	case in.ShutterSeconds == nil:
		c.complain(FieldShutter, "The f-number of a good exposure is given, but not its time.")
		return
	case in.ShutterFNumber == nil:
		c.complain(FieldShutterAt, "The time of a good exposure is given, but not its f-number.")
		return
	}
	g.shutter = c.value(FieldShutter, in.ShutterSeconds, 1e-6, 3600, 0, "The shutter time in s")
	g.shutterN = c.value(FieldShutterAt, in.ShutterFNumber, 0.5, 512, 0, "The f-number of the good exposure")
	if in.ShutterMagnification != nil {
		m := c.value(FieldShutterAt, in.ShutterMagnification, 0, 100, 0, "The magnification of the good exposure")
		g.shutterM = &m
	}
}

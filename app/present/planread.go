package present

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session/optics"
)

// PlanField names an input of the Plan, in the order in which they stand.
type PlanField int

// The inputs.
const (
	PlanSensor PlanField = iota
	PlanLens
	PlanFieldWidth
	PlanMagnification
	PlanDistance
	PlanDepth
	PlanSharp
	PlanFrames
	PlanExposure
	PlanLight
	PlanFields // how many there are
)

// planFieldNames are the inputs' names on screen.
var planFieldNames = [PlanFields]string{
	words.PlanSensor, words.PlanLens, words.FieldWidth, words.Magnification, words.DistanceName, words.PlanDepth,
	words.PlanSharp, words.PlanFramesAtMost, words.PlanExposure, words.LightName,
}

var planHints = [PlanFields]string{
	PlanSensor: words.PlanSensorHint, PlanLens: words.PlanLensHint, PlanFieldWidth: words.PlanWidthHint,
	PlanDepth: words.PlanDepthHint, PlanFrames: words.PlanFramesHint, PlanExposure: words.PlanExposureHint, PlanLight: words.PlanLightHint,
}

// planHint stands in an empty field: what it may hold, or that nothing is asked of it.
func planHint(f PlanField) string {
	if f == PlanFrames || planHints[f] == "" {
		return planHints[f]
	}
	return fmt.Sprintf(words.PlanHintF, planHints[f])
}

// fieldOf says which input a complaint is about.
var fieldOf = map[optics.Field]PlanField{
	optics.FieldSensor: PlanSensor, optics.FieldPixels: PlanSensor, optics.FieldFocal: PlanLens, optics.FieldPupil: PlanLens, optics.FieldFNumber: PlanLens,
	optics.FieldFieldWidth: PlanFieldWidth, optics.FieldMagnification: PlanMagnification, optics.FieldDistance: PlanDistance,
	optics.FieldDepth: PlanDepth, optics.FieldCoC: PlanSharp, optics.FieldFrames: PlanFrames,
	optics.FieldShutter: PlanExposure, optics.FieldShutterAt: PlanExposure,
}

// PlanAsked is what a plan is asked for, as it was typed.
type PlanAsked struct {
	Text [PlanFields]string
	// Size is the one of field width, magnification and distance that is given; the
	// other two are reckoned.
	Size PlanField
	// Convention is the key of the circle of confusion in use (optics.Conventions); ""
	// goes by the number in Text.
	Convention string
	// FNumber is the aperture chosen; 0 takes the recommended one.
	FNumber float64
	// PixelsWide and PixelsHigh of the sensor; 0 when not known.
	PixelsWide, PixelsHigh int
	// Words are what is known of the subject; the cautions go by them.
	Words string
}

// PlanProblem says what is wrong with an input.
type PlanProblem struct {
	Field PlanField
	Name  string
	Words string
}

// planReader reads what was typed.
type planReader struct {
	in       optics.PlanInput
	problems []PlanProblem
}

func (r *planReader) complain(f PlanField, sentence string) {
	for _, p := range r.problems {
		if p.Field == f {
			return // one at a time for each
		}
	}
	r.problems = append(r.problems, PlanProblem{f, planFieldNames[f], sentence})
}

// read makes the input of a plan, with what could not be read.
func (a PlanAsked) read() *planReader {
	r := &planReader{}
	r.sensor(a)
	r.lens(a.Text[PlanLens])
	for f, to := range map[PlanField]**float64{
		PlanFieldWidth: &r.in.FieldWidthMM, PlanMagnification: &r.in.Magnification, PlanDistance: &r.in.DistanceMM,
	} {
		if f == a.Size {
			*to = r.length(f, a.Text[f])
		}
	}
	r.in.DepthMM = r.length(PlanDepth, a.Text[PlanDepth])
	r.in.CoCMM = a.coc(r)
	if t := strings.TrimSpace(a.Text[PlanFrames]); t != "" {
		n, err := strconv.Atoi(firstWord(t))
		if err != nil {
			r.complain(PlanFrames, fmt.Sprintf(words.PlanNoWholeNumberF, t))
		}
		r.in.FramesAtMost = &n
	}
	r.exposure(a.Text[PlanExposure])
	return r
}

func firstWord(s string) string {
	if f := strings.Fields(s); len(f) > 0 {
		return f[0]
	}
	return ""
}

// sensor reads "36 × 24 mm", or one of the formats by its name.
func (r *planReader) sensor(a PlanAsked) {
	t := strings.TrimSpace(a.Text[PlanSensor])
	if t == "" {
		return
	}
	if a.PixelsWide > 0 && a.PixelsHigh > 0 {
		r.in.PixelsWide, r.in.PixelsHigh = &a.PixelsWide, &a.PixelsHigh
	}
	for _, f := range optics.Formats {
		if strings.EqualFold(t, f.Name) || strings.EqualFold(t, words.Of(f.Name)) {
			r.in.SensorWidthMM, r.in.SensorHeightMM = &f.WidthMM, &f.HeightMM
			return
		}
	}
	left, right, cut := strings.Cut(strings.NewReplacer("×", "x", "X", "x", "*", "x").Replace(t), "x")
	w, _, ok1 := Measure(left)
	h, _, ok2 := Measure(right)
	if !cut || !ok1 || !ok2 {
		r.complain(PlanSensor, fmt.Sprintf(words.PlanCannotReadF, t, words.PlanSensorExample))
		w, h = math.NaN(), math.NaN()
	}
	r.in.SensorWidthMM, r.in.SensorHeightMM = &w, &h
}

// lens reads "105 mm, pupil 1.0", and the apertures it has from "f/2.8-22".
func (r *planReader) lens(t string) {
	pupil := strings.ToLower(strings.TrimSpace(strings.TrimSuffix(words.PlanPupilF, "%s")))
	for _, part := range parts(t) {
		part = strings.ToLower(strings.TrimSpace(part))
		switch {
		case strings.HasPrefix(part, "pupil"), strings.HasPrefix(part, pupil):
			v, _, ok := Measure(strings.TrimPrefix(strings.TrimPrefix(part, pupil), "pupil"))
			if !ok {
				r.complain(PlanLens, fmt.Sprintf(words.PlanCannotReadF, part, words.PlanPupilExample))
			}
			r.in.Pupil = &v
		case strings.HasPrefix(part, "f/"):
			wide, narrow, ranged := strings.Cut(strings.NewReplacer("–", "-", "f/", "").Replace(part), "-")
			w, _, ok := Measure(wide)
			n, _, okNarrow := Measure(narrow)
			if !ok || ranged && !okNarrow {
				r.complain(PlanLens, fmt.Sprintf(words.PlanCannotReadF, part, words.PlanRangeExample))
			}
			r.in.WidestFNumber = &w
			if ranged {
				r.in.NarrowestFNumber = &n
			}
		default:
			v, _, ok := Measure(part)
			if !ok {
				r.complain(PlanLens, fmt.Sprintf(words.PlanCannotReadF, part, words.PlanLensHint))
			}
			r.in.FocalMM = &v
		}
	}
}

// parts parts what stands between commas, semicolons or raised points. A comma between digits
// belongs to a number where the language writes it so.
func parts(text string) []string {
	runes := []rune(text)
	digit := func(i int) bool { return i >= 0 && i < len(runes) && runes[i] >= '0' && runes[i] <= '9' }
	for i, r := range runes {
		if r == ';' || r == '·' || r == ',' && !(words.CommaIsPoint() && digit(i-1) && digit(i+1)) {
			runes[i] = '\n'
		}
	}
	return strings.FieldsFunc(string(runes), func(r rune) bool { return r == '\n' })
}

// length reads a length in mm, or a plain number for a magnification; nil when nothing
// was typed.
func (r *planReader) length(f PlanField, t string) *float64 {
	t = strings.TrimSpace(t)
	if t == "" {
		return nil
	}
	if f == PlanMagnification {
		t = strings.TrimLeft(strings.TrimRight(t, "×x "), "×x ")
		if one, by, ratio := strings.Cut(t, ":"); ratio {
			t = one + "/" + by
		}
	}
	v, unit, ok := Measure(t)
	if !ok || f == PlanMagnification && unit {
		r.complain(f, fmt.Sprintf(words.PlanCannotReadF, t, [PlanFields]string{
			PlanFieldWidth: words.PlanWidthHint, PlanMagnification: words.PlanMagnificationExample,
			PlanDistance: words.PlanDistanceExample, PlanDepth: words.PlanDepthHint,
		}[f]))
		v = math.NaN()
	}
	return &v
}

// coc is the circle of confusion: by convention, or as typed; nil for the default.
func (a PlanAsked) coc(r *planReader) *float64 {
	if a.Convention != "" && r.in.SensorWidthMM != nil {
		c := conventionCoC(a, *r.in.SensorWidthMM, *r.in.SensorHeightMM)
		if math.IsNaN(c) {
			return nil
		}
		return &c
	}
	t := strings.TrimSpace(a.Text[PlanSharp])
	if t == "" || a.Convention != "" {
		return nil
	}
	v, _, ok := Measure(t)
	if !ok {
		r.complain(PlanSharp, fmt.Sprintf(words.PlanCannotReadF, t, words.PlanSharpExample))
		v = math.NaN()
	}
	return &v
}

// conventionCoC is the circle of confusion that a convention gives, NaN when it needs
// what is not known.
func conventionCoC(a PlanAsked, w, h float64) float64 {
	pitch := 0.0
	if long := max(a.PixelsWide, a.PixelsHigh); long > 0 {
		pitch = optics.PixelPitchUM(max(w, h), float64(long))
	}
	for _, c := range optics.Conventions {
		if c.Key == a.Convention {
			return c.CoCMM(optics.Format{WidthMM: w, HeightMM: h}, pitch)
		}
	}
	return math.NaN()
}

// exposure reads "f/8 · 1/4 s · ISO 100"; only aperture and time are reckoned with.
func (r *planReader) exposure(t string) {
	for _, part := range parts(t) {
		part = strings.ToLower(strings.TrimSpace(part))
		v, unit, ok := Measure(strings.TrimPrefix(part, "f/"))
		switch {
		case part == "" || strings.HasPrefix(part, "iso"):
		case strings.HasPrefix(part, "f/") && ok:
			r.in.ShutterFNumber = &v
		case ok && (strings.HasSuffix(part, "s") || !unit):
			r.in.ShutterSeconds = &v
		default:
			r.complain(PlanExposure, fmt.Sprintf(words.PlanCannotReadF, part, words.PlanExposureHint))
		}
	}
}

// units are what a number can be followed by, in mm, or in s for a time.
var units = []struct {
	name string
	of   float64
}{{"mm", 1}, {"cm", 10}, {"µm", 0.001}, {"um", 0.001}, {"m", 1000}, {"min", 60}, {"s", 1}}

// Measure reads a number as people write it: "33", "33 mm", "4.2 cm", "1/4 s", "0,5".
// Lengths come in mm, times in s; unit says whether one was written.
func Measure(text string) (value float64, unit, ok bool) {
	t := strings.ToLower(strings.TrimSpace(text))
	k := 1.0
	for _, u := range units {
		if rest, found := strings.CutSuffix(t, u.name); found {
			t, k, unit = strings.TrimSpace(rest), u.of, true
			break
		}
	}
	top, bottom, divided := strings.Cut(t, "/")
	value, ok = decimal(top)
	if divided {
		d, fine := decimal(bottom)
		if ok = ok && fine && d != 0; ok {
			value /= d
		}
	}
	return value * k, unit, ok
}

func decimal(s string) (float64, bool) {
	s = strings.TrimSpace(s)
	if strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

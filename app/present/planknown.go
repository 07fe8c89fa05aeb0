package present

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/optics"
)

// PlanKnown is what a session tells before anything is typed, each as it would be
// typed; "" where it tells nothing.
type PlanKnown struct {
	Text [PlanFields]string
	// PixelsWide and PixelsHigh of the newest frame; 0 when not known.
	PixelsWide, PixelsHigh int
	// Lenses are those that the log knows, the most used first.
	Lenses []PlanLensKnown
	// Lens is the name of the one in use, "" when nothing tells.
	Lens string
	// Make and Model are the camera of the newest frame. SensorTold: its sensor is what
	// the photographer told; SensorWritten: the frame's metadata gives it.
	Make, Model               string
	SensorTold, SensorWritten bool
	// Gear is what the log remembers.
	Gear session.Gear
	// Words are what is known of the subject, Subject its name.
	Words, Subject string
	// SetupID is the setup on the table, 0 without one.
	SetupID int64
}

// PlanLensKnown is a lens that the log knows.
type PlanLensKnown struct {
	Name string
	// Text is the lens as it would be typed.
	Text string
}

// PlanKnownOf reads a session.
func PlanKnownOf(s *desk.Snapshot) PlanKnown {
	k := PlanKnown{Gear: s.Gear}
	for _, l := range s.Gear.Lenses {
		k.Lenses = append(k.Lenses, PlanLensKnown{l.Name, lensText(l.FocalMM, l.PupilMagnification)})
	}
	focal := 0.0
	if f, ok := s.Frame(s.Newest); ok {
		k.frame(f.Meta)
		focal = or(f.Meta.FocalLengthMM)
	}
	if n := len(s.Setups); n > 0 {
		k.setup(s.Setups[n-1])
	}
	l, _ := s.Gear.Lens(k.Lens)
	if k.Text[PlanLens] = lensText(focal, l.PupilMagnification); focal == 0 {
		k.Text[PlanLens] = lensText(l.FocalMM, l.PupilMagnification)
	}
	return k
}

// lensText is a lens as it would be typed; "" of what is not known.
func lensText(focalMM float64, pupil *float64) string {
	focal, p := "", ""
	if focalMM > 0 {
		focal = tenths(focalMM) + " mm"
	}
	if pupil != nil {
		p = fmt.Sprintf(words.PlanPupilF, words.Localised(strconv.FormatFloat(*pupil, 'f', -1, 64)))
	}
	return strings.Join(known(focal, p), ", ")
}

func (k *PlanKnown) frame(m session.Meta) {
	k.Lens, k.Make, k.Model = m.Lens, m.Make, m.Model
	if m.FNumber != nil && m.ShutterSeconds != nil {
		k.Text[PlanExposure] = strings.Join(Exposure(m), " · ")
	}
	if m.Width != nil && m.Height != nil {
		k.PixelsWide, k.PixelsHigh = *m.Width, *m.Height
	}
	if s, ok := k.Gear.Sensor(m); ok {
		k.Text[PlanSensor] = sensorText(s)
		k.SensorTold, k.SensorWritten = s.Source == session.SensorTold, s.Source != session.SensorTold
	}
}

// sensorText is a sensor as it would be typed. One reckoned from the 35 mm equivalent
// (a whole number of mm, good to some per cent) is given the size of the format that it
// comes near to, where one is near.
func sensorText(s session.Sensor) string {
	w, h := max(s.WidthMM, s.HeightMM), min(s.WidthMM, s.HeightMM)
	for _, format := range optics.Formats {
		r := format.DiagonalMM() / math.Hypot(w, h)
		if s.Source == session.SensorBy35mm && r > 0.96 && r < 1.04 && math.Abs(format.WidthMM/format.HeightMM-w/h) < 0.05 {
			return sensor(format.WidthMM, format.HeightMM)
		}
	}
	return sensor(w, h)
}

func sensor(w, h float64) string { return trimmed(w) + " × " + trimmed(h) + " mm" }

func (k *PlanKnown) setup(u session.Setup) {
	k.SetupID, k.Subject = u.ID, u.Subject
	if k.Lens == "" { // one without contacts: frames do not name it
		k.Lens = u.Lens
	}
	k.Words = strings.Join([]string{u.Subject, u.Background, u.Support, u.Notes, strings.Join(u.Tags, " ")}, " ")
	if u.Magnification != nil {
		k.Text[PlanMagnification] = digits(*u.Magnification, 3)
	}
	var lights []string
	for _, l := range u.Lights {
		text := Kind(l.Kind)
		for _, more := range []string{l.Power, l.Modifier} {
			if more != "" {
				text += ", " + more
			}
		}
		if l.DistanceCM != nil && len(u.Lights) == 1 {
			text += ", " + Distance(*l.DistanceCM)
		}
		lights = append(lights, text)
	}
	k.Text[PlanLight] = strings.Join(lights, "; ")
}

func or(v *float64) float64 {
	if v == nil {
		return 0
	}
	return *v
}

// AgainstPlan compares the steps of the stack that the newest frame is in with the
// plan; "" where there is no such stack, or where its check does not tell the places of
// three frames.
//
// Places are without a unit. What gives them one is the depth that each frame holds: in
// the check on the scale of places, from optics in millimetres. Both go by the same
// circle of confusion, the one that the log remembers. A stack that was shot at another
// aperture is compared with what the plan asks for at that one. A frame shot again where
// one stands is no step.
func AgainstPlan(s *desk.Snapshot, a PlanAsked, p Plan) string {
	if !p.Ready || p.Frames < 2 {
		return ""
	}
	group := s.GroupOf(s.Newest)
	if group < 0 || s.Groups[group].Kind != session.KindStack {
		return ""
	}
	check := s.Checks[s.Groups[group].ID]
	if check == nil {
		return ""
	}
	var places, reach []float64
	for _, f := range check.Frames {
		if f.Place != nil && !f.Blurred {
			places = append(places, *f.Place)
			if f.Near != nil && f.Far != nil && *f.Far > *f.Near {
				reach = append(reach, *f.Far-*f.Near)
			}
		}
	}
	frame, _ := s.Frame(s.Newest)
	held := heldByFrame(a, s.Gear, frame.Meta)
	if len(places) < 3 || len(reach) == 0 || !(held > 0) {
		return ""
	}
	slices.Sort(places)
	slices.Sort(reach)
	unit := held / reach[len(reach)/2] // mm
	var steps []float64
	for i, at := range places[1:] {
		if step := (at - places[i]) * unit; step > held/20 {
			steps = append(steps, step)
		}
	}
	name := open(s).stackName(group) + ", " + FNumber(frame.Meta.FNumber)
	if *frame.Meta.FNumber != p.FNumber {
		a.FNumber = *frame.Meta.FNumber
		if p = PlanOf(a); p.Frames < 2 {
			return ""
		}
	}
	ratio, widest, ok := optics.StepsAgainstPlan(p.StepMM, steps)
	if !ok {
		return ""
	}
	shot, planned := digits(ratio*p.StepMM, 2), digits(p.StepMM, 2)
	out := ""
	switch {
	case ratio > 1.1:
		out = fmt.Sprintf(words.PlanTooFarF, name, digits(ratio, 2), shot, planned)
	case ratio < 0.9:
		out = fmt.Sprintf(words.PlanFinerF, name, digits(ratio, 1), shot, planned)
	default:
		out = fmt.Sprintf(words.PlanAsAskedF, name, shot)
	}
	if widest > 1.5*max(ratio, 1) {
		out += " " + fmt.Sprintf(words.PlanWidestF, digits(widest*p.StepMM, 2))
	}
	return out
}

// heldByFrame is the depth of field of a frame in mm, at the check's circle of
// confusion and the magnification asked for; NaN when it cannot be told.
func heldByFrame(a PlanAsked, g session.Gear, m session.Meta) float64 {
	a.Convention, a.Text[PlanSharp] = ConventionOf(g.Circle)
	if _, ok := g.Sensor(m); !ok && g.Circle.MM > 0 { // the check could not go by it
		a.Convention, a.Text[PlanSharp] = ConventionOf(session.Circle{})
	}
	r := a.read()
	in := r.in
	if m.FNumber == nil || len(r.problems) > 0 {
		return math.NaN()
	}
	in.FNumbers, in.FramesAtMost = []float64{*m.FNumber}, nil
	p, errs := optics.MakePlan(in)
	if len(errs) > 0 {
		return math.NaN()
	}
	return p.Rows[0].DepthOfFieldMM
}

// AlikeQueries ask the log for what was shot before at a size like this one: first of
// the same subject, then of any.
func AlikeQueries(subject string, magnification float64) []session.SetupQuery {
	if !(magnification > 0) {
		return nil
	}
	const alike = 1.5
	any := session.SetupQuery{MagnificationMin: magnification / alike, MagnificationMax: magnification * alike, Limit: 10}
	if strings.TrimSpace(subject) == "" {
		return []session.SetupQuery{any}
	}
	return []session.SetupQuery{{Words: subject, Limit: 10}, any}
}

// Alike puts the newest setup with a stack into words; "" when none is among those
// found. The setup on the table does not count.
func Alike(found []session.FoundSetup, onTable int64) string {
	for _, f := range found {
		if f.Stacks == 0 || f.Frames == 0 || f.ID == onTable {
			continue
		}
		what := strings.Join(known(f.Subject, Magnification(f.Magnification)), ", ")
		if what == "" {
			what = words.NoSetup
		}
		shot := Frames(f.Frames)
		if f.Stacks > 1 {
			shot = fmt.Sprintf(words.PlanStacksF, shot, Count(f.Stacks, words.StackOne, words.StackMany))
		}
		return fmt.Sprintf(words.PlanAlikeF, f.ID, what, strings.Join(known(apertures(f.FNumber), shot), ", "))
	}
	return ""
}

// MagnificationAsked is the magnification that what was typed comes to; NaN when it
// does not say.
func MagnificationAsked(a PlanAsked) float64 { return magnification(a.read().in) }

func magnification(in optics.PlanInput) float64 {
	if in.SensorWidthMM == nil {
		return math.NaN()
	}
	long := max(*in.SensorWidthMM, *in.SensorHeightMM)
	switch {
	case in.Magnification != nil:
		return *in.Magnification
	case in.FieldWidthMM != nil:
		return optics.MagnificationFromFieldWidth(long, *in.FieldWidthMM)
	case in.DistanceMM != nil && in.FocalMM != nil:
		return optics.MagnificationFromSensorDistance(*in.FocalMM, *in.DistanceMM)
	}
	return math.NaN()
}

// MeasuredMagnification is the magnification that two marks on a picture of a ruler
// tell: they lie pixels apart in a picture whose long side has long pixels, and what was
// typed apart on the ruler. NaN where one of them does not say.
func MeasuredMagnification(a PlanAsked, pixels, long float64, typed string) float64 {
	in := a.read().in
	mm, _, ok := Measure(typed)
	if !ok || in.SensorWidthMM == nil {
		return math.NaN()
	}
	return optics.MagnificationFromRuler(pixels, long, max(*in.SensorWidthMM, *in.SensorHeightMM), mm)
}

// FieldWidthAt is how wide the field is at a magnification.
func FieldWidthAt(a PlanAsked, m float64) string {
	in := a.read().in
	if in.SensorWidthMM == nil {
		return ""
	}
	return length(optics.FieldMM(max(*in.SensorWidthMM, *in.SensorHeightMM), m))
}

// PlainMagnification writes a magnification as it is typed: three digits.
func PlainMagnification(m float64) string { return digits(m, 3) }

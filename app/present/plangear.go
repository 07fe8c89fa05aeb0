package present

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/optics"
)

// PlanNews is what the Plan has learnt from what was typed, to be remembered in the log;
// nil where it learnt nothing. Words say so.
type PlanNews struct {
	Camera *session.Camera
	Lens   *session.Lens
	Circle *session.Circle
	Words  string
}

// PlanNewsOf tells what is to be remembered of what was typed into a field, with lens the
// name of the lens that is planned with. A sensor is remembered for the camera of the newest
// frame unless its metadata gives one, since what is typed is then about another camera; a
// pupil magnification for the lens, unless the focal length is none that this lens has. What
// is wrong, or known, is not news; an empty field forgets.
func PlanNewsOf(a PlanAsked, k PlanKnown, lens string, at PlanField) PlanNews {
	r := a.read()
	_, errs := optics.MakePlan(r.in)
	for _, e := range errs {
		if f, ok := fieldOf[e.Field]; ok && strings.TrimSpace(a.Text[at]) != "" {
			r.complain(f, wrong(e))
		}
	}
	for _, p := range r.problems {
		if p.Field == at {
			return PlanNews{}
		}
	}
	switch at {
	case PlanSensor:
		return k.sensorNews(r)
	case PlanLens:
		return k.lensNews(r, lens)
	case PlanSharp:
		c := CircleAsked(a)
		if c.Validate() == nil && c != k.Gear.Circle {
			return PlanNews{Circle: &c}
		}
	}
	return PlanNews{}
}

func (k PlanKnown) sensorNews(r *planReader) PlanNews {
	if k.Model == "" || k.SensorWritten {
		return PlanNews{}
	}
	was, known := k.Gear.Camera(k.Make, k.Model)
	c := session.Camera{Make: k.Make, Model: k.Model}
	if r.in.SensorWidthMM != nil {
		c.SensorWidthMM = max(*r.in.SensorWidthMM, *r.in.SensorHeightMM)
		c.SensorHeightMM = min(*r.in.SensorWidthMM, *r.in.SensorHeightMM)
	}
	switch forget := c.SensorWidthMM == 0; {
	case c.Validate() != nil || c == was || forget && !known:
		return PlanNews{}
	case forget:
		return PlanNews{Camera: &c, Words: fmt.Sprintf(words.PlanForgetsSensorF, k.Model)}
	}
	return PlanNews{Camera: &c, Words: fmt.Sprintf(words.PlanRemembersSensorF, k.Model, sensor(c.SensorWidthMM, c.SensorHeightMM))}
}

func (k PlanKnown) lensNews(r *planReader, lens string) PlanNews {
	was, _ := k.Gear.Lens(lens)
	l := session.Lens{Name: lens, PupilMagnification: r.in.Pupil}
	switch {
	case l.Validate() != nil, r.in.FocalMM != nil && !was.Fits(*r.in.FocalMM), same(l.PupilMagnification, was.PupilMagnification):
		return PlanNews{}
	case l.PupilMagnification == nil:
		return PlanNews{Lens: &l, Words: fmt.Sprintf(words.PlanForgetsPupilF, lens)}
	}
	return PlanNews{Lens: &l, Words: fmt.Sprintf(words.PlanRemembersPupilF, lens, trimmed(*l.PupilMagnification))}
}

func same(a, b *float64) bool { return a == b || a != nil && b != nil && *a == *b }

// ConventionOf gives a remembered circle of confusion as Plan has it: the key of a
// convention, else "" and the number as it is typed. The first convention stands for none
// chosen, and for one that this program does not know.
func ConventionOf(c session.Circle) (key, text string) {
	if c.MM > 0 {
		return "", words.Localised(strconv.FormatFloat(c.MM, 'f', -1, 64)) + " mm"
	}
	for _, known := range optics.Conventions {
		if known.Key == c.Convention {
			return known.Key, ""
		}
	}
	return optics.Conventions[0].Key, ""
}

// CircleAsked is the circle of confusion that a plan is asked for, to be remembered.
func CircleAsked(a PlanAsked) session.Circle {
	if a.Convention != "" {
		return session.Circle{Convention: a.Convention}
	}
	mm, _, ok := Measure(a.Text[PlanSharp])
	if !ok || !(mm > 0) {
		return session.Circle{MM: math.NaN()} // not valid
	}
	return session.Circle{MM: mm}
}

// PlanRemembered says which of the inputs shown come from what was told before; "" when
// none does.
func PlanRemembered(a PlanAsked, k PlanKnown, lens string) string {
	var out []string
	if k.SensorTold && a.Text[PlanSensor] == k.Text[PlanSensor] {
		out = append(out, fmt.Sprintf(words.PlanSensorToldF, k.Model))
	}
	if l, ok := k.Gear.Lens(lens); ok && l.PupilMagnification != nil && same(l.PupilMagnification, a.read().in.Pupil) {
		out = append(out, fmt.Sprintf(words.PlanPupilToldF, lens))
	}
	return strings.Join(out, " ")
}

package present

import (
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
)

// TestPlanNews: what is worth remembering of what was typed, and for what. Makes are
// invented.
func TestPlanNews(t *testing.T) {
	f, p := 105.0, 0.8
	g := session.Gear{
		Cameras: []session.Camera{{Make: "Vantor", Model: "VTX 3", SensorWidthMM: 36, SensorHeightMM: 24}},
		Lenses:  []session.Lens{{Name: "Vantor 105", FocalMM: f, ShortestMM: f, LongestMM: f, PupilMagnification: &p}},
	}
	shot := func(model string, written bool) PlanKnown {
		m := session.Meta{Make: "Vantor", Model: model, Lens: "Vantor 105", FocalLengthMM: &f}
		if written {
			m.Sensor = &session.Sensor{WidthMM: 17.3, HeightMM: 13, Source: "Exif.FocalPlaneResolution"}
		}
		return PlanKnownOf(&desk.Snapshot{Newest: "a", Frames: []session.Frame{{Fingerprint: "a", Meta: m}}, Gear: g})
	}
	for name, c := range map[string]struct {
		k     PlanKnown
		at    PlanField
		typed string
		want  string // what is said, "" for no news
	}{
		"a new sensor":         {shot("VTX 2", false), PlanSensor, "24 x 36 mm", "Remembered for VTX 2: sensor 36 × 24 mm."},
		"one that is known":    {shot("VTX 3", false), PlanSensor, "36 × 24 mm", ""},
		"another than known":   {shot("VTX 3", false), PlanSensor, "24 × 16 mm", "Remembered for VTX 3: sensor 24 × 16 mm."},
		"forgotten":            {shot("VTX 3", false), PlanSensor, "", "The sensor remembered for VTX 3 is forgotten."},
		"nothing to forget":    {shot("VTX 2", false), PlanSensor, "", ""},
		"the file tells":       {shot("VTX 2", true), PlanSensor, "36 × 24 mm", ""},
		"no frame":             {PlanKnown{}, PlanSensor, "36 × 24 mm", ""},
		"a strip":              {shot("VTX 2", false), PlanSensor, "360 × 24 mm", ""},
		"half a sensor":        {shot("VTX 2", false), PlanSensor, "36 ×", ""},
		"the pupil known":      {shot("VTX 2", true), PlanLens, "105 mm, pupil 0.8", ""},
		"another pupil":        {shot("VTX 2", true), PlanLens, "105 mm, pupil 1.1", "Remembered for Vantor 105: pupil magnification 1.1."},
		"the pupil alone":      {shot("VTX 2", true), PlanLens, "pupil 1.1", "Remembered for Vantor 105: pupil magnification 1.1."},
		"the pupil left out":   {shot("VTX 2", true), PlanLens, "105 mm", "The pupil magnification of Vantor 105 is forgotten."},
		"of another length":    {shot("VTX 2", true), PlanLens, "60 mm, pupil 1.1", ""},
		"no pupil there is":    {shot("VTX 2", true), PlanLens, "105 mm, pupil 40", ""},
		"half a pupil":         {shot("VTX 2", true), PlanLens, "105 mm, pupil", ""},
		"no lens to be for":    {PlanKnown{}, PlanLens, "105 mm, pupil 1.1", ""},
		"the depth is no gear": {shot("VTX 2", false), PlanDepth, "12 mm", ""},
	} {
		a := bench1()
		a.Text[c.at] = c.typed
		news := PlanNewsOf(a, c.k, c.k.Lens, c.at)
		if news.Words != c.want || (news.Camera != nil) != strings.Contains(c.want, "ensor") || (news.Lens != nil) != strings.Contains(c.want, "upil") {
			t.Errorf("%s: %+v, want %q", name, news, c.want)
		}
	}
}

// TestRememberedGearIsFilledIn and says where it comes from.
func TestRememberedGearIsFilledIn(t *testing.T) {
	p := 0.8
	g := session.Gear{
		Cameras: []session.Camera{{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 36, SensorHeightMM: 24}},
		Lenses:  []session.Lens{{Name: "bellows, reversed", PupilMagnification: &p}},
		Circle:  session.Circle{MM: 0.021},
	}
	s := &desk.Snapshot{
		Newest: "a", Gear: g,
		Frames: []session.Frame{{Fingerprint: "a", Meta: session.Meta{Make: "Vantor", Model: "VTX 2"}}},
		Setups: []session.Setup{{ID: 1, Lens: "bellows, reversed"}}, // no frame names it
	}
	k := PlanKnownOf(s)
	if k.Text[PlanSensor] != "36 × 24 mm" || k.Text[PlanLens] != "pupil 0.8" || k.Lens != "bellows, reversed" {
		t.Errorf("%+v", k)
	}
	if got := PlanRemembered(PlanAsked{Text: k.Text}, k, k.Lens); got != "Sensor as remembered for VTX 2. Pupil as remembered for bellows, reversed." {
		t.Errorf("%q", got)
	}
	typed := PlanAsked{Text: k.Text}
	typed.Text[PlanSensor], typed.Text[PlanLens] = "24 × 16 mm", "pupil 1"
	if got := PlanRemembered(typed, k, k.Lens); got != "" {
		t.Errorf("typed over: %q", got)
	}
	if key, text := ConventionOf(g.Circle); key != "" || text != "0.021 mm" {
		t.Errorf("%q, %q", key, text)
	}
	if key, text := ConventionOf(session.Circle{Convention: "of a later version"}); key != "d1500" || text != "" {
		t.Errorf("%q, %q", key, text)
	}
}

package optics

import (
	"slices"
	"strings"
	"testing"
)

func TestCautionsApplyWhereTheyShould(t *testing.T) {
	for name, c := range map[string]struct {
		scene Scene
		want  []CautionKey
	}{
		"nothing known":      {Scene{}, nil},
		"window light":       {Scene{Lights: []string{"window"}, ShutterSeconds: []float64{1 / 500.0}}, nil},
		"a panel":            {Scene{Lights: []string{"LED panel, 40 W, diffuser"}}, []CautionKey{CautionEyes, CautionStands}},
		"a lamp and a cone":  {Scene{Lights: []string{"lamp, 60 W"}, Words: "pine cone on slate"}, []CautionKey{CautionHeat, CautionStands}},
		"a card":             {Scene{Lights: []string{"window", "card"}}, []CautionKey{CautionStands}},
		"water":              {Scene{Lights: []string{"lamp"}, Words: "shell in a water tank"}, []CautionKey{CautionHeat, CautionMains, CautionStands}},
		"water by a window":  {Scene{Lights: []string{"window"}, Words: "dew"}, nil},
		"a plant":            {Scene{Words: "nettle leaves, cut with a scalpel"}, []CautionKey{CautionPlants, CautionTools}},
		"not a plant":        {Scene{Words: "plantation chair leafing"}, nil},
		"ultraviolet":        {Scene{Lights: []string{"UV torch"}}, []CautionKey{CautionEyes, CautionUV}},
		"slow":               {Scene{ShutterSeconds: []float64{1}}, []CautionKey{CautionVibration}},
		"fast":               {Scene{ShutterSeconds: []float64{1 / 250.0}}, nil},
		"short under a lamp": {Scene{Lights: []string{"lamp"}, ShutterSeconds: []float64{1 / 320.0}}, []CautionKey{CautionHeat, CautionStands, CautionFlicker}},
		"short with flash":   {Scene{Lights: []string{"flash"}, ShutterSeconds: []float64{1 / 320.0}}, []CautionKey{CautionEyes, CautionStands}},
		"in German":          {Scene{Lights: []string{"Blitz, Softbox", "Glühlampe"}, Words: "Brennnesselblätter? Nein: Brennnessel, Kiefernzapfen, mit Wassertropfen"}, []CautionKey{CautionEyes, CautionHeat, CautionMains, CautionStands, CautionPlants}},
		"in French":          {Scene{Lights: []string{"torche UV", "panneau LED"}, Words: "goutte d’eau sur une feuille, couteau"}, []CautionKey{CautionEyes, CautionUV, CautionMains, CautionStands, CautionPlants, CautionTools}},
		"a French pine cone": {Scene{Words: "pomme de pin"}, nil},
		"short, Blitz":       {Scene{Lights: []string{"Blitzlicht"}, ShutterSeconds: []float64{1 / 320.0}}, []CautionKey{CautionEyes, CautionStands}},
		"long under a lamp":  {Scene{Lights: []string{"lamp"}, ShutterSeconds: []float64{2}}, []CautionKey{CautionHeat, CautionStands, CautionVibration}},
	} {
		var got []CautionKey
		for _, caution := range Cautions(c.scene) {
			got = append(got, caution.Key)
			if s := caution.Sentence; len(s) > 220 || !strings.HasSuffix(s, ".") {
				t.Errorf("%s: %q is no short sentence", name, s)
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	if !strings.Contains(Deference, "makers' instructions") || !strings.Contains(Deference, "licensed electrician") {
		t.Error("the cautions defer to nobody")
	}
}

// Between 1/4 and 1/125 s a mechanical first curtain shakes the camera (ayton.id.au);
// an electronic one does not.
func TestShutterShock(t *testing.T) {
	says := func(seconds float64, electronic bool) string {
		for _, c := range Cautions(Scene{ShutterSeconds: []float64{seconds}, ElectronicCurtain: electronic}) {
			if c.Key == CautionVibration {
				return c.Sentence
			}
		}
		return ""
	}
	for seconds, curtain := range map[float64]bool{0.25: true, 1 / 30.0: true, 1 / 125.0: true, 1: false, 0.5: false} {
		if got := strings.Contains(says(seconds, false), "first curtain"); got != curtain {
			t.Errorf("%v s: the curtain is named: %v", seconds, got)
		}
		if strings.Contains(says(seconds, true), "first curtain") {
			t.Errorf("%v s: an electronic curtain is blamed", seconds)
		}
	}
}

func TestFlickerNamesTheMainsTimes(t *testing.T) {
	for hz, want := range map[float64]string{0: "1/100", 50: "1/100", 60: "1/60"} {
		c := Cautions(Scene{Lights: []string{"LED panel"}, ShutterSeconds: []float64{1 / 250.0}, MainsHz: hz})
		if i := slices.IndexFunc(c, func(c Caution) bool { return c.Key == CautionFlicker }); i < 0 || !strings.Contains(c[i].Sentence, want) {
			t.Errorf("%v Hz: %v", hz, c)
		}
	}
}

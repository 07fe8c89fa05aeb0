package present

import (
	"reflect"
	"testing"

	"stillbench/session"
)

func TestLightIsTypedAndReadBack(t *testing.T) {
	cm, k := 37.5, 5600
	for _, l := range []session.Light{
		{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: -12.5, DistanceCM: &cm, Modifier: "grid", Power: "1/8", ColourK: &k},
		{Kind: session.LightFlag},
	} {
		got, wrong := FormLightOf(l).Read()
		if wrong != "" || !reflect.DeepEqual(got, l) {
			t.Errorf("%+v reads back as %+v, %q", l, got, wrong)
		}
	}
}

func TestLightAsPeopleTypeIt(t *testing.T) {
	l, wrong := FormLight{Kind: "led", Round: "back-left", Up: "55°", Away: "1.1 m", Kelvin: "5600 K"}.Read()
	if wrong != "" || l.Kind != session.LightLED || l.AzimuthDeg != 225 || l.ElevationDeg != 55 || *l.DistanceCM != 110.00000000000001 && *l.DistanceCM != 110 || *l.ColourK != 5600 {
		t.Errorf("%+v, %q", l, wrong)
	}
	if l, _ := (FormLight{Kind: "lamp", Round: "-90"}).Read(); l.AzimuthDeg != 270 {
		t.Errorf("-90 degrees are %g", l.AzimuthDeg)
	}
	for _, f := range []FormLight{
		{Kind: "candle"}, {}, {Kind: "lamp", Round: "round"}, {Kind: "lamp", Up: "91"}, {Kind: "lamp", Up: "NaN"},
		{Kind: "lamp", Away: "-3"}, {Kind: "lamp", Away: "far"}, {Kind: "lamp", Away: "1e99"}, {Kind: "lamp", Kelvin: "warm"}, {Kind: "lamp", Kelvin: "10"},
	} {
		if _, wrong := f.Read(); wrong == "" {
			t.Errorf("%+v was taken", f)
		}
	}
}

package present

import (
	"strings"
	"testing"

	"stillbench/session"
)

func TestStepsAreInTheOrderOfBuilding(t *testing.T) {
	cm := 40.0
	s := session.FoundSetup{Setup: session.Setup{
		ID: 9, Subject: "pine cone", Background: "slate", Lens: "Aalto 100 mm",
		Lights: []session.Light{
			{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 55, DistanceCM: &cm, Modifier: "diffuser", Power: "40 W"},
			{Kind: session.LightCard, AzimuthDeg: 60, ElevationDeg: 0},
		},
	}}
	steps := Steps(s)
	var heads []string
	for _, st := range steps {
		heads = append(heads, st.Headline)
	}
	want := "On the table: pine cone.|Set the camera.|1 · LED panel, diffuser, back-left.|2 · Card, front-right.|This is how it looked."
	if got := strings.Join(heads, "|"); got != want {
		t.Errorf("steps\n%s, want\n%s", got, want)
	}
	// 225 degrees, where 90 is the camera's right, are 135 the other way round.
	if got := steps[2].WhatToDo; got != "135° round to the left from the camera, 55° up, 40 cm away, 40 W." {
		t.Errorf("the first light is told as %q", got)
	}
	if got := steps[3].WhatToDo; got != "60° round to the right from the camera, level with the subject." {
		t.Errorf("the card is told as %q", got)
	}
	if steps[2].Stood != 1 || steps[3].Stood != 2 || !steps[4].Look {
		t.Errorf("steps %+v", steps)
	}
}

func TestStepsOfAnEmptySetup(t *testing.T) {
	steps := Steps(session.FoundSetup{})
	if len(steps) != 3 || steps[1].Headline != "No light was logged." {
		t.Errorf("steps %+v", steps)
	}
}

func TestLightPlaces(t *testing.T) {
	for _, c := range []struct {
		az, el float64
		want   string
	}{
		{0, 10, "on the camera’s side, 10° up"},
		{180, 5, "straight behind the subject, 5° up, shining through the subject"},
		{180, 60, "straight behind the subject, 60° up"},
		{359.7, 0, "on the camera’s side, level with the subject"},
		{270, -30, "90° round to the left from the camera, 30° below the table"},
	} {
		l := session.Light{Kind: session.LightLamp, AzimuthDeg: c.az, ElevationDeg: c.el}
		if got := strings.Join(LightPlace(l), ", "); got != c.want {
			t.Errorf("azimuth %g, elevation %g: %q, want %q", c.az, c.el, got, c.want)
		}
	}
}

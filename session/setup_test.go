package session

import (
	"encoding/json"
	"math"
	"testing"
	"time"
)

// TestSides: the wheel is cut into eighths of 45 degrees centred on their words, 0 at the
// camera and clockwise seen from above. The words are those of photographers' lighting
// exercises (front at the lens, side at 90 degrees, back at 180); that a border belongs to
// the side that follows is our own rule.
func TestSides(t *testing.T) {
	for _, c := range []struct {
		deg  float64
		want Side
	}{
		{0, SideFront}, {math.Copysign(0, -1), SideFront}, {22.499999, SideFront}, {22.5, SideFrontRight}, {45, SideFrontRight}, {67.5, SideRight}, {90, SideRight},
		{112.5, SideBackRight}, {135, SideBackRight}, {157.5, SideBack}, {180, SideBack}, {202.499, SideBack}, {202.5, SideBackLeft},
		{247.5, SideLeft}, {270, SideLeft}, {292.5, SideFrontLeft}, {337.499999, SideFrontLeft}, {337.5, SideFront}, {359.999999, SideFront},
		{360, SideFront}, {382.5, SideFrontRight}, {-22.5, SideFront}, {-22.500001, SideFrontLeft}, {-90, SideLeft}, {-1e-15, SideFront}, {720090, SideRight},
		{math.Nextafter(360, 0), SideFront}, {math.Nextafter(22.5, 0), SideFront},
	} {
		if got := SideOf(c.deg); got != c.want {
			t.Errorf("%v degrees: %s, want %s", c.deg, got, c.want)
		}
		if n := NormalAzimuth(c.deg); !(n >= 0 && n < 360) {
			t.Errorf("%v degrees become %v", c.deg, n)
		}
	}
	count := map[Side]int{}
	for tenth := range 3600 {
		count[SideOf(float64(tenth)/10)]++
	}
	for _, s := range Sides {
		if count[s] != 450 {
			t.Errorf("%s is %d tenths of a degree wide", s, count[s])
		}
	}
}

func TestHeights(t *testing.T) {
	for deg, want := range map[float64]Height{
		-90: HeightLow, 0: HeightLow, 19.999: HeightLow, 20: HeightMiddle, 49.999: HeightMiddle, 50: HeightHigh, 75: HeightHigh, 75.001: HeightOverhead, 90: HeightOverhead,
	} {
		if got := HeightOf(deg); got != want {
			t.Errorf("%v degrees: %s, want %s", deg, got, want)
		}
	}
}

func TestMainLight(t *testing.T) {
	of := func(kinds ...LightKind) (s Setup) {
		for _, k := range kinds {
			s.Lights = append(s.Lights, Light{Kind: k})
		}
		return s
	}
	for want, s := range map[int]Setup{-1: of(LightCard, LightFlag), 0: of(LightWindow, LightLED), 2: of(LightFlag, LightCard, LightLamp, LightFlash)} {
		if got := s.MainLight(); got != want {
			t.Errorf("%+v: %d, want %d", s.Lights, got, want)
		}
	}
	if (Setup{}).MainLight() != -1 {
		t.Error("no light is the main one")
	}
}

// TestAgain: a setup that starts as another shares nothing that could be changed in both.
func TestAgain(t *testing.T) {
	s := Setup{ID: 3, SessionID: 4, AfterFrame: "a", Logged: time.Now(), Subject: "cone", Notes: "wet", Tags: []string{"x"}, Lights: []Light{{Kind: LightLED}}}
	a := s.Again()
	if a.ID != 0 || a.SessionID != 0 || a.AfterFrame != "" || !a.Logged.IsZero() || a.Notes != "" || a.Subject != "cone" {
		t.Errorf("%+v", a)
	}
	a.Tags[0], a.Lights[0].AzimuthDeg = "y", 90
	if s.Tags[0] != "x" || s.Lights[0].AzimuthDeg != 0 {
		t.Error("the first setup changed too")
	}
}

// TestQueryJSON: what is kept of a search names what was asked and nothing else.
func TestQueryJSON(t *testing.T) {
	for want, q := range map[string]SetupQuery{
		`{}`: {Limit: 5, Offset: 6},
		`{"words":"cone","sides":["left"],"mainLight":true,"apertureMax":8,"order":"oldest"}`: {Words: "cone", Sides: []Side{SideLeft}, MainLight: true, ApertureMax: 8, Order: OrderOldest},
	} {
		got, err := json.Marshal(q)
		if err != nil || string(got) != want {
			t.Errorf("%s, %v; want %s", got, err, want)
		}
	}
}

// TestSetupThatCannotBe: numbers without a meaning are refused, those at the edges taken.
func TestSetupThatCannotBe(t *testing.T) {
	v := func(x float64) *float64 { return &x }
	k := func(x int) *int { return &x }
	for _, l := range []Light{
		{Kind: "torch"}, {Kind: LightLED, AzimuthDeg: 360}, {Kind: LightLED, AzimuthDeg: -1}, {Kind: LightLED, AzimuthDeg: math.NaN()}, {Kind: LightLED, ElevationDeg: 90.1},
		{Kind: LightLED, ElevationDeg: math.Inf(-1)}, {Kind: LightLED, DistanceCM: v(0)}, {Kind: LightLED, DistanceCM: v(math.NaN())}, {Kind: LightLED, DistanceCM: v(10001)}, {Kind: LightLED, ColourK: k(999)},
	} {
		if err := (Setup{Lights: []Light{l}}).Validate(); err == nil {
			t.Errorf("%+v is taken", l)
		}
	}
	for _, m := range []float64{0, -1, math.NaN(), math.Inf(1), 101} {
		if err := (Setup{Magnification: v(m)}).Validate(); err == nil {
			t.Errorf("a magnification of %v is taken", m)
		}
	}
	good := Setup{Magnification: v(100), Lights: []Light{
		{Kind: LightLED, AzimuthDeg: math.Nextafter(360, 0), ElevationDeg: 90, DistanceCM: v(0.1), ColourK: k(1000)}, {Kind: LightFlag, ElevationDeg: -90},
	}}
	if err := good.Validate(); err != nil {
		t.Error(err)
	}
}

// TestDiffused: what spreads light by its name, in any case and among other words; a grid or
// a snoot narrows it.
func TestDiffused(t *testing.T) {
	for modifier, want := range map[string]bool{
		"": false, "Diffuser": true, "net curtain": true, "two sheets of tracing paper": true, "grid": false, "snoot, 20 mm": false,
	} {
		if got := (Light{Modifier: modifier}).Diffused(); got != want {
			t.Errorf("%q: %v", modifier, got)
		}
	}
}

func TestSubjectName(t *testing.T) {
	for _, c := range [][3]string{
		{"pine cone", "pine cone", ""}, {"pine cone, whole, upright", "pine cone", "whole, upright"},
		{" pine cone ,wet ", "pine cone", "wet"}, {"", "", ""}, {", wet", ", wet", ""}, {",", ",", ""},
	} {
		if name, part := SubjectName(c[0]); name != c[1] || part != c[2] {
			t.Errorf("%q is %q, %q", c[0], name, part)
		}
	}
}

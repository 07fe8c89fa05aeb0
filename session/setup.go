package session

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Setup is what stood on the table: subject, background, support, lights, lens.
type Setup struct {
	ID        int64
	SessionID int64
	// AfterFrame is the fingerprint of the newest frame when the setup was logged;
	// the setup holds for every frame after it, until the next setup. "" means from
	// the session's first frame.
	AfterFrame string
	Logged     time.Time

	Subject    string
	Background string
	Support    string
	Lens       string
	Notes      string
	Tags       []string
	// Magnification is sensor size over field size; nil when not measured.
	Magnification *float64
	Lights        []Light
}

// LightKind says what a light is.
type LightKind string

// The kinds of light that the drawings know. Card and flag give no light of their
// own: a card throws some back, a flag keeps some off.
const (
	LightLED    LightKind = "LED panel"
	LightFlash  LightKind = "flash"
	LightLamp   LightKind = "lamp"
	LightWindow LightKind = "window"
	LightCard   LightKind = "card"
	LightFlag   LightKind = "flag"
)

// LightKinds lists every kind in the order the screens show them.
var LightKinds = []LightKind{LightLED, LightWindow, LightFlash, LightLamp, LightCard, LightFlag}

// Light is one lamp, flash, window, card or flag of a setup.
type Light struct {
	Kind LightKind
	// AzimuthDeg is where it stands seen from above: 0 at the camera, 90 to the
	// camera's right, 180 behind the subject, 270 to the left; in [0, 360).
	AzimuthDeg float64
	// ElevationDeg is 0 level with the subject, 90 straight above, negative below;
	// in [-90, 90].
	ElevationDeg float64
	// DistanceCM from the subject; nil when not noted.
	DistanceCM *float64
	Modifier   string // "diffuser", "grid", ...
	Power      string // "40 W", "1/8", ...
	// ColourK is the colour temperature in kelvin; nil when not noted.
	ColourK *int
}

// Side is the azimuth in words: eighths, each 45 degrees wide, centred on the word.
type Side string

// The sides, in order of azimuth.
const (
	SideFront      Side = "front"
	SideFrontRight Side = "front-right"
	SideRight      Side = "right"
	SideBackRight  Side = "back-right"
	SideBack       Side = "back"
	SideBackLeft   Side = "back-left"
	SideLeft       Side = "left"
	SideFrontLeft  Side = "front-left"
)

// Sides lists the eight sides clockwise from the camera.
var Sides = []Side{SideFront, SideFrontRight, SideRight, SideBackRight, SideBack, SideBackLeft, SideLeft, SideFrontLeft}

// Height is the elevation in words.
type Height string

// The heights: low below 20 degrees, middle from 20, high from 50, overhead over 75.
const (
	HeightLow      Height = "low"
	HeightMiddle   Height = "middle"
	HeightHigh     Height = "high"
	HeightOverhead Height = "overhead"
)

// Heights lists the heights from the table up.
var Heights = []Height{HeightLow, HeightMiddle, HeightHigh, HeightOverhead}

// NormalAzimuth folds any finite angle into [0, 360).
func NormalAzimuth(deg float64) float64 {
	deg = math.Mod(deg, 360)
	if deg < 0 {
		deg += 360
	}
	if deg >= 360 { // -1e-15 + 360 rounds to 360
		deg = 0
	}
	return deg
}

// SideOf gives the side of an azimuth in degrees. An angle on a border (22.5, 67.5,
// ...) belongs to the side that follows clockwise.
func SideOf(azimuthDeg float64) Side {
	deg := NormalAzimuth(azimuthDeg)
	for i, side := range Sides {
		if deg < 22.5+45*float64(i) { // nothing is added to the angle: it could round up to the border
			return side
		}
	}
	return SideFront
}

// HeightOf gives the height of an elevation in degrees.
func HeightOf(elevationDeg float64) Height {
	switch {
	case elevationDeg < 20:
		return HeightLow
	case elevationDeg < 50:
		return HeightMiddle
	case elevationDeg <= 75:
		return HeightHigh
	}
	return HeightOverhead
}

// SubjectName parts what a subject is from its part or state, written after the first comma:
// "pine cone, upper half" is a picture of "pine cone". Without a comma all of it is the name.
func SubjectName(subject string) (name, part string) {
	name, part, _ = strings.Cut(subject, ",")
	if name = strings.TrimSpace(name); name == "" {
		return strings.TrimSpace(subject), ""
	}
	return name, strings.TrimSpace(part)
}

// diffusing are the words of a modifier that spreads light (common practice).
var diffusing = []string{"diffus", "tracing paper", "softbox", "curtain", "opal", "silk", "frost", "tent"}

// Diffused says of a light that its modifier names something before it that spreads it.
func (l Light) Diffused() bool {
	text := strings.ToLower(l.Modifier)
	return slices.ContainsFunc(diffusing, func(w string) bool { return strings.Contains(text, w) })
}

// Side is where the light stands, in words.
func (l Light) Side() Side { return SideOf(l.AzimuthDeg) }

// Height is how high the light stands, in words.
func (l Light) Height() Height { return HeightOf(l.ElevationDeg) }

// Words describes the light for people and for search, e.g.
// "LED panel, diffuser back-left high 40 cm".
func (l Light) Words() string {
	var b strings.Builder
	b.WriteString(string(l.Kind))
	if l.Modifier != "" {
		b.WriteString(", " + l.Modifier)
	}
	fmt.Fprintf(&b, " %s %s", l.Side(), l.Height())
	if l.DistanceCM != nil {
		fmt.Fprintf(&b, " %.0f cm", *l.DistanceCM)
	}
	if l.Power != "" {
		b.WriteString(" " + l.Power)
	}
	return b.String()
}

// MaxNotes is the longest text, in bytes, that a setup's fields may hold.
const MaxNotes = 20000

// Validate says, in a sentence that wraps ErrInvalid, which value of the setup
// cannot be.
func (s Setup) Validate() error {
	for _, f := range []struct {
		name Text
		text string
	}{
		{Say("subject"), s.Subject}, {Say("background"), s.Background}, {Say("support"), s.Support},
		{Say("lens"), s.Lens}, {Say("notes"), s.Notes}, {Say("tags"), strings.Join(s.Tags, " ")},
	} {
		if len(f.text) > MaxNotes {
			return Refuse("%s is %d bytes long, at most %d are kept", f.name, len(f.text), MaxNotes)
		}
	}
	if m := s.Magnification; m != nil && !(*m > 0 && *m <= 100) {
		return Refuse("a magnification of %g (it is over 0 and at most 100)", *m)
	}
	for i, l := range s.Lights {
		if err := l.Validate(); err != nil {
			return Fail("light %d: %s", i+1, err)
		}
	}
	return nil
}

// Validate says which value of the light cannot be; the error wraps ErrInvalid.
func (l Light) Validate() error {
	known := false
	for _, k := range LightKinds {
		known = known || k == l.Kind
	}
	switch {
	case !known:
		return Refuse("%q is no kind of light", l.Kind)
	case !(l.AzimuthDeg >= 0 && l.AzimuthDeg < 360):
		return Refuse("an azimuth of %g degrees (it is from 0 to below 360)", l.AzimuthDeg)
	case !(l.ElevationDeg >= -90 && l.ElevationDeg <= 90):
		return Refuse("an elevation of %g degrees (it is from -90 to 90)", l.ElevationDeg)
	case l.DistanceCM != nil && !(*l.DistanceCM > 0 && *l.DistanceCM <= 10000):
		return Refuse("a distance of %g cm (it is over 0 and at most 10000)", *l.DistanceCM)
	case l.ColourK != nil && (*l.ColourK < 1000 || *l.ColourK > 40000):
		return Refuse("a colour temperature of %d K (it is from 1000 to 40000)", *l.ColourK)
	case len(l.Modifier) > 200 || len(l.Power) > 200:
		return Refuse("modifier and power hold at most 200 bytes")
	}
	return nil
}

// MainLight is the index of the main light: the first of Lights that gives light of its
// own (a card and a flag do not). It is -1 where there is none. The order of the lights is
// the photographer's: the one that shapes the subject is named first.
func (s Setup) MainLight() int {
	for i, l := range s.Lights {
		if l.Kind != LightCard && l.Kind != LightFlag {
			return i
		}
	}
	return -1
}

// Again gives a setup to log anew that starts as this one: the same table, not yet logged.
// Notes stay behind, since they tell of what was seen that day.
func (s Setup) Again() Setup {
	s.ID, s.SessionID, s.AfterFrame, s.Logged, s.Notes = 0, 0, "", time.Time{}, ""
	s.Tags, s.Lights = slices.Clone(s.Tags), slices.Clone(s.Lights)
	return s
}

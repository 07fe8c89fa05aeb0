package present

import (
	"fmt"
	"math"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/lighting"
)

// LightFigures is what was measured of a trial's frame, in words and on scales of 0..1.
type LightFigures struct {
	Known       bool
	Shadow      float64
	ShadowWords string // "47 %"
	Highlight   string // "3 %"
	Modelling   float64
	Model       string // "soft"
	Clipped     string // "nothing", "red 1.2 %, green 0.3 %"
	Change      string // against the frame before; "" for the first
}

// modelBounds part the four words for modelling, in stops. They are what a matt ball
// gives (Lambert's law, over an even fill): lit 15 degrees off the camera's axis with the
// fill four stops down, 45 degrees with it two stops down, 90 degrees with it three stops
// down. The last is where the scale ends.
var modelBounds = [4]float64{0.30, 0.65, 1.15, 2.5}

// ModelWords are the words of the scale, from the least modelling.
var ModelWords = []string{words.ModelFlat, words.ModelSoft, words.ModelClear, words.ModelHard}

// LightFiguresOf measures a trial's frame, and what changed since the one before (nil for
// the first). It takes some milliseconds.
func LightFiguresOf(before, f *session.Figures) LightFigures {
	out := LightFigures{ShadowWords: words.ClippedUnknown, Highlight: words.ClippedUnknown, Clipped: words.ClippedUnknown}
	m, ok := lighting.Measure(f)
	if !ok {
		return out
	}
	out.Known = true
	out.Shadow, out.ShadowWords = m.Shadow, Percent(m.Shadow)
	out.Highlight = Percent(m.Highlight)
	out.Modelling, out.Model = modelling(m.Modelling)
	out.Clipped = clippedBy(m.Clipped)
	if c, ok := lighting.Compare(before, f); ok {
		out.Change = change(c)
	}
	return out
}

// modelling gives the place on the scale of words, a quarter a word, and the word.
func modelling(stops float64) (at float64, word string) {
	low := 0.0
	for i, high := range modelBounds {
		if stops < high || i == len(modelBounds)-1 {
			part := min(max((stops-low)/(high-low), 0), 1)
			return (float64(i) + part) / float64(len(modelBounds)), ModelWords[i]
		}
		low = high
	}
	return 1, words.ModelHard
}

// clippedBy names the channels that are clipped.
func clippedBy(c [3]float64) string {
	var out []string
	for i, name := range []string{words.Red, words.Green, words.Blue} {
		if c[i] > 0 {
			out = append(out, name+" "+Percent(c[i]))
		}
	}
	if len(out) == 0 {
		return words.ClippedNothing
	}
	return strings.Join(out, ", ")
}

// change says what changed since the frame before.
func change(c lighting.Change) string {
	bright := words.ChangeSame
	if ev := math.Round(c.ExposureEV*10) / 10; ev != 0 {
		bright = fmt.Sprintf(words.ChangeBrighterF, tenths(math.Abs(ev)))
		if ev < 0 {
			bright = fmt.Sprintf(words.ChangeDarkerF, tenths(math.Abs(ev)))
		}
	}
	return bright + ", " + fmt.Sprintf(words.ChangeMovedF, Percent(c.Moved))
}

// LightHelp are lines of arithmetic for lights being moved: what the move did to the
// light's strength, and how two lights compare. Before are the lights as logged.
func LightHelp(before, lights []session.Light, selected int) []string {
	var out []string
	if selected >= 0 && selected < len(lights) && selected < len(before) {
		a, b := before[selected].DistanceCM, lights[selected].DistanceCM
		if a != nil && b != nil && *a > 0 && *b > 0 && math.Abs(*a-*b) >= 1 {
			ev := lighting.DistanceEV(*a, *b)
			word := words.HelpMoreF
			if ev < 0 {
				word = words.HelpLessF
			}
			out = append(out, fmt.Sprintf(words.HelpDistanceF, Distance(*a), Distance(*b), fmt.Sprintf(word, tenths(math.Abs(ev)))))
		}
	}
	key, fill := -1, -1
	for i, l := range lights {
		switch {
		case l.Kind == session.LightCard || l.Kind == session.LightFlag:
		case key < 0:
			key = i
		case fill < 0:
			fill = i
		}
	}
	if fill < 0 {
		return out
	}
	ev, byPower, ok := lighting.KeyToFill(lights[key], lights[fill])
	if !ok {
		return out
	}
	if ev < 0 {
		key, fill, ev = fill, key, -ev
	}
	r := lighting.RatioOf(ev)
	by := words.HelpByDistance
	if byPower {
		by = words.HelpByPower
	}
	return append(out, fmt.Sprintf(words.HelpRatioF, key+1, fill+1, tenths(r.KeyFill), tenths(r.BothFill), by))
}

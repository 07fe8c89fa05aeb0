package lighting

import (
	"math"
	"strconv"
	"strings"

	"stillbench/session"
)

// DistanceEV is what moving a lamp from one distance to another does to the light that
// arrives, in stops: the inverse square law, E = I/d^2. It holds for lamps that are small
// against their distance, five times at least (common practice); a wide panel close by
// loses less. Both distances in the same unit, over 0.
func DistanceEV(from, to float64) float64 { return 2 * math.Log2(from/to) }

// KeyToFill compares two lights by distance and power: EV is how much more light arrives
// from the key than from the fill, in stops. Power counts where both are told in the same
// way ("40 W", "1/8"); lamps of different kinds are not comparable by power and are compared
// by distance alone, as if of one strength. ok is false without both distances.
func KeyToFill(key, fill session.Light) (ev float64, byPower, ok bool) {
	if key.DistanceCM == nil || fill.DistanceCM == nil || !(*key.DistanceCM > 0 && *fill.DistanceCM > 0) {
		return 0, false, false
	}
	ev = DistanceEV(*fill.DistanceCM, *key.DistanceCM)
	a, unitA := power(key.Power)
	b, unitB := power(fill.Power)
	if key.Kind == fill.Kind && unitA == unitB && a > 0 && b > 0 {
		return ev + math.Log2(a/b), true, true
	}
	return ev, false, true
}

// power reads "40 W", "1/8" or "60 %"; 0 when it is none of them.
func power(text string) (v float64, unit string) {
	text = strings.TrimSpace(strings.ReplaceAll(text, ",", "."))
	i := strings.LastIndexAny(text, "0123456789.")
	number, unit := text[:i+1], strings.ToLower(strings.TrimSpace(text[i+1:]))
	over, under, fraction := strings.Cut(number, "/")
	a, err := strconv.ParseFloat(strings.TrimSpace(over), 64)
	if err != nil || !(a > 0) {
		return 0, ""
	}
	if fraction {
		b, err := strconv.ParseFloat(strings.TrimSpace(under), 64)
		if err != nil || !(b > 0) {
			return 0, ""
		}
		a /= b
	}
	return a, unit
}

// Ratio is how two lights are told as a ratio. There are two conventions, and a figure
// without its convention says nothing.
type Ratio struct {
	// KeyFill is key against fill, each alone: 2^EV to 1.
	KeyFill float64
	// BothFill is where both fall against where the fill alone falls, (key+fill):fill, as
	// cinematographers count: KeyFill+1 to 1.
	BothFill float64
}

// RatioOf gives the ratios of a difference in stops.
func RatioOf(ev float64) Ratio {
	k := math.Exp2(ev)
	return Ratio{KeyFill: k, BothFill: k + 1}
}

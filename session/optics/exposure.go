package optics

import (
	"fmt"
	"math"
	"strconv"
)

// BellowsFactor is how much longer an exposure gets by focusing close, (1 + m/P)². The
// stops are 2·log2(1 + m/P).
func BellowsFactor(m, pupil float64) float64 {
	pupil = orOne(pupil)
	if !(m >= 0) || !positive(pupil) {
		return math.NaN()
	}
	return (1 + m/pupil) * (1 + m/pupil)
}

// PupilFromEffective is the pupil magnification that explains an effective f-number
// found at magnification m, P = m/(Neff/N − 1). NaN unless Neff > N and m > 0.
func PupilFromEffective(m, n, effectiveN float64) float64 {
	if !positive(m) || !positive(n) || !(effectiveN > n) {
		return math.NaN()
	}
	return m / (effectiveN/n - 1)
}

// FNumberValue is APEX Av = log2(N²) (Exif ApertureValue).
func FNumberValue(n float64) float64 { return 2 * math.Log2(n) }

// FNumberOf is the f-number of an APEX Av.
func FNumberOf(av float64) float64 { return math.Exp2(av / 2) }

// TimeValue is APEX Tv = log2(1/t) (Exif ShutterSpeedValue), t in seconds.
func TimeValue(seconds float64) float64 { return -math.Log2(seconds) }

// SecondsOf is the time of an APEX Tv.
func SecondsOf(tv float64) float64 { return math.Exp2(-tv) }

// ExposureValue is Ev = Av + Tv = log2(N²/t).
func ExposureValue(n, seconds float64) float64 { return FNumberValue(n) + TimeValue(seconds) }

// SpeedValue is APEX Sv = log2(S/3.125), 5 at ISO 100.
func SpeedValue(iso float64) float64 { return math.Log2(iso / 3.125) }

// Step is one position of a series: the number engraved, and the number meant.
type Step struct {
	Nominal, Exact float64
}

var (
	thirdStopF = []float64{
		1, 1.1, 1.2, 1.4, 1.6, 1.8, 2, 2.2, 2.5, 2.8, 3.2, 3.5, 4, 4.5, 5, 5.6, 6.3, 7.1, 8, 9, 10, 11, 13, 14, 16, 18, 20, 22, 25, 29, 32,
	}
	halfStopF = []float64{
		1, 1.2, 1.4, 1.7, 2, 2.4, 2.8, 3.3, 4, 4.8, 5.6, 6.7, 8, 9.5, 11, 13, 16, 19, 22,
	}
	// From 1 s on the seconds are engraved, below 0.3 s their reciprocals.
	thirdStopSlow = []float64{
		30, 25, 20, 15, 13, 10, 8, 6, 5, 4, 3.2, 2.5, 2, 1.6, 1.3, 1, 0.8, 0.6, 0.5, 0.4, 0.3,
	}
	thirdStopFast = []float64{
		4, 5, 6, 8, 10, 13, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 160, 200, 250, 320, 400, 500, 640, 800, 1000, 1250, 1600, 2000, 2500, 3200, 4000, 5000, 6400, 8000,
	}
	halfStopSlow = []float64{30, 20, 15, 10, 8, 6, 4, 3, 2, 1.5, 1, 0.7, 0.5}
	halfStopFast = []float64{
		3, 4, 6, 8, 10, 15, 20, 30, 45, 60, 90, 125, 180, 250, 350, 500, 750, 1000, 1500, 2000, 3000, 4000, 6000, 8000,
	}
)

// FNumbers is the series of f-numbers with so many steps a stop: 3, f/1 to f/32, or 2,
// f/1 to f/22. The exact numbers are 2^(k/6) and 2^(k/4). ISO 517 standardizes the
// markings; the nominal numbers here are those that lenses and cameras show (common
// practice).
func FNumbers(stepsPerStop int) []Step {
	nominal := thirdStopF
	if stepsPerStop == 2 {
		nominal = halfStopF
	} else if stepsPerStop != 3 {
		panic("optics: a series has 2 or 3 steps a stop")
	}
	out := make([]Step, len(nominal))
	for k, n := range nominal {
		out[k] = Step{n, math.Exp2(float64(k) / float64(2*stepsPerStop))}
	}
	return out
}

// ShutterTimes is the series of exposure times in seconds with so many steps a stop, 3
// or 2, from 30 s (exactly 32) to 1/8000 s (exactly 1/8192). ISO 516 standardizes the
// markings; the nominal times here are those that cameras show (common practice; the
// half stops and the times beyond 1 s from memory).
func ShutterTimes(stepsPerStop int) []Step {
	slow, fast := thirdStopSlow, thirdStopFast
	if stepsPerStop == 2 {
		slow, fast = halfStopSlow, halfStopFast
	} else if stepsPerStop != 3 {
		panic("optics: a series has 2 or 3 steps a stop")
	}
	out := make([]Step, 0, len(slow)+len(fast))
	exact := func() float64 { return math.Exp2(5 - float64(len(out))/float64(stepsPerStop)) }
	for _, t := range slow {
		out = append(out, Step{t, exact()})
	}
	for _, r := range fast {
		out = append(out, Step{1 / r, exact()})
	}
	return out
}

// ExactFNumber is the number that a marked one stands for (11 stands for 11.314): the
// step of the third-stop or half-stop series that is marked so, or else n itself.
func ExactFNumber(n float64) float64 {
	for _, steps := range []int{3, 2} {
		for _, s := range FNumbers(steps) {
			if math.Abs(s.Nominal-n) < 1e-9 {
				return s.Exact
			}
		}
	}
	return n
}

// NearestShutter is the third-stop time nearest to so many seconds, in stops. Outside
// the series it gives seconds back: longer times are held by hand (bulb).
func NearestShutter(seconds float64) float64 {
	series := ShutterTimes(3)
	k := math.Round(3 * (5 - math.Log2(seconds)))
	if !(k >= 0 && k < float64(len(series))) {
		return seconds
	}
	return series[int(k)].Nominal
}

// roundDenominators are what cameras show for the speeds whose exact value is a power of
// two (common practice).
var roundDenominators = map[int]int{16: 15, 32: 30, 64: 60, 128: 125, 256: 250, 512: 500, 1024: 1000, 2048: 2000, 4096: 4000, 8192: 8000}

// ShutterWords is an exposure time as cameras show it: "1/60 s", "0.3 s", "2.5 s",
// "4 min 20 s".
func ShutterWords(seconds float64) string {
	switch {
	case seconds < 0.29:
		n := int(math.Round(1 / seconds))
		if round, ok := roundDenominators[n]; ok {
			n = round
		}
		return fmt.Sprintf("1/%d s", n)
	case seconds < 10:
		return strconv.FormatFloat(math.Round(seconds*10)/10, 'f', -1, 64) + " s"
	case seconds < 59.5:
		return fmt.Sprintf("%.0f s", seconds)
	}
	whole := int(math.Round(seconds))
	return fmt.Sprintf("%d min %d s", whole/60, whole%60)
}

// EquivalentShutter is the time at f-number n that exposes as `seconds` did at f-number
// knownN, with the exact numbers that the marks stand for: t·(n/knownN)². The known
// exposure must have been measured through the lens at the same magnification: it holds
// the bellows loss already. For one measured elsewhere see ShutterAtMagnification.
func EquivalentShutter(seconds, knownN, n float64) float64 {
	if !positive(seconds) || !positive(knownN) || !positive(n) {
		return math.NaN()
	}
	r := ExactFNumber(n) / ExactFNumber(knownN)
	return seconds * r * r
}

// ShutterAtMagnification carries a good exposure over from magnification fromM (0 for a
// hand-held meter or a far subject) to toM: t·((1 + toM/P)/(1 + fromM/P))².
func ShutterAtMagnification(seconds, fromM, toM, pupil float64) float64 {
	return seconds * BellowsFactor(toM, pupil) / BellowsFactor(fromM, pupil)
}

// RoundStops rounds stops to the nearest of so many steps a stop.
func RoundStops(stops float64, stepsPerStop int) float64 {
	n := float64(stepsPerStop)
	return math.Round(stops*n) / n
}

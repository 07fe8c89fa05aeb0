package present

import (
	"strings"
	"testing"

	"stillbench/session"
)

func TestWordsOfModelling(t *testing.T) {
	for _, c := range []struct {
		stops float64
		word  string
		lo    float64
	}{{0, "flat", 0}, {0.29, "flat", 0.2}, {0.31, "soft", 0.25}, {0.9, "clear", 0.5}, {1.2, "hard", 0.75}, {9, "hard", 1}} {
		at, word := modelling(c.stops)
		if word != c.word || at < c.lo || at > min(c.lo+0.25, 1) {
			t.Errorf("%g stops: %s at %.2f", c.stops, word, at)
		}
	}
}

func TestClippingByChannel(t *testing.T) {
	if got := clippedBy([3]float64{0.012, 0, 0.0004}); got != "red 1.2 %, blue under 0.1 %" {
		t.Errorf("%q", got)
	}
	if got := clippedBy([3]float64{}); got != "nothing" {
		t.Errorf("%q", got)
	}
}

func TestLightFiguresOfNothing(t *testing.T) {
	if got := LightFiguresOf(nil, nil); got.Known || got.Clipped != "not measured" {
		t.Errorf("%+v", got)
	}
}

func TestLightHelp(t *testing.T) {
	led := func(cm float64) session.Light { return session.Light{Kind: session.LightLED, DistanceCM: &cm} }
	card := session.Light{Kind: session.LightCard}
	// 40 to 80 cm is two stops; 20 against 40 cm is 4:1, and 5:1 where both fall.
	if got := strings.Join(LightHelp([]session.Light{led(40)}, []session.Light{led(80)}, 0), "|"); got != "40 cm → 80 cm: 2 stops less light (inverse square)." {
		t.Errorf("%q", got)
	}
	two := []session.Light{led(40), card, led(20)}
	if got := strings.Join(LightHelp(two, two, 0), "|"); got != "Light 3 to light 1 is 4:1, each alone; where both fall 5:1. By distance, as if of one strength." {
		t.Errorf("%q", got)
	}
	if got := LightHelp(nil, []session.Light{led(40), card}, 0); len(got) != 0 {
		t.Errorf("%q", got)
	}
}

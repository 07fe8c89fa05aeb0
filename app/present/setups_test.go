package present

import (
	"testing"
	"time"

	"stillbench/session"
)

func TestTwoSetupsCompared(t *testing.T) {
	now := time.Date(2026, 5, 21, 14, 0, 0, 0, time.UTC)
	cm, m := 40.0, 0.5
	found := func(id int64, kind session.LightKind, n float64) session.FoundSetup {
		return session.FoundSetup{Setup: session.Setup{ID: id, Magnification: &m, Lights: []session.Light{
			{Kind: kind, AzimuthDeg: 225, ElevationDeg: 55, DistanceCM: &cm},
		}}, FNumber: []float64{n}, Frames: 9}
	}
	a, b := card(found(3, session.LightLED, 8), now), card(found(4, session.LightFlash, 8), now)
	rows := Compare(a, b)
	if rows[0].Name != "light" || !rows[0].Differs || rows[0].A != "LED panel" || rows[0].B != "Flash" {
		t.Errorf("the first row is %+v", rows[0])
	}
	for _, r := range rows[1:] {
		if r.Differs || r.A == "" {
			t.Errorf("row %+v", r)
		}
	}
	if got := PairSentence(a, b); got != "Setup 3 and Setup 4 differ in light." {
		t.Errorf("%q", got)
	}
	if got := PairSentence(a, a); got != "Setup 3 and Setup 3 are alike in all that was noted." {
		t.Errorf("%q", got)
	}
	c := card(found(5, session.LightFlash, 11), now)
	if got := PairSentence(a, c); got != "Setup 3 and Setup 5 differ in light and aperture." {
		t.Errorf("%q", got)
	}
}

func TestWhatCameOfASetup(t *testing.T) {
	for _, c := range []struct {
		stacks, blended int
		want            string
	}{{0, 0, ""}, {1, 0, "1 stack"}, {3, 1, "3 stacks, 1 blended"}} {
		if got := came(session.FoundSetup{Stacks: c.stacks, Blended: c.blended}); got != c.want {
			t.Errorf("%d stacks, %d blended: %q", c.stacks, c.blended, got)
		}
	}
}

func TestCardSaysTheMostUrgentVerdict(t *testing.T) {
	for want, verdicts := range map[string][]session.Verdict{
		"":              nil,
		"covered":       {session.VerdictCovered, session.VerdictCovered},
		"1 of 3: a gap": {session.VerdictCovered, session.VerdictGap, session.VerdictFarOpen},
	} {
		var c Card
		c.Judge(verdicts)
		if c.State != want || (c.Verdict == "") != (want == "") {
			t.Errorf("of %v the card says %q (%s), want %q", verdicts, c.State, c.Verdict, want)
		}
	}
}

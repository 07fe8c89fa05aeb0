package present

import (
	"testing"

	"stillbench/session"
)

// TestVerdictsHelp: every verdict is explained, and its drawing shows what its words say.
func TestVerdictsHelp(t *testing.T) {
	seen := map[session.Verdict]VerdictHelp{}
	for _, h := range VerdictsHelp() {
		if h.Name == "" || h.Text == "" || len(h.Ribbon.Bars) == 0 {
			t.Errorf("%s: %+v", h.Verdict, h)
		}
		seen[h.Verdict] = h
	}
	for _, v := range session.Verdicts {
		if _, ok := seen[v]; !ok {
			t.Errorf("%s is not explained", v)
		}
	}
	cover := func(v session.Verdict) int { return len(seen[v].Ribbon.Cover) }
	switch {
	case cover(session.VerdictCovered) != 1 || len(seen[session.VerdictCovered].Ribbon.Gaps) > 0:
		t.Error("the covered stack has a gap")
	case cover(session.VerdictGap) != 2 || len(seen[session.VerdictGap].Ribbon.Gaps) != 1:
		t.Error("the gap is not drawn")
	case cover(session.VerdictBlurred) != 2 || !seen[session.VerdictBlurred].Ribbon.Bars[3].Blurred:
		t.Error("the blurred frame is not drawn")
	case seen[session.VerdictNearOpen].Ribbon.NearEnd != session.EndOpen || seen[session.VerdictFarOpen].Ribbon.FarEnd != session.EndOpen:
		t.Error("an open end is not drawn")
	case !seen[session.VerdictUnsteady].Ribbon.Bars[6].Light || seen[session.VerdictUnsteady].Ribbon.Bars[0].Light:
		t.Error("the change of light is not drawn")
	case seen[session.VerdictUndecided].Ribbon.Measured:
		t.Error("what cannot be told is drawn as measured")
	case len(seen[session.VerdictTooFew].Ribbon.Bars) != 1:
		t.Error("too few frames are many")
	}
}

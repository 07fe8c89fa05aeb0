package present

import (
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
)

func TestAskingAboutTheLight(t *testing.T) {
	moved := &session.Seam{Reasons: []session.Reason{{Rule: session.RuleAfterMarker}, {Rule: session.RuleLightMoved}}}
	plain := &session.Seam{Reasons: []session.Reason{{Rule: session.RuleMarker}}}
	group := func(kind session.Kind, frame string, seam *session.Seam, setup int64) session.Group {
		return session.Group{Kind: kind, Frames: []string{frame}, Seam: seam, SetupID: setup}
	}
	for _, c := range []struct {
		name   string
		groups []session.Group
		asks   bool
	}{
		{"nothing moved", []session.Group{group("stack", "a", nil, 1), group("stack", "b", plain, 1)}, false},
		{"it moved", []session.Group{group("stack", "a", nil, 1), group("stack", "b", moved, 1)}, true},
		{"a setup was logged", []session.Group{group("stack", "a", nil, 1), group("stack", "b", moved, 2)}, false},
		{"before the marker", []session.Group{group("stack", "a", nil, 1), group("marker", "m", moved, 1), group("stack", "b", plain, 1)}, true},
		{"only the marker yet", []session.Group{group("stack", "a", nil, 1), group("marker", "b", moved, 1)}, false},
		{"the first of all", []session.Group{group("stack", "b", moved, 1)}, false},
	} {
		s := &desk.Snapshot{Groups: c.groups, Newest: "b", Setups: []session.Setup{{ID: 1}}, Frames: []session.Frame{{Name: "day/A0012.JPG", Fingerprint: "b"}}}
		got, ok := AskLightMoved(s)
		if ok != c.asks || ok && (got.Frame != "b" || got.Words != "The light moved at A0012. Log it?") {
			t.Errorf("%s: %+v, %v", c.name, got, ok)
		}
		s.Setups = nil
		if _, ok := AskLightMoved(s); ok {
			t.Errorf("%s: asks though no setup was ever logged", c.name)
		}
	}
}

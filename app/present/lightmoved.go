package present

import (
	"fmt"
	"path/filepath"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// LightMoved is what the Table asks when the program cut because the light moved and no
// new setup was logged.
type LightMoved struct {
	Frame string // fingerprint of the first frame in the new light
	Words string // "The light moved at A0012. Log it?"
}

// AskLightMoved looks at the group that holds the newest frame; ok is false when there is
// nothing to ask. Of groups before it nothing is asked any more.
func AskLightMoved(s *desk.Snapshot) (ask LightMoved, ok bool) {
	newest := s.GroupOf(s.Newest)
	if newest < 1 || len(s.Setups) == 0 || s.Groups[newest].Kind == session.KindMarker {
		return ask, false
	}
	// The seam that tells of the light may lie before the marker that the group follows.
	at := newest
	for at > 1 && !movedLight(s.Groups[at].Seam) && s.Groups[at-1].Kind == session.KindMarker {
		at--
	}
	if !movedLight(s.Groups[at].Seam) {
		return ask, false
	}
	before := at - 1
	for before > 0 && s.Groups[before].Kind == session.KindMarker {
		before--
	}
	f, found := s.Frame(s.Groups[newest].Frames[0])
	if !found || s.Groups[newest].SetupID != s.Groups[before].SetupID {
		return ask, false
	}
	name := strings.TrimSuffix(filepath.Base(f.Name), filepath.Ext(f.Name))
	return LightMoved{Frame: f.Fingerprint, Words: fmt.Sprintf(words.AskLightMovedF, name)}, true
}

func movedLight(s *session.Seam) bool {
	if s == nil {
		return false
	}
	for _, r := range s.Reasons {
		if r.Rule == session.RuleLightMoved {
			return true
		}
	}
	return false
}

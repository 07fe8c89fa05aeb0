package present

import (
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
)

// Seam is the place between two groups in words.
type Seam struct {
	Strongest string // stands in bold
	Others    string // after it, "" when there are none
	ByHand    bool
}

// SeamOf puts a seam into words; a nil seam gives the zero Seam. After a marker's own
// row it need not be said that the group follows one.
func SeamOf(s *session.Seam, afterMarker bool) Seam {
	var out Seam
	if s == nil {
		return out
	}
	var texts []string
	for _, r := range s.Reasons {
		if afterMarker && r.Rule == session.RuleAfterMarker {
			continue
		}
		if r.Rule == session.RuleByHand {
			out.ByHand = true
		}
		texts = append(texts, reason(r))
	}
	if len(texts) == 0 {
		return out
	}
	out.Strongest, out.Others = texts[0], strings.Join(texts[1:], ", ")
	return out
}

// reason says why the program cut, as short as a seam can be read.
func reason(r session.Reason) string {
	switch r.Rule {
	case session.RuleMarker:
		return words.ReasonMarker
	case session.RuleAfterMarker:
		return words.ReasonAfterMarker
	case session.RuleByHand:
		return words.ReasonByHand
	}
	if r.Detail.Form != "" {
		return Said(r.Detail)
	}
	switch r.Rule {
	case session.RuleGap:
		return words.ReasonGap
	case session.RuleTurned:
		return words.ReasonTurned
	case session.RuleSettings:
		return words.ReasonSettings
	case session.RuleCameraMoved:
		return words.ReasonCameraMoved
	case session.RuleLightMoved:
		return words.ReasonLightMoved
	}
	return string(r.Rule)
}

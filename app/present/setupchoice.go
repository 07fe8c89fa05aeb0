package present

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// SetupChoice is a setup of the session that a group can be put under.
type SetupChoice struct {
	ID    int64
	Key   string // "A"
	Words string // "setup 9"
	Name  string // "9 shell on sand"
}

// mostChoices is how many setups have a key: one row of them below the place.
const mostChoices = 6

// SetupChoices lists the newest setups of the session but for the one that the group was
// shot under, newest first.
func SetupChoices(s *desk.Snapshot, groupID int64) []SetupChoice {
	own := setupOfGroup(s, groupID)
	var out []SetupChoice
	for _, u := range slices.Backward(s.Setups) {
		if u.ID != own && len(out) < mostChoices {
			out = append(out, SetupChoice{ID: u.ID, Key: string(rune('A' + len(out))), Words: lowerFirst(fmt.Sprintf(words.SetupF, u.ID)), Name: setupName(u)})
		}
	}
	return out
}

// SetupQuestion asks under which setup a group was shot, and says which it is put under now
// and what the others are.
func SetupQuestion(s *desk.Snapshot, groupID int64) Sentence {
	out := Sentence{Mark: MarkTrial, Headline: words.WhichSetup, WhatToDo: words.WhichSetupNone}
	if u, ok := s.Setup(setupOfGroup(s, groupID)); ok {
		out.WhatToDo = fmt.Sprintf(words.WhichSetupF, setupName(u))
	}
	var others []string
	for _, c := range SetupChoices(s, groupID) {
		others = append(others, c.Name)
	}
	if len(others) == 0 {
		out.WhatToDo += " " + words.WhichSetupOnly
	} else {
		out.WhatToDo += " " + fmt.Sprintf(words.WhichSetupOthersF, strings.Join(others, "; "))
	}
	return out
}

func setupOfGroup(s *desk.Snapshot, groupID int64) int64 {
	if i := slices.IndexFunc(s.Groups, func(g session.Group) bool { return g.ID == groupID }); i >= 0 {
		return s.Groups[i].SetupID
	}
	return 0
}

// setupName is "9 shell on sand", or with its first light where it has no subject.
func setupName(u session.Setup) string {
	name := strconv.FormatInt(u.ID, 10)
	if u.Subject != "" {
		return name + " " + u.Subject
	}
	if l := Lights(u.Lights); len(l) > 0 {
		return name + " " + lowerFirst(l[0].Title)
	}
	return name
}

package table

import (
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// recalled is the last light trial, called back on the Table. It stays until the
// photographer takes it away or a frame comes that is no test: what is said of that one
// must be seen.
type recalled struct {
	on     bool
	newest string // the frame that had arrived last
}

// follow takes in a snapshot, and has the trial shown as long as it stays.
func (r *recalled) follow(s *desk.Snapshot, t *present.Table) {
	if !r.on {
		return
	}
	if s.Newest != r.newest {
		r.newest = s.Newest
		if g := s.GroupOf(s.Newest); g < 0 || s.Groups[g].Kind != session.KindTest {
			r.on = false
			return
		}
	}
	t.ShowTrial(s)
}

// recall shows the last light trial, or takes it away again.
func (p *Place) recall() {
	p.recalled = recalled{on: !p.recalled.on, newest: p.snap.Newest}
	p.Show(p.snap)
	p.h.Say()
}

// recallActions is the key that does so, where there is a trial that does not stand there
// of itself.
func (p *Place) recallActions() []place.Action {
	switch {
	case p.recalled.on:
		return []place.Action{
			place.InMargin(place.Does(words.TrialAway, p.recall, "V")),
			place.Does("", p.recall, place.KeyEscape),
		}
	case p.view.Mode == present.TableFrame && present.HasTrial(p.snap):
		return []place.Action{place.InMargin(place.Does(words.TrialRecall, p.recall, "V"))}
	}
	return nil
}

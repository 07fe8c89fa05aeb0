package present

import "stillbench/session/desk"

// HasTrial tells whether a light trial was shot in the session, of two frames or more.
func HasTrial(s *desk.Snapshot) bool { return len(lastTrial(s)) > 0 }

// ShowTrial has the Table show the session's last light trial, whatever came after it.
func (t *Table) ShowTrial(s *desk.Snapshot) {
	trials := lastTrial(s)
	if len(trials) == 0 {
		return
	}
	t.Mode, t.Trials, t.Sentence = TableTrials, trials, trialSentence(trials)
}

// lastTrial gives the last test frames that stand together, nil when there are not two.
func lastTrial(s *desk.Snapshot) []Trial {
	b := open(s)
	for i := len(s.Groups) - 1; i >= 0; i-- {
		if t := b.trials(i); len(t) >= 2 {
			return t
		}
	}
	return nil
}

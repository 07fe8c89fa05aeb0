package table

// lookClosely looks closely at the newest frame, from its middle.
func (p *Place) lookClosely() {
	if g := p.snap.GroupOf(p.view.Frame.Fingerprint); g >= 0 {
		p.h.Closely(p.snap.Groups[g].ID, p.view.Frame.Fingerprint, 0.5, 0.5)
	}
}

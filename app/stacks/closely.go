package stacks

// LookedAt shows the frame of the opened group that was looked at closely last, and its spot, in
// shares of the upright picture.
func (p *Place) LookedAt(group int64, frame string, x, y float64) {
	if p.open != group {
		return
	}
	d := p.detail
	d.proof = d.proof && frame == d.current
	d.current, d.x, d.y = frame, x, y
	p.refresh()
}

package table

import (
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// proofShown: the stack's proof stands in place of its newest frame.
func (p *Place) proofShown() bool {
	_, drawing := p.drawing.On()
	return p.proof && !drawing && p.view.Mode == present.TableFrame && p.view.Proof.Key != ""
}

// proofOrNot shows the stack's proof, or its newest frame again. The proof stays in view
// while the stack grows.
func (p *Place) proofOrNot() {
	if !p.proofShown() && p.view.Proof.Key == "" {
		p.proof = false
		p.h.Tell(words.NoProofHere)
		if p.stack() {
			p.h.Tell(words.NoProofYet)
		}
		return
	}
	p.proof = !p.proofShown()
	p.Show(p.snap)
	p.h.Say()
}

// captionOf is what is said of the picture that is shown.
func (p *Place) captionOf() (heading string, lines []string) {
	if !p.proofShown() {
		return p.view.Frame.Heading, p.view.Frame.Lines
	}
	lines = p.view.Proof.Lines
	if n := len(p.view.Frame.Lines); n > 0 {
		lines = append(lines[:len(lines):len(lines)], p.view.Frame.Lines[1:]...) // without the frame's time
	}
	return words.Proof, lines
}

// blendAction blends the stack on the table at full size.
func (p *Place) blendAction() place.Action {
	a := place.Does(words.BlendIt, func() {
		p.h.Blend(p.snap.Groups[p.snap.GroupOf(p.view.Frame.Fingerprint)].ID)
	}, "B")
	a.Off = !p.stack()
	return a
}

// stack: the newest frame is one of a stack.
func (p *Place) stack() bool {
	g := p.snap.GroupOf(p.view.Frame.Fingerprint)
	return g >= 0 && p.snap.Groups[g].Kind == session.KindStack
}

package stacks

import (
	"stillbench/app/place"
	"stillbench/assets/words"
)

// proofShown: the proof stands first in the opened stack, in place of the frame.
func (d *detail) proofShown() bool {
	_, drawing := d.drawing.On()
	return d.proof && !drawing && d.row.Proof.Key != ""
}

// proofOrNot shows the proof, or the frame stepped to.
func (d *detail) proofOrNot() {
	if d.row.Proof.Key == "" {
		d.h.Tell(words.NoProofYet)
		return
	}
	d.showProof(!d.proofShown())
}

func (d *detail) showProof(on bool) {
	d.proof = on
	if on {
		d.traced = false
	}
	d.set(d.row)
	d.load()
	d.h.Say()
}

// drawOn lets the wanted area be drawn on a frame, which takes the place of the proof.
func (d *detail) drawOn(frame string) {
	d.showProof(false)
	d.drawing.Begin(d.p.snap, frame)
}

// proofActions are the keys of a stack's proof, and of its blend.
func (d *detail) proofActions() []place.Action {
	word := words.ShowProof
	if d.proofShown() {
		word = words.ShowFrame
	}
	return []place.Action{
		place.Does(word, d.proofOrNot, "P"),
		place.Does(words.BlendIt, func() { d.h.Blend(d.row.GroupID) }, "B"),
	}
}

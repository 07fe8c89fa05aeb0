// Package plan is the place before the shot: which aperture, how many frames, how far
// apart.
package plan

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session/desk"
)

// Place is the place Plan.
type Place struct{ body *fyne.Container }

// New makes the place.
func New(*place.Host) *Place { return &Place{body: container.NewWithoutLayout()} }

// Body is the drawing.
func (p *Place) Body() fyne.CanvasObject { return p.body }

// Show has nothing to take from a session.
func (p *Place) Show(*desk.Snapshot) {}

// Sentence says what will stand here.
func (p *Place) Sentence() present.Sentence {
	return present.Sentence{Mark: present.MarkPlan, Headline: words.PlanEmpty, WhatToDo: words.PlanEmptyAdvice}
}

// Actions are none.
func (p *Place) Actions() []place.Action { return nil }

// KeysBelow: the margin is free.
func (p *Place) KeysBelow() bool { return false }

// Leave has nothing to end.
func (p *Place) Leave() {}

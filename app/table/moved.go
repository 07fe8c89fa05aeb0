package table

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// The Table asks once, beside the key that logs a setup, when the program saw that the
// light moved and nothing was logged. What was answered is remembered by the frame.

// prefAsked names the preference that holds the frames about which was asked.
const (
	prefAsked = "light.asked"
	keepAsked = 40
)

// ask gives the question that is open; ok is false when none is.
func (p *Place) ask() (present.LightMoved, bool) {
	a, ok := present.AskLightMoved(p.snap)
	if !ok || slices.Contains(fyne.CurrentApp().Preferences().StringList(prefAsked), a.Frame) {
		return present.LightMoved{}, false
	}
	return a, true
}

// answered closes the question for good and gives the frame that it was about, "" for none.
func (p *Place) answered() string {
	a, ok := p.ask()
	if !ok {
		return ""
	}
	prefs := fyne.CurrentApp().Preferences()
	list := append(prefs.StringList(prefAsked), a.Frame)
	prefs.SetStringList(prefAsked, list[max(0, len(list)-keepAsked):])
	return a.Frame
}

// notMoved answers that the setup stays.
func (p *Place) notMoved() {
	p.answered()
	p.refresh()
	p.h.Say()
}

// logFrom logs a setup for the frames from the given one on.
func logFrom(ctx context.Context, d place.Desk, s session.Setup, frame string) error {
	if err := d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s}); err != nil || frame == "" {
		return err
	}
	setups := d.Snapshot().Setups
	if len(setups) == 0 {
		return nil
	}
	return d.Edit(ctx, session.Edit{Kind: session.EditUseSetup, Frame: frame, Setup: &session.Setup{ID: setups[len(setups)-1].ID}})
}

// lightHelp is the arithmetic beside lights that are being moved.
func (p *Place) lightHelp(lights []session.Light, selected int) []string {
	return present.LightHelp(p.view.Setup.Lights, lights, selected)
}

// typeWhy asks why a trial's light was taken; what is typed goes under the setup's notes.
// Nothing need be typed.
func (p *Place) typeWhy(t present.Trial) {
	name := t.Where[len(t.Where)-1] // its frame and time
	p.open(words.WhyHint, "", func(s *session.Setup, text string) {
		s.Notes = strings.TrimSpace(s.Notes + "\n" + fmt.Sprintf(words.WhyF, name, text))
	})
}

// typeNumbers has the lights being moved written down as text.
func (p *Place) typeNumbers() {
	lights := p.draft.lights
	p.leaveDraft()
	p.h.WriteDown(lights)
}

package place

import (
	"context"
	"slices"

	"fyne.io/fyne/v2"

	"stillbench/app/parts"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Drawing has the wanted area of a stack drawn on a frame of it, in any place that shows
// one whole.
type Drawing struct {
	h     *Host
	frame *parts.FrameView
	// changed has the place shown anew: drawing began or ended, or its keys do something else now.
	changed func()

	on          bool
	fingerprint string
	lie         present.Lie
	was         parts.Outline
}

// NewDrawing draws on a frame view.
func NewDrawing(h *Host, frame *parts.FrameView, changed func()) *Drawing {
	d := &Drawing{h: h, frame: frame, changed: changed}
	frame.OnWanted = d.keep
	frame.OnCancel = d.End
	frame.OnKey, frame.OnRune = h.Key, h.Rune
	return d
}

// On tells whether the area is being drawn, and on which frame.
func (d *Drawing) On() (fingerprint string, on bool) { return d.fingerprint, d.on }

// Show shows the wanted area of the stack that a frame belongs to.
func (d *Drawing) Show(s *desk.Snapshot, fingerprint string) {
	if d.on {
		return // what is being drawn stays as it is
	}
	d.frame.Wanted = nil
	if g := s.GroupOf(fingerprint); g >= 0 {
		d.frame.Wanted = present.LieOf(s, fingerprint).Shown(s.Wanted[s.Groups[g].ID])
	}
}

// Begin lets the area be drawn on a frame of a stack.
func (d *Drawing) Begin(s *desk.Snapshot, fingerprint string) {
	if !d.stack(s, fingerprint) {
		return
	}
	d.Show(s, fingerprint)
	d.on, d.fingerprint, d.lie = true, fingerprint, present.LieOf(s, fingerprint)
	d.frame.Draw, d.was = true, d.frame.Wanted
	d.frame.Refresh()
	d.changed()
}

// All wants all of the picture of the stack that a frame belongs to.
func (d *Drawing) All(s *desk.Snapshot, fingerprint string) {
	switch {
	case !d.stack(s, fingerprint):
	case len(s.Wanted[s.Groups[s.GroupOf(fingerprint)].ID]) == 0:
		d.h.Tell(words.WantedAlready)
	default:
		d.edit(fingerprint, nil)
		d.h.Tell(words.WantedAll)
	}
}

func (d *Drawing) stack(s *desk.Snapshot, fingerprint string) bool {
	g := s.GroupOf(fingerprint)
	if g < 0 || s.Groups[g].Kind != session.KindStack {
		d.h.Tell(words.WantedNoStack)
		return false
	}
	return true
}

// End leaves the area as it was.
func (d *Drawing) End() {
	if !d.on {
		return
	}
	d.on, d.frame.Draw, d.frame.Free = false, false, false
	d.frame.Wanted = d.was
	d.frame.GiveUp()
	d.h.Focus(nil)
	d.changed()
}

// keep takes in what was drawn.
func (d *Drawing) keep(o parts.Outline) {
	if !d.on {
		return
	}
	if !slices.Equal(o, d.was) {
		d.edit(d.fingerprint, d.lie.Area(o))
		d.was = o
	}
	d.End()
}

func (d *Drawing) edit(fingerprint string, a session.Area) {
	d.h.Run(func(ctx context.Context, desk Desk) error {
		return desk.Edit(ctx, session.Edit{Kind: session.EditWanted, Frame: fingerprint, Area: a})
	})
}

// Sentence says what to do while drawing.
func (d *Drawing) Sentence() present.Sentence {
	_, corners := d.frame.Corners()
	return present.DrawSentence(d.frame.Free, corners)
}

var arrows = map[Key]fyne.KeyName{KeyLeft: fyne.KeyLeft, KeyRight: fyne.KeyRight, KeyUp: fyne.KeyUp, KeyDown: fyne.KeyDown}

// Actions are the keys while drawing.
func (d *Drawing) Actions() []Action {
	n, corners := d.frame.Corners()
	all := InMargin(Does(words.DrawAll, func() { d.keep(nil) }, KeyDelete))
	if corners {
		all = CornerBack(d.frame, d.changed)
	}
	return append([]Action{
		{Keys: []Key{KeyEnter}, Word: words.DrawKeep, Do: d.frame.Keep, Margin: true, Strong: true, Off: corners && n < 3},
		InMargin(Does(words.DrawLeave, d.End, KeyEscape, "W")),
		OtherForm(d.frame, "F", d.changed),
		all,
	}, DrawSteps(d.frame, d.changed)...)
}

// OtherForm is the key that changes what dragging draws.
func OtherForm(v *parts.FrameView, key Key, say func()) Action {
	word := words.DrawFree
	if v.Free {
		word = words.DrawRectangle
	}
	return InMargin(Does(word, func() {
		v.Free = !v.Free
		say()
	}, key))
}

// CornerBack is the key that takes the last corner of an outline back.
func CornerBack(v *parts.FrameView, say func()) Action {
	return InMargin(Does(words.DrawCornerBack, func() {
		v.TypedKey(&fyne.KeyEvent{Name: fyne.KeyDelete})
		say()
	}, KeyDelete))
}

// DrawSteps are the keys that draw on a frame view: a rectangle, or an outline corner by corner.
func DrawSteps(v *parts.FrameView, say func()) []Action {
	corner, size := words.DrawCorners, words.DrawSize
	if _, on := v.Corners(); on {
		corner, size = words.DrawCorner, words.DrawPointFine
	}
	out := []Action{
		Does(words.DrawMove, nil, KeyLeft, KeyRight, KeyUp, KeyDown),
		Does(size, nil, "Shift ←→↑↓"),
		InMargin(Does(corner, func() {
			v.Corner()
			say()
		}, KeySpace)),
	}
	for _, k := range []Key{KeyLeft, KeyRight, KeyUp, KeyDown} {
		out = append(out, Does("", func() { v.TypedKey(&fyne.KeyEvent{Name: arrows[k]}) }, k))
	}
	return out
}

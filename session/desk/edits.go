package desk

import (
	"context"
	"errors"
	"slices"
	"strings"

	"stillbench/session"
)

// Edit does what the photographer asked and returns when it is in the log. The
// snapshot that shows it is out by then. An edit that makes no sense (a frame that is
// not there) is an error that says so and changes nothing.
func (d *Desk) Edit(ctx context.Context, e session.Edit) error {
	return d.do(ctx, func() error {
		if d.adrift {
			return session.ErrRestored
		}
		if err := d.prepare(&e); err != nil {
			return err
		}
		kept, err := d.log.AddEdit(ctx, d.session.ID, e)
		if err != nil {
			return err
		}
		d.edits = slices.DeleteFunc(d.edits, func(e session.Edit) bool { return e.Undone })
		d.edits = append(d.edits, kept)
		return d.reloadSetups(ctx, kept)
	})
}

// Undo takes back the last edit that stands; Redo does the last undone one again.
// Both do nothing when there is nothing to do.
func (d *Desk) Undo(ctx context.Context) error {
	return d.do(ctx, func() error { return d.setUndone(ctx, d.lastStanding(), true) })
}

// Redo does the edit again that Undo took back last.
func (d *Desk) Redo(ctx context.Context) error {
	return d.do(ctx, func() error { return d.setUndone(ctx, d.firstUndone(), false) })
}

// do runs fn in the desk's goroutine and, when it changed something, shows it.
func (d *Desk) do(ctx context.Context, fn func() error) error {
	var err error
	if cerr := d.call(ctx, func() {
		err = fn()
		// After a restore, what was asked may be about what is not there any more: the
		// photographer sees what is, and asks again.
		if err == nil || errors.Is(err, session.ErrRestored) && d.reopen(ctx) == nil {
			d.publish(ctx)
		}
	}); cerr != nil {
		return cerr
	}
	return err
}

func (d *Desk) setUndone(ctx context.Context, e *session.Edit, undone bool) error {
	if d.adrift {
		return session.ErrRestored
	}
	if e == nil {
		return nil
	}
	if err := d.log.SetUndone(ctx, d.session.ID, e.ID, undone); err != nil {
		return err
	}
	e.Undone = undone
	return d.reloadSetups(ctx, *e)
}

func (d *Desk) reloadSetups(ctx context.Context, e session.Edit) error {
	if e.Kind != session.EditSetup {
		return nil
	}
	setups, err := d.log.Setups(ctx, d.session.ID)
	if err != nil {
		return err
	}
	d.setups = setups
	return nil
}

// lastStanding is the edit that Undo takes back, nil when there is none. Undone edits
// always stand at the end: a new edit drops them.
func (d *Desk) lastStanding() *session.Edit {
	for i := len(d.edits) - 1; i >= 0; i-- {
		if !d.edits[i].Undone {
			return &d.edits[i]
		}
	}
	return nil
}

// firstUndone is the edit that Redo does again, nil when there is none.
func (d *Desk) firstUndone() *session.Edit {
	for i := range d.edits {
		if d.edits[i].Undone {
			return &d.edits[i]
		}
	}
	return nil
}

// prepare checks an edit against what is on the table, and fills in what follows from
// it: time, words, and where a setup begins.
func (d *Desk) prepare(e *session.Edit) error {
	e.Made = d.o.Now()
	if e.Kind == session.EditSetup {
		return d.prepareSetup(e)
	}
	i := slices.IndexFunc(d.shown.frames, func(f session.Frame) bool { return f.Fingerprint == e.Frame })
	if i < 0 {
		return session.Missing("that frame is not in this session any more")
	}
	name := d.shown.frames[i].Name
	g := slices.IndexFunc(d.groups, func(g session.Group) bool { return slices.Contains(g.Frames, e.Frame) })
	firstOfGroup := g >= 0 && d.groups[g].Frames[0] == e.Frame
	switch e.Kind {
	case session.EditSplit:
		if firstOfGroup {
			return session.Refuse("a group begins at %s already", name)
		}
	case session.EditJoin:
		if !firstOfGroup || g == 0 {
			return session.Refuse("no seam lies before %s", name)
		}
	case session.EditMoveBack:
		if g == 0 {
			return session.Refuse("there is no group before that of %s", name)
		}
	case session.EditMoveOn:
		if g == len(d.groups)-1 {
			return session.Refuse("there is no group after that of %s", name)
		}
	case session.EditMark, session.EditUnmark, session.EditSetAside, session.EditPutBack:
	case session.EditKindOf:
		switch e.Group {
		case session.KindStack, session.KindTest, session.KindSingle, session.KindMarker:
		default:
			return session.Refuse("%q is no kind of group", e.Group)
		}
	case session.EditName:
		e.Text = strings.TrimSpace(e.Text)
		if len(e.Text) > session.MaxNotes {
			return session.Refuse("that name is too long")
		}
	case session.EditWanted, session.EditTouch:
		if g < 0 || d.groups[g].Kind != session.KindStack {
			return session.Refuse("%s is in no stack", name)
		}
		if err := e.Area.Validate(); err != nil {
			return err
		}
		if e.Kind == session.EditTouch {
			if e.Touch == nil {
				return session.Refuse("no touch-up was given")
			}
			if err := e.Touch.Validate(); err != nil {
				return err
			}
		}
	case session.EditUseSetup:
		if e.Setup == nil || !slices.ContainsFunc(d.setups, func(s session.Setup) bool { return s.ID == e.Setup.ID }) {
			return session.Refuse("that setup is not of this session")
		}
	default:
		return session.Refuse("%q is no edit", e.Kind)
	}
	if e.Words == "" {
		e.Words = toldOf(*e, name).String()
	}
	return nil
}

func (d *Desk) prepareSetup(e *session.Edit) error {
	if e.Setup == nil {
		return session.Refuse("no setup was given")
	}
	s := *e.Setup
	s.SessionID = d.session.ID
	s.Lights = slices.Clone(s.Lights)
	s.Tags = slices.Clone(s.Tags)
	e.Before = nil
	if s.ID == 0 {
		s.Logged = e.Made
		// The first setup of a session stood there from the beginning; a later one
		// holds from the next frame on.
		s.AfterFrame = ""
		if len(d.setups) > 0 && s.AfterFrame == "" {
			s.AfterFrame = d.newestFrame()
		}
	} else {
		i := slices.IndexFunc(d.setups, func(o session.Setup) bool { return o.ID == s.ID })
		if i < 0 {
			return session.Missing("setup %d is not of this session", s.ID)
		}
		before := d.setups[i]
		s.AfterFrame, s.Logged = before.AfterFrame, before.Logged
		e.Before = &before
	}
	if err := s.Validate(); err != nil {
		return err
	}
	e.Setup = &s
	if e.Words == "" {
		e.Words = toldOf(*e, "").String()
	}
	return nil
}

// assignSetups ties each group without a setup of its own to the one that stood when
// its first frame was taken: the last whose AfterFrame lies before that frame.
func assignSetups(frames []session.Frame, groups []session.Group, setups []session.Setup, alias func(string) string) {
	place := make(map[string]int, len(frames))
	for i := range frames {
		place[frames[i].Fingerprint] = i
	}
	for i := range groups {
		if groups[i].SetupID != 0 || len(groups[i].Frames) == 0 {
			continue
		}
		first := place[groups[i].Frames[0]]
		for _, s := range setups {
			after, ok := place[alias(s.AfterFrame)]
			if s.AfterFrame == "" || ok && after < first {
				groups[i].SetupID = s.ID
			}
		}
	}
}

// savedAs is what the log holds of a frame once it is saved.
func savedAs(f session.Frame) savedFrame {
	return savedFrame{
		name: f.Name, pairs: strings.Join(f.Pairs, "\x00"), aside: f.SetAside, gone: f.Gone,
		figures: f.Figures != nil, modified: f.Modified,
	}
}

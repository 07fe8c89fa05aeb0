package desk

import (
	"slices"
	"strings"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/watch"
)

// toldOf says what an edit does, of a frame called name.
func toldOf(e session.Edit, name string) session.Text {
	switch e.Kind {
	case session.EditSplit:
		return session.Say("split before %s", name)
	case session.EditJoin:
		return session.Say("join at %s", name)
	case session.EditMark:
		return session.Say("call %s a marker", name)
	case session.EditUnmark:
		return session.Say("call %s no marker", name)
	case session.EditSetAside:
		return session.Say("set %s aside", name)
	case session.EditPutBack:
		return session.Say("put %s back", name)
	case session.EditMoveBack:
		return session.Say("move %s to the group before", name)
	case session.EditMoveOn:
		return session.Say("move %s to the next group", name)
	case session.EditKindOf:
		return session.Say("call the group of %s a %s", name, session.Text{Form: string(e.Group)})
	case session.EditName:
		return session.Say("name the group of %s", name)
	case session.EditUseSetup:
		return session.Say("put the group of %s under another setup", name)
	case session.EditWanted:
		if len(e.Area) == 0 {
			return session.Say("want all of the picture sharp")
		}
		return session.Say("draw the wanted area")
	case session.EditTouch:
		return session.Say("touch up the blend")
	case session.EditSetup:
		switch {
		case e.Before != nil:
			return session.Say("change the setup")
		case e.Setup != nil && e.Setup.AfterFrame != "":
			return session.Say("the light moved")
		}
		return session.Say("log a setup")
	}
	return session.Text{}
}

// told says what an edit of the log does, by the words that were kept with it.
func (d *Desk) told(e session.Edit) session.Text {
	name := ""
	if i := slices.IndexFunc(d.shown.frames, func(f session.Frame) bool { return f.Fingerprint == e.Frame }); i >= 0 {
		name = d.shown.frames[i].Name
	}
	if t := toldOf(e, name); t.String() == e.Words {
		return t
	}
	return session.Text{Form: e.Words} // the photographer's, or the window's
}

// problemOf is what is wrong with a file or folder.
func problemOf(p watch.Problem) session.Text {
	args := []any{p.Name, saidBy(exifread.What(p.Why))}
	return session.Text{Form: p.Form, Args: args[:strings.Count(p.Form, "%s")]}
}

package desk

import (
	"math"
	"reflect"
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

// wantedArea is what must be sharp in a stack, as it lies on one of its frames. That frame
// stays the same: the middle one changes when the stack grows.
type wantedArea struct {
	area session.Area
	on   string // fingerprint
}

// wantedAreas gives the wanted area of every stack that has one: by the newest standing
// edit about one of its frames, so that an area follows its frames when stacks grow, part
// or join. The frames of the edits are those of the groups.
func wantedAreas(groups []session.Group, standing []session.Edit) map[int64]wantedArea {
	areas := map[int64]wantedArea{}
	for i := range groups {
		if groups[i].Kind != session.KindStack {
			continue
		}
		for _, e := range slices.Backward(standing) {
			if e.Kind == session.EditWanted && slices.Contains(groups[i].Frames, e.Frame) {
				if len(e.Area) >= 3 {
					areas[groups[i].ID] = wantedArea{e.Area, e.Frame}
				}
				break
			}
		}
	}
	return areas
}

// onMiddle gives the wanted areas as they lie on the middle frames of the stacks' newest verdicts, and
// as they were drawn where there is none.
func (c *checker) onMiddle(areas map[int64]wantedArea, frames []session.Frame) map[int64]session.Area {
	out := make(map[int64]session.Area, len(areas))
	for id, a := range areas {
		out[id] = a.area
		if c == nil {
			continue
		}
		v, ok := c.found[id]
		switch {
		case !ok:
		case v.options.WantedOn == a.on && reflect.DeepEqual(v.options.Wanted, [][2]float64(a.area)):
			out[id] = v.check.Wanted
		default: // the verdict is on its way
			i := slices.IndexFunc(v.check.Frames, func(f session.FrameCheck) bool { return f.Fingerprint == a.on && f.Aligned })
			k := slices.IndexFunc(frames, func(f session.Frame) bool { return f.Fingerprint == a.on })
			if i >= 0 && k >= 0 {
				out[id] = laidBack(a.area, v.check.Frames[i], frames[k].Meta)
			}
		}
	}
	return out
}

// laidBack gives where an area of a frame lies on its stack's middle frame, kept inside it.
func laidBack(a session.Area, f session.FrameCheck, m session.Meta) session.Area {
	if m.Width == nil || m.Height == nil {
		return a
	}
	w, h := float64(*m.Width), float64(*m.Height)
	back := plane.Similarity{Scale: f.Scale, Turn: f.TurnDegrees * math.Pi / 180, DX: f.Shift[0], DY: f.Shift[1]}.Inverse()
	var out session.Area
	for _, p := range a {
		x, y := back.Apply((p[0]-0.5)*w, (p[1]-0.5)*h)
		out = append(out, [2]float64{min(max(x/w+0.5, 0), 1), min(max(y/h+0.5, 0), 1)})
	}
	return out
}

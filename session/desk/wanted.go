package desk

import (
	"slices"

	"stillbench/session"
)

// wantedAreas gives the wanted area of every stack that has one: by the newest standing
// edit about one of its frames, so that an area follows its frames when stacks grow, part
// or join. The frames of the edits are those of the groups.
func wantedAreas(groups []session.Group, standing []session.Edit) map[int64]session.Area {
	areas := map[int64]session.Area{}
	for i := range groups {
		if groups[i].Kind != session.KindStack {
			continue
		}
		for _, e := range slices.Backward(standing) {
			if e.Kind == session.EditWanted && slices.Contains(groups[i].Frames, e.Frame) {
				if len(e.Area) >= 3 {
					areas[groups[i].ID] = e.Area
				}
				break
			}
		}
	}
	return areas
}

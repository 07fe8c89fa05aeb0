package desk

import (
	"context"
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

// SetCircle sets the largest blur that counts as sharp, as a part of the picture's
// diagonal (0: the default, 1/1500), and has every stack judged by it. It returns when the
// snapshot with the stacks still to be judged is out.
func (d *Desk) SetCircle(part float64) {
	ctx := context.Background()
	// After Close there is nothing left to judge.
	_ = d.call(ctx, func() {
		if part == d.circle || !(part >= 0) {
			return
		}
		d.circle = part
		d.publish(ctx)
	})
}

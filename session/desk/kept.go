package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"stillbench/session"
	"stillbench/session/grouping"
)

// kept is how the session was grouped when it was left. To group thousands of frames takes seconds,
// and as long as nothing has changed that it follows from the answer would be the same.
type kept struct {
	key    string // "" when nothing was kept, or something has changed since
	groups []session.Group
}

// group gives the session's groups under the edits that stand.
func (d *Desk) group(standing []session.Edit) []session.Group {
	if d.kept.key != "" {
		if d.kept.key == groupingKey(d.shown.frames, standing) {
			again := slices.Clone(d.kept.groups)
			grouping.Number(again, d.groups)
			return again
		}
		d.kept = kept{}
	}
	if d.cool != nil {
		d.cool()
		<-d.warm
		d.cool = nil
	}
	d.grouper.Whole = d.whole(d.shown.alias)
	d.found = d.grouper.Group(d.shown.frames, standing, d.groups)
	return slices.Clone(d.found)
}

// warmAfter leaves a window that has just been opened to itself; warmStep is how many frames are
// compared before somebody who needs the grouper can have it.
const (
	warmAfter = 2 * time.Second
	warmStep  = 250
)

// warmUp has the grouper compare the frames of groups that were kept, behind the back of whoever has
// opened the session, so that the first frame that comes, and the first edit, are not what all of
// them have to be compared for.
func (d *Desk) warmUp(ctx context.Context) {
	ctx, d.cool = context.WithCancel(ctx)
	frames, standing, warm := slices.Clone(d.shown.frames), d.standing, make(chan struct{})
	d.warm = warm
	d.grouper.Whole = d.whole(d.shown.alias)
	d.wg.Go(func() {
		defer close(warm)
		select {
		case <-time.After(warmAfter):
		case <-ctx.Done():
		}
		for n := 0; n < len(frames) && ctx.Err() == nil; {
			n = min(n+warmStep, len(frames))
			d.grouper.Group(frames[:n], standing, nil)
		}
	})
}

// keep keeps the groups for the next time; only time is lost where it cannot.
func (d *Desk) keep(ctx context.Context) {
	if d.found == nil || !d.idle() || d.adrift || d.away.Form != "" {
		return
	}
	// The error is passed over: whatever is wrong with the log was said when the groups were saved.
	_ = d.log.SaveGrouping(ctx, d.session.ID, groupingKey(d.shown.frames, d.standing), d.found)
}

// groupingKey names a grouping by all that it follows from: what is known of the frames, and
// what the photographer said.
func groupingKey(frames []session.Frame, standing []session.Edit) string {
	h := sha256.New()
	fmt.Fprintln(h, session.GroupingVersion, session.FiguresVersion)
	out := json.NewEncoder(h) // it fails for no type of ours
	for i := range frames {
		f := &frames[i]
		out.Encode([]any{f.Fingerprint, f.Name, f.Meta, f.SetAside, f.Figures != nil})
		if f.Figures != nil { // of a RAW they may be those of its JPEG
			fmt.Fprintln(h, f.Figures.MeanEV, f.Figures.NoiseSigma, f.Figures.Detail)
		}
	}
	for _, e := range standing {
		var setup int64
		if e.Setup != nil {
			setup = e.Setup.ID
		}
		out.Encode([]any{e.Kind, e.Frame, e.Group, e.Text, setup})
	}
	return hex.EncodeToString(h.Sum(nil)[:20])
}

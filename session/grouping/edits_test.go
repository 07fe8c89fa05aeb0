package grouping

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"stillbench/session"
)

// threeRuns are nine frames without pictures, in three runs of three, four seconds
// apart within a run and ten minutes between: f1 f2 f3 | f4 f5 f6 | f7 f8 f9.
func threeRuns() []session.Frame {
	var out []session.Frame
	for i := range 9 {
		out = append(out, taken(fmt.Sprintf("f%d", i+1), float64(4*i+600*(i/3))))
	}
	return out
}

// shape writes groups as "f1 f2 | f3".
func shape(groups []session.Group) string {
	var out []string
	for _, g := range groups {
		s := strings.Join(g.Frames, " ")
		if g.Kind == session.KindMarker {
			s = "[" + s + "]"
		}
		out = append(out, s)
	}
	return strings.Join(out, " | ")
}

func edit(kind session.EditKind, frame string) session.Edit {
	return session.Edit{Kind: kind, Frame: frame}
}

func TestEditsAreObeyed(t *testing.T) {
	cases := []struct {
		what  string
		edits []session.Edit
		want  string
	}{
		{"none", nil, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"split", []session.Edit{edit(session.EditSplit, "f5")}, "f1 f2 f3 | f4 | f5 f6 | f7 f8 f9"},
		{"join", []session.Edit{edit(session.EditJoin, "f4")}, "f1 f2 f3 f4 f5 f6 | f7 f8 f9"},
		{"a later edit over an earlier one", []session.Edit{edit(session.EditSplit, "f5"), edit(session.EditJoin, "f5")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"mark", []session.Edit{edit(session.EditMark, "f4")}, "f1 f2 f3 | [f4] | f5 f6 | f7 f8 f9"},
		{"mark in the middle", []session.Edit{edit(session.EditMark, "f5")}, "f1 f2 f3 | f4 | [f5] | f6 | f7 f8 f9"},
		{"mark and unmark", []session.Edit{edit(session.EditMark, "f4"), edit(session.EditUnmark, "f4")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"mark the first and the last", []session.Edit{edit(session.EditMark, "f1"), edit(session.EditMark, "f9")}, "[f1] | f2 f3 | f4 f5 f6 | f7 f8 | [f9]"},
		{"mark six in a row", []session.Edit{edit(session.EditMark, "f2"), edit(session.EditMark, "f3"), edit(session.EditMark, "f4"),
			edit(session.EditMark, "f5"), edit(session.EditMark, "f6"), edit(session.EditMark, "f7")}, "f1 | [f2] | [f3] | [f4] | [f5] | [f6] | [f7] | f8 f9"},
		{"move the first back", []session.Edit{edit(session.EditMoveBack, "f4")}, "f1 f2 f3 f4 | f5 f6 | f7 f8 f9"},
		{"move the last on", []session.Edit{edit(session.EditMoveOn, "f6")}, "f1 f2 f3 | f4 f5 | f6 f7 f8 f9"},
		{"move one from the middle back", []session.Edit{edit(session.EditMoveBack, "f5")}, "f1 f2 f3 f5 | f4 f6 | f7 f8 f9"},
		{"move one from the middle on", []session.Edit{edit(session.EditMoveOn, "f5")}, "f1 f2 f3 | f4 f6 | f5 f7 f8 f9"},
		{"move twice", []session.Edit{edit(session.EditMoveBack, "f4"), edit(session.EditMoveBack, "f5")}, "f1 f2 f3 f4 f5 | f6 | f7 f8 f9"},
		{"move there and back", []session.Edit{edit(session.EditMoveBack, "f4"), edit(session.EditMoveOn, "f4")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"move over a marker", []session.Edit{edit(session.EditMark, "f4"), edit(session.EditMoveBack, "f5")}, "f1 f2 f3 f5 | [f4] | f6 | f7 f8 f9"},
		{"move a group of one", []session.Edit{edit(session.EditSplit, "f5"), edit(session.EditMoveBack, "f4")}, "f1 f2 f3 f4 | f5 f6 | f7 f8 f9"},
		{"nowhere to move to", []session.Edit{edit(session.EditMoveBack, "f1"), edit(session.EditMoveOn, "f9")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"join to a marker", []session.Edit{edit(session.EditMark, "f4"), edit(session.EditJoin, "f5")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
		{"of a frame that is not there", []session.Edit{edit(session.EditSplit, "gone"), edit(session.EditMoveOn, "gone")}, "f1 f2 f3 | f4 f5 f6 | f7 f8 f9"},
	}
	for _, c := range cases {
		if got := shape(Group(threeRuns(), c.edits, nil)); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.what, got, c.want)
		}
	}
}

// Whatever arrives later, what was said by hand stays.
func TestEditsHoldWhileFramesArrive(t *testing.T) {
	edits := []session.Edit{edit(session.EditSplit, "f2"), edit(session.EditJoin, "f4"), edit(session.EditMark, "f6")}
	frames := threeRuns()
	for n := 6; n <= 9; n++ {
		got := shape(Group(frames[:n], edits, nil))
		if !strings.HasPrefix(got, "f1 | f2 f3 f4 f5 | [f6]") {
			t.Errorf("with %d frames: %s", n, got)
		}
	}
}

func TestNamesKindsAndSetupsByHand(t *testing.T) {
	edits := []session.Edit{
		{Kind: session.EditName, Frame: "f5", Text: "pine cone"},
		{Kind: session.EditKindOf, Frame: "f5", Group: session.KindTest},
		{Kind: session.EditUseSetup, Frame: "f6", Setup: &session.Setup{ID: 7}},
		{Kind: session.EditName, Frame: "f8", Text: "shell"},
		{Kind: session.EditName, Frame: "f9", Text: "the shell"},
	}
	g := Group(threeRuns(), edits, nil)
	if g[1].Name != "pine cone" || g[1].Kind != session.KindTest || g[1].SetupID != 7 || g[1].Confidence != 1 {
		t.Errorf("second group %+v", g[1])
	}
	if g[2].Name != "the shell" || g[0].Name != "" {
		t.Errorf("names %q, %q", g[0].Name, g[2].Name)
	}
}

// A frame set aside stays in its group's list and counts for nothing.
func TestSetAside(t *testing.T) {
	frames := threeRuns()
	frames[4].SetAside = true
	f := 2.8 // would tear the run if it counted
	frames[4].Meta.FNumber = &f
	if got := shape(Group(frames, nil, nil)); got != "f1 f2 f3 | f4 f5 f6 | f7 f8 f9" {
		t.Errorf("one aside: %s", got)
	}
	for i := range frames {
		frames[i].SetAside = true
	}
	total := 0
	for _, g := range Group(frames, nil, nil) {
		total += len(g.Frames)
	}
	if total != 9 {
		t.Errorf("with all aside %d of 9 frames are in groups", total)
	}
}

// Every frame is in exactly one group, whatever was said: 3000 random sets of edits.
func TestEveryFrameIsInOneGroup(t *testing.T) {
	kinds := []session.EditKind{session.EditSplit, session.EditJoin, session.EditMark, session.EditUnmark,
		session.EditMoveBack, session.EditMoveOn, session.EditKindOf}
	next := uint32(1)
	random := func(n int) int { next = next*1664525 + 1013904223; return int(next>>8) % n }
	for range 3000 {
		frames := threeRuns()
		var edits []session.Edit
		for range 1 + random(6) {
			edits = append(edits, session.Edit{Kind: kinds[random(len(kinds))], Frame: frames[random(9)].Name, Group: session.KindMarker})
		}
		frames[random(9)].SetAside = random(2) == 0
		groups := Group(frames, edits, nil)
		var seen []string
		ids := map[int64]bool{}
		for i, g := range groups {
			seen = append(seen, g.Frames...)
			if len(g.Frames) == 0 || ids[g.ID] || g.ID == 0 {
				t.Fatalf("%v: group %+v", edits, g)
			}
			ids[g.ID] = true
			if (g.Seam == nil) != (i == 0) || g.Seam != nil && len(g.Seam.Reasons) == 0 {
				t.Fatalf("%v: group %d has seam %+v", edits, i, g.Seam)
			}
		}
		slices.Sort(seen)
		if got := strings.Join(seen, " "); got != "f1 f2 f3 f4 f5 f6 f7 f8 f9" {
			t.Fatalf("%v: frames %s", edits, got)
		}
	}
}

func TestIDsStay(t *testing.T) {
	frames := threeRuns()
	g := New()
	prev := g.Group(frames, nil, nil)
	ids := func(groups []session.Group) (out []int64) {
		for _, g := range groups {
			out = append(out, g.ID)
		}
		return out
	}
	if got := ids(prev); !slices.Equal(got, []int64{1, 2, 3}) {
		t.Fatalf("first numbers %v", got)
	}
	// A group that is split keeps its number in front; the rest gets a new one.
	cut := g.Group(frames, []session.Edit{edit(session.EditSplit, "f5")}, prev)
	if got := ids(cut); !slices.Equal(got, []int64{1, 2, 4, 3}) {
		t.Errorf("after a split %v", got)
	}
	// Undone, the first number is there again.
	if got := ids(g.Group(frames, nil, cut)); !slices.Equal(got, []int64{1, 2, 3}) {
		t.Errorf("after undo %v", got)
	}
	// A group that loses its first frame to the one before keeps its number.
	if got := ids(g.Group(frames, []session.Edit{edit(session.EditMoveBack, "f4")}, prev)); !slices.Equal(got, []int64{1, 2, 3}) {
		t.Errorf("after a move %v", got)
	}
}

package grouping

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"stillbench/session"
)

// sitting is a session with a bit of everything, every stack shot from far to near: two
// tests, a marker and its stack, a single of it wide open, another stack, a look at the light of
// the first subject, its stack once more, and a marker that nothing follows.
func sitting() *roll {
	p := pictures()
	back := func(figs [6]*session.Figures) []*session.Figures {
		slices.Reverse(figs[:])
		return figs[:]
	}
	return new(roll).take(p.a[2]).last(shutter(0.2)).wait(12).take(p.a[3]).wait(15).
		take(p.hand[0]).take(back(p.a)...).wait(15).take(p.a[2]).last(aperture(3.5)).wait(60).
		take(p.hand[1]).take(back(p.b)...).wait(40).take(p.lit[2]).wait(30).
		take(p.hand[0]).take(back(p.a)...).take(p.hand[1])
}

const sittingStory = "test 1 | settings: test 1 | marker: marker 1 | after-marker: stack 6 | settings: single 1 | " +
	"marker: marker 1 | after-marker: stack 6 | camera-moved: test 1 | marker: marker 1 | after-marker: stack 6 | marker: marker 1"

// What a camera writes, or does not write, leaves a session's groups as they are.
func TestUntidyMetadata(t *testing.T) {
	const midstack = 6 // a frame in the midst of the first stack
	cases := []struct {
		what   string
		change func(i int, f *session.Frame)
	}{
		{"as it should be", func(int, *session.Frame) {}},
		{"a lens without contacts", func(_ int, f *session.Frame) { f.Meta.FNumber, f.Meta.FocalLengthMM = nil, nil }},
		{"a clock without fractions of a second", func(_ int, f *session.Frame) { f.Meta.Taken = f.Meta.Taken.Truncate(time.Second) }},
		{"a clock years behind", func(_ int, f *session.Frame) { f.Meta.Taken = f.Meta.Taken.AddDate(-9, 0, 0) }},
		{"the clock set forward within a stack", func(i int, f *session.Frame) {
			if i >= midstack {
				f.Meta.Taken = f.Meta.Taken.Add(time.Hour)
			}
		}},
		{"the clock set back within a stack", func(i int, f *session.Frame) {
			if i >= midstack {
				f.Meta.Taken = f.Meta.Taken.Add(-time.Hour)
			}
		}},
		{"the counter goes round within a stack", func(i int, f *session.Frame) {
			f.Name = fmt.Sprintf("A%04d.JPG", (9998-midstack+i)%9999+1)
		}},
		{"the counter goes round and no frame has a time", func(i int, f *session.Frame) {
			f.Name = fmt.Sprintf("A%04d.JPG", (9998-midstack+i)%9999+1)
			f.Meta.Taken = time.Time{}
		}},
		{"a camera that looks down and writes now upright, now level", func(i int, f *session.Frame) {
			w, h, o := 6000, 4000, 1
			if i >= midstack && i < midstack+4 || i == 11 || i == 12 {
				o = 6
			}
			f.Meta.Width, f.Meta.Height, f.Meta.Orientation = &w, &h, &o
		}},
	}
	for _, c := range cases {
		r := sitting()
		for i := range r.frames {
			c.change(i, &r.frames[i])
		}
		// They come in as the folder lists them.
		slices.SortFunc(r.frames, func(a, b session.Frame) int { return countName(a.Name).number - countName(b.Name).number })
		if got := story(Group(Order(r.frames), nil, nil)); got != sittingStory {
			t.Errorf("%s:\n got %s\nwant %s", c.what, got, sittingStory)
		}
	}
}

// Where the camera was truly turned the pictures as stored no longer lie edge on edge, and the
// seam says so.
func TestTurnedIsSeen(t *testing.T) {
	p := pictures()
	w, h := 6000, 4000
	held := func(r *roll, o int) *roll {
		for i := range r.frames {
			if f := &r.frames[i]; f.Meta.Orientation == nil {
				f.Meta.Width, f.Meta.Height, f.Meta.Orientation = &w, &h, &o
			}
		}
		return r
	}
	r := held(held(new(roll).take(p.a[:]...), 1).take(p.b[:]...), 8)
	if got, want := story(Group(r.frames, nil, nil)), "stack 6 | turned: stack 6"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Frames that the photographer has deleted leave a wider step and a longer pause.
func TestDeletedFrames(t *testing.T) {
	p := pictures()
	var fine [12]*session.Figures
	scene := newBlobs(3)
	for k := range fine {
		fine[k] = scene.at(float64(k)/11, 1)
	}
	for _, c := range []struct {
		what     string
		from, to int // deleted, of the first stack
	}{{"two in the midst", 4, 6}, {"six in the midst", 3, 9}, {"the first two", 0, 2}, {"the last four", 8, 12}} {
		r := new(roll).take(p.hand[0]).take(fine[:c.from]...).wait(4 * float64(c.to-c.from)).take(fine[c.to:]...).wait(20).take(p.hand[1]).take(p.a[:]...)
		want := fmt.Sprintf("marker 1 | after-marker: stack %d | marker: marker 1 | after-marker: stack 6", 12-c.to+c.from)
		if got := story(Group(r.frames, nil, nil)); got != want {
			t.Errorf("%s deleted:\n got %s\nwant %s", c.what, got, want)
		}
	}
}

// Two bodies of one model in one folder, told apart by their serial numbers: each has its own
// groups, whichever camera's frame comes next.
func TestTwoBodiesOfOneModel(t *testing.T) {
	var frames []session.Frame
	for n, serial := range []string{"12", "77"} {
		for _, f := range sitting().frames {
			f.Name, f.Fingerprint, f.Meta.Serial = serial+f.Name, serial+f.Name, serial
			f.Meta.Taken = f.Meta.Taken.Add(time.Duration(1500*n) * time.Millisecond)
			frames = append(frames, f)
		}
	}
	groups := Group(Order(frames), nil, nil)
	for _, serial := range []string{"12", "77"} {
		var own []session.Group
		for _, g := range groups {
			if g.Frames[0][:2] == serial {
				own = append(own, g)
			}
			for _, f := range g.Frames {
				if f[:2] != g.Frames[0][:2] {
					t.Errorf("%s is in a group with %s", f, g.Frames[0])
				}
			}
		}
		var kinds, want []session.Kind
		for _, g := range own {
			kinds = append(kinds, g.Kind)
		}
		for _, g := range Group(sitting().frames, nil, nil) {
			want = append(want, g.Kind)
		}
		if !slices.Equal(kinds, want) {
			t.Errorf("body %s: %v, want %v", serial, kinds, want)
		}
	}
}

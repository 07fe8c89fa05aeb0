package grouping

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/plane"
)

// The pictures of these tests are made once: two scenes at six focus positions each,
// the first also in another light, and two hands.
var pictures = sync.OnceValue(func() (p struct {
	a, b, lit [6]*session.Figures
	bright    [6]*session.Figures // a, half as much light again
	blurred   *session.Figures
	hand      [2]*session.Figures
}) {
	a, b := newBlobs(1), newBlobs(2)
	for k := range 6 {
		p.a[k], p.b[k] = a.at(float64(k)/5, 1), b.at(float64(k)/5, 1)
	}
	p.blurred = a.at(2.6, 1)
	p.lit[2] = a.at(0.4, -2.5)
	for c := range 3 {
		for _, layer := range [][3]*plane.Plane{a.far, a.middle, a.near} {
			for i := range layer[c].Pix {
				layer[c].Pix[i] *= 1.6
			}
		}
	}
	for k := 3; k < 6; k++ {
		p.bright[k] = a.at(float64(k)/5, 1)
	}
	p.hand = [2]*session.Figures{hand(0.4), hand(0.05)}
	return p
})

// roll is a session in the making.
type roll struct {
	frames []session.Frame
	clock  float64
}

// take adds frames, each four seconds after the one before.
func (r *roll) take(figs ...*session.Figures) *roll {
	for _, f := range figs {
		r.clock += 4
		r.frames = append(r.frames, withPicture(taken(fmt.Sprintf("A%04d.JPG", len(r.frames)+1), r.clock), f))
	}
	return r
}

func (r *roll) wait(seconds float64) *roll { r.clock += seconds; return r }

// last changes the newest frame.
func (r *roll) last(change func(*session.Frame)) *roll {
	change(&r.frames[len(r.frames)-1])
	return r
}

// aperture opens the lens, with as much shorter an exposure.
func aperture(n float64) func(*session.Frame) {
	return func(f *session.Frame) {
		s := *f.Meta.ShutterSeconds * (n / *f.Meta.FNumber) * (n / *f.Meta.FNumber)
		f.Meta.FNumber, f.Meta.ShutterSeconds = &n, &s
	}
}

func shutter(s float64) func(*session.Frame) {
	return func(f *session.Frame) { f.Meta.ShutterSeconds = &s }
}

// story writes groups as "test 1 | marker 1 | stack 6", with what each seam gives for
// its first reason.
func story(groups []session.Group) string {
	var out []string
	for _, g := range groups {
		s := fmt.Sprintf("%s %d", g.Kind, len(g.Frames))
		if g.Seam != nil {
			s = string(g.Seam.Reasons[0].Rule) + ": " + s
		}
		out = append(out, s)
	}
	return strings.Join(out, " | ")
}

func TestSessions(t *testing.T) {
	p := pictures()
	upright := func(f *session.Frame) {
		w, h, o := 6000, 4000, 6
		f.Meta.Width, f.Meta.Height, f.Meta.Orientation = &w, &h, &o
	}
	level := func(f *session.Frame) {
		w, h, o := 6000, 4000, 1
		f.Meta.Width, f.Meta.Height, f.Meta.Orientation = &w, &h, &o
	}
	all := func(r *roll, change func(*session.Frame)) *roll {
		for i := range r.frames {
			change(&r.frames[i])
		}
		return r
	}
	bracketed := func(r *roll, figs ...*session.Figures) *roll {
		for _, f := range figs {
			r.take(f).wait(-3.5).take(f).last(shutter(0.05)).wait(-3.5).take(f).last(shutter(0.2))
		}
		return r
	}
	var white [6]*session.Figures // nearly all of it
	for k := range white {
		white[k] = dimmer(float64(k)/5, 12, 0)
	}
	var otherLight [6]*session.Figures // on p.a
	lamp := newBlobs(1)
	for k := range otherLight {
		otherLight[k] = lamp.at(float64(k)/5, -0.5)
	}
	var aside [6]*session.Figures // p.a with the camera pushed aside
	pushed := newBlobs(1).moved(30, 24)
	for k := range aside {
		aside[k] = pushed.at(float64(k)/5, 1)
	}
	// Times of exposure that the camera chose, over and over, for pictures that came out alike.
	metered := func(r *roll, seconds ...float64) *roll {
		for i := range r.frames {
			shutter(seconds[i%len(seconds)])(&r.frames[i])
		}
		return r
	}
	var fine [12]*session.Figures // of one scene, in short steps
	scene := newBlobs(3)
	for k := range fine {
		fine[k] = scene.at(float64(k)/11, 1)
	}
	// Two tests in other lights of p.a, of which the second is out of focus, in stripes of shadow that hide its edges.
	shaded := newBlobs(1).striped(20, 0.01)
	stripes := shaded.at(2, 1)
	cases := []struct {
		what string
		roll *roll
		want string
	}{
		{"a marker before every stack", new(roll).take(p.hand[0]).take(p.a[:]...).take(p.hand[1]).take(p.b[:]...),
			"marker 1 | after-marker: stack 6 | marker: marker 1 | after-marker: stack 6"},
		{"a marker after the stack as well", new(roll).take(p.hand[0]).take(p.a[:]...).take(p.hand[0]).wait(60).take(p.hand[1]).take(p.b[:]...).take(p.hand[0]),
			"marker 1 | after-marker: stack 6 | marker: marker 1 | marker: marker 1 | after-marker: stack 6 | marker: marker 1"},
		{"the same framing twice, a marker between", new(roll).take(p.a[:]...).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | marker: marker 1 | after-marker: stack 6"},
		{"no markers at all", new(roll).take(p.a[:]...).wait(40).take(p.b[:]...),
			"stack 6 | camera-moved: stack 6"},
		{"called away within a stack", new(roll).take(p.a[:3]...).wait(400).take(p.a[3:]...), "stack 6"},
		{"far to near", new(roll).take(p.a[5], p.a[4], p.a[3], p.a[2], p.a[1], p.a[0]), "stack 6"},
		{"once more from the beginning after a pause", new(roll).take(p.a[:]...).wait(120).take(p.a[:]...), "stack 6 | gap: stack 6"},
		{"once more from the other end after a pause", new(roll).take(p.a[:]...).wait(120).take(p.a[5], p.a[4], p.a[3], p.a[2], p.a[1], p.a[0]), "stack 6 | gap: stack 6"},
		{"one shot again at the end, and then once more", new(roll).take(p.a[:]...).wait(15).take(p.a[2]).wait(120).take(p.a[:]...), "stack 7 | gap: stack 6"},
		{"the first one shot again at the end, and then once more", new(roll).take(p.a[:]...).wait(15).take(p.a[0]).wait(120).take(p.a[:]...), "stack 7 | gap: stack 6"},
		{"long after a stack a look at it, and soon a marker and the same once more", new(roll).take(p.a[:]...).wait(100).take(p.a[2]).wait(8).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | gap: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"shot again soon, and later a marker and the same once more", new(roll).take(p.a[:]...).wait(15).take(p.a[2]).wait(100).take(p.hand[0]).take(p.a[:]...),
			"stack 7 | marker: marker 1 | after-marker: stack 6"},
		{"called away before the last frame, and soon a marker and the same once more", new(roll).take(p.a[:5]...).wait(300).take(p.a[5]).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | marker: marker 1 | after-marker: stack 6"},
		{"called away before the last frame, and nearly as long after it the same once more", new(roll).take(fine[:11]...).wait(74).take(fine[11]).wait(65).take(fine[:]...),
			"stack 12 | gap: stack 12"},
		{"two looks at once, and long after them the stack from its beginning", new(roll).take(p.b[:]...).wait(40).take(fine[4], fine[6]).wait(400).take(fine[:]...),
			"stack 6 | camera-moved: test 2 | gap: stack 12"},
		{"tried with the lamp turned down a little", new(roll).take(p.b[:]...).wait(40).take(dimmer(0.4, 0.6, 1)).wait(12).take(p.a[:]...),
			"stack 6 | camera-moved: test 1 | light-moved: stack 6"},
		{"another light tried soon after a single", new(roll).take(p.a[:]...).wait(15).take(p.a[2]).last(aperture(3.5)).wait(30).take(dimmer(0.4, 0.6, 1)).wait(25).take(p.a[3]).last(shutter(0.2)).wait(10).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | settings: single 1 | settings: test 1 | settings: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"called away while a cloud passes", new(roll).take(p.a[:3]...).wait(200).take(dimmer(0.6, 0.8, 1), dimmer(0.8, 0.8, 1), dimmer(1, 0.8, 1)), "stack 6"},
		{"two looks at another table, long after the marker behind the stack", new(roll).take(p.a[:]...).take(p.hand[0]).wait(100).take(p.b[2]).wait(1).take(p.b[4]).wait(30).take(p.hand[1]).take(p.b[:]...),
			"stack 6 | marker: marker 1 | after-marker: test 2 | marker: marker 1 | after-marker: stack 6"},
		{"a frame shot again at the end", new(roll).take(p.a[:]...).wait(20).take(p.a[1]), "stack 7"},
		{"nothing sharp in the last frame", new(roll).take(p.a[:]...).take(p.blurred).wait(30).take(p.hand[0]).take(p.b[:]...),
			"stack 7 | marker: marker 1 | after-marker: stack 6"},
		{"light tried before the stack", new(roll).take(p.lit[2]).wait(20).take(p.hand[0]).take(p.a[:]...),
			"test 1 | marker: marker 1 | after-marker: stack 6"},
		{"light tried, no marker", new(roll).take(p.lit[2]).wait(20).take(p.a[:]...), "test 1 | light-moved: stack 6"},
		{"tried in the light of the stack, no marker", new(roll).take(p.a[3]).wait(40).take(p.a[:]...), "test 1 | gap: stack 6"},
		{"the lamp flares up within the stack", func() *roll {
			r := new(roll).take(p.a[:3]...)
			for _, k := range []int{3, 4, 5} {
				r.take(p.bright[k])
			}
			return r
		}(), "stack 6"},
		{"tried in another light, and then out of focus in stripes of shadow, before the stack", new(roll).take(p.b[:]...).take(p.hand[0]).wait(60).take(otherLight[2]).wait(15).take(stripes).wait(10).take(p.hand[1]).take(p.a[:]...),
			"stack 6 | marker: marker 1 | after-marker: test 1 | gap: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"two frames are a stack of two", new(roll).take(p.b[:]...).wait(60).take(p.a[0], p.a[4]), "stack 6 | camera-moved: stack 2"},
		{"exposure tried before the stack", new(roll).take(p.a[2]).last(shutter(0.2)).wait(10).take(p.a[:]...), "test 1 | settings: stack 6"},
		{"exposure tried, looked at, and tried once more, two thirds of a stop apart", new(roll).take(p.b[:]...).wait(40).take(dimmer(0.4, 0.61, 1)).last(shutter(0.061)).wait(8).take(p.a[3]).wait(6).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | camera-moved: test 1 | settings: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"exposure tried twice, two thirds of a stop apart", new(roll).take(dimmer(0.4, 1.6, 1)).last(shutter(0.16)).take(p.a[3]).take(p.hand[0]).take(p.a[:]...),
			"test 1 | settings: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"a series of tests, and a pause before the stack as long as the one before the tests", new(roll).take(p.a[:]...).wait(100).take(p.a[2]).last(aperture(7)).
			wait(12).take(p.a[3]).last(shutter(0.025)).wait(12).take(p.a[2]).wait(100).take(p.a[:]...),
			"stack 6 | settings: test 1 | settings: test 1 | settings: test 1 | gap: stack 6"},
		{"called away after the first frame", new(roll).take(p.hand[0]).take(p.a[0]).wait(400).take(p.a[1:]...), "marker 1 | after-marker: stack 6"},
		{"once more the other way, in longer steps", new(roll).take(fine[:]...).wait(120).take(fine[11], fine[8], fine[6], fine[3], fine[0]), "stack 12 | gap: stack 5"},
		{"the same tried twice at another aperture, and looked at", new(roll).take(p.b[:]...).wait(60).take(p.a[2]).last(aperture(5.6)).wait(16).take(p.a[3]).last(aperture(5.6)).wait(20).take(p.hand[0]).take(p.a[:]...),
			"stack 6 | settings: test 1 | gap: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"exposure tried between two stacks in one light", new(roll).take(p.a[:]...).take(p.hand[0]).wait(30).take(p.a[2]).last(shutter(0.3)).wait(15).take(p.hand[1]).take(p.a[:]...),
			"stack 6 | marker: marker 1 | after-marker: test 1 | marker: marker 1 | after-marker: stack 6"},
		{"three times the same after pauses", new(roll).take(p.a[:]...).wait(200).take(p.a[:]...).wait(150).take(p.a[:]...), "stack 6 | gap: stack 6 | gap: stack 6"},
		{"a single at a wide aperture after it", new(roll).take(p.a[:]...).wait(15).take(p.a[2]).last(aperture(3.5)), "stack 6 | settings: single 1"},
		{"something else, shot once", new(roll).take(p.b[1]).wait(60).take(p.hand[0]).take(p.a[:]...),
			"single 1 | marker: marker 1 | after-marker: stack 6"},
		{"turned upright", func() *roll {
			r := all(new(roll).take(p.a[:]...), level)
			n := len(r.frames)
			r.wait(10).take(p.b[:]...)
			for i := n; i < len(r.frames); i++ {
				upright(&r.frames[i])
			}
			return r
		}(), "stack 6 | turned: stack 6"},
		{"a burst, after the stack", new(roll).take(p.a[:]...).wait(30).take(p.b[2]).wait(-3.8).take(p.b[2]).wait(-3.8).take(p.b[2]),
			"stack 6 | camera-moved: single 3"},
		{"a series of exposures at each step", bracketed(new(roll), p.a[:]...), "stack 18"},
		{"a series of exposures at each step, set by hand", func() *roll {
			r := new(roll).take(p.hand[0])
			for k := range 6 {
				for _, stops := range []float64{0, -1, 1} {
					r.take(dimmer(float64(k)/5, float32(math.Exp2(stops)), 1)).last(shutter(0.1 * math.Exp2(stops))).wait(-1)
				}
			}
			return r.wait(20).take(p.hand[1]).take(p.b[:]...)
		}(), "marker 1 | after-marker: stack 18 | marker: marker 1 | after-marker: stack 6"},
		{"wide open after the stack, before the camera is pushed aside for the next", new(roll).take(p.a[:]...).wait(34).take(p.a[2]).last(aperture(7)).wait(9).take(p.a[3]).last(aperture(3.5)).wait(10).take(aside[:]...),
			"stack 6 | settings: single 1 | settings: single 1 | settings: stack 6"},
		{"tried wide open, after the camera was pushed aside", new(roll).take(p.a[:]...).wait(15).take(aside[2]).last(aperture(7)).wait(20).take(aside[:]...),
			"stack 6 | settings: test 1 | settings: stack 6"},
		{"a white sheet before a set-up that is nearly as white", new(roll).take(hand(20)).take(white[:]...).take(hand(20)).take(white[:]...),
			"marker 1 | after-marker: stack 6 | marker: marker 1 | after-marker: stack 6"},
		{"wide open after the stack, before the marker that ends it", new(roll).take(p.a[:]...).wait(20).take(p.a[2]).last(aperture(3.5)).wait(8).take(p.hand[0]).wait(15).take(p.hand[1]).take(p.a[:]...),
			"stack 6 | settings: single 1 | marker: marker 1 | marker: marker 1 | after-marker: stack 6"},
		{"exposed by the camera, a cloud passes while one is away", metered(new(roll).take(p.a[:3]...).wait(60).take(p.a[3:]...), 0.1, 0.1, 0.1, 0.159, 0.159, 0.159), "stack 6"},
		{"exposed by the camera, few frames", metered(new(roll).take(p.hand[0]).take(p.a[0], p.a[2], p.a[4]).take(p.hand[0]).take(p.b[:]...), 0.1, 0.1, 0.126, 0.159, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1),
			"marker 1 | after-marker: stack 3 | marker: marker 1 | after-marker: stack 6"},
		{"exposed by the camera, and then in another light", metered(new(roll).take(p.a[:]...).wait(12).take(otherLight[:]...), 0.1, 0.126), "stack 6 | light-moved: stack 6"},
		{"exposed by the camera, which settles after the first frame", metered(new(roll).take(p.a[:]...), 0.08, 0.1, 0.1, 0.1, 0.1, 0.1), "stack 6"},
		{"exposed by the camera, twice the same", metered(new(roll).take(p.a[:]...).wait(120).take(p.a[:]...), 0.1, 0.126), "stack 6 | gap: stack 6"},
		{"exposed by the camera, called away", metered(new(roll).take(p.a[:3]...).wait(400).take(p.a[3:]...), 0.1, 0.126, 0.159), "stack 6"},
		{"tried as the first step, and then a series of exposures at each", bracketed(new(roll).take(p.a[0]).wait(60), p.a[:]...), "test 1 | gap: stack 18"},
		{"a series of exposures at each step, called away", bracketed(bracketed(new(roll), p.a[:3]...).wait(600), p.a[3:]...), "stack 18"},
		{"a series of exposures at each step, twice", bracketed(bracketed(new(roll), p.a[:]...).wait(120), p.a[:]...), "stack 18 | gap: stack 18"},
		{"a motor that turns the ring at once there, and after a pause back", func() *roll {
			r := new(roll)
			for k := range 12 {
				r.take(fine[k]).wait(-3.6)
			}
			r.wait(60)
			for k := range 12 {
				r.take(fine[11-k]).wait(-3.6)
			}
			return r
		}(), "stack 12 | gap: stack 12"},
		{"focused by the camera", func() *roll {
			r := new(roll)
			for k := range 6 {
				r.take(p.a[k]).wait(-3.6).last(func(f *session.Frame) { n := k + 1; f.Meta.BracketShot = &n })
			}
			return r
		}(), "stack 6"},
		{"focused by the camera, twice", func() *roll {
			r := new(roll)
			for k := range 12 {
				r.take(p.a[k%6]).wait(-3.6).last(func(f *session.Frame) { n := k%6 + 1; f.Meta.BracketShot = &n })
			}
			return r
		}(), "stack 6 | settings: stack 6"},
		{"focused by the camera, one shot again by hand, and then the same with a marker", func() *roll {
			r := new(roll)
			driven := func() {
				for k := range 12 {
					r.take(fine[k]).wait(-3.6).last(func(f *session.Frame) { n := k + 1; f.Meta.BracketShot = &n })
				}
			}
			r.take(p.b[:]...).wait(30).take(p.a[:]...).wait(30)
			driven()
			r.wait(24).take(fine[4]).wait(-1).take(p.hand[0]).wait(80)
			driven()
			return r
		}(), "stack 6 | camera-moved: stack 6 | settings: stack 13 | marker: marker 1 | after-marker: stack 12"},
		{"no picture can be decoded", all(new(roll).take(p.a[:]...).wait(600).take(p.b[:]...), func(f *session.Frame) { f.Figures = nil }),
			"stack 6 | gap: stack 6"},
		{"no times", all(new(roll).take(p.hand[0]).take(p.a[:]...).take(p.hand[0]).take(p.b[:]...), func(f *session.Frame) { f.Meta.Taken = time.Time{} }),
			"marker 1 | after-marker: stack 6 | marker: marker 1 | after-marker: stack 6"},
	}
	for _, c := range cases {
		if got := story(Group(c.roll.frames, nil, nil)); got != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.what, got, c.want)
		}
	}
}

// Two cameras take turns; the clocks differ by little. Each camera's stack stays whole.
func TestTwoCameras(t *testing.T) {
	p := pictures()
	first, second := new(roll).take(p.a[:]...), new(roll).wait(1).take(p.b[:]...)
	var frames []session.Frame
	for i := range first.frames {
		f, s := first.frames[i], second.frames[i]
		s.Name, s.Fingerprint, s.Meta.Model = "B"+s.Name, "B"+s.Name, "Ardent M3"
		frames = append(frames, f, s)
	}
	groups := Group(Order(frames), nil, nil)
	if got := story(groups); got != "stack 6 | settings: stack 6" {
		t.Fatalf("got %s", got)
	}
	if d := groups[1].Seam.Reasons[0].Detail.String(); d != "another camera: Ardent M2 → Ardent M3" {
		t.Errorf("the seam says %q", d)
	}
}

func TestReasonsInWords(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.a[0]).take(p.hand[0]).take(p.a[:]...).wait(300).take(p.a[2]).last(aperture(3.5))
	groups := Group(r.frames, nil, nil)
	want := [][]string{
		{"marker: a hand covers the lens in A0002.JPG"},
		{"after-marker: follows A0002.JPG"},
		{"settings: f/10 → f/3.5, 1/10 s → 1/82 s", "gap: 5 min pause"},
	}
	if len(groups) != len(want)+1 {
		t.Fatalf("groups: %s", story(groups))
	}
	for i, w := range want {
		var got []string
		for _, r := range groups[i+1].Seam.Reasons {
			got = append(got, string(r.Rule)+": "+r.Detail.String())
		}
		if strings.Join(got, "; ") != strings.Join(w, "; ") {
			t.Errorf("seam %d says %q, want %q", i+1, got, w)
		}
	}
	for seconds, want := range map[float64]string{4.2: "4 s pause", 95: "2 min pause", 240: "4 min pause", 4800: "80 min pause", 7260: "2 h 1 min pause", 200000: "2 days pause"} {
		if got := pauseWords(seconds).String(); got != want {
			t.Errorf("%g seconds: %q, want %q", seconds, got, want)
		}
	}
}

// A hand as the newest frame is probably a marker; the next frame settles it.
func TestNewestFrame(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.a[:]...).take(p.hand[0])
	g := New()
	groups := g.Group(r.frames, nil, nil)
	m := groups[len(groups)-1]
	if m.Kind != session.KindMarker || m.Confidence > 0.85 || !strings.HasPrefix(m.Seam.Reasons[0].Detail.String(), "probably ") {
		t.Errorf("newest: %s, confidence %.2f, %q", m.Kind, m.Confidence, m.Seam.Reasons[0].Detail)
	}
	groups = g.Group(r.take(p.b[0]).frames, nil, groups)
	m = groups[len(groups)-2]
	if m.Kind != session.KindMarker || m.Confidence < 0.95 || m.Seam.Reasons[0].Detail.String() != "a hand covers the lens in A0007.JPG" {
		t.Errorf("settled: %s, confidence %.2f, %q", m.Kind, m.Confidence, m.Seam.Reasons[0].Detail)
	}
	if k := groups[len(groups)-1].Kind; k != session.KindStack {
		t.Errorf("the first frame after a marker is a %s, not the beginning of a stack", k)
	}
}

// Live is the same computation: after every arrival a Grouper that has seen the whole
// session grow says what a new one says.
func TestLiveIsTheSameComputation(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.lit[2]).wait(20).take(p.hand[0]).take(p.a[:]...).wait(20).take(p.a[2]).last(aperture(3.5)).take(p.hand[1]).take(p.b[:]...)
	g := New()
	var prev []session.Group
	for n := 1; n <= len(r.frames); n++ {
		prev = g.Group(r.frames[:n], nil, prev)
		if got, want := story(prev), story(Group(r.frames[:n], nil, nil)); got != want {
			t.Errorf("after %d frames live says\n%s\nafresh\n%s", n, got, want)
		}
	}
}

// A frame whose grey picture was let go after a pass is read as it was before.
func TestSlimFiguresAreTheSame(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.lit[2]).wait(20).take(p.hand[0]).take(p.a[:]...).wait(20).take(p.a[2]).last(aperture(3.5)).take(p.hand[1]).take(p.b[:]...)
	whole := map[string]*session.Figures{}
	for _, f := range r.frames {
		whole[f.Fingerprint] = f.Figures
	}
	asked := 0
	g := New()
	g.Whole = func(fingerprint string) *session.Figures { asked++; return whole[fingerprint] }
	slim := append([]session.Frame(nil), r.frames...)
	for n := 1; n <= len(slim); n++ {
		if got, want := story(g.Group(slim[:n], nil, nil)), story(Group(r.frames[:n], nil, nil)); got != want {
			t.Errorf("after %d frames it says\n%s\nwith grey pictures\n%s", n, got, want)
		}
		slim[n-1].Figures = slim[n-1].Figures.Slim()
	}
	if asked == 0 {
		t.Error("no grey picture was needed again: this shows nothing")
	}
	g = New()
	g.Whole = func(fingerprint string) *session.Figures { return whole[fingerprint] }
	if got, want := story(g.Group(slim, nil, nil)), story(Group(r.frames, nil, nil)); got != want {
		t.Errorf("afresh it says\n%s\nwith grey pictures\n%s", got, want)
	}
}

// What a correction teaches: the same kind of mistake is not made again.
func TestCorrectionsTeach(t *testing.T) {
	p := pictures()
	r := new(roll)
	for range 3 {
		r.take(p.hand[0]).take(p.a[:]...)
	}
	// A grey field that the photographer wants to keep as a picture.
	groups := Group(r.frames, []session.Edit{edit(session.EditUnmark, "A0001.JPG")}, nil)
	for _, g := range groups {
		if g.Kind == session.KindMarker {
			t.Errorf("%s is a marker, though one like it was said to be none", g.Frames[0])
		}
	}
	// A marker that looks like a picture: a crisp card, say.
	r = new(roll)
	for range 3 {
		r.wait(30).take(p.b[2]).wait(30).take(p.a[:]...)
	}
	if got := story(Group(r.frames, nil, nil)); strings.Contains(got, "marker") {
		t.Fatalf("before it was taught: %s", got)
	}
	groups = Group(r.frames, []session.Edit{edit(session.EditMark, "A0008.JPG")}, nil)
	markers := 0
	for _, g := range groups {
		if g.Kind == session.KindMarker {
			markers++
		}
	}
	if markers != 3 {
		t.Errorf("%d of 3 are markers after one was marked: %s", markers, story(groups))
	}
}

// What was right without a word teaches nothing: an answer that says so again changes nothing.
func TestAgreementTeachesNothing(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.b[:]...).wait(60).take(p.a[2]).last(aperture(5.6)).wait(16).take(p.a[3]).last(aperture(5.6)).wait(20).
		take(p.hand[0]).take(p.a[:3]...).wait(400).take(p.a[3:]...).wait(100).take(p.a[:]...).wait(50).take(p.lit[2]).wait(20).take(p.hand[1]).take(p.b[:]...)
	want := story(Group(r.frames, nil, nil))
	for _, e := range []session.Edit{edit(session.EditSplit, "A0008.JPG"), edit(session.EditSplit, "A0007.JPG"), edit(session.EditSplit, "A0016.JPG"),
		edit(session.EditJoin, "A0013.JPG"), edit(session.EditMark, "A0009.JPG"), edit(session.EditMark, "A0023.JPG"), edit(session.EditUnmark, "A0022.JPG")} {
		got := story(Group(r.frames, []session.Edit{e}, nil))
		for _, rule := range []session.Rule{session.RuleByHand, session.RuleGap, session.RuleSettings} { // by hand is named first
			got, want = strings.ReplaceAll(got, string(rule)+": ", ""), strings.ReplaceAll(want, string(rule)+": ", "")
		}
		if got != want {
			t.Errorf("%s %s:\n got %s\nwant %s", e.Kind, e.Frame, got, want)
		}
	}
}

// An unsure seam is a question, and one key answers it.
func TestQuestions(t *testing.T) {
	frames := threeRuns()
	for i := range frames {
		frames[i] = taken(frames[i].Name, float64(4*i+70*(i/3)))
	}
	asked := 0
	for _, g := range Group(frames, nil, nil) {
		if g.Question.Form != "" {
			asked++
		}
	}
	if asked == 0 {
		t.Error("seams that are as good as even are not asked about")
	}
	edits := []session.Edit{edit(session.EditJoin, "f4"), edit(session.EditSplit, "f7")}
	for _, g := range Group(frames, edits, nil) {
		if g.Question.Form != "" {
			t.Errorf("answered, and still: %q", g.Question)
		}
	}
}

// Who was called away from a stack that plainly goes on is not asked whether it is one, be its steps so short that all
// frames look alike.
func TestCalledAwayIsNotAskedAbout(t *testing.T) {
	for seed := range uint64(3) {
		b, r := newBlobs(seed), new(roll)
		for k := range 10 {
			if k == 5 {
				r.wait(330)
			}
			r.take(b.at(0.35+0.012*float64(k), 1))
		}
		groups := Group(r.frames, nil, nil)
		if got := story(groups); got != "stack 10" || groups[0].Question.Form != "" {
			t.Errorf("scene %d: %s, %q", seed, got, groups[0].Question)
		}
	}
}

// A split and a join teach as well, for places with the same kind of evidence, and are
// unlearnt with the edit.
func TestSeamCorrectionsTeach(t *testing.T) {
	p := pictures()
	// The photographer is called away in each of three stacks and begins another
	// arrangement so like the first that nobody could tell.
	called := new(roll)
	for range 3 {
		called.take(p.a[0], p.a[1], p.a[2]).wait(200).take(p.a[3], p.a[4], p.a[5]).wait(100).take(p.hand[0])
	}
	whole := "stack 6 | marker: marker 1 | after-marker: stack 6 | marker: marker 1 | after-marker: stack 6 | marker: marker 1"
	if got := story(Group(called.frames, nil, nil)); got != whole {
		t.Fatalf("before it was taught: %s", got)
	}
	parts := strings.Count(story(Group(called.frames, []session.Edit{edit(session.EditSplit, "A0004.JPG")}, nil)), "3")
	if parts != 6 {
		t.Errorf("after one stack of three was split at its pause, %d parts of 6 stand alone: %s", parts,
			story(Group(called.frames, []session.Edit{edit(session.EditSplit, "A0004.JPG")}, nil)))
	}
	// A split where nothing happened tells of nothing.
	got := story(Group(called.frames, []session.Edit{edit(session.EditSplit, "A0002.JPG")}, nil))
	if n := strings.Count(got, "stack 6"); n != 2 {
		t.Errorf("a split without any evidence: %s", got)
	}

	// A look at the light before each stack, which the photographer takes into the stack.
	look := new(roll)
	for range 3 {
		look.take(p.lit[2]).wait(20).take(p.a[:]...).wait(30).take(p.hand[0])
	}
	cut := story(Group(look.frames, nil, nil))
	if n := strings.Count(cut, "light-moved: stack 6"); n != 3 {
		t.Fatalf("before it was taught %d of 3 stacks are cut off by the light: %s", n, cut)
	}
	got = story(Group(look.frames, []session.Edit{edit(session.EditJoin, "A0002.JPG")}, nil))
	if n := strings.Count(got, "stack 7"); n != 3 {
		t.Errorf("after one of three was joined, %d stacks begin with the look at the light: %s", n, got)
	}
}

package grouping

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/grouping/sameness"
	"stillbench/session/plane"
)

// burst is a run of frames that the camera took one after another in half seconds. painted gives a value of
// the picture at (x, y) pixels, from two textures: one falls out of focus from the one frame to the next
// by step pixels of blur, of which it has soft at first, and the other comes into it. Invented.
func burst(r *rand.Rand, frames int, soft, step float64, painted func(x, y int, one, other float32) float32) []session.Frame {
	texture := plane.New(picW, picH)
	for i := range texture.Pix {
		texture.Pix[i] = float32(r.NormFloat64())
	}
	var out []session.Frame
	for k := range frames {
		one := plane.Blur(nil, texture, soft+step*float64(k))
		other := plane.Blur(nil, texture, soft+step*float64(frames-1-k))
		pic := plane.NewRGB(picW, picH)
		for i := range picW * picH {
			c := uint8(min(max(painted(i%picW, i/picW, one.Pix[i], other.Pix[i]), 0), 255) + 0.5)
			pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = c, c, c
		}
		out = append(out, withPicture(taken(fmt.Sprintf("B%04d.JPG", k+1), 0.5*float64(k)), figures.Measure(pic)))
	}
	return out
}

// highKey is a burst of something white, of which a small part shows, under noise.
func highKey(seed uint64, frames int, step float64) []session.Frame {
	r := rand.New(rand.NewPCG(seed, 6))
	return burst(r, frames, 1, step, func(x, y int, one, other float32) float32 {
		if x <= 200 || x >= 320 || y <= 140 || y >= 200 {
			return 255
		}
		if x > 260 {
			one = other
		}
		return 190 + 60*one + 2*float32(r.NormFloat64())
	})
}

// noisy is a burst of a soft texture in two halves, under noise.
func noisy(seed uint64, frames int, step float64) []session.Frame {
	r := rand.New(rand.NewPCG(seed, 5))
	return burst(r, frames, 2, step, func(x, _ int, one, other float32) float32 {
		if x > picW/2 {
			one = other
		}
		return 110 + 80*one + 3*float32(r.NormFloat64())
	})
}

// The focus that moves by little from frame to frame is seen in the run as a whole; in a burst nothing moves.
func TestShortStepsAreAStack(t *testing.T) {
	for seed := range uint64(3) {
		for _, c := range []struct {
			step float64
			want session.Kind
		}{{0.015, session.KindStack}, {0, session.KindSingle}} {
			groups := Group(noisy(seed, 12, c.step), nil, nil)
			if len(groups) != 1 || groups[0].Kind != c.want {
				t.Errorf("seed %d, %g pixels of blur a step: %d groups, %s first", seed, c.step, len(groups), groups[0].Kind)
			}
		}
	}
}

// A stack that the camera drove by itself over something white is none the less one, for the little of it
// that shows; a burst of that is none.
func TestHighKeyStackAtOnce(t *testing.T) {
	for seed := range uint64(3) {
		for _, c := range []struct {
			step float64
			want session.Kind
		}{{0.1, session.KindStack}, {0, session.KindSingle}} {
			groups := Group(highKey(seed, 5, c.step), nil, nil)
			if len(groups) != 1 || groups[0].Kind != c.want {
				t.Errorf("seed %d, %g pixels of blur a step: %d groups, %s first", seed, c.step, len(groups), groups[0].Kind)
			}
		}
	}
}

// alike sets how two frames of a table compare: the structure that they share, and by how much their fields
// of brightness differ.
func (t *table) alike(i, j int, structure, field float64) {
	t.g.pairs[[2]string{t.shots[i].Fingerprint, t.shots[j].Fingerprint}] = sameness.Likeness{Structure: structure, Shared: 0.5, Field: field}
	t.g.spots[[2]string{t.shots[i].Fingerprint, t.shots[j].Fingerprint}] = 0.1
}

// tests makes a table of two frames and the six of a stack behind them, and runs of them with these pauses
// in seconds before each.
func tests(first, second *session.Figures, pauses [3]float64) (*table, []*run) {
	p := pictures()
	s := newTable(New(), new(roll).take(first, second).take(p.a[:]...).frames)
	one, two, stack := &run{frames: []int{0}, doubt: -1}, &run{frames: []int{1}, doubt: -1}, &run{frames: []int{2, 3, 4, 5, 6, 7}, doubt: -1}
	one.next, two.from, two.next, stack.from = two, one, stack, two
	runs := []*run{one, two, stack}
	for n, r := range runs {
		r.seam, r.starts = link{gap: pauses[n], pace: 4}, 1
	}
	for _, k := range []int{2, 5, 7} { // those that a long run is compared by
		s.alike(0, k, 0, 0.5)
		s.alike(1, k, 0, 0.5)
	}
	return s, runs
}

// One that is itself but barely like the stack, and was soon followed by another that is, tried something
// for it as the other did.
func TestOneTestTellsOfAnother(t *testing.T) {
	p := pictures()
	s, runs := tests(p.b[0], p.b[1], [3]float64{5, 20, 6})
	for _, k := range []int{2, 5, 7} {
		s.alike(0, k, 0.3, 0.1)
		s.alike(1, k, 0.6, 0.1)
	}
	s.alike(0, 1, 0.7, 0)
	if j := s.kinds(runs)[runs[0]]; j.kind != session.KindTest {
		t.Errorf("taken for a %s: %+v", j.kind, j)
	}
}

// Two of one composition at two exposures, before a stack in which nothing of it is known again, tried
// something; that is asked. Two of two compositions are singles.
func TestTwoThatTriedAreAskedAbout(t *testing.T) {
	p := pictures()
	for structure, want := range map[float64]session.Kind{0.9: session.KindTest, 0: session.KindSingle} {
		second := p.b[1]
		if want == session.KindSingle {
			second = newBlobs(7).at(0.2, 1)
		}
		s, runs := tests(p.b[0], second, [3]float64{20, 20, 20})
		*s.shots[0].Meta.ShutterSeconds *= 2
		s.shots[0].ev++
		s.alike(0, 1, structure, 0)
		for n, j := range s.groups(runs, s.obey(nil))[:2] {
			question := ""
			if want == session.KindTest {
				question = "Test or single?"
			}
			if j.Kind != want || j.Question.String() != question {
				t.Errorf("alike by %g: frame %d is taken for a %s and asked %q", structure, n, j.Kind, j.Question)
			}
		}
	}
}

// One that is rather no test, but perhaps one, is asked about; one that lies otherwise is not.
func TestPerhapsATestIsAskedAbout(t *testing.T) {
	p := pictures()
	for structure, want := range map[float64]string{0.26: "Test or single?", 0.1: ""} {
		s, runs := tests(newBlobs(7).at(0.2, 1), p.a[1], [3]float64{20, 20, 20})
		for _, k := range []int{2, 5, 7} {
			s.alike(0, k, structure, 0.5)
		}
		s.alike(0, 1, structure, 0.5)
		if g := s.groups(runs, s.obey(nil))[0]; g.Kind != session.KindSingle || g.Question.String() != want {
			t.Errorf("alike by %g: taken for a %s, asked %q", structure, g.Kind, g.Question)
		}
	}
}

// record is a session of stacks of one framing, each followed by one more frame of it, of which it cannot be
// told whether it ends the one or tries something for the next.
func record() *roll {
	p := pictures()
	r := new(roll)
	for range 4 {
		r.take(p.hand[0]).take(p.a[:]...).wait(16).take(p.a[2]).last(aperture(5.6)).wait(20)
	}
	return r
}

// What a frame is, is asked where that is as good as even; the answer holds, and answers for the others that
// the same signs tell of. Taken back, all is as it was.
func TestKindIsAskedAndTeaches(t *testing.T) {
	r := record()
	kinds := func(edits ...session.Edit) (kinds []session.Kind, asked int) {
		for _, g := range Group(r.frames, edits, nil) {
			if len(g.Frames) == 1 && g.Kind != session.KindMarker {
				kinds = append(kinds, g.Kind)
				if g.Question.Form != "" {
					asked++
					if g.Question.String() != "Test or single?" || g.OrElse() == "" {
						t.Errorf("asks %q of a %s", g.Question, g.Kind)
					}
				}
			}
		}
		return kinds, asked
	}
	before, asked := kinds()
	if len(before) != 4 || asked != 3 { // after the last no stack follows
		t.Fatalf("%v, %d of them asked about", before, asked)
	}
	first := Group(r.frames, nil, nil)[2]
	e := edit(session.EditKindOf, first.Frames[0])
	e.Group = first.OrElse()
	after, asked := kinds(e)
	for n, k := range after[:3] {
		if k != e.Group {
			t.Errorf("after the first was called a %s, number %d is a %s", e.Group, n+1, k)
		}
	}
	if asked != 0 {
		t.Errorf("%d are asked about when it was answered", asked)
	}
	if again, asked := kinds(); !slices.Equal(again, before) || asked != 3 {
		t.Errorf("without the answer: %v, %d asked about", again, asked)
	}
}

// In a run at once in which nothing moves by plain signs and yet other things are crisp at its ends, that
// is asked.
func TestBurstThatMayBeAStackIsAskedAbout(t *testing.T) {
	p := pictures()
	r := new(roll)
	for _, f := range faint() {
		r.take(f).wait(-3.6)
	}
	s := newTable(New(), r.wait(60).take(p.a[:]...).frames)
	burst, stack := &run{frames: []int{0, 1, 2}, doubt: -1}, &run{frames: []int{3, 4, 5, 6, 7, 8}, starts: 1, doubt: -1}
	burst.next, stack.from = stack, burst
	if g := s.groups([]*run{burst, stack}, s.obey(nil))[0]; g.Kind != session.KindSingle || g.Question.String() != "Stack or single?" {
		t.Errorf("a %s is asked %q", g.Kind, g.Question)
	}
}

// faint is a run of three frames in which next to nothing is crisp: grain in one corner of the first, in another of
// the last, and nowhere in the middle.
func faint() (out [3]*session.Figures) {
	for k := range out {
		r := rand.New(rand.NewPCG(uint64(k), 8))
		pic := plane.NewRGB(picW, picH)
		for i := range picW * picH {
			v := 90 + 0.5*r.NormFloat64()
			if x, y := i%picW, i/picW; k == 0 && x < 60 && y < 60 || k == 2 && x > picW-60 && y > picH-60 {
				v += 6 * r.NormFloat64()
			}
			c := uint8(v + 0.5)
			pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = c, c, c
		}
		out[k] = figures.Measure(pic)
	}
	return out
}

package focus

import (
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/align"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// Where tiles tell nothing, steps are what the frames' sizes say; where those differ by no more than they are wrong by, places stay
// what they were.
func TestStepsByTheFramesSizes(t *testing.T) {
	const circle = 1.5
	truth := []float64{0, 3, 6, 7, 10, 13}
	began := []float64{0, 4.2, 5.7, 6.9, 9.6, 13.2}
	for _, breathing := range []float64{0.002, 0} {
		p := &places{ev: &evidence{n: len(truth), corner: 900}, s: slices.Clone(began), skip: make([]bool, len(truth)), t: lens(), circle: circle}
		for _, s := range truth {
			p.ev.size = append(p.ev.size, -breathing*s)
		}
		p.sort()
		for range 30 {
			p.step()
			p.sort()
		}
		for i := 1; i < len(truth); i++ {
			want := began[i] - began[i-1]
			if breathing > 0 {
				want = (truth[i] - truth[i-1]) / 13 * (p.s[5] - p.s[0])
			}
			if got := p.s[i] - p.s[i-1]; math.Abs(got-want) > 0.1*want {
				t.Errorf("breathing by %g, step %d is %.2f, want %.2f", breathing, i, got, want)
			}
		}
	}
}

// Sizes that are wrong by more than their residuals tell, as in noise, contradict each other around each three frames, and are not followed:
// by how much is told to within a third, and of exact ones it is nothing.
func TestSizesThatContradictEachOther(t *testing.T) {
	const corner, frames = 900.0, 40
	r := rand.New(rand.NewPCG(8, 8))
	for _, wrong := range []float64{0, 0.6} { // pixels at the corners, of a link
		var links []align.Link
		for i := 1; i < frames; i++ {
			for back := 1; back <= min(i, 2); back++ {
				l := align.Link{From: i - back, To: i}
				l.Move.Scale = math.Exp(-0.002*float64(back) + wrong*r.NormFloat64()/corner)
				links = append(links, l)
			}
		}
		if got := closureOf(links, corner); math.Abs(got-wrong) > 0.33*wrong+1e-9 {
			t.Errorf("links wrong by %.1f pixels, told are %.2f", wrong, got)
		}
	}
	p := &places{ev: &evidence{n: 3, corner: corner, closure: 0.6}, s: []float64{0, 3, 6}, skip: make([]bool, 3), t: lens(), circle: 1}
	p.ev.size = []float64{0, -0.004, -0.008} // 7 pixels at the corners
	if _, told := p.breathing(); told {
		t.Error("sizes that differ by little more than they are wrong by tell steps")
	}
	p.ev.closure = 0
	if _, told := p.breathing(); !told {
		t.Error("sizes that are exact tell no steps")
	}
}

// The ground behind a subject goes on past the last frame, over more of the picture than the subject, and fades by a law that is not quite
// the one that it is taken for: the steps are told by what lies between the frames. The truth is how they were focused.
func TestStepsByWhatLiesBetween(t *testing.T) {
	s := relief.New(relief.Smooth, testW, testH, 1, func(x, y float64) float64 {
		if y > 0.75 {
			return testCircle * 6 * (1 - y) / 0.25
		}
		return testCircle * (6 + 12*(0.75-y)/0.75)
	})
	const step = 1.5 // circles of confusion
	a := shoot(t, s, []float64{0, step, 2 * step, 3 * step, 4 * step}, func(i int, shot *relief.Shot) { shot.Move = plane.Identity }).analyse(&testOptions, nil)
	if got := (a.places.s[4] - a.places.s[3]) / a.circle; math.Abs(got/step-1) > 0.1 {
		t.Errorf("the last step is %.2f circles of confusion, want %.2f", got, step)
	}
}

// What nothing tells may be any step: a stack is not called covered over it, nor an end beside it closed.
func TestAStepThatNothingTells(t *testing.T) {
	const w, h = 20, 12
	for _, untold := range []int{0, 1, 3, 4} { // rank of the frame after the step; 0: none
		for _, skip := range []bool{false, true} {
			p := &places{ev: &evidence{n: 5, tw: w}, s: []float64{0, 1, 2, 3, 4}, skip: make([]bool, 5), circle: 1}
			a := &analysis{tw: w, th: h, circle: 1, places: p, in: []int{0, 1, 2, 3, 4}}
			r := &ranks{s: p.s, sd: make([]float64, 5), order: []int{0, 1, 2, 3, 4}}
			st := &Stack{}
			for i := range 5 {
				st.frames = append(st.frames, &frame{fingerprint: strconv.Itoa(i)})
			}
			if untold > 0 {
				r.sd[untold] = 20
				p.skip[untold] = skip // left out: nothing is said of its steps
			}
			for at := range w * h {
				p.ev.tiles = append(p.ev.tiles, tileEvidence{at: at, fit: tileFit{ok: true, place: 2, sd: 0.2, cost: 1, below: math.Inf(-1), above: math.Inf(-1)}})
				r.tiles = append(r.tiles, held{at: at, place: 2, sd: 0.2})
			}
			c := &session.Check{}
			doubt := st.tellGaps(c, a, r, &testOptions)
			st.tellEnds(c, a, r)
			near, far := session.EndClosed, session.EndClosed
			said := untold > 0 && !skip
			if said && untold == 1 {
				near = session.EndUnknown
			}
			if said && untold == 4 {
				far = session.EndUnknown
			}
			if c.NearEnd != near || c.FarEnd != far || (doubt != nil) != said || said && (doubt.After != strconv.Itoa(untold-1) || doubt.Before != strconv.Itoa(untold)) {
				t.Errorf("step %d untold, left out %v: near %s, far %s, in doubt %v", untold, skip, c.NearEnd, c.FarEnd, doubt)
			}
		}
	}
}

// A surface goes on from tile to tile; what lies in a gap alone, and amid tiles that lie nobody knows where, is noise. Alone amid
// others of the subject it may be a steep part of it, or an outline; so may a row that the law of blur hardly explains.
func TestWhatStandsInAGap(t *testing.T) {
	const w, h = 30, 20
	lying := func(place, cost float64, at ...[2]int) (all []held) {
		for _, c := range at {
			all = append(all, held{at: c[1]*w + c[0], place: place, sd: 0.5, cost: cost})
		}
		return all
	}
	var alone, row [][2]int
	for k := range 10 {
		alone = append(alone, [2]int{3 * k, 2 * (k % 9)})
		row = append(row, [2]int{5 + k, 7})
	}
	rest := func(but [][2]int) (all [][2]int) {
		for y := range h {
			for x := range w {
				if !slices.Contains(but, [2]int{x, y}) {
					all = append(all, [2]int{x, y})
				}
			}
		}
		return all
	}
	for _, c := range []struct {
		name        string
		tiles       []held
		stands, may float64
	}{
		{"ten that lie alone", lying(10, 1, alone...), 0, 0},
		{"a row of ten, but for its ends", lying(10, 1, row...), 8, 8},
		{"a row of ten, hardly explained", lying(10, 2.5, row...), 0, 0},
		{"a row of ten in a subject, hardly explained", append(lying(10, 2.5, row...), lying(3, 1, rest(row)...)...), 0, 8},
		{"ten that lie alone in a subject, but for one in a corner", append(lying(10, 1, alone...), lying(3, 1, rest(alone)...)...), 0, 9},
	} {
		if stands, may := (&ranks{tiles: c.tiles}).standing(8, 12, 2, w, h); math.Abs(stands-c.stands) > 0.1 || math.Abs(may-c.may) > 0.1 {
			t.Errorf("%s: %.1f stand there and %.1f may, want %.0f and %.0f", c.name, stands, may, c.stands, c.may)
		}
	}
	// A stack of which that is in doubt is not called covered, and the advice names the frames. A gap stays one.
	st := &Stack{frames: []*frame{{fingerprint: "a", number: 1}, {fingerprint: "b", number: 2}}}
	c := &session.Check{Verdict: session.VerdictUndecided, Frames: []session.FrameCheck{{Fingerprint: "a", Aligned: true}, {Fingerprint: "b", Aligned: true}}}
	doubt := &session.Gap{After: "a", Before: "b"}
	sound := &session.Check{Frames: c.Frames, NearEnd: session.EndClosed, FarEnd: session.EndClosed, LightSteady: true, SettingsSteady: true}
	gapped := *sound
	gapped.Gaps = []session.Gap{*doubt}
	if a, b, g := verdict(sound, nil), verdict(sound, doubt), verdict(&gapped, doubt); a != session.VerdictCovered || b != session.VerdictUndecided || g != session.VerdictGap {
		t.Errorf("sound: %s, in doubt: %s, gapped: %s", a, b, g)
	}
	if st.say(c, true, doubt); !strings.Contains(c.Advice.String(), "between frames 1 and 2") || c.Sure {
		t.Errorf("in doubt: %q, sure %v", c.Advice, c.Sure)
	}
}

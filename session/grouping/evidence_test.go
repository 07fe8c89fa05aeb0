package grouping

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/grouping/sameness"
	"stillbench/session/marker"
	"stillbench/session/plane"
)

// crispAt is a frame of a sloping table: crisp around so much of the way down, with so much noise
// in what is measured of it.
func crispAt(r *rand.Rand, place, noise float64) shot {
	const cells = 300
	v := &sameness.View{Crisp: make([]float32, cells)}
	for i := range v.Crisp {
		far := (float64(i)/cells - place) / 0.35
		v.Crisp[i] = float32(6*math.Exp(-far*far) + noise*r.NormFloat64())
	}
	return shot{Frame: &session.Frame{}, look: look{view: v, crispest: marker.Crispest(v)}}
}

// A stack in short steps that is run through once more in fainter light is known again though
// none of its frames is met again as well as its neighbours meet each other. One that goes on
// farther, and frames in which nothing is crisp, are no second run.
func TestRetraces(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 3))
		for _, c := range []struct {
			what           string
			from, to, dull float64 // of the second run
			want           bool
		}{
			{"back again", 1, 0, 1.2, true},
			{"from the beginning again", 0, 1, 1.2, true},
			{"farther", 1.1, 1.9, 1.2, false},
			{"nothing crisp any more", 5, 6, 1.2, false},
		} {
			s := &table{}
			var before, after []int
			for k := range 12 {
				before = append(before, len(s.shots))
				s.shots = append(s.shots, crispAt(r, float64(k)/11, 0.2))
			}
			for k := range 9 {
				after = append(after, len(s.shots))
				s.shots = append(s.shots, crispAt(r, c.from+(c.to-c.from)*float64(k)/8, c.dull))
			}
			if got := s.retraces(before, after); got != c.want {
				t.Errorf("seed %d, %s: %v", seed, c.what, got)
			}
		}
	}
}

// Nobody sets another aperture for a hand; a single beside it that has one says nothing when the
// frames beyond it have that of the hand.
func TestAHandHasTheSettingsOfTheFramesAround(t *testing.T) {
	p := pictures()
	r := new(roll).take(p.a[:]...).wait(40).take(p.b[2]).last(aperture(3.5)).wait(20).take(p.hand[0])
	s := newTable(New(), r.frames)
	chain := s.chains[0]
	d := newDecision(s, chain, s.links(chain), s.obey(nil))
	if v := d.otherSettings(7, 6, 8); v != 0 {
		t.Errorf("%g for a hand with the settings of the stack, beside a single wide open", v)
	}
	if v := d.otherSettings(6, 5, 7); v >= 0 {
		t.Errorf("%g for a frame wide open between others that are not", v)
	}
	r = new(roll).take(p.a[:]...).wait(40).take(p.hand[0]).last(aperture(3.5)).wait(30).take(p.b[2]).last(aperture(3.5)).wait(40).take(p.bright[:]...)
	s = newTable(New(), r.frames)
	chain = s.chains[0]
	d = newDecision(s, chain, s.links(chain), s.obey(nil))
	if v := d.otherSettings(6, 5, 7); v >= 0 {
		t.Errorf("%g for a frame wide open before a single wide open, which nobody marks", v)
	}
}

// Where the focus moves by so little from frame to frame that all are alike, it is told by the order in which they
// are whether it goes on behind a pause, begins anew or goes back.
func TestOnward(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 6))
		for _, c := range []struct {
			what     string
			from, to float64 // of the frames behind the pause
			want     bool
		}{
			{"goes on", 0.45, 0.54, true},
			{"begins anew", 0.35, 0.44, false},
			{"goes back", 0.44, 0.35, false},
			{"stands still", 0.44, 0.44, false},
		} {
			s := &table{}
			var before, after []int
			for k := range 10 {
				before = append(before, len(s.shots))
				s.shots = append(s.shots, crispAt(r, 0.35+0.01*float64(k), 0.05))
			}
			for k := range 6 {
				after = append(after, len(s.shots))
				s.shots = append(s.shots, crispAt(r, c.from+(c.to-c.from)*float64(k)/5, 0.05))
			}
			if got := s.onward(before, after); got != c.want {
				t.Errorf("seed %d, %s: %v", seed, c.what, got)
			}
			if c.what == "goes on" && !s.onward(before[6:], after) {
				t.Errorf("seed %d, %s behind four frames: false", seed, c.what)
			}
		}
	}
}

// Each step of a stack that is far out of focus may change the picture as much as another light would: the step
// behind a pause, which changes it no more, tells of none. One that changes it more does. Invented likenesses.
func TestLookAmongThoseOfTheRun(t *testing.T) {
	run := []link{{framing: 1.2, compared: true}, {framing: 2.3, compared: true}, {framing: 0.8, compared: true}, {framing: -1.3, compared: true}}
	for _, c := range []struct{ framing, want float64 }{{0.3, oddsSameLook}, {4, 4}} {
		l := link{framing: c.framing, compared: true, light: true}
		l.weighAmong(append(run, l))
		if l.framing != c.want || l.light != (c.want > 0) {
			t.Errorf("odds of %.1f became %.1f, another light %v", c.framing, l.framing, l.light)
		}
	}
	l := link{framing: 0.3, compared: true}
	if l.weighAmong(run[:2]); l.framing != 0.3 {
		t.Error("two steps tell what is usual")
	}
	// The pause stands before the fifth.
	p := pictures()
	s := newTable(New(), new(roll).take(p.a[:5]...).frames)
	links := append([]link{{}}, append(run[:3:3], link{framing: 0.3, compared: true})...)
	for k := 1; k < 5; k++ {
		links[k].gap = 4
	}
	links[4].gap = 300
	s.pauses(s.chains[0], links, verdict{marker: make([]bool, 5), cut: make([]bool, 5)})
	if links[4].framing != oddsSameLook {
		t.Errorf("behind a pause the look still says %.1f", links[4].framing)
	}
}

// By a clock of whole seconds a lamp is not moved within four, and may be within six (common practice).
func TestNobodyMovesALampSoSoon(t *testing.T) {
	pace := func(seconds float64) link { return link{gap: seconds, compared: true, light: true, framing: 2} }
	p := pictures()
	s := newTable(New(), new(roll).take(p.a[:]...).frames)
	for _, c := range []struct{ gap, want float64 }{{3, -3}, {4, -3}, {5, -2}, {6, -1}} {
		links := make([]link, 6)
		for k := 1; k < 6; k++ {
			links[k] = pace(c.gap)
		}
		s.pauses(s.chains[0], links, verdict{marker: make([]bool, 6), cut: make([]bool, 6), starts: make([]float64, 6)})
		if got := links[4].pause; math.Abs(got-c.want) > 0.01 {
			t.Errorf("%g seconds: %.2f", c.gap, got)
		}
	}
}

// A lamp that moved is seen through a change of exposure by a third of a stop, which a camera that chooses it makes again and
// again; the tones of a series of exposures, in steps of a stop and more, are not true enough to tell. Invented likenesses.
func TestSmallStepsHideNoLamp(t *testing.T) {
	moved := sameness.Likeness{Structure: 0.45, Shared: 0.6, Field: 0.3}
	for _, c := range []struct {
		steps float64
		light bool
	}{{1.0 / 3, true}, {-1.0 / 3, true}, {1.67, false}, {-1.67, false}} {
		l := link{like: moved, compared: true, bracket: true, steps: c.steps}
		l.weighLook()
		if l.light != c.light || l.light != (l.framing > 0) {
			t.Errorf("%.2f stops: odds %.1f, light %v", c.steps, l.framing, l.light)
		}
	}
}

// A hand as bright as the table before it may be one all the same where nothing of that table's
// structure is left; where the picture stays the same in both there is nothing before the lens.
func TestOtherEdgesAreAChange(t *testing.T) {
	edges := func(structure float64) link {
		l := link{compared: true, like: sameness.Likeness{Structure: structure, Shared: 0.1, Field: 0.1}}
		l.weighLook()
		return l
	}
	p := pictures()
	s := newTable(New(), new(roll).take(p.a[0], p.a[2], p.b[0]).frames)
	d := newDecision(s, s.chains[0], []link{{}, edges(0), edges(0)}, s.obey(nil))
	if !d.possible(0, 2) {
		t.Error("a frame with other edges than those beside it is held for none that may be a marker")
	}
	d.links = []link{{}, edges(0.9), edges(0.9)}
	if d.possible(0, 2) {
		t.Error("a frame like those beside it is held for a possible marker")
	}
}

// By a self-timer, or once more for safety, two frames are taken at each step. A stack goes on behind
// its last step whichever of the two the next one is a little more like.
func TestFocusGoesOnBehindPairs(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 5))
		s := &table{}
		var run []int
		for k := range 4 {
			for range 2 {
				run = append(run, len(s.shots))
				s.shots = append(s.shots, crispAt(r, float64(k)/11, 0.2))
			}
		}
		s.shots = append(s.shots, crispAt(r, 4.0/11, 0.2))
		if p, ok := s.focusIn(run, len(run)); !ok || p != 1 {
			t.Errorf("seed %d: place %g in the run, %v", seed, p, ok)
		}
	}
}

// The coarse edges of two lights may agree a little way off by chance: where the fine ones lie on the
// same spots nobody moved the camera.
func TestAside(t *testing.T) {
	p := pictures()
	for _, c := range []struct {
		what                   string
		structure, shift, spot float64
		same, aside            bool
	}{
		{"pushed aside", 0.35, 0.08, 0.3, true, true},
		{"in place, by the fine edges", 0.35, 0.08, 3, true, false},
		{"a breath of the lens", 0.35, 0.016, 0.3, true, false},
		{"barely alike, in place", 0.30, 0, 0.3, true, false},
		{"barely alike, and only a little way off", 0.30, 0.08, 0.3, false, true},
	} {
		s := newTable(New(), new(roll).take(p.a[2], p.b[2]).frames)
		key := [2]string{s.shots[0].Fingerprint, s.shots[1].Fingerprint}
		s.g.pairs[key] = sameness.Likeness{Structure: c.structure, Shared: 0.5, Field: 0.2, ShiftX: c.shift}
		s.g.spots[key] = c.spot
		got := s.composition(&run{frames: []int{0}}, &run{frames: []int{1}})
		if got.p > 0.5 != c.same || got.aside != c.aside {
			t.Errorf("%s: %+v", c.what, got)
		}
	}
}

// In a set-up so dark that noise is all there is to see, nothing speaks for another light or another
// framing, nor for a hand.
func TestBlackFramesStayTogether(t *testing.T) {
	for _, noise := range []float64{0, 0.0005, 0.002, 0.005} {
		r := rand.New(rand.NewPCG(6, 1))
		dark := new(roll)
		for range 6 {
			pic := plane.NewRGB(picW, picH)
			for i := range pic.Pix {
				pic.Pix[i] = plane.Encode8(float32(max(0, 0.001+noise*r.NormFloat64())))
			}
			dark.take(figures.Measure(pic)).wait(10)
		}
		s := newTable(New(), dark.frames)
		for k, l := range s.links(s.chains[0]) {
			if l.framing > 0 {
				t.Errorf("noise of %g, frame %d: odds of %.1f for another picture, %+v", noise, k, l.framing, l.like)
			}
		}
		if got := story(Group(dark.frames, nil, nil)); got != "stack 6" {
			t.Errorf("noise of %g: %s", noise, got)
		}
	}
}

// A photographer who takes each step as a burst is called away after the first: the focus goes on from
// there, so it is no look at something before the stack. A burst at a place in the midst of it is, and
// one in which next to nothing is crisp is none.
func TestFirstBurstBegins(t *testing.T) {
	for seed := range uint64(50) {
		for _, c := range []struct {
			place, crisp float64 // of the first burst
			want         float64 // its sign: for another stack, against one, or neither
		}{{0, 1, -1}, {0.6, 1, 1}, {0.6, 0.25, 0}} {
			r := rand.New(rand.NewPCG(seed, 7))
			s := &table{}
			var chain []int
			links := make([]link, 24)
			for k := range links {
				at, crisp := float64(k/3)/7, 1.0
				if k < 3 {
					at, crisp = c.place, c.crisp
				}
				chain = append(chain, k)
				shot := crispAt(r, at, 0.15)
				for i := range shot.view.Crisp {
					shot.view.Crisp[i] *= float32(crisp)
				}
				shot.crispest *= crisp
				s.shots = append(s.shots, shot)
				links[k].gap = 0.2
				if k%3 == 0 {
					links[k].gap = 5
				}
			}
			links[3].gap = 150
			for _, marked := range []bool{true, false} {
				want := c.want
				if !marked { // it may have been a look at it
					want = max(0, want)
				}
				links[3].pause = 0
				s.weighFocus(chain, links, 0, 3, len(chain), marked)
				if got := links[3].pause; got*want < 0 || (got == 0) != (want == 0) {
					t.Errorf("seed %d, the first burst at %g, as crisp as %g, behind a marker %v: log-odds of %.1f for another stack after it", seed, c.place, c.crisp, marked, got)
				}
			}
		}
	}
}

// A stack that goes on after a pause, with one of its first frames shot again at the end, is not run through
// once more.
func TestOneShotAgainRetracesNothing(t *testing.T) {
	for seed := range uint64(20) {
		r := rand.New(rand.NewPCG(seed, 4))
		s := &table{}
		var before, after []int
		for k := range 12 {
			before = append(before, len(s.shots))
			s.shots = append(s.shots, crispAt(r, float64(k)/11, 0.1))
		}
		for _, at := range []float64{1.02, 1.04, 1.06, 1.08, 0.1} {
			after = append(after, len(s.shots))
			s.shots = append(s.shots, crispAt(r, at, 0.1))
		}
		if s.retraces(before, after) {
			t.Errorf("seed %d: it is", seed)
		}
	}
}

// A hand after a frame of the stack's framing that was exposed otherwise is held against the stack,
// whose exposure it has; after a frame of another framing, against that.
func TestBesideIsExposedAlike(t *testing.T) {
	p := pictures()
	for _, c := range []struct {
		what   string
		single *session.Figures
		want   int
	}{{"of the same framing", dimmer(0.6, 0.25, 1), 1}, {"of another framing", p.b[3], 2}} {
		r := new(roll).take(p.a[2], p.a[3]).take(c.single).last(shutter(0.025)).wait(30).take(p.hand[0])
		s := newTable(New(), r.frames)
		d := newDecision(s, s.chains[0], s.links(s.chains[0]), s.obey(nil))
		if got := d.beside(3, 2, -1); got != c.want {
			t.Errorf("%s: held against frame %d, want %d", c.what, got, c.want)
		}
	}
}

// A camera chose the exposure where the picture came out as bright, as far as the tones of a dark one are true.
func TestMetered(t *testing.T) {
	for _, c := range []struct {
		steps, ev float64
		want      bool
	}{{-0.67, 0.67, true}, {-0.67, 0.42, true}, {-0.67, 0.3, false}, {-0.33, 0.12, true}, {-0.33, 0, false}, {-1, 1, false}} {
		if got := metered(sameness.Likeness{EV: c.ev}, c.steps); got != c.want {
			t.Errorf("%g stops by the settings, %g by the picture: %v", c.steps, c.ev, got)
		}
	}
}

// Two frames that show quite the same are no two hands, however much either looks like one: what they look like is
// seen once, and was photographed twice. Invented judgements.
func TestTheSameTwiceCountsOnce(t *testing.T) {
	p := pictures()
	s := newTable(New(), new(roll).take(p.a[0], p.b[2], p.b[2], p.a[1]).frames)
	for _, c := range []struct{ field float64 }{{0.02}, {0.8}} {
		same := link{compared: true, gap: 4, like: sameness.Likeness{Structure: 0.9, Shared: 0.5, Field: c.field}}
		d := newDecision(s, s.chains[0], []link{{}, {gap: 4}, same, {gap: 4}}, s.obey(nil))
		for k := 1; k < 3; k++ {
			d.judged[[3]int{k, 0, 3}] = marker.Judgement{LogOdds: 12, Emptied: 0.8}
		}
		if odds := d.another(2, 0, 3) + 12; (odds > 0) != (c.field > 0.1) {
			t.Errorf("fields that differ by %.2f stops: log-odds %.1f with its own", c.field, odds)
		}
	}
}

// A second run is told by its turn alone where the steps are so short that no frame differs much from any other,
// and where so many frames at the end hardly differ that half of them are more than half of the way.
func TestRetracesInTurn(t *testing.T) {
	for seed := range uint64(100) {
		r := rand.New(rand.NewPCG(seed, 8))
		short := func(k int) float64 { return 0.4 + 0.004*float64(k) }                     // of 15
		crowded := func(k int) float64 { return min(float64(k)/10, 0.9+0.004*float64(k)) } // of 22
		for _, c := range []struct {
			what     string
			frames   int
			at       func(k int) float64
			from, to float64 // of the second run
			want     bool
		}{
			{"short steps, back", 15, short, short(14), short(0), true},
			{"short steps, from the beginning", 15, short, short(0), short(14), true},
			{"short steps, farther", 15, short, short(15), short(28), false},
			{"short steps, standing still", 15, short, short(7), short(7), false},
			{"crowded at the end, back from before that", 22, crowded, 0.85, 0.05, true},
			{"crowded at the end, farther", 22, crowded, crowded(22), crowded(28), false},
		} {
			s := &table{}
			var before, after []int
			for k := range c.frames {
				before = append(before, len(s.shots))
				s.shots = append(s.shots, crispAt(r, c.at(k), 0.03))
			}
			for k := range 7 {
				after = append(after, len(s.shots))
				s.shots = append(s.shots, crispAt(r, c.from+(c.to-c.from)*float64(k)/6, 0.03))
			}
			if got := s.retraces(before, after); got != c.want {
				t.Errorf("seed %d, %s: %v", seed, c.what, got)
			}
		}
	}
}

// Two frames and, long after them, more: where those lie beyond the second as seen from the first, somebody was called away
// from a stack just begun, though its first frame was shot again at the end. Where the second lies amid them, both
// were looks at it, and so they were where the stack has both again.
func TestCalledAwayAfterTheSecondFrame(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 9))
		for _, c := range []struct {
			what string
			at   []float64
			goes bool
		}{
			{"goes on, the first again at the end", []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0}, true},
			{"goes on from far to near", []float64{1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4}, true},
			{"goes on by wide steps, the last again at once", []float64{0, 0.25, 0.5, 0.75, 1, 1}, true},
			{"the stack goes the other way", []float64{0.5, 0.7, 0.4, 0.3, 0.2, 0.1, 0}, false},
			{"the second lies amid the stack", []float64{0.2, 0.5, 0.1, 0.3, 0.5, 0.7, 0.9}, false},
			{"the stack has both", []float64{0, 0.1, 0, 0.1, 0.2, 0.3, 0.4, 0.5}, false},
			{"the stack comes from the other end", []float64{0.2, 0.4, 1, 0.8, 0.6, 0.4, 0.2, 0}, false},
		} {
			s := &table{}
			var chain []int
			links := make([]link, len(c.at))
			for k, at := range c.at {
				chain, links[k] = append(chain, k), link{gap: 4}
				s.shots = append(s.shots, crispAt(r, at, 0.1))
			}
			links[2] = link{gap: 300, pause: 4}
			s.weighFocus(chain, links, 0, 2, len(chain), false)
			if goes := links[2].pause < 1; goes != c.goes {
				t.Errorf("seed %d, %s: %.1f", seed, c.what, links[2].pause)
			}
		}
	}
}

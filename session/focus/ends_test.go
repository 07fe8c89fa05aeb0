package focus

import (
	"math"
	"strings"
	"testing"

	"stillbench/session"
	"stillbench/session/focus/relief"
)

// An end is open where an area lies past it, closed where what lies there is known not to, and neither where an area may as well
// lie past it: "covered" said of that would cost the picture. Single tiles and outlines are no area.
func TestAnEndInDoubtIsNotClosed(t *testing.T) {
	const w, h = 20, 12
	for _, c := range []struct {
		name  string
		part  func(x, y int) bool
		above float64 // twice the logarithm of the likelihood ratio for lying past the last frame
		want  session.End
	}{
		{"an area past it", func(x, y int) bool { return x < 6 && y < 5 }, 3, session.EndOpen},
		{"an area before it", func(x, y int) bool { return x < 6 && y < 5 }, -4, session.EndClosed},
		{"an area that may be either", func(x, y int) bool { return x < 6 && y < 5 }, -0.5, session.EndUnknown},
		{"a line of tiles that may be either", func(x, y int) bool { return y == 5 }, -0.5, session.EndClosed},
		{"tiles here and there that may be either", func(x, y int) bool { return x%3 == 0 && y%3 == 0 }, -0.5, session.EndClosed},
	} {
		p := &places{ev: &evidence{n: 5, tw: w}, s: []float64{0, 1, 2, 3, 4}, skip: make([]bool, 5), circle: 1}
		a := &analysis{tw: w, th: h, circle: 1, places: p}
		r := &ranks{s: p.s, sd: make([]float64, 5), order: []int{0, 1, 2, 3, 4}}
		for at := range w * h {
			f := tileFit{ok: true, place: 2, sd: 0.2, cost: 1, below: math.Inf(-1), above: math.Inf(-1)}
			if c.part(at%w, at/w) {
				f.place, f.sd, f.above = 4.5, 1.2, c.above
			}
			p.ev.tiles = append(p.ev.tiles, tileEvidence{at: at, fit: f})
			r.tiles = append(r.tiles, held{at: at, place: f.place, sd: f.sd})
		}
		for _, flip := range []bool{false, true} {
			r.flip = flip
			got := &session.Check{}
			(&Stack{}).tellEnds(got, a, r)
			near, far := session.EndClosed, c.want
			if flip {
				near, far = far, near
			}
			if got.NearEnd != near || got.FarEnd != far {
				t.Errorf("%s: near %v, far %v; want %v, %v", c.name, got.NearEnd, got.FarEnd, near, far)
			}
		}
	}
}

// Blur alone does not tell near from far. Breathing does (thin lens: what is focused nearer is drawn larger): the advice then says
// which way to turn. Without it, and without focus distances, what it says must hold for either end.
func TestAdviceWhereNearAndFarAreNotKnown(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 4, func(x, y float64) float64 { return testCircle * 12 * (1 - y) })
	places := []float64{6, 8, 10, 12}
	for _, breathing := range []float64{0, 0.002} {
		c := shoot(t, s, places, func(i int, shot *relief.Shot) {
			shot.Move.Scale = 1 - breathing*(places[i]-places[2])
		}).Check(testOptions)
		want, says := "Go on past frame 1.", "away from the other frames"
		if breathing > 0 {
			want, says = "Start nearer.", "turn the focus nearer"
		}
		if c.Verdict != session.VerdictNearOpen || c.Headline.String() != want || !strings.Contains(c.Advice.String(), says) {
			t.Errorf("breathing %g: %s, %q, %q", breathing, c.Verdict, c.Headline, c.Advice)
		}
	}
	// Shot from the far end, by a lens that breathes: or from the near one, by a lens that breathes the other way.
	back := []float64{12, 10, 8, 6}
	c := shoot(t, s, back, func(i int, shot *relief.Shot) { shot.Move.Scale = 1 - 0.002*(back[i]-back[2]) }).Check(testOptions)
	if c.Verdict != session.VerdictNearOpen || c.Headline.String() != "Go on past frame 4." {
		t.Errorf("breathing against the order of shooting: %s, %q", c.Verdict, c.Headline)
	}
}

// What lies far out of focus past one end alone is the ground behind the subject, whichever way the stack was shot. With breathing as a
// thin lens has it that is known; where the lens draws the other way, the two contradict each other.
func TestGroundLiesBehind(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 4, func(x, y float64) float64 {
		if y < 0.4 {
			return testCircle * 32
		}
		return testCircle * 12 * (1 - y) / 0.6
	})
	places := []float64{12, 10, 8, 6}
	for _, c := range []struct {
		breathing float64
		known     bool
	}{{0, false}, {0.002, true}, {-0.0005, false}} {
		got := shoot(t, s, places, func(i int, shot *relief.Shot) {
			shot.Move.Scale = 1 - c.breathing*(places[i]-places[2])
		}).Check(testOptions)
		if got.NearKnown != c.known || c.breathing >= 0 && (got.NearEnd != session.EndOpen || got.FarEnd != session.EndClosed) {
			t.Errorf("breathing %g: near end %s, far end %s, known %v", c.breathing, got.NearEnd, got.FarEnd, got.NearKnown)
		}
	}
}

// The bench's own truth: an end is open where a part worth having is lost past it, from 1.5 circles of confusion on as between two frames, and neither
// answer is wrong within 15 % of that.
func TestWhereTheBenchHasAnOpenEnd(t *testing.T) {
	for seed, want := range map[uint64]bool{92211: false, 92217: true} {
		s := relief.MakeTable(seed)
		if s.Truth.FarOpen != want || s.Truth.FarUnclear == want {
			t.Errorf("%s: far end open %v, unclear %v", s, s.Truth.FarOpen, s.Truth.FarUnclear)
		}
	}
}

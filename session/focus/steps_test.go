package focus

import (
	"math"
	"slices"
	"testing"
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

// A surface goes on from tile to tile; what lies alone in a gap is noise, and what the law of blur does not explain an outline.
func TestWhatLiesAloneIsNoGap(t *testing.T) {
	const w, h = 30, 20
	lying := func(at ...[2]int) *ranks {
		r := &ranks{}
		for _, c := range at {
			r.tiles = append(r.tiles, held{at: c[1]*w + c[0], place: 10, sd: 0.5, cost: 1})
		}
		return r
	}
	var alone, row [][2]int
	for k := range 10 {
		alone = append(alone, [2]int{3 * k, 2 * (k % 9)})
		row = append(row, [2]int{5 + k, 7})
	}
	if n := lying(alone...).standing(8, 12, 2, w, h); n != 0 {
		t.Errorf("ten that lie alone count as %.1f", n)
	}
	if n := lying(row...).standing(8, 12, 2, w, h); n < 7.9 || n > 8.1 {
		t.Errorf("a row of ten counts as %.1f, want the 8 between two others", n)
	}
	if n := lying(row...).standing(8, 12, 0.5, w, h); n != 0 {
		t.Errorf("a row of ten that is hardly explained counts as %.1f", n)
	}
}

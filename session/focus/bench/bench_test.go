package bench

import (
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"stillbench/session"
	"stillbench/session/focus"
)

// tally counts right and wrong answers to one question.
type tally struct{ hit, miss, false_, none int }

func (t *tally) count(truth, said bool) {
	switch {
	case truth && said:
		t.hit++
	case truth:
		t.miss++
	case said:
		t.false_++
	default:
		t.none++
	}
}

func ratio(a, b int) float64 {
	if b == 0 {
		return math.NaN()
	}
	return float64(a) / float64(b)
}

func (t *tally) recall() float64    { return ratio(t.hit, t.hit+t.miss) }
func (t *tally) precision() float64 { return ratio(t.hit, t.hit+t.false_) }

func (t *tally) String() string {
	return fmt.Sprintf("recall %.3f (%d of %d), precision %.3f (%d false in %d)", t.recall(), t.hit, t.hit+t.miss, t.precision(), t.false_, t.false_+t.none)
}

// score is the judgement over many stacks.
type score struct {
	gap, near, far, blurred, light tally
	wrongCovered, trulyGapped      int
	order                          []float64
	aligned                        []float64
	wrong                          []string
}

func (sc *score) add(s *stack, c *session.Check) {
	said := map[[2]int]bool{}
	for _, g := range c.Gaps {
		a, _ := strconv.Atoi(g.After)
		b, _ := strconv.Atoi(g.Before)
		said[[2]int{min(a, b), max(a, b)}] = true
	}
	note := func(what string, truth, says bool) {
		if truth != says {
			sc.wrong = append(sc.wrong, fmt.Sprintf("%s: %s is %v, said %v", s, what, truth, says))
		}
	}
	all := map[[2]int]bool{}
	for g := range s.truth.gaps {
		all[g] = true
	}
	for g := range said {
		all[g] = true
	}
	for g := range all {
		sc.gap.count(s.truth.gaps[g], said[g])
		note(fmt.Sprint("gap ", g), s.truth.gaps[g], said[g])
	}
	if len(all) == 0 {
		sc.gap.count(false, false)
	}
	sc.near.count(s.truth.nearOpen, c.NearEnd == session.EndOpen)
	note("near open", s.truth.nearOpen, c.NearEnd == session.EndOpen)
	sc.far.count(s.truth.farOpen, c.FarEnd == session.EndOpen)
	note("far open", s.truth.farOpen, c.FarEnd == session.EndOpen)
	for i, f := range c.Frames {
		sc.blurred.count(i == s.truth.blurred, f.Blurred)
		note(fmt.Sprintf("blurred %d (%.1f px, said %.1f)", i, s.truth.smear, f.BlurPixels), i == s.truth.blurred, f.Blurred)
	}
	sc.light.count(s.truth.light, !c.LightSteady)
	note("light", s.truth.light, !c.LightSteady)
	if len(s.truth.gaps) > 0 {
		sc.trulyGapped++
		if c.Verdict == session.VerdictCovered {
			sc.wrongCovered++
		}
	}
	var x, y []float64
	for i, f := range c.Frames {
		if f.Place == nil {
			x = nil
			break
		}
		x, y = append(x, *f.Place), append(y, s.truth.rank[i])
	}
	rho := 0.0
	if x != nil {
		rho = spearman(x, y)
	}
	if rho < 0.99 {
		sc.wrong = append(sc.wrong, fmt.Sprintf("%s: order %.3f", s, rho))
	}
	sc.order = append(sc.order, rho)
}

// spearman is the rank correlation (C. Spearman, 1904).
func spearman(a, b []float64) float64 {
	ra, rb := rank(a), rank(b)
	n := float64(len(a))
	d := 0.0
	for i := range ra {
		d += sq(ra[i] - rb[i])
	}
	return 1 - 6*d/(n*(n*n-1))
}

func rank(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		for j := range v {
			if v[j] < v[i] {
				out[i]++
			}
		}
	}
	return out
}

func check(s *stack) *session.Check {
	var st focus.Stack
	for _, f := range s.frames {
		if err := st.Add(f); err != nil {
			panic(err)
		}
	}
	return st.Check(focus.Options{})
}

func TestDev(t *testing.T) {
	from, _ := strconv.Atoi(os.Getenv("FROM"))
	to, _ := strconv.Atoi(os.Getenv("TO"))
	if to == 0 {
		t.Skip("set FROM and TO to the seeds to be looked at")
	}
	var sc score
	for seed := from; seed < to; seed += 2 {
		s := recipe(uint64(seed))
		c := check(s)
		before := len(sc.wrong)
		sc.add(s, c)
		t.Log(s, "->", c.Verdict, c.Headline, c.NearEnd, c.FarEnd)
		for _, w := range sc.wrong[before:] {
			t.Log("   WRONG", w)
		}
	}
	mean := 0.0
	for _, r := range sc.order {
		mean += r / float64(len(sc.order))
	}
	t.Logf("gap %v\nnear %v\nfar %v\nblurred %v\nlight %v\nfalse covered %d of %d\norder %.4f", &sc.gap, &sc.near, &sc.far, &sc.blurred, &sc.light, sc.wrongCovered, sc.trulyGapped, mean)
}

package focus

import (
	"flag"
	"fmt"
	"math"
	"strconv"
	"testing"

	"stillbench/session"
	"stillbench/session/focus/relief"
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
	gap, near, far, blurred, moved, light tally
	wrongCovered, trulyGapped             int
	order                                 []float64
	wrong                                 []string
}

func (sc *score) add(s *relief.Stack, c *session.Check) {
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
	for g := range s.Truth.Gaps {
		all[g] = true
	}
	for g := range said {
		all[g] = true
	}
	for g := range s.Truth.Unclear {
		delete(all, g)
	}
	for g := range all {
		sc.gap.count(s.Truth.Gaps[g], said[g])
		note(fmt.Sprint("gap ", g), s.Truth.Gaps[g], said[g])
	}
	if len(all) == 0 {
		sc.gap.count(false, false)
	}
	if !s.Truth.NearUnclear {
		sc.near.count(s.Truth.NearOpen, c.NearEnd == session.EndOpen)
		note("near open", s.Truth.NearOpen, c.NearEnd == session.EndOpen)
	}
	if !s.Truth.FarUnclear {
		sc.far.count(s.Truth.FarOpen, c.FarEnd == session.EndOpen)
		note("far open", s.Truth.FarOpen, c.FarEnd == session.EndOpen)
	}
	for i, f := range c.Frames {
		sc.blurred.count(i == s.Truth.Blurred, f.Blurred)
		note(fmt.Sprintf("blurred %d (%.1f px, said %.1f)", i, s.Truth.BlurPX, f.BlurPixels), i == s.Truth.Blurred, f.Blurred)
		if i == s.Truth.Moved+1 && s.Truth.Moved >= 0 && s.Truth.MovedBack {
			continue // it moved back: either answer is right
		}
		sc.moved.count(i == s.Truth.Moved, f.Moved)
		note(fmt.Sprintf("moved %d (%.1f px)", i, s.Truth.MovedPX), i == s.Truth.Moved, f.Moved)
	}
	sc.light.count(s.Truth.Light, !c.LightSteady)
	note("light", s.Truth.Light, !c.LightSteady)
	if len(s.Truth.Gaps) > 0 {
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
		x, y = append(x, *f.Place), append(y, s.Truth.Places[i])
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

// spearman is the rank correlation (C. Spearman, 1904); equal values share the mean of their ranks.
func spearman(a, b []float64) float64 { return correlation(rank(a), rank(b)) }

func rank(v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		for j := range v {
			switch {
			case v[j] < v[i]:
				out[i]++
			case v[j] == v[i] && j != i:
				out[i] += 0.5
			}
		}
	}
	return out
}

func check(s *relief.Stack) *session.Check {
	var st Stack
	for i, p := range s.Pictures {
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			panic(err)
		}
	}
	return st.Check(Options{CircleOfConfusion: relief.CircleOfConfusion})
}

// full makes the bench judge ten stacks of each fault; without it, one. It takes half an hour.
var full = flag.Bool("full", false, "judge all the stacks of the bench, not a tenth")

// Seeds below these were looked at while the method and its thresholds were found, or reported: of reliefs 81000 to 85565 and
// 90000 to 90509, of tables 82000 to 83059, 84000 to 84011, 85000 to 85005, 90400 to 90483, 91000 to 91147, 92100 to 92371 and 93100 to
// 93111, and 95000 to 95007; those from 90000 to 94999 are for tuning. The figures that are reported come from these, a whole number of
// rounds through the faults.
const (
	firstReported = 85600
	benchRounds   = 10
)

// BenchmarkVerdict judges made-up stacks that nothing was tuned on, and gives the figures.
func BenchmarkVerdict(b *testing.B) {
	b.Run("reliefs", func(b *testing.B) { judge(b, filed(relief.Make), len(relief.Faults)) })
	b.Run("tables", func(b *testing.B) { judge(b, filed(relief.MakeTable), len(relief.TableFaults)) })
}

// filed are stacks as a camera's files would hold them, of JPEG qualities from 86 to 97.
func filed(make func(seed uint64) *relief.Stack) func(seed uint64) *relief.Stack {
	return func(seed uint64) *relief.Stack {
		s := make(seed)
		for i, p := range s.Pictures {
			s.Pictures[i] = relief.Coded(p, 86+int(seed*5%12))
		}
		return s
	}
}

// judge scores the stacks that are made of the reported seeds: as many in a row as there are faults are a round.
func judge(b *testing.B, make func(seed uint64) *relief.Stack, faults int) {
	rounds := 1
	if *full {
		rounds = benchRounds
	}
	var sc score
	for b.Loop() {
		if sc.order != nil {
			continue // once is enough: nothing here is random
		}
		for k := range rounds * faults {
			s := make(uint64(firstReported + k))
			sc.add(s, check(s))
		}
	}
	sc.report(b)
}

// report prints the figures, and everything that was judged wrongly.
func (sc *score) report(b *testing.B) {
	for _, w := range sc.wrong {
		b.Log(w)
	}
	for _, q := range []struct {
		name string
		t    *tally
	}{
		{"gap", &sc.gap}, {"near end open", &sc.near}, {"far end open", &sc.far}, {"blurred", &sc.blurred},
		{"moved", &sc.moved}, {"light", &sc.light},
	} {
		b.Logf("%s: %v", q.name, q.t)
	}
	b.Logf("frames called blurred that are not: %.4f", ratio(sc.blurred.false_, sc.blurred.false_+sc.blurred.none))
	b.Logf("called covered though gapped: %d of %d", sc.wrongCovered, sc.trulyGapped)
	order := 0.0
	for _, r := range sc.order {
		order += r / float64(len(sc.order))
	}
	b.Logf("order: rank correlation %.4f, mean of %d", order, len(sc.order))
	b.ReportMetric(sc.gap.recall(), "gap-recall")
	b.ReportMetric(sc.gap.precision(), "gap-precision")
	b.ReportMetric(sc.blurred.recall(), "blurred-recall")
	b.ReportMetric(ratio(sc.wrongCovered, sc.trulyGapped), "wrongly-covered")
	b.ReportMetric(order, "order-correlation")
}

package grouping

import (
	"cmp"
	"encoding/gob"
	"flag"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/grouping/sameness"
	"stillbench/session/marker"
)

var fit = flag.String("fit", "", "`folder` of sessions with their truth, as the bench keeps them, to fit the weights of markers to")

// photographed is the first seed of the bench's sessions of photographs.
const photographed = 80000

// example is a frame as a possible marker between the content frames beside it.
type example struct {
	seed     uint64
	isMarker bool
	rest     float64 // log-odds that its place and time add
	hiding   []float64
	dimming  []float64 // nil without a neighbour of like exposure
}

// weights are those of marker.Judgement's Hiding and of Dimming.
type weights struct{ hiding, dimming []float64 }

// TestFit prints weights such as package marker holds, made anew: a logistic regression over
// sessions whose truth is known. How many it gets wrong is counted on sessions with odd seeds
// by weights from even ones and the reverse.
//
//	go test ./session/grouping/bench -full -cache DIR -timeout 120m -run 'Tuning|Real|HandsBetween'
//	go test ./session/grouping -v -run TestFit -fit DIR
func TestFit(t *testing.T) {
	if *fit == "" {
		t.Skip("needs the sessions of the bench; -fit names their folder")
	}
	names, err := filepath.Glob(filepath.Join(*fit, "session*.gob"))
	if err != nil || len(names) == 0 {
		t.Fatalf("no sessions in %s", *fit)
	}
	var all []example
	for _, name := range names {
		all = append(all, examples(t, name)...)
	}
	var half [2][]example
	for _, e := range all {
		half[e.seed%2] = append(half[e.seed%2], e)
	}
	wrong := 0
	for k := range half {
		w := regress(half[1-k])
		for _, e := range half[k] {
			if odds, _ := w.odds(&e); (odds > 0) != e.isMarker {
				wrong++
			}
		}
	}
	t.Logf("%d frames that may be markers, %d wrong by the weights of the other half", len(all), wrong)
	w := regress(all)
	t.Logf("hiding  %.1f", w.hiding)
	t.Logf("dimming %.1f", w.dimming)
}

// examples reads a session that the bench has kept, and holds every frame of it that may be a
// marker between the nearest frames that are none.
func examples(t *testing.T, name string) []example {
	var made struct {
		Seed   uint64
		Frames []session.Frame
		Truth  []struct{ Kind session.Kind }
	}
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := gob.NewDecoder(f).Decode(&made); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	isMarker := map[string]bool{}
	for i, f := range made.Frames {
		isMarker[f.Fingerprint] = made.Truth[i].Kind == session.KindMarker
	}
	slices.SortFunc(made.Frames, func(a, b session.Frame) int { return cmp.Compare(a.Name, b.Name) })
	s := newTable(New(), Order(made.Frames))
	var out []example
	for _, chain := range s.chains {
		links := s.links(chain)
		d := newDecision(s, chain, links, s.obey(nil))
		s.pauses(chain, links, d.decide())
		is := func(k int) bool { return isMarker[s.shots[chain[k]].Fingerprint] }
		for k := range chain {
			a, b := k-1, k+1
			for a >= 0 && is(a) {
				a--
			}
			for b < len(chain) && is(b) {
				b++
			}
			j := d.judge(k, a, b)
			if math.IsInf(j.LogOdds, 0) || !is(k) && !d.possible(a, b) {
				continue
			}
			e := example{seed: made.Seed, isMarker: is(k), hiding: j.Hiding()}
			// Against the reading in which the frame is none and the rest is as it is.
			e.rest = d.asMarkers(a, b) - j.LogOdds
			for _, side := range [...][2]int{{a, k}, {k, b}} {
				if side[1] > side[0]+1 {
					e.rest -= d.asMarkers(side[0], side[1])
				}
			}
			e.rest = clamp(e.rest, -12, 12)
			if j.Veil != nil {
				e.dimming = marker.Dimming(*j.Veil, j.Covered)
			}
			out = append(out, e)
		}
	}
	return out
}

// odds are those for a marker, with the share of them that hiding has.
func (w *weights) odds(e *example) (odds, hides float64) {
	h, d := sum(w.hiding, e.hiding), math.Inf(-1)
	if e.dimming != nil {
		d = sum(w.dimming, e.dimming)
	}
	odds = logAdd(h, d)
	return odds + e.rest, math.Exp(h - odds)
}

// regress maximises the likelihood of the examples, with a slight pull to 0, by steps along the
// gradient whose length is adapted to every weight (D. P. Kingma, J. Ba, "Adam: A Method for
// Stochastic Optimization", ICLR 2015).
func regress(list []example) *weights {
	const rounds, pull = 1500, 0.02
	n, m := len(marker.Judgement{}.Hiding()), len(marker.Dimming(sameness.Veil{}, 0))
	all := make([]float64, n+m)
	all[n], all[n+1], all[n+3] = -5, -3, 3 // smooth and darker: else both begin as one and the same
	w := &weights{all[:n], all[n:]}
	mean, square := make([]float64, n+m), make([]float64, n+m)
	for round := 1; round <= rounds; round++ {
		slope := make([]float64, n+m)
		for i := range list {
			e := &list[i]
			odds, hides := w.odds(e)
			miss := sigmoid(odds)
			if e.isMarker {
				miss--
			}
			if e.seed >= photographed {
				miss *= 2 // they are few, and the real thing
			}
			for k, x := range e.hiding {
				slope[k] += miss * hides * x
			}
			for k, x := range e.dimming {
				slope[n+k] += miss * (1 - hides) * x
			}
		}
		rate := 0.15 * min(1, 2*float64(rounds-round)/rounds)
		for k := range all {
			if k != 0 && k != n {
				slope[k] += pull * all[k]
			}
			mean[k] = 0.9*mean[k] + 0.1*slope[k]
			square[k] = 0.999*square[k] + 0.001*slope[k]*slope[k]
			all[k] -= rate * mean[k] / (1 - math.Pow(0.9, float64(round))) / (math.Sqrt(square[k]/(1-math.Pow(0.999, float64(round)))) + 1e-6)
		}
	}
	return w
}

func sum(w, x []float64) float64 {
	s := 0.0
	for k, v := range w {
		s += v * x[k]
	}
	return s
}

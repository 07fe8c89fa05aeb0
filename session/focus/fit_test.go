package focus

import (
	"flag"
	"fmt"
	"math"
	"testing"

	"stillbench/session/focus/relief"
)

var fit = flag.String("fit", "", "`from-to`, seeds of made-up stacks to fit the weights of blurred frames to, such as 93100-93199")

// firstLook is what speaks for a blur of a frame while all frames are still leant on, and whether it is blurred.
type firstLook struct {
	terms
	blurred bool
}

// TestFit prints weights such as oddsOf holds, made anew: a logistic regression over the frames of made-up
// stacks by all recipes. How many it gets wrong is counted on stacks with odd seeds by weights from even ones and the reverse, beside
// what the weights that are in use get wrong.
//
//	go test ./session/focus -v -timeout 3h -run TestFit -fit 93100-93199
func TestFit(t *testing.T) {
	if *fit == "" {
		t.Skip("takes minutes for every hundred stacks; -fit names their seeds")
	}
	var from, to uint64
	if _, err := fmt.Sscanf(*fit, "%d-%d", &from, &to); err != nil || to < from || from <= firstReported+999 && to >= firstReported {
		t.Fatalf("%q are no seeds to tune on", *fit)
	}
	var half [2][]firstLook
	for seed := from; seed <= to; seed++ {
		for _, make := range []func(seed uint64) *relief.Stack{relief.Make, relief.MakeTable, relief.MakeFlawedTable} {
			half[seed%2] = append(half[seed%2], lookAt(filed(make)(seed))...)
		}
	}
	var ours, theirs tally
	for k := range half {
		w := regress(half[1-k])
		for _, l := range half[k] {
			ours.count(l.blurred, l.weigh(w) > oddsSaid)
			theirs.count(l.blurred, l.weigh(oddsOf) > oddsSaid)
		}
	}
	t.Logf("weights of the other half: %v", &ours)
	t.Logf("weights in use:            %v", &theirs)
	t.Logf("weights of all: %.2f", regress(append(half[0], half[1]...)))
}

// lookAt looks at the frames of a stack for the first time.
func lookAt(made *relief.Stack) (out []firstLook) {
	var s Stack
	for i, p := range made.Pictures {
		if err := s.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			panic(err)
		}
	}
	a := s.analyse(&Options{CircleOfConfusion: relief.CircleOfConfusion}, nil)
	all, _ := s.blurs(a)
	for k := range all {
		t := all[k].terms(a.places.usual(all, k), s.frames[a.in[k]].full)
		// A sound frame beside a blurred one is judged again without it.
		if spoilt := a.in[k] == made.Truth.Blurred; spoilt || made.Truth.Blurred < 0 {
			out = append(out, firstLook{t, spoilt})
		}
	}
	return out
}

// regress maximises the likelihood of what was seen, with a slight pull to 0, by Newton's method (iteratively reweighted
// least squares: P. McCullagh and J. A. Nelder, "Generalized linear models", 1989, 2.5).
func regress(list []firstLook) (w terms) {
	const rounds, pull = 30, 0.1
	for range rounds {
		curve := square(len(w))
		var slope terms
		for k := range w {
			curve[k][k] = pull
			slope[k] = -pull * w[k]
		}
		for _, l := range list {
			p := 1 / (1 + math.Exp(-l.weigh(w)))
			miss := -p
			if l.blurred {
				miss++
			}
			for k, x := range l.terms {
				slope[k] += miss * x
				for j, y := range l.terms {
					curve[k][j] += p * (1 - p) * x * y
				}
			}
		}
		inverse := invert(curve)
		for k := range w {
			for j := range w {
				w[k] += min(max(inverse[k][j]*slope[j], -20), 20)
			}
		}
	}
	return w
}

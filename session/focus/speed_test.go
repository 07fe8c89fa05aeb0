package focus

import (
	"fmt"
	"testing"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// BenchmarkFrame takes in a frame at the size that a 45-megapixel file is decoded to (a
// quarter: 2048 x 1366), and says the verdict on a stack of 30.
func BenchmarkFrame(b *testing.B) {
	const w, h, n = 2048, 1366, 30
	s := relief.New(relief.Fine, w, h, 1, func(x, y float64) float64 { return 2 * (n - 1) * (1 - y) })
	var st Stack
	var last *plane.RGB
	for i := range n {
		last = s.Shoot(relief.Shot{Place: 2 * float64(i), Noise: relief.ISO(200), Seed: uint64(i)})
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: last}); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("add", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			grown := Stack{frames: append([]*frame(nil), st.frames[:n-1]...), floors: st.floors}
			for _, f := range grown.frames[n-1-keptToAlign+1:] {
				if f.align == nil {
					b.Fatal("not kept")
				}
			}
			if err := grown.Add(Frame{Picture: last}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("check", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			st.Check(Options{})
		}
	})
}

// BenchmarkVerdict judges made-up stacks that nothing was tuned on, and gives the figures.
func BenchmarkVerdict(b *testing.B) {
	var sc score
	for b.Loop() {
		if sc.order != nil {
			continue // once is enough: nothing here is random
		}
		for seed := firstReported; seed < firstReported+benchStacks; seed++ {
			s := relief.Make(seed)
			sc.add(s, check(s))
		}
	}
	sc.report(b)
}

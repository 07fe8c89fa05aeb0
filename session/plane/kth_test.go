package plane

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Kth gives what stands there once all are sorted, with values that occur more than once among them.
func TestKthAgainstSorting(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for n := 1; n < 60; n++ {
		values := make([]float32, n)
		for i := range values {
			values[i] = float32(r.IntN(1 + n/2))
		}
		sorted := slices.Sorted(slices.Values(values))
		for k := range n {
			if got := Kth(slices.Clone(values), k); got != sorted[k] {
				t.Fatalf("of %v the one at %d is %g, want %g", values, k, got, sorted[k])
			}
		}
	}
}

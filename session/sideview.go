package session

import (
	"cmp"
	"slices"
)

// NumberElevations gives at which elevations, in degrees, the numbers of lights are written in a
// drawing from the side, where all stand on one arc: each at its light's or, where lights stand
// closer than apart degrees, as near to that as may be (least squares) with their order kept. None
// is above 90, none farther than apart below the table or the lowest light. Where an arc
// has too many, they stand closer.
func NumberElevations(lights []Light, apart float64) []float64 {
	n := len(lights)
	out := make([]float64, n)
	if n == 0 {
		return out
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(lights[a].ElevationDeg, lights[b].ElevationDeg) })
	lo, hi := min(lights[order[0]].ElevationDeg, 0)-apart, 90.0
	if n > 1 {
		apart = min(apart, (hi-lo)/float64(n-1))
	}
	// With so much taken off as those before them need, numbers must only not fall. Neighbours
	// that would are pooled at their mean (pool adjacent violators: Ayer et al., Annals
	// of Mathematical Statistics 26(4), 1955).
	type pool struct {
		mean float64
		n    int
	}
	var pools []pool
	for at, i := range order {
		p := pool{lights[i].ElevationDeg - float64(at)*apart, 1}
		for len(pools) > 0 && pools[len(pools)-1].mean >= p.mean {
			last := pools[len(pools)-1]
			pools = pools[:len(pools)-1]
			n := last.n + p.n
			p = pool{(last.mean*float64(last.n) + p.mean*float64(p.n)) / float64(n), n}
		}
		pools = append(pools, p)
	}
	at := 0
	for _, p := range pools {
		for range p.n {
			out[order[at]] = min(max(p.mean, lo), hi-float64(n-1)*apart) + float64(at)*apart
			at++
		}
	}
	return out
}

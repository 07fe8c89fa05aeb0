package focus

import (
	"math"
	"slices"
)

const (
	reliable = -3.0 // ln of a loss of energy up to which it tells a diameter
	enough   = 4    // readings that make a distance
)

// start gives the frames first places: distances between frames from what they leave of
// each other's sharpest tiles, and the order from the distances where the order of
// time does not fit them.
func (p *places) start() {
	n := p.ev.n
	dist := p.distances()
	chain := func(order []int) float64 {
		sum := 0.0
		for r := 1; r < n; r++ {
			sum += dist[order[r-1]][order[r]]
		}
		return sum
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	if n > 3 {
		other := seriate(dist)
		if chain(other) < 0.8*chain(order) {
			// As far as possible in the direction of time.
			if inversions(other) > n*(n-1)/4 {
				slices.Reverse(other)
			}
			order = other
		}
	}
	for r := 1; r < n; r++ {
		p.s[order[r]] = p.s[order[r-1]] + max(dist[order[r-1]][order[r]], 0.1)
	}
}

// distances between frames in blur pixels: the median, over the tiles that are sharpest in
// one of them, of the disc that explains what the other has left. Pairs that are too far apart for
// that get the sum of shorter ones.
func (p *places) distances() [][]float64 {
	n := p.ev.n
	readings := make([][]float64, n*n)
	for _, k := range p.lead {
		t := &p.ev.tiles[k]
		for b := range bands - 1 {
			top, floor := t.ln[b*n+t.peak], t.floor[b*n+t.peak]
			if !(float64(top) > float64(floor)+1) {
				continue
			}
			for j := max(t.peak-windowFrames, 0); j < min(t.peak+windowFrames+1, n); j++ {
				e := t.ln[b*n+j]
				if j == t.peak || e != e {
					continue
				}
				ln := float64(max(e, t.floor[b*n+j]) - top)
				if ln > reliable {
					readings[t.peak*n+j] = append(readings[t.peak*n+j], p.t.diameter(commonSlope, b, min(ln, 0)))
				}
			}
		}
	}
	dist := square(n)
	for i := range n {
		for j := range n {
			if i != j {
				dist[i][j] = math.Inf(1)
			}
		}
	}
	for i := range n {
		for j := i + 1; j < n; j++ {
			all := append(readings[i*n+j], readings[j*n+i]...)
			if len(all) < enough {
				continue
			}
			slices.Sort(all)
			dist[i][j] = all[len(all)/2]
			dist[j][i] = dist[i][j]
		}
	}
	// Neighbours in time that share nothing still are a step apart.
	for i := 1; i < n; i++ {
		if math.IsInf(dist[i-1][i], 1) {
			dist[i-1][i], dist[i][i-1] = farStep, farStep
		}
	}
	// Shortest ways (R. W. Floyd, 1962), for the unknown pairs.
	for k := range n {
		for i := range n {
			for j := range n {
				dist[i][j] = min(dist[i][j], dist[i][k]+dist[k][j])
			}
		}
	}
	return dist
}

// farStep is the distance, in pixels of blur, given to neighbours that share nothing.
const farStep = 12.0

// seriate orders frames along a line by the second eigenvector of the Laplacian of their
// similarities: J. E. Atkins, E. G. Boman and B. Hendrickson, "A spectral algorithm for
// seriation and the consecutive ones problem", SIAM J. Comput. 28(1), 1998.
func seriate(dist [][]float64) []int {
	n := len(dist)
	var nearest []float64
	for i := range n {
		d := math.Inf(1)
		for j := range n {
			if j != i {
				d = min(d, dist[i][j])
			}
		}
		nearest = append(nearest, d)
	}
	slices.Sort(nearest)
	unit := 2 * max(nearest[n/2], 0.3)
	w := square(n)
	degree := make([]float64, n)
	most := 0.0
	for i := range n {
		for j := range n {
			if i != j {
				w[i][j] = math.Exp(-sq(dist[i][j] / unit))
				degree[i] += w[i][j]
			}
		}
		most = max(most, degree[i])
	}
	// Power iteration on 2 most - L, the constant vector taken off each time.
	v := make([]float64, n)
	for i := range v {
		v[i] = float64(i) - float64(n-1)/2 + 0.3*math.Sin(float64(7*i))
	}
	next := make([]float64, n)
	for range 600 {
		mean, norm := 0.0, 0.0
		for i := range n {
			s := (2*most - degree[i]) * v[i]
			for j := range n {
				s += w[i][j] * v[j]
			}
			next[i] = s
			mean += s / float64(n)
		}
		for i := range next {
			next[i] -= mean
			norm += sq(next[i])
		}
		if norm == 0 {
			break
		}
		for i := range next {
			v[i] = next[i] / math.Sqrt(norm)
		}
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case v[a] < v[b]:
			return -1
		case v[a] > v[b]:
			return 1
		}
		return 0
	})
	return order
}

// inversions counts pairs that stand against the order of time.
func inversions(order []int) int {
	n := 0
	for i := range order {
		for j := i + 1; j < len(order); j++ {
			if order[i] > order[j] {
				n++
			}
		}
	}
	return n
}

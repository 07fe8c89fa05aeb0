package align

import (
	"math"
	"math/cmplx"

	"stillbench/session/plane"
)

// Link is a pair measured between two frames of a stack, by index.
type Link struct {
	From, To int
	Pair
}

// Solve makes the pair measurements of a stack of n frames agree: it gives how every
// frame lies on frame middle, as the least-squares solution over all links, each weighted
// by its uncertainty. aligned is false for a frame that no chain of links joins to middle;
// its movement is the identity.
//
// ln scale and turn add up along a chain, so their problem is linear; with both known, the
// shifts' is too.
func Solve(n, middle int, links []Link) (moves []plane.Similarity, aligned []bool) {
	moves, aligned = make([]plane.Similarity, n), make([]bool, n)
	for i := range moves {
		moves[i] = plane.Identity
	}
	if n == 0 {
		return moves, aligned
	}
	aligned[middle] = true
	for again := true; again; {
		again = false
		for _, l := range links {
			if aligned[l.From] != aligned[l.To] {
				aligned[l.From], aligned[l.To], again = true, true, true
			}
		}
	}
	// Unknowns: the joined frames but the middle.
	index := make([]int, n)
	unknowns := 0
	for i := range index {
		index[i] = -1
		if aligned[i] && i != middle {
			index[i] = unknowns
			unknowns++
		}
	}
	if unknowns == 0 {
		return moves, aligned
	}
	// First z = ln scale + i turn: z[to] - z[from] = measured.
	s := newSystem(unknowns)
	for _, l := range links {
		if !aligned[l.From] {
			continue
		}
		s.add(index[l.To], index[l.From], 1, complex(math.Log(l.Move.Scale), l.Move.Turn), weight(l))
	}
	z := s.solve()
	at := func(x []complex128, i int) complex128 {
		if index[i] < 0 {
			return 0
		}
		return x[index[i]]
	}
	// Then the shifts: t[to] - (scale R of the link) t[from] = measured shift.
	s = newSystem(unknowns)
	for _, l := range links {
		if !aligned[l.From] {
			continue
		}
		s.add(index[l.To], index[l.From], cmplx.Exp(at(z, l.To)-at(z, l.From)), complex(l.Move.DX, l.Move.DY), weight(l))
	}
	t := s.solve()
	for i := range moves {
		if index[i] >= 0 {
			zi, ti := at(z, i), at(t, i)
			moves[i] = plane.Similarity{Scale: math.Exp(real(zi)), Turn: imag(zi), DX: real(ti), DY: imag(ti)}
		}
	}
	return moves, aligned
}

// weight of a link: the inverse of its variance, with a floor for what the measurement does
// not know of itself.
func weight(l Link) float64 { return 1 / (l.Sigma*l.Sigma + 0.02*0.02) }

// system is a Hermitian least-squares problem.
type system struct {
	a [][]complex128
	b []complex128
}

func newSystem(n int) *system {
	s := &system{a: make([][]complex128, n), b: make([]complex128, n)}
	for i := range s.a {
		s.a[i] = make([]complex128, n)
	}
	return s
}

// add puts in the equation x[i] - c x[j] = v; an index below 0 stands for an x of 0.
func (s *system) add(i, j int, c, v complex128, w float64) {
	wc := complex(w, 0)
	if i >= 0 {
		s.a[i][i] += wc
		s.b[i] += wc * v
	}
	if j >= 0 {
		s.a[j][j] += wc * c * cmplx.Conj(c)
		s.b[j] -= wc * cmplx.Conj(c) * v
	}
	if i >= 0 && j >= 0 {
		s.a[i][j] -= wc * c
		s.a[j][i] -= wc * cmplx.Conj(c)
	}
}

// solve eliminates without pivoting, which a positive definite matrix allows. Frames are
// linked to near neighbours, so most factors are zero and skipped.
func (s *system) solve() []complex128 {
	n := len(s.b)
	for k := range n {
		for r := k + 1; r < n; r++ {
			if s.a[r][k] == 0 {
				continue
			}
			f := s.a[r][k] / s.a[k][k]
			for c := k; c < n; c++ {
				if s.a[k][c] != 0 {
					s.a[r][c] -= f * s.a[k][c]
				}
			}
			s.b[r] -= f * s.b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		for c := k + 1; c < n; c++ {
			s.b[k] -= s.a[k][c] * s.b[c]
		}
		s.b[k] /= s.a[k][k]
	}
	return s.b
}

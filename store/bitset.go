package store

import "math/bits"

// bitset is a set of places in a catalogue. nil stands for all places.
type bitset []uint64

func newBitset(n int) bitset { return make(bitset, (n+63)/64) }

func (b bitset) add(i int) { b[i/64] |= 1 << (i % 64) }

// addRange adds the places from to below to.
func (b bitset) addRange(from, to int) {
	for ; from < to && from%64 != 0; from++ {
		b.add(from)
	}
	for ; from+64 <= to; from += 64 {
		b[from/64] = ^uint64(0)
	}
	for ; from < to; from++ {
		b.add(from)
	}
}

// both is what is in two sets. It may be one of them.
func both(a, b bitset) bitset {
	switch {
	case a == nil:
		return b
	case b == nil:
		return a
	}
	out := make(bitset, len(a))
	for i := range a {
		out[i] = a[i] & b[i]
	}
	return out
}

// countIn counts what is in b, which is not nil, and in a.
func (b bitset) countIn(a bitset) int {
	n := 0
	if a == nil {
		for _, w := range b {
			n += bits.OnesCount64(w)
		}
		return n
	}
	for i, w := range b {
		n += bits.OnesCount64(w & a[i])
	}
	return n
}

// each calls fn for all places in the set, which has room for n, in order.
func (b bitset) each(n int, fn func(i int)) {
	if b == nil {
		for i := range n {
			fn(i)
		}
		return
	}
	for at, w := range b {
		for ; w != 0; w &= w - 1 {
			fn(64*at + bits.TrailingZeros64(w))
		}
	}
}

package plane

import "cmp"

// Kth is what would stand at index k, from 0, if values were sorted, found without sorting them all (C. A. R. Hoare,
// "Algorithm 65: find", 1961). Their order is changed. It panics if there is no such index.
func Kth[T cmp.Ordered](values []T, k int) T {
	lo, hi := 0, len(values)-1
	for hi > lo {
		pivot := values[k]
		i, j := lo, hi
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i++
				j--
			}
		}
		if j < k {
			lo = i
		}
		if k < i {
			hi = j
		}
	}
	return values[k]
}

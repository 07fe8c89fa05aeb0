package grouping

import "math"

// habit is how this photographer marks stacks. Who marks marks nearly all, before them or after
// them, and who does not hardly ever does (common practice); so what the other stacks of the
// session have at their ends tells what is to be expected at those of this one, whatever the
// pictures say.
type habit struct {
	of            []int // by place in the chain: the stack it belongs to, -1 for none
	before, after []ending
}

// ending is what a stack has on one side of it.
type ending int

const (
	unknown ending = iota // nothing has come yet
	bare
	marked
)

// habits reads off a reading of the row what its stacks have before and after them.
func (d *decision) habits(by verdict) habit {
	n := len(d.chain)
	h := habit{of: make([]int, n)}
	at := func(k int) ending {
		if by.marker[k] {
			return marked
		}
		return bare
	}
	for from := 0; from < n; {
		to := from + 1
		for to < n && !by.marker[to] && !by.marker[from] && !by.cut[to] {
			to++
		}
		stack := -1
		if !by.marker[from] && to-from > fewTried {
			stack = len(h.before)
			h.before, h.after = append(h.before, bare), append(h.after, unknown)
			if from > 0 {
				h.before[stack] = at(from - 1)
			}
			if to < n {
				h.after[stack] = at(to)
			}
		}
		for k := from; k < to; k++ {
			h.of[k] = stack
		}
		from = to
	}
	return h
}

// odds are the natural log-odds that the other stacks of the session add for markers between
// the frames at places a and b: 0 where they tell nothing, and where no stack is at either end.
// The share of marked ones is taken by Laplace's rule of succession.
func (h *habit) odds(a, b int) float64 {
	share := func(ends []ending, but int) float64 {
		has, all := 1.0, 2.0
		for n, e := range ends {
			if n == but || e == unknown {
				continue
			}
			all++
			if e == marked {
				has++
			}
		}
		return has / all
	}
	missed, even := 1.0, 1.0 // probability that neither stack is marked there, and if nothing were known
	if a >= 0 && a < len(h.of) && h.of[a] >= 0 {
		missed *= 1 - share(h.after, h.of[a])
		even /= 2
	}
	if b < len(h.of) && h.of[b] >= 0 {
		missed *= 1 - share(h.before, h.of[b])
		even /= 2
	}
	if even == 1 {
		return 0
	}
	return math.Log((1-missed)/missed) - math.Log((1-even)/even)
}

// decideByHabit decides, and then again by the habit that shows.
func (d *decision) decideByHabit() verdict {
	d.habit = d.habits(d.decide())
	return d.decide()
}

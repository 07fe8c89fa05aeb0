package grouping

import "math"

// habit is how this photographer marks stacks. Who marks marks nearly all, before them or after
// them, and who does not hardly ever does (common practice); so what the other stacks of the
// session have at their ends tells what is to be expected at those of this one, whatever the
// pictures say.
type habit struct {
	of            []int // by place in the chain: the stack it belongs to, -1 for none
	before, after ends
}

// ends are what the stacks have on one side of them, with how many of those known are marked.
type ends struct {
	list          []ending
	marked, known int
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
			stack = len(h.before.list)
			before, after := bare, unknown
			if from > 0 {
				before = at(from - 1)
			}
			if to < n {
				after = at(to)
			}
			h.before.add(before)
			h.after.add(after)
		}
		for k := from; k < to; k++ {
			h.of[k] = stack
		}
		from = to
	}
	return h
}

// odds are the natural log-odds that the other stacks of the session add for markers between
// the frames at places a and b: 0 where they tell nothing, where no stack is at either end, and
// within a stack.
func (h *habit) odds(a, b int) float64 {
	ends, begins := -1, -1 // the stacks that do so there
	if a >= 0 && a < len(h.of) {
		ends = h.of[a]
	}
	if b < len(h.of) {
		begins = h.of[b]
	}
	if ends == begins {
		return 0
	}
	missed, even := 1.0, 1.0 // probability that neither stack is marked there, and if nothing were known
	if ends >= 0 {
		missed *= 1 - h.after.share(ends)
		even /= 2
	}
	if begins >= 0 {
		missed *= 1 - h.before.share(begins)
		even /= 2
	}
	return math.Log((1-missed)/missed) - math.Log((1-even)/even)
}

func (e *ends) add(what ending) {
	e.list = append(e.list, what)
	if what != unknown {
		e.known++
	}
	if what == marked {
		e.marked++
	}
}

// share is the probability that stack n is marked on that side, by all the others (Laplace's rule
// of succession).
func (e *ends) share(n int) float64 {
	has, all := e.marked, e.known
	if e.list[n] != unknown {
		all--
	}
	if e.list[n] == marked {
		has--
	}
	return float64(has+1) / float64(all+2)
}

// decideByHabit decides, and then again by the habit that shows.
func (d *decision) decideByHabit() verdict {
	d.habit = d.habits(d.decide())
	return d.decide()
}

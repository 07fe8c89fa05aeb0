package desk

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"stillbench/session"
	"stillbench/session/focus"
	"stillbench/session/plane"
)

// checkSide is the least long side of the decode that stacks are judged on. A blur of
// the circle of confusion (diagonal / 1500) is then still more than a pixel wide.
const checkSide = 1500

// keptStacks is how many stacks keep what is needed to take in another frame.
const keptStacks = 3

// wanted is a stack that should have a verdict.
type wanted struct {
	id     int64
	frames []session.Frame // without those set aside
	key    string          // tells one list of frames from another
}

// checked is a verdict that was found.
type checked struct {
	id    int64
	key   string
	check *session.Check
}

// checker judges stacks in a goroutine of its own, the newest first, so that neither
// reading in nor the photographer's edits wait for it. in holds the newest wish only.
type checker struct {
	dir string
	in  chan []wanted
	out chan checked

	// Below belongs to the desk's goroutine.
	wish  []wanted
	found map[int64]checked
}

func newChecker(dir string) *checker {
	return &checker{dir: dir, in: make(chan []wanted, 1), out: make(chan checked), found: map[int64]checked{}}
}

// want says which stacks there are now.
func (c *checker) want(frames []session.Frame, groups []session.Group) {
	at := make(map[string]int, len(frames))
	for i := range frames {
		at[frames[i].Fingerprint] = i
	}
	var list []wanted
	changed := false
	for _, g := range groups {
		if g.Kind != session.KindStack {
			continue
		}
		w := wanted{id: g.ID}
		var key strings.Builder
		for _, fp := range g.Frames {
			if f := frames[at[fp]]; !f.SetAside {
				w.frames = append(w.frames, f)
				key.WriteString(fp + " ")
			}
		}
		w.key = key.String()
		list = append(list, w)
		changed = changed || c.found[g.ID].key != w.key
	}
	c.wish = list
	if !changed {
		return
	}
	select {
	case <-c.in: // an older wish that nobody took
	default:
	}
	c.in <- slices.Clone(list)
}

// accept takes in a verdict; false when it is not wanted any more.
func (c *checker) accept(v checked) bool {
	i := slices.IndexFunc(c.wish, func(w wanted) bool { return w.id == v.id })
	if i < 0 {
		return false
	}
	c.found[v.id] = v
	return true
}

// busy: a stack waits for its verdict.
func (c *checker) busy() bool {
	return slices.ContainsFunc(c.wish, func(w wanted) bool { return c.found[w.id].key != w.key })
}

// all gives the newest verdict of each stack; it may lag a frame behind a stack that grows.
func (c *checker) all() map[int64]*session.Check {
	m := make(map[int64]*session.Check, len(c.wish))
	for _, w := range c.wish {
		if v, ok := c.found[w.id]; ok {
			m[w.id] = v.check
		}
	}
	return m
}

// stackSoFar is a stack that frames can still join.
type stackSoFar struct {
	id     int64
	frames []string
	stack  *focus.Stack
}

// run judges stacks until the context ends.
func (c *checker) run(ctx context.Context) {
	var kept []*stackSoFar // the one used last comes last
	done := map[int64]string{}
	var list []wanted
	for {
		if len(list) == 0 {
			select {
			case list = <-c.in:
			case <-ctx.Done():
				return
			}
		}
		select {
		case list = <-c.in:
		default:
		}
		// The newest stack first: the camera still stands in front of it.
		i := len(list) - 1
		for i >= 0 && done[list[i].id] == list[i].key {
			i--
		}
		if i < 0 {
			list = nil
			continue
		}
		w := list[i]
		k := slices.IndexFunc(kept, func(s *stackSoFar) bool { return s.id == w.id && isPrefix(s.frames, w.frames) })
		var s *stackSoFar
		if k >= 0 {
			s = kept[k]
			kept = slices.Delete(kept, k, k+1)
		} else {
			s = &stackSoFar{id: w.id, stack: &focus.Stack{}}
		}
		kept = append(slices.DeleteFunc(kept, func(o *stackSoFar) bool { return o.id == w.id }), s)
		if len(kept) > keptStacks {
			kept = slices.Delete(kept, 0, 1)
		}
		if len(s.frames) < len(w.frames) {
			c.add(s, w.frames[len(s.frames)])
			if len(s.frames) < len(w.frames) {
				continue // look for a newer wish between two frames
			}
		}
		v := checked{w.id, w.key, s.stack.Check(focus.Options{})}
		done[w.id] = w.key
		select {
		case c.out <- v:
		case <-ctx.Done():
			return
		}
	}
}

// add decodes a frame and adds it to the stack. A frame that cannot be decoded is left
// out of the verdict: grouping has told of it.
func (c *checker) add(s *stackSoFar, f session.Frame) {
	s.frames = append(s.frames, f.Fingerprint)
	if pic, err := c.decode(f); err == nil {
		s.stack.Add(focus.Frame{Fingerprint: f.Fingerprint, Picture: pic, Meta: f.Meta})
	}
}

func (c *checker) decode(f session.Frame) (*plane.RGB, error) {
	name := f.Name
	if f.Meta.Preview == nil && len(f.Pairs) > 0 {
		name = f.Pairs[0]
	}
	path := filepath.Join(c.dir, filepath.FromSlash(name))
	m := f.Meta
	if name != f.Name {
		var err error
		if m, err = metaOfFile(path); err != nil {
			return nil, err
		}
	}
	h, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer h.Close()
	st, err := h.Stat()
	if err != nil {
		return nil, err
	}
	return decode(h, st.Size(), m, checkSide)
}

// isPrefix: the stack holds the first of these frames, and no others.
func isPrefix(have []string, frames []session.Frame) bool {
	if len(have) > len(frames) {
		return false
	}
	for i, fp := range have {
		if frames[i].Fingerprint != fp {
			return false
		}
	}
	return true
}

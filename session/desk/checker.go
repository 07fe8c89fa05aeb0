package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"

	"stillbench/session"
	"stillbench/session/focus"
	"stillbench/session/plane"
)

// checkSide is the least long side of the decode that stacks are judged on. A blur of
// the circle of confusion (diagonal / 1500) is then still more than a pixel wide.
const checkSide = 1500

// keptFrames bounds the stacks that keep what is needed to take in another frame, or to be
// judged anew by another wanted area or circle of confusion. The newest stack and the one at work
// are kept however many they have.
const keptFrames = 30

// wanted is a stack that should have a verdict.
type wanted struct {
	id      int64
	frames  []session.Frame // without those set aside, but for the one that the wanted area lies on
	numbers []int           // what each is called, those set aside counted
	// pictures tell each frame, as it is called, from all others: by its bytes, and where
	// another file stands for it by that.
	pictures []string
	options  focus.Options
	key      string // tells it from everything that is judged otherwise
}

// add puts a frame behind the others.
func (w *wanted) add(f session.Frame, number int) {
	picture := fmt.Sprint(number, " ", f.Fingerprint)
	if by := shownBy(f); by != f.Name {
		picture += " " + by
	}
	w.frames, w.numbers, w.pictures = append(w.frames, f), append(w.numbers, number), append(w.pictures, picture)
}

// checked is a verdict that was found of what was wanted.
type checked struct {
	wanted
	check *session.Check
}

// holdsFor tells whether a verdict may still be said of a stack that is being judged anew.
// "Covered" may be while frames join: it is not taken from a stack that is held to more, or
// that has lost a frame.
func (v checked) holdsFor(w wanted) bool {
	if v.key == w.key || v.check.Verdict != session.VerdictCovered {
		return true
	}
	return reflect.DeepEqual(v.options, w.options) && len(v.frames) <= len(w.frames) &&
		slices.EqualFunc(v.frames, w.frames[:len(v.frames)], func(a, b session.Frame) bool { return a.Fingerprint == b.Fingerprint })
}

// terms are what stacks are held to, besides their frames.
type terms struct {
	areas  map[int64]wantedArea // by Group.ID
	setups []session.Setup
	gear   session.Gear
}

// checker judges stacks in a goroutine of its own, the newest first, so that neither
// reading in nor the photographer's edits wait for it. in holds the newest wish only.
// A verdict that the log holds is not found again.
type checker struct {
	dir      string
	log      Log
	previews *previews // where frames are kept to be looked at; nil when nobody will
	in       chan []wanted
	out      chan checked

	// Below belongs to the desk's goroutine.
	wish  []wanted
	found map[int64]checked
}

func newChecker(dir string, log Log) *checker {
	return &checker{dir: dir, log: log, in: make(chan []wanted, 1), out: make(chan checked), found: map[int64]checked{}}
}

// want says which stacks there are now.
func (c *checker) want(frames []session.Frame, groups []session.Group, t terms) {
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
		var without []string
		for i, fp := range g.Frames {
			f := frames[at[fp]]
			if f.SetAside && fp == t.areas[g.ID].on {
				without = append(without, fp)
			} else if f.SetAside {
				continue
			}
			w.add(f, i+1)
		}
		w.options = t.of(g, w.frames)
		w.options.Without = without
		w.key = keyOf(w)
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

// of gives what a stack is held to.
func (t terms) of(g session.Group, frames []session.Frame) focus.Options {
	o := focus.Options{Wanted: t.areas[g.ID].area, WantedOn: t.areas[g.ID].on}
	if len(frames) == 0 {
		return o
	}
	m := frames[0].Meta
	o.CircleOfConfusion = circleFor(t.gear, m)
	i := slices.IndexFunc(t.setups, func(s session.Setup) bool { return s.ID == g.SetupID })
	if i < 0 || t.setups[i].Magnification == nil {
		return o
	}
	if s, ok := t.gear.Sensor(m); ok {
		o.Magnification, o.SensorMM = *t.setups[i].Magnification, max(s.WidthMM, s.HeightMM)
	}
	return o
}

// keyOf names a verdict by all that it follows from.
func keyOf(w wanted) string {
	h := sha256.New()
	o := w.options
	fmt.Fprintln(h, session.CheckVersion, o.CircleOfConfusion, o.Magnification, o.SensorMM, o.Wanted, o.WantedOn, o.Without)
	for _, p := range w.pictures {
		fmt.Fprintln(h, p)
	}
	return hex.EncodeToString(h.Sum(nil)[:20])
}

// accept takes in a verdict; false when it is not wanted now. It is kept all the same: an
// undo may want it back, and it is not sent a second time.
func (c *checker) accept(v checked) bool {
	c.found[v.id] = v
	return slices.ContainsFunc(c.wish, func(w wanted) bool { return w.id == v.id })
}

// busy: a stack waits for its verdict.
func (c *checker) busy() bool {
	return slices.ContainsFunc(c.wish, func(w wanted) bool { return c.found[w.id].key != w.key })
}

// all gives the newest verdict of each stack, as far as it still holds; it may lag a frame
// behind a stack that grows.
func (c *checker) all() map[int64]*session.Check {
	m := make(map[int64]*session.Check, len(c.wish))
	for _, w := range c.wish {
		if v, ok := c.found[w.id]; ok && v.holdsFor(w) {
			m[w.id] = v.check
		}
	}
	return m
}

// stackSoFar is a stack that frames can still join.
type stackSoFar struct {
	id           int64
	pictures     []string // of those that were added, as in wanted
	fingerprints []string // of the same
	stack        *focus.Stack
	holes        bool // one of them could not be decoded
	judged       bool // as often as it was wanted
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
		if check, err := c.log.Check(ctx, w.key); err == nil && check != nil {
			done[w.id] = w.key
			if !c.send(ctx, checked{w, check}) {
				return
			}
			continue
		}
		s := &stackSoFar{id: w.id, stack: &focus.Stack{}}
		n := 0
		if k := slices.IndexFunc(kept, func(s *stackSoFar) bool { return s.id == w.id }); k >= 0 {
			if of, serves := kept[k].holds(w); serves {
				s, n = kept[k], of
			}
			kept = slices.Delete(kept, k, k+1)
		}
		s.judged = false
		kept = forget(append(kept, s), s.id, list[len(list)-1].id)
		if n < len(w.frames) {
			c.add(s, w, n)
			if n+1 < len(w.frames) {
				continue // look for a newer wish between two frames
			}
		}
		o := w.options
		o.Without = append(s.spare(w), o.Without...)
		v := checked{w, s.stack.Check(o)}
		done[w.id], s.judged = w.key, true
		if !c.send(ctx, v) {
			return
		}
		// Kept even while the session closes. Where the log does not take it, it is found
		// again the next time. So is one that lacks a frame: the card may only have been
		// pulled out for a moment.
		if len(w.frames) > 0 && !s.holes {
			_ = c.log.SaveCheck(context.WithoutCancel(ctx), w.frames[0].Fingerprint, w.key, v.check)
		}
	}
}

// forget drops stacks, those not looked at for longest first, until no more than keptFrames
// are left; those at work and newest stay. One that was judged is closed when it is neither: frames join
// the newest stack, and what a stack needs for that takes more than all that its verdict rests on.
func forget(kept []*stackSoFar, work, newest int64) []*stackSoFar {
	frames := 0
	for _, s := range kept {
		frames += len(s.pictures)
	}
	return slices.DeleteFunc(kept, func(s *stackSoFar) bool {
		if s.id == work || s.id == newest {
			return false
		}
		if s.judged {
			s.stack.Close()
		}
		out := frames > keptFrames
		if out {
			frames -= len(s.pictures)
		}
		return out
	})
}

// send hands a verdict over; false when the context has ended.
func (c *checker) send(ctx context.Context, v checked) bool {
	select {
	case c.out <- v:
		return true
	case <-ctx.Done():
		return false
	}
}

// add decodes frame i of a stack and adds it. A frame that cannot be decoded is left out
// of the verdict: grouping has told of it.
func (c *checker) add(s *stackSoFar, w wanted, i int) {
	f := w.frames[i]
	s.pictures, s.fingerprints = append(s.pictures, w.pictures[i]), append(s.fingerprints, f.Fingerprint)
	pic, err := c.decode(f)
	if err != nil {
		s.holes = true
		return
	}
	if c.previews != nil && shownBy(f) == f.Name {
		c.previews.keep(f.Fingerprint, pic, orientation(f.Meta), previewSide)
	}
	s.stack.Add(focus.Frame{Fingerprint: f.Fingerprint, Number: w.numbers[i], Picture: pic, Meta: f.Meta})
}

// holds tells whether the stack can serve what is wanted without being begun anew: it holds the
// first n of it in order, the others can join. What it holds besides is left out of the verdict:
// nothing is decoded again when frames are set aside and put back.
func (s *stackSoFar) holds(w wanted) (n int, serves bool) {
	for _, p := range s.pictures {
		if n < len(w.pictures) && p == w.pictures[n] {
			n++
		}
	}
	if n < len(w.frames) && s.stack.Closed() {
		return n, false
	}
	for _, f := range w.frames[n:] {
		if slices.Contains(s.fingerprints, f.Fingerprint) {
			return n, false
		}
	}
	return n, true
}

// spare are the fingerprints of what the stack holds besides what is wanted.
func (s *stackSoFar) spare(w wanted) (out []string) {
	for i, p := range s.pictures {
		if !slices.Contains(w.pictures, p) {
			out = append(out, s.fingerprints[i])
		}
	}
	return out
}

// shownBy is the file whose picture stands for a frame: of a raw file without one, the
// first that goes with it.
func shownBy(f session.Frame) string {
	if f.Meta.Preview == nil && len(f.Pairs) > 0 {
		return f.Pairs[0]
	}
	return f.Name
}

func (c *checker) decode(f session.Frame) (*plane.RGB, error) {
	return decodeFrame(c.dir, f, checkSide)
}

// decodeFrame decodes what shows a frame, with a long side of at least that many pixels where
// there are as many.
func decodeFrame(dir string, f session.Frame, side int) (*plane.RGB, error) {
	name := shownBy(f)
	path := filepath.Join(dir, filepath.FromSlash(name))
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
	return decode(h, st.Size(), m, side)
}

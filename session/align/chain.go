package align

import (
	"slices"

	"stillbench/session/plane"
)

// How many of the newest frames the next one is laid on, and how many are kept for one that
// fits none of those.
const (
	linksPerFrame = 2
	keptToLay     = 4
)

// Chain lays the frames of a stack on each other as they come, each on the two before it, or,
// where these do not take it, on older ones that are still kept. What a frame costs does not
// depend on how many there are.
type Chain struct {
	// Links are what was measured, by the frames' numbers in the order of Add; Solve makes
	// them agree.
	Links  []Link
	frames []*Frame // nil for those that no more frames will be laid on
}

// Len is how many frames there are.
func (c *Chain) Len() int { return len(c.frames) }

// Clone is a chain that can go on without this one noticing.
func (c *Chain) Clone() Chain {
	return Chain{Links: slices.Clone(c.Links), frames: slices.Clone(c.frames)}
}

// Close gives back the frames that others would be laid on: no more can be added.
func (c *Chain) Close() { clear(c.frames) }

// Add takes the next frame in and gives how it lies on those before it that it could be laid on.
func (c *Chain) Add(f *Frame) []Link {
	c.frames = append(c.frames, f)
	to := len(c.frames) - 1
	before := len(c.Links)
	for from := to - 1; from >= max(0, to-keptToLay) && len(c.Links)-before < linksPerFrame; from-- {
		pair, err := Measure(c.frames[from], f, c.guess(from, to))
		if err != nil {
			continue
		}
		c.Links = append(c.Links, Link{From: from, To: to, Pair: pair})
	}
	if old := to - keptToLay; old >= 0 {
		c.frames[old] = nil
	}
	return c.Links[before:]
}

// guess goes from one frame to the one after it and on to the newest, where there are links.
func (c *Chain) guess(from, to int) *plane.Similarity {
	var first, second *Link
	for i := len(c.Links) - 1; i >= 0; i-- {
		switch l := &c.Links[i]; {
		case l.From == from && l.To == to-1:
			first = l
		case l.From == to-1 && l.To == to:
			second = l
		}
	}
	if first == nil || second == nil {
		return nil
	}
	m := first.Move.Then(second.Move)
	return &m
}

package blend

import (
	"slices"

	"stillbench/session/plane"
)

// Luma weights of ITU-R BT.601 section 2.5.1: saliency is decided on luma alone.
var lumaOf = [3]float32{0.299, 0.587, 0.114}

// levelsFor is how many levels a picture of w x h is taken apart into: until the short side
// is some 16 pixels, where even a frame far out of focus has lost nothing.
func levelsFor(w, h int) int {
	n := 1
	for short := min(w, h); short > 24; short = (short + 1) / 2 {
		n++
	}
	return n
}

// A frame whose detail has k times the noise's energy weighs about k^8 times as much as one
// with the noise alone: the one that clearly holds the detail is as good as chosen, two
// that hold it equally share, and where none does all count alike and their noise averages
// out. (On made-up scenes, 8 is 0.2 dB better in the mean than 4.) clearly is what noise alone rarely exceeds, in multiples of its mean energy.
const clearly = 1.5

// leastNoise is the noise of luma (standard deviation, 0..1) that is reckoned with at
// least: half of the rounding to 8 bits.
const leastNoise = 0.5 / 255 / 3.4641016

// The finest levels are worked out in strips of so many rows, with a margin above and
// below that is not used: what is wrong at a strip's edge reaches some 100 rows in.
const (
	fineLevels  = 3
	stripRows   = 1 << 9 // some 15 planes so high are held at a time
	stripMargin = 16 << fineLevels
)

// Detail of every size goes by the saliency around it of that size and of all finer ones, so
// that neighbouring sizes come from the same frame. A reach is the standard deviation, in
// pixels of each level, of a neighbourhood; of two the mean counts. In a narrow one a hair is
// told from what lies behind it, a wide one decides more surely and keeps tones even. On
// made-up scenes (seeds 11 to 16) bristles come out best at 0.7, ribs, scales, wheels and
// leaves at 1 and 4 together.
var reaches = map[Character][]float64{Threads: {0.7}, Surfaces: {1, 4}}

// fuser adds frames up into one Laplacian pyramid: each coefficient is the mean of the
// frames' coefficients weighted by saliency. Noise is told from the first frame; after it
// the sums do not depend on the order of the frames, and memory not on their number.
type fuser struct {
	w, h, levels, fine int
	count              int

	sum    [3]plane.Pyramid // of weight times coefficient
	weight plane.Pyramid    // of weights
	noise  []noiseFloor     // by level

	// depth is nil when no depth map is asked for.
	depth *depthFinder

	strips scratch // of the finest levels
	whole  scratch // of the others
	base   [3]*plane.Plane
	handed *plane.Plane // saliency handed down to base
	inside *plane.Plane // base's cover
}

// scratch is reused from frame to frame.
type scratch struct {
	coarse, lap                     [3]plane.Pyramid
	energy, narrow, carried, handed plane.Pyramid
	reach                           []float64
}

func newFuser(w, h int, c Character) *fuser {
	f := &fuser{w: w, h: h, levels: levelsFor(w, h)}
	f.fine = min(fineLevels, f.levels-1)
	for range f.levels {
		for c := range f.sum {
			f.sum[c] = append(f.sum[c], plane.New(w, h))
		}
		f.weight = append(f.weight, plane.New(w, h))
		w, h = (w+1)/2, (h+1)/2
	}
	f.noise = make([]noiseFloor, f.levels)
	f.strips.init(f.levels, reaches[c])
	f.whole.init(f.levels, reaches[c])
	b := f.weight[f.fine]
	for c := range f.base {
		f.base[c] = plane.New(b.W, b.H)
	}
	f.handed, f.inside = plane.New(b.W, b.H), plane.New(b.W, b.H)
	return f
}

func (s *scratch) init(levels int, reach []float64) {
	for c := range s.coarse {
		s.coarse[c], s.lap[c] = make(plane.Pyramid, levels), make(plane.Pyramid, levels)
	}
	s.energy, s.narrow, s.carried, s.handed = make(plane.Pyramid, levels), make(plane.Pyramid, levels), make(plane.Pyramid, levels), make(plane.Pyramid, levels)
	s.reach = reach
}

// add takes in a frame. One of all must lie still: it fills what no other reaches.
func (f *fuser) add(fr *laid) {
	if f.count == 0 {
		f.measureNoise(fr)
	}
	for y := 0; y < f.h; y += stripRows {
		f.strip(fr, y, min(y+stripRows, f.h))
	}
	f.rest()
	if f.depth != nil {
		f.depth.add()
	}
	f.count++
}

// strip works the finest levels out for the rows y0..y1 of a frame.
func (f *fuser) strip(fr *laid, y0, y1 int) {
	a, b := max(0, y0-stripMargin), min(f.h, y1+stripMargin)
	level, cover := fr.rows(a, b)
	var handed *plane.Plane
	for l := range f.fine {
		lap := f.strips.split(l, level)
		f.strips.saliency(l, level, lap, handed, &f.noise[l])
		from, to := y0>>l, min((y1+1<<l-1)>>l, f.weight[l].H)
		f.accumulate(l, a>>l, from, to, lap, f.strips.carried[l], cover)
		if f.depth != nil && l == f.depth.level {
			f.depth.take(a>>l, from, to, f.strips.carried[l], cover)
		}
		handed = f.strips.hand(l)
		for c := range level {
			level[c] = f.strips.coarse[c][l]
		}
		if cover != nil {
			cover = shrink(cover)
		}
	}
	// What is left of these rows becomes part of the whole.
	from, to, first := y0>>f.fine, min((y1+1<<f.fine-1)>>f.fine, f.base[0].H), a>>f.fine
	for y := from; y < to; y++ {
		for c := range level {
			copy(f.base[c].Row(y), level[c].Row(y-first))
		}
		if handed != nil {
			copy(f.handed.Row(y), handed.Row(y-first))
		}
		in := f.inside.Row(y)
		for x := range in {
			in[x] = 1
		}
		if cover != nil {
			copy(in, cover.Row(y-first))
		}
	}
}

// rest works out the coarser levels.
func (f *fuser) rest() {
	level, handed, cover := f.base, f.handed, f.inside
	for l := f.fine; l < f.levels; l++ {
		h := level[0].H
		if l == f.levels-1 {
			// Below all detail: by what the levels above hand down.
			f.accumulate(l, 0, 0, h, level, handed, cover)
			return
		}
		lap := f.whole.split(l, level)
		if f.count == 0 {
			f.noise[l] = f.whole.noise(l, level, lap)
		}
		f.whole.saliency(l, level, lap, handed, &f.noise[l])
		f.accumulate(l, 0, 0, h, lap, f.whole.carried[l], cover)
		handed = f.whole.hand(l)
		for c := range level {
			level[c] = f.whole.coarse[c][l]
		}
		cover = shrink(cover)
	}
}

// split takes a level apart into the next coarser one and what that lacks.
func (s *scratch) split(l int, level [3]*plane.Plane) (lap [3]*plane.Plane) {
	for c, p := range level {
		s.coarse[c][l] = plane.Down(s.coarse[c][l], p)
		s.lap[c][l] = plane.Up(s.lap[c][l], s.coarse[c][l], p.W, p.H)
		lap[c] = s.lap[c][l]
		plane.Share(p.H, func(y0, y1 int) {
			a, b := lap[c].Pix[y0*p.W:y1*p.W], p.Pix[y0*p.W:y1*p.W]
			for i := range a {
				a[i] = b[i] - a[i]
			}
		})
	}
	return lap
}

// energyOf is the energy of the luma of a level's detail, in the mean of a neighbourhood.
func (s *scratch) energyOf(l int, lap [3]*plane.Plane) *plane.Plane {
	w, h := lap[0].W, lap[0].H
	s.energy[l] = plane.Sized(s.energy[l], w, h)
	e := s.energy[l]
	plane.Share(h, func(y0, y1 int) {
		out := e.Pix[y0*w : y1*w]
		r, g, b := lap[0].Pix[y0*w:y1*w], lap[1].Pix[y0*w:y1*w], lap[2].Pix[y0*w:y1*w]
		for i := range out {
			v := lumaOf[0]*r[i] + lumaOf[1]*g[i] + lumaOf[2]*b[i]
			out[i] = v * v
		}
	})
	if len(s.reach) == 1 {
		return plane.Blur(e, e, s.reach[0])
	}
	s.narrow[l] = plane.Blur(s.narrow[l], e, s.reach[0])
	plane.Blur(e, e, s.reach[1])
	narrow := s.narrow[l]
	plane.Share(h, func(y0, y1 int) {
		for i := y0 * w; i < y1*w; i++ {
			e.Pix[i] = (e.Pix[i] + narrow.Pix[i]) / 2
		}
	})
	return e
}

// saliency fills carried[l]: a level's energy over its noise, 0 where it does not stand out,
// and what the finer levels handed down.
func (s *scratch) saliency(l int, level, lap [3]*plane.Plane, handed *plane.Plane, n *noiseFloor) {
	e := s.energyOf(l, lap)
	w, h := e.W, e.H
	s.carried[l] = plane.Sized(s.carried[l], w, h)
	carried := s.carried[l]
	plane.Share(h, func(y0, y1 int) {
		for i := y0 * w; i < y1*w; i++ {
			v := max(e.Pix[i]/n.at(lumaOf[0]*level[0].Pix[i]+lumaOf[1]*level[1].Pix[i]+lumaOf[2]*level[2].Pix[i])-clearly, 0)
			if handed != nil {
				v += handed.Pix[i]
			}
			carried.Pix[i] = v
		}
	})
}

// hand gives what the next coarser level is told of this and the finer ones.
func (s *scratch) hand(l int) *plane.Plane {
	s.handed[l] = plane.Down(s.handed[l], s.carried[l])
	return s.handed[l]
}

// accumulate adds the rows from..to of a level to the sums; lap and the others begin at row
// first.
func (f *fuser) accumulate(l, first, from, to int, lap [3]*plane.Plane, salient, cover *plane.Plane) {
	w := f.weight[l].W
	plane.Share(to-from, func(y0, y1 int) {
		for y := from + y0; y < from+y1; y++ {
			den := f.weight[l].Row(y)
			s := salient.Row(y - first)
			var in []float32
			if cover != nil {
				in = cover.Row(y - first)
			}
			r, g, b := lap[0].Row(y-first), lap[1].Row(y-first), lap[2].Row(y-first)
			sr, sg, sb := f.sum[0][l].Row(y), f.sum[1][l].Row(y), f.sum[2][l].Row(y)
			for x := range w {
				if in != nil && in[x] < 1 {
					continue
				}
				v := (1 + min(s[x], 1e7)) * 1e-3 // to the eighth, of many frames, within float32
				v *= v
				v *= v
				v *= v
				den[x] += v
				sr[x] += v * r[x]
				sg[x] += v * g[x]
				sb[x] += v * b[x]
			}
		}
	})
}

// picture is the blend of the frames so far. The fuser can go on to take in frames.
func (f *fuser) picture() [3]*plane.Plane {
	var out [3]*plane.Plane
	for c := range out {
		mean := make(plane.Pyramid, f.levels)
		for l, w := range f.weight {
			mean[l] = plane.New(w.W, w.H)
		}
		out[c] = f.channel(c, mean)
	}
	return out
}

// channel is one of R, G and B of the blend. mean takes the means of the coefficients, and may be
// the sums themselves.
func (f *fuser) channel(c int, mean plane.Pyramid) *plane.Plane {
	for l, out := range mean {
		plane.Share(out.H, func(y0, y1 int) {
			for i := y0 * out.W; i < y1*out.W; i++ {
				out.Pix[i] = f.sum[c][l].Pix[i] / f.weight[l].Pix[i]
			}
		})
	}
	return mean.Collapse(nil)
}

// picture16 is the blend, rounded to 16 bits. The sums are used up.
func (f *fuser) picture16() *plane.RGB16 {
	out := plane.NewRGB16(f.w, f.h)
	for c := range f.sum {
		p := f.channel(c, f.sum[c])
		f.sum[c] = nil
		plane.Share(f.h, func(y0, y1 int) {
			for i := y0 * f.w; i < y1*f.w; i++ {
				out.Pix[3*i+c] = uint16(min(max(p.Pix[i], 0), 1)*65535 + 0.5)
			}
		})
	}
	return out
}

// noiseFloor is the energy of a level's noise at evenly spaced luma from 0 to 1.
type noiseFloor [9]float32

// at interpolates.
func (n *noiseFloor) at(luma float32) float32 {
	t := min(max(luma, 0), 1) * float32(len(n)-1)
	i := min(int(t), len(n)-2)
	return n[i] + (t-float32(i))*(n[i+1]-n[i])
}

// measureNoise tells the noise of the finest levels from pieces of a frame.
func (f *fuser) measureNoise(fr *laid) {
	const pieces, tall = 6, 256
	var samples [fineLevels]noiseSamples
	for i := range pieces {
		y := 0
		if f.h > tall {
			y = (f.h - tall) * i / (pieces - 1) &^ (1<<fineLevels - 1)
		}
		level, _ := fr.rows(y, min(f.h, y+tall))
		for l := range f.fine {
			lap := f.strips.split(l, level)
			samples[l].take(level, f.strips.energyOf(l, lap))
			for c := range level {
				level[c] = f.strips.coarse[c][l]
			}
		}
		if f.h <= tall {
			break
		}
	}
	for l := range f.fine {
		f.noise[l] = samples[l].floor()
	}
}

func (s *scratch) noise(l int, level, lap [3]*plane.Plane) noiseFloor {
	var n noiseSamples
	n.take(level, s.energyOf(l, lap))
	return n.floor()
}

// noiseSamples are energies by luma.
type noiseSamples [len(noiseFloor{})][]float32

func (n *noiseSamples) take(level [3]*plane.Plane, energy *plane.Plane) {
	step := max(1, len(energy.Pix)/20000)
	for i := 0; i < len(energy.Pix); i += step {
		luma := lumaOf[0]*level[0].Pix[i] + lumaOf[1]*level[1].Pix[i] + lumaOf[2]*level[2].Pix[i]
		k := int(min(max(luma, 0), 1)*float32(len(n)-1) + 0.5)
		n[k] = append(n[k], energy.Pix[i])
	}
}

// floor takes, of each brightness, the tenth part with the least energy for noise and nothing
// else: some of every frame of a stack is out of focus. Brightnesses hardly seen go by
// their neighbours.
func (n *noiseSamples) floor() (f noiseFloor) {
	const few = 100
	for k := range f {
		if len(n[k]) >= few {
			slices.Sort(n[k])
			f[k] = max(n[k][len(n[k])/10], leastNoise*leastNoise)
		}
	}
	for k := range f {
		for d := 1; f[k] == 0 && d < len(f); d++ {
			for _, o := range []int{k - d, k + d} {
				if o >= 0 && o < len(f) && len(n[o]) >= few {
					f[k] = max(f[k], f[o])
				}
			}
		}
		f[k] = max(f[k], leastNoise*leastNoise)
	}
	return f
}

// shrink halves a cover: a coarse pixel is covered when all that went into it is.
func shrink(cover *plane.Plane) *plane.Plane {
	out := plane.Down(nil, cover)
	for i, v := range out.Pix {
		if v < 0.9999 {
			out.Pix[i] = 0
		} else {
			out.Pix[i] = 1
		}
	}
	return out
}

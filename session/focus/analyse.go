package focus

import (
	"math"

	"stillbench/session/align"
	"stillbench/session/plane"
)

// analysis is everything that is found of a stack before it is put into words.
type analysis struct {
	reference int                // frame that the others are laid on
	moves     []plane.Similarity // by frame of the stack, onto the reference
	aligned   []bool
	in        []int          // frames that take part, by index in the stack
	tw, th    int            // tiles of the reference
	cx, cy    float64        // its centre
	area      [][2]float64   // wanted, in 0..1 of the reference; nil for all of it
	wanted    []bool         // by tile
	places    *places        // of the frames in `in`
	light     []lightReading // by frame of the stack, against the reference
	circle    float64
}

// lie gives how some frames lie on a reference, and which do.
func (s *Stack) lie(of []*frame, reference *frame) (moves []plane.Similarity, aligned []bool) {
	all, joined := align.Solve(s.chain.Len(), reference.at, s.chain.Links)
	for _, f := range of {
		moves, aligned = append(moves, all[f.at]), append(aligned, joined[f.at])
	}
	return moves, aligned
}

// analyse lays the frames on each other and finds their places. carrier is the frame that the
// wanted area lies on; nil is the reference.
func (s *Stack) analyse(o *Options, carrier *frame) *analysis {
	n := len(s.frames)
	a := &analysis{reference: n / 2}
	a.moves, a.aligned = s.lie(s.frames, s.frames[n/2])
	if count(a.aligned) <= n/2 && n > 1 {
		// The middle frame fits the fewer: it is the odd one out.
		for i := range n {
			if moves, aligned := s.lie(s.frames, s.frames[i]); count(aligned) > count(a.aligned) {
				a.reference, a.moves, a.aligned = i, moves, aligned
			}
		}
	}
	ref := s.frames[a.reference]
	a.circle = o.circle(ref.w, ref.h)
	for i, ok := range a.aligned {
		if ok {
			a.in = append(a.in, i)
		}
	}
	const side = cell * tile
	a.cx, a.cy = float64(ref.w-1)/2, float64(ref.h-1)/2
	a.tw, a.th = max(ref.w/side, 1), max(ref.h/side, 1)
	if a.area = o.Wanted; a.area != nil && carrier != nil {
		if moves, aligned := s.lie([]*frame{carrier}, ref); aligned[0] {
			a.area = carried(a.area, carrier, moves[0].Inverse(), ref)
		}
	}
	a.wanted = make([]bool, a.tw*a.th)
	for i := range a.wanted {
		x, y := (float64(i%a.tw)+0.5)*side/float64(ref.w), (float64(i/a.tw)+0.5)*side/float64(ref.h)
		a.wanted[i] = a.area == nil || inside(a.area, x, y)
	}
	a.light = s.readLight(a)
	ev := s.evidence(a)
	a.places = fitPlaces(ev, a.circle)
	return a
}

// carried gives where a polygon in 0..1 of one frame lies in another.
func carried(poly [][2]float64, from *frame, move plane.Similarity, to *frame) (out [][2]float64) {
	if move == plane.Identity && from.w == to.w && from.h == to.h {
		return poly // to the last digit
	}
	for _, p := range poly {
		x, y := move.Apply((p[0]-0.5)*float64(from.w), (p[1]-0.5)*float64(from.h))
		out = append(out, [2]float64{x/float64(to.w) + 0.5, y/float64(to.h) + 0.5})
	}
	return out
}

// tileAt is the index of the tile at (x, y) pixels from the reference's centre, the nearest one outside.
func (a *analysis) tileAt(x, y float64) int {
	const side = cell * tile
	tx, ty := int(math.Floor((x+a.cx+0.5)/side)), int(math.Floor((y+a.cy+0.5)/side))
	return min(max(ty, 0), a.th-1)*a.tw + min(max(tx, 0), a.tw-1)
}

// beyondCircles is how far outside the frames a tile may lie, in circles of confusion: farther out
// its blur no longer tells how far.
const beyondCircles = 14

func count(b []bool) int {
	n := 0
	for _, v := range b {
		if v {
			n++
		}
	}
	return n
}

// inside reports whether a point lies in a polygon (even-odd rule).
func inside(poly [][2]float64, x, y float64) bool {
	in := false
	for i, j := 0, len(poly)-1; i < len(poly); j, i = i, i+1 {
		a, b := poly[i], poly[j]
		if (a[1] > y) != (b[1] > y) && x < (b[0]-a[0])*(y-a[1])/(b[1]-a[1])+a[0] {
			in = !in
		}
	}
	return in
}

// Below this much over its noise, energy is not detail.
const (
	floorShare = 0.4 // of the noise: what its estimate may be wrong by
	detailFrom = 2.5 // times the noise that a tile's best frame must have
)

// contrastPerEV is by how much ln of an energy of sRGB-encoded luma grows with a stop of
// light, where the encoding goes about with the power 1/2.2.
const contrastPerEV = 2 * math.Ln2 / 2.2

// evidence samples every tile in every frame that takes part.
func (s *Stack) evidence(a *analysis) *evidence {
	n := len(a.in)
	ref := s.frames[a.reference]
	ev := &evidence{n: n, tw: a.tw, corner: math.Hypot(float64(ref.w), float64(ref.h)) / 2}
	ev.closure = closureOf(s.chain.Links, ev.corner)
	for _, i := range a.in {
		ev.size = append(ev.size, math.Log(a.moves[i].Scale))
	}
	all := make([]*tileEvidence, a.tw*a.th)
	plane.Share(a.th, func(from, to int) {
		for ty := from; ty < to; ty++ {
			for tx := range a.tw {
				at := ty*a.tw + tx
				if a.wanted[at] {
					all[at] = s.sample(a, ref, tx, ty)
				}
			}
		}
	})
	for _, t := range all {
		if t != nil {
			ev.tiles = append(ev.tiles, *t)
		}
	}
	lit := make([]float64, n)
	for k, i := range a.in {
		lit[k] = a.light[i].ev
	}
	ev.evenContrast(lit)
	return ev
}

// evenContrast makes a frame's contrast that of those beside it in time, where its light, in EV, differs from theirs by lightStep. A camera's tone
// curve is not sRGB's alone, so that contrast does not quite go with light as contrastPerEV has it; and a frame of less contrast would be taken for a
// blurred one. It is told by the coarsest band, in which focus changes least from one frame to the next.
func (ev *evidence) evenContrast(lit []float64) {
	n, coarsest := ev.n, (bands-1)*ev.n
	off := make([]float64, n)
	for k := range n {
		var beside []int
		light := 0.0
		for _, j := range [...]int{k - 1, k + 1} {
			if j >= 0 && j < n {
				beside = append(beside, j)
				light += lit[j]
			}
		}
		if len(beside) == 0 || math.Abs(lit[k]-light/float64(len(beside))) < lightStep {
			continue
		}
		var by []float64
		for i := range ev.tiles {
			ln, floor := ev.tiles[i].ln[coarsest:], ev.tiles[i].floor[coarsest:]
			told, d := ln[k] > floor[k], float64(ln[k])
			for _, j := range beside {
				told = told && ln[j] > floor[j]
				d -= float64(ln[j]) / float64(len(beside))
			}
			if told {
				by = append(by, d)
			}
		}
		if len(by) >= fewTiles {
			off[k] = median(by)
		}
	}
	for i := range ev.tiles {
		t := &ev.tiles[i]
		for k, d := range off {
			for b := range bands {
				t.ln[b*n+k] -= float32(d)
				t.floor[b*n+k] -= float32(d)
			}
		}
	}
}

// on gives where a place of the reference, in pixels from its centre, lies on frame i, and the luma
// there; seen is false where the frame does not show it.
func (s *Stack) on(a *analysis, i int, x, y float64) (u, v, luma float64, seen bool) {
	ref, d := s.frames[a.reference], s.frames[i].detail
	u, v = a.moves[i].Apply(x, y)
	u, v = u+float64(ref.w)/2, v+float64(ref.h)/2
	luma, seen = d.at(d.luma, u, v)
	return u, v, luma, seen
}

// sample gives one tile's energies, nil where no frame shows detail.
func (s *Stack) sample(a *analysis, ref *frame, tx, ty int) *tileEvidence {
	n := len(a.in)
	t := &tileEvidence{at: ty*a.tw + tx, ln: make([]float32, bands*n), floor: make([]float32, bands*n)}
	for b := range t.spectrum {
		t.spectrum[b] = commonSlope
	}
	const side = cell * tile
	cx, cy := float64(ref.w-1)/2, float64(ref.h-1)/2
	x, y := (float64(tx)+0.5)*side-0.5-cx, (float64(ty)+0.5)*side-0.5-cy
	own := s.noisier(a, x, y)
	for k, i := range a.in {
		f := s.frames[i]
		u, v, l, seen := s.on(a, i, x, y)
		for b := range bands {
			if !seen {
				t.ln[b*n+k] = float32(math.NaN())
				t.floor[b*n+k] = float32(math.NaN())
				continue
			}
			e, _ := f.detail.at(f.detail.maps[b], u, v)
			noise := s.floors.at(b, l) * own[b]
			e = max(e-noise, 1e-12)
			floor := floorShare * noise
			// Brighter light makes contrasts larger: they are compared as of the same light.
			t.ln[b*n+k] = float32(math.Log(e) - contrastPerEV*a.light[i].ev)
			t.floor[b*n+k] = float32(math.Log(floor) - contrastPerEV*a.light[i].ev)
			if e > detailFrom*noise {
				t.best[b] = max(t.best[b], e)
			}
		}
	}
	if t.best[0]+t.best[1]+t.best[2] == 0 {
		return nil
	}
	t.peak = t.sharpest(n, nil)
	return t
}

const (
	noisePairs   = 4  // differences that tell of a tile's own noise
	mostNoisier  = 40 // times what its brightness tells that it is believed to be
	leastNoisier = 1.5
)

// noisier gives by how much a tile's noise is more, by band, than that of its brightness: noise is the stronger in a colour that the white
// balance lifts, in corners that are made lighter, and where a camera that reduces it holds back. It is no more than the tile differs by from frame to
// frame, nor than it shows where it is far out of focus: the quieter quarter of both is taken, the least of noise and detail together (after
// R. Martin, "Noise power spectral density estimation based on optimal smoothing and minimum statistics", IEEE Trans. Speech and Audio
// Processing 9(5), 2001). Noise scatters so much that little more is no more.
func (s *Stack) noisier(a *analysis, x, y float64) (own [bands]float64) {
	var differ, shown [bands][]float64
	for _, i := range a.in {
		f := s.frames[i]
		u, v, l, seen := s.on(a, i, x, y)
		if !seen {
			continue
		}
		for b := range bands {
			floor := s.floors.at(b, l)
			e, _ := f.detail.at(f.detail.maps[b], u, v)
			shown[b] = append(shown[b], e/floor)
			if f.differ[b] != nil {
				differ[b] = append(differ[b], f.detail.inTile(f.differ[b], u, v)/2/floor)
			}
		}
	}
	for b := range bands {
		own[b] = 1
		if n := len(differ[b]); n >= noisePairs {
			// The quarter of a normal distribution lies 0.67 of its standard deviations below the mean.
			quarter := min(plane.Kth(differ[b], n/4), plane.Kth(shown[b], len(shown[b])/4))
			if more := quarter / (1 - 0.67*whiteNoise().scatter[b]); more > leastNoisier {
				own[b] = min(more, mostNoisier)
			}
		}
	}
	return own
}

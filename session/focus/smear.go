package focus

import (
	"math"
	"sync"

	"stillbench/session/plane"
)

// Movement during the exposure smears a frame along one direction, which defocus never
// does. What it takes from the detail along that direction, against the detail across it, is
// compared with the frames beside it in depth, tile by tile: the texture is the same, so
// nothing needs to be known of it. Only what a frame lacks against every neighbour counts;
// what it lacks against one may be the other's fault.

const (
	smearTiles     = 14    // tiles that a comparison needs
	smearReach     = 6.0   // circles of confusion within which a tile must lie of both frames: the last frame of a dome holds few nearer
	smearFullSize  = 1.4   // pixels of the full-size picture: less is no fault
	smearSigmas    = 3.5   // from which its direction is told
	smearModel     = 0.012 // what two frames' one-sidedness differs by without any smear, where little is known of it,
	smearLeast     = 0.006 // at the least: a smear of half a pixel of a picture of 45 megapixels, which no support is free of,
	smearUsual     = 4     // and how many numbers that is worth (see common)
	smearSlope     = 0.2   // a pixel of blur: what one-sidedness may change by where nothing is known of it
	smearPart      = 1.0 / 3
	smearNeighbour = 2 // frames on either side that one is compared with
)

// lack is by how much a frame's detail is more one-sided than another's, as a vector by band:
// the difference of ln (energy at 0 degrees / at 90) and of ln (45 / 135).
type lack struct {
	v, sd [smearBands][2]float64
	// side is the tiles' own one-sidedness, their mean.
	side [smearBands][2]float64
	ok   bool
}

// smearAsDisc is the length of a straight smear over the diameter of a disc of the same variance.
var smearAsDisc = math.Sqrt(1.5)

// smear is what speaks for movement along one direction: its length in pixels of working size, the
// direction in degrees clockwise from the right, 0 to 180, and by how much less is left unexplained with it than
// without (chi square). The zero value is none.
type smear struct{ length, angle, gain float64 }

// smearOf tells how the frame of a rank is smeared from those beside it in depth that are not left out.
func (a *analysis) smearOf(r int, common [smearBands]float64, between func(r, q int) lack) smear {
	p := a.places
	var all []lack
	for q := max(r-smearNeighbour, 0); q <= min(r+smearNeighbour, len(p.order)-1); q++ {
		if q == r || p.skip[p.order[q]] {
			continue
		}
		if l := between(r, q); l.ok {
			all = append(all, l)
		}
	}
	return smeared(all, common)
}

// smears tells how every frame is smeared, and the drift.
func (s *Stack) smears(a *analysis) ([]smear, drift) {
	p := a.places
	n := p.ev.n
	side := s.sidedness(a, p.order)
	d := a.driftOf(side)
	d.common = make([][smearBands]float64, n)
	after := make([][smearNeighbour]lack, n) // by rank: held against each of the next ranks
	plane.Share(n, func(from, to int) {
		for r := from; r < to; r++ {
			for q := r + 1; q <= min(r+smearNeighbour, n-1); q++ {
				after[r][q-r-1] = a.lackOf(side, &d, p.order[r], p.order[q])
			}
		}
	})
	for r := range n {
		d.common[p.order[r]] = p.common(after, r)
	}
	out := make([]smear, n)
	for r := range n {
		out[p.order[r]] = a.smearOf(r, d.common[p.order[r]], func(r, q int) lack {
			if q > r {
				return after[r][q-r-1]
			}
			l := after[q][r-q-1]
			for b := range l.v {
				l.v[b] = [2]float64{-l.v[b][0], -l.v[b][1]} // against the other, not of it
			}
			return l
		})
	}
	return out, d
}

// smearAgain tells how frame i is smeared, where the drift is known.
func (s *Stack) smearAgain(a *analysis, d *drift, i int) smear {
	p := a.places
	r := p.rank[i]
	side := s.sidedness(a, p.order[max(r-smearNeighbour, 0):min(r+smearNeighbour+1, p.ev.n)])
	return a.smearOf(r, d.common[i], func(r, q int) lack { return a.lackOf(side, d, p.order[r], p.order[q]) })
}

// sidedness reads ln(0/90) and ln(45/135) of the tiles in some frames, NaN where there is no detail and in the
// others.
func (s *Stack) sidedness(a *analysis, frames []int) [][][smearBands][2]float64 {
	ref := s.frames[a.reference]
	const side = cell * tile
	cx, cy := float64(ref.w-1)/2, float64(ref.h-1)/2
	tiles := a.places.ev.tiles
	out := make([][][smearBands][2]float64, len(tiles))
	plane.Share(len(tiles), func(from, to int) {
		for k := from; k < to; k++ {
			t := &tiles[k]
			out[k] = make([][smearBands][2]float64, len(a.in))
			x, y := (float64(t.at%a.tw)+0.5)*side-0.5-cx, (float64(t.at/a.tw)+0.5)*side-0.5-cy
			for q := range a.in {
				for b := range smearBands {
					out[k][q][b] = [2]float64{math.NaN(), math.NaN()}
				}
			}
			for _, q := range frames {
				i := a.in[q]
				if !t.fit.ok || math.Abs(t.fit.place-a.places.s[q]) > smearReach*a.circle {
					continue
				}
				f := s.frames[i]
				u, v, l, seen := s.on(a, i, x, y)
				if !seen {
					continue
				}
				for b := range smearBands {
					var e [directions]float64
					sum, noise := 0.0, 0.0
					for d := range directions {
						m := bands + b*directions + d
						floor := s.floors.at(m, l)
						raw, _ := f.detail.at(f.detail.maps[m], u, v)
						e[d] = max(raw-floor, floorShare*floor)
						sum += e[d]
						noise += floor
					}
					if sum > 2*noise {
						out[k][q][b] = [2]float64{math.Log(e[0] / e[2]), math.Log(e[1] / e[3])}
					}
				}
			}
		}
	})
	return out
}

// drift is how a texture's one-sidedness changes with blur, by band: of ln(0/90) and of ln(45/135) a
// pixel of blur. The texture is one-sided by itself, and blur changes that too. All frames of a stack show
// the same texture, so that what one pair of frames says of it is held to what the others say (B. Efron and C.
// Morris, as for the spectra).
//
// common is by how much two frames' one-sidedness differs in a band without any smear, by frame that is looked at.
type drift struct {
	mean, variance [smearBands][2]float64
	common         [][smearBands]float64
}

// common tells by how much frames beside each other differ in one-sidedness beyond what their tiles' scatter and their
// texture explain: the standard deviation, by band, from all pairs without the frame of rank r. So a smear is counted in
// what the stack's other frames differ by.
func (p *places) common(after [][smearNeighbour]lack, r int) (sd [smearBands]float64) {
	for b := range sd {
		var square, known []float64
		for i := range after {
			for k, l := range after[i] {
				j := i + 1 + k
				if i == r || j == r || !l.ok || p.skip[p.order[i]] || p.skip[p.order[j]] {
					continue
				}
				for c, v := range l.v[b] {
					if own := sq(l.sd[b][c]) + sq(modelRelative*l.side[b][c]); !math.IsInf(own, 1) {
						square, known = append(square, sq(v)), append(known, own)
					}
				}
			}
		}
		v, n := smearUsual*sq(smearModel), float64(len(square))
		if n > 0 {
			// The median of a squared normal number is 0.455 of its variance.
			v += n * max(median(square)/0.455-median(known), sq(smearLeast))
		}
		sd[b] = math.Sqrt(v / (smearUsual + n))
	}
	return sd
}

// pairs are the tiles that two frames both see nearly in focus, in a band: by how much more blurred each is in
// the one than in the other (x), and by how much its one-sidedness differs (y); own is the mean one-sidedness of all of
// them in both frames.
func (a *analysis) pairs(side [][][smearBands][2]float64, i, j, b int) (x []float64, y [2][]float64, own [2]float64) {
	p := a.places
	for k := range side {
		si, sj := side[k][i][b], side[k][j][b]
		du, dv := si[0]-sj[0], si[1]-sj[1]
		if du != du || dv != dv {
			continue
		}
		t := p.ev.tiles[k].fit.place
		x = append(x, math.Abs(t-p.s[i])-math.Abs(t-p.s[j]))
		y[0], y[1] = append(y[0], du), append(y[1], dv)
		own[0], own[1] = own[0]+(si[0]+sj[0])/2, own[1]+(si[1]+sj[1])/2
	}
	for c := range own {
		own[c] /= max(float64(len(x)), 1)
	}
	return x, y, own
}

// driftOf finds the drift from all pairs of frames side by side.
func (a *analysis) driftOf(side [][][smearBands][2]float64) (d drift) {
	order := a.places.order
	slopes := make([][smearBands][2]float64, len(order)) // NaN where a pair does not tell
	plane.Share(len(order), func(from, to int) {
		for r := from; r < to; r++ {
			for b := range smearBands {
				slopes[r][b] = [2]float64{math.NaN(), math.NaN()}
				if r+1 == len(order) {
					continue
				}
				x, y, _ := a.pairs(side, order[r], order[r+1], b)
				if len(x) < smearTiles {
					continue
				}
				for c := range y {
					if l := lineOf(x, y[c], 0, math.Inf(1)); l.slopeSD < smearSlope {
						slopes[r][b][c] = l.slope
					}
				}
			}
		}
	})
	for b := range smearBands {
		for c := range d.mean[b] {
			var known []float64
			for r := range slopes {
				if v := slopes[r][b][c]; v == v {
					known = append(known, v)
				}
			}
			d.variance[b][c] = sq(smearSlope)
			if len(known) < 3 {
				continue
			}
			m := median(known)
			for i := range known {
				known[i] = math.Abs(known[i] - m)
			}
			d.mean[b][c], d.variance[b][c] = m, sq(1.4826*median(known)+smearModel)
		}
	}
	return d
}

// lackOf compares frames i and j over the tiles that both see nearly in focus: the value, on a line
// fitted over the difference of the two blurs, where that is nought.
func (a *analysis) lackOf(side [][][smearBands][2]float64, d *drift, i, j int) lack {
	out := lack{ok: false}
	for b := range smearBands {
		x, y, own := a.pairs(side, i, j, b)
		for c := range y {
			if len(x) < smearTiles {
				out.sd[b][c] = math.Inf(1)
				continue
			}
			l := lineOf(x, y[c], d.mean[b][c], d.variance[b][c])
			out.v[b][c], out.sd[b][c] = l.at, l.atSD
			out.side[b][c] = own[c]
			out.ok = true
		}
	}
	return out
}

// line is y = at + slope x with its standard errors.
type line struct{ at, atSD, slope, slopeSD float64 }

// lineOf fits a line robustly (iteratively reweighted, P. J. Huber 1964) whose slope is known to be about usual,
// with a variance.
func lineOf(x, y []float64, usual, variance float64) (l line) {
	l.at, l.slope = median(y), usual
	res, scratch := make([]float64, len(x)), make([]float64, len(x))
	for range 5 {
		for i := range x {
			res[i] = math.Abs(y[i] - l.at - l.slope*x[i])
		}
		copy(scratch, res)
		spread := max(1.4826*plane.Kth(scratch, len(scratch)/2), 1e-3)
		sw, sx, sxx := 0.0, 0.0, 1e-6
		sy, sxy := 0.0, 1e-6*usual
		if !math.IsInf(variance, 1) {
			sxx += sq(spread) / variance
			sxy += sq(spread) / variance * usual
		}
		for i := range x {
			w := 1.0
			if res[i] > 1.5*spread {
				w = 1.5 * spread / res[i]
			}
			sw, sx, sxx = sw+w, sx+w*x[i], sxx+w*x[i]*x[i]
			sy, sxy = sy+w*y[i], sxy+w*x[i]*y[i]
		}
		det := sw*sxx - sx*sx
		if !(det > 1e-9) {
			l.atSD, l.slopeSD = math.Inf(1), math.Inf(1)
			return l
		}
		l.at, l.slope = (sxx*sy-sx*sxy)/det, (sw*sxy-sx*sy)/det
		l.atSD, l.slopeSD = spread*math.Sqrt(sxx/det), spread*math.Sqrt(sw/det)
	}
	return l
}

// smeared finds the smear that explains best what a frame lacks against its neighbours. Against every one
// of them must be lacking at least a third of that, as far as that can be told. What a lack may be wrong by for all tiles
// alike is common, and a part of the texture's own one-sidedness: where detail goes every way, blur makes none, but in a
// cloth of regular stripes it fades along them only, and not by the law that holds for most textures.
func smeared(all []lack, common [smearBands]float64) smear {
	if len(all) == 0 {
		return smear{}
	}
	variance := func(l *lack, b, c int) float64 {
		return sq(l.sd[b][c]) + sq(common[b]) + sq(modelRelative*l.side[b][c])
	}
	var mean, sd [smearBands][2]float64
	none := 0.0
	for b := range mean {
		for c := range mean[b] {
			sw, best := 0.0, math.Inf(1)
			for i := range all {
				v := variance(&all[i], b, c)
				mean[b][c] += all[i].v[b][c] / v
				sw += 1 / v
				best = min(best, v)
			}
			if sd[b][c] = math.Sqrt(best); sw > 0 {
				mean[b][c] /= sw
				none += sq(mean[b][c]) / best
			}
		}
	}
	t := smearTable()
	best := math.Inf(1)
	var out smear
	var at [smearBands][2]float64 // what the best smear would do
	for i := range t {
		for j := range t[i] {
			cost := 0.0
			for b := range smearBands {
				w := t[i][j][b]
				for c := range w {
					if !math.IsInf(sd[b][c], 1) {
						s := math.Hypot(sd[b][c], 0.12*math.Hypot(w[0], w[1]))
						cost += sq((mean[b][c]-w[c])/s) + 2*math.Log(s/sd[b][c])
					}
				}
			}
			if cost < best {
				best, at = cost, t[i][j]
				out = smear{float64(i) * smearPitch, float64(j) * 180 / smearAngles, none - cost}
			}
		}
	}
	for k := range all {
		agree, total := 0.0, 0.0
		for b := range at {
			for c := range at[b] {
				v := variance(&all[k], b, c)
				agree += all[k].v[b][c] * at[b][c] / v
				total += sq(at[b][c]) / v
			}
		}
		if total > 0 && agree/total+1/math.Sqrt(total) < smearPart {
			return smear{}
		}
	}
	return out
}

const (
	smearPitch   = 0.25 // pixels
	smearLengths = 57   // up to 14 pixels
	smearAngles  = 24
)

// smearTable holds what smears of every length and direction do to ln(0/90) and ln(45/135) in each
// band, for a common spectrum: a uniform smear of length l leaves sinc^2(l f) of the energy at
// frequency f along it.
var smearTable = sync.OnceValue(func() [smearLengths][smearAngles][smearBands][2]float64 {
	const n = 20 // frequencies from 0 to Nyquist
	type wave struct{ fx, fy, e float64 }
	var waves [smearBands][]wave
	for b := range smearBands {
		s := float64(int(1) << b)
		for j := -n; j < n; j++ {
			for i := range n {
				fx, fy := 0.5*(float64(i)+0.5)/n/s, 0.5*(float64(j)+0.5)/n/s
				f := math.Hypot(fx, fy)
				e := sq((1 - binomialTransfer(fx*s)*binomialTransfer(fy*s)) * sinc(fx) * sinc(fy))
				if b > 0 {
					e *= sq(binomialTransfer(fx) * binomialTransfer(fy))
				}
				waves[b] = append(waves[b], wave{fx, fy, e * math.Exp(-sq(2*math.Pi*softness*f)) / (f * f)})
			}
		}
	}
	var out [smearLengths][smearAngles][smearBands][2]float64
	energies := func(b int, l, sin, cos float64) (e [directions]float64) {
		s := float64(int(1) << b)
		for _, w := range waves[b] {
			left := w.e * sq(sinc(l*(w.fx*cos+w.fy*sin)))
			for d, step := range [directions][2]float64{{1, 0}, {1, 1}, {0, 1}, {-1, 1}} {
				e[d] += left * sq(math.Sin(2*math.Pi*s*(w.fx*step[0]+w.fy*step[1])))
			}
		}
		return e
	}
	for b := range smearBands {
		base := energies(b, 0, 0, 1)
		for i := range out {
			for j := range out[i] {
				sin, cos := math.Sincos(float64(j) * math.Pi / smearAngles)
				e := energies(b, float64(i)*smearPitch, sin, cos)
				out[i][j][b] = [2]float64{
					math.Log(e[0] / base[0] * base[2] / e[2]),
					math.Log(e[1] / base[1] * base[3] / e[3]),
				}
			}
		}
	}
	return out
})

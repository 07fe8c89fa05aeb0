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
	smearFullSize  = 1.6   // pixels of the full-size picture: less is no fault
	smearWorking   = 0.55  // and of the working size: less is not told from the model's errors
	smearSigmas    = 3.5   // from which its direction is told
	smearModel     = 0.012 // what two frames' one-sidedness differs by without any smear
	smearSlope     = 0.2   // a pixel of blur: what one-sidedness may change by where nothing is known of it
	smearPart      = 1.0 / 3
	smearNeighbour = 2 // frames on either side that one is compared with
)

// lack is by how much a frame's detail is more one-sided than another's, as a vector by band:
// the difference of ln (energy at 0 degrees / at 90) and of ln (45 / 135).
type lack struct {
	v  [smearBands][2]float64
	sd [smearBands]float64
	ok bool
}

// smearAsDisc is the length of a straight smear over the diameter of a disc of the same variance.
var smearAsDisc = math.Sqrt(1.5)

// smear is what speaks for movement along one direction: its length in pixels of working size, the
// direction in degrees clockwise from the right, 0 to 180, and by how much less is left unexplained with it than
// without (chi square). The zero value is none.
type smear struct{ length, angle, gain float64 }

// smearOf tells how the frame of a rank is smeared from those beside it in depth that are not left out.
func (a *analysis) smearOf(r int, between func(r, q int) lack) smear {
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
	return smeared(all)
}

// smears tells how every frame is smeared, and the drift.
func (s *Stack) smears(a *analysis) ([]smear, drift) {
	p := a.places
	n := p.ev.n
	side := s.sidedness(a, p.order)
	d := a.driftOf(side)
	after := make([][smearNeighbour]lack, n) // by rank: held against each of the next ranks
	plane.Share(n, func(from, to int) {
		for r := from; r < to; r++ {
			for q := r + 1; q <= min(r+smearNeighbour, n-1); q++ {
				after[r][q-r-1] = a.lackOf(side, &d, p.order[r], p.order[q])
			}
		}
	})
	out := make([]smear, n)
	for r := range n {
		out[p.order[r]] = a.smearOf(r, func(r, q int) lack {
			if q > r {
				return after[r][q-r-1]
			}
			l := after[q][r-q-1]
			for b := range l.v {
				l.v[b] = [2]float64{-l.v[b][0], -l.v[b][1]}
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
	return a.smearOf(r, func(r, q int) lack { return a.lackOf(side, d, p.order[r], p.order[q]) })
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
				u, v := a.moves[i].Apply(x, y)
				u, v = u+cx+0.5, v+cy+0.5
				l, seen := f.detail.at(f.detail.luma, u, v)
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
type drift struct{ mean, variance [smearBands][2]float64 }

// pairs are the tiles that two frames both see nearly in focus, in a band: by how much more blurred each is in
// the one than in the other, and by how much its one-sidedness differs.
func (a *analysis) pairs(side [][][smearBands][2]float64, i, j, b int) (x []float64, y [2][]float64) {
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
	}
	return x, y
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
				x, y := a.pairs(side, order[r], order[r+1], b)
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
		out.sd[b] = math.Inf(1)
		x, y := a.pairs(side, i, j, b)
		if len(x) < smearTiles {
			continue
		}
		u, v := lineOf(x, y[0], d.mean[b][0], d.variance[b][0]), lineOf(x, y[1], d.mean[b][1], d.variance[b][1])
		out.v[b] = [2]float64{u.at, v.at}
		out.sd[b] = math.Hypot(u.atSD, v.atSD)
		out.ok = true
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
// of them must be lacking at least a third of that, as far as that can be told.
func smeared(all []lack) smear {
	if len(all) == 0 {
		return smear{}
	}
	var mean [smearBands][2]float64
	var sd [smearBands]float64
	for b := range smearBands {
		sw, best := 0.0, math.Inf(1)
		for _, l := range all {
			if w := 1 / (sq(l.sd[b]) + sq(smearModel)); w > 0 {
				mean[b][0] += w * l.v[b][0]
				mean[b][1] += w * l.v[b][1]
				sw += w
				best = min(best, l.sd[b])
			}
		}
		sd[b] = math.Inf(1)
		if sw > 0 {
			mean[b][0], mean[b][1] = mean[b][0]/sw, mean[b][1]/sw
			sd[b] = math.Hypot(best, smearModel)
		}
	}
	t := smearTable()
	best, none := math.Inf(1), 0.0
	for b := range smearBands {
		if !math.IsInf(sd[b], 1) {
			none += (sq(mean[b][0]) + sq(mean[b][1])) / sq(sd[b])
		}
	}
	var out smear
	var at [smearBands][2]float64 // what the best smear would do
	for i := range t {
		for j := range t[i] {
			cost := 0.0
			for b := range smearBands {
				if math.IsInf(sd[b], 1) {
					continue
				}
				w := t[i][j][b]
				s := math.Hypot(sd[b], 0.12*math.Hypot(w[0], w[1]))
				cost += (sq(mean[b][0]-w[0])+sq(mean[b][1]-w[1]))/sq(s) + 4*math.Log(s/sd[b])
			}
			if cost < best {
				best, at = cost, t[i][j]
				out = smear{float64(i) * smearPitch, float64(j) * 180 / smearAngles, none - cost}
			}
		}
	}
	for _, o := range all {
		agree, total := 0.0, 0.0
		for b := range smearBands {
			if math.IsInf(o.sd[b], 1) {
				continue
			}
			w := 1 / (sq(o.sd[b]) + sq(smearModel))
			agree += w * (o.v[b][0]*at[b][0] + o.v[b][1]*at[b][1])
			total += w * (sq(at[b][0]) + sq(at[b][1]))
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

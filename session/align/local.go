package align

import (
	"math"

	"stillbench/session/plane"
)

// Part is a part of a frame that does not lie where the movement of the whole puts it.
type Part struct {
	// X, Y is its middle in the reference, from the picture's centre, and DX, DY where its detail
	// lies in the frame beyond what the movement of the whole says: pixels of working size, in the
	// reference's directions.
	X, Y, DX, DY float64
	// Sigma is the standard deviation of either of DX and DY.
	Sigma float64
	// Before and After are the correlations of its detail without DX, DY and with them.
	Before, After float64
}

// The parts that are compared, in pixels of the finest level.
const (
	partPitch  = 16  // from part to part
	partHalf   = 16  // half the side of a part
	partSearch = 12  // how far a part is looked for
	partSeen   = 0.2 // mean weight of what both frames have detail in
	partRounds = 4
)

// A part lies elsewhere when it correlates there, and what is left unexplained is so much less
// than where it should lie. Defocus lowers the correlation too, but nowhere else is it higher.
const (
	partLies    = 0.9 // a part that correlates so well lies where it should
	partAfter   = 0.7
	partGain    = 2.5
	partSigmas  = 4
	partLeastPX = 0.7 // of the finest level
	partAlike   = 0.3 // of what the best place correlates better, that another may lack and be as good
)

// Pitch is the distance from part to part, in pixels of working size: see Elsewhere.
func (f *Frame) Pitch() float64 {
	return partPitch * float64(f.W) / float64(f.levels[0].flat.W)
}

// Reversal is the diameter of the disc of defocus, in pixels of working size, from which on detail in
// the middle of the band that is compared comes out reversed, dark for light: the first zero of 2
// J1(pi d f)/(pi d f), at d f = 1.22 (H. H. Hopkins, 1955). What two frames show so far out of focus seems to
// lie elsewhere, and does not.
func (f *Frame) Reversal() float64 {
	// The band lets through most where both blurs' exp(-2 pi^2 f^2 s^2) differ most.
	const ratio = coarseSigma / fineSigma
	frequency := math.Sqrt(math.Log(ratio)/(ratio*ratio-1)) / (math.Pi * fineSigma)
	return 1.22 / frequency * f.Pitch() / partPitch
}

// Elsewhere compares two frames part by part and gives the parts of frame that lie elsewhere than
// move (see Measure) puts them: a part of the subject that moved by itself. It looks at the whole
// shifts around and goes on from the best by the step of B. D. Lucas and T. Kanade, "An iterative
// image registration technique", 1981.
func Elsewhere(reference, frame *Frame, move plane.Similarity) []Part {
	if reference.W != frame.W || reference.H != frame.H {
		return nil
	}
	ref, fr := &reference.levels[0], &frame.levels[0]
	w, h := ref.flat.W, ref.flat.H
	ratio := float64(reference.W) / float64(w)
	m := move
	m.DX, m.DY = m.DX/ratio, m.DY/ratio
	flat, weight := plane.Warp(nil, fr.flat, m), plane.Warp(nil, fr.weight, m)
	for i, a := range ref.weight.Pix {
		weight.Pix[i] = min(a, weight.Pix[i]) // the detail that both have
	}
	const rim = partHalf + partSearch + 2
	var out []Part
	for y := rim; y < h-rim; y += partPitch {
		for x := rim; x < w-rim; x += partPitch {
			s := patch{ref: ref.flat, frame: flat, weight: weight, x: x, y: y}
			p, ok := s.elsewhere()
			if !ok {
				continue
			}
			p.X, p.Y = (float64(x)-float64(w-1)/2)*ratio, (float64(y)-float64(h-1)/2)*ratio
			p.DX, p.DY, p.Sigma = p.DX*ratio, p.DY*ratio, p.Sigma*ratio
			out = append(out, p)
		}
	}
	return out
}

// patch is a square about (x, y) of two planes that lie on each other.
type patch struct {
	ref, frame, weight *plane.Plane
	x, y               int
}

// elsewhere finds where the patch lies; ok is false where it lies as it should, or that cannot be told.
func (p *patch) elsewhere() (l Part, ok bool) {
	seen := float32(0)
	for y := p.y - partHalf; y <= p.y+partHalf; y += 2 {
		row := p.weight.Row(y)[p.x-partHalf : p.x+partHalf+1]
		for i := 0; i < len(row); i += 2 {
			seen += row[i]
		}
	}
	if seen < partSeen*(partHalf+1)*(partHalf+1) {
		return l, false
	}
	if l.Before = p.correlation(0, 0); l.Before > partLies {
		return l, false
	}
	// First every second pixel around, then those about the best.
	bx, by, best := 0, 0, l.Before
	var around [partSearch + 1][partSearch + 1]float64
	try := func(dx, dy int) float64 {
		c := p.correlation(dx, dy)
		if c > best {
			bx, by, best = dx, dy, c
		}
		return c
	}
	for dy := -partSearch; dy <= partSearch; dy += 2 {
		for dx := -partSearch; dx <= partSearch; dx += 2 {
			around[(dy+partSearch)/2][(dx+partSearch)/2] = try(dx, dy)
		}
	}
	if repeats(&around, (bx+partSearch)/2, (by+partSearch)/2, l.Before) {
		return l, false
	}
	x, y := bx, by
	for dy := max(y-1, -partSearch); dy <= min(y+1, partSearch); dy++ {
		for dx := max(x-1, -partSearch); dx <= min(x+1, partSearch); dx++ {
			try(dx, dy)
		}
	}
	l.DX, l.DY = float64(bx), float64(by)
	for range partRounds {
		if !p.step(&l) {
			return l, false
		}
	}
	size := math.Hypot(l.DX, l.DY)
	return l, l.After > partAfter && 1-l.Before > partGain*(1-l.After) && size > partLeastPX && size > partSigmas*l.Sigma
}

// repeats reports whether the detail of a patch comes again and again, as in a cloth or a comb: then it correlates with the next of its
// kind as well as with itself, and a blur that reverses it makes it seem to lie half a distance away. around are the correlations at every
// second pixel, the best at (x, y), and before the one where the patch should lie. There is such a place where the correlation is nearly as good
// as the best, and not halfway to it, as it is along a line.
func repeats(around *[partSearch + 1][partSearch + 1]float64, x, y int, before float64) bool {
	good := around[y][x] - partAlike*(around[y][x]-before)
	for v := range around {
		for u, c := range around[v] {
			if c > good && max(abs(u-x), abs(v-y)) > 2 && around[(v+y)/2][(u+x)/2] < good {
				return true
			}
		}
	}
	return false
}

func abs(n int) int { return max(n, -n) }

// correlation of the patch with the frame's, shifted by whole pixels, weighted; every second row
// and column.
func (p *patch) correlation(dx, dy int) float64 {
	var sw, sa, sb, saa, sbb, sab float32
	for y := p.y - partHalf; y <= p.y+partHalf; y += 2 {
		a := p.ref.Row(y)[p.x-partHalf : p.x+partHalf+1]
		w := p.weight.Row(y)[p.x-partHalf : p.x+partHalf+1]
		b := p.frame.Row(y + dy)[p.x-partHalf+dx : p.x+partHalf+1+dx]
		for i := 0; i < len(a); i += 2 {
			v := w[i]
			sw += v
			sa += v * a[i]
			sb += v * b[i]
			saa += v * a[i] * a[i]
			sbb += v * b[i] * b[i]
			sab += v * a[i] * b[i]
		}
	}
	if !(sw > 0) {
		return 0
	}
	return float64((sab - sa*sb/sw) / float32(math.Sqrt(float64(max((saa-sa*sa/sw)*(sbb-sb*sb/sw), 1e-20)))))
}

// step moves DX, DY by one Gauss-Newton step, the mean of both gradients as in climb, with a
// free gain.
func (p *patch) step(l *Part) bool {
	var sw, sa, sb, saa, sbb, sab float64
	var xx, xy, yy, xr, yr, rr float64
	n := 0.0
	fx, fy := math.Floor(l.DX), math.Floor(l.DY)
	dx, dy := int(fx), int(fy)
	if dx < -partSearch || dx > partSearch || dy < -partSearch || dy > partSearch {
		return false
	}
	u, v := float32(l.DX-fx), float32(l.DY-fy)
	for y := p.y - partHalf; y <= p.y+partHalf; y += 2 {
		up, ref, dn, w := p.ref.Row(y-1), p.ref.Row(y), p.ref.Row(y+1), p.weight.Row(y)
		f0, f1, f2, f3 := p.frame.Row(y+dy-1), p.frame.Row(y+dy), p.frame.Row(y+dy+1), p.frame.Row(y+dy+2)
		for x := p.x - partHalf; x <= p.x+partHalf; x += 2 {
			wt := w[x]
			if wt <= 0 {
				continue
			}
			k := x + dx
			row := func(f []float32, k int) float32 { return f[k] + u*(f[k+1]-f[k]) }
			t0, t1, t2, t3 := row(f0, k), row(f1, k), row(f2, k), row(f3, k)
			b := t1 + v*(t2-t1)
			gy := ((t2-t0)*(1-v) + (t3-t1)*v) / 2
			left, right := row(f1, k-1)*(1-v)+row(f2, k-1)*v, row(f1, k+1)*(1-v)+row(f2, k+1)*v
			gx := (right - left) / 2
			gx, gy = (gx+(ref[x+1]-ref[x-1])/2)/2, (gy+(dn[x]-up[x])/2)/2
			a := ref[x]
			r := float64(a - b)
			q := float64(wt)
			// Where another thing shows, it counts less.
			if r > 1 || r < -1 {
				q /= math.Abs(r)
			}
			sw += q
			n++
			af, bf := float64(a), float64(b)
			sa, sb, saa, sbb, sab = sa+q*af, sb+q*bf, saa+q*af*af, sbb+q*bf*bf, sab+q*af*bf
			gxf, gyf := float64(gx), float64(gy)
			xx, xy, yy = xx+q*gxf*gxf, xy+q*gxf*gyf, yy+q*gyf*gyf
			xr, yr, rr = xr+q*gxf*r, yr+q*gyf*r, rr+q*r*r
		}
	}
	det := xx*yy - xy*xy
	// An edge alone does not tell where along it the patch lies.
	if n < 30 || !(det > 0.02*(xx+yy)*(xx+yy)) {
		return false
	}
	mx, my := (yy*xr-xy*yr)/det, (xx*yr-xy*xr)/det
	if size := math.Hypot(mx, my); size > 2 {
		mx, my = mx*2/size, my*2/size
	}
	l.DX, l.DY = l.DX+mx, l.DY+my
	l.After = (sab - sa*sb/sw) / math.Sqrt(max((saa-sa*sa/sw)*(sbb-sb*sb/sw), 1e-20))
	// Neighbouring samples are not independent: see climb.
	dependent := max(1, 4*math.Pi*fineSigma*fineSigma/4)
	l.Sigma = math.Sqrt(rr / n * (xx + yy) / 2 / det * dependent)
	return true
}

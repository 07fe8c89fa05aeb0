package align

import (
	"math"

	"stillbench/session/plane"
)

const (
	maxPoints  = 60000 // compared at one level
	maxRounds  = 25
	settled    = 0.003 // pixels at the picture's corner: smaller steps end a level
	keepsOwn   = 2.5   // residuals beyond this many standard deviations lose weight
	minPoints  = 200
	pointsFrom = 0.02 // weight from which a place of the reference is compared
)

// fit is where a level's climb ended.
type fit struct {
	move        plane.Similarity
	sigma       float64 // pixels of the level, RMS over the picture
	correlation float64
	shared      float64
}

// point is a place of the reference that is compared.
type point struct {
	x, y   float32 // from the centre
	v      float32 // reference value
	gx, gy float32 // and its gradient
	w      float32
}

// points chooses the places of a reference with detail, on a grid as fine as maxPoints
// allows, and says what share of the picture they stand for and the grid's pitch.
func points(l *level) (out []point, share float64, stride int) {
	w, h := l.flat.W, l.flat.H
	n := 0
	for _, v := range l.weight.Pix {
		if v > pointsFrom {
			n++
		}
	}
	stride = 1
	for n/(stride*stride) > maxPoints {
		stride++
	}
	cx, cy := float32(w-1)/2, float32(h-1)/2
	const rim = 3
	for y := rim; y < h-rim; y += stride {
		row, up, down := l.flat.Row(y), l.flat.Row(y-1), l.flat.Row(y+1)
		for x := rim; x < w-rim; x += stride {
			wt := l.weight.Pix[y*w+x]
			if wt <= pointsFrom {
				continue
			}
			out = append(out, point{
				x: float32(x) - cx, y: float32(y) - cy, v: row[x], w: wt,
				gx: (row[x+1] - row[x-1]) / 2, gy: (down[x] - up[x]) / 2,
			})
		}
	}
	return out, float64(n) / float64(w*h), stride
}

// climb maximises the correlation of frame with ref over the four parameters of a
// similarity and the gain, by Gauss-Newton steps on the weighted squared difference, which
// for a free gain has the same maximum. The gradient is the mean of both frames' (as in
// efficient second-order minimisation, S. Benhimane and E. Malis, 2004), which converges
// from farther off.
func climb(ref, frame *level, start plane.Similarity, finest bool) (fit, bool) {
	pts, share, stride := points(ref)
	if len(pts) < minPoints {
		return fit{}, false
	}
	w, h := ref.flat.W, ref.flat.H
	cx, cy := float64(w-1)/2, float64(h-1)/2
	corner := math.Hypot(cx, cy)
	// Parameters: a = scale cos turn, b = scale sin turn, DX, DY; a and b in units of 1/corner so
	// that all four move the corner by about a pixel.
	a, b := start.Scale*math.Cos(start.Turn), start.Scale*math.Sin(start.Turn)
	tx, ty := start.DX, start.DY
	residual := make([]float32, len(pts))
	absolute := make([]float64, 0, len(pts)/4+1)
	spread := 1.0
	out := fit{}
	inv := float32(1 / corner)
	for round := range maxRounds {
		var m normal
		var st, si, stt, sii, sti, sw, swShared float64
		absolute = absolute[:0]
		for i := range pts {
			p := &pts[i]
			u := a*float64(p.x) - b*float64(p.y) + tx + cx
			v := b*float64(p.x) + a*float64(p.y) + ty + cy
			iv, gx, gy, ok := cubic(frame.flat, u, v)
			if !ok {
				residual[i] = float32(math.NaN())
				continue
			}
			wi := frame.weight.Pix[int(v+0.5)*w+int(u+0.5)]
			// The detail that both have: the lesser of the two weights.
			wt := min(wi, p.w)
			swShared += float64(wt)
			r := p.v - iv
			if i&3 == 0 {
				absolute = append(absolute, math.Abs(float64(r)))
			}
			if limit := float32(keepsOwn * spread); r > limit || r < -limit {
				wt *= limit / float32(math.Abs(float64(r)))
			}
			gx, gy = (gx+p.gx)/2, (gy+p.gy)/2
			wf := float64(wt)
			sw += wf
			st += wf * float64(p.v)
			si += wf * float64(iv)
			stt += wf * float64(p.v*p.v)
			sii += wf * float64(iv*iv)
			sti += wf * float64(p.v*iv)
			m.add(wt, r, (gx*p.x+gy*p.y)*inv, (gy*p.x-gx*p.y)*inv, gx, gy, iv)
		}
		if sw < minPoints/4 {
			return fit{}, false
		}
		step, ok := m.solve()
		if !ok {
			return fit{}, false
		}
		da, db, dx, dy := step[0]/corner, step[1]/corner, step[2], step[3]
		// A step of more than the band's width is no local step.
		size := math.Hypot(dx, dy) + math.Hypot(step[0], step[1])
		if limit := 4.0; size > limit {
			k := limit / size
			da, db, dx, dy = da*k, db*k, dx*k, dy*k
		}
		a, b, tx, ty = a+da, b+db, tx+dx, ty+dy
		spread = max(1.4826*quantile(absolute, 0.5), 0.05)
		out.correlation = (sti - st*si/sw) / math.Sqrt(max((stt-st*st/sw)*(sii-si*si/sw), 1e-30))
		out.shared = share * swShared / float64(len(pts))
		// Neighbouring pixels of a band-passed plane are not independent: one sample to about
		// 4 pi sigma^2 pixels.
		dependent := max(1, 4*math.Pi*fineSigma*fineSigma/float64(stride*stride))
		out.sigma = m.sigma(w, h, corner) * math.Sqrt(dependent)
		if size < settled || (!finest && size < 10*settled) {
			break
		}
		if round > 8 && out.correlation < 0.05 {
			return fit{}, false
		}
	}
	out.move = plane.Similarity{Scale: math.Hypot(a, b), Turn: math.Atan2(b, a), DX: tx, DY: ty}
	return out, true
}

// cubic samples a plane and its gradient by Catmull-Rom splines (E. Catmull and R. Rom,
// 1974); ok is false within two pixels of the edge.
func cubic(p *plane.Plane, u, v float64) (value, gx, gy float32, ok bool) {
	if !(u >= 2 && v >= 2 && u < float64(p.W-3) && v < float64(p.H-3)) {
		return 0, 0, 0, false
	}
	x, y := int(u), int(v)
	fx, fy := float32(u-float64(x)), float32(v-float64(y))
	wx, dx := catmullRom(fx)
	wy, dy := catmullRom(fy)
	at := (y-1)*p.W + x - 1
	for j := range 4 {
		r := p.Pix[at : at+4 : at+4]
		s := wx[0]*r[0] + wx[1]*r[1] + wx[2]*r[2] + wx[3]*r[3]
		d := dx[0]*r[0] + dx[1]*r[1] + dx[2]*r[2] + dx[3]*r[3]
		value += wy[j] * s
		gx += wy[j] * d
		gy += dy[j] * s
		at += p.W
	}
	return value, gx, gy, true
}

func catmullRom(t float32) (w, d [4]float32) {
	t2, t3 := t*t, t*t*t
	w = [4]float32{-0.5*t3 + t2 - 0.5*t, 1.5*t3 - 2.5*t2 + 1, -1.5*t3 + 2*t2 + 0.5*t, 0.5*t3 - 0.5*t2}
	d = [4]float32{-1.5*t2 + 2*t - 0.5, 4.5*t2 - 5*t, -4.5*t2 + 4*t + 0.5, 1.5*t2 - t}
	return w, d
}

// normal is a weighted least-squares problem of five unknowns: four of the movement, and
// the gain.
type normal struct {
	a   [5][5]float64
	b   [5]float64
	rr  float64
	n   int
	inv [5][5]float64
}

func (m *normal) add(w, r, j0, j1, j2, j3, j4 float32) {
	j := [5]float64{float64(j0), float64(j1), float64(j2), float64(j3), float64(j4)}
	wf, rf := float64(w), float64(r)
	for k := range 5 {
		wj := wf * j[k]
		for l := k; l < 5; l++ {
			m.a[k][l] += wj * j[l]
		}
		m.b[k] += wj * rf
	}
	m.rr += wf * rf * rf
	m.n++
}

// solve inverts by Gauss-Jordan with pivots on the diagonal, which a positive definite
// matrix allows.
func (m *normal) solve() ([5]float64, bool) {
	var a [5][10]float64
	for k := range 5 {
		for l := range 5 {
			if l >= k {
				a[k][l] = m.a[k][l]
			} else {
				a[k][l] = m.a[l][k]
			}
		}
		a[k][5+k] = 1
	}
	for k := range 5 {
		if !(a[k][k] > 1e-9*m.a[k][k]) || a[k][k] == 0 {
			return [5]float64{}, false
		}
		f := 1 / a[k][k]
		for l := range a[k] {
			a[k][l] *= f
		}
		for r := range 5 {
			if r == k {
				continue
			}
			f := a[r][k]
			for l := range a[r] {
				a[r][l] -= f * a[k][l]
			}
		}
	}
	var x [5]float64
	for k := range 5 {
		for l := range 5 {
			m.inv[k][l] = a[k][5+l]
			x[k] += m.inv[k][l] * m.b[l]
		}
	}
	return x, true
}

// sigma is the RMS error of a place, over a w x h picture, that the residuals allow.
func (m *normal) sigma(w, h int, corner float64) float64 {
	left := m.rr
	var x [5]float64
	for k := range 5 {
		for l := range 5 {
			x[k] += m.inv[k][l] * m.b[l]
		}
		left -= x[k] * m.b[k]
	}
	variance := max(left, 0) / float64(max(m.n-5, 1)) // per unit of weight
	r2 := (float64(w*w) + float64(h*h)) / 12 / (corner * corner)
	return math.Sqrt(variance * (m.inv[2][2] + m.inv[3][3] + r2*(m.inv[0][0]+m.inv[1][1])))
}

// quantile is the q-th quantile of values, whose order it changes; 0 of none.
func quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return 0
	}
	return plane.Kth(values, int(q*float64(len(values)-1)+0.5))
}

package plane

// Pyramid is a picture at ever coarser sizes, finest first. Level k+1 of a w x h level is
// (w+1)/2 x (h+1)/2, and a coarse pixel (x, y) sits on the fine pixel (2x, 2y).
//
// P. J. Burt and E. H. Adelson, "The Laplacian pyramid as a compact image code", IEEE Trans.
// Comm. 31(4), 1983. Generating kernel: [1 4 6 4 1]/16 (their a = 0.375), as in OpenCV's
// pyrDown; edges are mirrored.
type Pyramid []*Plane

// GaussianPyramid blurs and halves src, levels-1 times. Level 0 is src itself, not a
// copy; further levels reuse dst's. It stops early at a level of 1 x 1. It panics if levels
// is less than 1.
func GaussianPyramid(dst Pyramid, src *Plane, levels int) Pyramid {
	if levels < 1 {
		panic(badLevels)
	}
	out := append(dst[:0:0], src)
	for k := 1; k < levels && (out[k-1].W > 1 || out[k-1].H > 1); k++ {
		var reuse *Plane
		if k < len(dst) {
			reuse = dst[k]
		}
		out = append(out, Down(reuse, out[k-1]))
	}
	return out
}

// LaplacianPyramid holds, in each level but the last, what halving loses: the level of the
// Gaussian pyramid minus the next one enlarged; the last level is the Gaussian pyramid's.
// Values are signed. dst's levels are reused; none of them may be src. It panics if levels
// is less than 1.
func LaplacianPyramid(dst Pyramid, src *Plane, levels int) Pyramid {
	g := GaussianPyramid(nil, src, levels)
	out := make(Pyramid, len(g))
	for k := range g {
		var reuse *Plane
		if k < len(dst) {
			reuse = dst[k]
		}
		if k == len(g)-1 {
			out[k] = Sized(reuse, g[k].W, g[k].H)
			copy(out[k].Pix, g[k].Pix)
			break
		}
		out[k] = up(reuse, g[k+1], g[k].W, g[k].H, g[k], -1)
	}
	return out
}

// Collapse adds the levels of a Laplacian pyramid up again to the picture it was made from.
func (p Pyramid) Collapse(dst *Plane) *Plane {
	last := p[len(p)-1]
	if len(p) == 1 {
		dst = Sized(dst, last.W, last.H)
		copy(dst.Pix, last.Pix)
		return dst
	}
	for k := len(p) - 2; k >= 0; k-- {
		var into *Plane
		if k == 0 {
			into = dst
		}
		last = up(into, last, p[k].W, p[k].H, p[k], 1)
	}
	return last
}

// Down blurs by [1 4 6 4 1]/16 along either axis and keeps every second pixel, beginning
// with the first.
func Down(dst, src *Plane) *Plane {
	w, h := (src.W+1)/2, (src.H+1)/2
	dst = Sized(dst, w, h)
	rows(h, 2*src.W, func(y0, y1 int) {
		pad := make([]float32, src.W+4)
		column := make([]float32, src.W)
		for y := y0; y < y1; y++ {
			a, b := src.Row(mirror(2*y-2, src.H)), src.Row(mirror(2*y-1, src.H))
			c := src.Row(2 * y)
			d, e := src.Row(mirror(2*y+1, src.H)), src.Row(mirror(2*y+2, src.H))
			for x := range column {
				column[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) * (1.0 / 16)
			}
			padded(pad, column, 2)
			out := dst.Row(y)
			for x := range out {
				s := pad[2*x : 2*x+5]
				out[x] = (s[0] + s[4] + 4*(s[1]+s[3]) + 6*s[2]) * (1.0 / 16)
			}
		}
	})
	return dst
}

// Up enlarges to w x h, one of the sizes that Down would bring to src's: zeros are put
// between the pixels and the result blurred by [1 4 6 4 1]/8 along either axis. It panics if
// w x h does not fit.
func Up(dst, src *Plane, w, h int) *Plane { return up(dst, src, w, h, nil, 1) }

// up enlarges; with base it gives base + sign * enlarged in the same go.
func up(dst, src *Plane, w, h int, base *Plane, sign float32) *Plane {
	if (w+1)/2 != src.W || (h+1)/2 != src.H {
		panic(badUp)
	}
	dst = Sized(dst, w, h)
	// A coarse neighbour beyond the first mirrors to the second, as the zeros between
	// do; beyond the last it is the last again.
	before := func(i, n int) int { return min(max(i, -i), n-1) }
	after := func(i, n int) int { return min(i, n-1) }
	rows(h, w, func(y0, y1 int) {
		column := make([]float32, src.W)
		for y := y0; y < y1; y++ {
			i := y / 2
			c, n := src.Row(i), src.Row(after(i+1, src.H))
			if y%2 == 0 {
				p := src.Row(before(i-1, src.H))
				for x := range column {
					column[x] = (p[x] + 6*c[x] + n[x]) * 0.125
				}
			} else {
				for x := range column {
					column[x] = (c[x] + n[x]) * 0.5
				}
			}
			out := dst.Row(y)
			prev := column[before(-1, src.W)]
			for x, v := range column {
				next := column[after(x+1, src.W)]
				out[2*x] = (prev + 6*v + next) * 0.125
				if 2*x+1 < w {
					out[2*x+1] = (v + next) * 0.5
				}
				prev = v
			}
			if base != nil {
				for x, v := range base.Row(y) {
					out[x] = v + sign*out[x]
				}
			}
		}
	})
	return dst
}

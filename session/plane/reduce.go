package plane

// span is the stretch of source cells that one destination cell covers.
type span struct {
	from, to    int     // cells from..to-1 are touched
	first, last float32 // weights of the outermost two; those between have inner
	inner       float32 // 1 / (cells covered)
}

// spans shares out n source cells over m <= n destination cells. The weights of a span add
// up to 1. Positions are kept as whole numbers of 1/m cells, so that nothing is lost or
// counted twice by rounding.
func spans(n, m int) []span {
	out := make([]span, m)
	inner := float32(m) / float32(n)
	for i := range out {
		a, b := i*n, (i+1)*n // in 1/m cells
		s := span{from: a / m, to: (b + m - 1) / m, inner: inner}
		s.first = float32((s.from+1)*m-a) / float32(n)
		s.last = float32(b-(s.to-1)*m) / float32(n)
		if s.to == s.from+1 {
			s.first, s.last = 1, 0
		}
		out[i] = s
	}
	return out
}

func (s span) weight(i int) float32 {
	switch i {
	case s.from:
		return s.first
	case s.to - 1:
		return s.last
	}
	return s.inner
}

// Reduce makes a smaller plane of w x h pixels, each the exact average over the area of
// the source that it covers. It panics if w or h is less than 1 or more than the source's.
func Reduce(dst, src *Plane, w, h int) *Plane {
	checkReduce(src.W, src.H, w, h)
	dst = Sized(dst, w, h)
	xs, ys := spans(src.W, w), spans(src.H, h)
	rows(h, src.W*src.H/h, func(y0, y1 int) {
		column := make([]float32, src.W)
		for y := y0; y < y1; y++ {
			clear(column)
			for sy := ys[y].from; sy < ys[y].to; sy++ {
				k := ys[y].weight(sy)
				for x, v := range src.Row(sy) {
					column[x] += k * v
				}
			}
			out := dst.Row(y)
			for x, s := range xs {
				sum := s.first * column[s.from]
				if s.to-1 > s.from {
					sum += s.last * column[s.to-1]
					for _, v := range column[s.from+1 : s.to-1] {
						sum += s.inner * v
					}
				}
				out[x] = sum
			}
		}
	})
	return dst
}

// ReduceRGB makes a smaller picture of w x h pixels, each the average over the area of the
// source that it covers, taken in linear light as a lens would take it. Its FullW and FullH
// are the source's. It panics as Reduce does.
func ReduceRGB(dst, src *RGB, w, h int) *RGB {
	checkReduce(src.W, src.H, w, h)
	if dst == nil {
		dst = &RGB{}
	}
	if cap(dst.Pix) < 3*w*h {
		dst.Pix = make([]uint8, 3*w*h)
	}
	dst.W, dst.H, dst.Pix = w, h, dst.Pix[:3*w*h]
	dst.FullW, dst.FullH = src.FullW, src.FullH
	if w == src.W && h == src.H {
		copy(dst.Pix, src.Pix)
		return dst
	}
	xs, ys := spans(src.W, w), spans(src.H, h)
	rows(h, src.W*src.H/h, func(y0, y1 int) {
		column := make([]float32, 3*src.W)
		for y := y0; y < y1; y++ {
			clear(column)
			for sy := ys[y].from; sy < ys[y].to; sy++ {
				k := ys[y].weight(sy)
				for x, v := range src.Pix[3*src.W*sy : 3*src.W*(sy+1)] {
					column[x] += k * linear[v]
				}
			}
			out := dst.Pix[3*w*y : 3*w*(y+1)]
			for x, s := range xs {
				var r, g, b float32
				for i := s.from; i < s.to; i++ {
					k := s.weight(i)
					r += k * column[3*i]
					g += k * column[3*i+1]
					b += k * column[3*i+2]
				}
				out[3*x], out[3*x+1], out[3*x+2] = Encode8(r), Encode8(g), Encode8(b)
			}
		}
	})
	return dst
}

func checkReduce(sw, sh, w, h int) {
	if w < 1 || h < 1 {
		panic(badSize)
	}
	if w > sw || h > sh {
		panic(badReduce)
	}
}

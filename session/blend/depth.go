package blend

import "math"

// depthLevel is the pyramid level that the depth map is made at.
const depthLevel = 2

// DepthMap says how deep each place of the picture lies.
type DepthMap struct {
	// W x H is the size in pixels; it covers the whole picture, at about a quarter of its size.
	W, H int
	// Depth is 0 at the first frame's focus and 65535 at the last's.
	Depth []uint16
	// Confidence is 0 where depth was only filled in from around, 65535 where it is certain.
	Confidence []uint16
}

// depthSums keeps, for every place, the frame that showed the most detail.
type depthSums struct {
	w, h  int
	best  []float32
	index []float32
	total []float32
	n     int
}

func newDepthSums(w, h int) *depthSums {
	return &depthSums{w: w, h: h, best: make([]float32, w*h), index: make([]float32, w*h), total: make([]float32, w*h)}
}

func (d *depthSums) add(found []float32, index float32, in *inside, k int) {
	d.n++
	rows(d.h, func(y0, y1 int) {
		wt := make([]float32, d.w)
		for y := y0; y < y1; y++ {
			for i := range wt {
				wt[i] = 1
			}
			in.row(wt, 0, y, k)
			for x := range d.w {
				i := y*d.w + x
				v := found[i] * wt[x]
				d.total[i] += v
				if v > d.best[i] {
					d.best[i], d.index[i] = v, index
				}
			}
		}
	})
}

// depthMap smooths what was found by how sure it is, and fills in the rest from around: a
// normalised convolution over ever wider neighbourhoods.
func (d *depthSums) depthMap() *DepthMap {
	m := &DepthMap{W: d.w, H: d.h, Depth: make([]uint16, d.w*d.h), Confidence: make([]uint16, d.w*d.h)}
	sure := make([]float32, d.w*d.h)
	for i, b := range d.best {
		// Sure where detail stands clear of the noise and of the mean of all frames.
		mean := d.total[i] / float32(max(d.n, 1))
		over := b / (b + 1)
		apart := float32(1)
		if d.n > 1 {
			apart = (b - mean) / (b + 1e-6)
		}
		sure[i] = over * apart
		m.Confidence[i] = uint16(min(max(sure[i], 0), 1)*65535 + 0.5)
	}
	value, weight := fill(d.index, sure, d.w, d.h)
	for i := range value {
		v := float32(0)
		if weight[i] > 0 {
			v = value[i]
		}
		m.Depth[i] = uint16(math.Round(float64(min(max(v, 0), 1)) * 65535))
	}
	return m
}

// fill gives, for every place, the mean of values around it weighted by weights squared, from as far around
// as it takes.
func fill(value, weight []float32, w, h int) ([]float32, []float32) {
	num, den := make([]float32, w*h), make([]float32, w*h)
	for i := range value {
		q := weight[i] * weight[i]
		num[i], den[i] = value[i]*q, q
	}
	var down func(num, den []float32, w, h int)
	down = func(num, den []float32, w, h int) {
		if w < 3 || h < 3 {
			return
		}
		cw, ch := (w+1)/2, (h+1)/2
		cn, cd := make([]float32, cw*ch), make([]float32, cw*ch)
		for y := range h {
			for x := range w {
				cn[y/2*cw+x/2] += num[y*w+x] / 4
				cd[y/2*cw+x/2] += den[y*w+x] / 4
			}
		}
		down(cn, cd, cw, ch)
		for y := range h {
			for x := range w {
				// Bilinear, from the middles of the coarse cells.
				fx, fy := (float32(x)-0.5)/2, (float32(y)-0.5)/2
				i, j := int(max(fx, 0)), int(max(fy, 0))
				tx, ty := max(fx-float32(i), 0), max(fy-float32(j), 0)
				i2, j2 := min(i+1, cw-1), min(j+1, ch-1)
				at := func(p []float32) float32 {
					a := p[j*cw+i] + tx*(p[j*cw+i2]-p[j*cw+i])
					b := p[j2*cw+i] + tx*(p[j2*cw+i2]-p[j2*cw+i])
					return a + ty*(b-a)
				}
				// What lies around counts a tenth of what is known here.
				num[y*w+x] += 0.1 * at(cn)
				den[y*w+x] += 0.1 * at(cd)
			}
		}
	}
	down(num, den, w, h)
	for i := range num {
		if den[i] > 0 {
			num[i] /= den[i]
		}
	}
	return num, den
}

package focus

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"stillbench/session/plane"
)

// Detail is measured in octave bands. Band k is level k of a pyramid minus its 5 x 5
// binomial blur: the second difference that the modified Laplacian takes (S. K. Nayar and
// Y. Nakagawa, "Shape from focus", IEEE PAMI 16(8), 1994), squared instead of made
// absolute, so that its noise can be subtracted, and at several scales, so that how far out of
// focus something is shows and not only that it is.
const (
	bands = 4
	// directions of the derivative that movement is looked for in: 0, 45, 90, 135 degrees
	// clockwise from the right, in the bands 0 and 1.
	directions = 4
	smearBands = 2
	maps       = bands + smearBands*directions
	cell       = 8 // pixels along a cell's side
	tile       = 3 // cells along a tile's side
	lightBins  = 6 // by which noise depends on brightness; the lowest of them
	darkBins   = 8 // is divided again
	lumaBins   = darkBins + lightBins - 1
	quietPart  = 0.04
	fewCells   = 25 // of a brightness, that tell nothing of its noise
	// By how much more than white noise's a band's floor may be, against the finest's, where the noise does not show its own
	// spectrum. For that to show, the quietest part and the quieter quarter of the cells must agree on it within evenNoise, and
	// the most detailed cells be beyondNoise times as strong: a picture that is one even texture all over shows none.
	noiseMargin = 3
	evenNoise   = 1.15
	detailPart  = 0.98
	beyondNoise = 10
)

// coding is what the eight bits of a decoded file leave at the least of a picture that is not quite flat, by band, in the
// energies of white noise of roundingVariance. It is no white noise: rounding follows the slopes of a blurred subject, and JPEG
// (ITU-T T.81) drops fine frequencies where they are faint and rounds the coarser ones. In a plain ground nothing at
// all is left, so that the quietest cells cannot tell of it. Measured on blurred fields of 0.5 to 8 % contrast, coded at IJG
// qualities of 92 and 97 (TestCodingIsNoDetail): 1 to 4, 6 to 12, 16 to 44 and, of the lowest contrast, 71 to 120. Coded at
// 75, up to 8, 50 and 74 are left.
var coding = [bands]float64{3, 11, 40, 90}

// roundingVariance is the variance of luma that rounding red, green and blue to eight bits leaves, each evenly within
// a code value (W. R. Bennett, "Spectra of quantized signals", 1948); weights of luma after ITU-R BT.601, as plane.Luma has them.
const roundingVariance = (0.299*0.299 + 0.587*0.587 + 0.114*0.114) / 12 / (255 * 255)

// codingFloor is the least floor of a map.
func codingFloor(m int) float64 {
	band := m
	if m >= bands {
		band = (m - bands) / directions
	}
	return coding[band] * roundingVariance * whiteNoise().mean[m]
}

// detail is what is kept of a frame's picture: mean squared responses by cell, averaged over
// the 3 x 3 cells around, so that one sample is a tile.
type detail struct {
	w, h int // cells
	maps [maps][]float32
	luma []float32
}

// measure takes a picture's luma apart. Bands are in units of luma squared.
func measure(luma *plane.Plane) *detail {
	d := &detail{w: (luma.W + cell - 1) / cell, h: (luma.H + cell - 1) / cell}
	for i := range d.maps {
		d.maps[i] = make([]float32, d.w*d.h)
	}
	d.luma = make([]float32, d.w*d.h)
	level := luma
	for k := range bands {
		if min(level.W, level.H) < 8 {
			break
		}
		low := plane.Binomial(nil, level)
		side := max(1, cell>>k)
		plane.Share(d.h, func(cy0, cy1 int) {
			for cy := cy0; cy < cy1; cy++ {
				d.cells(level, low, k, side, cy)
			}
		})
		if k+1 < bands {
			level = halve(low)
		}
	}
	for i := range d.maps {
		d.maps[i] = box3(d.maps[i], d.w, d.h)
	}
	d.luma = box3(d.luma, d.w, d.h)
	return d
}

// cells measures one row of cells in the band that is level minus low.
func (d *detail) cells(level, low *plane.Plane, k, side, cy int) {
	w, h := level.W, level.H
	y0, y1 := cy*side, min((cy+1)*side, h)
	if y0 >= h { // a coarse level that ends before the cells do
		y0, y1 = h-1, h
	}
	for cx := range d.w {
		x0, x1 := cx*side, min((cx+1)*side, w)
		if x0 >= w {
			x0, x1 = w-1, w
		}
		var sum, mean float32
		var dir [directions]float32
		for y := y0; y < y1; y++ {
			lv, lo := level.Row(y), low.Row(y)
			for x := x0; x < x1; x++ {
				v := lv[x] - lo[x]
				sum += v * v
				mean += lv[x]
			}
			if k >= smearBands {
				continue
			}
			yu, yd := max(y-1, 0), min(y+1, h-1)
			up, dn := level.Row(yu), level.Row(yd)
			upl, dnl := low.Row(yu), low.Row(yd)
			for x := x0; x < x1; x++ {
				l, r := max(x-1, 0), min(x+1, w-1)
				a := (lv[r] - lo[r]) - (lv[l] - lo[l])
				b := (dn[r] - dnl[r]) - (up[l] - upl[l])
				c := (dn[x] - dnl[x]) - (up[x] - upl[x])
				e := (dn[l] - dnl[l]) - (up[r] - upl[r])
				dir[0] += a * a
				dir[1] += b * b
				dir[2] += c * c
				dir[3] += e * e
			}
		}
		i := cy*d.w + cx
		n := float32((y1 - y0) * (x1 - x0))
		d.maps[k][i] = sum / n
		if k == 0 {
			d.luma[i] = mean / n
		}
		if k < smearBands {
			for j := range directions {
				d.maps[bands+k*directions+j][i] = dir[j] / n
			}
		}
	}
}

// at samples map m at (x, y) pixels of the picture; ok is false outside.
func (d *detail) at(m []float32, x, y float64) (float64, bool) {
	u, v := x/cell-0.5, y/cell-0.5
	if u < -0.5 || v < -0.5 || u > float64(d.w)-0.5 || v > float64(d.h)-0.5 {
		return 0, false
	}
	u, v = min(max(u, 0), float64(d.w-1)), min(max(v, 0), float64(d.h-1))
	i, j := min(int(u), max(d.w-2, 0)), min(int(v), max(d.h-2, 0))
	fu, fv := u-float64(i), v-float64(j)
	r, b := min(i+1, d.w-1), min(j+1, d.h-1)
	top := float64(m[j*d.w+i])*(1-fu) + float64(m[j*d.w+r])*fu
	bottom := float64(m[b*d.w+i])*(1-fu) + float64(m[b*d.w+r])*fu
	return top*(1-fv) + bottom*fv, true
}

// tiles keeps one sample of a map for each tile, row by row.
func (d *detail) tiles(m []float32) (out []float32) {
	for y := tile / 2; y < max(d.h, tile/2+1); y += tile {
		for x := tile / 2; x < max(d.w, tile/2+1); x += tile {
			out = append(out, m[min(y, d.h-1)*d.w+min(x, d.w-1)])
		}
	}
	return out
}

// inTile is the sample of tiles that (x, y) pixels of the picture lie in, the nearest one outside.
func (d *detail) inTile(m []float32, x, y float64) float64 {
	wide := max((d.w+tile/2)/tile, 1)
	tx, ty := int(x/(cell*tile)), int(y/(cell*tile))
	return float64(m[min(max(ty, 0), len(m)/wide-1)*wide+min(max(tx, 0), wide-1)])
}

// floors is what a picture without detail has in each map, by brightness.
type floors [maps][lumaBins]float64

// quiet estimates the floors from the quietest cells of a frame: what is out of focus has
// nothing but noise left in the fine bands. Even pure noise has cells that are quieter than
// its mean, by a known part. Where a brightness does not occur it is infinite.
// White noise's proportions between the maps bound the estimate, so that a picture that
// is nowhere quiet does not lose its detail. But a camera's noise is not white: interpolation between the sensor's colours, noise
// reduction and JPEG take from the finest band, and leave up to ten times white noise's part in the next ones. Noise shows by how
// evenly it lies: where the quietest part of the cells of one brightness and their quieter quarter tell of the same noise, there
// is nothing else, and the least such proportion in the picture is the noise's own.
func (d *detail) quiet() quiet {
	var f floors
	of := d.byLuma(d.luma, 0)
	white := whiteNoise()
	var variance [lumaBins]float64
	var margin [maps]float64
	for m := range maps {
		var quarter [lumaBins]float64
		most := 0.0
		for b := range lumaBins {
			v := of[m][b]
			if len(v) < fewCells {
				f[m][b] = math.Inf(1)
				continue
			}
			part := func(p float64) float64 { return float64(plane.Kth(v, int(p*float64(len(v))))) }
			f[m][b] = part(quietPart) / white.quiet[m]
			quarter[b] = part(0.25) / white.quarter[m]
			most = max(most, part(detailPart))
			if m == 0 {
				variance[b] = max(f[0][b], codingFloor(0)) / white.mean[0]
			}
		}
		shown := math.Inf(1)
		for b := range lumaBins {
			if quarter[b] < evenNoise*f[m][b] && most > beyondNoise*f[m][b] {
				shown = min(shown, f[m][b]/white.mean[m]/variance[b])
			}
		}
		if margin[m] = noiseMargin; !math.IsInf(shown, 1) {
			margin[m] = max(margin[m], shown)
		}
	}
	q := quiet{most: f, floors: f, differ: unknown()}
	for b := range lumaBins {
		if math.IsInf(f[0][b], 1) {
			continue
		}
		for m := range maps {
			q.floors[m][b] = max(min(f[m][b], margin[m]*variance[b]*white.mean[m]), codingFloor(m))
		}
	}
	return q
}

// byLuma gathers the maps' values by brightness, but for those near the rim: of every second cell of every second row, the maps being averages
// of 3 x 3.
func (d *detail) byLuma(luma []float32, rim int) (of [maps][lumaBins][]float32) {
	for y := rim; y < d.h-rim; y += 2 {
		for x := rim; x < d.w-rim; x += 2 {
			i := y*d.w + x
			b := lumaBin(luma[i])
			for m := range maps {
				of[m][b] = append(of[m][b], d.maps[m][i])
			}
		}
	}
	return of
}

// differing gives floors from the difference of two frames that lie on each other, by the brightness of one of them: half its energy is the
// noise of a frame (the temporal noise of EMVA Standard 1288, release 4.0, 2021), as far as detail, which is in both, does not differ by how
// far it is out of focus; the quietest cells are little concerned by that. What lies within rim cells of the edge may have
// nothing in the other frame.
func (d *detail) differing(luma []float32, rim int) floors {
	f := unknown()
	white := whiteNoise()
	for m, of := range d.byLuma(luma, rim) {
		for b, v := range of {
			if len(v) >= fewCells {
				f[m][b] = float64(plane.Kth(v, int(quietPart*float64(len(v))))) / white.quiet[m] / 2
			}
		}
	}
	return f
}

// unknown are floors at no brightness.
func unknown() (f floors) {
	for m := range f {
		for b := range f[m] {
			f[m][b] = math.Inf(1)
		}
	}
	return f
}

// quiet is what frames tell of their noise: floors as each by itself tells them, the most that they can be by its quietest cells, and by what it
// differs from the one before. A frame by itself does not tell the spectrum of noise where there is detail all over, or where noise is
// uneven: a camera that smooths the finest noise away leaves up to thirty times white noise's part in the coarser bands.
type quiet struct {
	floors
	most, differ floors
}

// quieter keeps the lesser of two estimates: both are of the same noise plus some detail.
func (f *floors) quieter(g *floors) {
	for m := range maps {
		for b := range lumaBins {
			f[m][b] = min(f[m][b], g[m][b])
		}
	}
}

// quieter keeps the lesser of two frames' estimates.
func (q *quiet) quieter(o *quiet) {
	q.floors.quieter(&o.floors)
	q.most.quieter(&o.most)
	q.differ.quieter(&o.differ)
}

// coloured is by how much the quietest part of noise that is not white may be less than white noise's.
const coloured = 1.25

// told puts them together: two frames differ by noise at the least, and the quietest cells show noise at the least.
func (q *quiet) told() floors {
	f := q.floors
	for m := range f {
		for b := range f[m] {
			if d := q.differ[m][b]; !math.IsInf(d, 1) {
				f[m][b] = max(f[m][b], min(d, coloured*q.most[m][b]))
			}
		}
	}
	return f
}

// at gives the floor of a map at a brightness, from the nearest brightness that occurred.
func (f *floors) at(m int, luma float64) float64 {
	b := lumaBin(float32(luma))
	for r := range lumaBins {
		for _, k := range []int{b - r, b + r} {
			if k >= 0 && k < lumaBins && !math.IsInf(f[m][k], 1) {
				return f[m][k]
			}
		}
	}
	return 0
}

// lumaBin divides the brightnesses evenly, but for the darkest: there sRGB's curve is steepest, and the
// noise of a dark set-up, from its black ground to its grey subject, is many noises.
func lumaBin(l float32) int {
	const dark = 1.0 / lightBins
	if l < dark {
		return min(max(int(math.Sqrt(float64(l/dark))*darkBins), 0), darkBins-1)
	}
	return min(darkBins-1+int(l*lightBins), lumaBins-1)
}

// whiteNoise is the response of each map to white noise of variance 1, measured once on
// noise from a fixed seed: the mean, and what its quietest part and its quieter quarter are of that.
var whiteNoise = sync.OnceValue(func() (w struct{ mean, quiet, quarter, scatter [maps]float64 }) {
	r := rand.New(rand.NewPCG(1, 2))
	p := plane.New(768, 768)
	for i := range p.Pix {
		p.Pix[i] = float32(r.NormFloat64())
	}
	d := measure(p)
	for m := range maps {
		v := slices.Clone(d.maps[m])
		for _, x := range v {
			w.mean[m] += float64(x) / float64(len(v))
		}
		for _, x := range v {
			w.scatter[m] += sq(float64(x)/w.mean[m]-1) / float64(len(v))
		}
		w.scatter[m] = math.Sqrt(w.scatter[m])
		slices.Sort(v)
		w.quiet[m] = float64(v[int(quietPart*float64(len(v)))]) / w.mean[m]
		w.quarter[m] = float64(v[len(v)/4]) / w.mean[m]
	}
	return w
})

// halve keeps every second pixel of every second row.
func halve(src *plane.Plane) *plane.Plane {
	out := plane.New((src.W+1)/2, (src.H+1)/2)
	for y := range out.H {
		row, o := src.Row(2*y), out.Row(y)
		for x := range o {
			o[x] = row[2*x]
		}
	}
	return out
}

// box3 averages over the 3 x 3 cells around each, fewer at the edges.
func box3(src []float32, w, h int) []float32 {
	out := make([]float32, w*h)
	for y := range h {
		for x := range w {
			var sum float32
			n := 0
			for j := max(y-1, 0); j <= min(y+1, h-1); j++ {
				for i := max(x-1, 0); i <= min(x+1, w-1); i++ {
					sum += src[j*w+i]
					n++
				}
			}
			out[y*w+x] = sum / float32(n)
		}
	}
	return out
}

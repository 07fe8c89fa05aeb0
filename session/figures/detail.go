package figures

import (
	"cmp"
	"math"
	"slices"
)

// noise is what noise a luma picture has.
type noise struct {
	// sigma is the standard deviation of white noise that leaves as much in the finest band as that of the quiet parts.
	sigma float64
	// more is its variance by tile against that of the quiet parts, from 1 to mostDark: it depends on brightness.
	more []float64
}

// The bounds of what is made of noise that is neither white nor everywhere the same, in variance: a picture that is one even texture all
// over loses no more of its detail than they say. In made-up pictures of 0.9 to 1.3 megapixels with noise like a sensor's, brought to 512
// pixels, it was up to 2.1 times white noise's in the finest band, and in dark parts up to 2.4 times that of the quiet ones.
const (
	mostDark = 3.0
	mostBand = 2.4
)

// Noise has the same spectrum all over, and structure another from place to place: up to evenNoise the tile in the middle has
// no more of the finest band, against white noise of its deviation, than the quiet ones where there is nothing but noise (in those
// pictures 1.00 to 1.05 of hands before the lens), and from unevenNoise on its spectrum does not show.
const evenNoise, unevenNoise = 1.1, 1.3

// quietSigma and quietBand are what the tile at the lower fifth has of the mean deviation of white noise, and of the mean
// square of the finest band against it, tiles being of 21 x 21 pixels.
const quietSigma, quietBand = 0.95, 0.93

// coded is the standard deviation of noise, in luma, under which rounding to eight bits and JPEG hide a sensor's noise: what they
// leave follows the slopes of a blurred subject.
const coded = 1.0 / 255

// measureNoise estimates the noise of a luma picture by tw x th tiles after
// J. Immerkær, "Fast Noise Variance Estimation" (Computer Vision and Image
// Understanding 64(2), 1996): the mean absolute response to the difference of two
// Laplacians, times sqrt(pi/2)/6. Structure adds to that response, so the estimate is
// taken from the quiet tiles: the one at the lower fifth. finest is the mean square of the finest band by tile.
//
// A sensor's noise falls with the light by less than the tone curve makes it greater (A. Foi et al., "Practical Poissonian-Gaussian
// Noise Modeling and Fitting for Single-Image Raw-Data", IEEE Trans. Image Processing 17(10), 2008): encoded, there is as much or
// more of it where it is darker, and of structure less. So the quiet tiles of each brightness tell of its noise, and
// a brighter one is taken to have no more than a darker one.
func measureNoise(luma []float32, w, h, tw, th int, finest []float64) noise {
	out := noise{more: make([]float64, tw*th)}
	for t := range out.more {
		out.more[t] = 1
	}
	if w < 3 || h < 3 {
		return out
	}
	sum, light := make([]float64, tw*th), make([]float64, tw*th)
	count := make([]float64, tw*th)
	for y := 1; y < h-1; y++ {
		up, mid, down := luma[w*(y-1):w*y], luma[w*y:w*(y+1)], luma[w*(y+1):w*(y+2)]
		ty := y * th / h * tw
		for x := 1; x < w-1; x++ {
			v := up[x-1] - 2*up[x] + up[x+1] - 2*(mid[x-1]-2*mid[x]+mid[x+1]) + down[x-1] - 2*down[x] + down[x+1]
			t := ty + x*tw/w
			sum[t] += math.Abs(float64(v))
			light[t] += float64(mid[x])
			count[t]++
		}
	}
	var tiles []int // from dark to bright
	for i, n := range count {
		if n > 0 {
			sum[i] *= math.Sqrt(math.Pi/2) / 6 / n
			light[i] /= n
			tiles = append(tiles, i)
		}
	}
	if len(tiles) == 0 {
		return out
	}
	slices.SortFunc(tiles, func(a, b int) int { return cmp.Compare(light[a], light[b]) })
	sorted := func(tiles []int, of func(i int) float64) []float64 {
		list := make([]float64, len(tiles))
		for n, i := range tiles {
			list[n] = of(i)
		}
		slices.Sort(list)
		return list
	}
	quiet := func(tiles []int) float64 { return sorted(tiles, func(i int) float64 { return sum[i] })[len(tiles)/5] }
	least := quiet(tiles)
	out.sigma = least
	sensor := clamp(least/coded-1, 0, 1) // how far it is a sensor's
	if sensor == 0 {
		return out
	}
	// What is black or white has lost its noise with its light.
	const black, white = 0.03, 0.97
	const classes = 8
	from, to := 0, len(tiles)
	for from < to && light[tiles[from]] < black {
		from++
	}
	for to > from && light[tiles[to-1]] > white {
		to--
	}
	tiles = tiles[from:to]
	ratio := math.Sqrt(mostDark)
	for c := range classes {
		class := tiles[c*len(tiles)/classes : (c+1)*len(tiles)/classes]
		if len(class) == 0 {
			continue
		}
		ratio = min(ratio, quiet(class)/least)
		for _, i := range class {
			out.more[i] = 1 + sensor*max(0, ratio*ratio-1)
		}
	}
	if n := len(tiles); n > 0 {
		list := sorted(tiles, func(i int) float64 { return finest[i] / (noiseGain * sum[i] * sum[i]) })
		fifth := list[n/5] / quietBand
		even := clamp((unevenNoise-list[n/2]/fifth)/(unevenNoise-evenNoise), 0, 1)
		out.sigma *= math.Sqrt(1 + sensor*even*(clamp(fifth, 1, mostBand)/(quietSigma*quietSigma)-1))
	}
	return out
}

// detail gives the mean squared band-pass response of a luma picture in octave bands,
// finest first, and that of the finest band by tile. A band is a picture minus its
// 5 x 5 binomial blur; the next is taken from the blur at half size. The noise floor
// is taken off, and what falls below it is 0. Where there is more noise than in the quiet parts, the
// detail of a tile is as much less as stands over the noise like so much in them.
func detail(luma []float32, w, h, tw, th int) (bands []float64, tiles []float32, sigma float64) {
	bands = make([]float64, octaves)
	tiles = make([]float32, tw*th)
	var blurred []float32
	finest, count := make([]float64, tw*th), make([]float64, tw*th)
	if w >= 5 && h >= 5 {
		blurred = binomial(luma, w, h)
		for y := range h {
			for x := range w {
				d := float64(luma[w*y+x] - blurred[w*y+x])
				t := y*th/h*tw + x*tw/w
				finest[t] += d * d
				count[t]++
			}
		}
		for t := range finest {
			finest[t] /= max(count[t], 1)
		}
	}
	n := measureNoise(luma, w, h, tw, th, finest)
	variance := n.sigma * n.sigma
	for t, e := range finest {
		tiles[t] = float32(max(0, e/n.more[t]-noiseGain*variance))
	}
	for o := 0; o < octaves && w >= 5 && h >= 5; o++ {
		if o > 0 {
			blurred = binomial(luma, w, h)
		}
		floor := noiseGain * variance
		sum := 0.0
		for i, v := range luma {
			d := float64(v - blurred[i])
			sum += d * d
		}
		bands[o] = max(0, sum/float64(w*h)-floor)
		luma, w, h = halve(blurred, w, h)
		// The blur leaves (70/256)^2 of white noise; after it the noise of
		// neighbours at half size is nearly independent again.
		variance *= (70.0 / 256) * (70.0 / 256)
	}
	return bands, tiles, n.sigma
}

func clamp(v, lo, hi float64) float64 { return min(max(v, lo), hi) }

// binomial blurs with 1 4 6 4 1 along both axes; the edge pixels are repeated.
func binomial(src []float32, w, h int) []float32 {
	across := make([]float32, w*h)
	for y := range h {
		s, d := src[w*y:w*(y+1)], across[w*y:w*(y+1)]
		for x := range w {
			if x >= 2 && x < w-2 {
				d[x] = (s[x-2] + s[x+2] + 4*(s[x-1]+s[x+1]) + 6*s[x]) / 16
				continue
			}
			at := func(i int) float32 { return s[min(max(i, 0), w-1)] }
			d[x] = (at(x-2) + at(x+2) + 4*(at(x-1)+at(x+1)) + 6*at(x)) / 16
		}
	}
	out := make([]float32, w*h)
	for y := range h {
		row := func(i int) []float32 { i = min(max(i, 0), h-1); return across[w*i : w*(i+1)] }
		a, b, c, d, e, o := row(y-2), row(y-1), row(y), row(y+1), row(y+2), out[w*y:w*(y+1)]
		for x := range o {
			o[x] = (a[x] + e[x] + 4*(b[x]+d[x]) + 6*c[x]) / 16
		}
	}
	return out
}

// halve keeps every second pixel of every second row.
func halve(src []float32, w, h int) ([]float32, int, int) {
	hw, hh := (w+1)/2, (h+1)/2
	out := make([]float32, hw*hh)
	for y := range hh {
		for x := range hw {
			out[hw*y+x] = src[w*2*y+2*x]
		}
	}
	return out, hw, hh
}

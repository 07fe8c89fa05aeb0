package figures

import (
	"math"
	"slices"
)

// noise estimates the standard deviation of the pixel noise of a luma picture after
// J. Immerkær, "Fast Noise Variance Estimation" (Computer Vision and Image
// Understanding 64(2), 1996): the mean absolute response to the difference of two
// Laplacians, times sqrt(pi/2)/6. Structure adds to that response, so the estimate is
// taken from the quiet tiles: the one at the lower fifth of tw x th tiles.
func noise(luma []float32, w, h, tw, th int) float64 {
	if w < 3 || h < 3 {
		return 0
	}
	sum := make([]float64, tw*th)
	count := make([]float64, tw*th)
	for y := 1; y < h-1; y++ {
		up, mid, down := luma[w*(y-1):w*y], luma[w*y:w*(y+1)], luma[w*(y+1):w*(y+2)]
		ty := y * th / h * tw
		for x := 1; x < w-1; x++ {
			v := up[x-1] - 2*up[x] + up[x+1] - 2*(mid[x-1]-2*mid[x]+mid[x+1]) + down[x-1] - 2*down[x] + down[x+1]
			t := ty + x*tw/w
			sum[t] += math.Abs(float64(v))
			count[t]++
		}
	}
	means := make([]float64, 0, len(sum))
	for i, n := range count {
		if n > 0 {
			means = append(means, sum[i]/n)
		}
	}
	if len(means) == 0 {
		return 0
	}
	slices.Sort(means)
	return means[len(means)/5] * math.Sqrt(math.Pi/2) / 6
}

// detail gives the mean squared band-pass response of a luma picture in octave bands,
// finest first, and that of the finest band by tile. A band is a picture minus its
// 5 x 5 binomial blur; the next is taken from the blur at half size. The noise floor
// is taken off, and what falls below it is 0.
func detail(luma []float32, w, h, tw, th int, sigma float64) (bands []float64, tiles []float32) {
	bands = make([]float64, octaves)
	tiles = make([]float32, tw*th)
	variance := sigma * sigma
	for o := 0; o < octaves && w >= 5 && h >= 5; o++ {
		blurred := binomial(luma, w, h)
		floor := noiseGain * variance
		if o == 0 {
			sum := make([]float64, tw*th)
			count := make([]float64, tw*th)
			for y := range h {
				for x := range w {
					d := float64(luma[w*y+x] - blurred[w*y+x])
					t := y*th/h*tw + x*tw/w
					sum[t] += d * d
					count[t]++
				}
			}
			for t := range tiles {
				tiles[t] = float32(max(0, sum[t]/max(count[t], 1)-floor))
			}
		}
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
	return bands, tiles
}

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

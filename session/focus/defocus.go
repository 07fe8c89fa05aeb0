package focus

import (
	"math"
	"sync"
)

// What defocus leaves of each band. A thin lens draws a point out of focus as a uniform
// disc of diameter d, whose transfer at spatial frequency f is 2 J1(pi d f)/(pi d f) (H. H.
// Hopkins, "The frequency response of a defocused optical system", 1955, in the
// geometrical limit). A band's energy falls by the square of that, averaged over the
// frequencies that the band lets through, weighted by the spectrum of what is seen. Its
// power falls as 1/f^a: with a near 2 in photographs of most things (D. J. Field, "Relations
// between the statistics of natural images", 1987), but a tile's own a is told by how its
// energies go from band to band, and is used.
const (
	maxDiameter  = 64.0 // pixels
	perPixel     = 8    // entries of the table a pixel of diameter
	tableEntries = int(maxDiameter)*perPixel + 2
	faintest     = 1e-5 // a disc's transfer has zeros; the logarithm does not follow them
	softness     = 0.5  // pixels, standard deviation of what a lens in focus still blurs

	exponents    = 17  // spectra kept, from exponent 0
	exponentStep = 0.5 //
	commonSlope  = uint8(2 / exponentStep)
)

// transfer holds, by the index of the spectrum's exponent and by band, what a disc leaves.
type transfer struct {
	log   [exponents][bands][tableEntries]float64 // ln of the share of the energy that is left
	slope [exponents][bands][tableEntries]float64 // and its derivative by diameter
	// ratio is ln of the energy in a band over that in the next, in focus.
	ratio [exponents][bands - 1]float64
}

// lenses are the tables of all slants, one behind the other: see slanted.
var lenses [slants]transfer

var lens = sync.OnceValue(func() *transfer {
	const (
		n     = 128 // frequencies along an axis, up to Nyquist
		rings = 256
	)
	// Weight of each radial frequency in each band, but for the spectrum.
	var weight [bands][rings]float64
	for j := range n {
		for i := range n {
			fx, fy := 0.5*(float64(i)+0.5)/n, 0.5*(float64(j)+0.5)/n
			f := math.Hypot(fx, fy)
			ring := int(f / math.Sqrt2 * 2 * rings)
			power := sq(sinc(fx)*sinc(fy)) * math.Exp(-sq(2*math.Pi*softness*f))
			low := 1.0
			for k := range bands {
				s := float64(int(1) << k)
				if max(fx, fy)*s > 0.5 {
					break // above this level's Nyquist
				}
				b := binomialTransfer(fx*s) * binomialTransfer(fy*s)
				weight[k][ring] += power * sq(low*(1-b))
				low *= b
			}
		}
	}
	frequency := func(ring int) float64 { return (float64(ring) + 0.5) / rings * math.Sqrt2 / 2 }
	disc := make([][rings]float64, tableEntries)
	for e := range disc {
		for r := range rings {
			disc[e][r] = sq(discTransfer(float64(e) / perPixel * frequency(r)))
		}
	}
	t := &lenses[0]
	for x := range exponents {
		var total [bands]float64
		for k := range bands {
			var w [rings]float64
			for r := range w {
				w[r] = weight[k][r] * math.Pow(frequency(r), -exponentStep*float64(x))
				total[k] += w[r]
			}
			log, slope := &t.log[x][k], &t.slope[x][k]
			for e := range disc {
				left := 0.0
				for r, v := range w {
					left += v * disc[e][r]
				}
				log[e] = math.Log(max(left/total[k], faintest))
				if e > 0 {
					// Ripples of the disc's rings are no information: the curve only falls.
					log[e] = min(log[e], log[e-1]-1e-4)
				}
			}
			slopes(log, slope)
			if k > 0 {
				t.ratio[x][k-1] = math.Log(total[k-1] / total[k])
			}
		}
	}
	return t
})

// slopes differentiates a table by diameter.
func slopes(log, slope *[tableEntries]float64) {
	for e := range slope {
		a, b := max(e-1, 0), min(e+1, tableEntries-1)
		slope[e] = (log[b] - log[a]) / float64(b-a) * perPixel
	}
}

// A tile that stands slanted to the sensor shows a range of depths, and is nowhere in focus as a whole.
// Its energies are the means over that range, which is told by a standard deviation.
const (
	slants      = 9   // spreads that tables are kept of: none, and eight that grow by half an octave
	leastSpread = 0.4 // pixels of blur, the second of them
)

// slantOf is the index of the spread nearest to a standard deviation in pixels of blur.
func slantOf(spread float64) uint8 {
	if !(spread > leastSpread/math.Sqrt2) {
		return 0
	}
	return uint8(min(1.5+2*math.Log2(spread/leastSpread), slants-1))
}

// slanted is what a disc leaves of tiles of a slant, by the distance of their middle.
func slanted(slant uint8) *transfer { return slantedLens[slant]() }

var slantedLens = func() (of [slants]func() *transfer) {
	of[0] = lens
	for i := 1; i < slants; i++ {
		spread := leastSpread * math.Exp2(float64(i-1)/2)
		of[i] = sync.OnceValue(func() *transfer {
			lenses[i].spread(lens(), spread)
			return &lenses[i]
		})
	}
	return of
}()

// spread averages t over distances that are spread evenly with a standard deviation, by the three
// points of Gauss and Legendre.
func (out *transfer) spread(t *transfer, sd float64) {
	out.ratio = t.ratio
	off := math.Sqrt(3) * math.Sqrt(0.6) * sd
	for x := range exponents {
		for k := range bands {
			from, log := &t.log[x][k], &out.log[x][k]
			for e := range log {
				d := float64(e) / perPixel
				log[e] = math.Log((8*math.Exp(left(from, d)) + 5*math.Exp(left(from, math.Abs(d-off))) + 5*math.Exp(left(from, d+off))) / 18)
				if e > 0 {
					log[e] = min(log[e], log[e-1]-1e-4)
				}
			}
			slopes(log, &out.slope[x][k])
		}
	}
}

// exponent gives the index of the spectrum whose energies in band k and the next stand
// as exp(ln), and by how much ln falls with it there.
func (t *transfer) exponent(k int, ln float64) (x, by float64) {
	for x := 1; x < exponents; x++ {
		if a, b := t.ratio[x-1][k], t.ratio[x][k]; ln > b { // ratios fall with x
			return float64(x-1) + min(max((a-ln)/(a-b), 0), 1), a - b
		}
	}
	return exponents - 1, t.ratio[exponents-2][k] - t.ratio[exponents-1][k]
}

// at gives ln of the share of band k's energy that a disc of diameter d leaves of a
// spectrum, and its derivative.
func (t *transfer) at(spectrum uint8, k int, d float64) (ln, slope float64) {
	x := min(d, maxDiameter) * perPixel
	i := int(x)
	f := x - float64(i)
	log, sl := &t.log[spectrum][k], &t.slope[spectrum][k]
	return log[i]*(1-f) + log[i+1]*f, sl[i]*(1-f) + sl[i+1]*f
}

// left is at's ln alone.
func left(log *[tableEntries]float64, d float64) float64 {
	x := min(d, maxDiameter) * perPixel
	i := int(x)
	f := x - float64(i)
	return log[i] + f*(log[i+1]-log[i])
}

// diameter inverts at: the disc that leaves the share exp(ln) of band k.
func (t *transfer) diameter(spectrum uint8, k int, ln float64) float64 {
	log := &t.log[spectrum][k]
	lo, hi := 0, tableEntries-1
	for hi-lo > 1 {
		mid := (lo + hi) / 2
		if log[mid] > ln {
			lo = mid
		} else {
			hi = mid
		}
	}
	f := (log[lo] - ln) / max(log[lo]-log[hi], 1e-12)
	return (float64(lo) + min(max(f, 0), 1)) / perPixel
}

func binomialTransfer(f float64) float64 { return sq(sq(math.Cos(math.Pi * f))) }

func discTransfer(df float64) float64 {
	x := math.Pi * df
	if x < 1e-6 {
		return 1
	}
	return 2 * math.J1(x) / x
}

func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

func sq(x float64) float64 { return x * x }

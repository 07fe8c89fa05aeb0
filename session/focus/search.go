package focus

/*
#cgo CFLAGS: -O3 -std=c11
#cgo LDFLAGS: -lm
#include "kernels.h"
*/
import "C"

import (
	"math"
	"sync"
	"unsafe"
)

// What a tile costs at a place is the robust sum of squared residuals of its energies there. Where the tile's
// spectrum is not the one that it is taken for, all of a band's ln H are wrong by about one factor; so each
// band has such a factor near 1 to itself, besides its gain. Nearly all of the time that a verdict takes goes
// here: kernels.c does it for many places at once.

// search is the memory of one search for a tile's place.
type search struct {
	tile C.struct_tile
	cost []float64
}

var searches = sync.Pool{New: func() any { return &search{cost: make([]float64, 128)} }}

var weighing = C.struct_weighing{error: modelError, own: modelOwn, relative: modelRelative, shared: modelShared, huber: huber, per_pixel: perPixel, longest: maxDiameter}

// pack takes in what a tile shows in the frames of its window, and gives how many of its energies are more than
// noise.
func (p *places) pack(f *search, t *tileEvidence) (known int) {
	n, c := p.ev.n, &f.tile
	from, to := p.window(t)
	c.n = 0
	for r := from; r < to; r++ {
		i := p.order[r]
		if p.skip[i] || t.ln[i] != t.ln[i] {
			continue
		}
		c.s[c.n] = C.double(p.s[i])
		for b := range bands {
			e, floor := t.ln[b*n+i], t.floor[b*n+i]
			c.floor[b][c.n], c.most[b][c.n], c.above[b][c.n] = C.double(floor), C.double(max(e, floor)), 0
			c.doubt[b][c.n] = C.double(doubt(e, floor))
			if e > floor {
				c.above[b][c.n] = 1
				known++
			}
		}
		c.n++
	}
	for b := range bands {
		c.log[b], _ = tables(t.slant, t.spectrum[b], b)
		c.usual[b], c.spread[b] = C.double(t.usual[b]), C.double(t.spread[b])
	}
	return known
}

// costs are those of the packed tile at the places from + span k / steps, k from 0 to steps. They hold until the
// next call.
func (f *search) costs(from, span float64, steps int) []float64 {
	if len(f.cost) < steps+1 {
		f.cost = make([]float64, steps+1)
	}
	C.tile_costs((*C.double)(&f.cost[0]), C.int(steps+1), C.double(from), C.double(span), C.int(steps), &f.tile,
		firstTable, &weighing)
	return f.cost[:steps+1]
}

// costAt is the cost of the packed tile at one place.
func (f *search) costAt(place float64) float64 {
	var cost C.double
	C.tile_costs(&cost, 1, C.double(place), 0, 1, &f.tile, firstTable, &weighing)
	return float64(cost)
}

// evenCost is the cost, as costs gives it, of what does not change from frame to frame, as noise does: of all energies of a band being
// the same, up to what noise scatters by.
func (f *search) evenCost() float64 {
	total := 0.0
	scatter := whiteNoise().scatter
	for b := range bands {
		sw, sr := 0.0, 0.0
		sd := func(r C.int) float64 { return modelError + float64(f.tile.doubt[b][r]) + scatter[b] }
		for r := range f.tile.n {
			w := float64(f.tile.above[b][r]) / sq(sd(r))
			sw, sr = sw+w, sr+w*float64(f.tile.most[b][r])
		}
		if sw == 0 {
			continue
		}
		mean := sr / sw
		for r := range f.tile.n {
			s := sd(r)
			x := math.Abs(float64(f.tile.most[b][r])-max(mean, float64(f.tile.floor[b][r]))) / s
			if x > huber {
				x = math.Sqrt(2*huber*x - huber*huber)
			}
			total += sq(x) + 2*math.Log(s/(modelError+float64(f.tile.doubt[b][r])))
		}
	}
	return total
}

var firstTable = (*C.double)(unsafe.Pointer(&lenses[0]))

// tables is where the tables of a slant, a spectrum and a band begin, in numbers from the first.
func tables(slant, spectrum uint8, band int) (log, slope C.int) {
	t := slanted(slant)
	of := func(table *[tableEntries]float64) C.int {
		return C.int((uintptr(unsafe.Pointer(table)) - uintptr(unsafe.Pointer(&lenses[0]))) / unsafe.Sizeof(table[0]))
	}
	return of(&t.log[spectrum][band]), of(&t.slope[spectrum][band])
}

// reading is one tile's energy in one band of a frame that is held against the others: the place of the tile and its
// standard deviation, found without the frame; what is known of its energy in focus; and the greater of ln of the
// frame's energy and of its floor.
type reading = C.struct_reading

// inFocus is ln of a tile's energy in focus, as found from the frames that are leant on: its variance, by how much it
// grows with the tile's place (shift), and the mean ln H of those frames (held).
type inFocus struct{ gain, variance, shift, held float64 }

func readingOf(t *tileEvidence, band int, of inFocus, ln, floor float64) reading {
	log, slope := tables(t.slant, t.spectrum[band], band)
	return reading{place: C.double(t.fit.place), sd: C.double(t.fit.sd), band: C.int(band), log: log, slope: slope,
		gain: C.double(of.gain), variance: C.double(of.variance), shift: C.double(of.shift), held: C.double(of.held),
		most: C.double(max(ln, floor)), floor: C.double(floor)}
}

// unexplained is the robust sum of squared residuals of the readings of a frame under a blur, at as many places as
// left has room for, from one on.
func unexplained(left []float64, all []reading, from, pitch, blur float64) {
	C.unexplained((*C.double)(&left[0]), C.int(len(left)), C.double(from), C.double(pitch), C.double(blur), &all[0], C.int(len(all)),
		firstTable, &weighing)
}

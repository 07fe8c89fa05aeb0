package bench

import (
	"math"
	"math/rand/v2"

	"stillbench/session/plane"
)

// occluder is something held before the lens: far out of focus, in linear light at the
// exposure the frame is taken with.
type occluder struct {
	rgb   [3]*plane.Plane
	alpha *plane.Plane
}

// The things that photographers hold before a lens.
const (
	bareHand = iota
	darkHand
	glove
	paper
	lensCap
	wholePhoto // a hand that fills the frame together with what is behind it
	things
)

var thingNames = [things]string{"bare hand", "dark hand", "glove", "paper", "lens cap", "hand and what is behind it"}

// newOccluder makes one that covers at least from half to all of the frame.
func newOccluder(r *rand.Rand, hands []*plane.RGB, thing int) *occluder {
	o := &occluder{alpha: plane.New(frameW, frameH)}
	for c := range o.rgb {
		o.rgb[c] = plane.New(frameW, frameH)
	}
	light := math.Exp2(-4 + 4*r.Float64()) // how much light falls on the side that we see
	switch thing {
	case lensCap:
		for i := range o.alpha.Pix {
			o.alpha.Pix[i] = 1
			for c := range 3 {
				o.rgb[c].Pix[i] = float32(0.0008 * r.Float64())
			}
		}
		return o
	case paper:
		tone := [3]float64{0.8, 0.8, 0.78}
		if r.IntN(3) == 0 {
			tone = [3]float64{0.18, 0.18, 0.18}
		}
		gx, gy := (r.Float64()-0.5)*1.2, (r.Float64()-0.5)*1.2
		for y := range frameH {
			for x := range frameW {
				fall := math.Exp2(gx*(float64(x)/frameW-0.5) + gy*(float64(y)/frameH-0.5))
				for c := range 3 {
					o.rgb[c].Pix[y*frameW+x] = float32(tone[c] * light * fall)
				}
			}
		}
		o.cover(r)
		return o
	}
	tint := [3]float64{1, 1, 1}
	switch thing {
	case darkHand:
		k := 0.12 + 0.3*r.Float64()
		tint = [3]float64{k, k * 0.85, k * 0.75}
	case glove:
		tint = [][3]float64{{0.05, 0.05, 0.06}, {0.15, 0.3, 1.3}, {1.3, 1.3, 1.35}, {0.3, 0.9, 0.4}}[r.IntN(4)]
	}
	h := hands[r.IntN(len(hands))].Linear()
	// The hand's photograph, so far enlarged that it is larger than the frame.
	zoom := frameW / float64(h[0].W) * (1.2 + 1.8*r.Float64())
	turn := r.Float64() * 2 * math.Pi
	sin, cos := math.Sincos(turn)
	ox, oy := (r.Float64()-0.5)*0.25, (r.Float64()-0.5)*0.25
	if thing == wholePhoto {
		zoom, ox, oy = frameW/float64(h[0].W)*1.6, 0, 0
	}
	for y := range frameH {
		for x := range frameW {
			fx, fy := (float64(x)-frameW/2)/zoom, (float64(y)-frameH/2)/zoom
			u := mirror(int(math.Abs(float64(h[0].W)*(0.5+ox)+cos*fx-sin*fy)), h[0].W)
			v := mirror(int(math.Abs(float64(h[0].H)*(0.5+oy)+sin*fx+cos*fy)), h[0].H)
			for c := range 3 {
				o.rgb[c].Pix[y*frameW+x] = h[c].Pix[v*h[c].W+u] * float32(tint[c]*light*2)
			}
		}
	}
	if thing == wholePhoto || r.IntN(3) > 0 {
		for i := range o.alpha.Pix {
			o.alpha.Pix[i] = 1
		}
	} else {
		o.cover(r)
	}
	soft := frameW * (0.015 + 0.06*r.Float64())
	for c := range 3 {
		plane.Blur(o.rgb[c], o.rgb[c], soft)
	}
	if r.IntN(4) == 0 { // moved during the exposure
		o.smear(20 + r.IntN(60))
	}
	return o
}

// cover makes the occluder reach in from one side over half of the frame or more, with
// a soft, wavy border.
func (o *occluder) cover(r *rand.Rand) {
	a := r.Float64() * 2 * math.Pi
	share := 0.55 + 0.45*r.Float64()
	wave, phase := 0.06*r.Float64(), r.Float64()*6
	sin, cos := math.Sincos(a)
	half := (math.Abs(cos)*frameW + math.Abs(sin)*frameH) / 2
	for y := range frameH {
		for x := range frameW {
			fx, fy := float64(x)-frameW/2, float64(y)-frameH/2
			along := (cos*fx + sin*fy) / half // -1..1
			across := (-sin*fx + cos*fy) / frameW
			if along < 2*share-1+wave*math.Sin(20*across+phase) {
				o.alpha.Pix[y*frameW+x] = 1
			}
		}
	}
	plane.Blur(o.alpha, o.alpha, frameW*(0.02+0.04*r.Float64()))
}

// smear averages along a row.
func (o *occluder) smear(n int) {
	for c := range 3 {
		for y := range frameH {
			row := o.rgb[c].Row(y)
			src := append([]float32(nil), row...)
			for x := range row {
				var sum float32
				for k := -n / 2; k <= n/2; k++ {
					sum += src[min(max(x+k, 0), frameW-1)]
				}
				row[x] = sum / float32(n/2*2+1)
			}
		}
	}
}

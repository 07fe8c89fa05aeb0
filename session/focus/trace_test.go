package focus

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session/plane"
)

const stripsW, stripsH = 768, 128

// strips is an invented picture: strips of one texture side by side, each blurred by a disc
// of a diameter of its own, and noise over all of it. The discs are laid down on a grid of
// eighths of a pixel.
func strips(seed uint64, texture string, diameters []float64, noise float64) *plane.RGB {
	const w, h, over = stripsW, stripsH, 3
	r := rand.New(rand.NewPCG(seed, 7))
	p := plane.NewRGB(w, h)
	wide := w / len(diameters)
	for k, dia := range diameters {
		// The texture at three times the size, so that discs are round.
		src := plane.New((wide+32)*over, (h+32)*over)
		paint(src, r, texture, over)
		radius := dia * over / 2
		var offs []int
		var weights []float32
		sum := float32(0)
		n := int(math.Ceil(radius + 2))
		for y := -n; y <= n; y++ {
			for x := -n; x <= n; x++ {
				v := float32(0)
				for sy := range 8 {
					for sx := range 8 {
						fx, fy := float64(x)+(float64(sx)+0.5)/8-0.5, float64(y)+(float64(sy)+0.5)/8-0.5
						if math.Hypot(fx, fy) <= max(radius, 0.5) {
							v++
						}
					}
				}
				if v > 0 {
					offs, weights, sum = append(offs, y*src.W+x), append(weights, v), sum+v
				}
			}
		}
		blurred := plane.New(src.W, src.H)
		for y := n; y < src.H-n; y++ {
			for x := n; x < src.W-n; x++ {
				var v float32
				for j, o := range offs {
					v += weights[j] * src.Pix[y*src.W+x+o]
				}
				blurred.Pix[y*src.W+x] = v / sum
			}
		}
		soft := plane.Blur(nil, blurred, softness*over)
		small := plane.Reduce(nil, soft, src.W/over, src.H/over)
		for y := range h {
			for x := range wide {
				v := float64(small.Pix[(y+16)*small.W+x+16]) + noise*r.NormFloat64()
				b := byte(math.Round(255 * min(max(v, 0), 1)))
				copy(p.Pix[(y*w+k*wide+x)*3:], []byte{b, b, b})
			}
		}
	}
	p.FullW, p.FullH = w, h
	return p
}

// paint fills a plane with a texture: discs of many sizes ("stones"), lines ("hair"), or
// fine patches ("cloth").
func paint(p *plane.Plane, r *rand.Rand, texture string, over float64) {
	for i := range p.Pix {
		p.Pix[i] = 0.5
	}
	set := func(x, y int, v float32) {
		if x >= 0 && y >= 0 && x < p.W && y < p.H {
			p.Pix[y*p.W+x] = v
		}
	}
	switch texture {
	case "stones":
		for range p.W * p.H / 250 {
			cx, cy, v := r.IntN(p.W), r.IntN(p.H), 0.2+0.6*r.Float32()
			rad := over * math.Exp(0.2+1.8*r.Float64())
			for y := int(-rad); y <= int(rad); y++ {
				for x := int(-rad); x <= int(rad); x++ {
					if math.Hypot(float64(x), float64(y)) <= rad {
						set(cx+x, cy+y, v)
					}
				}
			}
		}
	case "hair":
		for range p.W * p.H / 900 {
			x, y, v := r.Float64()*float64(p.W), r.Float64()*float64(p.H), 0.2+0.6*r.Float32()
			sin, cos := math.Sincos(r.Float64() * math.Pi)
			for s := 0.0; s < 40*over; s += 0.5 {
				for t := -over / 2; t < over/2; t += 0.5 {
					set(int(x+cos*s-sin*t), int(y+sin*s+cos*t), v)
				}
			}
		}
	case "cloth":
		side := int(3 * over)
		for y := 0; y < p.H; y += side {
			for x := 0; x < p.W; x += side {
				v := 0.25 + 0.5*r.Float32()
				for j := range side {
					for i := range side {
						set(x+i, y+j, v)
					}
				}
			}
		}
	}
}

// What is blurred by no more than half the circle of confusion is marked, and what is
// blurred by five is not, whatever it is made of.
func TestTraceMarksWhatIsSharp(t *testing.T) {
	const c = 1.2 // pixels: 1/1500 of the diagonal of 1500 x 1000
	in := []float64{0, 0.5, 5, 8}
	var diameters []float64
	for _, k := range in {
		diameters = append(diameters, k*c)
	}
	for _, texture := range []string{"stones", "hair", "cloth"} {
		m := Trace(strips(23, texture, diameters, 0.01), c/math.Hypot(stripsW, stripsH))
		wide := m.Rect.Dx() / len(in)
		for k := range in {
			n := 0
			for y := range m.Rect.Dy() {
				for x := k*wide + 8; x < (k+1)*wide-8; x++ {
					if m.AlphaAt(x, y).A > 0 {
						n++
					}
				}
			}
			share := float64(n) / float64(m.Rect.Dy()*(wide-16))
			if sharp := in[k] < 1; sharp && share < 0.85 || !sharp && share > 0.01 {
				t.Errorf("%s blurred by %g circles of confusion: %.2f is marked", texture, in[k], share)
			}
		}
	}
}

func TestTraceMarksNothingWhereNothingIs(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for _, noise := range []float64{0, 3, 12} { // of 255
		p := plane.NewRGB(900, 600)
		for i := 0; i < len(p.Pix); i += 3 {
			v := byte(min(max(110+noise*r.NormFloat64(), 0), 255))
			p.Pix[i], p.Pix[i+1], p.Pix[i+2] = v, v, v
		}
		m := Trace(p, 0)
		n := 0
		for _, v := range m.Pix {
			if v > 0 {
				n++
			}
		}
		if float64(n) > 0.002*float64(len(m.Pix)) {
			t.Errorf("noise of %g on grey: %d of %d are marked", noise, n, len(m.Pix))
		}
	}
	if Trace(nil, 0) != nil || Trace(&plane.RGB{}, 0) != nil {
		t.Error("no picture has a mask")
	}
	Trace(plane.NewRGB(3, 1), 0)
}

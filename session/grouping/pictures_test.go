package grouping

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/plane"
)

// table scenes for the tests of this folder: random blobs on a ground, in three
// depths. They are made for speed; the optics-true ones are in the bench.
type blobs struct {
	far, middle, near [3]*plane.Plane // premultiplied by cover
	cover             [3]*plane.Plane // of far, middle, near
}

const picW, picH = 512, 340

func newBlobs(seed uint64) *blobs {
	r := rand.New(rand.NewPCG(seed, 11))
	b := &blobs{}
	for d, layer := range []*[3]*plane.Plane{&b.far, &b.middle, &b.near} {
		b.cover[d] = plane.New(picW, picH)
		for c := range layer {
			layer[c] = plane.New(picW, picH)
		}
		var tint [3]float32
		for range []int{1, 9, 7}[d] {
			cx, cy, rad := r.Float64()*picW, r.Float64()*picH, 20+60*r.Float64()
			if d == 0 {
				cx, cy, rad = picW/2, picH/2, 1000
			}
			for c := range tint {
				tint[c] = float32(0.05 + 0.5*r.Float64()*r.Float64())
			}
			for y := max(0, int(cy-rad)); y < min(picH, int(cy+rad)); y++ {
				for x := max(0, int(cx-rad)); x < min(picW, int(cx+rad)); x++ {
					if math.Hypot(float64(x)-cx, float64(y)-cy) < rad {
						i := y*picW + x
						grain := float32(0.4 + 1.2*r.Float64())
						b.cover[d].Pix[i] = 1
						for c := range layer {
							layer[c].Pix[i] = tint[c] * grain
						}
					}
				}
			}
		}
	}
	return b
}

// at is the picture focused at 0 (near) to 1 (far), under a light that falls off by so
// many stops from left to right.
func (b *blobs) at(focus, fall float64) *session.Figures {
	out := [3]*plane.Plane{plane.New(picW, picH), plane.New(picW, picH), plane.New(picW, picH)}
	for d, layer := range [][3]*plane.Plane{b.far, b.middle, b.near} {
		sigma := 6 * math.Abs(1-float64(d)/2-focus)
		cover := plane.Blur(nil, b.cover[d], sigma)
		for c := range layer {
			p := plane.Blur(nil, layer[c], sigma)
			for i, k := range cover.Pix {
				out[c].Pix[i] = out[c].Pix[i]*(1-k) + p.Pix[i]
			}
		}
	}
	pic := plane.NewRGB(picW, picH)
	for i := range picW * picH {
		k := float32(math.Exp2(fall * (float64(i%picW)/picW - 0.5)))
		for c := range out {
			pic.Pix[3*i+c] = plane.Encode8(out[c].Pix[i] * k)
		}
	}
	return figures.Measure(pic)
}

// moved is the scene as a camera sees it that was pushed aside by so many pixels.
func (b *blobs) moved(dx, dy int) *blobs {
	aside := func(p *plane.Plane) *plane.Plane {
		out := plane.New(picW, picH)
		for i := range out.Pix {
			x, y := min(max(i%picW-dx, 0), picW-1), min(max(i/picW-dy, 0), picH-1)
			out.Pix[i] = p.Pix[y*picW+x]
		}
		return out
	}
	out := &blobs{}
	for d := range b.cover {
		out.cover[d] = aside(b.cover[d])
	}
	for c := range 3 {
		out.far[c], out.middle[c], out.near[c] = aside(b.far[c]), aside(b.middle[c]), aside(b.near[c])
	}
	return out
}

// striped is the scene in stripes of shadow across, so many pixels wide, that leave so much of the light.
func (b *blobs) striped(wide int, left float32) *blobs {
	out := newBlobs(0)
	out.cover = b.cover
	for c := range 3 {
		for d, layer := range [...][3]*plane.Plane{b.far, b.middle, b.near} {
			to := [...]*[3]*plane.Plane{&out.far, &out.middle, &out.near}[d][c]
			for i, v := range layer[c].Pix {
				if i/picW/wide%2 == 0 {
					v *= left
				}
				to.Pix[i] = v
			}
		}
	}
	return out
}

// hand is a soft field of one colour, a little lighter in the middle.
func hand(tone float64) *session.Figures {
	pic := plane.NewRGB(picW, picH)
	for i := range picW * picH {
		d := math.Hypot(float64(i%picW)/picW-0.4, float64(i/picW)/picH-0.6)
		v := tone * (1.2 - 0.8*d)
		for c, k := range []float64{1, 0.6, 0.45} {
			pic.Pix[3*i+c] = plane.Encode8(float32(v * k))
		}
	}
	return figures.Measure(pic)
}

// shot adds a picture and the usual settings to a frame.
func withPicture(f session.Frame, fig *session.Figures) session.Frame {
	n, s, iso := 10.0, 0.1, 100
	f.Figures = fig
	f.Meta.FNumber, f.Meta.ShutterSeconds, f.Meta.ISO = &n, &s, &iso
	return f
}

// evening is a session of stacks with markers, so many frames long; the pictures of
// its scenes are made once and used again.
func evening(frames int) []session.Frame {
	var scenes [6][]*session.Figures
	for s := range scenes {
		b := newBlobs(uint64(s))
		for k := range 6 {
			scenes[s] = append(scenes[s], b.at(float64(k)/5, 1))
		}
	}
	h := hand(0.3)
	var out []session.Frame
	clock := 0.0
	add := func(fig *session.Figures) {
		clock += 4
		out = append(out, withPicture(taken(fmt.Sprintf("A%04d.JPG", len(out)+1), clock), fig))
	}
	for s := 0; len(out) < frames; s++ {
		add(h)
		for k := range 18 {
			add(scenes[s%6][k/3])
		}
	}
	return out[:frames]
}

func BenchmarkGroup1000(b *testing.B) {
	frames := evening(1000)
	b.Run("first time", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			New().Group(frames, nil, nil)
		}
	})
	b.Run("again", func(b *testing.B) {
		g := New()
		prev := g.Group(frames, nil, nil)
		b.ReportAllocs()
		for b.Loop() {
			g.Group(frames, nil, prev)
		}
	})
}

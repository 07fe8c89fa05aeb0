package sameness_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/grouping/sameness"
	"stillbench/session/plane"
)

const w, h = 512, 340

// relief is an invented rough surface: a texture, and heights that a light from the
// side turns into shading.
type relief struct{ texture, height *plane.Plane }

func newRelief(seed uint64) relief {
	r := rand.New(rand.NewPCG(seed, 1))
	noise := func(sigma float64) *plane.Plane {
		p := plane.New(w, h)
		for i := range p.Pix {
			p.Pix[i] = float32(r.NormFloat64() * sigma * 2)
		}
		return plane.Blur(nil, p, sigma)
	}
	fine, coarse := noise(2), noise(14)
	t := plane.New(w, h)
	for i := range t.Pix {
		t.Pix[i] = float32(0.25 * math.Exp(0.5*float64(fine.Pix[i])+0.6*float64(coarse.Pix[i])))
	}
	return relief{t, noise(9)}
}

// view photographs the relief: light from the direction (lx, ly), blurred by sigma
// pixels, moved by (dx, dy) pixels, so many stops brighter.
func (s relief) view(lx, ly, sigma float64, dx, dy int, stops float64) *sameness.View {
	p := plane.New(w, h)
	at := func(q *plane.Plane, x, y int) float64 {
		return float64(q.Pix[min(max(y, 0), h-1)*w+min(max(x, 0), w-1)])
	}
	for y := range h {
		for x := range w {
			u, v := x-dx, y-dy
			nx, ny := at(s.height, u-2, v)-at(s.height, u+2, v), at(s.height, u, v-2)-at(s.height, u, v+2)
			// The lamp stands near: its side is the brighter one.
			near := math.Exp2(1.5 * (lx*(0.5-float64(x)/w) + ly*(0.5-float64(y)/h)))
			shade := near * max(0.05, 1+0.6*(lx*nx+ly*ny))
			p.Pix[y*w+x] = float32(at(s.texture, u, v) * shade * math.Exp2(stops))
		}
	}
	p = plane.Blur(nil, p, sigma)
	pic := plane.NewRGB(w, h)
	for i, v := range p.Pix {
		pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = plane.Encode8(v), plane.Encode8(v*0.9), plane.Encode8(v*0.7)
	}
	return sameness.NewView(figures.Measure(pic))
}

// The bounds below are those that package grouping lives by: it calls a framing another
// below a structure of 0.28, and looks for another light above a field of 0.16.
func TestSameFramingOutOfFocus(t *testing.T) {
	for seed := range uint64(2) {
		s := newRelief(seed)
		sharp := s.view(1, 0, 0, 0, 0, 0)
		for _, sigma := range []float64{1, 3, 6} {
			l := sameness.Compare(sharp, s.view(1, 0, sigma, 0, 0, 0), 0)
			if l.Structure < 0.5 || l.Field > 0.12 || math.Abs(l.EV) > 0.1 {
				t.Errorf("relief %d blurred by %g pixels: %+v", seed, sigma, l)
			}
		}
	}
}

func TestAnotherFraming(t *testing.T) {
	for seed := range uint64(4) {
		l := sameness.Compare(newRelief(seed).view(1, 0, 0, 0, 0, 0), newRelief(seed+100).view(1, 0, 0, 0, 0, 0), 0)
		if l.Structure > 0.25 || l.Shared < 0.02 {
			t.Errorf("reliefs %d and %d: %+v", seed, seed+100, l)
		}
	}
}

func TestTheLightMoved(t *testing.T) {
	for seed := range uint64(2) {
		s := newRelief(seed)
		l := sameness.Compare(s.view(1, 0, 0, 0, 0, 0), s.view(-1, 0, 0, 0, 0, 0), 0)
		if l.Structure < 0.3 || l.Field < 0.2 {
			t.Errorf("relief %d lit from the other side: %+v", seed, l)
		}
	}
}

// A knock against the tripod moves the picture; Compare finds by how much.
func TestShiftIsFound(t *testing.T) {
	s := newRelief(3)
	a := s.view(1, 0, 0, 0, 0, 0)
	for _, d := range [][2]int{{16, 0}, {-24, 16}, {8, -24}} {
		l := sameness.Compare(a, s.view(1, 0, 0, d[0], d[1], 0), 0)
		ex, ey := l.ShiftX-float64(d[0])/w, l.ShiftY-float64(d[1])/w
		if l.Structure < 0.4 || math.Hypot(ex, ey) > 1.5/64 {
			t.Errorf("moved by %v pixels: found %.3f, %.3f of the long side, structure %.2f", d, l.ShiftX, l.ShiftY, l.Structure)
		}
	}
}

// A stop more, as the settings say, is the same light; a stop more that they do not
// explain is a brighter lamp.
func TestExposure(t *testing.T) {
	s := newRelief(4)
	a, b := s.view(1, 0, 0, 0, 0, -2), s.view(1, 0, 0, 0, 0, -1)
	if l := sameness.Compare(a, b, 1); math.Abs(l.EV) > 0.15 || l.Field > 0.15 {
		t.Errorf("a stop by the shutter: %+v", l)
	}
	if l := sameness.Compare(a, b, 0); math.Abs(l.EV-1) > 0.15 {
		t.Errorf("a stop by the lamp: %+v", l)
	}
}

// A smooth fall of light, haze, and a lamp on the other side are told apart.
func TestVeiled(t *testing.T) {
	s := newRelief(5)
	plain := s.view(1, 0, 0, 0, 0, 0)
	past := func(passes, adds float64) *sameness.View { // at the right; all passes at the left
		picture := func(x, y int) float64 {
			k := float64(x) / w
			shade := max(0.05, 1+0.6*(float64(s.height.Pix[y*w+max(x-2, 0)])-float64(s.height.Pix[y*w+min(x+2, w-1)]))) * math.Exp2(1.5*(0.5-k))
			return float64(s.texture.Pix[y*w+x])*shade*(1-k+k*passes) + k*adds
		}
		pic := plane.NewRGB(w, h)
		for i := range w * h {
			v := float32(picture(i%w, i/w))
			pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = plane.Encode8(v), plane.Encode8(v*0.9), plane.Encode8(v*0.7)
		}
		return sameness.NewView(figures.Measure(pic))
	}
	dark, light := sameness.Veiled(past(0.05, 0), plain), sameness.Veiled(past(0.05, 0.05), plain)
	if dark.Dimmed < 0.4 || dark.Brightened > 0.02 || dark.Spread < 0.4 || dark.Rest > 0.15*dark.Spread || dark.Haze > 0.05 {
		t.Errorf("dimmed to the right: %+v", dark)
	}
	if light.Haze < 0.1 || light.Brightened > 0.02 || light.Haze < 3*dark.Haze {
		t.Errorf("hazy to the right: %+v", light)
	}
	if v := sameness.Veiled(s.view(-1, 0, 0, 0, 0, 0), plain); v.Brightened < 0.2 || v.Haze > 0.05 {
		t.Errorf("the lamp on the other side: %+v", v)
	}
	if v := sameness.Veiled(s.view(1, 0, 3, 0, 0, 0), plain); v.Dimmed > 0.05 || v.Brightened > 0.05 {
		t.Errorf("out of focus: %+v", v)
	}
}

// A surface with fine marks, whose shading shows other edges in every light, is known by its
// marks, though moved by a shaken camera; but not when it lies elsewhere, nor is another one.
func TestOnSpot(t *testing.T) {
	picture := func(things, light uint64, dx int) *session.Figures {
		marks, shade := newRelief(things).texture, newRelief(light).height
		pic := plane.NewRGB(w, h)
		for i := range w * h {
			x := (i%w + dx) % w
			v := math.Sqrt(float64(marks.Pix[i/w*w+x])) * math.Exp(1.2*float64(shade.Pix[i]))
			for c := range 3 {
				pic.Pix[3*i+c] = plane.Encode8(float32(0.4 * v))
			}
		}
		return figures.Measure(pic)
	}
	a := picture(1, 2, 0)
	for _, c := range []struct {
		what          string
		b             *session.Figures
		least, atMost float64
	}{
		{"the same things in another light", picture(1, 3, 0), 2, 50},
		{"a little shaken", picture(1, 3, 3), 2, 50},
		{"the same things elsewhere", picture(1, 3, w/5), 0, 1.3},
		{"other things", picture(4, 3, 0), 0, 1.3},
	} {
		spot := sameness.OnSpot(sameness.NewFine(a), sameness.NewFine(c.b))
		coarse := sameness.Compare(sameness.NewView(a), sameness.NewView(c.b), 0).Structure
		if spot < c.least || spot > c.atMost || coarse > 0.2 {
			t.Errorf("%s: %.2f, coarse %.2f", c.what, spot, coarse)
		}
	}
	if sameness.NewFine(nil) != nil || sameness.OnSpot(nil, sameness.NewFine(a)) != 0 {
		t.Error("a frame without figures has fine edges")
	}
}

func TestViewsOfOtherShapeAreNotCompared(t *testing.T) {
	a := newRelief(1).view(1, 0, 0, 0, 0, 0)
	b := sameness.NewView(figures.Measure(plane.NewRGB(h, w)))
	if sameness.Comparable(a, b) || sameness.Comparable(a, nil) || !sameness.Comparable(a, a) {
		t.Error("shapes are not told apart")
	}
	defer func() {
		if recover() == nil {
			t.Error("Compare took views of different shape")
		}
	}()
	sameness.Compare(a, b, 0)
}

func TestNewViewOfNothing(t *testing.T) {
	if sameness.NewView(nil) != nil {
		t.Error("a view of no figures")
	}
	// Smaller than any of the thumbnails, black, and one pixel: nothing breaks.
	for _, size := range [][2]int{{40, 30}, {1, 1}, {3, 200}} {
		v := sameness.NewView(figures.Measure(plane.NewRGB(size[0], size[1])))
		l := sameness.Compare(v, v, 0)
		if math.IsNaN(l.Structure) || math.IsNaN(l.Field) || l.Field != 0 {
			t.Errorf("%v: %+v", size, l)
		}
	}
}

func TestFocus(t *testing.T) {
	s := newRelief(6)
	sharp, soft := s.view(1, 0, 0, 0, 0, 0), s.view(1, 0, 4, 0, 0, 0)
	if r := sameness.Refocused(sharp, sharp); r != 0 {
		t.Errorf("a frame against itself differs by %g", r)
	}
	if r := sameness.Refocused(sharp, soft); r < 2 {
		t.Errorf("sharp and soft differ by %g doublings only", r)
	}
	if l, ok := sameness.Focus(sharp, sharp); !ok || l < 0.999 {
		t.Errorf("a frame is focused like itself: %g, %v", l, ok)
	}
	empty := sameness.NewView(figures.Measure(plane.NewRGB(w, h)))
	if _, ok := sameness.Focus(empty, empty); ok {
		t.Error("a frame without anything crisp says where the focus is")
	}
}

func BenchmarkNewView(b *testing.B) {
	pic := plane.NewRGB(w, h)
	for i := range pic.Pix {
		pic.Pix[i] = uint8(i * 7)
	}
	f := figures.Measure(pic)
	b.ReportAllocs()
	for b.Loop() {
		sameness.NewView(f)
	}
}

func BenchmarkCompare(b *testing.B) {
	s, o := newRelief(1), newRelief(2)
	x, y, z := s.view(1, 0, 0, 0, 0, 0), s.view(1, 0, 1, 0, 0, 0), o.view(1, 0, 0, 0, 0, 0)
	b.Run("same framing", func(b *testing.B) {
		for b.Loop() {
			sameness.Compare(x, y, 0)
		}
	})
	b.Run("another framing", func(b *testing.B) {
		for b.Loop() {
			sameness.Compare(x, z, 0)
		}
	})
}

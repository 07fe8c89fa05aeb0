package blend

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"sync"
	"testing"

	"stillbench/session"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// madeUp is an invented stack with the true all-sharp picture, seen as its middle frame is.
type madeUp struct {
	truth  *plane.RGB
	frames []*plane.RGB
}

// circle is the blur in pixels that counts as sharp.
const circle = 1.3

// makeUp shoots a tilted, wavy relief in 11 frames, 1.4 circles of confusion apart, the lens
// breathing and the table shaking a little.
func makeUp(kind relief.Kind, seed uint64, w, h int, iso float64) madeUp {
	key := fmt.Sprint(kind, seed, w, h, iso)
	if m, ok := made.Load(key); ok {
		return m.(madeUp)
	}
	const depth = 14 * circle
	wavy := relief.New(kind, w, h, seed, func(x, y float64) float64 {
		return depth * (0.7*y + 0.3*(0.5+0.5*math.Sin(7*x+3*y)))
	})
	flat := relief.New(kind, w, h, seed, func(x, y float64) float64 { return 0 })
	m := madeUp{truth: flat.Shoot(relief.Shot{Seed: seed})}
	for i := range 11 {
		f := float64(i - 5)
		m.frames = append(m.frames, wavy.Shoot(relief.Shot{
			Place: depth * (0.5 + f/10), Noise: relief.ISO(iso), Seed: seed*100 + uint64(i),
			Move: plane.Similarity{Scale: 1 + 0.002*f, Turn: 0.0005 * math.Sin(f), DX: 1.3 * math.Sin(2*f), DY: 0.9 * math.Sin(3*f)},
		}))
	}
	made.Store(key, m)
	return m
}

// made keeps what takes long to make.
var made sync.Map

// sources are the frames as a job takes them.
func sources(frames []*plane.RGB) (out []Source) {
	for i, p := range frames {
		out = append(out, Source{
			Name: fmt.Sprintf("A%04d.TIF", i), Fingerprint: fmt.Sprint(i),
			Work: func() (*plane.RGB, error) { return p, nil },
			Full: func() (Pixels, error) { return Pixels{RGB: p}, nil },
		})
	}
	return out
}

func run(t testing.TB, c Character, frames []*plane.RGB, touches ...session.Touch) *Result {
	t.Helper()
	r, err := Run(t.Context(), Job{Sources: sources(frames), Character: c, Touches: touches})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// psnr is the peak signal-to-noise ratio in dB over the luma of the inner part, where every frame reaches.
func psnr(a, b *plane.Plane) float64 {
	edge := max(a.W, a.H) / 20
	sum, n := 0.0, 0
	for y := edge; y < a.H-edge; y++ {
		for x := edge; x < a.W-edge; x++ {
			d := float64(a.Pix[y*a.W+x] - b.Pix[y*a.W+x])
			sum += d * d
			n++
		}
	}
	return -10 * math.Log10(sum/float64(n))
}

// ssim is the mean structural similarity of the inner part: Z. Wang, A. C. Bovik, H. R.
// Sheikh and E. P. Simoncelli, "Image quality assessment: from error visibility to structural
// similarity", IEEE TIP 13(4), 2004, with its Gaussian window of 1.5 pixels and K1 = 0.01, K2 = 0.03.
func ssim(a, b *plane.Plane) float64 {
	product := func(p, q *plane.Plane) *plane.Plane {
		out := plane.New(p.W, p.H)
		for i := range out.Pix {
			out.Pix[i] = p.Pix[i] * q.Pix[i]
		}
		return plane.Blur(out, out, 1.5)
	}
	ma, mb := plane.Blur(nil, a, 1.5), plane.Blur(nil, b, 1.5)
	aa, bb, ab := product(a, a), product(b, b), product(a, b)
	const c1, c2 = 0.01 * 0.01, 0.03 * 0.03
	edge := max(a.W, a.H) / 20
	sum, n := 0.0, 0
	for y := edge; y < a.H-edge; y++ {
		for x := edge; x < a.W-edge; x++ {
			i := y*a.W + x
			x, y := float64(ma.Pix[i]), float64(mb.Pix[i])
			va, vb, v := float64(aa.Pix[i])-x*x, float64(bb.Pix[i])-y*y, float64(ab.Pix[i])-x*y
			sum += (2*x*y + c1) * (2*v + c2) / ((x*x + y*y + c1) * (va + vb + c2))
			n++
		}
	}
	return sum / float64(n)
}

// byMaximum is the plain method that a blend is compared with: of the frames, laid exactly, the
// Laplacian coefficient with the largest magnitude at every pixel, for luma.
func byMaximum(frames []*plane.RGB, moves []plane.Similarity) *plane.Plane {
	var best plane.Pyramid
	levels := levelsFor(frames[0].W, frames[0].H)
	for i, p := range frames {
		l := plane.LaplacianPyramid(nil, plane.Warp(nil, p.Luma(), moves[i]), levels)
		if i == 0 {
			best = l
			continue
		}
		for k := range l {
			for j, v := range l[k].Pix {
				if k == levels-1 {
					best[k].Pix[j] += v
				} else if math.Abs(float64(v)) > math.Abs(float64(best[k].Pix[j])) {
					best[k].Pix[j] = v
				}
			}
		}
	}
	for j := range best[levels-1].Pix {
		best[levels-1].Pix[j] /= float32(len(frames))
	}
	return best.Collapse(nil)
}

// TestAgainstTruth: on made-up stacks of every kind of texture a blend comes closer to the true
// all-sharp picture than the plain maximum of Laplacian coefficients does, and no frame is as close.
func TestAgainstTruth(t *testing.T) {
	for i, kind := range relief.Kinds {
		t.Run(string(kind), func(t *testing.T) {
			t.Parallel()
			m := makeUp(kind, uint64(40+i), 320, 240, 200)
			truth := m.truth.Luma()
			middle := psnr(m.frames[5].Luma(), truth)
			var moves []plane.Similarity
			for _, c := range Characters {
				r := run(t, c, m.frames)
				moves = moves[:0]
				for _, u := range r.Used {
					moves = append(moves, u.Move)
				}
				got := r.Picture.To8().Luma()
				plain := byMaximum(m.frames, moves)
				t.Logf("%-8s %-9s PSNR %.2f dB, SSIM %.4f; plain maximum %.2f dB, %.4f; middle frame %.2f dB; jumps %.3f",
					kind, c, psnr(got, truth), ssim(got, truth), psnr(plain, truth), ssim(plain, truth), middle, r.Depth.Jumps())
				if p := psnr(got, truth); p <= psnr(plain, truth) || p <= middle {
					t.Errorf("%s: %.2f dB, plain maximum %.2f, middle frame %.2f", c, p, psnr(plain, truth), middle)
				}
			}
		})
	}
}

// TestSameFrames: frames that are all alike, and one frame alone, blend to the frame itself.
func TestSameFrames(t *testing.T) {
	p := makeUp(relief.Fine, 30, 320, 240, 100).frames[4]
	for n, frames := range map[string][]*plane.RGB{"one": {p}, "four": {p, p, p, p}} {
		for _, c := range Characters {
			r := run(t, c, frames)
			for i, v := range r.Picture.Pix {
				want := int(p.Pix[i]) * 257
				if d := int(v) - want; d < -1 || d > 1 {
					t.Fatalf("%s, %s: value %d is %d, want %d", n, c, i, v, want)
				}
			}
		}
	}
}

// TestStrips: a picture worked out in strips is the one worked out whole.
func TestStrips(t *testing.T) {
	w, h := 40, 2*stripRows+777
	frame := func(seed float64) *plane.RGB {
		p := plane.NewRGB(w, h)
		for i := range p.Pix {
			p.Pix[i] = uint8(128 + 60*math.Sin(seed+float64(i)*0.37) + 60*math.Cos(seed*float64(i%977)))
		}
		return p
	}
	a, b := frame(1), frame(2)
	move := plane.Similarity{Scale: 1.01, Turn: 0.002, DX: 0.7, DY: -3.3}
	blendBy := func(whole bool) [3]*plane.Plane {
		f := newFuser(w, h, Surfaces)
		f.measureNoise(lay(Pixels{RGB: a}, plane.Identity, [3]float32{1, 1, 1}))
		for _, fr := range []*laid{lay(Pixels{RGB: a}, plane.Identity, [3]float32{1, 1, 1}), lay(Pixels{RGB: b}, move, [3]float32{1, 1, 1})} {
			if whole {
				f.strip(fr, 0, h)
			} else {
				for y := 0; y < h; y += stripRows {
					f.strip(fr, y, min(h, y+stripRows))
				}
			}
			f.rest()
			f.count++
		}
		return f.picture()
	}
	x, y := blendBy(true), blendBy(false)
	for c := range x {
		for i := range x[c].Pix {
			if d := math.Abs(float64(x[c].Pix[i] - y[c].Pix[i])); d > 2e-5 {
				t.Fatalf("channel %d, row %d: %g apart", c, i/w, d)
			}
		}
	}
}

// A proof that rested between two frames is the same to the byte.
func TestProofRests(t *testing.T) {
	m := makeUp(relief.Fine, 30, 320, 240, 100)
	worked, rested := NewProof(Surfaces), NewProof(Surfaces)
	for _, f := range m.frames[:4] {
		if err := errors.Join(worked.Add(f), rested.Add(f)); err != nil {
			t.Fatal(err)
		}
		rested.Rest()
	}
	if !bytes.Equal(worked.Picture().Pix, rested.Picture().Pix) {
		t.Error("it is another after a rest")
	}
	if a, b := worked.Depth(), rested.Depth(); a == nil || !reflect.DeepEqual(a, b) {
		t.Error("its depth is another after a rest")
	}
}

// TestProofGrows: a proof is made of what was added, and each frame makes it better.
func TestProofGrows(t *testing.T) {
	m := makeUp(relief.Fine, 30, 320, 240, 100)
	// A proof lies on its first frame: begin with the middle one.
	order := []int{5, 4, 3, 2, 1, 0, 6, 7, 8, 9, 10}
	p := NewProof(Surfaces)
	last := 0.0
	for k, i := range order {
		if err := p.Add(m.frames[i]); err != nil {
			t.Fatal(err)
		}
		if p.Frames() != k+1 {
			t.Errorf("%d frames after %d", p.Frames(), k+1)
		}
		got := psnr(p.Picture().Luma(), m.truth.Luma())
		if got < last-0.2 {
			t.Errorf("frame %d makes it worse: %.2f dB after %.2f", i, got, last)
		}
		last = got
	}
	if err := p.Add(plane.NewRGB(100, 100)); !errors.Is(err, ErrSize) {
		t.Errorf("another size: %v", err)
	}
	if err := p.Add(plane.NewRGB(320, 240)); !errors.Is(err, ErrUnlaid) {
		t.Errorf("a black frame: %v", err)
	}
}

// TestDepth: the depth map follows the relief's depth.
func TestDepth(t *testing.T) {
	m := makeUp(relief.Fine, 30, 320, 240, 100)
	d := run(t, Surfaces, m.frames).Depth
	sum, n := 0.0, 0
	for y := range d.H {
		for x := range d.W {
			fx, fy := (float64(x*d.Cell)+0.5)/320, (float64(y*d.Cell)+0.5)/240
			if fx < 0.06 || fx > 0.94 || fy < 0.06 || fy > 0.94 {
				continue
			}
			want := 10 * (0.7*fy + 0.3*(0.5+0.5*math.Sin(7*fx+3*fy)))
			e := float64(d.Frame[y*d.W+x]) - want
			sum += e * e
			n++
		}
	}
	if rms := math.Sqrt(sum / float64(n)); rms > 0.5 {
		t.Errorf("depth is off by %.2f frames RMS", rms)
	} else {
		t.Logf("depth is off by %.3f frames RMS", rms)
	}
}

// TestLeftOut: what cannot be laid on the others is left out and told; a shifted copy leaves no ghost.
func TestLeftOut(t *testing.T) {
	m := makeUp(relief.Coarse, 5, 320, 240, 200)
	other := makeUp(relief.Hairs, 77, 320, 240, 200).frames[2]
	frames := slices.Clone(m.frames)
	frames = slices.Insert(frames, 3, other)
	frames = append(frames, plane.NewRGB(300, 200))
	list := sources(frames)
	gone := errors.New("no such file")
	list[7].Work = func() (*plane.RGB, error) { return nil, gone }
	r, err := Run(t.Context(), Job{Sources: list, Character: Threads})
	if err != nil {
		t.Fatal(err)
	}
	why := map[string]error{}
	for _, o := range r.LeftOut {
		why[o.Name] = o.Err
	}
	if len(why) != 3 || !errors.Is(why[list[3].Name], ErrUnlaid) || !errors.Is(why[list[12].Name], ErrSize) || !errors.Is(why[list[7].Name], gone) {
		t.Errorf("left out: %v", r.LeftOut)
	}
	if len(r.Used) != 10 {
		t.Errorf("%d frames used", len(r.Used))
	}

	// The same frame, shifted: what comes out is that frame.
	flat := relief.New(relief.Fine, 320, 240, 8, func(x, y float64) float64 { return 0 })
	var shifted []*plane.RGB
	for i := range 5 {
		shifted = append(shifted, flat.Shoot(relief.Shot{Move: plane.Similarity{Scale: 1, DX: 2.4 * float64(i-2), DY: -1.7 * float64(i-2)}}))
	}
	if got := psnr(run(t, Threads, shifted).Picture.To8().Luma(), shifted[2].Luma()); got < 42 {
		t.Errorf("shifted copies blend to within %.1f dB of one of them", got)
	}
}

// TestBorders: shifted and turned copies of one picture blend to it right up to the edges, where not
// all of them reach: nothing is darkened or doubled.
func TestBorders(t *testing.T) {
	flat := relief.New(relief.Fine, 320, 240, 8, func(x, y float64) float64 { return 0 })
	var frames []*plane.RGB
	for i := range 5 {
		f := float64(i - 2)
		frames = append(frames, flat.Shoot(relief.Shot{Move: plane.Similarity{Scale: 1 + 0.01*f, Turn: 0.005 * f, DX: 4.4 * f, DY: -3.7 * f}}))
	}
	for _, c := range Characters {
		got, want := run(t, c, frames).Picture.To8().Luma(), frames[2].Luma()
		sum, n := 0.0, 0
		for y := range want.H {
			for x := range want.W {
				if x >= 12 && x < want.W-12 && y >= 12 && y < want.H-12 {
					continue
				}
				d := float64(got.Pix[y*want.W+x] - want.Pix[y*want.W+x])
				sum += d * d
				n++
			}
		}
		if p := -10 * math.Log10(sum/float64(n)); p < 40 {
			t.Errorf("%s: the borders are within %.1f dB", c, p)
		} else {
			t.Logf("%s: the borders are within %.1f dB", c, p)
		}
	}
}

// TestTinyFrames: pictures too small for levels of detail blend, without a depth map.
func TestTinyFrames(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {3, 200}, {20, 20}} {
		p := plane.NewRGB(size[0], size[1])
		for i := range p.Pix {
			p.Pix[i] = 77
		}
		r, err := Run(t.Context(), Job{Sources: sources([]*plane.RGB{p})})
		if err != nil {
			t.Fatal(err)
		}
		if r.Depth != nil || r.Character != Surfaces || r.Picture.W != size[0] || r.Picture.H != size[1] || r.Picture.Pix[0] != 77*257 {
			t.Errorf("%v: %+v", size, r)
		}
	}
}

// TestTouchUp: inside its area a touch-up is the frame it was taken from, outside nothing changes.
func TestTouchUp(t *testing.T) {
	m := makeUp(relief.Fine, 30, 320, 240, 100)
	plain := run(t, Surfaces, m.frames)
	touch := session.Touch{Area: session.Area{{0.3, 0.3}, {0.7, 0.3}, {0.7, 0.7}, {0.3, 0.7}}, From: "5", Soft: 0.01}
	got := run(t, Surfaces, m.frames, touch).Picture.To8()
	from := m.frames[5] // the middle one: as it lies
	at := func(p *plane.RGB, x, y float64) int { return int(p.Pix[3*(int(y*240)*320+int(x*320))]) }
	worst := 0
	for y := 0.4; y < 0.6; y += 0.01 {
		for x := 0.4; x < 0.6; x += 0.01 {
			if d := at(got, x, y) - at(from, x, y); d*d > worst*worst {
				worst = d
			}
		}
	}
	if worst*worst > 1 {
		t.Errorf("inside, values differ from the frame's by up to %d", worst)
	}
	before := plain.Picture.To8()
	for y := 0.0; y < 1; y += 0.01 {
		for _, x := range []float64{0.01, 0.05, 0.95, 0.99} {
			if d := at(got, x, y) - at(before, x, y); d < -1 || d > 1 {
				t.Fatalf("outside, at %g, %g, a value changed by %d", x, y, d)
			}
		}
	}
	touch.From = "nobody"
	if _, err := Run(t.Context(), Job{Sources: sources(m.frames), Touches: []session.Touch{touch}}); !errors.Is(err, session.ErrNotFound) {
		t.Errorf("a touch-up from an unknown frame: %v", err)
	}
}

// TestCancel: a blend that is called off ends with the context's error.
func TestCancel(t *testing.T) {
	m := makeUp(relief.Coarse, 5, 320, 240, 200)
	m.frames = m.frames[3:7]
	for _, after := range []int{0, 2, 4, 7, 8} {
		ctx, cancel := context.WithCancel(t.Context())
		steps := 0
		_, err := Run(ctx, Job{Sources: sources(m.frames), Progress: func(done, total int) {
			if done < 0 || done > total {
				t.Errorf("%d of %d", done, total)
			}
			if steps++; steps > after {
				cancel()
			}
		}})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("called off after %d steps: %v", after, err)
		}
		cancel()
	}
	if _, err := Run(t.Context(), Job{}); !errors.Is(err, ErrNoFrames) {
		t.Errorf("no frames: %v", err)
	}
}

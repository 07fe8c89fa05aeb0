package blend

import (
	"math"
	"testing"

	"stillbench/assets/demo"
	"stillbench/session"
	"stillbench/session/plane"
)

// edgesKept is Q^AB/F of Xydeas and Petrovic, "Objective image fusion performance measure",
// Electronics Letters 36(4), 2000, 308-309, doi 10.1049/el:20000267: how much of the edges of two
// pictures laid on each other, by strength and direction, a blend has kept, weighted by strength
// (L = 1). It is meant for two: of many frames most hold an edge out of focus, and a blend that
// has it sharp would be blamed for that. The constants are Γg .9994, κg -15, σg .5, Γα .9879, κα -22, σα .8; figures by
// other constants do not compare. 1 pixel at the edge and an inset of inset are left out.
func edgesKept(pictures []*plane.Plane, blend *plane.Plane, inset int) float64 {
	gf, af := sobel(blend)
	num, den := 0.0, 0.0
	for _, p := range pictures {
		ga, aa := sobel(p)
		for y := 1 + inset; y < blend.H-1-inset; y++ {
			for x := 1 + inset; x < blend.W-1-inset; x++ {
				i := y*blend.W + x
				num += ga[i] * kept(ga[i], gf[i], aa[i], af[i])
				den += ga[i]
			}
		}
	}
	return num / den
}

func kept(ga, gf, aa, af float64) float64 {
	g := 1.0
	if m := max(ga, gf); m > 0 {
		g = min(ga, gf) / m
	}
	a := 1 - math.Abs(aa-af)/(math.Pi/2)
	return 0.9994 / (1 + math.Exp(-15*(g-0.5))) * 0.9879 / (1 + math.Exp(-22*(a-0.8)))
}

// sobel gives strength and direction, -π/2 to π/2.
func sobel(p *plane.Plane) (strength, direction []float64) {
	strength, direction = make([]float64, len(p.Pix)), make([]float64, len(p.Pix))
	for y := 1; y < p.H-1; y++ {
		up, at, down := p.Row(y-1), p.Row(y), p.Row(y+1)
		for x := 1; x < p.W-1; x++ {
			sx := float64(up[x+1] + 2*at[x+1] + down[x+1] - up[x-1] - 2*at[x-1] - down[x-1])
			sy := float64(down[x-1] + 2*down[x] + down[x+1] - up[x-1] - 2*up[x] - up[x+1])
			strength[y*p.W+x] = math.Hypot(sx, sy)
			if sx != 0 || sy != 0 {
				direction[y*p.W+x] = math.Atan(sy / sx)
			}
		}
	}
	return strength, direction
}

// demoPair blends two frames of a stack of the demo, which has no true all-sharp picture beside
// it, from a quarter and three quarters of its depth; it gives the frames, and the same as they lie
// on the blend.
func demoPair(t testing.TB, number int) (frames []*plane.RGB, r *Result, laid []*plane.Plane, moves []plane.Similarity) {
	t.Helper()
	for _, g := range demo.Truth() {
		if g.Kind != session.KindStack {
			continue
		}
		if number--; number > 0 {
			continue
		}
		for _, i := range []int{len(g.Frames) / 4, len(g.Frames) * 3 / 4} {
			data, err := demo.Frame(g.Frames[i])
			if err != nil {
				t.Fatal(err)
			}
			pic, err := plane.DecodeJPEG(data, 0)
			if err != nil {
				t.Fatal(err)
			}
			frames = append(frames, within(pic, 640))
		}
		break
	}
	r = run(t, "", frames)
	for i, u := range r.Used {
		pic, _ := (Lie{Move: u.Move, Gain: u.Gain}).Lay(frames[i])
		laid, moves = append(laid, pic.Luma()), append(moves, u.Move)
	}
	return frames, r, laid, moves
}

// TestEdgesKept: the measure gives .9748 for a blend that is the picture itself, as its formula does
// by hand; and a blend of two frames of the demo's clock keeps more of their edges than either
// frame does.
func TestEdgesKept(t *testing.T) {
	_, r, laid, _ := demoPair(t, 5)
	if q := edgesKept(laid[:1], laid[0], 0); math.Abs(q-0.9748) > 5e-5 {
		t.Errorf("of a picture by itself: %.5f", q)
	}
	const inset = 16
	best := 0.0
	for _, p := range laid {
		best = max(best, edgesKept(laid, p, inset))
	}
	q := edgesKept(laid, r.Picture.To8().Luma(), inset)
	if q <= best {
		t.Errorf("the blend keeps %.4f, the better frame %.4f", q, best)
	}
	t.Logf("the blend keeps %.4f, the better frame %.4f", q, best)
}

// BenchmarkEdges says how much of their edges blends of two frames of each of the demo's stacks keep
// (Q^AB/F), beside what the plain maximum of Laplacian coefficients keeps.
func BenchmarkEdges(b *testing.B) {
	ours, plain := 0.0, 0.0
	const stacks = 5
	for i := range stacks {
		frames, r, laid, moves := demoPair(b, i+1)
		ours += edgesKept(laid, r.Picture.To8().Luma(), 16) / stacks
		plain += edgesKept(laid, byMaximum(frames, moves), 16) / stacks
	}
	b.ReportMetric(ours, "QABF")
	b.ReportMetric(plain, "QABF-of-maximum")
	b.ReportMetric(0, "ns/op")
}

package blend

import (
	"fmt"
	"slices"
	"testing"

	"stillbench/assets/scene"
	"stillbench/session/plane"
)

// tabletop shoots an invented scene, in which parts hide each other, in 16 frames by the thin
// lens, and once by a pinhole: the true all-sharp picture.
func tabletop(kind scene.Kind, seed uint64) madeUp {
	key := fmt.Sprint(kind, seed)
	if m, ok := made.Load(key); ok {
		return m.(madeUp)
	}
	v := scene.New(kind, seed).View(scene.ViewOptions{W: 480, H: 320, FieldMM: 50})
	m := madeUp{truth: v.Shoot(scene.Shot{Steady: true})}
	z := slices.Clone(v.Depth().Pix)
	slices.Sort(z)
	near, far := float64(z[len(z)/50]), float64(z[len(z)*49/50])
	const frames = 16
	for i := range frames {
		m.frames = append(m.frames, v.Shoot(scene.Shot{
			FNumber: 8, FocusMM: near + (far-near)*float64(i)/(frames-1), Steady: true, ISO: 200, Seed: uint64(i),
		}))
	}
	made.Store(key, m)
	return m
}

// judged is how near a blend comes to the truth, by character, and what was suggested.
func judged(t testing.TB, m madeUp) (quality map[Character][2]float64, plain [2]float64, suits Character) {
	t.Helper()
	truth := m.truth.Luma()
	quality = map[Character][2]float64{}
	for _, c := range Characters {
		r := run(t, c, m.frames)
		got := r.Picture.To8().Luma()
		quality[c], suits = [2]float64{psnr(got, truth), ssim(got, truth)}, r.Suits
	}
	still := make([]plane.Similarity, len(m.frames))
	for i := range still {
		still[i] = plane.Identity
	}
	p := byMaximum(m.frames, still)
	return quality, [2]float64{psnr(p, truth), ssim(p, truth)}, suits
}

// TestCharacters: where bristles cross, threads comes closer to the truth than surfaces, on
// a cone's scales it is the other way round, both are closer than the plain maximum, and the
// one that is better is the one suggested. The seeds were not tuned on.
func TestCharacters(t *testing.T) {
	for kind, want := range map[scene.Kind]Character{scene.Fibres: Threads, scene.Cone: Surfaces} {
		q, plain, suits := judged(t, tabletop(kind, 31))
		other := Threads
		if want == Threads {
			other = Surfaces
		}
		t.Logf("%s: threads %.2f dB, surfaces %.2f dB, plain maximum %.2f dB", kind, q[Threads][0], q[Surfaces][0], plain[0])
		if q[want][0] <= q[other][0] || q[want][0] <= plain[0] || suits != want {
			t.Errorf("%s: %v, plain maximum %v, suggested %s", kind, q, plain, suits)
		}
	}
}

// BenchmarkScenes prints, for every kind of scene, PSNR and SSIM of both characters and of the
// plain maximum over seeds that nothing was tuned on, and how often the better one was suggested.
func BenchmarkScenes(b *testing.B) {
	for _, kind := range scene.Kinds {
		b.Run(string(kind), func(b *testing.B) {
			var sum [3][2]float64
			right, n := 0.0, 0.0
			for range b.N {
				for seed := uint64(32); seed < 36; seed++ {
					q, plain, suits := judged(b, tabletop(kind, seed))
					for i := range 2 {
						sum[0][i] += q[Threads][i]
						sum[1][i] += q[Surfaces][i]
						sum[2][i] += plain[i]
					}
					if q[suits][0] >= max(q[Threads][0], q[Surfaces][0]) {
						right++
					}
					n++
				}
			}
			for i, name := range []string{"threads", "surfaces", "plain"} {
				b.ReportMetric(sum[i][0]/n, name+"-dB")
				b.ReportMetric(sum[i][1]/n, name+"-SSIM")
			}
			b.ReportMetric(right/n, "rightly-suggested")
			b.ReportMetric(0, "ns/op")
		})
	}
}

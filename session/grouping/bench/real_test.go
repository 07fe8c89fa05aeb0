package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/grouping"
	"stillbench/session/plane"
)

// tableShot is a photograph as if of a table: a piece of it, out of focus by a disc of so
// many parts of the frame's long side, in linear light.
func tableShot(photo [3]*plane.Plane, x, y, zoom, disc float64) [3]*plane.Plane {
	var out [3]*plane.Plane
	for c, p := range photo {
		out[c] = plane.New(frameW, frameH)
		for v := range frameH {
			for u := range frameW {
				sx := mirror(int((x+float64(u)/frameW*zoom)*float64(p.W)), p.W)
				sy := mirror(int(y*float64(p.H)+float64(v)/frameW*zoom*float64(p.W)), p.H)
				out[c].Pix[v*frameW+u] = p.Pix[sy*p.W+sx]
			}
		}
		if sigma := disc * frameW / 4; sigma > 0.3 {
			out[c] = plane.Blur(nil, out[c], sigma)
		}
	}
	return out
}

// developed is the frame that a camera makes of a picture, with noise.
func developed(r *rand.Rand, p [3]*plane.Plane) *session.Figures {
	pic := plane.NewRGB(frameW, frameH)
	for i := range frameW * frameH {
		for c := range 3 {
			n := 0.01 * math.Sqrt(float64(max(p[c].Pix[i], 0))+0.002)
			pic.Pix[3*i+c] = plane.Encode8(p[c].Pix[i] + float32(n*r.NormFloat64()))
		}
	}
	return figures.Measure(pic)
}

// photographed is the first seed under which sittings are kept in the cache, for package
// grouping to fit its weights to.
const photographed = 80000

// sitting is a session of real pictures, all taken at the same settings.
type sitting struct {
	frames []session.Frame
	truth  []truth
	clock  float64
}

// take adds a frame so many seconds after the one before.
func (s *sitting) take(after float64, kind session.Kind, f *session.Figures) {
	s.clock += after
	number, shutter, iso := 10.0, 0.1, 100
	name := fmt.Sprintf("R%04d.JPG", len(s.frames)+1)
	taken := time.Date(2026, 6, 1, 10, 0, 0, 0, time.UTC).Add(time.Duration(s.clock * 1e9))
	s.truth = append(s.truth, truth{Kind: kind})
	s.frames = append(s.frames, session.Frame{Name: name, Fingerprint: name, Figures: f,
		Meta: session.Meta{Make: "Ardent", Model: "Ardent M2", Taken: taken, FNumber: &number, ShutterSeconds: &shutter, ISO: &iso}})
}

// TestRealPhotographs puts every photographed hand, far out of focus and in turn whole,
// dark, dim, gloved, over more than half of the frame, and smeared, between two stacks
// made of photographs, and before it a single of a third photograph, more or less out of
// focus: each hand is a marker, each single none, and the stacks are whole.
func TestRealPhotographs(t *testing.T) {
	photos, hands := load(t, "photos/*.*"), load(t, "hands/*.jpg")
	handsBetweenStacks(t, 4, photos, hands)
	if *full {
		handsBetweenStacks(t, 11, photos, hands)
	}
}

func handsBetweenStacks(t *testing.T, seed uint64, photos, hands []*plane.RGB) {
	r := rand.New(rand.NewPCG(seed, 2026))
	// Six frames of each photograph, from sharp to soft; the soft ones for singles.
	type subject struct{ stack, soft [3]*session.Figures }
	subjects := make([]subject, len(photos))
	bare := make([][3]*plane.Plane, len(photos))
	for i, photo := range photos {
		p := photo.Linear()
		x, y := 0.3*r.Float64(), 0.3*r.Float64()
		for k := range 3 {
			subjects[i].stack[k] = developed(r, tableShot(p, x, y, 0.6, 0.012*float64(k)))
			subjects[i].soft[k] = developed(r, tableShot(p, 0.2+x, 0.1+y, 0.35+0.1*float64(k), 0.008+0.008*float64(k)))
		}
		bare[i] = tableShot(p, x, y, 0.6, 0)
	}
	marked, singles, stacks := 0, 0, 0
	for n, h := range hands {
		a, b, c := n%len(photos), (n+1)%len(photos), (n+3)%len(photos)
		hand := tableShot(h.Linear(), 0.1*r.Float64(), 0.1*r.Float64(), 0.5+0.5*r.Float64(), 0.1+0.15*r.Float64())
		gain := [3]float32{1, 1, 1}
		reach := float64(frameW) // of the hand, from the left
		switch n % 6 {
		case 1:
			gain = [3]float32{0.16, 0.13, 0.11}
		case 2:
			gain = [3]float32{0.02, 0.02, 0.02}
		case 3:
			gain = [3]float32{0.1, 0.2, 0.9}
		case 4:
			reach *= 0.55 + 0.35*r.Float64()
		case 5:
			for c := range hand {
				hand[c] = plane.Blur(nil, hand[c], 0.05*frameW)
			}
		}
		for i := range hand[0].Pix {
			uncovered := 1 / (1 + math.Exp((reach-float64(i%frameW))/(0.03*frameW)))
			if n%6 != 4 {
				uncovered = 0
			}
			for k := range hand {
				v := hand[k].Pix[i] * gain[k]
				hand[k].Pix[i] = v + (bare[b][k].Pix[i]-v)*float32(uncovered)
			}
		}
		var k sitting
		take := k.take
		for _, f := range subjects[a].stack {
			take(4, session.KindStack, f)
		}
		take(40, session.KindSingle, subjects[c].soft[n/len(photos)%3])
		take(45, session.KindMarker, developed(r, hand))
		for _, f := range subjects[b].stack {
			take(4, session.KindStack, f)
		}
		(&made{Seed: photographed + 1000*seed + uint64(n), Frames: k.frames, Truth: k.truth}).keep(t)
		groups := grouping.Group(k.frames, nil, nil)
		what := func(n int) (session.Kind, int) {
			for _, g := range groups {
				for _, f := range g.Frames {
					if f == k.frames[n].Fingerprint {
						return g.Kind, len(g.Frames)
					}
				}
			}
			return "", 0
		}
		if kind, _ := what(4); kind == session.KindMarker {
			marked++
		} else {
			t.Errorf("hand %d, %s: %s", n, [...]string{"whole", "dark", "dim", "gloved", "in part", "smeared"}[n%6], kind)
		}
		if kind, _ := what(3); kind == session.KindSingle {
			singles++
		} else {
			t.Errorf("single %d, of photograph %d, %d of 3 out of focus: %s", n, c, n/len(photos)%3+1, kind)
		}
		for _, at := range []int{0, 5} {
			if kind, size := what(at); kind == session.KindStack && size == 3 {
				stacks++
			} else {
				t.Errorf("session %d: frame %d in a %s of %d frames", n, at, kind, size)
			}
		}
	}
	t.Logf("%d of %d hands are markers, %d of %d soft singles are singles, %d of %d stacks are whole", marked, len(hands), singles, len(hands), stacks, 2*len(hands))
}

// TestHandsBetweenPhotographs takes photographs of all kinds by many cameras for singles,
// half a minute apart, and a hand before every other one, in three tones: no photograph
// is a marker, and every hand is.
func TestHandsBetweenPhotographs(t *testing.T) {
	if !*full {
		t.Skip("reads dozens of large photographs; -full runs it")
	}
	hands := load(t, "hands/*.jpg")
	names, err := filepath.Glob("../../../../shared/data/exif/*.jpg")
	if err != nil || len(names) == 0 {
		t.Skip("no photographs by many cameras beside the repository")
	}
	var photos []*session.Figures
	for _, n := range names {
		data, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		// Some are broken, or thumbnails.
		if p, err := plane.DecodeJPEG(data, frameW); err == nil && p.W >= frameW && p.H >= frameH && p.W > p.H {
			photos = append(photos, figures.Measure(plane.ReduceRGB(nil, p, frameW, frameH)))
		}
	}
	const seed = 5
	r := rand.New(rand.NewPCG(seed, 2026))
	for n, tone := range []float32{1, 0.2, 0.03} {
		var k sitting
		marker := map[string]bool{}
		for i, f := range photos {
			after := 30.0
			if i%2 == 1 {
				hand := tableShot(hands[r.IntN(len(hands))].Linear(), 0.1*r.Float64(), 0.1*r.Float64(), 0.5+0.5*r.Float64(), 0.06+0.19*r.Float64())
				for c := range hand {
					for i := range hand[c].Pix {
						hand[c].Pix[i] *= tone
					}
				}
				k.take(30, session.KindMarker, developed(r, hand))
				marker[k.frames[len(k.frames)-1].Fingerprint] = true
				after = 5
			}
			k.take(after, session.KindSingle, f)
		}
		(&made{Seed: photographed + 1000*seed + uint64(n), Frames: k.frames, Truth: k.truth}).keep(t)
		wrong := 0
		for _, g := range grouping.Group(k.frames, nil, nil) {
			for _, f := range g.Frames {
				if marker[f] != (g.Kind == session.KindMarker) {
					wrong++
					t.Errorf("hands at %g of their brightness: %s, a marker or not: %v, is called a %s", tone, f, marker[f], g.Kind)
				}
			}
		}
		t.Logf("hands at %g of their brightness: %d of %d frames wrong", tone, wrong, len(k.frames))
	}
}

package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
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

// TestRealPhotographs puts every photographed hand, far out of focus and in turn whole,
// dark, dim, gloved, over more than half of the frame, and smeared, between two stacks
// made of photographs, and before it a single of a third photograph, more or less out of
// focus: each hand is a marker, each single none, and the stacks are whole.
func TestRealPhotographs(t *testing.T) {
	photos, hands := load(t, "photos/*.*"), load(t, "hands/*.jpg")
	r := rand.New(rand.NewPCG(4, 2026))
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
		var frames []session.Frame
		clock := time.Date(2026, 6, 1, 10, 0, 0, 0, time.UTC)
		take := func(after float64, f *session.Figures) {
			clock = clock.Add(time.Duration(after * 1e9))
			number, shutter, iso := 10.0, 0.1, 100
			name := fmt.Sprintf("R%04d.JPG", len(frames)+1)
			frames = append(frames, session.Frame{Name: name, Fingerprint: name, Figures: f,
				Meta: session.Meta{Make: "Ardent", Model: "Ardent M2", Taken: clock, FNumber: &number, ShutterSeconds: &shutter, ISO: &iso}})
		}
		for _, f := range subjects[a].stack {
			take(4, f)
		}
		take(40, subjects[c].soft[n/len(photos)%3])
		take(45, developed(r, hand))
		for _, f := range subjects[b].stack {
			take(4, f)
		}
		groups := grouping.Group(frames, nil, nil)
		what := func(k int) (session.Kind, int) {
			for _, g := range groups {
				for _, f := range g.Frames {
					if f == frames[k].Fingerprint {
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
		for _, k := range []int{0, 5} {
			if kind, size := what(k); kind == session.KindStack && size == 3 {
				stacks++
			} else {
				t.Errorf("session %d: frame %d in a %s of %d frames", n, k, kind, size)
			}
		}
	}
	t.Logf("%d of %d hands are markers, %d of %d soft singles are singles, %d of %d stacks are whole", marked, len(hands), singles, len(hands), stacks, 2*len(hands))
}

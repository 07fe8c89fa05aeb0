package grouping

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/plane"
)

// highKey is a run of frames that the camera took at once of something white, of which a small part shows:
// there one half falls out of focus, from the one frame to the next by so many pixels of blur, and the other
// comes into it, under noise. Invented.
func highKey(seed uint64, frames int, step float64) []session.Frame {
	r := rand.New(rand.NewPCG(seed, 6))
	texture := plane.New(picW, picH)
	for i := range texture.Pix {
		texture.Pix[i] = float32(r.NormFloat64())
	}
	var out []session.Frame
	for k := range frames {
		one := plane.Blur(nil, texture, 1+step*float64(k))
		other := plane.Blur(nil, texture, 1+step*float64(frames-1-k))
		pic := plane.NewRGB(picW, picH)
		for i := range picW * picH {
			v := float32(255)
			if x, y := i%picW, i/picW; x > 200 && x < 320 && y > 140 && y < 200 {
				v = 190 + 60*one.Pix[i]
				if x > 260 {
					v = 190 + 60*other.Pix[i]
				}
				v += 2 * float32(r.NormFloat64())
			}
			c := uint8(min(max(v, 0), 255) + 0.5)
			pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = c, c, c
		}
		out = append(out, withPicture(taken(fmt.Sprintf("B%04d.JPG", k+1), 0.5*float64(k)), figures.Measure(pic)))
	}
	return out
}

// noisy is a run of frames that the camera took one after another in half seconds: a soft texture in two halves, of
// which the left falls out of focus from the one frame to the next by so many pixels of blur and
// the right comes into it, under noise. Invented.
func noisy(seed uint64, frames int, step float64) []session.Frame {
	r := rand.New(rand.NewPCG(seed, 5))
	texture := plane.New(picW, picH)
	for i := range texture.Pix {
		texture.Pix[i] = float32(r.NormFloat64())
	}
	var out []session.Frame
	for k := range frames {
		left := plane.Blur(nil, texture, 2+step*float64(k))
		right := plane.Blur(nil, texture, 2+step*float64(frames-1-k))
		pic := plane.NewRGB(picW, picH)
		for i := range picW * picH {
			v := left.Pix[i]
			if i%picW > picW/2 {
				v = right.Pix[i]
			}
			c := uint8(min(max(110+80*v+3*float32(r.NormFloat64()), 0), 255) + 0.5)
			pic.Pix[3*i], pic.Pix[3*i+1], pic.Pix[3*i+2] = c, c, c
		}
		out = append(out, withPicture(taken(fmt.Sprintf("B%04d.JPG", k+1), 0.5*float64(k)), figures.Measure(pic)))
	}
	return out
}

// The focus that moves by little from frame to frame is seen in the run as a whole; in a burst nothing moves.
func TestShortStepsAreAStack(t *testing.T) {
	for seed := range uint64(3) {
		for _, c := range []struct {
			step float64
			want session.Kind
		}{{0.015, session.KindStack}, {0, session.KindSingle}} {
			groups := Group(noisy(seed, 12, c.step), nil, nil)
			if len(groups) != 1 || groups[0].Kind != c.want {
				t.Errorf("seed %d, %g pixels of blur a step: %d groups, %s first", seed, c.step, len(groups), groups[0].Kind)
			}
		}
	}
}

// A stack that the camera drove by itself over something white is none the less one, for the little of it
// that shows; a burst of that is none.
func TestHighKeyStackAtOnce(t *testing.T) {
	for seed := range uint64(3) {
		for _, c := range []struct {
			step float64
			want session.Kind
		}{{0.1, session.KindStack}, {0, session.KindSingle}} {
			groups := Group(highKey(seed, 5, c.step), nil, nil)
			if len(groups) != 1 || groups[0].Kind != c.want {
				t.Errorf("seed %d, %g pixels of blur a step: %d groups, %s first", seed, c.step, len(groups), groups[0].Kind)
			}
		}
	}
}

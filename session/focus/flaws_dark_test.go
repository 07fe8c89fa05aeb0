package focus

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"stillbench/session"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// An exposure changed by so many stops is light times a power of two, by the definition of the exposure value (APEX); what
// a file holds of it is that by sRGB's curve (IEC 61966-2-1, written out here anew), rounded to 8 bits. So it comes out
// again, in each channel, from a mean tone of 0.5 as encoded down to one of 0.1.
func TestStopsBySRGB(t *testing.T) {
	const w, h = 480, 320
	code := func(light float64) uint8 {
		v := 12.92 * light
		if light > 0.0031308 {
			v = 1.055*math.Pow(light, 1/2.4) - 0.055
		}
		return uint8(math.Round(255 * min(max(v, 0), 1)))
	}
	// By frame, red, green and blue against the second, the middle one.
	stops := [][3]float64{{0.5, 0.5, 0.5}, {0, 0, 0}, {-0.25, -0.25, 0.15}}
	r := rand.New(rand.NewPCG(3, 3))
	texture := plane.New(w, h)
	for k := range texture.Pix {
		texture.Pix[k] = float32(r.NormFloat64())
	}
	plane.Blur(texture, texture, 1.5)
	for _, mean := range []float64{0.2, 0.01} { // of linear light
		st := &Stack{}
		for i, ev := range stops {
			p := plane.NewRGB(w, h)
			for k, v := range texture.Pix {
				light := mean * math.Exp(1.5*float64(v))
				for c := range 3 {
					p.Pix[3*k+c] = code(light * math.Exp2(ev[c]))
				}
			}
			if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
				t.Fatal(err)
			}
		}
		c := st.Check(testOptions)
		for i, f := range c.Frames {
			for k, want := range stops[i] {
				if math.Abs(f.ChannelEV[k]-want) > 0.02 {
					t.Errorf("mean light %.2f: frame %d channel %d is %+.3f EV, want %+.3f", mean, i+1, k, f.ChannelEV[k], want)
				}
			}
		}
		if told := flawed(c, func(f *session.FrameCheck) bool { return f.LightDiffers }); fmt.Sprint(told) != "[1 3]" {
			t.Errorf("mean light %.2f: light differs in %v, want the first and the third", mean, told)
		}
	}
}

// What is clipped of a channel is counted: of a picture of which a known number of pixels has 255 in red, and others 254.
func TestClippedIsCounted(t *testing.T) {
	const w, h, full, nearly = 100, 80, 240, 1000
	p := plane.NewRGB(w, h)
	for i := range p.Pix {
		p.Pix[i] = 90
	}
	for k := range full {
		p.Pix[3*k] = 255
	}
	for k := full; k < full+nearly; k++ {
		p.Pix[3*k] = 254
	}
	st := &Stack{}
	if err := st.Add(Frame{Fingerprint: "0", Picture: p}); err != nil {
		t.Fatal(err)
	}
	got := st.Check(testOptions).Frames[0].Clipped
	if want := [3]float64{float64(full) / (w * h), 0, 0}; got != want {
		t.Errorf("clipped are %.4f, want %.4f", got, want)
	}
}

// In a dark set-up at a high sensitivity, four stops under what is usual and at ISO 3200, flicker and a change of white
// balance still come out as they went in, a part that moves is told, and of a set-up that stands still nothing is.
func TestFlawsInTheDark(t *testing.T) {
	const dark = -4
	s := relief.New(relief.Fine, testW, testH, 31, func(x, y float64) float64 { return testCircle * 6 * (1 - y) })
	places := []float64{0, 1.5, 3, 4.5, 6}
	patch := &relief.Patch{X: 0.4, Y: 0.5, Radius: 0.08, DX: 6, DY: -3}
	for name, of := range map[string]struct {
		change       func(i int, shot *relief.Shot)
		light, moved string
	}{
		"still": {func(i int, shot *relief.Shot) {}, "[]", "[]"},
		"flicker": {func(i int, shot *relief.Shot) {
			if i == 1 {
				shot.EV += 0.25
			}
		}, "[2]", "[]"},
		"white balance": {func(i int, shot *relief.Shot) {
			if i == 3 {
				shot.Red, shot.Blue = 0.2, -0.2
			}
		}, "[4]", "[]"},
		"moved": {func(i int, shot *relief.Shot) {
			if i >= 2 {
				shot.Patch = patch
			}
		}, "[]", "[3]"},
	} {
		c := shoot(t, s, places, func(i int, shot *relief.Shot) {
			shot.EV, shot.Noise = dark, relief.ISO(3200)
			of.change(i, shot)
		}).Check(testOptions)
		light := fmt.Sprint(flawed(c, func(f *session.FrameCheck) bool { return f.LightDiffers }))
		if m, b := fmt.Sprint(flawed(c, moved)), fmt.Sprint(flawed(c, blurred)); light != of.light || m != of.moved || b != "[]" {
			t.Errorf("%s: light differs in %s, want %s; moved are %s, want %s; blurred are %s, want none", name, light, of.light, m, of.moved, b)
		}
	}
}

// Of a dark set-up on a table, shot past by its near end, a frame that others hold against from one side was once called
// blurred: all are sound.
func TestSoundFramesInTheDark(t *testing.T) {
	if told := flawed(check(relief.MakeTable(93518)), blurred); len(told) > 0 {
		t.Errorf("blurred are %v", told)
	}
}

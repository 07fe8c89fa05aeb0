package focus

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillbench/assets/scene"
	"stillbench/session"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// flawed lists, by number from 1, the frames that something is said of.
func flawed(c *session.Check, of func(f *session.FrameCheck) bool) (numbers []int) {
	for i := range c.Frames {
		if of(&c.Frames[i]) {
			numbers = append(numbers, i+1)
		}
	}
	return numbers
}

func blurred(f *session.FrameCheck) bool { return f.Blurred }
func moved(f *session.FrameCheck) bool   { return f.Moved }

// The demo's shell was knocked in its fifth frame, smeared by 15 pixels in the direction of 68
// degrees (assets/demo, recipe.go), and shot again right after: told as soon as the frame is
// there, and of that frame alone.
func TestKnockedFrameOfTheDemo(t *testing.T) {
	st := &Stack{}
	for number := 2; number <= 7; number++ {
		data, err := os.ReadFile(filepath.Join("..", "..", "assets", "demo", "frames", fmt.Sprintf("VTX_%d.jpg", 1206+number)))
		if err != nil {
			t.Fatal(err)
		}
		p, err := plane.DecodeJPEG(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(number), Number: number, Picture: p}); err != nil {
			t.Fatal(err)
		}
		if number != 5 && number != 7 {
			continue
		}
		c := st.Check(Options{})
		if got := flawed(c, blurred); len(got) != 1 || got[0] != 4 || c.Verdict != session.VerdictBlurred {
			t.Fatalf("up to frame %d: %s, blurred are %v", number, c.Verdict, got)
		}
		f := c.Frames[3]
		if math.Abs(f.BlurPixels-15) > 4 || math.Abs(f.BlurDegrees-68) > 10 {
			t.Errorf("up to frame %d: blurred by %.1f pixels at %.0f degrees, want 15 at 68", number, f.BlurPixels, f.BlurDegrees)
		}
		if number == 5 {
			if c.Headline.String() != "Shoot frame 5 again." {
				t.Errorf("up to frame 5: %q", c.Headline)
			}
			continue
		}
		// The frame shot again stands between those beside it, and takes the other's place.
		if !(*c.Frames[2].Place < *c.Frames[4].Place && *c.Frames[4].Place < *c.Frames[5].Place) {
			t.Errorf("frames 4, 6 and 7 stand at %.2f, %.2f, %.2f", *c.Frames[2].Place, *c.Frames[4].Place, *c.Frames[5].Place)
		}
		if c.Headline.String() != "Set frame 5 aside." || !strings.Contains(c.Advice.String(), "frame 6 holds the same focus") {
			t.Errorf("up to frame 7: %q, %q", c.Headline, c.Advice)
		}
	}
}

// A frame shaken without a direction is blurred, whether it was shot again or not, and be it the last
// one, which others lie beside on one side only; a frame for
// which the ring was turned far off, in the middle of the stack, is not: it is as sharp as
// a lens is there.
func TestBlurIsNotDistance(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 21, func(x, y float64) float64 { return testCircle * 9 * (1 - y) })
	begun := shoot(t, s, []float64{0, 1.5, 3}, nil)
	for name, c := range map[string]struct {
		places []float64
		shaken int
		want   int
	}{
		"sound":      {[]float64{0, 1.5, 3, 4.5, 6, 7.5, 9}, -1, 0},
		"shaken":     {[]float64{0, 1.5, 3, 4.5, 6, 7.5, 9}, 3, 4},
		"shot again": {[]float64{0, 1.5, 3, 4.5, 4.5, 6, 7.5, 9}, 3, 4},
		"the last":   {[]float64{0, 1.5, 3, 4.5, 6, 7.5}, 5, 6},
		"far off":    {[]float64{0, 1.5, 3, 17, 4.5, 6, 7.5, 9}, -1, 0},
	} {
		got := shootOn(t, begun, s, c.places, func(i int, shot *relief.Shot) {
			if i == c.shaken {
				shot.ShakePX = 3
			}
		}).Check(testOptions)
		told := flawed(got, blurred)
		if (c.want == 0 && len(told) > 0) || (c.want > 0 && (len(told) != 1 || told[0] != c.want)) {
			t.Errorf("%s: blurred are %v, want %d", name, told, c.want)
		}
	}
}

// Of a dome's last frame little is sharp, in the corners alone, and all other frames lie before it: smeared by 5
// pixels in the direction of 30 degrees, it is told for what it is and not taken to lie farther out; and all
// frames are sound where nothing smeared it.
func TestSmearedEndOfADome(t *testing.T) {
	const length, deg = 5, 30
	s := relief.New(relief.Fine, testW, testH, 23, func(x, y float64) float64 {
		return testCircle * 18 * 2 * (math.Pow(x-0.5, 2) + math.Pow(y-0.5, 2))
	})
	begun := shoot(t, s, []float64{0, 2, 4}, nil)
	places := []float64{0, 2, 4, 6, 8, 10, 12, 14, 16, 17.8}
	last := len(places) - 1
	if told := flawed(shootOn(t, begun, s, places, nil).Check(testOptions), blurred); len(told) > 0 {
		t.Errorf("sound: blurred are %v", told)
	}
	c := shootOn(t, begun, s, places, func(i int, shot *relief.Shot) {
		if i == last {
			shot.SmearPX, shot.SmearDeg = length, deg
		}
	}).Check(testOptions)
	if told := flawed(c, blurred); len(told) != 1 || told[0] != last+1 {
		t.Fatalf("smeared: blurred are %v, want %d", told, last+1)
	}
	f := &c.Frames[last]
	if off := math.Abs(f.BlurDegrees - deg); off > 15 || math.Abs(f.BlurPixels-length) > 0.3*length {
		t.Errorf("smeared by %.1f pixels along %.0f degrees, want %d along %d", f.BlurPixels, f.BlurDegrees, length, deg)
	}
}

// A cloth of regular stripes has detail along one direction only, which fades with defocus by a law of its own: nothing
// smeared it for that. The last frame of these two was once called blurred.
func TestStripesAreNotSmeared(t *testing.T) {
	for _, seed := range []uint64{6, 14} {
		s := relief.New(relief.Stripes, testW, testH, seed, func(x, y float64) float64 { return testCircle * 12 * (1 - y) })
		c := shoot(t, s, []float64{0, 2, 4, 6, 8, 10, 12}, func(i int, shot *relief.Shot) { shot.Noise = relief.ISO(400) }).Check(testOptions)
		if told := flawed(c, blurred); len(told) > 0 {
			t.Errorf("seed %d: blurred are %v", seed, told)
		}
	}
}

// Of a camera of 45 megapixels, worked on at a quarter of its length, a frame smeared by five full-size pixels is told from
// those beside it, which are sound.
func TestSmearOfFiveFullSizePixels(t *testing.T) {
	const (
		w, h, full, circle = 960, 640, 4, 1.65 // the middle of pictures 2048 pixels wide
		length, deg, bad   = 5, 70, 2
	)
	s := relief.New(relief.Fine, w, h, 29, func(x, y float64) float64 { return circle * 6.4 * (1 - y) })
	st := &Stack{}
	for i := range 5 {
		// A working pixel is the mean of 16.
		shot := relief.Shot{Place: 1.6 * circle * float64(i), Noise: relief.ISO(200) / full, Seed: uint64(i), Move: plane.Similarity{Scale: 1 - 0.001*float64(i), DX: 0.3 * float64(i%3)}}
		if i == bad {
			shot.SmearPX, shot.SmearDeg = float64(length)/full, deg
		}
		p := s.Shoot(shot)
		p.FullW, p.FullH = full*w, full*h
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			t.Fatal(err)
		}
	}
	c := st.Check(Options{CircleOfConfusion: circle / math.Hypot(w, h)})
	if told := flawed(c, blurred); len(told) != 1 || told[0] != bad+1 {
		t.Fatalf("blurred are %v, want %d", told, bad+1)
	}
	if f := c.Frames[bad]; math.Abs(f.BlurPixels-length) > 2 || math.Abs(f.BlurDegrees-deg) > 15 {
		t.Errorf("smeared by %.1f pixels along %.0f degrees, want %d along %d", f.BlurPixels, f.BlurDegrees, length, deg)
	}
}

// A scene with parts that hide each other, through a thin lens that breathes: nothing is called
// blurred or moved while all stands still, and a knocked frame is.
func TestSceneStandsStillUnlessKnocked(t *testing.T) {
	const n, seed = 5, 311
	v := scene.New(scene.Cone, seed).View(scene.ViewOptions{W: 384, H: 256, FieldMM: 60})
	still, knocked := &Stack{}, &Stack{}
	for i := range n {
		shot := scene.Shot{FNumber: 16, FocusMM: v.ReferenceMM - 8 + 4*float64(i), ISO: 200, Seed: uint64(i), ShiftX: 0.4 * float64(i%3)}
		f := Frame{Fingerprint: fmt.Sprint(i), Picture: v.Shoot(shot)}
		if err := still.Add(f); err != nil {
			t.Fatal(err)
		}
		if i == 3 {
			shot.MotionPX, shot.MotionDeg = 6, 20
			f.Picture = v.Shoot(shot)
		}
		if err := knocked.Add(f); err != nil {
			t.Fatal(err)
		}
	}
	c := still.Check(Options{})
	if b, m := flawed(c, blurred), flawed(c, moved); len(b) > 0 || len(m) > 0 {
		t.Errorf("standing still: blurred are %v, moved %v", b, m)
	}
	if b := flawed(knocked.Check(Options{}), blurred); len(b) != 1 || b[0] != 4 {
		t.Errorf("knocked: blurred are %v, want the fourth", b)
	}
}

// A part that moves by itself is told of the frame it moved before, and not of the one it
// moved back in.
func TestPartThatMoved(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 22, func(x, y float64) float64 { return testCircle * 6 * (1 - y) })
	patch := &relief.Patch{X: 0.4, Y: 0.5, Radius: 0.07, DX: 5, DY: -3}
	places := []float64{0, 1.5, 3, 4.5, 6}
	begun := shoot(t, s, places[:2], nil)
	for name, from := range map[string]func(i int) bool{
		"for good":     func(i int) bool { return i >= 2 },
		"for a moment": func(i int) bool { return i == 2 },
	} {
		st := shootOn(t, begun, s, places, func(i int, shot *relief.Shot) {
			if from(i) {
				shot.Patch = patch
			}
		})
		c := st.Check(testOptions)
		if got := flawed(c, moved); len(got) != 1 || got[0] != 3 {
			t.Errorf("%s: moved are %v, want the third", name, got)
		}
		if c.Verdict != session.VerdictCovered || c.Sure || !strings.Contains(c.Advice.String(), "moved before frame 3") {
			t.Errorf("%s: %s (sure %v), %q", name, c.Verdict, c.Sure, c.Advice)
		}
		o := testOptions
		o.Wanted = [][2]float64{{0.6, 0}, {1, 0}, {1, 1}, {0.6, 1}}
		if got := flawed(st.Check(o), moved); len(got) > 0 {
			t.Errorf("%s, outside the wanted area: moved are %v", name, got)
		}
		// With the third set aside, the fourth is held against the second.
		o = testOptions
		o.Without = []string{"2"}
		want := 0
		if from(3) {
			want = 1
		}
		c = st.Check(o)
		if got := flawed(c, moved); len(c.Frames) != 4 || len(got) != want || want == 1 && got[0] != 3 {
			t.Errorf("%s, the third set aside: of %d, moved are %v", name, len(c.Frames), got)
		}
	}
}

// A frame that is focused a little past what stands at an end holds nothing quite sharp, and no frame beyond it tells why: it is not blurred by
// movement. Nor is anything else on these tables.
func TestSoundEndsAreNotBlurred(t *testing.T) {
	for seed, fault := range map[uint64]string{92211: "far-open", 92259: "far-open"} {
		s := filed(relief.MakeTable)(seed)
		if s.Fault != fault || s.Truth.Blurred >= 0 {
			t.Fatalf("%s: made otherwise", s)
		}
		if got := flawed(check(s), blurred); len(got) > 0 {
			t.Errorf("%s: blurred are %v", s, got)
		}
	}
}

// Nothing moves on these tables. But the soft edges of bright things reach the farther, the more they are out of focus, and stripes that are far
// out of focus come out reversed.
func TestDefocusMovesNothing(t *testing.T) {
	for seed, fault := range map[uint64]string{92207: "coarse", 92234: "near-open", 92261: "coarse"} {
		s := relief.MakeTable(seed)
		if s.Fault != fault || s.Truth.Moved >= 0 {
			t.Fatalf("%s: made otherwise", s)
		}
		if got := flawed(check(s), moved); len(got) > 0 {
			t.Errorf("%s: moved are %v", s, got)
		}
	}
}

// Light that is known to drift comes out as it went in, by channel, and only what leaves the
// stack's own light by more than an eighth of a stop is told.
func TestLightDrift(t *testing.T) {
	// Light is read over the whole of a picture: a small one will do.
	s := relief.New(relief.Fine, testW*3/4, testH*3/4, 23, func(x, y float64) float64 { return testCircle * 6 * (1 - y) })
	places := []float64{0, 1.5, 3, 4.5, 6} // the middle frame is the third
	for name, c := range map[string]struct {
		ev, red, blue func(i int) float64
		want          []int
	}{
		"steady":        {nil, nil, nil, nil},
		"flicker":       {func(i int) float64 { return 0.3 * float64(i&1) }, nil, nil, []int{2, 4}},
		"drift":         {func(i int) float64 { return 0.1 * float64(i-2) }, nil, nil, []int{1, 5}},
		"white balance": {nil, func(i int) float64 { return 0.12 * float64(i-2) }, func(i int) float64 { return -0.05 * float64(i-2) }, []int{1, 2, 4, 5}},
	} {
		at := func(f func(int) float64, i int) float64 {
			if f == nil {
				return 0
			}
			return f(i)
		}
		got := shoot(t, s, places, func(i int, shot *relief.Shot) {
			shot.EV, shot.Red, shot.Blue = at(c.ev, i), at(c.red, i), at(c.blue, i)
		}).Check(testOptions)
		for i, f := range got.Frames {
			want := [3]float64{at(c.ev, i) + at(c.red, i), at(c.ev, i), at(c.ev, i) + at(c.blue, i)}
			for k := range want {
				want[k] -= at(c.ev, 2)
				if math.Abs(f.ChannelEV[k]-want[k]) > 0.02 {
					t.Errorf("%s: frame %d channel %d is %+.3f EV, want %+.3f", name, i+1, k, f.ChannelEV[k], want[k])
				}
			}
		}
		told := flawed(got, func(f *session.FrameCheck) bool { return f.LightDiffers })
		if fmt.Sprint(told) != fmt.Sprint(c.want) || got.LightSteady != (len(c.want) == 0) {
			t.Errorf("%s: light differs in %v (steady: %v), want %v", name, told, got.LightSteady, c.want)
		}
	}
}

// One frame in another light, or at other settings, is shot again, as one that was blurred; where another was shot in its place it is
// set aside; several are no picture.
func TestAdviceOnUnsteadyFrames(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 33, func(x, y float64) float64 { return testCircle * 6 * (1 - y) })
	places := []float64{0, 1.5, 3, 4.5, 6}
	again := []float64{0, 1.5, 3, 3, 4.5, 6}
	f8, f9 := 8.0, 9.0
	for _, c := range []struct {
		name             string
		places           []float64
		ev               map[int]float64
		closed           int // index of the frame that was shot at another aperture
		headline, advice string
	}{
		{"one lighter", places, map[int]float64{2: 0.5}, -1, "Shoot frame 3 again.", "The light on frame 3"},
		{"one at another aperture", places, nil, 3, "Shoot frame 4 again.", "Frame 4 was shot with other settings"},
		{"shot again", again, map[int]float64{2: -0.5}, -1, "Set frame 3 aside.", "frame 4 holds the same focus"},
		{"several", places, map[int]float64{1: 0.5, 3: 0.5}, -1, "The light or the settings changed.", "2 frames differ from the others, the first is frame 2"},
	} {
		st := shoot(t, s, c.places, func(i int, shot *relief.Shot) { shot.EV = c.ev[i] })
		for i, f := range st.frames {
			if f.meta.FNumber = &f8; i == c.closed {
				f.meta.FNumber = &f9
			}
		}
		got := st.Check(testOptions)
		if got.Verdict != session.VerdictUnsteady || got.Headline.String() != c.headline || !strings.Contains(got.Advice.String(), c.advice) {
			t.Errorf("%s: %s, %q, %q", c.name, got.Verdict, got.Headline, got.Advice)
		}
	}
}

// A camera does not write sRGB alone: its tone curve gives more contrast to the middle tones (common practice), and less to a frame that is lighter.
// Light that differs is told as such, and as nothing else.
func TestOtherLightUnderAToneCurve(t *testing.T) {
	var curve [256]byte
	for i := range curve {
		x := float64(i) / 255
		curve[i] = byte(255*(0.4*x+0.6*x*x*(3-2*x)) + 0.5)
	}
	s := relief.New(relief.Fine, testW, testH, 31, func(x, y float64) float64 { return testCircle * 10 * (1 - y) })
	for _, ev := range []float64{-1, 1} {
		st := &Stack{}
		for i := range 7 {
			shot := relief.Shot{Place: 10. / 6 * float64(i) * testCircle, Noise: relief.ISO(200), Seed: uint64(i)}
			if i == 3 {
				shot.EV = ev
			}
			p := s.Shoot(shot)
			for k, v := range p.Pix {
				p.Pix[k] = curve[v]
			}
			if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
				t.Fatal(err)
			}
		}
		c := st.Check(testOptions)
		light := flawed(c, func(f *session.FrameCheck) bool { return f.LightDiffers })
		if got := flawed(c, blurred); len(got) > 0 || len(c.Gaps) > 0 || len(light) != 1 || light[0] != 4 {
			t.Errorf("%+.1f EV: blurred are %v, gaps %v, light differs in %v", ev, got, c.Gaps, light)
		}
	}
}

// One frame a tenth of a stop off among steady ones is a lamp that flickered; among frames that a flash lit, which differ by half as much
// all of them, it is not (common practice: a tenth of a stop is what a good flash keeps to).
func TestFlicker(t *testing.T) {
	subject := relief.New(relief.Fine, testW, testH, 7, func(x, y float64) float64 { return testCircle * 10 * y })
	places := []float64{0, 1.7, 3.4, 5.1, 6.8, 8.5, 10.2}
	flash := []float64{0.05, -0.06, 0, 0.06, 0.1, -0.05, -0.04}
	for _, steady := range []bool{true, false} {
		c := shoot(t, subject, places, func(i int, shot *relief.Shot) {
			if shot.EV = flash[i]; steady && i != 4 {
				shot.EV = 0.1 * flash[i]
			}
		}).Check(testOptions)
		if c.LightSteady == steady || c.Frames[4].LightDiffers != steady {
			t.Errorf("lamp that flickers %v: light steady %v, differs in the fifth frame %v by %.3f EV", steady, c.LightSteady, c.Frames[4].LightDiffers, c.Frames[4].BrightnessEV)
		}
	}
}

// A saturated red clips one channel while the others are well exposed.
func TestOneChannelClips(t *testing.T) {
	s := relief.New(relief.Fine, testW, testH, 24, func(x, y float64) float64 { return testCircle * 3 * (1 - y) })
	red := func(ev float64) *session.Check {
		return shoot(t, s, []float64{0, 1.5, 3}, func(i int, shot *relief.Shot) { shot.Red = ev }).Check(testOptions)
	}
	c := red(2.2)
	if f := c.Frames[1].Clipped; !(f[0] > 0.03) || f[1] > 0.01 || f[2] > 0.01 {
		t.Errorf("clipped are %.3f", f)
	}
	if !strings.Contains(c.Advice.String(), "Only red clips") {
		t.Errorf("advice: %q", c.Advice)
	}
	if c := red(0); strings.Contains(c.Advice.String(), "clips") {
		t.Errorf("well exposed: %q", c.Advice)
	}
}

// A gap's depth in the subject, held against the thin lens itself: two planes that a lens
// of the same focal length and f-number is focused at, between which a depth is drawn, from both, as a
// disc larger than what counts as clearly blurred.
func TestGapInMillimetres(t *testing.T) {
	const (
		focal, fNumber, sensor = 100.0, 8.0, 36.0
		m                      = 0.5
	)
	// Sensor distance v and subject distance u of the magnification m: 1/f = 1/u + 1/v, m = v/u.
	u, v := focal*(1+1/m), focal*(1+m)
	pitch := sensor / 1152 // of the pictures that these are the middle of
	s := relief.New(relief.Fine, testW, testH, 25, func(x, y float64) float64 { return testCircle * 9 * (1 - y) })
	n := fNumber
	st := &Stack{}
	places := []float64{0, 1.5, 3, 8, 9}
	for i, p := range places {
		f := Frame{Fingerprint: fmt.Sprint(i), Meta: session.Meta{FNumber: &n}, Picture: s.Shoot(relief.Shot{
			Place: p * testCircle, Noise: relief.ISO(100), Seed: uint64(i), Move: plane.Similarity{Scale: 1 - 0.0008*p}})}
		if err := st.Add(f); err != nil {
			t.Fatal(err)
		}
	}
	o := testOptions
	o.Magnification, o.SensorMM = m, pitch*testW
	c := st.Check(o)
	if len(c.Gaps) != 1 || c.Gaps[0].DepthMM == nil {
		t.Fatalf("gaps: %+v", c.Gaps)
	}
	// A point at u + d is drawn by a lens focused at u as a disc of (f/N) v |1/u - 1/(u+d)|. Solved for
	// d, for the blur that lies between the two circles of 1.5 around the frames at 3 and 8.
	blur := (8 - 3 - 2*1.5) * testCircle * pitch
	want := 1/(1/u-blur*fNumber/(focal*v)) - u
	if got := *c.Gaps[0].DepthMM; math.Abs(got/want-1) > 0.15 {
		t.Errorf("the gap is %.3f mm deep, want %.3f", got, want)
	}
	o.Magnification = 0
	if c := st.Check(o); c.Gaps[0].DepthMM != nil {
		t.Error("a depth in millimetres without a magnification")
	}
}

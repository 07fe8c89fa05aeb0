package demo

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"stillbench/assets/scene"
	"stillbench/session"
)

// Size of the frames in pixels, as stored.
const (
	width  = 1296
	height = 864
)

// What the invented camera writes.
const (
	cameraMake  = "Vellmar"
	cameraModel = "Vellmar TX-2"
	lens        = "Vellmar Near 100 mm f/2.8"
	serial      = "0041178"
	focalMM     = 100
)

// afternoon is when the session begins, by the camera's clock.
var afternoon = time.Date(2026, 5, 16, 14, 2, 11, 0, time.FixedZone("", 2*3600))

// composition is one framing of one subject.
type composition struct {
	kind scene.Kind
	seed uint64
	view scene.ViewOptions // all but size and lights
}

var (
	acorns = &composition{scene.Acorns, 1, scene.ViewOptions{FieldMM: 70, ElevationDeg: 56, Target: [3]float64{1, 3, 4}}}
	shell  = &composition{scene.Shell, 1, scene.ViewOptions{FieldMM: 66, ElevationDeg: 58, Target: [3]float64{0, -1, 4}, YawDeg: 10}}
	cone   = &composition{scene.Cone, 1, scene.ViewOptions{FieldMM: 64, ElevationDeg: 40, Target: [3]float64{0, -4, 27}, YawDeg: 40}}
	stood  = &composition{scene.Cone, 1, scene.ViewOptions{FieldMM: 84, ElevationDeg: 42, Target: [3]float64{0, 0, 22}, YawDeg: 40, RollDeg: 90}}
	train  = &composition{scene.Gears, 1, scene.ViewOptions{FieldMM: 64, ElevationDeg: 56, Target: [3]float64{3, 0, 5}, YawDeg: -12}}
	bridge = &composition{scene.Gears, 1, scene.ViewOptions{FieldMM: 34, ElevationDeg: 50, Target: [3]float64{-12, 11, 9}, YawDeg: 15}}
)

// lighting is a plan of the log and what it does to the picture.
type lighting struct {
	lights  []session.Light
	ambient float64
}

func cm(v float64) *float64 { return &v }
func kelvin(v int) *int     { return &v }

var (
	lowFlash = lighting{[]session.Light{
		{Kind: session.LightFlash, AzimuthDeg: 275, ElevationDeg: 14, DistanceCM: cm(35), Power: "1/16"},
	}, 0.05}
	rightPanel = lighting{[]session.Light{
		{Kind: session.LightLED, AzimuthDeg: 95, ElevationDeg: 38, DistanceCM: cm(40), Power: "30 %", ColourK: kelvin(5200)},
	}, 0.10}
	softBackLeft = lighting{[]session.Light{
		{Kind: session.LightLED, AzimuthDeg: 222, ElevationDeg: 47, DistanceCM: cm(40), Modifier: "diffuser", Power: "60 %", ColourK: kelvin(5200)},
		{Kind: session.LightCard, AzimuthDeg: 62, ElevationDeg: 16, DistanceCM: cm(25), Modifier: "white"},
	}, 0.12}
	raking = lighting{[]session.Light{
		{Kind: session.LightLED, AzimuthDeg: 238, ElevationDeg: 30, DistanceCM: cm(45), Modifier: "diffuser", Power: "80 %", ColourK: kelvin(5200)},
		{Kind: session.LightCard, AzimuthDeg: 75, ElevationDeg: 12, DistanceCM: cm(20), Modifier: "white"},
	}, 0.10}
	window = lighting{[]session.Light{
		{Kind: session.LightWindow, AzimuthDeg: 285, ElevationDeg: 42, DistanceCM: cm(120), Modifier: "net curtain", ColourK: kelvin(5600)},
		{Kind: session.LightCard, AzimuthDeg: 80, ElevationDeg: 20, DistanceCM: cm(22), Modifier: "white"},
	}, 0.22}
	overBench = lighting{[]session.Light{
		{Kind: session.LightLamp, AzimuthDeg: 205, ElevationDeg: 58, DistanceCM: cm(50), Modifier: "tracing paper", Power: "12 W", ColourK: kelvin(4000)},
		{Kind: session.LightCard, AzimuthDeg: 320, ElevationDeg: 30, DistanceCM: cm(20), Modifier: "white"},
	}, 0.30}
)

// scene gives the lights as the renderer knows them.
func (l lighting) scene() []scene.Light {
	var out []scene.Light
	for _, s := range l.lights {
		o := scene.Light{AzimuthDeg: s.AzimuthDeg, ElevationDeg: s.ElevationDeg, SizeDeg: 4, Power: 1, Colour: scene.Neutral}
		switch s.Kind {
		case session.LightCard:
			o.SizeDeg, o.Power = 22, 0.2
		case session.LightWindow:
			o.SizeDeg = 24
		case session.LightFlash:
			o.SizeDeg = 2
		}
		if s.Modifier == "diffuser" || s.Modifier == "tracing paper" {
			o.SizeDeg = 13
		}
		out = append(out, o)
	}
	return out
}

// act is what the photographer does next: a run of frames of one kind.
type act struct {
	kind   session.Kind
	of     *composition
	light  lighting
	pause  time.Duration // since the frame before
	pace   time.Duration // between its frames
	n      int
	fNo    float64
	time   float64 // shutter, seconds
	ev     float64 // brightness of the picture against the view's own
	from   float64 // focus of the first frame and of the last, as a place between
	to     float64 // the nearest (0) and the farthest (1) thing in the picture
	jolted int     // this frame (from 1) is blurred by a knock and shot again right after
	before *scene.Occluder
}

// acts is the afternoon: light trials, markers, stacks, singles.
var acts = []act{
	{kind: session.KindTest, of: acorns, light: lowFlash, n: 1, fNo: 13, time: 1.0 / 160, from: 0.3, ev: -0.35},
	{kind: session.KindTest, of: acorns, light: rightPanel, pause: 74 * time.Second, n: 1, fNo: 13, time: 1.0 / 5, from: 0.3},
	{kind: session.KindTest, of: acorns, light: softBackLeft, pause: 118 * time.Second, n: 1, fNo: 13, time: 1.0 / 4, from: 0.32},
	{kind: session.KindMarker, of: acorns, light: softBackLeft, pause: 41 * time.Second, n: 1, fNo: 13, time: 1.0 / 4, from: 0.1,
		before: &scene.Occluder{Thing: scene.Hand, Tone: 0.28, EV: -1.6, DistanceMM: 60, Seed: 3}},
	// The ring is turned past the end: nothing is sharp in the last frame.
	{kind: session.KindStack, of: acorns, light: softBackLeft, pause: 9 * time.Second, pace: 5200 * time.Millisecond, n: 12, fNo: 13, time: 1.0 / 4, from: 0.01, to: 1.18},
	{kind: session.KindSingle, of: acorns, light: softBackLeft, pause: 96 * time.Second, n: 1, fNo: 2.8, time: 1.0 / 80, from: 0.36},

	{kind: session.KindTest, of: shell, light: rightPanel, pause: 9*time.Minute + 22*time.Second, n: 1, fNo: 13, time: 1.0 / 5, from: 0.35},
	{kind: session.KindTest, of: shell, light: raking, pause: 132 * time.Second, n: 1, fNo: 13, time: 1.0 / 3, from: 0.35},
	{kind: session.KindMarker, of: shell, light: raking, pause: 57 * time.Second, n: 1, fNo: 13, time: 1.0 / 3, from: 0.1,
		before: &scene.Occluder{Thing: scene.Hand, Tone: 0.3, EV: -1.9, DistanceMM: 85, Cover: 0.82, FromDeg: 35, MotionMM: 3, Seed: 8}},
	{kind: session.KindStack, of: shell, light: raking, pause: 8 * time.Second, pace: 5900 * time.Millisecond, n: 12, fNo: 13, time: 1.0 / 3, from: 0.01, to: 0.99, jolted: 5},
	{kind: session.KindSingle, of: shell, light: raking, pause: 83 * time.Second, n: 1, fNo: 4, time: 1.0 / 30, from: 0.42},

	{kind: session.KindTest, of: cone, light: window, pause: 7*time.Minute + 48*time.Second, n: 1, fNo: 14, time: 0.5, from: 0.3, ev: 0.2},
	{kind: session.KindMarker, of: cone, light: window, pause: 66 * time.Second, n: 1, fNo: 14, time: 0.5, from: 0.05,
		before: &scene.Occluder{Thing: scene.Hand, Tone: 0.27, EV: -1.2, DistanceMM: 50, Cover: 0.93, FromDeg: 150, Seed: 21}},
	{kind: session.KindStack, of: cone, light: window, pause: 10 * time.Second, pace: 6300 * time.Millisecond, n: 12, fNo: 14, time: 0.5, from: 0, to: 0.64},
	{kind: session.KindMarker, of: stood, light: window, pause: 3*time.Minute + 5*time.Second, n: 1, fNo: 14, time: 0.5, from: 0.05,
		before: &scene.Occluder{Thing: scene.Hand, Tone: 0.28, EV: -1.4, DistanceMM: 55, Seed: 33}},
	{kind: session.KindStack, of: stood, light: window, pause: 8 * time.Second, pace: 6100 * time.Millisecond, n: 11, fNo: 14, time: 0.5, from: 0.02, to: 0.6},

	{kind: session.KindMarker, of: train, light: overBench, pause: 12*time.Minute + 31*time.Second, n: 1, fNo: 13, time: 1.0 / 6, from: 0.1,
		before: &scene.Occluder{Thing: scene.Glove, Tone: 0, EV: -2.1, DistanceMM: 60, Seed: 40}},
	{kind: session.KindStack, of: train, light: overBench, pause: 11 * time.Second, pace: 6600 * time.Millisecond, n: 10, fNo: 13, time: 1.0 / 6, from: 0.02, to: 0.98},
	{kind: session.KindSingle, of: bridge, light: overBench, pause: 4*time.Minute + 12*time.Second, n: 1, fNo: 3.5, time: 1.0 / 80, from: 0.3},
}

// exposure is one frame of the recipe.
type exposure struct {
	name  string
	act   int
	taken time.Time
	focus float64 // place between the nearest (0) and farthest (1) thing
	shot  scene.Shot
	fNo   float64
	time  float64
	iso   int
	turn  int // EXIF orientation
}

// exposures writes the recipe out frame by frame.
func exposures() []exposure {
	r := rand.New(rand.NewPCG(16, 5))
	jitter := func(size float64) float64 { return size * (2*r.Float64() - 1) }
	clock := afternoon
	var out []exposure
	for i, a := range acts {
		n := a.n
		if a.jolted > 0 {
			n++
		}
		for k := range n {
			wait := a.pause
			if k > 0 {
				wait = a.pace + time.Duration(jitter(0.22)*float64(a.pace))
			}
			clock = clock.Add(wait + time.Duration(jitter(400))*time.Millisecond)
			// The frame shot again is focused where the blurred one was.
			step := k
			if a.jolted > 0 && k >= a.jolted {
				step--
			}
			place := a.from
			if a.n > 1 {
				place += (a.to - a.from) * (float64(step) + jitter(0.09)) / float64(a.n-1)
			}
			e := exposure{
				name: name(len(out)), act: i, taken: clock.Round(time.Millisecond), focus: place,
				fNo: a.fNo, time: a.time, iso: 100, turn: 1,
				shot: scene.Shot{
					FNumber: a.fNo, EV: a.ev + jitter(0.015), ISO: 100, Seed: uint64(len(out)),
					ShiftX: jitter(0.9), ShiftY: jitter(0.7), TurnDeg: jitter(0.012),
					VignetteEV: 0.35 + 0.9/a.fNo, Before: a.before,
				},
			}
			if a.of.view.RollDeg == 90 {
				e.turn = 6
			}
			if a.jolted > 0 && k == a.jolted-1 {
				e.shot.MotionPX, e.shot.MotionDeg = 15, 68
			}
			clock = clock.Add(time.Duration(a.time * float64(time.Second)))
			out = append(out, e)
		}
	}
	return out
}

// name is the n-th file name by the rules of DCF (CIPA DC-009: four free characters and a
// number).
func name(n int) string {
	n += 1187
	d := []byte("VTX_0000.JPG")
	for i := 7; i > 3; i-- {
		d[i] = byte('0' + n%10)
		n /= 10
	}
	return string(d)
}

// studio keeps the view that was made last: the recipe's frames come in its order.
type studio struct {
	size float64 // 1 is full size
	act  int
	view *scene.View
	near float64 // distances from the lens, in millimetres, of focus places 0 and 1
	far  float64
}

func newStudio(size float64) *studio { return &studio{size: size, act: -1} }

// shoot renders one frame of the recipe.
func (s *studio) shoot(e exposure, quality int) ([]byte, error) {
	a := acts[e.act]
	if s.view == nil || !sameView(acts[s.act], a) {
		o := a.of.view
		o.W, o.H = int(width*s.size+0.5), int(height*s.size+0.5)
		o.FocalMM, o.SensorMM = focalMM, 36
		o.Lights, o.Ambient = a.light.scene(), a.light.ambient
		o.Fine = true
		s.view = scene.New(a.of.kind, a.of.seed).View(o)
		d := slices.Clone(s.view.Depth().Pix)
		slices.Sort(d)
		s.near, s.far = float64(d[len(d)/200]), float64(d[len(d)-1-len(d)/200])
	}
	s.act = e.act
	shot := e.shot
	shot.ShiftX *= s.size
	shot.ShiftY *= s.size
	shot.MotionPX *= s.size
	// Even steps of the ring are even steps of blur, that is of one over the distance.
	shot.FocusMM = 1 / ((1-e.focus)/s.near + e.focus/s.far)
	if math.IsInf(shot.FocusMM, 0) || shot.FocusMM < 1.5*focalMM {
		panic("demo: a focus place of the recipe is out of reach")
	}
	return s.view.JPEG(shot, quality)
}

func sameView(a, b act) bool {
	return a.of == b.of && a.light.ambient == b.light.ambient && slices.Equal(a.light.scene(), b.light.scene())
}

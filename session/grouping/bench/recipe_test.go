package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/plane"
)

// made is a session with its truth.
type made struct {
	Seed   uint64
	Frames []session.Frame
	Truth  []truth // by frame
}

// truth is what a frame is, the number of its group, and what was going on.
type truth struct {
	Kind  session.Kind
	Group int
	Note  string
}

// stage is something to photograph, and the camera before it.
type stage interface {
	// compose puts another subject there, or frames the same one anew, and lights it.
	compose(r *rand.Rand, upright bool)
	// relight moves the lamp so that one can see it.
	relight(r *rand.Rand)
	// middle is where the focus lies on what is near the middle of the frame.
	middle(r *rand.Rand) float64
	shoot(r *rand.Rand, s shot) *plane.RGB
}

// shot is how one frame is taken.
type shot struct {
	n            float64 // f-number
	focus        float64 // 0 on the nearest part of the subject, 1 on the farthest
	stops        float64 // exposure against the right one
	dx, dy, turn float64 // how the camera shook: pixels, radians
	before       int     // what is held before the lens; -1 nothing
}

// maker shoots a made-up session.
type maker struct {
	r       *rand.Rand
	m       *made
	stage   stage
	clock   time.Time
	pace    float64
	counter int
	folder  int  // number of the folder that the camera writes to
	folders bool // a new folder is begun in the midst of the session
	group   int

	n         float64      // f-number of the stacks
	meta      session.Meta // of the stacks
	upright   bool
	ring      float64 // where the focus ring stands
	tried     float64 // exposure of the last test, stops
	fractions bool    // the clock writes fractions of a second
}

// newSession makes a session of frames frames or a few more.
func newSession(seed uint64, frames int, textures, hands []*plane.RGB) *made {
	k := &maker{r: rand.New(rand.NewPCG(seed, 7)), m: &made{Seed: seed}}
	r := k.r
	if seed/2%3 != 1 {
		k.stage = newRelief(r, textures, hands)
	} else {
		k.stage = newTabletop(r, hands)
	}
	k.clock = time.Date(2026, 3, 1+int(seed%28), 9+r.IntN(8), r.IntN(60), r.IntN(60), 0, time.UTC)
	k.pace = 1.5 + 5*r.Float64()
	k.counter, k.folder, k.folders = 1+r.IntN(9998), 100, r.IntN(5) == 0
	if r.IntN(6) == 0 { // about to go round
		k.counter = 9999 - r.IntN(30)
	}
	k.fractions = r.IntN(3) > 0
	k.n = []float64{5.6, 7.1, 8, 9, 10, 11, 13}[r.IntN(7)]
	shutter := []float64{1.0 / 60, 1.0 / 30, 1.0 / 15, 1.0 / 6, 0.5, 1}[r.IntN(6)]
	f, iso, focal := k.n, 100, 100.0
	k.meta = session.Meta{Container: "jpeg", Make: "Ardent", Model: "Ardent M2", FNumber: &f, ShutterSeconds: &shutter, ISO: &iso, FocalLengthMM: &focal}
	if r.IntN(8) == 0 {
		k.meta.FNumber = nil // an old lens that tells the camera nothing
	}
	style := r.IntN(4) // 0, 1: a marker before every stack; 2: before and after; 3: hardly any
	k.stage.compose(r, false)
	for len(k.m.Frames) < frames {
		k.chapter(style)
		if k.folders && len(k.m.Frames) > frames/2 {
			k.folder = 101
		}
	}
	if r.IntN(4) == 0 { // nothing comes after it
		k.wait(20)
		k.marker()
	}
	return k.m
}

func (k *maker) compose() { k.stage.compose(k.r, k.upright) }

func (k *maker) relight() { k.stage.relight(k.r) }

// shot is a frame of the stacks focused there.
func (k *maker) shot(focus float64) shot { return shot{n: k.n, focus: focus, before: -1} }

// chapter is one composition from its tests to its singles.
func (k *maker) chapter(style int) {
	r := k.r
	up := r.IntN(5) == 0
	if len(k.m.Frames) > 0 {
		switch r.IntN(8) {
		case 0, 1: // the same framing, lit otherwise
			k.relight()
			k.wait(20 + 120*r.Float64())
		case 2: // everything once more
			k.wait(60 + 240*r.Float64())
			if style < 3 {
				k.marker()
			}
			k.stack(false)
			return
		case 3: // in haste
			k.upright = up
			k.compose()
			k.wait(3 + 4*r.Float64())
		default:
			k.upright = up
			k.compose()
			k.wait(15 + 200*r.Float64()*r.Float64())
		}
	}
	tests := 0
	if r.IntN(2) == 0 {
		tests = 1 + r.IntN(3)
	}
	for i := range tests {
		k.test(i == tests-1, style < 3)
	}
	if style < 3 || r.IntN(4) == 0 {
		k.marker()
		switch r.IntN(10) {
		case 0:
			k.marker()
		case 1: // the lamp is put right behind the hand
			k.relight()
			k.wait(10)
		}
	} else if tests > 0 {
		k.wait(25 + 60*r.Float64())
	}
	k.stack(true)
	if style == 2 {
		k.marker()
	}
	for r.IntN(3) == 0 {
		k.single()
	}
}

// test tries something before the stack of the same framing. The last one finds the
// light and the exposure that the stack is shot with.
func (k *maker) test(last, marked bool) {
	r := k.r
	k.group++
	meta, v, note := k.meta, k.shot(0.2+0.6*r.Float64()), "test: as the stack"
	what := r.IntN(3)
	switch {
	case last && (!marked || r.IntN(3) > 0), what == 1 && meta.FNumber == nil:
		what = 2
	case last:
		what = 3
	}
	switch what {
	case 0:
		steps := []float64{-2, -1.33, -1, 1, 1.33}[r.IntN(5)]
		if steps == k.tried {
			steps = -steps / 2
		}
		k.tried = steps
		s := *meta.ShutterSeconds * math.Exp2(steps)
		meta.ShutterSeconds, v.stops, note = &s, steps, "test: exposure"
	case 1: // at the same exposure
		v.n *= []float64{0.5, 0.71, 1.41}[r.IntN(3)]
		f, s := v.n, *meta.ShutterSeconds*(v.n/k.n)*(v.n/k.n)
		meta.FNumber, meta.ShutterSeconds, note = &f, &s, "test: aperture"
	case 2:
		note = "test: light"
	}
	k.shoot(v, meta, session.KindTest, note)
	k.wait(4 + 15*r.Float64())
	if what == 2 {
		k.relight()
		k.wait(10 * r.Float64())
	}
}

func (k *maker) marker() {
	k.group++
	thing := k.r.IntN(things)
	v := k.shot(k.ring) // the hands are at the lens, not at the ring
	v.before = thing
	k.shoot(v, k.meta, session.KindMarker, "marker: "+thingNames[thing])
	k.wait(k.pace * (0.5 + k.r.Float64()))
}

// stack turns the ring from one end to the other; with mishaps where they may happen.
func (k *maker) stack(mishaps bool) {
	r := k.r
	k.group++
	n := 5 + r.IntN(22)
	from, to := -0.08, 1+0.15*r.Float64()
	if r.IntN(6) == 0 { // far beyond the subject: nothing is sharp in the last frame
		to = 1.8
	}
	if r.IntN(3) == 0 {
		from, to = to, from
	}
	away, again, flawed := -1, -1, -1
	if r.IntN(4) == 0 {
		away = 1 + r.IntN(n-1) // the photographer is called away
	}
	if r.IntN(5) == 0 {
		again = 1 + r.IntN(n-1) // shot again at once
	}
	if r.IntN(8) == 0 {
		flawed = r.IntN(n) // shot again at the end
	}
	if !mishaps {
		away, again, flawed = -1, -1, -1
	}
	series := 1
	note := "stack"
	automatic := false
	switch r.IntN(12) {
	case 0:
		series, note = 3, "stack: exposure series" // the camera brackets at each step
		n = 4 + r.IntN(5)
		away, again, flawed = -1, -1, -1
	case 1:
		automatic, note = true, "stack: focused by the camera"
	case 2:
		series, note = 2, "stack: pairs"
		n = 4 + r.IntN(6)
		away, again, flawed = -1, -1, -1
	}
	take := func(i int, why string) {
		v, meta := k.shot(from+(to-from)*(float64(i)+0.25*(r.Float64()-0.5))/float64(n-1)), k.meta
		if automatic {
			shot := i + 1
			meta.BracketShot = &shot
		}
		for e := range series {
			w, mm := v, meta
			if series == 3 {
				steps := []float64{0, -1.67, 1.67}[e]
				s := *meta.ShutterSeconds * math.Exp2(steps)
				mm.ShutterSeconds = &s
				w.stops += steps
			}
			k.shoot(w, mm, session.KindStack, why)
			if series > 1 && e < series-1 {
				k.wait(0.3 + 0.3*r.Float64())
			}
		}
		if automatic {
			k.wait(0.4)
		} else {
			k.wait(k.pace * math.Exp(0.35*r.NormFloat64()))
		}
	}
	for i := range n {
		if i == away {
			k.wait(60 + 400*r.Float64())
		}
		take(i, note)
		if i == again {
			take(i, "stack: again at once")
		}
	}
	if flawed >= 0 {
		k.wait(5 + 20*r.Float64())
		take(flawed, "stack: again at the end")
	}
	if automatic { // no hand is at the lens as fast as the camera takes the next
		k.wait(k.pace)
	}
}

// single is a frame on its own: at a wide aperture, upright, of something else, out of
// focus, a few at one press of the button, or a pair by the self-timer.
func (k *maker) single() {
	r := k.r
	k.wait(8 + 40*r.Float64())
	k.group++
	meta, v := k.meta, k.shot(0)
	wide := func() {
		if meta.FNumber == nil {
			return
		}
		v.n = []float64{2.8, 3.5, 4}[r.IntN(3)]
		f, s := v.n, *meta.ShutterSeconds*(v.n/k.n)*(v.n/k.n)
		meta.FNumber, meta.ShutterSeconds = &f, &s
	}
	what := r.IntN(6)
	if meta.FNumber == nil && what == 0 {
		what = 1
	}
	if what > 0 {
		if what == 3 {
			k.upright = !k.upright
		}
		k.compose()
		k.wait(20)
	}
	v.focus = k.stage.middle(r)
	switch what {
	case 0:
		wide()
		k.shoot(v, meta, session.KindSingle, "single: wide open")
	case 1:
		k.shoot(v, meta, session.KindSingle, "single: another framing")
	case 2:
		wide()
		k.shoot(v, meta, session.KindSingle, "single: wide open, of another framing")
	case 3:
		for range 1 + 3*r.IntN(2) {
			k.shoot(v, meta, session.KindSingle, "single: turned, perhaps a burst")
			k.wait(0.2)
		}
	case 4:
		v.focus += []float64{-0.6, -0.4, 0.5, 0.8}[r.IntN(4)]
		wide()
		k.shoot(v, meta, session.KindSingle, "single: another framing, out of focus")
	case 5:
		for range 2 {
			k.shoot(v, meta, session.KindSingle, "single: a pair by the self-timer")
			k.wait(2)
		}
	}
	k.compose()
}

func (k *maker) wait(seconds float64) {
	k.clock = k.clock.Add(time.Duration(seconds * 1e9))
}

// shoot takes a frame and notes what it is.
func (k *maker) shoot(v shot, meta session.Meta, kind session.Kind, note string) {
	r := k.r
	k.ring = v.focus
	v.stops += 0.03 * r.NormFloat64() // lamps flicker a little
	v.dx, v.dy, v.turn = 0.8*r.NormFloat64(), 0.8*r.NormFloat64(), 0.0015*r.NormFloat64()
	pic := k.stage.shoot(r, v)
	// Through a JPEG, as a camera writes it.
	if data, err := plane.EncodeJPEG(pic, 88, true); err == nil {
		if back, err := plane.DecodeJPEG(data, frameW); err == nil {
			pic = back
		}
	}
	w, h, o := frameW*16, frameH*16, 1
	if k.upright {
		o = 6
	}
	meta.Width, meta.Height, meta.Orientation = &w, &h, &o
	meta.Taken = k.clock
	if !k.fractions {
		meta.Taken = k.clock.Truncate(time.Second)
	}
	k.clock = k.clock.Add(time.Duration(*meta.ShutterSeconds * 1e9))
	k.counter = k.counter%9999 + 1
	k.m.Frames = append(k.m.Frames, session.Frame{
		Name: fmt.Sprintf("%dARDNT/A%04d.JPG", k.folder, k.counter), Fingerprint: fmt.Sprintf("%d-%d", k.m.Seed, len(k.m.Frames)),
		Meta: meta, Figures: figures.Measure(pic),
	})
	k.m.Truth = append(k.m.Truth, truth{kind, k.group, note})
}

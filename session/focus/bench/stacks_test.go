// Package bench judges the verdict on made-up stacks: textures of several kinds, reliefs of
// several shapes, steps of 0.4 to 3 depths of field, noise as at ISO 100 to 3200, and each fault
// with and without. Truth comes from the relief's own depth and the thin lens, never from
// what is judged. Even seeds are for tuning, odd ones are reported.
package bench

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"stillbench/session"
	"stillbench/session/focus"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// Size of the pictures. The circle of confusion is 1.23 pixels.
const width, height = 1536, 1024

var circle = math.Hypot(width, height) / 1500

// truth of a stack.
type truth struct {
	gaps              map[[2]int]bool // pairs of frame numbers that a gap lies between
	nearOpen, farOpen bool
	blurred           int // frame, or -1
	smear             float64
	light             bool
	rank              []float64 // place of each frame, in circles
	moves             []plane.Similarity
}

// stack is one case.
type stack struct {
	seed   uint64
	kind   relief.Kind
	shape  string
	fault  string
	iso    float64
	step   float64 // in circles of confusion
	frames []focus.Frame
	truth  truth
}

func (s *stack) String() string {
	return fmt.Sprintf("seed %d %s %s, %d frames, step %.2f depths of field, ISO %.0f, fault %q", s.seed, s.kind, s.shape, len(s.frames), s.step/2, s.iso, s.fault)
}

var faults = []string{"", "", "gap", "gap", "near-open", "far-open", "blurred", "light", "shuffled", "coarse"}

// shapes of reliefs over a unit depth: each fills 0..1.
var shapes = map[string]func(x, y float64) float64{
	"slope": func(x, y float64) float64 { return 1 - y },
	"dome":  func(x, y float64) float64 { return 2.2 * (sq(x-0.5) + sq(y-0.5)) },
	"waves": func(x, y float64) float64 {
		return 0.5 + 0.25*math.Sin(5*x+1) + 0.25*math.Cos(4*y+2*x)
	},
	"block": func(x, y float64) float64 { // a slope before a background far behind
		if y < 0.35 {
			return 4
		}
		return (1 - y) / 0.65
	},
}

var shapeNames = []string{"slope", "dome", "waves", "block"}

func sq(x float64) float64 { return x * x }

var (
	subjectsMu sync.Mutex
	subjects   = map[string]*relief.Subject{}
)

// subject makes a relief of the given depth in circles.
func subject(kind relief.Kind, shape string, depth float64, seed uint64) *relief.Subject {
	key := fmt.Sprint(kind, shape, depth, seed)
	subjectsMu.Lock()
	defer subjectsMu.Unlock()
	if s := subjects[key]; s != nil {
		return s
	}
	clear(subjects) // one at a time: each takes 100 MB
	at := shapes[shape]
	s := relief.New(kind, width, height, seed, func(x, y float64) float64 { return depth * circle * at(x, y) })
	subjects[key] = s
	return s
}

// recipe makes the case of a seed.
func recipe(seed uint64) *stack {
	r := rand.New(rand.NewPCG(seed, 0xbe7c4))
	s := &stack{
		seed: seed, kind: relief.Kinds[r.IntN(len(relief.Kinds))], shape: shapeNames[r.IntN(len(shapeNames))],
		fault: faults[int(seed/2)%len(faults)], iso: 100 * math.Exp2(float64(r.IntN(6))),
	}
	n := 5 + r.IntN(12)
	s.step = 2 * (0.4 + 0.9*r.Float64()) // of the sound part: 0.4 to 1.3 depths of field
	if s.fault == "coarse" {
		s.step = 2 * (1.65 + 1.35*r.Float64())
		n = 5 + r.IntN(4)
	}
	place := make([]float64, n) // in circles
	for i := 1; i < n; i++ {
		place[i] = place[i-1] + s.step*(0.9+0.2*r.Float64())
	}
	if s.fault == "gap" {
		k := 1 + r.IntN(n-1)
		wide := 3.5 + 3*r.Float64()
		for i := n - 1; i >= k; i-- {
			place[i] += wide - s.step
		}
	}
	// The subject lies within the frames, or reaches past an end.
	lo, hi := place[0]-0.5+r.Float64()*0.9, place[n-1]+0.5-r.Float64()*0.9
	if s.fault == "near-open" {
		lo = place[0] - 3 - 4*r.Float64()
	}
	if s.fault == "far-open" {
		hi = place[n-1] + 3 + 4*r.Float64()
	}
	depth := hi - lo
	for i := range place {
		place[i] -= lo
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	switch {
	case s.fault == "shuffled":
		k := r.IntN(n)
		order = append(append(append([]int{}, order[:k]...), order[k+1:]...), k) // one shot last
	case r.IntN(4) == 0:
		for i := range order {
			order[i] = n - 1 - i
		}
	}
	wobble := []float64{0, 0.5, 2, 8}[r.IntN(4)]
	breathing := []float64{0.0006, 0.0015}[r.IntN(2)]
	spoilt := -1
	s.truth.blurred = -1
	subj := subject(s.kind, s.shape, depth, seed)
	for i, k := range order {
		shot := relief.Shot{
			Place: place[k] * circle, Noise: relief.ISO(s.iso), Seed: seed*1000 + uint64(i),
			// Focused nearer, the sensor stands farther off and the picture is larger.
			Move: plane.Similarity{Scale: 1 - breathing*(place[k]-place[n/2]), DX: wobble * r.NormFloat64(), DY: wobble * r.NormFloat64(), Turn: 0.0002 * wobble * r.NormFloat64()},
		}
		switch s.fault {
		case "blurred":
			if spoilt < 0 {
				spoilt = r.IntN(n)
			}
			if i == spoilt {
				s.truth.blurred, s.truth.smear = i, 2+6*r.Float64()
				shot.SmearPX, shot.SmearDeg = s.truth.smear, 180*r.Float64()
			}
		case "light":
			if spoilt < 0 {
				spoilt = r.IntN(n)
			}
			if i == spoilt {
				s.truth.light = true
				shot.EV = 0.25 + 0.5*r.Float64()
				if r.IntN(2) == 0 {
					shot.EV = -shot.EV
				}
			}
		}
		s.truth.rank = append(s.truth.rank, place[k])
		s.truth.moves = append(s.truth.moves, shot.Move)
		s.frames = append(s.frames, focus.Frame{Fingerprint: fmt.Sprint(i), Picture: through(subj.Shoot(shot)), Meta: session.Meta{}})
	}
	s.judge(subj, place, order)
	return s
}

// through writes and reads a picture as a camera's JPEG.
func through(p *plane.RGB) *plane.RGB {
	data, err := plane.EncodeJPEG(p, 93, true)
	if err != nil {
		panic(err)
	}
	p, err = plane.DecodeJPEG(data, 0)
	if err != nil {
		panic(err)
	}
	return p
}

// judge works out what is true of a stack, from the depth of every pixel. A part is worth
// having from 1 % of the picture; a gap holds something from 0.2 %.
func (s *stack) judge(subj *relief.Subject, place []float64, order []int) {
	s.truth.gaps = map[[2]int]bool{}
	number := make([]int, len(place))
	for i, k := range order {
		number[k] = i
	}
	n := len(place)
	in := make([]int, n)
	near, far, deep := 0, 0, 0
	for _, v := range subj.Place.Pix {
		z := float64(v) / circle
		if z > place[n-1]+20 { // a background that nobody wants sharp
			deep++
			continue
		}
		if z < place[0]-1 {
			near++
		}
		if z > place[n-1]+1 {
			far++
		}
		for k := 1; k < n; k++ {
			if z-place[k-1] > 1.5 && place[k]-z > 1.5 {
				in[k]++
			}
		}
	}
	total := len(subj.Place.Pix)
	for k := 1; k < n; k++ {
		if float64(in[k]) > 0.002*float64(total) {
			s.truth.gaps[[2]int{min(number[k-1], number[k]), max(number[k-1], number[k])}] = true
		}
	}
	s.truth.nearOpen = float64(near) > 0.01*float64(total)
	s.truth.farOpen = float64(far) > 0.01*float64(total)
}

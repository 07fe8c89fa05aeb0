package relief

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"stillbench/session/plane"
)

// stackW x stackH is the size of the pictures. What shows in them is as in the middle of pictures
// 1536 pixels wide, whose circle of confusion, 1.23 pixels, they have.
const (
	stackW, stackH = 960, 640
	circle         = 1.23
)

// CircleOfConfusion of the stacks, as a part of their pictures' diagonal.
var CircleOfConfusion = circle / math.Hypot(stackW, stackH)

// Truth is what is true of a stack, from the relief's own depth.
type Truth struct {
	// Gaps are pairs of frames, by index, lesser first, that a gap lies between. Unclear are those
	// whose step is within 15 % of where a gap begins, and those about a depth that a blurred frame
	// was to hold: neither answer about them is wrong.
	Gaps, Unclear     map[[2]int]bool
	NearOpen, FarOpen bool
	// NearUnclear and FarUnclear: a blurred frame is the end one, or what lies past it is within 15 % of where it begins to be lost.
	NearUnclear, FarUnclear bool
	Blurred                 int       // index of the frame blurred by movement, or -1
	BlurPX                  float64   // length of its smear, or diameter of its shake
	Light                   bool      // the light of a frame or more differs
	Moved                   int       // index of the frame from which on a part lies elsewhere, or -1
	MovedBack               bool      // it does so in that frame alone
	MovedPX                 float64   // by how much
	Places                  []float64 // of the frames, in circles of confusion
	Moves                   []plane.Similarity
}

// Stack is a made-up stack, in the order of time.
type Stack struct {
	Seed     uint64
	Kind     Kind
	Shape    string
	Fault    string // "" for none
	Dark     bool   // as MakeTable says
	ISO      float64
	Step     float64 // of its sound part, in circles of confusion
	Wobble   float64 // pixels
	Pictures []*plane.RGB
	Truth    Truth
}

func (s *Stack) String() string {
	return fmt.Sprintf("seed %d %s %s, %d frames, step %.2f depths of field, ISO %.0f, wobble %.1f, fault %q",
		s.Seed, s.Kind, s.Shape, len(s.Pictures), s.Step/2, s.ISO, s.Wobble, s.Fault)
}

// Faults are what a stack can have, "" for none; Make goes through them seed by seed.
var Faults = []string{
	"", "gap", "near-open", "far-open", "smeared", "light",
	"", "gap", "near-open", "far-open", "shaken", "white",
	"", "coarse", "near-open", "far-open", "again", "drift",
	"", "shuffled", "smeared", "moved",
}

// shapes of reliefs over a unit depth: each fills 0..1.
var shapes = map[string]func(x, y float64) float64{
	"slope": func(x, y float64) float64 { return 1 - y },
	"dome":  func(x, y float64) float64 { return 2 * (sq(x-0.5) + sq(y-0.5)) },
	"waves": func(x, y float64) float64 {
		return 0.5 + 0.25*math.Sin(5*x+1) + 0.25*math.Cos(4*y+2*x)
	},
	"block": func(x, y float64) float64 { // a slope before a background far behind
		if y < 0.35 {
			return math.Inf(1)
		}
		return (1 - y) / 0.65
	},
}

// background is how far behind the subject, in circles, lies what nobody wants sharp.
const background = 25

var shapeNames = []string{"slope", "dome", "waves", "block"}

func sq(x float64) float64 { return x * x }

var (
	subjectsMu sync.Mutex
	subjects   = map[string]*Subject{}
)

// subject makes a relief of the given depth in circles.
func subject(kind Kind, shape string, depth float64, seed uint64) *Subject {
	key := fmt.Sprint(kind, shape, depth, seed)
	subjectsMu.Lock()
	defer subjectsMu.Unlock()
	if s := subjects[key]; s != nil {
		return s
	}
	clear(subjects) // one at a time: each takes 100 MB
	at := shapes[shape]
	s := New(kind, stackW, stackH, seed, func(x, y float64) float64 {
		return circle * min(depth*at(x, y), depth+background)
	})
	subjects[key] = s
	return s
}

// Make makes the stack of a seed: everything about it is drawn from the seed. As many seeds in
// a row as there are Faults hold every one of them.
func Make(seed uint64) *Stack {
	r := rand.New(rand.NewPCG(seed, 0xbe7c4))
	s := &Stack{
		Seed: seed, Kind: Kinds[r.IntN(len(Kinds))], Shape: shapeNames[r.IntN(len(shapeNames))],
		Fault: Faults[int(seed)%len(Faults)], ISO: 100 * math.Exp2(float64(r.IntN(6))),
	}
	n := 5 + r.IntN(12)
	if r.IntN(12) == 0 { // a deep one
		n = 20 + r.IntN(41)
	}
	s.Step = 2 * (0.4 + 0.9*r.Float64()) // of the sound part: 0.4 to 1.3 depths of field
	if n >= 20 {
		// No deeper than that, or a slope of so few pixels is too steep for anything to be sharp on it.
		s.Step = min(s.Step, 60/float64(n))
	}
	if s.Fault == "coarse" {
		s.Step = 2 * (1.65 + 1.35*r.Float64())
		n = 5 + r.IntN(4)
	}
	place := make([]float64, n) // in circles
	for i := 1; i < n; i++ {
		place[i] = place[i-1] + s.Step*(0.9+0.2*r.Float64())
	}
	if s.Fault == "gap" {
		k := 1 + r.IntN(n-1)
		wide := 3.5 + 3*r.Float64()
		for i := n - 1; i >= k; i-- {
			place[i] += wide - s.Step
		}
	}
	// The subject lies within the frames, or reaches past an end.
	lo, hi := place[0]-0.5+r.Float64()*0.9, place[n-1]+0.5-r.Float64()*0.9
	if s.Fault == "near-open" {
		lo = place[0] - 3 - 4*r.Float64()
	}
	if s.Fault == "far-open" {
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
	case s.Fault == "shuffled":
		k := r.IntN(n)
		order = append(append(append([]int{}, order[:k]...), order[k+1:]...), k) // one shot last
	case r.IntN(4) == 0:
		for i := range order {
			order[i] = n - 1 - i
		}
	}
	spoilt := r.IntN(n)
	s.Truth.Blurred, s.Truth.Moved = -1, -1
	if s.Fault == "again" { // blurred, and shot once more at the same place
		order = slices.Insert(order, spoilt+1, order[spoilt])
	}
	s.Wobble = []float64{0, 0.5, 2, 8}[r.IntN(4)]
	breathing := []float64{0.0006, 0.0015}[r.IntN(2)]
	subj := subject(s.Kind, s.Shape, depth, seed)
	change := s.spoil(r, subj, place, order, spoilt)
	for i, k := range order {
		shot := Shot{
			Place: place[k] * circle, Noise: ISO(s.ISO), Camera: true, Seed: seed*1000 + uint64(i),
			// Focused nearer, the sensor stands farther off and the picture is larger.
			Move:  plane.Similarity{Scale: 1 - breathing*(place[k]-place[n/2]), DX: s.Wobble * r.NormFloat64(), DY: s.Wobble * r.NormFloat64(), Turn: 0.0002 * s.Wobble * r.NormFloat64()},
			Gleam: r.Float64(),
		}
		if change != nil {
			change(i, &shot)
		}
		s.Truth.Places = append(s.Truth.Places, place[k])
		s.Truth.Moves = append(s.Truth.Moves, shot.Move)
		s.Pictures = append(s.Pictures, through(subj.Shoot(shot)))
	}
	s.judge(subj, place, order)
	return s
}

// spoil says what the fault does to the i-th shot, nil for nothing, and writes down what is true.
func (s *Stack) spoil(r *rand.Rand, subj *Subject, place []float64, order []int, spoilt int) func(i int, shot *Shot) {
	either := func(v float64) float64 {
		if r.IntN(2) == 0 {
			return -v
		}
		return v
	}
	only := func(do func(shot *Shot)) func(int, *Shot) {
		return func(i int, shot *Shot) {
			if i == spoilt {
				do(shot)
			}
		}
	}
	t := &s.Truth
	switch s.Fault {
	case "smeared", "again":
		t.Blurred, t.BlurPX = spoilt, 2+10*sq(r.Float64())
		deg := 180 * r.Float64()
		return only(func(shot *Shot) { shot.SmearPX, shot.SmearDeg = t.BlurPX, deg })
	case "shaken":
		t.Blurred, t.BlurPX = spoilt, 2.5+8*sq(r.Float64())
		return only(func(shot *Shot) { shot.ShakePX = t.BlurPX })
	case "light":
		t.Light = true
		ev := either(0.25 + 0.5*r.Float64())
		return only(func(shot *Shot) { shot.EV = ev })
	case "white":
		t.Light = true
		red, blue := either(0.15+0.25*r.Float64()), either(0.15+0.25*r.Float64())
		return only(func(shot *Shot) { shot.Red, shot.Blue = red, blue })
	case "drift": // from the first frame to the last
		t.Light = true
		ev := either(0.4 + 0.5*r.Float64())
		return func(i int, shot *Shot) { shot.EV = ev * (float64(i)/float64(len(order)-1) - 0.5) }
	case "moved":
		// A disc about a place that this frame and the one before it hold nearly sharp.
		t.Moved = 1 + r.IntN(len(order)-1)
		t.MovedBack = r.IntN(2) == 0
		t.MovedPX = 3 + 9*r.Float64()
		mid := (place[order[t.Moved]] + place[order[t.Moved-1]]) / 2
		patch := &Patch{Radius: 0.04 + 0.03*r.Float64()}
		for range 100000 {
			x, y := 0.1+0.8*r.Float64(), 0.1+0.8*r.Float64()
			if math.Abs(float64(subj.Place.Row(int(y * stackH))[int(x*stackW)])/circle-mid) < 0.8 {
				patch.X, patch.Y = x, y
				break
			}
		}
		if patch.X == 0 { // nothing stands there
			t.Moved = -1
			return nil
		}
		sin, cos := math.Sincos(2 * math.Pi * r.Float64())
		patch.DX, patch.DY = math.Round(t.MovedPX*cos), math.Round(t.MovedPX*sin)
		return func(i int, shot *Shot) {
			if i == t.Moved || i > t.Moved && !t.MovedBack {
				shot.Patch = patch
			}
		}
	}
	return nil
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

// Where a depth begins to be lost, in circles of confusion from the nearest frame, and the part of that within which neither answer is wrong: the
// same between two frames and past an end.
const (
	lostFrom = 1.5
	unclear  = 0.15
)

// judge works out what is true of a stack, from the depth of every pixel. A part is worth
// having from 1 % of the picture; a gap holds something from 0.2 %.
func (s *Stack) judge(subj *Subject, place []float64, order []int) {
	s.Truth.Gaps, s.Truth.Unclear = map[[2]int]bool{}, map[[2]int]bool{}
	number := make([]int, len(place)) // the last frame at a place: the good one
	for i, k := range order {
		number[k] = i
	}
	lost := -1 // place that no good frame is at
	if b := s.Truth.Blurred; b >= 0 && number[order[b]] == b {
		lost = order[b]
	}
	n := len(place)
	in := make([]int, n)
	var near, far [2]int // past an end: all that may count as lost, and what must
	for _, v := range subj.Place.Pix {
		z := float64(v) / circle
		if z > place[n-1]+background-10 || z < place[0]-background+10 {
			continue // what nobody wants sharp
		}
		for c, past := range [2]float64{lostFrom * (1 - unclear), lostFrom * (1 + unclear)} {
			if z < place[0]-past {
				near[c]++
			}
			if z > place[n-1]+past {
				far[c]++
			}
		}
		for k := 1; k < n; k++ {
			if z-place[k-1] > lostFrom && place[k]-z > lostFrom {
				in[k]++
			}
		}
	}
	total := len(subj.Place.Pix)
	pair := func(a, b int) [2]int { return [2]int{min(number[a], number[b]), max(number[a], number[b])} }
	for k := 1; k < n; k++ {
		if math.Abs((place[k]-place[k-1])/(2*lostFrom)-1) < unclear {
			s.Truth.Unclear[pair(k-1, k)] = true
		} else if float64(in[k]) > 0.002*float64(total) {
			s.Truth.Gaps[pair(k-1, k)] = true
		}
	}
	if lost > 0 {
		s.Truth.Unclear[pair(lost-1, lost)] = true
	}
	if lost >= 0 && lost < n-1 {
		s.Truth.Unclear[pair(lost, lost+1)] = true
	}
	if lost > 0 && lost < n-1 {
		s.Truth.Unclear[pair(lost-1, lost+1)] = true
	}
	end := func(past [2]int, spoilt bool) (open, either bool) {
		open = float64(past[1]) > 0.01*float64(total)
		return open, spoilt || !open && float64(past[0]) > 0.01*float64(total)
	}
	s.Truth.NearOpen, s.Truth.NearUnclear = end(near, lost == 0)
	s.Truth.FarOpen, s.Truth.FarUnclear = end(far, lost == n-1)
}

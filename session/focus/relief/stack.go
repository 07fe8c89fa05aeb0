package relief

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"stillbench/session/plane"
)

// stackW x stackH is the size of the pictures. The circle of confusion is 1.23 pixels.
const stackW, stackH = 1536, 1024

var circle = math.Hypot(stackW, stackH) / 1500

// Truth is what is true of a stack, from the relief's own depth.
type Truth struct {
	// Gaps are pairs of frames, by index, lesser first, that a gap lies between. Unclear are those
	// whose step is within 15 % of where a gap begins: neither answer about them is wrong.
	Gaps, Unclear     map[[2]int]bool
	NearOpen, FarOpen bool
	Blurred           int       // index of the smeared frame, or -1
	SmearPX           float64   // length of its smear
	Light             bool      // the light of one frame differs
	Places            []float64 // of the frames, in circles of confusion
	Moves             []plane.Similarity
}

// Stack is a made-up stack, in the order of time.
type Stack struct {
	Seed     uint64
	Kind     Kind
	Shape    string
	Fault    string // "" for none
	ISO      float64
	Step     float64 // of its sound part, in circles of confusion
	Pictures []*plane.RGB
	Truth    Truth
}

func (s *Stack) String() string {
	return fmt.Sprintf("seed %d %s %s, %d frames, step %.2f depths of field, ISO %.0f, fault %q", s.Seed, s.Kind, s.Shape, len(s.Pictures), s.Step/2, s.ISO, s.Fault)
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
	s := New(kind, stackW, stackH, seed, func(x, y float64) float64 { return depth * circle * at(x, y) })
	subjects[key] = s
	return s
}

// Make makes the stack of a seed: everything about it is drawn from the seed. Ten times two
// seeds in a row hold every fault.
func Make(seed uint64) *Stack {
	r := rand.New(rand.NewPCG(seed, 0xbe7c4))
	s := &Stack{
		Seed: seed, Kind: Kinds[r.IntN(len(Kinds))], Shape: shapeNames[r.IntN(len(shapeNames))],
		Fault: faults[int(seed/2)%len(faults)], ISO: 100 * math.Exp2(float64(r.IntN(6))),
	}
	n := 5 + r.IntN(12)
	s.Step = 2 * (0.4 + 0.9*r.Float64()) // of the sound part: 0.4 to 1.3 depths of field
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
	wobble := []float64{0, 0.5, 2, 8}[r.IntN(4)]
	breathing := []float64{0.0006, 0.0015}[r.IntN(2)]
	spoilt := -1
	s.Truth.Blurred = -1
	subj := subject(s.Kind, s.Shape, depth, seed)
	for i, k := range order {
		shot := Shot{
			Place: place[k] * circle, Noise: ISO(s.ISO), Seed: seed*1000 + uint64(i),
			// Focused nearer, the sensor stands farther off and the picture is larger.
			Move: plane.Similarity{Scale: 1 - breathing*(place[k]-place[n/2]), DX: wobble * r.NormFloat64(), DY: wobble * r.NormFloat64(), Turn: 0.0002 * wobble * r.NormFloat64()},
		}
		switch s.Fault {
		case "blurred":
			if spoilt < 0 {
				spoilt = r.IntN(n)
			}
			if i == spoilt {
				s.Truth.Blurred, s.Truth.SmearPX = i, 2+6*r.Float64()
				shot.SmearPX, shot.SmearDeg = s.Truth.SmearPX, 180*r.Float64()
			}
		case "light":
			if spoilt < 0 {
				spoilt = r.IntN(n)
			}
			if i == spoilt {
				s.Truth.Light = true
				shot.EV = 0.25 + 0.5*r.Float64()
				if r.IntN(2) == 0 {
					shot.EV = -shot.EV
				}
			}
		}
		s.Truth.Places = append(s.Truth.Places, place[k])
		s.Truth.Moves = append(s.Truth.Moves, shot.Move)
		s.Pictures = append(s.Pictures, through(subj.Shoot(shot)))
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
func (s *Stack) judge(subj *Subject, place []float64, order []int) {
	s.Truth.Gaps, s.Truth.Unclear = map[[2]int]bool{}, map[[2]int]bool{}
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
		pair := [2]int{min(number[k-1], number[k]), max(number[k-1], number[k])}
		if math.Abs((place[k]-place[k-1])/3-1) < 0.15 {
			s.Truth.Unclear[pair] = true
		} else if float64(in[k]) > 0.002*float64(total) {
			s.Truth.Gaps[pair] = true
		}
	}
	s.Truth.NearOpen = float64(near) > 0.01*float64(total)
	s.Truth.FarOpen = float64(far) > 0.01*float64(total)
}

// Package align finds how one frame lies on another: shifted, enlarged by focus
// breathing, turned a little. The two frames may be focused at different depths, so that
// they share sharp detail only in part.
//
// It starts from phase correlation (C. D. Kuglin and D. C. Hines, "The phase correlation
// image alignment method", 1975) and refines from coarse to fine by the forward additive
// maximisation of the correlation coefficient (G. D. Evangelidis and E. Z. Psarakis,
// "Parametric image alignment using enhanced correlation coefficient maximization", IEEE
// PAMI 30(10), 2008), constrained to a similarity. What it adds to the published method:
// both frames are compared after a band-pass and division by the local contrast, so that a
// part that one frame blurs still counts where its outlines are shared; parts without
// detail, and parts that move on their own, lose their weight.
//
// It says how sure it is, and refuses with an error rather than invent a movement.
package align

import (
	"errors"
	"math"

	"stillbench/session/plane"
)

// ErrNothingShared says that no similarity explains both frames: they show different
// things, one shows nothing, or they differ by more than is looked for.
var ErrNothingShared = errors.New("the frames share too little detail to be laid on each other")

// ErrSize says that the frames differ in shape.
var ErrSize = errors.New("the frames differ in size")

// Limits of what is looked for, and of what is believed.
const (
	maxScale = 0.16 // |ln scale|
	maxTurn  = 0.14 // radians, 8 degrees
	maxShift = 0.35 // of the long side

	minCorrelation = 0.28 // of the local-contrast planes at the finest level
	maxSigma       = 0.5  // pixels at working size
	minShared      = 0.01 // share of the picture whose detail both frames have
)

// finest is the long side of the finest level compared, coarsest of the coarsest.
const (
	finest   = 1024
	coarsest = 96
)

// Frame is what is kept of a picture to lay it on others.
type Frame struct {
	// W x H is the working size, which movements are given in.
	W, H   int
	levels []level // finest first
}

// level is a picture in units of its local contrast.
type level struct {
	flat   *plane.Plane // band-passed and divided by the local contrast
	weight *plane.Plane // 0..1: how much of the local contrast is detail and not noise
}

// Prepare makes a frame ready from its luma at working size (0..1, 64 pixels or more along
// either side to be of use).
func Prepare(luma *plane.Plane) *Frame {
	f := &Frame{W: luma.W, H: luma.H}
	w, h := luma.W, luma.H
	if long := max(w, h); long > finest {
		s := float64(finest) / float64(long)
		w, h = max(1, int(float64(w)*s+0.5)), max(1, int(float64(h)*s+0.5))
	}
	p := luma
	if w != luma.W || h != luma.H {
		p = plane.Reduce(nil, luma, w, h)
	}
	for {
		f.levels = append(f.levels, newLevel(p))
		w, h = p.W/2, p.H/2
		if max(w, h) < coarsest || min(w, h) < 24 {
			return f
		}
		p = plane.Reduce(nil, p, w, h)
	}
}

// Widths of the band that is compared, in pixels of a level, and of the neighbourhood that
// local contrast is taken over.
const (
	fineSigma   = 1.0
	coarseSigma = 5.0
	localSigma  = 7.0
)

func newLevel(p *plane.Plane) level {
	flat := plane.Blur(nil, p, fineSigma)
	noise := bandNoise(p)
	wide := plane.Blur(nil, flat, coarseSigma)
	power := plane.New(p.W, p.H)
	for i := range flat.Pix {
		v := flat.Pix[i] - wide.Pix[i]
		flat.Pix[i] = v
		power.Pix[i] = v * v
	}
	plane.Blur(power, power, localSigma)
	// Of white noise, the band keeps about 1/(4 pi fineSigma^2); below twice that, and
	// below half a code value, contrast is not detail.
	floor := float32(max(4*noise*noise/(4*math.Pi*fineSigma*fineSigma), 4e-6))
	for i, e := range power.Pix {
		e = max(e, 0)
		flat.Pix[i] /= float32(math.Sqrt(float64(e + floor)))
		// In units of local contrast the noise has the variance (1-s)/4; what two frames differ by
		// besides is about a tenth of their contrast, both of them together 0.02.
		s := e / (e + floor)
		power.Pix[i] = s * s * 0.02 / (0.02 + (1-s)/4)
	}
	return level{flat: flat, weight: power}
}

// bandNoise is the standard deviation of the pixel noise after J. Immerkær, "Fast noise
// variance estimation", 1996, from the quietest fifth of the picture's rows of 64 pixels.
func bandNoise(p *plane.Plane) float64 {
	const run = 64
	var means []float64
	for y := 2; y < p.H-2; y += 4 {
		a, b, c := p.Row(y-1), p.Row(y), p.Row(y+1)
		for x0 := 1; x0+run < p.W; x0 += run {
			sum := float32(0)
			for x := x0; x < x0+run; x++ {
				v := a[x-1] - 2*a[x] + a[x+1] - 2*(b[x-1]-2*b[x]+b[x+1]) + c[x-1] - 2*c[x] + c[x+1]
				if v < 0 {
					v = -v
				}
				sum += v
			}
			means = append(means, float64(sum)/run)
		}
	}
	return quantile(means, 0.2) * math.Sqrt(math.Pi/2) / 6
}

// Pair is how one frame lies on another.
type Pair struct {
	// Move takes a place in the reference to its place in the frame, in pixels of working
	// size.
	Move plane.Similarity
	// Sigma is the standard deviation of Move's error in pixels of working size, as root
	// mean square over the picture.
	Sigma float64
	// Correlation of the detail that both have, -1..1.
	Correlation float64
	// Shared is the share of the picture with detail in both, 0..1.
	Shared float64
}

// Measure lays frame on reference. start is a guess, or nil for none; it saves time and is
// not trusted. Errors: ErrSize, ErrNothingShared.
func Measure(reference, frame *Frame, start *plane.Similarity) (Pair, error) {
	if reference.W != frame.W || reference.H != frame.H {
		return Pair{}, ErrSize
	}
	var best Pair
	err := ErrNothingShared
	if start != nil {
		best, err = refine(reference, frame, *start)
	}
	if err != nil {
		if from, ok := phaseStart(reference, frame); ok {
			best, err = refine(reference, frame, from)
		}
	}
	if err != nil && start == nil {
		best, err = refine(reference, frame, plane.Identity)
	}
	return best, err
}

// refine follows a start from the coarsest level to the finest.
func refine(reference, frame *Frame, start plane.Similarity) (Pair, error) {
	move := start
	var last fit
	for k := len(reference.levels) - 1; k >= 0; k-- {
		ref, fr := &reference.levels[k], &frame.levels[k]
		ratio := float64(ref.flat.W) / float64(reference.W)
		s := move
		s.DX, s.DY = s.DX*ratio, s.DY*ratio
		var ok bool
		if last, ok = climb(ref, fr, s, k == 0); !ok {
			return Pair{}, ErrNothingShared
		}
		move = last.move
		move.DX, move.DY = move.DX/ratio, move.DY/ratio
		if math.Abs(math.Log(move.Scale)) > maxScale || math.Abs(move.Turn) > maxTurn ||
			math.Hypot(move.DX, move.DY) > maxShift*float64(max(reference.W, reference.H)) {
			return Pair{}, ErrNothingShared
		}
	}
	ratio := float64(reference.levels[0].flat.W) / float64(reference.W)
	p := Pair{Move: move, Sigma: last.sigma / ratio, Correlation: last.correlation, Shared: last.shared}
	if p.Sigma > maxSigma || p.Shared < minShared {
		return p, ErrNothingShared
	}
	if p.Correlation < minCorrelation && !(standsOut(&reference.levels[0], &frame.levels[0], last.move) >= minStandsOut) {
		return p, ErrNothingShared
	}
	return p, nil
}

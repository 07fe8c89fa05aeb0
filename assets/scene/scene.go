// Package scene makes pictures of tabletop subjects that never stood on a table: small
// things modelled in millimetres, lit by lamps with soft shadows, and photographed through
// a thin lens whose blur, breathing and noise follow the formulas. It is for the demo
// session and for tests and benches, where the truth (the sharp picture, the depth
// of every pixel, how each frame lies) must be known; no photograph of a user ever comes
// here.
//
// A Scene is geometry and surfaces. A View is a Scene framed and lit: the all-sharp
// picture in linear light and the depth behind each pixel. View.Shoot exposes one frame
// of it. Scenes and views depend on their options and seed alone.
//
// # Axes
//
// The table is the plane z = 0, in millimetres, z up. The camera looks at the table from the
// side of negative y; x is to its right. Light directions are those of the setup log:
// azimuth 0 at the camera, 90 to its right, 180 behind the subject; elevation 0 level, 90
// overhead.
//
// # Optics
//
// With focal length f, f-number N, the lens focused on a plane at distance z0 from it, and
// sensor distance v = f z0/(z0 - f), a point at distance z draws a disc of diameter
//
//	c = (f/N) v |1/z0 - 1/z|
//
// on the sensor. It follows from the thin-lens equation 1/f = 1/z + 1/v and similar triangles
// over the aperture f/N, and equals the blur disc f m x/(N (s±x)) of Wikipedia, "Depth of
// field". The size of the picture goes with v, which is what makes it breathe as the lens
// is focused: between two focus distances by the ratio of their v. The magnification is
// m = v/z0 - or f/(z0 - f).
package scene

import (
	"fmt"
	"math/rand/v2"
)

// Kind names a subject.
type Kind string

// The kinds of scene, by what their surfaces are good for.
const (
	Shell   Kind = "shell"   // a ribbed, coiled shell on sand: ribs over fine grain
	Cone    Kind = "cone"    // an open pine cone on slate: parts that hide each other
	Gears   Kind = "gears"   // a wheel train of brass and steel: glossy, hard edges
	Acorns  Kind = "acorns"  // acorns on a board: smooth with highlights, wood grain
	Bracts  Kind = "bracts"  // thin smooth leaves about a stem: little detail, translucent
	Fibres  Kind = "fibres"  // tufts of bristle on felt: hair-like
	Pebbles Kind = "pebbles" // pebbles on sand: coarse, random depth
)

// Kinds lists every kind.
var Kinds = []Kind{Shell, Cone, Gears, Acorns, Bracts, Fibres, Pebbles}

// Scene is a made-up tabletop: what it is and where its parts lie.
type Scene struct {
	Kind Kind
	Seed uint64
	// parts make the subject's surfaces at a given spacing of points, in millimetres.
	parts []part
	// ground is the table around it.
	ground ground
}

// part is something that can be divided into a net of points.
type part func(spacing float64) []*patch

// New makes a scene. The same kind and seed always make the same scene. It panics for a
// kind that is not in Kinds.
func New(kind Kind, seed uint64) *Scene {
	s := &Scene{Kind: kind, Seed: seed}
	r := rand.New(rand.NewPCG(seed, 0x7ab1e))
	switch kind {
	case Shell:
		s.shell(r)
	case Cone:
		s.cone(r)
	case Gears:
		s.gears(r)
	case Acorns:
		s.acorns(r)
	case Bracts:
		s.bracts(r)
	case Fibres:
		s.fibres(r)
	case Pebbles:
		s.pebbles(r)
	default:
		panic(fmt.Sprintf("scene: no kind %q", kind))
	}
	return s
}

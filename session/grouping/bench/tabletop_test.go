package bench

import (
	"math"
	"math/rand/v2"
	"slices"

	"stillbench/assets/scene"
	"stillbench/session/plane"
)

// tabletop is a stage of modelled subjects, photographed by package scene.
type tabletop struct {
	hands   []*plane.RGB
	scene   *scene.Scene
	options scene.ViewOptions
	iso     int
	view    *scene.View // nil when the scene was changed since; see look
	// near and far are the distances of the subject's ends from the lens.
	near, far float64
}

func newTabletop(r *rand.Rand, hands []*plane.RGB) *tabletop {
	return &tabletop{hands: hands, iso: []int{100, 200, 400, 1600}[r.IntN(4)]}
}

func (s *tabletop) compose(r *rand.Rand, upright bool) {
	if s.scene == nil || r.IntN(3) > 0 {
		s.scene = scene.New(scene.Kinds[r.IntN(len(scene.Kinds))], r.Uint64())
	}
	s.options = scene.ViewOptions{
		W: frameW, H: frameH,
		FieldMM:      28 + 50*r.Float64(),
		Target:       [3]float64{(r.Float64() - 0.5) * 16, (r.Float64() - 0.5) * 16, 4},
		ElevationDeg: 30 + 50*r.Float64(),
		YawDeg:       360 * r.Float64(),
		RollDeg:      (r.Float64() - 0.5) * 12,
		Ambient:      0.06 + 0.2*r.Float64(),
	}
	if upright {
		s.options.RollDeg += 90
	}
	s.relight(r)
}

// look makes the view, which is dear, when it is first needed.
func (s *tabletop) look() *scene.View {
	if s.view == nil {
		s.view = s.scene.View(s.options)
		depth := slices.Clone(s.view.Depth().Pix)
		slices.Sort(depth)
		s.near, s.far = float64(depth[len(depth)*2/100]), float64(depth[len(depth)*85/100])
	}
	return s.view
}

func (s *tabletop) relight(r *rand.Rand) {
	was := 0.0
	if len(s.options.Lights) > 0 {
		was = s.options.Lights[0].AzimuthDeg
	}
	s.options.Lights = []scene.Light{{
		AzimuthDeg:   math.Mod(was+70+220*r.Float64(), 360),
		ElevationDeg: 20 + 50*r.Float64(),
		SizeDeg:      3 + 18*r.Float64(), Power: 1, Colour: scene.Neutral,
	}}
	s.view = nil
}

func (s *tabletop) middle(r *rand.Rand) float64 {
	d := s.look().Depth()
	z := d.Pix[(frameH/2+r.IntN(60)-30)*frameW+frameW/2+r.IntN(80)-40]
	return (float64(z) - s.near) / (s.far - s.near)
}

func (s *tabletop) shoot(r *rand.Rand, t shot) *plane.RGB {
	view := s.look()
	out := scene.Shot{
		FNumber: t.n, FocusMM: s.near + t.focus*(s.far-s.near), EV: t.stops, ISO: s.iso,
		ShiftX: t.dx, ShiftY: t.dy, TurnDeg: t.turn * 180 / math.Pi, VignetteEV: 0.3, Seed: r.Uint64(),
	}
	if t.before >= 0 {
		o := &scene.Occluder{
			Thing: scene.Hand, Tone: r.Float64(), DistanceMM: 25 + 60*r.Float64(),
			FromDeg: 360 * r.Float64(), EV: -4.5 + 3.5*r.Float64(), Seed: r.Uint64(),
		}
		switch t.before {
		case darkHand:
			o.Tone = 0.8 + 0.2*r.Float64()
		case glove:
			o.Thing = scene.Glove
		case paper:
			o.Thing = []scene.Thing{scene.Card, scene.Paper}[r.IntN(2)]
		case lensCap:
			o.Thing = scene.Cap
		case wholePhoto:
			o.Picture = s.hands[r.IntN(len(s.hands))]
		}
		if t.before != lensCap && r.IntN(2) == 0 {
			o.Cover = 0.55 + 0.45*r.Float64()
		}
		if r.IntN(4) == 0 {
			o.MotionMM = 20 * r.Float64()
		}
		out.Before = o
		if o.Cover > 0 && past(view, out) > hidden {
			o.Cover = 1 // so near the lens it only dims, and is held farther in
		}
	}
	return view.Shoot(out)
}

// hidden is the share of the table's light that comes past a thing, in the mean over that half of the frame where the
// least does, under which it covers half of the frame, as a marker at least must.
const hidden = 0.1

// past is that share for the thing before a shot, told by a black one in its place.
func past(view *scene.View, shot scene.Shot) float64 {
	const seen = 0.05 // of white; darker places tell too little
	black := *shot.Before
	black.EV = -30
	shot.Before = nil
	all := view.Shoot(shot).Linear()[1].Pix
	shot.Before = &black
	left := view.Shoot(shot).Linear()[1].Pix
	var through []float64
	for i, g := range all {
		if g > seen {
			through = append(through, float64(left[i]/g))
		}
	}
	slices.Sort(through)
	through = through[:len(through)/2]
	sum := 0.0
	for _, v := range through {
		sum += v / float64(len(through))
	}
	return sum
}

package focus

import (
	"math"
	"slices"

	"stillbench/session"
)

const (
	lightStep = 0.12 // EV from the stack's own that a frame must not leave
	whiteStep = 0.10 // EV of red or blue against green
)

// tellLight compares every frame's light with the reference's, by channel.
func (s *Stack) tellLight(c *session.Check, a *analysis) {
	ref := s.frames[a.reference]
	mid := len(s.frames) / 2
	type reading struct {
		ev, red, blue float64
		ok            bool
	}
	read := make([]reading, len(s.frames))
	for i, f := range s.frames {
		if !a.aligned[i] {
			continue
		}
		back := a.moves[i].Inverse()
		ev, ok := f.light.against(ref.light, ref.w, ref.h, back.Apply)
		if ok {
			read[i] = reading{ev: 0.25*ev[0] + 0.6*ev[1] + 0.15*ev[2], red: ev[0] - ev[1], blue: ev[2] - ev[1], ok: true}
		}
	}
	var evs, reds, blues []float64
	for _, r := range read {
		if r.ok {
			evs, reds, blues = append(evs, r.ev), append(reds, r.red), append(blues, r.blue)
		}
	}
	if len(evs) < 2 {
		return
	}
	ev, red, blue := median(evs), median(reds), median(blues)
	for i, r := range read {
		if !r.ok {
			continue
		}
		c.Frames[i].BrightnessEV = r.ev - read[mid].ev
		if math.Abs(r.ev-ev) > lightStep || math.Abs(r.red-red) > whiteStep || math.Abs(r.blue-blue) > whiteStep {
			c.Frames[i].LightDiffers = true
			c.LightSteady = false
		}
	}
}

func median(v []float64) float64 {
	w := slices.Clone(v)
	slices.Sort(w)
	return w[len(w)/2]
}

// tellSettings finds frames whose aperture, shutter, sensitivity or focal length differ
// from most others'.
func (s *Stack) tellSettings(c *session.Check) {
	type settings struct{ n, t, iso, f float64 }
	of := func(m *session.Meta) settings {
		val := func(p *float64) float64 {
			if p == nil {
				return -1
			}
			return *p
		}
		k := settings{n: val(m.FNumber), t: val(m.ShutterSeconds), iso: -1, f: val(m.FocalLengthMM)}
		if m.ISO != nil {
			k.iso = float64(*m.ISO)
		}
		return k
	}
	counts := map[settings]int{}
	var common settings
	for _, f := range s.frames {
		k := of(&f.meta)
		if counts[k]++; counts[k] > counts[common] {
			common = k
		}
	}
	for i, f := range s.frames {
		if of(&f.meta) != common {
			c.Frames[i].SettingsDiffer = true
			c.SettingsSteady = false
		}
	}
}

// Movement during the exposure smears a frame along one direction, which defocus never
// does: what it takes from the detail along that direction, against the detail across it, is
// compared with the frames beside it in depth. A smear of length l leaves sinc^2(l f) of
// the energy at frequency f along it.
const (
	smearTiles  = 12  // tiles that must speak
	smearFrom   = 1.9 // full-size pixels
	smearLeast  = 0.5 // pixels at working size: shorter ones do not show
	smearSigmas = 4.0
)

// tellSmear looks for movement in every frame.
func (s *Stack) tellSmear(c *session.Check, a *analysis) {
	p := a.places
	n := p.ev.n
	if n < 2 {
		return
	}
	ref := s.frames[a.reference]
	const side = cell * tile
	cx, cy := float64(ref.w-1)/2, float64(ref.h-1)/2
	// Directional energies of a tile in a frame of `in`, in the frame's own band.
	read := func(t *tileEvidence, k, band int) (e [directions]float64, ok bool) {
		f := s.frames[a.in[k]]
		x, y := (float64(t.at%a.tw)+0.5)*side-0.5-cx, (float64(t.at/a.tw)+0.5)*side-0.5-cy
		u, v := a.moves[a.in[k]].Apply(x, y)
		u, v = u+cx+0.5, v+cy+0.5
		l, seen := f.detail.at(f.detail.luma, u, v)
		if !seen {
			return e, false
		}
		for d := range directions {
			m := bands + band*directions + d
			noise := s.floors.at(m, l)
			raw, _ := f.detail.at(f.detail.maps[m], u, v)
			e[d] = raw - noise
			if !(e[d] > 1.5*noise+leastFloor) {
				return e, false
			}
		}
		return e, true
	}
	for k := range n {
		var cos2, sin2 []float64
		r := p.rank[k]
		for q := range p.ev.tiles {
			t := &p.ev.tiles[q]
			if !t.fit.ok || math.Abs(t.fit.place-p.s[k]) > 2.5*a.circle {
				continue
			}
			own, ok := read(t, k, 0)
			if !ok {
				continue
			}
			var sc, ss, m float64
			for _, nb := range []int{r - 1, r + 1} {
				if nb < 0 || nb >= n {
					continue
				}
				o := p.order[nb]
				other, ok := read(t, o, 0)
				if !ok || math.Abs(p.s[o]-t.fit.place) > 5*a.circle {
					continue
				}
				sc += math.Log(own[0]/own[2]) - math.Log(other[0]/other[2])
				ss += math.Log(own[1]/own[3]) - math.Log(other[1]/other[3])
				m++
			}
			if m > 0 {
				cos2, sin2 = append(cos2, sc/m), append(sin2, ss/m)
			}
		}
		if len(cos2) < smearTiles {
			continue
		}
		mc, ms := median(cos2), median(sin2)
		spreadOf := func(v []float64, m float64) float64 {
			d := make([]float64, len(v))
			for i := range v {
				d[i] = math.Abs(v[i] - m)
			}
			return 1.4826 * median(d)
		}
		sd := math.Hypot(spreadOf(cos2, mc), spreadOf(sin2, ms)) / math.Sqrt(float64(len(cos2)))
		size := math.Hypot(mc, ms)
		f := &c.Frames[a.in[k]]
		length := smearLength(size)
		px := length * s.frames[a.in[k]].full
		if size > smearSigmas*sd && length > smearLeast && px > smearFrom {
			f.Blurred = true
			f.BlurPixels = px
			// Energy is lost along the smear.
			deg := math.Atan2(-ms, -mc) / 2 * 180 / math.Pi
			f.BlurDegrees = math.Mod(deg+180, 180)
		}
	}
}

// smearLength inverts what a smear does to ln of the ratio of the energies along and across
// it.
func smearLength(lnRatio float64) float64 {
	lo, hi := 0.0, 8.0
	for range 30 {
		mid := (lo + hi) / 2
		if smearRatio(mid) < lnRatio {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// smearRatio is -ln of the energy along over that across a smear of the given length, in
// the finest band for a common spectrum.
func smearRatio(length float64) float64 {
	var along, across float64
	const n = 24
	for j := range n {
		for i := range n {
			fx, fy := 0.5*(float64(i)+0.5)/n, 0.5*(float64(j)+0.5)/n
			f := math.Hypot(fx, fy)
			b := 1 - binomialTransfer(fx)*binomialTransfer(fy)
			e := sq(b*sinc(fx)*sinc(fy)) * math.Exp(-sq(2*math.Pi*softness*f)) / (f * f) * sq(sinc(length*fx))
			along += e * sq(2*math.Sin(2*math.Pi*fx))
			across += e * sq(2*math.Sin(2*math.Pi*fy))
		}
	}
	return math.Log(across / along)
}

package focus

import (
	"math"
	"slices"

	"stillbench/session"
	"stillbench/session/plane"
)

const (
	// EV from the stack's own that a frame must not leave: lightSigmas of the spread of the frames (B. Iglewicz and D. Hoaglin, as for
	// blurs), so that one that flickers is told among steady ones, and a flash that is never quite the same is not; no less than
	// lightLeast, since what is blurred otherwise seems to differ in light by up to 0.06, and no more than lightStep.
	lightStep   = 0.12
	lightSigmas = 4.5
	lightLeast  = 0.08
	whiteStep   = 0.10 // EV of red or blue against green
)

// lightReading is a frame's light against the reference's, in EV.
type lightReading struct {
	ev        float64
	rgb       [3]float64
	red, blue float64 // against green
	ok        bool
}

// readLight compares every frame's light with the reference's, by channel.
func (s *Stack) readLight(a *analysis) []lightReading {
	ref := s.frames[a.reference]
	read := make([]lightReading, len(s.frames))
	for i, f := range s.frames {
		if !a.aligned[i] {
			continue
		}
		back := a.moves[i].Inverse()
		if ev, ok := f.light.against(ref.light, ref.w, ref.h, back.Apply); ok {
			read[i] = lightReading{ev: 0.25*ev[0] + 0.6*ev[1] + 0.15*ev[2], rgb: ev, red: ev[0] - ev[1], blue: ev[2] - ev[1], ok: true}
		}
	}
	return read
}

// tellLight finds frames whose light differs from the stack's own: the median's.
func (s *Stack) tellLight(c *session.Check, a *analysis) {
	read := a.light
	mid := len(s.frames) / 2
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
	for i, v := range evs {
		evs[i] = math.Abs(v - ev)
	}
	most := min(max(lightSigmas*1.4826*median(evs), lightLeast), lightStep)
	for i, r := range read {
		if !r.ok {
			continue
		}
		c.Frames[i].BrightnessEV = r.ev - read[mid].ev
		for k := range r.rgb {
			c.Frames[i].ChannelEV[k] = r.rgb[k] - read[mid].rgb[k]
		}
		if math.Abs(r.ev-ev) > most || math.Abs(r.red-red) > whiteStep || math.Abs(r.blue-blue) > whiteStep {
			c.Frames[i].LightDiffers = true
			c.LightSteady = false
		}
	}
}

// median of some values, the upper of the two in the middle.
func median(v []float64) float64 { return plane.Kth(slices.Clone(v), len(v)/2) }

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

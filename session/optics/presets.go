package optics

import (
	"cmp"
	"slices"
)

// Seen is what a frame tells of the lens it was taken with; 0 is not known.
type Seen struct {
	Lens    string
	FocalMM float64
	FNumber float64
}

// Preset is a lens as frames have shown it.
type Preset struct {
	Lens string
	// FocalMM is the shortest and the longest focal length seen; 0 and 0 when none was.
	FocalMM [2]float64
	// WidestFNumber and NarrowestFNumber are the extremes that were used; the lens may
	// go farther. 0 when none was seen.
	WidestFNumber, NarrowestFNumber float64
	// Frames is how many frames showed it.
	Frames int
}

// Presets gathers the lenses that frames were taken with, the most used first, then by
// name. Frames without a lens name are left out.
func Presets(seen []Seen) []Preset {
	byName := map[string]*Preset{}
	for _, s := range seen {
		if s.Lens == "" {
			continue
		}
		p := byName[s.Lens]
		if p == nil {
			p = &Preset{Lens: s.Lens}
			byName[s.Lens] = p
		}
		p.Frames++
		widen(&p.FocalMM[0], &p.FocalMM[1], s.FocalMM)
		widen(&p.WidestFNumber, &p.NarrowestFNumber, s.FNumber)
	}
	out := make([]Preset, 0, len(byName))
	for _, p := range byName {
		out = append(out, *p)
	}
	slices.SortFunc(out, func(a, b Preset) int {
		return cmp.Or(cmp.Compare(b.Frames, a.Frames), cmp.Compare(a.Lens, b.Lens))
	})
	return out
}

// widen stretches a span, 0 and 0 when empty, so that it holds x.
func widen(low, high *float64, x float64) {
	if !positive(x) {
		return
	}
	if *high == 0 {
		*low, *high = x, x
	}
	*low, *high = min(*low, x), max(*high, x)
}

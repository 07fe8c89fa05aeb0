package optics

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// PlanInput is what a plan is made from. Nil is "not given".
type PlanInput struct {
	// SensorWidthMM and SensorHeightMM are needed; the longer side counts as the width.
	SensorWidthMM, SensorHeightMM *float64
	// FocalMM is needed only with DistanceMM.
	FocalMM *float64
	// Magnification, FieldWidthMM (what the long side of the sensor takes in) and
	// DistanceMM (sensor plane to subject): one is needed. More than one must agree.
	Magnification, FieldWidthMM, DistanceMM *float64
	// DepthMM, how deep the subject is, is needed.
	DepthMM *float64
	// FNumbers are the apertures to compare, as marked; empty means the third-stop series
	// between WidestFNumber and NarrowestFNumber, which are f/1 and f/32 when not given.
	FNumbers                        []float64
	WidestFNumber, NarrowestFNumber *float64
	// Pupil is the pupil magnification, by default 1.
	Pupil *float64
	// CoCMM is the circle of confusion, by default the sensor's diagonal / 1500.
	CoCMM *float64
	// WavelengthNM is by default DefaultWavelengthNM.
	WavelengthNM *float64
	// Overlap of neighbouring slices, by default 0.2: a reserve for a hand that does not
	// turn evenly. From 0 to 0.9.
	Overlap *float64
	// ShutterSeconds at ShutterFNumber is a known good exposure; both or neither.
	ShutterSeconds, ShutterFNumber *float64
	// ShutterMagnification is where it was measured (0 for a hand-held meter); nil means
	// through the lens as it stands, the bellows loss included.
	ShutterMagnification *float64
	// PixelsWide and PixelsHigh of the sensor.
	PixelsWide, PixelsHigh *int
	// FramesAtMost limits the stack.
	FramesAtMost *int
	// SettleSeconds to wait before each frame, by default 2, and TurnSeconds from one
	// focus position to the next, by default 4 (our own reckoning, to be replaced by the
	// pace of the photographer).
	SettleSeconds, TurnSeconds *float64
}

// The defaults of PlanInput.
const (
	DefaultOverlap       = 0.2
	DefaultSettleSeconds = 2
	DefaultTurnSeconds   = 4
)

// maxFrames is the largest stack that is planned.
const maxFrames = 9999

// Plan compares apertures for one subject.
type Plan struct {
	Magnification float64 `json:"magnification"`
	// FieldWidthMM and FieldHeightMM are what the sensor takes in of the subject.
	FieldWidthMM  float64 `json:"fieldWidthMM"`
	FieldHeightMM float64 `json:"fieldHeightMM"`
	// DistanceMM from the sensor to the subject through a thin lens; nil without a focal
	// length.
	DistanceMM *float64 `json:"distanceMM"`
	// CoCMM is the circle of confusion that was used.
	CoCMM float64   `json:"cocMM"`
	Rows  []PlanRow `json:"rows"`
	// Recommended is the f-number of the row that PlannedFrames frames blur least at.
	Recommended float64 `json:"recommended"`
	// Why says so in a sentence.
	Why string `json:"why"`
	// PlannedFrames is the fewest frames that keep the total blur within the circle of
	// confusion at the best aperture, or FramesAtMost where that is fewer.
	PlannedFrames int `json:"plannedFrames"`
	// PlannedStepMM is how far apart those frames are focused.
	PlannedStepMM float64 `json:"plannedStepMM"`
	// Limited: FramesAtMost is fewer than what the circle of confusion asks for.
	Limited bool `json:"limited"`
	// Note says what the arithmetic leaves out here; "" for nothing.
	Note string `json:"note"`
}

// PlanRow is one aperture.
type PlanRow struct {
	// FNumber as marked, and the effective one, N(1 + m/P).
	FNumber          float64 `json:"fNumber"`
	EffectiveFNumber float64 `json:"effectiveFNumber"`
	// DepthOfFieldMM is the total depth of field at the marked f-number, from defocus
	// alone; +Inf (null in JSON) from the hyperfocal distance on.
	DepthOfFieldMM float64 `json:"depthOfFieldMM"`
	// Frames is the number of slices of that depth that cover the subject when they are
	// laid with the overlap, StepMM apart.
	Frames int     `json:"frames"`
	StepMM float64 `json:"stepMM"`
	// WaveDepthMM is the quarter-wave depth, 4λ·Neff²/m².
	WaveDepthMM float64 `json:"waveDepthMM"`
	// AiryDiskUM is the diameter of the first dark ring at the effective f-number.
	AiryDiskUM float64 `json:"airyDiskUM"`
	// DefocusUM is the blur from defocus on the sensor at the edge of a slice when the
	// plan's PlannedFrames frames are shot at this aperture, and BlurUM that and the
	// Airy disk together, as the root of the sum of squares.
	DefocusUM float64 `json:"defocusUM"`
	BlurUM    float64 `json:"blurUM"`
	// BlurPixels is BlurUM in pixels; nil when the pixels are not known.
	BlurPixels *float64 `json:"blurPixels"`
	// ShutterSeconds exposes as the known exposure does; nil without one. Shutter is the
	// nearest third-stop time in words, "" without one.
	ShutterSeconds *float64 `json:"shutterSeconds"`
	Shutter        string   `json:"shutter"`
	// TotalSeconds is the time for Frames frames, PlannedSeconds for the plan's
	// PlannedFrames: shutter and settling for each, turning between them. Nil without a
	// known exposure.
	TotalSeconds   *float64 `json:"totalSeconds"`
	PlannedSeconds *float64 `json:"plannedSeconds"`
	// DiffractionLimited: the Airy disk alone is larger than the circle of confusion, so
	// that nothing is sharp to it at this aperture.
	DiffractionLimited bool `json:"diffractionLimited"`
}

// MarshalJSON writes null for lengths without end and for words that are not there.
func (r PlanRow) MarshalJSON() ([]byte, error) {
	type plain PlanRow
	return json.Marshal(struct {
		plain
		DepthOfFieldMM *float64 `json:"depthOfFieldMM"`
		StepMM         *float64 `json:"stepMM"`
		Shutter        *string  `json:"shutter"`
	}{plain(r), finite(r.DepthOfFieldMM), finite(r.StepMM), given(r.Shutter)})
}

// MarshalJSON writes null for a note that is not there.
func (p Plan) MarshalJSON() ([]byte, error) {
	type plain Plan
	return json.Marshal(struct {
		plain
		Note *string `json:"note"`
	}{plain(p), given(p.Note)})
}

func finite(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	return &x
}

func given(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// MakePlan compares the apertures and recommends one. When anything is wrong with the
// input it gives every complaint, and a zero Plan.
//
// The rule: a slice of the subject is sharp when defocus and diffraction together, as
// the root of the sum of their squares, stay within the circle of confusion. The plan
// takes the fewest frames with which any of the apertures can do that (or FramesAtMost,
// where that is fewer), spreads them evenly over the depth, and recommends the aperture
// at which that many frames blur least where they blur most, at the edges of the
// slices. That is where defocus and diffraction are nearly equal: wider, the frames lie
// too far apart for their depth of field; narrower, diffraction softens them all.
func MakePlan(in PlanInput) (Plan, []FieldError) {
	g, errs := check(in)
	if len(errs) > 0 {
		return Plan{}, errs
	}
	p := Plan{
		Magnification: g.m, CoCMM: g.coc,
		FieldWidthMM: FieldMM(g.width, g.m), FieldHeightMM: FieldMM(g.height, g.m),
	}
	if g.focal > 0 {
		p.DistanceMM = finite(SensorDistanceMM(g.focal, g.m))
	}
	for _, n := range g.fNumbers {
		p.Rows = append(p.Rows, g.row(n))
	}
	needed := g.framesNeeded(p.Rows)
	if needed > maxFrames && in.FramesAtMost == nil {
		var c checker
		c.complain(FieldDepth, "%s mm at this magnification takes %.0f frames; more than %d are not planned. Is the unit right? It is millimetres.",
			number(g.depth), needed, maxFrames)
		return Plan{}, c.errs
	}
	frames := math.Min(needed, float64(maxFrames))
	if in.FramesAtMost != nil && float64(*in.FramesAtMost) < needed {
		frames, p.Limited = float64(*in.FramesAtMost), true
	}
	p.PlannedFrames = int(frames)
	p.PlannedStepMM = SliceMM(g.depth, p.PlannedFrames, g.overlap) * (1 - g.overlap)
	best := 0
	for i := range p.Rows {
		g.finish(&p.Rows[i], p.PlannedFrames)
		if p.Rows[i].BlurUM < p.Rows[best].BlurUM {
			best = i
		}
	}
	p.Recommended = p.Rows[best].FNumber
	p.Why = why(p, best)
	if p.DistanceMM != nil && g.depth > *p.DistanceMM/5 {
		p.Note = "The subject is deep for its distance: the near frames need smaller steps than the far ones."
	}
	return p, nil
}

// row computes what does not depend on the number of frames planned.
func (g goal) row(n float64) PlanRow {
	s := Shot{FNumber: n, Magnification: g.m, Pupil: g.pupil, FocalMM: g.focal}
	d := s.DepthOfField(g.coc)
	r := PlanRow{
		FNumber: n, EffectiveFNumber: s.EffectiveFNumber(),
		DepthOfFieldMM: d.TotalMM, StepMM: d.TotalMM * (1 - g.overlap),
		WaveDepthMM: s.WaveDepthMM(g.wavelength),
		AiryDiskUM:  AiryDiskUM(g.wavelength, s.EffectiveFNumber()),
	}
	r.Frames = int(math.Min(FramesToCover(g.depth, d.TotalMM, g.overlap), math.MaxInt32))
	r.DiffractionLimited = r.AiryDiskUM > g.coc*1000
	if g.shutter > 0 {
		t := EquivalentShutter(g.shutter, g.shutterN, n)
		if g.shutterM != nil {
			t = ShutterAtMagnification(t, *g.shutterM, g.m, g.pupil)
		}
		r.ShutterSeconds, r.Shutter = &t, ShutterWords(NearestShutter(t))
		r.TotalSeconds = g.seconds(t, r.Frames)
	}
	return r
}

// finish computes what a number of frames makes of a row.
func (g goal) finish(r *PlanRow, frames int) {
	slice := SliceMM(g.depth, frames, g.overlap)
	r.DefocusUM = slice / 2 * g.m * g.m / r.EffectiveFNumber * 1000
	r.BlurUM = TotalBlurUM(r.DefocusUM, r.AiryDiskUM)
	if g.pitch > 0 {
		px := r.BlurUM / g.pitch
		r.BlurPixels = &px
	}
	if r.ShutterSeconds != nil {
		r.PlannedSeconds = g.seconds(*r.ShutterSeconds, frames)
	}
}

func (g goal) seconds(shutter float64, frames int) *float64 {
	n := float64(frames)
	t := n*(shutter+g.settle) + (n-1)*g.turn
	return &t
}

// framesNeeded is the fewest frames that keep the total blur within the circle of
// confusion at any of the apertures. Where diffraction forbids that at all of them, the
// goal becomes what the widest can do when defocus adds as much as diffraction.
func (g goal) framesNeeded(rows []PlanRow) float64 {
	coc, least := g.coc*1000, math.Inf(1)
	for _, r := range rows {
		least = math.Min(least, r.AiryDiskUM)
	}
	if least >= coc {
		coc = math.Sqrt2 * least
	}
	needed := math.Inf(1)
	for _, r := range rows {
		// The depth at whose edges defocus is what diffraction leaves of coc.
		slice := 2 * coc / 1000 * UsableShare(r.AiryDiskUM, coc/1000) * r.EffectiveFNumber / (g.m * g.m)
		if slice > 0 {
			needed = math.Min(needed, FramesToCover(g.depth, slice, g.overlap))
		}
	}
	return needed
}

// why gives the reason for the recommended row.
func why(p Plan, best int) string {
	r := p.Rows[best]
	frames := fmt.Sprintf("%d frames", p.PlannedFrames)
	if p.PlannedFrames == 1 {
		frames = "one frame"
	}
	within := math.Max(r.BlurUM, p.CoCMM*1000)
	s := fmt.Sprintf("f/%s: ", number(r.FNumber))
	switch {
	case len(p.Rows) == 1:
		return s + fmt.Sprintf("the only aperture asked for; with %s the blur is %.0f µm.", frames, r.BlurUM)
	case p.Limited:
		s += fmt.Sprintf("the least blur that %s can give, %.0f µm", frames, r.BlurUM)
	case r.DiffractionLimited:
		s += fmt.Sprintf("diffraction alone blurs beyond %.0f µm at every aperture here, and %s at this one blur least", p.CoCMM*1000, frames)
	case p.PlannedFrames == 1:
		s += fmt.Sprintf("one frame holds the whole depth to %.0f µm", within)
	default:
		s += fmt.Sprintf("%s hold the whole depth to %.0f µm with diffraction counted, the fewest that can", frames, within)
	}
	for _, worse := range p.Rows[best+1:] {
		if worse.DiffractionLimited && !r.DiffractionLimited && !p.Limited {
			return s + fmt.Sprintf("; from f/%s on diffraction alone blurs more than that.", number(worse.FNumber))
		}
		if p.Limited && worse.AiryDiskUM > worse.DefocusUM {
			return s + fmt.Sprintf("; at f/%s diffraction blurs more than defocus.", number(worse.FNumber))
		}
	}
	return s + "."
}

// number writes a number in as few digits as tell it.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }

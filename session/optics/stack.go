package optics

import "math"

// StepMM is how far apart neighbouring frames are focused when their slices, each one
// depth of field thick, overlap by a share (0 up to, not including, 1) of a slice:
// depth of field · (1 − overlap).
func StepMM(depthOfFieldMM, overlap float64) float64 {
	if !positive(depthOfFieldMM) || !(overlap >= 0 && overlap < 1) {
		return math.NaN()
	}
	return depthOfFieldMM * (1 - overlap)
}

// slack keeps a depth that is a whole number of steps from costing one frame more by
// rounding.
const slack = 1e-9

// FramesToCover is the number of slices that cover a depth when they are laid with the
// overlap, the first beginning at the nearest point: the least n, at least 1, with
// slice + (n−1)·step ≥ depth. NaN for arguments out of range. It is a float64 since it
// may be larger than any int.
func FramesToCover(depthMM, depthOfFieldMM, overlap float64) float64 {
	step := StepMM(depthOfFieldMM, overlap)
	if math.IsInf(depthOfFieldMM, 1) && positive(depthMM) {
		return 1
	}
	if !positive(depthMM) || math.IsNaN(step) {
		return math.NaN()
	}
	return math.Max(1, math.Ceil((depthMM-depthOfFieldMM)/step-slack)+1)
}

// FramesEndToEnd is the number of frames from one that is focused on the nearest point
// to one that is focused on or past the farthest, a step apart: ceil(depth/step) + 1.
// Between n frames lie n−1 steps.
func FramesEndToEnd(depthMM, stepMM float64) float64 {
	if !positive(depthMM) || !positive(stepMM) {
		return math.NaN()
	}
	return math.Ceil(depthMM/stepMM-slack) + 1
}

// SliceMM is how thick the slice of each of n frames is when n slices, laid with the
// overlap, exactly cover a depth: depth/(1 + (n−1)(1−overlap)).
func SliceMM(depthMM float64, n int, overlap float64) float64 {
	if !positive(depthMM) || n < 1 || !(overlap >= 0 && overlap < 1) {
		return math.NaN()
	}
	return depthMM / (1 + float64(n-1)*(1-overlap))
}

// Slice is what one frame of a stack is there for.
type Slice struct {
	// NearMM and FarMM bound it, FocusMM is where to focus: its middle. All are counted
	// from the subject's nearest point.
	NearMM, FocusMM, FarMM float64
}

// Slices are the n slices, nearest first, that exactly cover a depth when they are laid
// evenly with the overlap; nil for arguments out of range.
func Slices(depthMM float64, n int, overlap float64) []Slice {
	thick := SliceMM(depthMM, n, overlap)
	if math.IsNaN(thick) {
		return nil
	}
	out := make([]Slice, n)
	for i := range out {
		near := float64(i) * thick * (1 - overlap)
		out[i] = Slice{near, near + thick/2, near + thick}
	}
	return out
}

// ImageStepMM is how far the lens or the sensor moves to shift focus by stepMM in the
// subject: step·m², good for steps that are small against the distance.
func ImageStepMM(stepMM, m float64) float64 { return stepMM * m * m }

// StepsAgainstPlan compares the steps that were really turned (in the unit of the
// planned one) with the plan: ratio is their median over the planned step, 1.4 for
// "about 1.4 times too far each time", and largest is the largest over the planned
// step. ok is false without a step to compare.
func StepsAgainstPlan(planned float64, shot []float64) (ratio, largest float64, ok bool) {
	if !positive(planned) || len(shot) == 0 {
		return math.NaN(), math.NaN(), false
	}
	for _, s := range shot {
		if !(s >= 0) {
			return math.NaN(), math.NaN(), false
		}
		largest = math.Max(largest, s/planned)
	}
	return median(shot) / planned, largest, true
}

package session

// Verdict is what the program says of a stack. The first that applies, in the order
// of Verdicts, is the one said.
type Verdict string

// The verdicts, as they stand in the JSON.
const (
	VerdictTooFew   Verdict = "too-few"   // fewer than two frames
	VerdictBlurred  Verdict = "blurred"   // a frame is blurred by movement
	VerdictGap      Verdict = "gap"       // a depth that neither neighbour holds
	VerdictNearOpen Verdict = "near-open" // a part worth having lies before the nearest frame
	VerdictFarOpen  Verdict = "far-open"  // ... behind the farthest
	VerdictUnsteady Verdict = "unsteady"  // light or settings changed within the stack
	// VerdictUndecided: too little detail, or frames that do not lie on each other; "covered"
	// would be a guess.
	VerdictUndecided Verdict = "undecided"
	VerdictCovered   Verdict = "covered"
)

// Verdicts lists the verdicts by urgency.
var Verdicts = []Verdict{VerdictTooFew, VerdictBlurred, VerdictGap, VerdictNearOpen, VerdictFarOpen, VerdictUnsteady, VerdictUndecided, VerdictCovered}

// CheckVersion grows with every change that makes the same frames be judged otherwise:
// verdicts kept in the log under another version are not used any more.
const CheckVersion = 19

// End says how a stack ends in depth.
type End string

// The ends, as they stand in the JSON.
const (
	EndClosed  End = "closed"  // the subject falls out of focus past the end frame, or ends there
	EndOpen    End = "open"    // a part of it worth having lies past that frame, and is blurred in it
	EndUnknown End = "unknown" // could not be told
)

// Check is the verdict on one stack and what it rests on.
type Check struct {
	Verdict Verdict
	// Sure is false when the evidence is thin and the advice says so.
	Sure bool
	// Headline is the short sentence that is read from two metres ("Shoot frame 5
	// again."), Advice what to do with hand and ring.
	Headline, Advice Text
	// Frames in the stack's time order, those set aside left out.
	Frames []FrameCheck
	Gaps   []Gap
	// NearEnd and FarEnd of the stack in depth. NearKnown tells that it is known which is which; where it is not, they and all places may
	// be the other way round.
	NearEnd, FarEnd             End
	NearKnown                   bool
	LightSteady, SettingsSteady bool
	// NeverSharp is a map of the parts that no frame holds, on the middle frame as
	// stored: MapW x MapH cells, row by row, 1 where never sharp. Empty when unknown.
	MapW, MapH int
	NeverSharp []byte
	// Wanted is where the wanted area lies on the middle frame as stored; nil for all of it.
	Wanted Area
	// NeverSharpShare is the share of the wanted area that is never sharp.
	NeverSharpShare float64
}

// FrameCheck is what was found of one frame in its stack.
type FrameCheck struct {
	Fingerprint string
	// Place is the focus position from 0 (nearest) to 1 (farthest); nil if it could
	// not be told.
	Place *float64
	// Near and Far bound the depth that the frame holds sharp, on the scale of Place
	// (they can reach beyond 0 and 1); nil if not known.
	Near, Far *float64
	// Sharp is the share of the picture that is sharp in this frame.
	Sharp float64
	// Blurred by movement, by BlurPixels (full-size pixels), along BlurDegrees.
	Blurred     bool
	BlurPixels  float64
	BlurDegrees float64
	// Shift (x right, y down, in full-size pixels as stored), Scale and TurnDegrees
	// (clockwise) tell how the frame lies on the stack's middle frame.
	Shift       [2]float64
	Scale       float64
	TurnDegrees float64
	// Aligned is false when the frame could not be laid on the others; the numbers
	// above then mean nothing.
	Aligned bool
	// Moved: a part of the subject moved, which no alignment of the whole explains.
	Moved bool
	// BrightnessEV against the middle frame, and ChannelEV that of R, G and B: their differences are a
	// drift of the white balance.
	BrightnessEV float64
	ChannelEV    [3]float64
	// Clipped share of pixels by channel R, G, B.
	Clipped [3]float64
	// LightDiffers or SettingsDiffer from the rest of the stack.
	LightDiffers, SettingsDiffer bool
}

// Gap is a depth between two neighbouring frames that neither of them holds sharp.
type Gap struct {
	After, Before string // fingerprints, in depth order
	// From and To bound the gap on the scale of Place.
	From, To float64
	// DepthMM is its depth in the subject; nil when the optics do not tell.
	DepthMM *float64
}

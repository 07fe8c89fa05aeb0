package session

// ProofVersion grows with every change that makes the same frames blend otherwise at preview
// size: proofs kept in the log under another version are not used any more.
const ProofVersion = 2

// Proof is what is known of a stack's blend at preview size; its picture is kept beside it.
type Proof struct {
	// Key names the picture: another picture has another key.
	Key string `json:"key"`
	// Frames are those it is made of, in time order.
	Frames []ProofFrame `json:"frames"`
	// LeftOut are the frames of the stack that are not in it.
	LeftOut []ProofLeft `json:"leftOut,omitempty"`
	// Character is how it was blended; Suits is the character that suits the frames, and
	// Why the reason.
	Character string `json:"character"`
	Suits     string `json:"suits"`
	Why       Text   `json:"why"`
	// W x H is its size in pixels as the frames are stored, Turn their EXIF orientation. The
	// picture itself is kept upright.
	W    int `json:"w"`
	H    int `json:"h"`
	Turn int `json:"turn"`
	// Middle is the index in Frames of the stack's middle frame, that areas lie on.
	Middle int `json:"middle"`
	// Touches is how many touch-ups are in it.
	Touches int `json:"touches,omitempty"`
}

// ProofFrame is a frame of a proof and how it lies on it: a detail at p from the proof's middle
// is at Scale R(Turn) p + (DX, DY) from the frame's middle, in pixels of the proof as stored.
type ProofFrame struct {
	Fingerprint string  `json:"frame"`
	Scale       float64 `json:"scale"`
	Turn        float64 `json:"turn"` // radians, clockwise as seen
	DX          float64 `json:"dx"`
	DY          float64 `json:"dy"`
	// Gain is what R, G and B were multiplied by.
	Gain [3]float32 `json:"gain"`
}

// ProofLeft is a frame that is not in a proof, and why: a piece of a sentence.
type ProofLeft struct {
	Fingerprint string `json:"frame"`
	Why         string `json:"why"`
}

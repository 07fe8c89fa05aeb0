package session

import "time"

// Frame is one exposure. A RAW and a JPEG of the same exposure are one frame.
type Frame struct {
	// ID is the frame's number in the log, 0 before the log has seen it.
	ID int64
	// Name is the path of the file that names the frame (the RAW where there is
	// one), relative to the session's folder, with "/".
	Name string
	// Pairs are the other files of the same exposure, relative like Name.
	Pairs []string
	// Fingerprint identifies the bytes of the file called Name; edits and figures
	// hang on it, so that they survive a rename. Unique within a session.
	Fingerprint string
	// Size (bytes) and Modified are those of the file called Name when it was read.
	Size     int64
	Modified time.Time
	// Meta is what the camera wrote.
	Meta Meta
	// Figures is what the pixels say; nil when no picture could be decoded.
	Figures *Figures
	// SetAside: the photographer has put this frame out of its stack.
	SetAside bool
	// Gone: the file was there and is not any more. Its figures and edits are kept.
	Gone bool
}

// Meta is what the camera wrote into a file. A nil pointer, an empty string or a
// zero time means that the value is not known; it is never a 0 by accident.
type Meta struct {
	Container string // jpeg, tiff, dng, cr2, cr3, nef, arw, raf, orf, rw2, pef, heif, png
	Make      string
	Model     string
	Lens      string
	Serial    string

	// Taken is the start of the exposure. Without TakenHasOffset its clock reading
	// is right and its zone (UTC) means nothing.
	Taken          time.Time
	TakenHasOffset bool

	FNumber         *float64
	ShutterSeconds  *float64
	ISO             *int
	ExposureBiasEV  *float64
	FocalLengthMM   *float64
	FocalLength35MM *float64
	FlashFired      *bool
	FocusDistance   *FocusDistance
	// Orientation is EXIF's 1 to 8 (CIPA DC-008, tag 0x0112).
	Orientation *int
	// Width and Height are of the sensor image in pixels, before Orientation.
	Width, Height *int
	// Sensor is its size in mm as far as the file tells (see Gear.Sensor).
	Sensor *Sensor
	// BracketShot counts the frames of a series that the camera focused by itself
	// (1 is the first).
	BracketShot *int
	// Preview is the largest JPEG in the file that can be decoded.
	Preview *Preview
}

// FocusDistance is where the camera says the lens was focused.
type FocusDistance struct {
	NearM, FarM *float64 // metres; equal where only one value was written
	Infinity    bool
	// StepM is the coarseness of the value in metres (0.01 where a maker writes
	// whole centimetres), 0 when not known. A difference below it means nothing.
	StepM float64
	// Source names the tag that the value came from.
	Source string
}

// Preview says where in a file its largest JPEG stands.
type Preview struct {
	Offset, Length int64 // bytes from the start of the file
	Width, Height  int   // pixels
}

// Upright reports whether the frame's picture stands upright (taller than wide)
// once its orientation is applied; ok is false when the size is not known.
func (m Meta) Upright() (upright, ok bool) {
	if m.Width == nil || m.Height == nil {
		return false, false
	}
	w, h := *m.Width, *m.Height
	if m.Orientation != nil && *m.Orientation >= 5 && *m.Orientation <= 8 {
		w, h = h, w
	}
	return h > w, true
}

// FiguresVersion is raised whenever the meaning of a figure changes, so that
// figures kept in the log by an older version are computed afresh.
const FiguresVersion = 2

// Figures is what a frame's pixels say, computed once from a reduced decode and
// kept in the log. Everything that grouping decides comes from here and from Meta.
type Figures struct {
	Version int
	// SmallW x SmallH is the size of Small in pixels as stored in the file (before
	// orientation); the long side is 96.
	SmallW, SmallH int
	// Small is the picture as sRGB bytes, R G B R G B ..., row by row, area-averaged.
	Small []byte
	// Grey is a larger, area-averaged luma picture for comparing structure; long
	// side 256, size GreyW x GreyH.
	GreyW, GreyH int
	Grey         []byte
	// Detail is the picture's detail energy in octave bands, finest first, with the
	// noise floor taken off; unit: mean squared band-pass response of luma in 0..1.
	Detail []float64
	// Sharp is detail energy a tile in the finest band, SharpW x SharpH tiles, row by row; where there is more noise than in the
	// quiet parts, as much less of it.
	SharpW, SharpH int
	Sharp          []float32
	// NoiseSigma is the estimated noise of luma (0..1) at the decode's size.
	NoiseSigma float64
	// MeanEV is log2 of mean linear luminance (white = 0 EV).
	MeanEV float64
	// Clipped is the share of pixels at the top value, by channel R, G, B.
	Clipped [3]float64
}

// Slim gives the figures without Small and Grey, which take most of their room and are needed only
// when frames are compared that never were before, or a light is measured. Their sizes stay.
func (f *Figures) Slim() *Figures {
	slim := *f
	slim.Small, slim.Grey = nil, nil
	return &slim
}

// Whole tells whether Small and Grey are there.
func (f *Figures) Whole() bool {
	return f != nil && len(f.Small) >= 3*f.SmallW*f.SmallH && len(f.Grey) >= f.GreyW*f.GreyH
}

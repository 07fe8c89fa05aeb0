package session

// PictureFile is a picture on disk.
type PictureFile struct{ Dir, Name string }

// Laid is how a picture lies on another of the same framing: a detail at p in that other,
// measured from the picture's centre in shares of its long side, x to the right and y down,
// is at Scale * R(Turn) * p + (DX, DY) in this one. The zero value leaves a picture as it is.
type Laid struct {
	Scale  float64
	Turn   float64 // radians, clockwise as seen
	DX, DY float64
}

// Framing is what was found of a picture in a series: which of the series it is laid on, and
// how. On is the place of the earliest picture of the same framing, which is the picture's
// own where none before it is framed alike, and -1 where it could not be read.
type Framing struct {
	On   int
	Laid Laid
}

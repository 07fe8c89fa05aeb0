// Package exifread reads what a camera wrote into a picture file: settings, time,
// lens, focus distance, size, and where the file's largest JPEG stands.
//
// It knows JPEG, TIFF and the TIFF-shaped raw formats (DNG, CR2, NEF, ARW, PEF,
// ORF, RW2), RAF, CR3, HEIF and PNG, and tells them apart by their content, not
// by their name. It reads through an io.ReaderAt and only the bytes it needs, so
// that a raw file costs some tens of kilobytes.
//
// It does not decode pixels, writes nothing, and deciphers nothing: what a maker
// enciphers in its notes stays unread.
//
// Every length found in a file is checked against the file before anything is
// allocated, directories are visited once, and a budget bounds the memory of one
// call to 16 MiB whatever the file says.
//
// Standards: Exif 2.32 (CIPA DC-008-2019), TIFF 6.0, JPEG (ITU-T T.81), CIPA
// DC-007 (multi-picture format), ISO/IEC 14496-12 (boxes), ISO/IEC 23008-12
// (HEIF), PNG (third edition), XMP (ISO 16684-1). Layouts that no standard
// covers, maker notes above all, follow the public tag tables of ExifTool and
// exiv2; each is named where it is used. The standards' clause numbers are quoted
// from memory: the texts were not at hand.
package exifread

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"
)

// Container is the kind of a file by its content.
const (
	jpegFile = "jpeg"
	tiffFile = "tiff"
	dngFile  = "dng"
	cr2File  = "cr2"
	cr3File  = "cr3"
	nefFile  = "nef"
	arwFile  = "arw"
	rafFile  = "raf"
	orfFile  = "orf"
	rw2File  = "rw2"
	pefFile  = "pef"
	heifFile = "heif"
	pngFile  = "png"
)

// ErrNoMetadata is returned for a whole picture in which no camera left a word.
// The Metadata beside it still has the container, the size and the preview.
var ErrNoMetadata = errors.New("no camera metadata in the file")

// FormatError says that a file breaks the rules of its own format.
type FormatError struct {
	Offset int64 // bytes from the start of the file
	What
}

func brokenAt(offset int64, form string, args ...any) error {
	return &FormatError{offset, What{form, args}}
}

func (e *FormatError) Error() string {
	return fmt.Sprintf("broken at byte %d: %s", e.Offset, e.What)
}

// What is what is wrong with a file: a format for fmt.Sprintf, whole where there are no Args,
// and what goes into it, strings, whole numbers and further Whats, kept apart for translation.
type What struct {
	Form string
	Args []any
}

func (w What) String() string {
	if len(w.Args) == 0 {
		return w.Form
	}
	return fmt.Sprintf(w.Form, w.Args...)
}

// UnsupportedError says that a file is of a kind that this package does not read.
type UnsupportedError struct{ What }

func (e *UnsupportedError) Error() string { return e.String() }

// Metadata is what a camera wrote into one file. A nil pointer, an empty string
// and a zero time mean that the value is not known; none of them is ever a 0 by
// accident.
type Metadata struct {
	Container string // jpeg, tiff, dng, cr2, cr3, nef, arw, raf, orf, rw2, pef, heif, png
	Make      string
	Model     string
	Lens      string
	Serial    string // of the camera body

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
	// Orientation is EXIF's 1 to 8 (DC-008 section 4.6.4, tag 0x0112). In HEIF it
	// stands for the item's irot and imir properties.
	Orientation *int
	// Width and Height are of the sensor image in pixels, before Orientation.
	Width, Height *int

	// BracketShot counts the frames of a series that the camera focused by itself
	// (1 is the first).
	BracketShot *int
	// BracketOffset is how far such a series has moved the focus from where it
	// began, in the maker's own steps, positive away from the camera (Panasonic).
	BracketOffset *int
	// FocusStep is the position of the focus motor in the maker's own steps; it
	// compares only within one lens at one focal length (Olympus).
	FocusStep *int
	// InCameraComposite: the camera itself blended this picture from several.
	InCameraComposite *bool
	// ShutterMode is "mechanical", "electronic first curtain" or "electronic".
	ShutterMode string

	// Preview is the largest JPEG in the file that can be decoded.
	Preview *Preview

	// Missing names, a sentence each, what the file should hold and does not
	// because it is cut off or damaged. Empty for a file in order.
	Missing []string

	plane focalPlane
}

// FocusDistance is where the camera says the lens was focused.
type FocusDistance struct {
	// NearM and FarM bound the distance in metres; equal where only one value was
	// written.
	NearM, FarM *float64
	// Infinity: the far limit is infinity and FarM is nil; NearM is nil too unless
	// the maker wrote a near limit.
	Infinity bool
	// StepM is the coarseness of the value in metres (0.01 where a maker writes
	// whole centimetres), 0 when not known. A difference below it means nothing.
	StepM float64
	// Source names the tag that the value came from.
	Source string
}

// Preview says where in a file its largest JPEG stands.
type Preview struct {
	Offset, Length int64 // bytes from the start of the file
	Width, Height  int   // pixels, before any rotation
}

// Read reads the metadata of a picture file of size bytes.
//
// A file that is cut off or damaged in part gives what could be read, with
// Missing saying what could not, and no error. Otherwise the error is
// ErrNoMetadata (a picture without metadata), *FormatError (nothing could be
// read), *UnsupportedError (a kind of file that is not read here) or an error of
// r itself. The Metadata is nil only when not even the container is known.
func Read(r io.ReaderAt, size int64) (*Metadata, error) {
	src := newSource(r, size)
	container, err := detect(src)
	if err != nil {
		return nil, err
	}
	x := &extractor{src: src, m: &Metadata{Container: container}, dirs: newDirReader()}
	switch container {
	case jpegFile:
		err = x.jpeg()
	case rafFile:
		err = x.raf()
	case cr3File:
		err = x.cr3()
	case heifFile:
		err = x.heif()
	case pngFile:
		err = x.png()
	default:
		err = x.tiffShaped()
	}
	if src.failed != nil {
		return x.m, src.failed
	}
	if err != nil {
		if !x.found() {
			return x.m, err
		}
		x.missing(err)
	}
	x.choosePreview()
	if err := whole(src, container); err != nil {
		x.missing(err)
	}
	if src.failed != nil {
		return x.m, src.failed
	}
	if !x.found() {
		if len(x.m.Missing) > 0 {
			return x.m, &FormatError{size, x.lost[0]}
		}
		return x.m, ErrNoMetadata
	}
	return x.m, nil
}

// extractor gathers the metadata of one file. Where several places of a file
// state the same fact, the first one visited wins; each container visits the
// most trustworthy first.
type extractor struct {
	src   *source
	m     *Metadata
	dirs  *dirReader
	jpegs []extent // where JPEGs are said to stand
	// blocks counts the EXIF blocks read.
	blocks int
	// lensIsRange: the lens is worded from its range only; a name replaces it.
	lensIsRange bool
	lost        []What // what m.Missing says
}

// extent is a run of bytes of the file.
type extent struct{ off, length int64 }

// found reports whether any camera fact has been read.
func (x *extractor) found() bool {
	m := x.m
	return m.Make != "" || m.Model != "" || !m.Taken.IsZero() || m.FNumber != nil ||
		m.ShutterSeconds != nil || m.ISO != nil || m.FocalLengthMM != nil ||
		m.FocusDistance != nil || m.Lens != "" || m.Serial != "" || m.ExposureBiasEV != nil ||
		m.FlashFired != nil
}

// missing records that a part could not be read.
func (x *extractor) missing(err error) {
	const enough = 20 // a thoroughly broken file need not fill a screen
	what := reason(err)
	if said := what.String(); len(x.lost) < enough && !slices.Contains(x.m.Missing, said) {
		x.lost, x.m.Missing = append(x.lost, what), append(x.m.Missing, said)
	}
}

// reason words an error without the place that a FormatError names.
func reason(err error) What {
	if broken := (*FormatError)(nil); errors.As(err, &broken) {
		return broken.What
	}
	if unsupported := (*UnsupportedError)(nil); errors.As(err, &unsupported) {
		return unsupported.What
	}
	return What{Form: err.Error()}
}

// setIfNil keeps the first value found.
func setIfNil[T any](dst **T, v T) {
	if *dst == nil {
		*dst = &v
	}
}

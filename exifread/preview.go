package exifread

import "fmt"

// maxCandidates bounds the JPEGs that are looked at.
const maxCandidates = 64

// candidate notes where a JPEG is said to stand.
func (x *extractor) candidate(off, length int64) {
	if off <= 0 || length <= 0 || len(x.jpegs) >= maxCandidates {
		return
	}
	x.jpegs = append(x.jpegs, extent{off, length})
}

// choosePreview takes the largest of the candidates that is a JPEG every decoder
// takes and lies within the file.
func (x *extractor) choosePreview() {
	best := 0
	if p := x.m.Preview; p != nil {
		best = p.Width * p.Height
	}
	for _, c := range x.jpegs {
		w, h, ok := x.jpegSize(c.off, c.length)
		if !ok || w*h <= best {
			continue
		}
		if c.off+c.length > x.src.size {
			x.missing(fmt.Errorf("the embedded JPEG of %d x %d is cut off: %d of its %d bytes are there",
				w, h, x.src.size-c.off, c.length))
			continue
		}
		best = w * h
		x.m.Preview = &Preview{Offset: c.off, Length: c.length, Width: w, Height: h}
	}
}

// jpegSize looks for the frame header of a JPEG stream.
func (x *extractor) jpegSize(off, length int64) (w, h int, ok bool) {
	head, err := x.src.bytes(off, 2)
	if err != nil || head[0] != 0xFF || head[1] != markSOI {
		return 0, 0, false
	}
	_ = segments(x.src, off+2, min(off+length, x.src.size), func(s segment) bool {
		if !isFrame(s.marker) {
			return true
		}
		w, h, ok = frameSize(x.src, s)
		return false
	})
	return w, h, ok
}

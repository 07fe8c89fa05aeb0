package exifread

import (
	"encoding/binary"
	"errors"
	"io"
)

// Whole reports whether a picture file of size bytes ends as its format says it
// should, so that a file still being written is told from a finished one. If not,
// the What says what is missing. It reads a few kilobytes, or a JPEG from end to
// end when something other than its picture stands at its end.
//
//   - JPEG: the picture's end marker; behind it anything (phones append films), but
//     the further pictures that a multi-picture index lists must be there.
//   - TIFF and the raw formats built on it: every strip, tile and embedded JPEG that
//     the directories list lies within the file. RAF: its three parts do.
//   - HEIF and CR3: the boxes fill the file.
//   - PNG: the chunk IEND.
//
// A file of another kind is not whole.
func Whole(r io.ReaderAt, size int64) (bool, What) {
	src := newSource(r, size)
	container, err := detect(src)
	if err != nil {
		return false, reason(err)
	}
	if err := whole(src, container); err != nil {
		return false, reason(err)
	}
	return true, What{}
}

func whole(src *source, container string) error {
	switch container {
	case jpegFile:
		return wholeJPEG(src)
	case pngFile:
		return chunks(src, func(chunk) {})
	case rafFile:
		return wholeRAF(src)
	case cr3File, heifFile:
		return wholeBoxes(src)
	}
	return wholeTIFF(src)
}

// wholeJPEG looks for the end marker at the end, else asks the multi-picture index,
// else looks through the coded data.
func wholeJPEG(src *source) error {
	scan := int64(0)
	var index *segment
	err := segments(src, 2, src.size, func(s segment) bool {
		if index == nil && isMPF(src, s) {
			index = &s
		}
		scan = s.end()
		return true
	})
	if err != nil {
		return err
	}
	if endsWithEOI(src, scan) {
		return nil
	}
	if index != nil {
		if err := wholeMPF(src, *index); err != nil {
			return err
		}
	}
	return findEOI(src, scan)
}

// endsWithEOI looks for the end marker at the end of the file, before at most one
// window of zeros; from is where the coded data begins.
func endsWithEOI(src *source, from int64) bool {
	n := min(src.size-from, 4096)
	if n < 2 {
		return false
	}
	tail := make([]byte, n)
	if src.peek(src.size-n, tail) != nil {
		return false
	}
	end := len(tail)
	for end > 0 && tail[end-1] == 0 {
		end--
	}
	return end >= 2 && tail[end-2] == 0xFF && tail[end-1] == markEOI
}

// wholeMPF checks that the pictures listed in a multi-picture index lie within the
// file.
func wholeMPF(src *source, s segment) error {
	for i, p := range morePictures(src, s) {
		if err := within(src, p, What{"picture %d of a multi-picture file", []any{i + 2}}); err != nil {
			return err
		}
	}
	return nil
}

// findEOI looks through the coded data for the end marker. In coded data 0xFF is
// followed by 0 or a restart marker; further segments (of a progressive picture)
// are stepped over by their length (T.81 section B.1.1).
func findEOI(src *source, off int64) error {
	const piece = 64 << 10
	buf := make([]byte, piece)
	for off < src.size-1 {
		n := min(piece, src.size-off)
		if err := src.readAt(buf[:n], off); err != nil {
			return err
		}
		next := off + n - 1 // a marker may straddle two pieces
		for i := 0; i < int(n)-1; i++ {
			if buf[i] != 0xFF {
				continue
			}
			switch m := buf[i+1]; {
			case m == markEOI:
				return nil
			case m == 0, m == 0xFF, m == markTEM, m >= markRST0 && m <= markRST7:
				continue
			}
			var length [2]byte
			at := off + int64(i) + 2
			if err := src.peek(at, length[:]); err != nil {
				return cutJPEG(src.size)
			}
			next = at + max(2, int64(binary.BigEndian.Uint16(length[:])))
			break
		}
		off = next
	}
	return cutJPEG(src.size)
}

func cutJPEG(at int64) error {
	return brokenAt(at, "the end of the JPEG picture (marker FF D9) is missing")
}

// wholeBoxes checks that the boxes of a file add up to its size and hold what a
// picture needs; zeros behind them do no harm.
func wholeBoxes(src *source) error {
	items, film, data := false, false, false
	err := boxes(src, 0, src.size, func(b box) {
		switch b.kind {
		case "meta":
			items = true
		case "moov":
			film = true
		case "mdat":
			data = true
		}
	})
	var broken *FormatError
	switch {
	case errors.As(err, &broken) && !onlyZeros(src, broken.Offset):
		return err
	case !items && !film:
		return brokenAt(src.size, "the box with the list of pictures is missing")
	case !data && !items: // a list of items may hold its data itself
		return brokenAt(src.size, "the box with the pictures is missing")
	}
	return nil
}

// onlyZeros reports whether nothing but a few zeros follow off.
func onlyZeros(src *source, off int64) bool {
	n := src.size - off
	if n > windowSize/2 {
		return false
	}
	tail, err := src.bytes(off, int(n))
	if err != nil {
		return false
	}
	for _, c := range tail {
		if c != 0 {
			return false
		}
	}
	return true
}

// wholeRAF checks the three parts of Fujifilm's format.
func wholeRAF(src *source) error {
	jpeg, dir, sensor, err := rafParts(src)
	if err != nil {
		return err
	}
	for _, p := range []struct {
		extent
		name What
	}{{jpeg, What{Form: "the embedded JPEG"}}, {dir, What{Form: "the directory"}}, {sensor, What{Form: "the sensor data"}}} {
		if err := within(src, p.extent, p.name); err != nil {
			return err
		}
	}
	return nil
}

func within(src *source, e extent, name What) error {
	if e.off+e.length > src.size {
		return brokenAt(src.size, "%s ends at byte %d, beyond the end", name, e.off+e.length)
	}
	return nil
}

// wholeTIFF checks that the directories, and what they point at, lie within the
// file. A chain that runs in a loop is broken but not cut off.
func wholeTIFF(src *source) error {
	b, off, err := header(src, 0, src.size)
	if err != nil {
		return err
	}
	for dirs := newDirReader(); off != 0 && !dirs.seen[off]; {
		dir, _, err := dirs.read(b, off)
		if err != nil {
			return err
		}
		if err := wholePicture(src, &dir); err != nil {
			return err
		}
		if at, ok := dir.uint(tagExifIFD); ok && !dirs.seen[int64(at)] {
			if _, _, err := dirs.read(b, int64(at)); err != nil {
				return err
			}
		}
		for _, at := range dir.all(tagSubIFDs, maxSubIFDs) {
			if dirs.seen[int64(at)] {
				continue
			}
			sub, _, err := dirs.read(b, int64(at))
			if err != nil {
				return err
			}
			if err := wholePicture(src, &sub); err != nil {
				return err
			}
		}
		off = dir.next
	}
	return nil
}

// wholePicture checks the strips, tiles and JPEG of one directory.
func wholePicture(src *source, d *directory) error {
	const most = maxValue / 4
	const tagRawDataOffset = 0x0118 // ExifTool, PanasonicRaw.pm
	if off, ok := d.uint(tagJPEGOffset); ok {
		length, _ := d.uint(tagJPEGLength)
		if err := within(src, extent{int64(off), int64(length)}, What{Form: "an embedded JPEG"}); err != nil {
			return err
		}
	}
	for _, p := range []struct{ offsets, counts uint16 }{{tagStripOffsets, tagStripCounts}, {tagTileOffsets, tagTileCounts}} {
		offs, counts := d.all(p.offsets, most), d.all(p.counts, most)
		for i := range min(len(offs), len(counts)) {
			off := offs[i]
			if off == 0xFFFFFFFF { // Panasonic's sign that the place stands in a tag of its own
				off, _ = d.uint(tagRawDataOffset)
			}
			if err := within(src, extent{int64(off), int64(counts[i])}, What{Form: "the picture data"}); err != nil {
				return err
			}
		}
	}
	return nil
}

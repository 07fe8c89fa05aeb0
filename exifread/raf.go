package exifread

import "encoding/binary"

// rafHead is where Fujifilm's raw format keeps the places of its parts (ExifTool,
// FujiFilm.pm): offset and length of a JPEG with a full EXIF block, of a directory
// of its own, and of the sensor data.
const (
	rafJPEG      = 84
	rafDirectory = 92
	rafSensor    = 100
	rafHeadSize  = 108
)

// rafParts reads the places of the three parts.
func rafParts(src *source) (jpeg, dir, sensor extent, err error) {
	head, err := src.bytes(0, rafHeadSize)
	if err != nil {
		return jpeg, dir, sensor, err
	}
	part := func(at int) extent {
		return extent{int64(binary.BigEndian.Uint32(head[at:])), int64(binary.BigEndian.Uint32(head[at+4:]))}
	}
	return part(rafJPEG), part(rafDirectory), part(rafSensor), nil
}

func (x *extractor) raf() error {
	jpeg, dir, _, err := rafParts(x.src)
	if err != nil {
		return err
	}
	x.rafSize(dir)
	x.candidate(jpeg.off, jpeg.length)
	return x.jpegStream(jpeg.off, min(jpeg.off+jpeg.length, x.src.size), func(w, h int, _ bool) {
		if w > 0 && h > 0 {
			setIfNil(&x.m.Width, w)
			setIfNil(&x.m.Height, h)
		}
	})
}

// rafSize reads the size of the sensor image from Fujifilm's own directory: a
// count, then entries of tag, length and value, big-endian. 0x0111 is the part of
// the sensor that makes the picture, 0x0121 and 0x0100 the whole; height before
// width.
func (x *extractor) rafSize(dir extent) {
	const maxRAFEntries = 256
	raw, err := x.src.bytes(dir.off, 4)
	if err != nil {
		x.missing(err)
		return
	}
	count := int64(binary.BigEndian.Uint32(raw))
	rank := map[uint16]int{0x0111: 3, 0x0121: 2, 0x0100: 1}
	best := 0
	for at := dir.off + 4; count > 0 && count <= maxRAFEntries; count-- {
		head, err := x.src.bytes(at, 4)
		if err != nil {
			x.missing(err)
			return
		}
		tag, length := binary.BigEndian.Uint16(head), int64(binary.BigEndian.Uint16(head[2:]))
		if r := rank[tag]; r > best && length == 4 {
			if v, err := x.src.bytes(at+4, 4); err == nil {
				h, w := int(binary.BigEndian.Uint16(v)), int(binary.BigEndian.Uint16(v[2:]))
				if w > 0 && h > 0 {
					best, x.m.Width, x.m.Height = r, &w, &h
				}
			}
		}
		at += 4 + length
	}
}

package blend

import (
	"bytes"
	"compress/zlib"
	"io"
	"runtime"
	"sync"

	"stillbench/session/plane"
)

// bigFrom is the size of the uncompressed pixels, in bytes, from which a TIFF is written as
// BigTIFF: offsets of 32 bits end at 4 GiB, and deflate can make noise a little longer.
var bigFrom int64 = 4<<30 - 64<<20

// tiffStrip is about how many bytes a strip has before it is deflated.
const tiffStrip = 1 << 20

// WriteTIFF writes a TIFF 6.0 of 16 bits a channel, or a BigTIFF where 4 GiB would not do:
// strips, deflated (Adobe's Photoshop TIFF technical notes, 2002) after horizontal differencing (section 14).
// Strips are deflated on all processors. w must be empty.
func WriteTIFF(w io.WriteSeeker, p *plane.RGB16, c Carried) error {
	rowBytes := 6 * p.W
	perStrip := max(1, tiffStrip/rowBytes)
	n := (p.H + perStrip - 1) / perStrip
	big := int64(rowBytes)*int64(p.H) > bigFrom
	head := []byte("II*\x00\x00\x00\x00\x00")
	if big {
		head = []byte("II\x2B\x00\x08\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00")
	}
	if _, err := w.Write(head); err != nil {
		return err
	}
	at := int64(len(head))
	offsets, counts := make([]uint64, n), make([]uint64, n)
	// A few strips are deflated at a time, and written in order.
	together := 4 * runtime.GOMAXPROCS(0)
	for first := 0; first < n; first += together {
		strips := make([][]byte, min(together, n-first))
		var wg sync.WaitGroup
		for i := range strips {
			wg.Go(func() { strips[i] = deflated(p, (first+i)*perStrip, min(p.H, (first+i+1)*perStrip)) })
		}
		wg.Wait()
		for i, strip := range strips {
			if _, err := w.Write(strip); err != nil {
				return err
			}
			offsets[first+i], counts[first+i] = uint64(at), uint64(len(strip))
			at += int64(len(strip))
		}
	}
	if at&1 == 1 {
		if _, err := w.Write([]byte{0}); err != nil {
			return err
		}
		at++
	}
	fields := append(c.mainFields(),
		long(0x0100, uint32(p.W)), long(0x0101, uint32(p.H)),
		short(0x0102, 16, 16, 16), short(0x0103, 8), short(0x0106, 2),
		short(0x0115, 3), long(0x0116, uint32(perStrip)), short(0x011C, 1), short(0x013D, 2),
		places(0x0111, offsets, big), places(0x0117, counts, big))
	if c.Profile != nil {
		fields = append(fields, field{34675, kindUndef, len(c.Profile), c.Profile})
	}
	// The EXIF directory first, so that the main one can point to it.
	exif := directory(c.exifFields(), at, big)
	pointer := field{0x8769, kindLong, 1, little.AppendUint32(nil, uint32(at))}
	if big {
		pointer = field{0x8769, kindLong8, 1, little.AppendUint64(nil, uint64(at))}
	}
	fields = append(fields, pointer)
	if len(exif)&1 == 1 {
		exif = append(exif, 0)
	}
	first := at + int64(len(exif))
	if _, err := w.Write(append(exif, directory(fields, first, big)...)); err != nil {
		return err
	}
	where, place := int64(4), little.AppendUint32(nil, uint32(first))
	if big {
		where, place = 8, little.AppendUint64(nil, uint64(first))
	}
	if _, err := w.Seek(where, io.SeekStart); err != nil {
		return err
	}
	_, err := w.Write(place)
	return err
}

// places are offsets or lengths of strips.
func places(tag uint16, v []uint64, big bool) field {
	if !big {
		small := make([]uint32, len(v))
		for i := range v {
			small[i] = uint32(v[i])
		}
		return long(tag, small...)
	}
	var b []byte
	for _, v := range v {
		b = little.AppendUint64(b, v)
	}
	return field{tag, kindLong8, len(v), b}
}

// deflated gives rows as a TIFF strip: little-endian, each value less the one to its left.
func deflated(p *plane.RGB16, y0, y1 int) []byte {
	raw := make([]byte, 6*p.W*(y1-y0))
	for y := y0; y < y1; y++ {
		row, out := p.Pix[3*y*p.W:3*(y+1)*p.W], raw[6*p.W*(y-y0):]
		var left [3]uint16
		for i, v := range row {
			c := i % 3
			little.PutUint16(out[2*i:], v-left[c])
			left[c] = v
		}
	}
	var b bytes.Buffer
	z, _ := zlib.NewWriterLevel(&b, zlib.BestSpeed)
	z.Write(raw) // a Buffer takes everything
	z.Close()
	return b.Bytes()
}

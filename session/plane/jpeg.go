package plane

/*
#cgo LDFLAGS: -lturbojpeg -ljpeg
#include <turbojpeg.h>
#include "crop.h"
*/
import "C"

import (
	"errors"
	"fmt"
	"image"
	"runtime"
	"unsafe"
)

// DecodeJPEG decodes a baseline or progressive JPEG (ITU-T T.81) by libjpeg-turbo, which
// makes a reduced picture in the transform itself: three times as fast as the standard
// library at full size and four to five times at a quarter.
//
// The picture is reduced by 1, 2, 4 or 8, whichever is the most that leaves its long side at
// minLongSide pixels or more (0: full size); a smaller picture is decoded at full size.
// A reduced pixel stands for exactly 2, 4 or 8 pixels along either axis; where the size is no
// multiple of that, the last one reaches beyond the edge. FullW and FullH say how large the
// picture in the file is. Grey and CMYK pictures (the
// latter inverted, as Adobe's programs write them) come as RGB.
//
// A file that is cut short or damaged gives what was decoded and a *PartialError; any
// other error comes without a picture.
func DecodeJPEG(data []byte, minLongSide int) (*RGB, error) {
	if len(data) < 4 || data[0] != 0xFF || data[1] != 0xD8 {
		return nil, ErrFormat
	}
	h := C.tjInitDecompress()
	if h == nil {
		return nil, errors.New("the JPEG decoder could not be started: out of memory")
	}
	defer C.tjDestroy(h)

	src := (*C.uchar)(unsafe.Pointer(unsafe.SliceData(data)))
	size := C.ulong(len(data))
	var cw, ch, subsampling, space C.int
	if C.tjDecompressHeader3(h, src, size, &cw, &ch, &subsampling, &space) != 0 && C.tjGetErrorCode(h) != C.TJERR_WARNING {
		return nil, &BrokenError{JPEG: true, Reason: C.GoString(C.tjGetErrorStr2(h))}
	}
	fullW, fullH := int(cw), int(ch)
	by := reduction(fullW, fullH, minLongSide)
	if err := checkSize(fullW, fullH, by); err != nil {
		return nil, err
	}
	pic := NewRGB((fullW+by-1)/by, (fullH+by-1)/by)
	pic.FullW, pic.FullH = fullW, fullH

	format, pix := C.int(C.TJPF_RGB), pic.Pix
	cmyk := space == C.TJCS_CMYK || space == C.TJCS_YCCK
	if cmyk {
		format, pix = C.TJPF_CMYK, make([]uint8, 4*pic.W*pic.H)
	}
	// A progressive file may hold any number of scans, each as dear as a whole decode;
	// the flag stops at 500.
	rc := C.tjDecompress2(h, src, size, (*C.uchar)(unsafe.Pointer(unsafe.SliceData(pix))),
		C.int(pic.W), 0, C.int(pic.H), format, C.TJFLAG_LIMITSCANS)
	runtime.KeepAlive(data)
	var partial error
	if rc != 0 {
		reason := C.GoString(C.tjGetErrorStr2(h))
		if C.tjGetErrorCode(h) != C.TJERR_WARNING {
			return nil, &BrokenError{JPEG: true, Reason: reason}
		}
		partial = &PartialError{Reason: reason}
	}
	if cmyk {
		// Adobe writes ink inverted: 255 is no ink.
		for i, j := 0, 0; j < len(pix); i, j = i+3, j+4 {
			k := int(pix[j+3])
			for c := range 3 {
				pic.Pix[i+c] = uint8((int(pix[j+c])*k + 127) / 255)
			}
		}
	}
	return pic, partial
}

// decodeJPEGPart is DecodePart for a JPEG.
func decodeJPEGPart(data []byte, part func(fullW, fullH int) image.Rectangle) (*RGB, error) {
	w, h, err := jpegSize(data)
	if err != nil {
		return nil, err
	}
	src := (*C.uchar)(unsafe.Pointer(unsafe.SliceData(data)))
	if C.plane_can_crop(src, C.ulong(len(data))) == 0 {
		pic, err := DecodeJPEG(data, 0)
		return partOf(pic, err, part)
	}
	r := part(w, h).Intersect(image.Rect(0, 0, w, h))
	if r.Empty() {
		return nil, errOutside
	}
	pic := NewRGB(r.Dx(), r.Dy())
	pic.FullW, pic.FullH = w, h
	var reason [C.PLANE_CROP_REASON]C.char
	rc := C.plane_crop(src, C.ulong(len(data)), C.int(r.Min.X), C.int(r.Min.Y), C.int(r.Dx()), C.int(r.Dy()),
		(*C.uchar)(unsafe.Pointer(unsafe.SliceData(pic.Pix))), &reason[0])
	runtime.KeepAlive(data)
	switch {
	case rc < 0:
		return nil, &BrokenError{JPEG: true, Reason: C.GoString(&reason[0])}
	case rc > 0:
		return pic, &PartialError{Reason: C.GoString(&reason[0])}
	}
	return pic, nil
}

// jpegSize reads how large a JPEG's picture is, in pixels as stored, as far as such a picture is
// decoded at all.
func jpegSize(data []byte) (w, h int, err error) {
	if len(data) < 4 || data[0] != 0xFF || data[1] != 0xD8 {
		return 0, 0, ErrFormat
	}
	t := C.tjInitDecompress()
	if t == nil {
		return 0, 0, errors.New("the JPEG decoder could not be started: out of memory")
	}
	defer C.tjDestroy(t)
	var cw, ch, subsampling, space C.int
	src := (*C.uchar)(unsafe.Pointer(unsafe.SliceData(data)))
	if C.tjDecompressHeader3(t, src, C.ulong(len(data)), &cw, &ch, &subsampling, &space) != 0 && C.tjGetErrorCode(t) != C.TJERR_WARNING {
		return 0, 0, &BrokenError{JPEG: true, Reason: C.GoString(C.tjGetErrorStr2(t))}
	}
	return int(cw), int(ch), checkSize(int(cw), int(ch), 1)
}

// EncodeJPEG writes the picture as a baseline JPEG of the given quality, 1..100 (libjpeg's
// scale), without metadata. half selects 4:2:0 colour; otherwise colour is kept at full
// resolution (4:4:4).
func EncodeJPEG(p *RGB, quality int, half bool) ([]byte, error) {
	if p.W < 1 || p.H < 1 || p.W > 65500 || p.H > 65500 || quality < 1 || quality > 100 {
		return nil, fmt.Errorf("a JPEG of %d x %d pixels at quality %d cannot be written", p.W, p.H, quality)
	}
	h := C.tjInitCompress()
	if h == nil {
		return nil, errors.New("the JPEG encoder could not be started: out of memory")
	}
	defer C.tjDestroy(h)
	sub := C.int(C.TJSAMP_444)
	if half {
		sub = C.TJSAMP_420
	}
	var buf *C.uchar
	var n C.ulong
	rc := C.tjCompress2(h, (*C.uchar)(unsafe.Pointer(unsafe.SliceData(p.Pix))), C.int(p.W), 0, C.int(p.H),
		C.TJPF_RGB, &buf, &n, sub, C.int(quality), C.TJFLAG_ACCURATEDCT)
	defer C.tjFree(buf)
	if rc != 0 {
		return nil, fmt.Errorf("the JPEG could not be written: %s", C.GoString(C.tjGetErrorStr2(h)))
	}
	return C.GoBytes(unsafe.Pointer(buf), C.int(n)), nil
}

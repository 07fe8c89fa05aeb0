package exifread

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"math"
	"strconv"
	"strings"
)

// auxSpace is the namespace of Adobe's additional EXIF properties (XMP part 2
// names the EXIF schemas; this one is documented in ExifTool's XMP tables).
const auxSpace = "http://ns.adobe.com/exif/1.0/aux/"

// maxXMP bounds a packet. The part that matters comes in the first kilobytes.
const maxXMP = 1 << 20

// xmpAt reads the XMP packet that stands at off.
func (x *extractor) xmpAt(off, length int64) {
	raw, err := x.src.bytes(off, int(min(length, maxXMP)))
	if err != nil {
		x.missing(err)
		return
	}
	x.xmp(raw)
}

// xmp takes over from an XMP packet what EXIF has no tag for. A packet that is not
// well formed gives what stands before its fault.
func (x *extractor) xmp(packet []byte) {
	if !bytes.Contains(packet, []byte(auxSpace)) {
		return
	}
	d := xml.NewDecoder(bytes.NewReader(packet))
	d.Strict = false
	var inside string
	for {
		token, err := d.Token()
		if err != nil {
			return
		}
		switch t := token.(type) {
		case xml.StartElement:
			inside = ""
			if t.Name.Space == auxSpace {
				inside = t.Name.Local
			}
			for _, a := range t.Attr {
				if a.Name.Space == auxSpace {
					x.auxProperty(a.Name.Local, a.Value)
				}
			}
		case xml.EndElement:
			inside = ""
		case xml.CharData:
			if inside != "" {
				x.auxProperty(inside, string(t))
			}
		}
	}
}

func (x *extractor) auxProperty(name, value string) {
	value = clean([]byte(value))
	switch name {
	case "Lens":
		x.lens(value)
	case "SerialNumber":
		setText(&x.m.Serial, value)
	case "ApproximateFocusDistance":
		x.distance(approximateDistance(value))
	}
}

// approximateDistance reads aux:ApproximateFocusDistance: metres, as a fraction
// ("39/100") or a decimal; 4294967295 stands for infinity (ExifTool's XMP tables).
func approximateDistance(s string) *FocusDistance {
	const source = "XMP.aux:ApproximateFocusDistance"
	num, den, isFraction := strings.Cut(s, "/")
	if isFraction {
		n, err1 := strconv.ParseInt(num, 10, 64)
		d, err2 := strconv.ParseInt(den, 10, 64)
		if err1 != nil || err2 != nil {
			return nil
		}
		return distanceOf(n, d, source)
	}
	v, err := strconv.ParseFloat(num, 64)
	switch {
	case err != nil || v <= 0 || math.IsInf(v, 0) || math.IsNaN(v):
		return nil
	case v == math.MaxUint32:
		return &FocusDistance{Infinity: true, Source: source}
	}
	return exactDistance(v, source)
}

// extendedXMP joins the parts of an XMP packet that was too long for one segment
// (XMP part 3 section 1.1.3.1): behind the head a 32-byte name, the full length,
// and the part's offset in the whole.
func (x *extractor) extendedXMP(parts []segment) {
	const nameLen, fields = 32, 40
	n := len(extendedXMPHead)
	var name string
	var packet []byte
	filled := 0
	for _, s := range parts {
		if s.length < n+fields {
			continue
		}
		head, err := x.src.bytes(s.off+int64(n), fields)
		if err != nil {
			x.missing(err)
			return
		}
		full := int64(binary.BigEndian.Uint32(head[nameLen:]))
		at := int64(binary.BigEndian.Uint32(head[nameLen+4:]))
		length := int64(s.length - n - fields)
		if packet == nil {
			// The whole cannot be longer than its parts together.
			if full > maxXMP || full > int64(len(parts))*0xFFFF {
				return
			}
			name, packet = string(head[:nameLen]), make([]byte, full)
		}
		if string(head[:nameLen]) != name || at+length > int64(len(packet)) {
			continue
		}
		raw, err := x.src.bytes(s.off+int64(n+fields), int(length))
		if err != nil {
			x.missing(err)
			return
		}
		filled += copy(packet[at:], raw)
	}
	if filled > 0 && filled >= len(packet) {
		x.xmp(packet)
	}
}

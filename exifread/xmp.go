package exifread

import (
	"bytes"
	"encoding/binary"
	"html"
	"math"
	"strconv"
	"strings"
)

// auxSpace is the namespace of Adobe's additional EXIF properties (XMP part 2
// names the EXIF schemas; this one is documented in ExifTool's XMP tables).
const auxSpace = "http://ns.adobe.com/exif/1.0/aux/"

// maxXMP bounds a packet. The part that matters comes in the first kilobytes.
const maxXMP = 1 << 20

// xmpAt reads the XMP packet that stands at off; of one that is cut off, what is
// there.
func (x *extractor) xmpAt(off, length int64) {
	raw, err := x.src.bytes(off, int(min(length, maxXMP, max(0, x.src.size-off))))
	if err != nil {
		x.missing(err)
		return
	}
	x.xmp(raw)
}

// xmp takes over from an XMP packet what EXIF has no tag for. It looks for three
// properties and does not parse the rest: packets of hundreds of kilobytes, full of
// an editor's history, are common, and an XML parser multiplies them in memory.
func (x *extractor) xmp(packet []byte) {
	prefix := namespacePrefix(packet, auxSpace)
	if prefix == "" {
		return
	}
	for _, name := range []string{"Lens", "SerialNumber", "ApproximateFocusDistance"} {
		x.auxProperty(name, xmpProperty(packet, prefix+":"+name))
	}
}

// namespacePrefix finds the prefix that the packet binds to a namespace with
// xmlns:prefix="space" (Namespaces in XML 1.0 section 3), "" for none.
func namespacePrefix(packet []byte, space string) string {
	const declaration, longest = "xmlns:", 32
	at := bytes.Index(packet, []byte(space))
	if at < 0 {
		return ""
	}
	before := packet[max(0, at-longest):at]
	i := bytes.LastIndex(before, []byte(declaration))
	if i < 0 {
		return ""
	}
	prefix, quote, ok := strings.Cut(string(before[i+len(declaration):]), "=")
	prefix, quote = strings.TrimSpace(prefix), strings.TrimSpace(quote)
	if !ok || quote != `"` && quote != "'" || strings.ContainsAny(prefix, " \t\r\n<>\"'") {
		return ""
	}
	return prefix
}

// xmpProperty returns a simple property, which XMP (ISO 16684-1 sections 7.4 and
// 7.9.2.2) writes as an attribute or as an element: key="value" or
// <key>value</key>.
func xmpProperty(packet []byte, key string) string {
	const blanks = " \t\r\n"
	for rest := packet; ; {
		at := bytes.Index(rest, []byte(key))
		if at < 1 {
			return ""
		}
		before := rest[at-1]
		rest = rest[at+len(key):]
		after := bytes.TrimLeft(rest, blanks)
		if len(after) == 0 {
			return ""
		}
		switch {
		case before == '<' && (rest[0] == '>' || len(after) < len(rest)): // perhaps with attributes
			_, text, ok := bytes.Cut(after, []byte(">"))
			if value, _, closed := bytes.Cut(text, []byte("<")); ok && closed {
				return unescape(value)
			}
		case strings.IndexByte(blanks, before) >= 0 && after[0] == '=':
			quoted := bytes.TrimLeft(after[1:], blanks)
			if len(quoted) == 0 || quoted[0] != '"' && quoted[0] != '\'' {
				continue
			}
			if value, _, closed := bytes.Cut(quoted[1:], quoted[:1]); closed {
				return unescape(value)
			}
		}
	}
}

// unescape resolves character references; no name or number is long.
func unescape(value []byte) string {
	return html.UnescapeString(string(value[:min(len(value), maxText)]))
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
			if full > maxXMP || full > int64(len(parts))*0xFFFF || x.src.charge(s.off, int(full)) != nil {
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

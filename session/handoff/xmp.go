package handoff

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"stillbench/session"
)

// The namespaces of XMP that are written, by the prefix that is common for them
// (ISO 16684-1, 8; IPTC Photo Metadata Standard; CIPA DC-010 for exif and exifEX).
var namespaces = map[string]string{
	"rdf":         "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
	"xml":         "http://www.w3.org/XML/1998/namespace",
	"dc":          "http://purl.org/dc/elements/1.1/",
	"xmp":         "http://ns.adobe.com/xap/1.0/",
	"photoshop":   "http://ns.adobe.com/photoshop/1.0/",
	"Iptc4xmpExt": "http://iptc.org/std/Iptc4xmpExt/2008-02-29/",
	"tiff":        "http://ns.adobe.com/tiff/1.0/",
	"exif":        "http://ns.adobe.com/exif/1.0/",
	"exifEX":      "http://cipa.jp/exif/1.0/",
}

// form is the form of a property's value.
type form int

const (
	text    form = iota
	langAlt      // a text by language; ours is the default one
	seq          // an ordered list
	bag          // a list without order: values that are missing are added
)

// property is one property to set. What is there already stays, but for a bag, which gains
// what it lacks, and for one with replace.
type property struct {
	prefix, name string
	form         form
	values       []string
	replace      bool
}

// emptyXMP is a sidecar without a property.
const emptyXMP = "<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
	"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n" +
	" <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n" +
	" </rdf:RDF>\n" +
	"</x:xmpmeta>\n" +
	"<?xpacket end=\"w\"?>\n"

// maxXMP bounds what is taken for a sidecar.
const maxXMP = 64 << 20

// errXMP: the text is no XMP that can be added to.
var errXMP = session.Fail("it is no XMP that can be added to")

func noXMP(why session.Text) error { return session.Fail("%s: %s", errXMP, why) }

// splice replaces the bytes from..to of a text.
type splice struct {
	from, to int
	with     string
}

func apply(data []byte, edits []splice) []byte {
	slices.SortStableFunc(edits, func(a, b splice) int { return a.from - b.from })
	var out bytes.Buffer
	at := 0
	for _, e := range edits {
		out.Write(data[at:e.from])
		out.WriteString(e.with)
		at = e.to
	}
	out.Write(data[at:])
	return out.Bytes()
}

// mergeXMP puts properties into a sidecar. All else of it stays, byte for byte: the text is
// spliced, never written anew. The error wraps errXMP.
func mergeXMP(data []byte, props []property) ([]byte, error) {
	edits, err := mergeEdits(data, props)
	if err != nil {
		return nil, err
	}
	return apply(data, edits), nil
}

func mergeEdits(data []byte, props []property) ([]splice, error) {
	doc, err := scanXMP(data)
	if err != nil {
		return nil, err
	}
	var edits []splice
	var fresh []property
	for _, p := range props {
		if len(p.values) == 0 {
			continue
		}
		name := xml.Name{Space: namespaces[p.prefix], Local: p.name}
		at := doc.props[name]
		switch {
		case at == nil:
			fresh = append(fresh, p)
		case p.form == bag:
			e, err := at.addTo(p)
			if err != nil {
				return nil, err
			}
			edits = append(edits, e...)
		case p.replace:
			if at.valueFrom < 0 || bytes.IndexByte(data[at.valueFrom:at.valueTo], '<') >= 0 {
				return nil, noXMP(session.Say("%s:%s has an unusual form", p.prefix, p.name))
			}
			if with := escape(p.values[0]); string(data[at.valueFrom:at.valueTo]) != with {
				edits = append(edits, splice{at.valueFrom, at.valueTo, with})
			}
		}
	}
	if len(fresh) > 0 {
		edits = append(edits, doc.insert(fresh))
	}
	return edits, nil
}

// xmpDoc is what is known of the text of a sidecar.
type xmpDoc struct {
	prefix string // of rdf:RDF's name, with its colon
	about  string // as it stands in the text, escaped
	end    int    // where rdf:RDF's end tag begins; of an empty element, where its "/>" begins
	empty  bool   // rdf:RDF is an empty element
	props  map[xml.Name]*xmpProp
	// prefixes are those that the text has for namespaces. Some readers (exiv2) take no two
	// for one, though XML allows it.
	prefixes map[string]string
}

// prefixesFor gives the prefixes to write for namespaces, by their common ones: no two are
// the same.
func (x *xmpDoc) prefixesFor(common []string) map[string]string {
	out, taken := map[string]string{}, map[string]bool{}
	for _, c := range common {
		p, ok := x.prefixes[namespaces[c]]
		if !ok || taken[p] || strings.Contains(p, ":") || strings.HasPrefix(strings.ToLower(p), "xml") {
			p = c
		}
		for taken[p] {
			p += "_"
		}
		out[c], taken[p] = p, true
	}
	return out
}

// xmpProp is where a property stands.
type xmpProp struct {
	valueFrom, valueTo int // of a simple value, -1 for none
	// The array in it, if there is one.
	array    bool
	prefix   string // of its name, with its colon
	items    []string
	from, to int  // of the end tag; of an empty element, of the "/>"
	empty    bool // the array is an empty element
	tag      string
}

// addTo adds to an array the values that it lacks.
func (x *xmpProp) addTo(p property) ([]splice, error) {
	if !x.array {
		return nil, noXMP(session.Say("%s:%s is no list", p.prefix, p.name))
	}
	var b strings.Builder
	for _, v := range p.values {
		if !slices.Contains(x.items, v) {
			fmt.Fprintf(&b, "<%sli>%s</%sli>", x.prefix, escape(v), x.prefix)
		}
	}
	switch {
	case b.Len() == 0:
		return nil, nil
	case x.empty:
		return []splice{{x.from, x.to, ">" + b.String() + "</" + x.tag + ">"}}, nil
	}
	return []splice{{x.from, x.from, b.String()}}, nil
}

// insert puts properties that are not there into an rdf:Description of their own.
func (x *xmpDoc) insert(props []property) splice {
	var b strings.Builder
	used := []string{"rdf"}
	for _, p := range props {
		if !slices.Contains(used, p.prefix) {
			used = append(used, p.prefix)
		}
	}
	prefix := x.prefixesFor(used)
	rdf := prefix["rdf"]
	fmt.Fprintf(&b, " <%s:Description %s:about=%s", rdf, rdf, x.about)
	for _, p := range used {
		fmt.Fprintf(&b, "\n    xmlns:%s=\"%s\"", prefix[p], namespaces[p])
	}
	b.WriteString(">\n")
	for _, p := range props {
		name := prefix[p.prefix] + ":" + p.name
		fmt.Fprintf(&b, "   <%s>", name)
		switch p.form {
		case text:
			b.WriteString(escape(p.values[0]))
		case langAlt:
			fmt.Fprintf(&b, "<%s:Alt><%s:li xml:lang=\"x-default\">%s</%s:li></%s:Alt>", rdf, rdf, escape(p.values[0]), rdf, rdf)
		default:
			list := map[form]string{bag: rdf + ":Bag", seq: rdf + ":Seq"}[p.form]
			fmt.Fprintf(&b, "<%s>", list)
			for _, v := range p.values {
				fmt.Fprintf(&b, "<%s:li>%s</%s:li>", rdf, escape(v), rdf)
			}
			fmt.Fprintf(&b, "</%s>", list)
		}
		fmt.Fprintf(&b, "</%s>\n", name)
	}
	fmt.Fprintf(&b, "  </%s:Description>\n ", rdf)
	if x.empty {
		return splice{x.end, x.end + 2, ">\n " + b.String() + "</" + x.prefix + "RDF>"}
	}
	return splice{x.end, x.end, b.String()}
}

// escape makes character data of a text: what XML cannot hold becomes U+FFFD.
func escape(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

// open is an element that has begun.
type open struct {
	name  xml.Name          // resolved
	raw   string            // as it stands in the text
	scope map[string]string // namespaces by prefix
	empty bool
}

// scanner walks through a sidecar.
type scanner struct {
	data  []byte
	stack []open
	doc   *xmpDoc
	prop  *xmpProp // the property that is open, at depth 3 under rdf:RDF's Description
	item  *strings.Builder
	rdf   int // depth of rdf:RDF, -1 before it
}

// scanXMP finds where things stand in a sidecar.
func scanXMP(data []byte) (*xmpDoc, error) {
	if len(data) > maxXMP {
		return nil, noXMP(session.Say("it is %d MB long", len(data)>>20))
	}
	if !utf8.Valid(data) {
		return nil, noXMP(session.Say("it is not in UTF-8"))
	}
	s := scanner{data: data, doc: &xmpDoc{about: `""`, end: -1, props: map[xml.Name]*xmpProp{}, prefixes: map[string]string{}}, rdf: -1}
	dec := xml.NewDecoder(bytes.NewReader(data))
	dec.CharsetReader = func(string, io.Reader) (io.Reader, error) { return nil, noXMP(session.Say("it is not in UTF-8")) }
	for {
		from := int(dec.InputOffset())
		t, err := dec.RawToken()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, noXMP(session.Say("%v", err))
		}
		if err := s.take(t, from, int(dec.InputOffset())); err != nil {
			return nil, err
		}
	}
	switch {
	case len(s.stack) > 0:
		return nil, noXMP(session.Say("%s has no end", s.stack[len(s.stack)-1].raw))
	case s.doc.end < 0:
		return nil, noXMP(session.Say("it has no rdf:RDF"))
	}
	return s.doc, nil
}

func (s *scanner) take(t xml.Token, from, to int) error {
	switch t := t.(type) {
	case xml.StartElement:
		return s.start(t, from, to)
	case xml.EndElement:
		return s.end(t, from, to)
	case xml.CharData:
		if s.item != nil {
			s.item.Write(t)
		}
	case xml.Directive:
		return noXMP(session.Say("it has a document type"))
	}
	return nil
}

func rawName(n xml.Name) string {
	if n.Space == "" {
		return n.Local
	}
	return n.Space + ":" + n.Local
}

func (s *scanner) start(t xml.StartElement, from, to int) error {
	if len(s.stack) > 200 {
		return noXMP(session.Say("its elements are nested too deep"))
	}
	e := open{raw: rawName(t.Name), scope: map[string]string{"xml": namespaces["xml"]}}
	if n := len(s.stack); n > 0 {
		e.scope = s.stack[n-1].scope
	}
	copied := false
	seen := map[xml.Name]bool{}
	for _, a := range t.Attr {
		if seen[a.Name] {
			return noXMP(session.Say("%s has the attribute %s twice", e.raw, rawName(a.Name)))
		}
		seen[a.Name] = true
		prefix := ""
		if a.Name.Space == "xmlns" {
			prefix = a.Name.Local
		} else if a.Name.Space != "" || a.Name.Local != "xmlns" {
			continue
		}
		if !copied {
			scope := make(map[string]string, len(e.scope)+1)
			for k, v := range e.scope {
				scope[k] = v
			}
			e.scope, copied = scope, true
		}
		e.scope[prefix] = a.Value
		if _, ok := s.doc.prefixes[a.Value]; !ok && prefix != "" {
			s.doc.prefixes[a.Value] = prefix
		}
	}
	uri, ok := e.scope[t.Name.Space]
	if !ok && t.Name.Space != "" {
		return noXMP(session.Say("the prefix %s stands for nothing", t.Name.Space))
	}
	e.name = xml.Name{Space: uri, Local: t.Name.Local}
	e.empty = from < to && bytes.HasSuffix(s.data[from:to], []byte("/>"))
	s.stack = append(s.stack, e)
	return s.opened(t, e, from, to)
}

// opened looks at an element that has just begun.
func (s *scanner) opened(t xml.StartElement, e open, from, to int) error {
	rdf := namespaces["rdf"]
	depth := len(s.stack) - 1
	switch {
	case e.name == xml.Name{Space: rdf, Local: "RDF"}:
		if s.rdf >= 0 || s.doc.end >= 0 {
			return noXMP(session.Say("it has two rdf:RDF"))
		}
		s.rdf = depth
		s.doc.prefix = strings.TrimSuffix(e.raw, "RDF")
		if e.empty {
			s.doc.empty, s.doc.end = true, to-2
		}
	case s.rdf < 0:
	case depth == s.rdf+1:
		if e.name == (xml.Name{Space: rdf, Local: "Description"}) {
			return s.description(t, e, from, to)
		}
	case depth == s.rdf+2 && s.stack[depth-1].name == (xml.Name{Space: rdf, Local: "Description"}):
		if s.doc.props[e.name] != nil {
			return noXMP(session.Say("%s stands there twice", e.raw))
		}
		s.prop = &xmpProp{valueFrom: -1}
		names := func(a xml.Attr) bool { return a.Name.Space == "xmlns" || a.Name.Space == "" && a.Name.Local == "xmlns" }
		if !e.empty && !slices.ContainsFunc(t.Attr, func(a xml.Attr) bool { return !names(a) }) {
			s.prop.valueFrom = to
		}
		s.doc.props[e.name] = s.prop
	case depth == s.rdf+3 && s.prop != nil:
		s.prop.valueFrom = -1 // it is no simple one
		if e.name.Space == rdf && slices.Contains([]string{"Bag", "Seq", "Alt"}, e.name.Local) {
			p := s.prop
			p.array, p.tag, p.prefix, p.empty = true, e.raw, strings.TrimSuffix(e.raw, e.name.Local), e.empty
			if e.empty {
				p.from, p.to = to-2, to
			}
		}
	case depth == s.rdf+4 && s.prop != nil && s.prop.array:
		s.item = &strings.Builder{}
	}
	return nil
}

// description looks at the attributes of an rdf:Description: properties may stand there.
func (s *scanner) description(t xml.StartElement, e open, from, to int) error {
	at := from + 1 + len(e.raw)
	for _, a := range t.Attr {
		name, valueFrom, valueTo, next, err := nextAttr(s.data[:to], at)
		if err != nil || name != rawName(a.Name) {
			return noXMP(session.Say("the attributes of %s cannot be read", e.raw))
		}
		at = next
		uri, ok := e.scope[a.Name.Space]
		if a.Name.Space == "" || a.Name.Space == "xmlns" || !ok {
			continue
		}
		full := xml.Name{Space: uri, Local: a.Name.Local}
		if full == (xml.Name{Space: namespaces["rdf"], Local: "about"}) {
			if s.doc.about == `""` {
				s.doc.about = string(s.data[valueFrom-1 : valueTo+1])
			}
			continue
		}
		if s.doc.props[full] != nil {
			return noXMP(session.Say("%s stands there twice", rawName(a.Name)))
		}
		s.doc.props[full] = &xmpProp{valueFrom: valueFrom, valueTo: valueTo}
	}
	return nil
}

// nextAttr finds the next attribute from a place inside a tag on: its name, and where its
// value stands between the quotes.
func nextAttr(data []byte, at int) (name string, from, to, next int, err error) {
	space := func(c byte) bool { return c == ' ' || c == '\t' || c == '\n' || c == '\r' }
	for at < len(data) && space(data[at]) {
		at++
	}
	start := at
	for at < len(data) && !space(data[at]) && data[at] != '=' {
		at++
	}
	name = string(data[start:at])
	for at < len(data) && (space(data[at]) || data[at] == '=') {
		at++
	}
	if at >= len(data) || data[at] != '"' && data[at] != '\'' {
		return "", 0, 0, 0, errXMP
	}
	n := bytes.IndexByte(data[at+1:], data[at])
	if n < 0 {
		return "", 0, 0, 0, errXMP
	}
	return name, at + 1, at + 1 + n, at + n + 2, nil
}

func (s *scanner) end(t xml.EndElement, from, to int) error {
	n := len(s.stack) - 1
	if n < 0 || s.stack[n].raw != rawName(t.Name) {
		return noXMP(session.Say("%s ends where it did not begin", rawName(t.Name)))
	}
	e := s.stack[n]
	s.stack = s.stack[:n]
	switch {
	case s.rdf < 0:
	case n == s.rdf:
		if !e.empty {
			s.doc.end = from
		}
		s.rdf = -1
	case n == s.rdf+2 && s.prop != nil:
		if s.prop.valueFrom >= 0 {
			s.prop.valueTo = from
		}
		s.prop = nil
	case n == s.rdf+3 && s.prop != nil && s.prop.array && !e.empty:
		s.prop.from, s.prop.to = from, to
	case n == s.rdf+4 && s.item != nil:
		s.prop.items = append(s.prop.items, s.item.String())
		s.item = nil
	}
	return nil
}

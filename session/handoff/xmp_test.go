package handoff

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"stillbench/session"
)

// asWritten are sidecars in the forms that XMP allows (ISO 16684-1, 7), all invented: by
// attributes, by elements, both, with other prefixes, with empty elements and lists.
var asWritten = map[string]string{
	"ours":               emptyXMP,
	"elements":           ownXMP,
	"empty RDF":          `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"/></x:xmpmeta>`,
	"attributes":         `<x:xmpmeta xmlns:x="adobe:ns:meta/"><r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><r:Description r:about='uuid:1' xmlns:q="http://ns.adobe.com/xap/1.0/" q:Rating = "3" xmlns:photoshop="http://ns.adobe.com/photoshop/1.0/" photoshop:Headline="a &lt; b"/></r:RDF></x:xmpmeta>`,
	"dc by another name": `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about='' xmlns:q="http://ns.adobe.com/xap/1.0/" q:Rating = "3"><d:format xmlns:d="http://purl.org/dc/elements/1.1/">x</d:format></rdf:Description></rdf:RDF></x:xmpmeta>`,
	"lists": "<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\r\n" + `<x:xmpmeta xmlns:x="adobe:ns:meta/" x:xmptk="t"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:d="http://purl.org/dc/elements/1.1/"><d:subject><rdf:Bag/></d:subject></rdf:Description>
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/"><xmp:Rating>2</xmp:Rating><xmp:MetadataDate>2020-01-01</xmp:MetadataDate></rdf:Description>
</rdf:RDF></x:xmpmeta>` + "\r\n   \r\n<?xpacket end=\"w\"?>",
	"structures": `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:n="http://example.org/n/"><rdf:Description rdf:about=""><n:a rdf:parseType="Resource"><n:b>1</n:b></n:a><n:c><rdf:Description n:d="2"/></n:c></rdf:Description></rdf:RDF></x:xmpmeta>`,
}

func propsOf(reject bool) []property {
	k := invented()
	k.Frames[0].SetAside = reject
	k.Frames[0].Meta.ShutterSeconds, k.Frames[0].Meta.ISO, k.Frames[0].Meta.Lens = ptr(1.0/6), ptr(200), "Vellmar \"100\" <mm>"
	k.Setup.Notes = "öäü & <so on>\x00 ]]>"
	return properties(k, k.Frames[0], reject, taken0)
}

// onePrefix is legal XML that exiv2 cannot follow: a prefix that stands for two namespaces.
const onePrefix = `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=''><d:format xmlns:d="http://purl.org/dc/elements/1.1/">x</d:format><d:Rating xmlns:d="http://ns.adobe.com/xap/1.0/">3</d:Rating></rdf:Description></rdf:RDF></x:xmpmeta>`

// TestMerge: what was there stays byte for byte in its order, but for the values that are
// replaced; the result is XML, and merging again changes nothing.
func TestMerge(t *testing.T) {
	for name, in := range asWritten {
		props := propsOf(true)
		edits, err := mergeEdits([]byte(in), props)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		replaced := 0
		for _, e := range edits {
			if was := in[e.from:e.to]; was != "" && was != "/>" {
				replaced++
				if !slices.Contains([]string{"2", "3", "4", "2020-01-01"}, was) {
					t.Errorf("%s: %q was replaced", name, was)
				}
			}
		}
		out := apply([]byte(in), edits)
		checkXML(t, out)
		again, err := mergeXMP(out, props)
		if err != nil || !bytes.Equal(again, out) {
			t.Errorf("%s: merged twice it is another, %v", name, err)
		}
		if name != "structures" && name != "ours" && name != "empty RDF" && replaced == 0 {
			t.Errorf("%s: the rating was not replaced", name)
		}
	}
	if out, err := mergeXMP([]byte(onePrefix), propsOf(true)); err != nil || !bytes.Contains(out, []byte(`xap/1.0/">-1</d:Rating>`)) {
		t.Errorf("one prefix for two: %v\n%s", err, out)
	} else {
		checkXML(t, out)
		if _, err := scanXMP(out); err != nil {
			t.Error(err)
		}
	}
	if out, err := mergeXMP([]byte("\uFEFF"+ownXMP), propsOf(true)); err != nil || !bytes.HasPrefix(out, []byte("\uFEFF<x:xmpmeta")) {
		t.Errorf("behind a byte order mark: %v", err)
	}
	for name, in := range map[string]string{
		"no XML": "hello", "cut": ownXMP[:300], "no RDF": "<a/>", "UTF-16": "\xff\xfe<\x00", "document type": `<!DOCTYPE a [<!ENTITY b "c">]>` + ownXMP,
		"twice":     strings.Replace(ownXMP, "<own:Steps>", "<xmp:Rating>1</xmp:Rating><own:Steps>", 1),
		"no list":   strings.NewReplacer("<rdf:Bag><rdf:li>", "", "</rdf:li></rdf:Bag>", "").Replace(ownXMP),
		"two roots": ownXMP + ownXMP, "": "",
	} {
		if _, err := mergeXMP([]byte(in), propsOf(true)); !errors.Is(err, errXMP) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func checkXML(t *testing.T, data []byte) {
	t.Helper()
	for dec := xml.NewDecoder(bytes.NewReader(data)); ; {
		if _, err := dec.Token(); err != nil {
			if err.Error() != "EOF" {
				t.Errorf("%v in\n%s", err, data)
			}
			return
		}
	}
}

// FuzzMerge: of any text either nothing is made, or what was there stays in its order but for
// simple values, what comes out can be read, and merging again changes nothing.
func FuzzMerge(f *testing.F) {
	for _, s := range asWritten {
		f.Add([]byte(s), "a<b>&\"'")
	}
	f.Add([]byte(onePrefix), "")
	f.Fuzz(func(t *testing.T, in []byte, word string) {
		props := append(propsOf(true), property{prefix: "photoshop", name: "City", values: []string{word}})
		props[1].values = append(props[1].values, word)
		edits, err := mergeEdits(in, props)
		if err != nil {
			return
		}
		for _, e := range edits {
			if was := string(in[e.from:e.to]); was != "/>" && strings.ContainsAny(was, "<>") {
				t.Errorf("%q was replaced", was)
			}
		}
		out := apply(in, edits)
		if !utf8.Valid(out) {
			t.Error("it is UTF-8 no more")
		}
		if _, err := scanXMP(out); err != nil {
			t.Errorf("%v in\n%s\nof\n%s", err, out, in)
		}
		if slices.ContainsFunc([]rune(word), func(r rune) bool { return escape(string(r)) == "\uFFFD" }) {
			return // such a word is not found again
		}
		if again, err := mergeXMP(out, props); err != nil || !bytes.Equal(again, out) {
			t.Errorf("merged twice: %v\n%s\n%s", err, out, again)
		}
	})
}

// TestReadBack: ExifTool and exiv2 read what was written, and what was there before. The keys
// are theirs: ExifTool's tag names, exiv2's "Xmp.schema.Property".
func TestReadBack(t *testing.T) {
	dir := t.TempDir()
	for name, in := range asWritten {
		out, err := mergeXMP([]byte(in), propsOf(true))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, strings.ReplaceAll(name, " ", "")+".xmp")
		if err := os.WriteFile(path, out, 0o666); err != nil {
			t.Fatal(err)
		}
		t.Run("exiftool "+name, func(t *testing.T) {
			need(t, "exiftool")
			data, err := exec.Command("exiftool", "-j", "-n", "-struct", path).Output()
			if err != nil {
				t.Fatal(err)
			}
			var all []map[string]any
			if err := json.Unmarshal(data, &all); err != nil {
				t.Fatal(err)
			}
			got := all[0]
			if got["Warning"] != nil || got["Error"] != nil {
				t.Errorf("%v %v", got["Warning"], got["Error"])
			}
			want := map[string]any{
				"Rating": -1.0, "FNumber": 3.5, "ExposureTime": 1.0 / 6, "LensModel": "Vellmar \"100\" <mm>", "Title": "Stack 4 · pine cone",
				"Instructions": "Set aside from stack 4. Not for blending.", "DateTimeOriginal": "2026:05:16 10:11:12", "DigitalSourceType": digitalCapture,
			}
			if name == "elements" {
				want["Title"], want["Dial"] = "mine", 7.0
			}
			if name == "attributes" {
				want["Headline"] = "a < b"
			}
			for k, v := range want {
				if f, ok := v.(float64); ok {
					if g, ok := got[k].(float64); !ok || g < f-1e-6 || g > f+1e-6 {
						t.Errorf("%s is %v, want %v", k, got[k], v)
					}
				} else if got[k] != v {
					t.Errorf("%s is %v, want %v", k, got[k], v)
				}
			}
			var words []string
			list, _ := got["Subject"].([]any)
			for _, w := range list {
				words = append(words, w.(string))
			}
			for _, w := range []string{"pine cone", "stack 4", "set aside", "light from back-left", "light high"} {
				if !slices.Contains(words, w) {
					t.Errorf("%q is no keyword in %q", w, words)
				}
			}
			if name == "elements" && !slices.Contains(words, "kept & known") {
				t.Errorf("the keyword that was there is gone: %q", words)
			}
		})
		t.Run("exiv2 "+name, func(t *testing.T) {
			need(t, "exiv2")
			before := filepath.Join(t.TempDir(), "before.xmp")
			if err := os.WriteFile(before, []byte(in), 0o666); err != nil {
				t.Fatal(err)
			}
			if data, _ := exec.Command("exiv2", "-q", "-PXkv", before).Output(); len(data) == 0 && strings.Contains(in, "about=") {
				t.Skip("exiv2 does not read this form to begin with")
			}
			data, err := exec.Command("exiv2", "-q", "-PXkv", path).Output()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			got := map[string]string{}
			for line := range strings.SplitSeq(string(data), "\n") {
				k, v, _ := strings.Cut(line, " ")
				got[k] = strings.TrimSpace(v)
			}
			for k, v := range map[string]string{
				"Xmp.xmp.Rating": "-1", "Xmp.exif.FNumber": "7/2", "Xmp.exif.ExposureTime": "1/6", "Xmp.exif.ISOSpeedRatings": "200",
				"Xmp.photoshop.Instructions": "Set aside from stack 4. Not for blending.",
			} {
				if got[k] != v {
					t.Errorf("%s is %q, want %q in\n%s", k, got[k], v, data)
				}
			}
			if !strings.Contains(got["Xmp.dc.subject"], "light from back-left") {
				t.Errorf("keywords %q", got["Xmp.dc.subject"])
			}
		})
	}
}

func need(t *testing.T, tool string) {
	t.Helper()
	if _, err := exec.LookPath(tool); err != nil {
		t.Skipf("%s is not installed", tool)
	}
}

func TestRational(t *testing.T) {
	for v, want := range map[float64]string{10: "10/1", 3.5: "7/2", 1.0 / 6: "1/6", 0.1666667: "1/6", 2.5: "5/2", 0: "0/1", -0.7: "-7/10", 0.3: "3/10", 1.0 / 8000: "1/8000", 6.3: "63/10", 1e9: ""} {
		if got := rational(v); got != want {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
}

// TestSidecars: one sidecar an exposure, merged with the one that lay there, which stays as it
// was; one that is no XMP goes along untouched, and is named.
func TestSidecars(t *testing.T) {
	s, out := bench(t), t.TempDir()
	put(t, filepath.Join(s.Dir, "A0002.JPG.XMP"), "no XMP")
	before := look(t, s.Dir)
	r := handOn(t, s, out, Options{Sidecars: true, Reject: true, Others: true})
	if len(r.Problems) != 1 || !strings.Contains(r.Problems[0].Sentence.String(), "A0002.JPG.XMP is handed on as it was") {
		t.Errorf("%+v", r.Problems)
	}
	got := look(t, out)
	text := func(name string) string {
		_, after, _ := strings.Cut(got[name], "UTC")
		return after
	}
	folder := "2026-05-16 01 pine cone f10/"
	if text(folder+"A0002.JPG.XMP") != "no XMP" {
		t.Error("what is no XMP was touched")
	}
	if x := text(folder + "A0003.xmp"); !strings.Contains(x, `own:Dial="7"`) || !strings.Contains(x, "stack 1") || strings.Contains(x, ">-1<") {
		t.Errorf("%s", x)
	}
	if x := text(folder + "set aside/A0004.xmp"); !strings.Contains(x, "<xmp:Rating>-1<") || !strings.Contains(x, "<rdf:li>set aside<") {
		t.Errorf("%s", x)
	}
	if x := text("markers/A0001.xmp"); !strings.Contains(x, "<rdf:li>marker<") {
		t.Errorf("%s", x)
	}
	if after := look(t, s.Dir); len(after) != len(before) {
		t.Error("something was put beside the frames")
	}
	for _, k := range r.Stacks {
		for _, x := range k.Sidecars {
			if x.SHA256 != hashText([]byte(text(x.To))) {
				t.Errorf("the hash of %s is another", x.To)
			}
		}
	}
	// A move keeps the old sidecar, and puts it back.
	moved := t.TempDir()
	handOn(t, s, moved, Options{As: Move, Sidecars: true})
	if r, err := Undo(t.Context(), moved, nil); err != nil || len(r.Problems) > 0 {
		t.Errorf("%+v, %v", r, err)
	}
	after := look(t, s.Dir)
	for name, content := range before {
		if after[name] != content {
			t.Errorf("%s is not as it was", name)
		}
	}
	if left := look(t, moved); len(left) != 0 {
		t.Errorf("left: %q", namesOf(left))
	}
}

// TestExposureTimes: a time with an offset keeps it.
func TestExposureTimes(t *testing.T) {
	m := session.Meta{Taken: time.Date(2026, 5, 16, 10, 11, 12, 340e6, time.FixedZone("", 7200)), TakenHasOffset: true}
	if got := taken(m)[0].values[0]; got != "2026-05-16T10:11:12.34+02:00" {
		t.Error(got)
	}
}

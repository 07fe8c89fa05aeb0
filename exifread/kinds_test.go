package exifread

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"testing"

	"stillbench/exifread/exiftest"
)

func distanceText(d *FocusDistance) string {
	if d == nil {
		return "none"
	}
	text := func(p *float64) string {
		if p == nil {
			return "-"
		}
		return fmt.Sprint(*p)
	}
	return fmt.Sprintf("%s..%s m (infinity %v, step %v) from %s", text(d.NearM), text(d.FarM), d.Infinity, d.StepM, d.Source)
}

// xmpPacket is a packet with a focus distance, as an editor writes it.
func xmpPacket(distance string) []byte {
	return append(bytes.Clone(xmpHead), xmpBody(distance)...)
}

func xmpBody(distance string) []byte {
	return []byte(`<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">` +
		`<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about=""` +
		` xmlns:aux="http://ns.adobe.com/exif/1.0/aux/" aux:Lens="invented 90mm macro" aux:SerialNumber="5150"` +
		` aux:ApproximateFocusDistance="` + distance + `"/></rdf:RDF></x:xmpmeta><?xpacket end="w"?>`)
}

func pngXMPChunk(distance string) []byte {
	return pngChunk("iTXt", append([]byte("XML:com.adobe.xmp\x00\x00\x00\x00\x00"), xmpBody(distance)...))
}

// multiPicture makes a JPEG with a second one behind it, listed in an index (CIPA
// DC-007 section 5.2).
func multiPicture(t testing.TB) []byte {
	l := layout{order: binary.BigEndian}
	first, second := picture(t, 64, 48), picture(t, 32, 24)
	segment := func(firstLen, secondOff uint32) []byte {
		entries := l.u32(0x030000, firstLen, 0, 0, 0, uint32(len(second)), secondOff, 0)
		return append([]byte("MPF\x00"), append(l.header("MM\x00*"), l.directory(8, 0,
			l.undefined(0xB000, []byte("0100")), l.long(0xB001, 2), l.undefined(0xB002, entries))...)...)
	}
	whole := withSegment(first, markAPP2, segment(0, 0))
	// Offsets count from the index's TIFF header: SOI 2, marker and length 4, "MPF" 4.
	whole = withSegment(first, markAPP2, segment(uint32(len(whole)), uint32(len(whole)-10)))
	return append(whole, second...)
}

// tiffKinds makes one small file of every TIFF-shaped kind, with a note or private
// tags where the kind has them.
func tiffKinds(t testing.TB) (out [][]byte) {
	for _, k := range tiffKindList(t) {
		out = append(out, k.data)
	}
	return out
}

type kind struct {
	container string
	data      []byte
}

func tiffKindList(t testing.TB) []kind {
	little, big := layout{order: binary.LittleEndian}, layout{order: binary.BigEndian}
	jpg := picture(t, 40, 30)
	bigTIFF := layout{binary.LittleEndian, true}
	dng := []tiffField{little.long(tagDNGVersion, 0x00000401)}
	return []kind{
		{nefFile, rawFile(t, big, "MM\x00*", "NIKON CORPORATION", nil, nil, jpg)},
		{arwFile, rawFile(t, little, "II*\x00", "SONY", nil, nil, jpg)},
		{pefFile, rawFile(t, big, "MM\x00*", "PENTAX Corporation", nil, nil, jpg)},
		{pefFile, rawFile(t, little, "II*\x00", "RICOH IMAGING COMPANY, LTD.", nil, nil, jpg)},
		{orfFile, rawFile(t, little, "IIRO", "OLYMPUS IMAGING CORP.", nil, nil, jpg)},
		{orfFile, rawFile(t, big, "MMOR", "OLYMPUS IMAGING CORP.", nil, nil, jpg)},
		{rw2File, rawFile(t, little, "IIU\x00", "Panasonic", nil, nil, jpg)},
		{dngFile, rawFile(t, little, "II*\x00", "Lumen & Fells", dng, nil, jpg)},
		{tiffFile, rawFile(t, little, "II*\x00", "Lumen & Fells", nil, nil, jpg)},
		{dngFile, rawFile(t, bigTIFF, "II+\x00", "Lumen & Fells", dng, nil, jpg)},
		{tiffFile, rawFile(t, layout{binary.BigEndian, true}, "MM\x00+", "Lumen & Fells", nil, nil, jpg)},
	}
}

func builtCR3(t testing.TB) []byte {
	l := layout{order: binary.LittleEndian}
	ifd0 := append(l.header("II*\x00"), l.directory(8, 0,
		l.short(tagImageWidth, 6000), l.short(tagImageLength, 4000),
		l.text(tagMake, "Canon"), l.text(tagModel, "invented"), l.short(tagOrientation, 8))...)
	exif := append(l.header("II*\x00"), l.directory(8, 0,
		l.rational(tagExposureTime, 1, 8), l.rational(tagFNumber, 56, 10), l.short(tagSensitivity, 200),
		l.text(tagDateTimeOriginal, "2026:05:02 10:11:12"))...)
	note := append(l.header("II*\x00"), makerNotes(l)["Canon"].note(l, 8)...)
	return cr3FileOf(ifd0, exif, note, picture(t, 40, 30), picture(t, 64, 48))
}

func read(t *testing.T, data []byte) *Metadata {
	t.Helper()
	m, err := Read(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	checkSane(t, m, int64(len(data)))
	return m
}

// checkPreview holds that the preview is where the builder put a JPEG.
func checkPreview(t *testing.T, data []byte, p *Preview, w, h int) {
	t.Helper()
	if p == nil {
		t.Fatal("no preview")
	}
	if p.Width != w || p.Height != h {
		t.Errorf("preview of %d x %d, want %d x %d", p.Width, p.Height, w, h)
	}
	got := data[p.Offset:][:p.Length]
	if !bytes.HasPrefix(got, []byte{0xFF, 0xD8}) || !bytes.HasSuffix(got, []byte{0xFF, 0xD9}) {
		t.Error("the preview does not run from SOI to EOI")
	}
}

func TestTIFFShapedKinds(t *testing.T) {
	for _, k := range tiffKindList(t) {
		t.Run(k.container, func(t *testing.T) {
			m := read(t, k.data)
			if m.Container != k.container {
				t.Errorf("taken for %s", m.Container)
			}
			if orZero(m.FNumber) != 5.6 || orZero(m.ShutterSeconds) != 0.125 || orZero(m.ISO) != 200 || orZero(m.FocalLengthMM) != 90 {
				t.Errorf("read %+v", m)
			}
			if orZero(m.Width) != 6000 || orZero(m.Height) != 4000 {
				t.Errorf("sensor image of %v x %v, want that of the sub-directory that is not reduced", orZero(m.Width), orZero(m.Height))
			}
			checkPreview(t, k.data, m.Preview, 40, 30)
			if len(m.Missing) > 0 {
				t.Errorf("missing: %v", m.Missing)
			}
		})
	}
}

// TestPreviewOfAnORF: the large preview stands behind two tags of the maker note
// (ExifTool, Olympus.pm, CameraSettings 0x0101 and 0x0102), counted from the note.
func TestPreviewOfAnORF(t *testing.T) {
	l := layout{order: binary.LittleEndian}
	jpg := picture(t, 80, 60)
	note := func() []byte {
		main := func(at int) []byte { return l.directory(16, 0, l.long(0x2020, uint32(at))) }
		at := 16 + len(main(0))
		settings := func(start int) []byte {
			return l.directory(at, 0, l.long(0x0101, uint32(start)), l.long(0x0102, uint32(len(jpg))))
		}
		start := at + len(settings(0))
		return bytes.Join([][]byte{[]byte("OM SYSTEM\x00\x00\x00II\x04\x00"), main(at), settings(start), jpg}, nil)
	}
	data := rawFile(t, l, "IIRO", "OM Digital Solutions", nil, note(), picture(t, 40, 30))
	checkPreview(t, data, read(t, data).Preview, 80, 60)
}

// TestCutFilesGiveWhatIsThere: what stands before the cut is read, and a sentence
// says that something is missing.
func TestCutFilesGiveWhatIsThere(t *testing.T) {
	files := fixtures(t, "jpg", "cr3", "arw", "nef")
	for _, tt := range []struct {
		name     string
		keep     int
		model    string
		distance bool
	}{
		{"canon-canon-eos-5d-mark-iii-1.jpg", 1000, "Canon EOS 5D Mark III", false}, // within the EXIF segment
		{"canon-canon-eos-5d-mark-iii-1.jpg", 60000, "Canon EOS 5D Mark III", true},
		{"exiftool-CanonRaw.cr3", 1000, "Canon EOS M50", false}, // within moov
		{"exiftool-CanonRaw.cr3", 5000, "Canon EOS M50", true},
		{"bep-sample.arw", 1000, "DSLR-A330", false},
		{"exiftool-Nikon.nef", 1000, "NIKON D70", false},
	} {
		data := files[tt.name][:tt.keep]
		m, err := Read(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Errorf("%s cut to %d: %v", tt.name, tt.keep, err)
			continue
		}
		if m.Model != tt.model || (m.FocusDistance != nil) != tt.distance {
			t.Errorf("%s cut to %d: model %q, distance %s", tt.name, tt.keep, m.Model, distanceText(m.FocusDistance))
		}
		if len(m.Missing) == 0 {
			t.Errorf("%s cut to %d: nothing said to be missing", tt.name, tt.keep)
		}
	}
}

func TestCR3(t *testing.T) {
	data := builtCR3(t)
	m := read(t, data)
	if m.Container != cr3File || m.Make != "Canon" || orZero(m.FNumber) != 5.6 || orZero(m.Orientation) != 8 ||
		orZero(m.Width) != 6000 || m.Lens != "invented 90mm" || orZero(m.BracketShot) != 7 {
		t.Errorf("read %+v", m)
	}
	checkPreview(t, data, m.Preview, 64, 48) // the track's, which is larger than PRVW's
	if len(m.Missing) > 0 {
		t.Errorf("missing: %v", m.Missing)
	}
}

func TestRAF(t *testing.T) {
	data := rafFileOf(withEXIF(t, picture(t, 64, 48), invented()))
	m := read(t, data)
	if m.Container != rafFile || m.Model != "LF-7" || orZero(m.Width) != 6000 || orZero(m.Height) != 4000 {
		t.Errorf("read %+v", m)
	}
	checkPreview(t, data, m.Preview, 64, 48)
}

// textProfiles are chunks with EXIF in the text form of programs older than eXIf, 36 bytes a
// line, plain and deflated.
func textProfiles() map[string][]byte {
	block := append([]byte("Exif\x00\x00"), exiftest.TIFF(invented(), binary.BigEndian)...)
	text := fmt.Sprintf("\nexif\n%8d", len(block))
	for i := range block {
		if i%36 == 0 {
			text += "\n"
		}
		text += fmt.Sprintf("%02x", block[i])
	}
	text += "\n"
	var packed bytes.Buffer
	z := zlib.NewWriter(&packed)
	z.Write([]byte(text))
	z.Close()
	return map[string][]byte{
		"plain":    pngChunk("tEXt", []byte("Raw profile type exif\x00"+text)),
		"APP1":     pngChunk("tEXt", []byte("Raw profile type APP1\x00"+text)),
		"deflated": pngChunk("zTXt", []byte("Raw profile type exif\x00\x00"+packed.String())),
	}
}

func TestPNG(t *testing.T) {
	exif := pngChunk("eXIf", exiftest.TIFF(invented(), binary.BigEndian))
	// eXIf may stand on either side of the pixels (PNG third edition section 5.6).
	for name, data := range map[string][]byte{
		"before": pngFileOf(exif, pngChunk("IDAT", make([]byte, 50))),
		"after":  pngFileOf(pngChunk("IDAT", make([]byte, 50)), exif),
	} {
		t.Run(name, func(t *testing.T) {
			m := read(t, data)
			if m.Container != pngFile || m.Model != "LF-7" || orZero(m.Width) != 64 || orZero(m.Height) != 48 || m.Preview != nil {
				t.Errorf("read %+v", m)
			}
		})
	}
	for name, c := range textProfiles() {
		if m := read(t, pngFileOf(c)); m.Model != "LF-7" || orZero(m.FNumber) == 0 || len(m.Missing) > 0 {
			t.Errorf("%s: read %+v", name, m)
		}
	}
	half := textProfiles()["deflated"]
	half = half[8 : len(half)*2/3]
	if m := read(t, pngFileOf(pngChunk("zTXt", half))); m.Model != "LF-7" || len(m.Missing) == 0 {
		t.Errorf("cut off: read %+v", m)
	}
	m := read(t, pngFileOf(pngXMPChunk("39/100")))
	if m.Lens != "invented 90mm macro" || distanceText(m.FocusDistance) != "0.39..0.39 m (infinity false, step 0.01) from XMP.aux:ApproximateFocusDistance" {
		t.Errorf("lens %q distance %s", m.Lens, distanceText(m.FocusDistance))
	}
}

// TestHEIFOrientation: ISO/IEC 23008-12 sections 6.5.10 (irot: quarter turns
// anticlockwise) and 6.5.12 (imir: axis 0 exchanges top and bottom, 1 left and
// right); DC-008 section 4.6.4 for what the numbers mean. Turning anticlockwise
// once brings row 0 to the left side: 8.
func TestHEIFOrientation(t *testing.T) {
	irot := func(n byte) []byte { return isoBox("irot", []byte{n}) }
	imir := func(axis byte) []byte { return isoBox("imir", []byte{axis}) }
	exif := exiftest.TIFF(invented(), binary.BigEndian) // says 6
	for _, tt := range []struct {
		name       string
		transforms [][]byte
		want       int
	}{
		{"none: EXIF counts", nil, 6},
		{"no turn overrules EXIF", [][]byte{irot(0)}, 1},
		{"a quarter", [][]byte{irot(1)}, 8},
		{"a half", [][]byte{irot(2)}, 3},
		{"three quarters", [][]byte{irot(3)}, 6},
		{"top and bottom", [][]byte{imir(0)}, 4},
		{"left and right", [][]byte{imir(1)}, 2},
		{"a quarter, then left and right", [][]byte{irot(1), imir(1)}, 7},
		{"left and right, then a quarter", [][]byte{imir(1), irot(1)}, 5},
	} {
		t.Run(tt.name, func(t *testing.T) {
			data := heifFileOf(exif, picture(t, 32, 24), tt.transforms...)
			m := read(t, data)
			if orZero(m.Orientation) != tt.want {
				t.Errorf("orientation %d, want %d", orZero(m.Orientation), tt.want)
			}
			if m.Container != heifFile || m.Model != "LF-7" || orZero(m.Width) != 64 || orZero(m.Height) != 48 {
				t.Errorf("read %+v", m)
			}
			checkPreview(t, data, m.Preview, 32, 24)
		})
	}
}

// TestHEIFWideForms: ISO/IEC 14496-12 sections 8.11.3 (iloc version 2, construction
// method 1, several extents), 8.11.4, 8.11.6; 23008-12 section 9.3.1 (ipma flags 1).
func TestHEIFWideForms(t *testing.T) {
	data := heifWideFileOf(exiftest.TIFF(invented(), binary.LittleEndian))
	m := read(t, data)
	if m.Model != "LF-7" || orZero(m.Width) != 64 || orZero(m.Orientation) != 8 || m.Preview != nil || len(m.Missing) > 0 {
		t.Errorf("read %+v", m)
	}
}

func TestJPEGSegmentsInAnyOrder(t *testing.T) {
	plain := picture(t, 64, 48)
	exif := append([]byte("Exif\x00\x00"), exiftest.TIFF(invented(), binary.LittleEndian)...)
	other := invented()
	other.Make, other.SubjectDistanceM = "", nil
	jfif := append([]byte("JFIF\x00"), 1, 2, 0, 0, 1, 0, 1, 0, 0)
	short := invented()
	short.SubjectDistanceM, short.Lens, short.Serial = nil, "", ""
	bare := append([]byte("Exif\x00\x00"), exiftest.TIFF(short, binary.LittleEndian)...)
	long := invented()
	long.Lens = string(bytes.Repeat([]byte("x"), 500))
	block := exiftest.TIFF(long, binary.BigEndian)
	tests := map[string]struct {
		data   []byte
		source string
		lens   string
	}{
		"EXIF alone": {withSegment(plain, markAPP1, exif), "Exif.SubjectDistance", "LF Closeup 90mm f/3.5"},
		"XMP first": {withSegment(withSegment(plain, markAPP1, exif), markAPP1, xmpPacket("39/100")),
			"Exif.SubjectDistance", "LF Closeup 90mm f/3.5"},
		"EXIF without distance, then XMP": {withSegment(withSegment(plain, markAPP1, xmpPacket("39/100")), markAPP1, bare),
			"XMP.aux:ApproximateFocusDistance", "invented 90mm macro"},
		"JFIF first": {withSegment(withSegment(plain, markAPP1, exif), 0xE0, jfif), "Exif.SubjectDistance", "LF Closeup 90mm f/3.5"},
		"a broken EXIF before": {withSegment(withSegment(plain, markAPP1, exif), markAPP1, []byte("Exif\x00\x00II*\x00\xFF\xFF\xFF\x7F")),
			"Exif.SubjectDistance", "LF Closeup 90mm f/3.5"},
		"an EXIF block in two segments": {withSegment(withSegment(plain, markAPP1, append([]byte("Exif\x00\x00"), block[300:]...)),
			markAPP1, append([]byte("Exif\x00\x00"), block[:300]...)), "Exif.SubjectDistance", long.Lens},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			m := read(t, tt.data)
			if m.Model != "LF-7" || m.FocusDistance == nil || m.FocusDistance.Source != tt.source || m.Lens != tt.lens {
				t.Errorf("model %q, lens %q, distance %s", m.Model, m.Lens, distanceText(m.FocusDistance))
			}
			if p := m.Preview; p == nil || p.Offset != 0 || p.Length != int64(len(tt.data)) || p.Width != 64 {
				t.Errorf("the preview of a JPEG is itself, got %+v", p)
			}
		})
	}
}

// TestXMPForms: attribute or element, any prefix, either quote, character
// references (ISO 16684-1 section 7.4; Namespaces in XML 1.0).
func TestXMPForms(t *testing.T) {
	for name, packet := range map[string]string{
		"attribute": `<d xmlns:aux="http://ns.adobe.com/exif/1.0/aux/" aux:LensID="5" aux:Lens="A &amp; B 90mm"/>`,
		"element":   `<d xmlns:aux="http://ns.adobe.com/exif/1.0/aux/"><aux:LensInfo>1/1</aux:LensInfo><aux:Lens>A &#38; B 90mm</aux:Lens></d>`,
		"other prefix and quotes": `<d xmlns:more = 'http://ns.adobe.com/exif/1.0/aux/' more:Lens
			= 'A &amp; B 90mm'/>`,
	} {
		x := &extractor{m: &Metadata{}}
		if x.xmp([]byte(packet)); x.m.Lens != "A & B 90mm" {
			t.Errorf("%s: lens %q", name, x.m.Lens)
		}
	}
	for name, packet := range map[string]string{
		"no declaration":     `<d aux:Lens="A"/>`,
		"another namespace":  `<d xmlns:aux="http://example.org/" aux:Lens="A"/>`,
		"cut in the value":   `<d xmlns:aux="http://ns.adobe.com/exif/1.0/aux/" aux:Lens="A`,
		"cut in the element": `<d xmlns:aux="http://ns.adobe.com/exif/1.0/aux/"><aux:Lens>A`,
		"cut in the name":    `<d xmlns:aux="http://ns.adobe.com/exif/1.0/aux/" aux:Lens`,
	} {
		x := &extractor{m: &Metadata{}}
		if x.xmp([]byte(packet)); x.m.Lens != "" {
			t.Errorf("%s: lens %q", name, x.m.Lens)
		}
	}
}

// TestExtendedXMP: a packet in parts that stand in any order (XMP part 3 section
// 1.1.3.1).
func TestExtendedXMP(t *testing.T) {
	packet := xmpBody("39/100")
	part := func(from, to int) []byte {
		out := append(bytes.Clone(extendedXMPHead), "0123456789ABCDEF0123456789ABCDEF"...)
		out = append(out, be32(uint32(len(packet)), uint32(from))...)
		return append(out, packet[from:to]...)
	}
	stream := picture(t, 64, 48)
	for _, p := range [][]byte{part(0, 100), part(200, len(packet)), part(100, 200)} {
		stream = withSegment(stream, markAPP1, p)
	}
	if m := read(t, stream); m.FocusDistance == nil || m.Serial != "5150" {
		t.Errorf("distance %s serial %q", distanceText(m.FocusDistance), m.Serial)
	}
}

func TestMultiPictureFile(t *testing.T) {
	data := multiPicture(t)
	if ok, what := Whole(bytes.NewReader(data), int64(len(data))); !ok {
		t.Error(what)
	}
	m, _ := Read(bytes.NewReader(data), int64(len(data)))
	if m.Preview == nil || m.Preview.Width != 64 {
		t.Errorf("the first picture is the frame, got %+v", m.Preview)
	}
	cut := data[:len(data)-50]
	if ok, what := Whole(bytes.NewReader(cut), int64(len(cut))); ok {
		t.Error("the second picture is cut off")
	} else if what.Form == "" {
		t.Error("nothing said")
	}
}

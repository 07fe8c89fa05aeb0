package exifread

// Builders of small files of every container, with contents that the tests know.
// Cameras, lenses and pictures in them are invented.

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/jpeg"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
)

func ptr[T any](v T) *T { return &v }

// invented is a full set of fields of a camera that does not exist.
func invented() exiftest.Fields {
	return exiftest.Fields{
		Make: "Lumen & Fells", Model: "LF-7", Lens: "LF Closeup 90mm f/3.5", Serial: "0040123",
		Taken:     time.Date(2026, 5, 2, 10, 11, 12, 340e6, time.FixedZone("", 2*3600)),
		HasOffset: true,
		FNumber:   ptr(10.0), ShutterSeconds: ptr(1.0 / 6), FocalLengthMM: ptr(90.0),
		FocalLength35MM: ptr(135.0), ExposureBiasEV: ptr(-2.0 / 3), SubjectDistanceM: ptr(0.3125),
		ISO: ptr(100), FlashFired: ptr(true), Orientation: ptr(6), Width: ptr(64), Height: ptr(48),
	}
}

// picture encodes a small JPEG with a pattern in it.
func picture(t testing.TB, w, h int) []byte {
	t.Helper()
	img := image.NewYCbCr(image.Rect(0, 0, w, h), image.YCbCrSubsampleRatio420)
	for y := range h {
		for x := range w {
			img.Y[img.YOffset(x, y)] = byte(x*7 ^ y*13)
		}
	}
	for i := range img.Cb {
		img.Cb[i], img.Cr[i] = 128, 128
	}
	var buf bytes.Buffer
	if err := jpeg.Encode(&buf, img, nil); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func withEXIF(t testing.TB, stream []byte, f exiftest.Fields) []byte {
	t.Helper()
	out, err := exiftest.InsertJPEG(stream, f)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// withSegment inserts a marker segment behind SOI.
func withSegment(stream []byte, marker byte, payload []byte) []byte {
	out := append([]byte{0xFF, 0xD8, 0xFF, marker}, 0, 0)
	binary.BigEndian.PutUint16(out[4:], uint16(len(payload)+2))
	return append(append(out, payload...), stream[2:]...)
}

// tiffField is one entry for tiffFile: its value as bytes in the file's order.
type tiffField struct {
	tag, typ uint16
	count    uint32
	data     []byte
}

// layout writes TIFF files in one byte order.
type layout struct {
	order binary.ByteOrder
	big   bool // the directories are BigTIFF's
}

func (l layout) u16(vs ...uint16) (out []byte) {
	for _, v := range vs {
		out = append(out, 0, 0)
		l.order.PutUint16(out[len(out)-2:], v)
	}
	return out
}

func (l layout) u32(vs ...uint32) (out []byte) {
	for _, v := range vs {
		out = append(out, 0, 0, 0, 0)
		l.order.PutUint32(out[len(out)-4:], v)
	}
	return out
}

func (l layout) short(tag uint16, vs ...uint16) tiffField {
	return tiffField{tag, typeShort, uint32(len(vs)), l.u16(vs...)}
}

func (l layout) long(tag uint16, vs ...uint32) tiffField {
	return tiffField{tag, typeLong, uint32(len(vs)), l.u32(vs...)}
}

func (l layout) rational(tag uint16, vs ...uint32) tiffField {
	return tiffField{tag, typeRational, uint32(len(vs) / 2), l.u32(vs...)}
}

func (l layout) text(tag uint16, s string) tiffField {
	return tiffField{tag, typeASCII, uint32(len(s) + 1), append([]byte(s), 0)}
}

func (l layout) undefined(tag uint16, b []byte) tiffField {
	return tiffField{tag, typeUndefined, uint32(len(b)), b}
}

// directory lays out an IFD that begins at offset at, values behind it.
func (l layout) directory(at int, next uint32, fields ...tiffField) []byte {
	countLen, entryLen, valueLen := 2, 12, 4
	offset := func(v uint32) []byte { return l.u32(v) }
	out, values := l.u16(uint16(len(fields))), []byte(nil)
	if l.big {
		countLen, entryLen, valueLen = 8, 20, 8
		offset, out = l.u64, l.u64(uint32(len(fields)))
	}
	valuesAt := at + countLen + entryLen*len(fields) + valueLen
	for _, f := range fields {
		out = append(out, l.u16(f.tag, f.typ)...)
		out = append(out, offset(f.count)...)
		if len(f.data) <= valueLen {
			out = append(out, f.data...)
			out = append(out, make([]byte, valueLen-len(f.data))...)
			continue
		}
		out = append(out, offset(uint32(valuesAt+len(values)))...)
		values = append(values, f.data...)
		if len(values)%2 == 1 {
			values = append(values, 0)
		}
	}
	return append(append(out, offset(next)...), values...)
}

func (l layout) u64(v uint32) []byte {
	out := make([]byte, 8)
	l.order.PutUint64(out, uint64(v))
	return out
}

// headerLen is how long a header is.
func (l layout) headerLen() int {
	if l.big {
		return 16
	}
	return 8
}

// header is a TIFF header with the first directory right behind it.
func (l layout) header(magic string) []byte {
	if l.big {
		return append(append([]byte(magic), l.u16(8, 0)...), l.u64(16)...)
	}
	return append([]byte(magic), l.u32(8)...)
}

func (l layout) magic() string {
	if l.order == binary.ByteOrder(binary.BigEndian) {
		return "MM\x00*"
	}
	return "II*\x00"
}

// rawFile makes a TIFF-shaped raw file: a 0th IFD with a SubIFD of sensor data and
// one with a JPEG, and an Exif IFD with a maker note, if any.
func rawFile(t testing.TB, l layout, magic, maker string, extra []tiffField, note []byte, preview []byte) []byte {
	t.Helper()
	const sensorData = 200
	exifFields := []tiffField{
		l.rational(tagExposureTime, 1, 8), l.rational(tagFNumber, 56, 10),
		l.short(tagSensitivity, 200), l.text(tagDateTimeOriginal, "2026:05:02 10:11:12"),
		l.rational(tagFocalLength, 90, 1),
	}
	if note != nil {
		exifFields = append(exifFields, l.undefined(tagMakerNote, note))
	}
	build := func(exifAt, rawAt, jpegAt, dataAt, previewAt int) (head, exif, raw, jpg []byte) {
		fields := append([]tiffField{
			l.text(tagMake, maker), l.text(tagModel, "invented"), l.short(tagOrientation, 1),
			l.long(tagSubIFDs, uint32(rawAt), uint32(jpegAt)),
			l.long(tagExifIFD, uint32(exifAt)),
		}, extra...)
		head = append(l.header(magic), l.directory(l.headerLen(), 0, fields...)...)
		exif = l.directory(exifAt, 0, exifFields...)
		raw = l.directory(rawAt, 0,
			l.long(tagNewSubfileType, 0), l.long(tagImageWidth, 6000), l.long(tagImageLength, 4000),
			l.short(tagCompression, 1), l.short(tagPhotometric, photometricCFA),
			l.long(tagStripOffsets, uint32(dataAt)), l.long(tagStripCounts, sensorData))
		jpg = l.directory(jpegAt, 0,
			l.long(tagNewSubfileType, 1), l.long(tagJPEGOffset, uint32(previewAt)),
			l.long(tagJPEGLength, uint32(len(preview))))
		return head, exif, raw, jpg
	}
	head, exif, raw, jpg := build(0, 0, 0, 0, 0)
	exifAt := len(head)
	rawAt := exifAt + len(exif)
	jpegAt := rawAt + len(raw)
	previewAt := jpegAt + len(jpg)
	dataAt := previewAt + len(preview)
	head, exif, raw, jpg = build(exifAt, rawAt, jpegAt, dataAt, previewAt)
	out := bytes.Join([][]byte{head, exif, raw, jpg, preview, make([]byte, sensorData)}, nil)
	return out
}

// isoBox makes a box of ISO/IEC 14496-12.
func isoBox(kind string, parts ...[]byte) []byte {
	body := bytes.Join(parts, nil)
	out := binary.BigEndian.AppendUint32(nil, uint32(len(body)+8))
	return append(append(out, kind...), body...)
}

func be16(vs ...uint16) (out []byte) {
	for _, v := range vs {
		out = binary.BigEndian.AppendUint16(out, v)
	}
	return out
}

func be32(vs ...uint32) (out []byte) {
	for _, v := range vs {
		out = binary.BigEndian.AppendUint32(out, v)
	}
	return out
}

// heifFileOf makes an HEIF file whose primary item is not a picture that anybody
// can decode, with an EXIF item and a JPEG item; transforms are property boxes
// associated with the primary item.
func heifFileOf(exif, thumb []byte, transforms ...[]byte) []byte {
	ftyp := isoBox("ftyp", []byte("heic"), be32(0), []byte("mif1heic"))
	coded := make([]byte, 100)
	exifItem := append(be32(6), append([]byte("Exif\x00\x00"), exif...)...)
	meta := func(at uint32) []byte {
		infe := func(id uint16, kind string) []byte {
			return isoBox("infe", be32(2<<24), be16(id, 0), []byte(kind), []byte{0})
		}
		loc := func(id uint16, off, n int) []byte {
			return append(be16(id, 0, 1), be32(at+uint32(off), uint32(n))...)
		}
		props := [][]byte{isoBox("ispe", be32(0, 64, 48))}
		assoc := []byte{byte(1 + len(transforms)), 1}
		for i := range transforms {
			props = append(props, transforms[i])
			assoc = append(assoc, 0x80|byte(i+2))
		}
		return isoBox("meta", be32(0),
			isoBox("hdlr", be32(0, 0), []byte("pict"), make([]byte, 13)),
			isoBox("pitm", be32(0), be16(1)),
			isoBox("iinf", be32(0), be16(3), infe(1, "hvc1"), infe(2, "Exif"), infe(3, "jpeg")),
			isoBox("iprp", isoBox("ipco", props...),
				isoBox("ipma", be32(0, 1), be16(1), assoc)),
			isoBox("iloc", be32(0), be16(0x4400, 3),
				loc(1, 0, len(coded)), loc(2, len(coded), len(exifItem)),
				loc(3, len(coded)+len(exifItem), len(thumb))))
	}
	at := len(ftyp) + len(meta(0)) + 8
	return bytes.Join([][]byte{ftyp, meta(uint32(at)), isoBox("mdat", coded, exifItem, thumb)}, nil)
}

// cr3FileOf makes a file of Canon's boxes with the directories, maker note,
// preview and full-size JPEG given.
func cr3FileOf(ifd0, exif, note, preview, full []byte) []byte {
	ftyp := isoBox("ftyp", []byte("crx "), be32(1), []byte("crx isom"))
	moov := func(at uint32) []byte {
		return isoBox("moov",
			isoBox("uuid", []byte(canonUUID), isoBox("CMT1", ifd0), isoBox("CMT2", exif), isoBox("CMT3", note)),
			isoBox("trak", isoBox("mdia", isoBox("minf", isoBox("stbl",
				isoBox("stsz", be32(0, uint32(len(full)), 1)),
				isoBox("co64", be32(0, 1, 0, at)))))))
	}
	prvw := isoBox("uuid", []byte(previewUUID), be32(0, 1),
		isoBox("PRVW", be32(0), be16(1, 0, 0, 1), be32(uint32(len(preview))), preview))
	at := len(ftyp) + len(moov(0)) + len(prvw) + 8
	return bytes.Join([][]byte{ftyp, moov(uint32(at)), prvw, isoBox("mdat", full)}, nil)
}

// rafFileOf makes a file of Fujifilm's form around a JPEG.
func rafFileOf(stream []byte) []byte {
	dir := append(be32(1), append(be16(0x0111, 4), be16(4000, 6000)...)...)
	sensor := make([]byte, 64)
	out := make([]byte, rafHeadSize)
	copy(out, "FUJIFILMCCD-RAW 0201FF000000invented")
	put := func(at, off, n int) {
		binary.BigEndian.PutUint32(out[at:], uint32(off))
		binary.BigEndian.PutUint32(out[at+4:], uint32(n))
	}
	put(rafJPEG, len(out), len(stream))
	put(rafDirectory, len(out)+len(stream), len(dir))
	put(rafSensor, len(out)+len(stream)+len(dir), len(sensor))
	return bytes.Join([][]byte{out, stream, dir, sensor}, nil)
}

// pngFileOf makes a PNG (without pixels that would decode) with the chunks given
// between the header and the end.
func pngFileOf(chunks ...[]byte) []byte {
	out := []byte("\x89PNG\r\n\x1a\n")
	out = append(out, pngChunk("IHDR", append(be32(64, 48), 8, 2, 0, 0, 0))...)
	for _, c := range chunks {
		out = append(out, c...)
	}
	return append(out, pngChunk("IEND", nil)...)
}

func pngChunk(kind string, data []byte) []byte {
	out := append(be32(uint32(len(data))), kind...)
	out = append(out, data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
}

// heifWideFileOf makes an HEIF file in the wide forms: 32-bit item numbers, places
// within the meta box itself (construction method 1), an EXIF item in two pieces,
// 15-bit property indices.
func heifWideFileOf(exif []byte) []byte {
	item := append(be32(6), append([]byte("Exif\x00\x00"), exif...)...)
	infe := func(id uint32, kind string) []byte {
		return isoBox("infe", be32(3<<24, id), be16(0), []byte(kind), []byte{0})
	}
	half := uint32(len(item) / 2)
	return bytes.Join([][]byte{
		isoBox("ftyp", []byte("mif1"), be32(0), []byte("heic")),
		isoBox("meta", be32(0),
			isoBox("pitm", be32(1<<24, 70001)),
			isoBox("iinf", be32(1<<24, 2), infe(70001, "hvc1"), infe(70002, "Exif")),
			isoBox("iprp", isoBox("ipco", isoBox("ispe", be32(0, 64, 48)), isoBox("irot", []byte{1})),
				isoBox("ipma", be32(1<<24|1, 1, 70001), []byte{2}, be16(1, 0x8002))),
			isoBox("iloc", be32(2<<24), be16(0x4440), be32(1, 70002), be16(1, 0), be32(0), be16(2),
				be32(0, half, half, uint32(len(item))-half)),
			isoBox("idat", item)),
	}, nil)
}

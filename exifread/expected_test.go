package exifread

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The truth in these tests is what ExifTool 12.57 reads in the same files (numeric
// form, tags with their group). It is compared wherever both have the field.

// sharedData is where the larger collection lies when it is at hand.
const sharedData = "../../shared/data/exif"

type truth map[string]any

func loadTruth(t *testing.T, dir string) map[string]truth {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join(dir, "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	var list []truth
	if err := json.Unmarshal(raw, &list); err != nil {
		t.Fatal(err)
	}
	out := make(map[string]truth, len(list))
	for _, e := range list {
		out[e["SourceFile"].(string)] = e
	}
	return out
}

// text returns the first of the tags that is there.
func (e truth) text(tags ...string) (string, bool) {
	for _, tag := range tags {
		switch v := e[tag].(type) {
		case string:
			return strings.TrimSpace(v), true
		case float64:
			return strconv.FormatFloat(v, 'f', -1, 64), true
		}
	}
	return "", false
}

func (e truth) number(tags ...string) (float64, bool) {
	for _, tag := range tags {
		switch v := e[tag].(type) {
		case float64:
			return v, true
		case string:
			if f, err := strconv.ParseFloat(v, 64); err == nil {
				return f, true
			}
		}
	}
	return 0, false
}

// explained are the disagreements, by file and field, each with its reason.
var explained = map[[2]string]string{
	{"exiftool-FujiFilm.raf", "width"}:                "ExifTool reports the embedded JPEG, which was replaced by one of 8 x 8; we read the sensor image from Fujifilm's directory, as its own Composite:ImageSize (4256 x 1424) does",
	{"exiftool-FujiFilm.raf", "height"}:               "as its width",
	{"nikon-nikon-d90-1.jpg", "iso"}:                  "EXIF's tag is absent and Nikon's value is a power of two in twelfths (158.74); ISO is a whole number here",
	{"nikon-nikon-d90-1.jpg", "focusDistance"}:        "ExifTool deciphers Nikon's LensData 0204; what is enciphered stays unread here",
	{"nikon-nikon-d3100-1.jpg", "focusDistance"}:      "ExifTool deciphers Nikon's LensData 0204; what is enciphered stays unread here",
	{"casio-ex-s1-1.jpg", "iso"}:                      "Casio's tag holds 0, which is no sensitivity",
	{"kodak-proback-1.jpg", "iso"}:                    "from Kodak's maker note, which is not read here",
	{"sanyo-s1-1.jpg", "taken"}:                       "all zeros: the clock was not set",
	{"olympus-c750uz-1.jpg", "taken"}:                 "all zeros: the clock was not set",
	{"hewlett-packard-photosmart-m417-1.jpg", "lens"}: "LensModel is the number 1 where DC-008 section 4.6.5 wants text",
	{"fuji-sp-2500-1.jpg", "taken"}:                   "a film scanner leaves DateTimeOriginal blank; we take DateTimeDigitized, which ExifTool lists apart",
	{"canon-canon-eos-rp-1.jpg", "focusDistance"}:     "XMP has 0.39 m, which was made of the limits 0.37 and 0.42 m in Canon's note; those are read",
}

func TestAgainstExifTool(t *testing.T) {
	t.Run("testdata", func(t *testing.T) { compareFolder(t, filepath.Join("..", "testdata", "exif"), 17) })
	t.Run("shared", func(t *testing.T) {
		if _, err := os.Stat(sharedData); err != nil {
			t.Skipf("%s is absent", sharedData)
		}
		compareFolder(t, sharedData, 66)
	})
}

func compareFolder(t *testing.T, dir string, files int) {
	truths := loadTruth(t, dir)
	if len(truths) != files {
		t.Fatalf("%d files in expected.json, want %d", len(truths), files)
	}
	compared, used := 0, make(map[[2]string]bool)
	for name, e := range truths {
		t.Run(name, func(t *testing.T) {
			f, err := os.Open(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			info, err := f.Stat()
			if err != nil {
				t.Fatal(err)
			}
			m, err := Read(f, info.Size())
			if err != nil {
				t.Fatal(err)
			}
			c := comparison{t: t, name: name, e: e, used: used}
			c.all(m)
			compared += c.n
		})
	}
	t.Logf("%d fields compared in %d files", compared, len(truths))
	if compared < 10*files {
		t.Errorf("only %d fields compared", compared)
	}
	for key := range explained {
		if truths[key[0]] != nil && !used[key] {
			t.Errorf("%s, %s: explained, but the two agree", key[0], key[1])
		}
	}
}

// comparison compares the fields of one file.
type comparison struct {
	t    *testing.T
	name string
	e    truth
	n    int
	used map[[2]string]bool // of the explained disagreements
}

// differs reports a disagreement unless it is explained.
func (c *comparison) differs(field string, got, want any) {
	c.t.Helper()
	key := [2]string{c.name, field}
	if _, ok := explained[key]; ok {
		c.used[key] = true
	} else {
		c.t.Errorf("%s: read %v, ExifTool has %v", field, got, want)
	}
}

func (c *comparison) text(field, got string, tags ...string) {
	c.t.Helper()
	want, ok := c.e.text(tags...)
	if !ok {
		return
	}
	c.n++
	if got != want {
		c.differs(field, got, want)
	}
}

// number compares to nine digits: ExifTool prints ten.
func (c *comparison) number(field string, got *float64, tags ...string) {
	c.t.Helper()
	want, ok := c.e.number(tags...)
	if !ok || want == 0 && field != "exposureBiasEV" {
		return // ExifTool prints a fraction over 0, and 0 for a lens without contacts, as 0
	}
	c.n++
	if got == nil || math.Abs(*got-want) > 1e-9*math.Abs(want) {
		c.differs(field, show(got), want)
	}
}

func (c *comparison) whole(field string, got *int, tags ...string) {
	c.t.Helper()
	var f *float64
	if got != nil {
		v := float64(*got)
		f = &v
	}
	want, ok := c.e.number(tags...)
	if !ok {
		return
	}
	c.n++
	if f == nil || *f != want {
		c.differs(field, show(got), want)
	}
}

func show[T any](p *T) string {
	if p == nil {
		return "nothing"
	}
	return fmt.Sprint(*p)
}

func (c *comparison) all(m *Metadata) {
	c.t.Helper()
	kinds := map[string]string{"JPEG": jpegFile, "HEIC": heifFile, "HEIF": heifFile}
	kind, _ := c.e.text("File:FileType")
	want := kinds[kind]
	if want == "" {
		want = strings.ToLower(kind)
	}
	if m.Container != want {
		c.t.Errorf("container %s, ExifTool has %s", m.Container, kind)
	}
	c.n++
	c.text("make", m.Make, "IFD0:Make")
	c.text("model", m.Model, "IFD0:Model")
	c.text("lens", m.Lens, "ExifIFD:LensModel", "Canon:LensModel", "XMP-aux:Lens")
	c.taken(m)
	c.number("fNumber", m.FNumber, "ExifIFD:FNumber")
	c.number("shutterSeconds", m.ShutterSeconds, "ExifIFD:ExposureTime")
	c.number("exposureBiasEV", m.ExposureBiasEV, "ExifIFD:ExposureCompensation")
	c.number("focalLengthMM", m.FocalLengthMM, "ExifIFD:FocalLength")
	c.number("focalLength35MM", m.FocalLength35MM, "ExifIFD:FocalLengthIn35mmFormat")
	c.whole("orientation", m.Orientation, "IFD0:Orientation")
	if tag := c.sensitivityTag(); tag != "" {
		c.whole("iso", m.ISO, tag)
	}
	if flash, ok := c.e.number("ExifIFD:Flash"); ok {
		c.n++
		if m.FlashFired == nil || *m.FlashFired != (int(flash)&1 == 1) {
			c.differs("flashFired", show(m.FlashFired), flash)
		}
	}
	c.size(m)
	c.distance(m)
}

// sensitivityTag: EXIF's own, else a maker's where it is a plain number.
func (c *comparison) sensitivityTag() string {
	for _, tag := range []string{"ExifIFD:ISO", "Casio:ISO", "Kodak:ISO", "Composite:ISO", "Nikon:ISO"} {
		if _, ok := c.e.number(tag); ok {
			return tag
		}
	}
	return ""
}

// size: the sensor image. In a JPEG it is the frame header's; in raw files ExifTool
// shows the directories one by one, and the one of the sensor data is the largest.
func (c *comparison) size(m *Metadata) {
	tags := map[string]string{jpegFile: "File:Image", heifFile: "File:Image", rafFile: "File:Image", cr2File: "ExifIFD:ExifImage",
		cr3File: "Track1:Image", rw2File: "Composite:Image", arwFile: "SubIFD:Image", dngFile: "SubIFD:Image", nefFile: "SubIFD1:Image",
		pefFile: "IFD0:Image"}
	c.whole("width", m.Width, tags[m.Container]+"Width")
	c.whole("height", m.Height, tags[m.Container]+"Height")
}

func (c *comparison) taken(m *Metadata) {
	text, ok := c.e.text("ExifIFD:DateTimeOriginal")
	if !ok {
		return
	}
	c.n++
	if digits, ok := c.e["ExifIFD:SubSecTimeOriginal"]; ok {
		switch v := digits.(type) {
		case string:
			text += "." + v
		case float64:
			text += "." + strconv.Itoa(int(v))
		}
	}
	form := "2006:01:02 15:04:05"
	offset, hasOffset := c.e.text("ExifIFD:OffsetTimeOriginal")
	if hasOffset {
		form, text = form+"-07:00", text+offset
	}
	want, err := time.Parse(form, text)
	if err != nil || !m.Taken.Equal(want) || m.TakenHasOffset != hasOffset {
		c.differs("taken", m.Taken, text)
	}
}

func (c *comparison) distance(m *Metadata) {
	d := m.FocusDistance
	if want, ok := c.e.number("ExifIFD:SubjectDistance", "XMP-aux:ApproximateFocusDistance", "Nikon:FocusDistance"); ok && want > 0 {
		c.n++
		if d == nil || d.NearM == nil || math.Abs(*d.NearM-want) > 1e-9*want || *d.FarM != *d.NearM {
			c.differs("focusDistance", distanceText(d), want)
		}
		return
	}
	if upper, ok := c.e.number("Canon:FocusDistanceUpper"); ok && upper > 0 {
		c.n++
		lower, _ := c.e.number("Canon:FocusDistanceLower")
		if lower == 0 { // one value written
			lower = upper
		}
		if d == nil || *d.NearM != lower || *d.FarM != upper || d.StepM != 0.01 {
			c.differs("focusDistance", distanceText(d), []float64{lower, upper})
		}
		return
	}
	if text, ok := c.e.text("Composite:FocusDistance"); ok {
		c.n++
		if d == nil || d.Infinity != (text == "inf") {
			c.differs("focusDistance", distanceText(d), text)
		}
	}
}

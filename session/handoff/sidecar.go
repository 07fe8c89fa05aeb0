package handoff

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillbench/session"
)

// digitalCapture says in IPTC's vocabulary of digital source types that a camera took it.
const digitalCapture = "http://cv.iptc.org/newscodes/digitalsourcetype/digitalCapture"

// Properties are what a frame's sidecar says: title and number of its stack, keywords by
// which to find it, what stood on the table, and what the camera wrote. reject also rates a
// frame that was set aside -1 (ISO 16684-1: rejected).
func properties(k Stack, f session.Frame, reject bool, now time.Time) []property {
	title := k.Title()
	p := []property{
		{prefix: "dc", name: "title", form: langAlt, values: []string{title}},
		{prefix: "dc", name: "subject", form: bag, values: keywords(k, f)},
		{prefix: "photoshop", name: "Headline", values: []string{title}},
		{prefix: "photoshop", name: "Instructions", values: []string{instructions(k, f)}},
		{prefix: "Iptc4xmpExt", name: "DigitalSourceType", values: []string{digitalCapture}},
		{prefix: "xmp", name: "MetadataDate", values: []string{now.Format(time.RFC3339)}, replace: true},
	}
	if d := description(k); d != "" {
		p = append(p, property{prefix: "dc", name: "description", form: langAlt, values: []string{d}})
	}
	if reject && f.SetAside {
		p = append(p, property{prefix: "xmp", name: "Rating", values: []string{"-1"}, replace: true})
	}
	return append(p, taken(f.Meta)...)
}

// keywords are the words to filter by.
func keywords(k Stack, f session.Frame) []string {
	var out []string
	add := func(words ...string) {
		for _, w := range words {
			w = strings.Join(strings.Fields(w), " ")
			if w != "" && !slices.Contains(out, w) {
				out = append(out, w)
			}
		}
	}
	add(k.Subject(), k.kind())
	if k.Kind == session.KindStack {
		add(k.say(session.Say("stack %s", fmt.Sprint(k.Number))))
	}
	if f.SetAside {
		add(k.say(asideFolder))
	}
	if k.Setup != nil {
		for _, l := range k.Setup.Lights {
			if l.Kind != session.LightCard && l.Kind != session.LightFlag {
				add(k.say(session.Say("light from %s", session.Text{Form: string(l.Side())})), k.say(session.Say("light %s", session.Text{Form: string(l.Height())})))
			}
		}
		add(k.Setup.Tags...)
	}
	return out
}

// instructions tell what the frame is to be used for.
func instructions(k Stack, f session.Frame) string {
	kept := k.Kept()
	i := slices.IndexFunc(kept, func(o session.Frame) bool { return o.Fingerprint == f.Fingerprint })
	switch {
	case k.Kind == session.KindMarker:
		return k.say(session.Say("A marker: a hand before the lens, between two stacks. Not for blending."))
	case k.Kind != session.KindStack:
		return k.say(session.Say("A frame that stands alone (%s). Not for blending.", session.Text{Form: string(k.Kind)}))
	case i < 0:
		return k.say(session.Say("Set aside from stack %d. Not for blending.", k.Number))
	}
	return k.say(session.Say("Frame %d of %d of stack %d, to be blended with the others.", i+1, len(kept), k.Number))
}

// description is what stood on the table, in words.
func description(k Stack) string {
	s := k.Setup
	if s == nil {
		return ""
	}
	var out []string
	for _, part := range []session.Text{session.Say("%s.", s.Subject), session.Say("Background: %s.", s.Background), session.Say("Support: %s.", s.Support), session.Say("Lens: %s.", s.Lens)} {
		if t := strings.TrimSpace(part.Args[0].(string)); t != "" {
			part.Args[0] = strings.TrimSuffix(t, ".")
			out = append(out, k.say(part))
		}
	}
	if s.Magnification != nil {
		out = append(out, k.say(session.Say("Magnification %.3g.", *s.Magnification)))
	}
	for i, l := range s.Lights {
		out = append(out, k.say(session.Say("Light %d: %s.", i+1, k.light(l))))
	}
	if t := strings.TrimSpace(s.Notes); t != "" {
		out = append(out, t)
	}
	return strings.Join(out, "\n")
}

// taken are the properties of Exif in XMP (CIPA DC-010): rationals as a/b, times as
// ISO 8601 has them.
func taken(m session.Meta) []property {
	var p []property
	add := func(prefix, name, value string) {
		if value != "" {
			p = append(p, property{prefix: prefix, name: name, values: []string{value}})
		}
	}
	add("tiff", "Make", m.Make)
	add("tiff", "Model", m.Model)
	add("exifEX", "LensModel", m.Lens)
	add("exifEX", "BodySerialNumber", m.Serial)
	if !m.Taken.IsZero() {
		at := m.Taken.Format("2006-01-02T15:04:05.999")
		if m.TakenHasOffset {
			at = m.Taken.Format("2006-01-02T15:04:05.999-07:00")
		}
		add("exif", "DateTimeOriginal", at)
		add("photoshop", "DateCreated", at)
	}
	rat := func(name string, v *float64) {
		if v != nil {
			add("exif", name, rational(*v))
		}
	}
	rat("FNumber", m.FNumber)
	rat("ExposureTime", m.ShutterSeconds)
	rat("ExposureBiasValue", m.ExposureBiasEV)
	rat("FocalLength", m.FocalLengthMM)
	if v := m.FocalLength35MM; v != nil && *v >= 1 && *v < 65536 {
		add("exif", "FocalLengthIn35mmFilm", strconv.Itoa(int(math.Round(*v))))
	}
	if d := m.FocusDistance; d != nil && !d.Infinity && d.NearM != nil && d.FarM != nil {
		mid := (*d.NearM + *d.FarM) / 2
		rat("SubjectDistance", &mid)
	}
	if m.ISO != nil {
		p = append(p, property{prefix: "exif", name: "ISOSpeedRatings", form: seq, values: []string{strconv.Itoa(*m.ISO)}})
	}
	return p
}

// rational writes a number as a/b: an exposure time below a second as 1/b where that is what
// it means, else in thousandths; "" when it is none.
func rational(v float64) string {
	if math.IsNaN(v) || math.Abs(v) > 1e6 {
		return ""
	}
	if v > 0 && v < 1 {
		if b := math.Round(1 / v); math.Abs(1/b-v) < 0.005*v {
			return fmt.Sprintf("1/%.0f", b)
		}
	}
	if v == math.Round(v) {
		return fmt.Sprintf("%.0f/1", v)
	}
	// Thousandths hold every f-number, length and distance that cameras write.
	n, d := int64(math.Round(v*1000)), int64(1000)
	for _, f := range []int64{2, 5} {
		for n%f == 0 && d%f == 0 {
			n, d = n/f, d/f
		}
	}
	return fmt.Sprintf("%d/%d", n, d)
}

// sidecar writes one sidecar. One that cannot be added to is handed on as it was, and a
// problem says so.
func (d *doer) sidecar(k Folder, s *Sidecar, path string, undo *undoing) error {
	stack, frame, known := d.frame(k, s.Frame)
	if st, err := os.Lstat(path); err == nil {
		// Left by a run that was killed, in a folder that is ours alone.
		if !known && st.Mode().IsRegular() {
			h, err := hashOf(path)
			s.SHA256 = h
			return stop(err)
		}
		if k.State == Made {
			return stop(session.Fail("%s is another file; it was left as it is", path))
		}
		if err := os.Remove(path); err != nil {
			return stop(wrapTo(path, err))
		}
	}
	data := []byte(emptyXMP)
	if s.Merged != nil {
		var err error
		if data, err = os.ReadFile(string(*s.Merged)); err != nil {
			return session.Fail("%s is gone or cannot be read: %s", *s.Merged, bare(err))
		}
	}
	if known {
		merged, err := mergeXMP(data, properties(stack, frame, d.plan.options.Reject, d.plan.options.Now()))
		switch {
		case errors.Is(err, errXMP) && s.Merged != nil:
			d.r.Problems = append(d.r.Problems, session.Problem{File: s.To, Sentence: session.Say("%s is handed on as it was: %s.", *s.Merged, session.TextOf(err))})
		case err != nil:
			return err
		default:
			data = merged
		}
	}
	if err := makeParent(path, undo); err != nil {
		return err
	}
	if err := newFile(path, data); err != nil {
		return stop(err)
	}
	undo.then(func() error { return os.Remove(path) })
	s.SHA256 = hashText(data)
	return nil
}

// frame finds a frame of a folder, and the group that it is in.
func (d *doer) frame(k Folder, name string) (Stack, session.Frame, bool) {
	if d.frames == nil {
		d.frames = map[string]placed{}
		for _, kind := range []session.Kind{session.KindStack, session.KindMarker, session.KindSingle, session.KindTest} {
			for _, s := range d.plan.source.Stacks(kind) {
				for _, f := range s.Frames {
					d.frames[strings.ToValidUTF8(f.Name, "\uFFFD")] = placed{s, f}
				}
			}
		}
	}
	p, ok := d.frames[name]
	return p.stack, p.frame, ok && string(p.stack.Kind) == k.Kind
}

// placed is a frame and the group that it is in.
type placed struct {
	stack Stack
	frame session.Frame
}

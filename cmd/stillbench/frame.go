package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"sync"
	"time"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/store"
)

// frameJSON is one object of `frame --json`. A value that is not known is null.
type frameJSON struct {
	File            string             `json:"file"`
	Error           *string            `json:"error"`
	Make            *string            `json:"make"`
	Model           *string            `json:"model"`
	Lens            *string            `json:"lens"`
	Serial          *string            `json:"serial"`
	Taken           *string            `json:"taken"`
	TakenHasOffset  *bool              `json:"takenHasOffset"`
	FNumber         *float64           `json:"fNumber"`
	ShutterSeconds  *float64           `json:"shutterSeconds"`
	ISO             *int               `json:"iso"`
	ExposureBiasEV  *float64           `json:"exposureBiasEV"`
	FocalLengthMM   *float64           `json:"focalLengthMM"`
	FocalLength35MM *float64           `json:"focalLength35MM"`
	FlashFired      *bool              `json:"flashFired"`
	FocusDistance   *focusDistanceJSON `json:"focusDistance"`
	Orientation     *int               `json:"orientation"`
	Width           *int               `json:"width"`
	Height          *int               `json:"height"`
	Sensor          *sensorJSON        `json:"sensor"`
	Container       *string            `json:"container"`
	Preview         *previewJSON       `json:"preview"`
	Missing         []string           `json:"missing,omitempty"`
}

type focusDistanceJSON struct {
	NearM    *float64 `json:"nearM"`
	FarM     *float64 `json:"farM"`
	Infinity bool     `json:"infinity"`
	StepM    *float64 `json:"stepM"`
	Source   string   `json:"source"`
}

// sensorJSON is the size of the sensor as the frame lies, before Orientation; source is a
// tag, or "photographer" for what the log remembers of the camera.
type sensorJSON struct {
	WidthMM  float64 `json:"widthMM"`
	HeightMM float64 `json:"heightMM"`
	Source   string  `json:"source"`
}

type previewJSON struct {
	Width  int `json:"width"`
	Height int `json:"height"`
}

func runFrame(e env, args []string) int {
	f := newFlags("frame")
	files, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	if len(files) == 0 {
		return wrong(e, "frame: name the files to look into")
	}
	code = exitDone
	gear := sync.OnceValue(func() session.Gear { return remembered(e, f.log) })
	out := make([]frameJSON, 0, len(files))
	for _, name := range files {
		fr := readFrame(name, gear)
		if fr.Error != nil {
			fmt.Fprintf(e.stderr, "stillbench: %s: %s\n", name, *fr.Error)
			code = exitPartly
		}
		for _, m := range fr.Missing {
			fmt.Fprintf(e.stderr, "stillbench: %s: %s\n", name, m)
			code = exitPartly
		}
		out = append(out, fr)
	}
	if f.json {
		if err := printJSON(e, out); err != nil {
			return failed(e, err)
		}
		return code
	}
	for _, fr := range out {
		if fr.Error == nil {
			printFrame(e, fr)
		}
	}
	return code
}

// remembered is what the log knows of cameras; nothing when there is no log, or it cannot be
// read: a frame's own metadata is then all there is.
func remembered(e env, log string) session.Gear {
	path, err := logPath(log)
	if err != nil || !isFile(path) {
		return session.Gear{}
	}
	s, err := store.Open(e.ctx, path)
	if err != nil {
		return session.Gear{}
	}
	defer s.Close()
	g, err := s.Gear(e.ctx)
	if err != nil {
		return session.Gear{}
	}
	return g
}

// readFrame reads one file into the object that is printed of it. gear is asked only for
// what the file does not tell.
func readFrame(name string, gear func() session.Gear) frameJSON {
	fr := frameJSON{File: name}
	fail := func(err error) frameJSON {
		s := err.Error()
		fr.Error = &s
		return fr
	}
	h, err := os.Open(name)
	if err != nil {
		return fail(bare(err))
	}
	defer h.Close()
	st, err := h.Stat()
	if err != nil {
		return fail(bare(err))
	}
	if !st.Mode().IsRegular() {
		return fail(errors.New("it is not a file"))
	}
	m, err := exifread.Read(h, st.Size())
	if err != nil && !errors.Is(err, exifread.ErrNoMetadata) {
		return fail(err)
	}
	fr = frameOf(name, m)
	size, ok := m.SensorSize(nil)
	if !ok && m.Model != "" {
		if c, told := gear().Camera(m.Make, m.Model); told {
			size, ok = m.SensorSize(&exifread.Sensor{WidthMM: c.SensorWidthMM, HeightMM: c.SensorHeightMM})
		}
	}
	if ok {
		fr.Sensor = &sensorJSON{size.WidthMM, size.HeightMM, size.Source}
	}
	return fr
}

func frameOf(name string, m *exifread.Metadata) frameJSON {
	fr := frameJSON{
		File: name, Make: text(m.Make), Model: text(m.Model), Lens: text(m.Lens), Serial: text(m.Serial),
		FNumber: m.FNumber, ShutterSeconds: m.ShutterSeconds, ISO: m.ISO, ExposureBiasEV: m.ExposureBiasEV,
		FocalLengthMM: m.FocalLengthMM, FocalLength35MM: m.FocalLength35MM, FlashFired: m.FlashFired,
		Orientation: m.Orientation, Width: m.Width, Height: m.Height, Container: text(m.Container), Missing: m.Missing,
	}
	if !m.Taken.IsZero() {
		s := clock(m.Taken, m.TakenHasOffset)
		fr.Taken, fr.TakenHasOffset = &s, &m.TakenHasOffset
	}
	if d := m.FocusDistance; d != nil {
		fr.FocusDistance = &focusDistanceJSON{NearM: d.NearM, FarM: d.FarM, Infinity: d.Infinity, Source: d.Source}
		if d.StepM > 0 {
			fr.FocusDistance.StepM = &d.StepM
		}
	}
	if p := m.Preview; p != nil {
		fr.Preview = &previewJSON{p.Width, p.Height}
	}
	return fr
}

// clock writes a time as ISO 8601; without an offset when the camera wrote none.
func clock(t time.Time, hasOffset bool) string {
	layout := "2006-01-02T15:04:05.000"
	if t.Nanosecond()%int(time.Millisecond) != 0 {
		layout = "2006-01-02T15:04:05.000000"
	}
	if hasOffset {
		layout += "-07:00"
	}
	return t.Format(layout)
}

// text makes a pointer of a string, nil of "".
func text(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// bare takes the path and the system call out of a file error: the caller names the file.
func bare(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

func printJSON(e env, v any) error {
	enc := json.NewEncoder(e.stdout)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	return enc.Encode(v)
}

func printFrame(e env, fr frameJSON) {
	line := func(name, value string) {
		if value != "" {
			fmt.Fprintf(e.stdout, "  %-15s %s\n", name, value)
		}
	}
	str := func(s *string) string {
		if s == nil {
			return ""
		}
		return *s
	}
	num := func(format string, v *float64) string {
		if v == nil {
			return ""
		}
		return fmt.Sprintf(format, *v)
	}
	fmt.Fprintln(e.stdout, fr.File)
	line("camera", strings.TrimSpace(str(fr.Make)+" "+str(fr.Model)))
	line("lens", str(fr.Lens))
	line("taken", str(fr.Taken))
	line("aperture", num("f/%g", fr.FNumber))
	line("shutter", num("%.6g s", fr.ShutterSeconds))
	if fr.ISO != nil {
		line("ISO", fmt.Sprint(*fr.ISO))
	}
	line("focal length", num("%g mm", fr.FocalLengthMM))
	if d := fr.FocusDistance; d != nil {
		switch {
		case d.Infinity:
			line("focused at", "infinity")
		case d.NearM != nil && d.FarM != nil && *d.NearM != *d.FarM:
			line("focused at", fmt.Sprintf("%g to %g m", *d.NearM, *d.FarM))
		case d.NearM != nil:
			line("focused at", fmt.Sprintf("%g m", *d.NearM))
		}
	}
	if fr.Width != nil && fr.Height != nil {
		line("size", fmt.Sprintf("%d x %d", *fr.Width, *fr.Height))
	}
	if s := fr.Sensor; s != nil {
		line("sensor", fmt.Sprintf("%.4g x %.4g mm (%s)", s.WidthMM, s.HeightMM, s.Source))
	}
	if p := fr.Preview; p != nil {
		line("largest JPEG", fmt.Sprintf("%d x %d", p.Width, p.Height))
	}
	line("container", str(fr.Container))
}

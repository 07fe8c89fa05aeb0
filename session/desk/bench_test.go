package desk

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
	"stillbench/session"
	"stillbench/session/plane"
)

// frame24 makes a JPEG of 24 megapixels with texture at every scale and grain: about as
// many bytes as a camera writes.
func frame24(tb testing.TB) []byte {
	tb.Helper()
	const w, h = 6000, 4000
	r := rand.New(rand.NewPCG(24, 1))
	pic := plane.NewRGB(w, h)
	var grain [4099]int
	for i := range grain {
		grain[i] = r.IntN(17) - 8
	}
	for y := range h {
		for x := range w {
			v := 110 + 40*((x/37+y/53)&1) + 20*((x/5+y/7)&1) + grain[(x*31+y*17)%len(grain)]
			copy(pic.Pix[(y*w+x)*3:], []byte{byte(v), byte(v - 10), byte(v - 25)})
		}
	}
	data, err := plane.EncodeJPEG(pic, 90, true)
	if err != nil {
		tb.Fatal(err)
	}
	ww, hh := w, h
	data, err = exiftest.InsertJPEG(data, exiftest.Fields{Make: "Vellmar", Model: "TX-2", Taken: time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC), Width: &ww, Height: &hh})
	if err != nil {
		tb.Fatal(err)
	}
	return data
}

// BenchmarkReadIn reads frames of 24 megapixels in, on one core: fingerprint, metadata,
// decode, figures. It reports frames a second, the share of the time that is decoding,
// and the ratio to libjpeg-turbo alone decoding the same file as far, in the same run.
func BenchmarkReadIn(b *testing.B) {
	dir := b.TempDir()
	data := frame24(b)
	if err := os.WriteFile(filepath.Join(dir, "VTX_0001.JPG"), data, 0o666); err != nil {
		b.Fatal(err)
	}
	unknown := func(string) (session.Meta, *session.Figures, bool) { return session.Meta{}, nil, false }
	var whole, alone time.Duration
	n := 0
	for b.Loop() {
		start := time.Now()
		f := &file{path: "VTX_0001.JPG", size: int64(len(data))}
		read(dir, f, unknown)
		whole += time.Since(start)
		if f.problem.Form != "" || f.figures == nil {
			b.Fatal(f.problem)
		}
		start = time.Now()
		if _, err := plane.DecodeJPEG(data, figuresSide); err != nil {
			b.Fatal(err)
		}
		alone += time.Since(start)
		n++
	}
	b.ReportMetric(float64(n)/whole.Seconds(), "frames/s")
	b.ReportMetric(100*alone.Seconds()/whole.Seconds(), "%decoding")
	b.ReportMetric(whole.Seconds()/alone.Seconds(), "x-turbo-alone")
	b.ReportMetric(float64(len(data))/1e6, "MB/frame")
}

// BenchmarkExposures makes frames of 5000 files, as every snapshot does.
func BenchmarkExposures(b *testing.B) {
	var files []*file
	for i := range 5000 {
		files = append(files, &file{path: fmt.Sprintf("VTX_%04d.JPG", i), fingerprint: fmt.Sprint(i), meta: session.Meta{Container: "jpeg"}})
	}
	for b.Loop() {
		if n := len(exposuresOf(files).frames); n != len(files) {
			b.Fatal(n)
		}
	}
}

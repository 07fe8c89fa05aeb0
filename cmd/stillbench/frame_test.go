package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"testing"

	"stillbench/session"
	"stillbench/store"
)

// TestFrameSensorAsTold: a size told for a camera model stands for every file of it that
// does not give one itself, and for no other. The size is invented; the files tell their
// model, and all but the last no size.
func TestFrameSensorAsTold(t *testing.T) {
	log := filepath.Join(t.TempDir(), "setups.db")
	s, err := store.Open(t.Context(), log)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []session.Camera{
		{Make: "NIKON CORPORATION", Model: "NIKON D70", SensorWidthMM: 21, SensorHeightMM: 14},
		{Make: "Canon", Model: "Canon EOS M50", SensorWidthMM: 21, SensorHeightMM: 14},
	} {
		if err := s.RememberCamera(t.Context(), c); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		file, log, source string
		width             float64
	}{
		{"exiftool-Nikon.nef", log, session.SensorTold, 21},
		{"exiftool-Nikon.nef", filepath.Join(t.TempDir(), "none.db"), "", 0},
		{"olympus-c750uz-1.jpg", log, "", 0},
		{"exiftool-CanonRaw.cr3", log, "Exif.FocalPlaneResolution", 23.4},
	} {
		var out, errs bytes.Buffer
		run(env{t.Context(), &out, &errs}, []string{"frame", "--json", "--log", c.log, filepath.Join("..", "..", "testdata", "exif", c.file)})
		var frames []struct{ Sensor *sensorJSON }
		if err := json.Unmarshal(out.Bytes(), &frames); err != nil || len(frames) != 1 {
			t.Fatalf("%s: %v, %s", c.file, err, errs.String())
		}
		switch got := frames[0].Sensor; {
		case got == nil && c.source == "":
		case got == nil || got.Source != c.source || got.WidthMM < c.width-0.5 || got.WidthMM > c.width+0.5:
			t.Errorf("%s: %+v, want %g mm from %q", c.file, got, c.width, c.source)
		}
		if matches, _ := filepath.Glob(filepath.Join(filepath.Dir(c.log), "none*")); len(matches) > 0 {
			t.Errorf("looking a frame up made a log: %v", matches)
		}
	}
}

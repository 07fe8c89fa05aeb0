package store

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// All makers, models, lenses and figures here are invented.

func gear(t testing.TB, s *Store) session.Gear {
	t.Helper()
	g, err := s.Gear(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func must(t testing.TB, errs ...error) {
	t.Helper()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
}

// TestGearIsRemembered: what was told comes back, also after the log was closed, and what
// is told again takes its place.
func TestGearIsRemembered(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	s := openLog(t, path)
	if g := gear(t, s); !reflect.DeepEqual(g, session.Gear{}) {
		t.Errorf("an empty log: %+v", g)
	}
	ctx := t.Context()
	must(t,
		s.RememberCamera(ctx, session.Camera{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 36, SensorHeightMM: 24}),
		s.RememberCamera(ctx, session.Camera{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 23.5, SensorHeightMM: 15.6}),
		s.RememberCamera(ctx, session.Camera{Make: "Vantor", Model: "VTX 3", SensorWidthMM: 17.3, SensorHeightMM: 13}),
		s.RememberLens(ctx, session.Lens{Name: "Vantor 90 Macro", PupilMagnification: ptr(0.7)}),
		s.RememberCircle(ctx, session.Circle{MM: 0.02}),
		s.RememberCircle(ctx, session.Circle{Convention: "d1730"}),
	)
	want := session.Gear{
		Cameras: []session.Camera{{Make: "Vantor", Model: "VTX 2", SensorWidthMM: 23.5, SensorHeightMM: 15.6}, {Make: "Vantor", Model: "VTX 3", SensorWidthMM: 17.3, SensorHeightMM: 13}},
		Lenses:  []session.Lens{{Name: "Vantor 90 Macro", PupilMagnification: ptr(0.7)}},
		Circle:  session.Circle{Convention: "d1730"},
	}
	if g := gear(t, s); !reflect.DeepEqual(g, want) {
		t.Errorf("got  %+v\nwant %+v", g, want)
	}
	other := openLog(t, path)
	if g := gear(t, other); !reflect.DeepEqual(g, want) {
		t.Errorf("opened again: %+v", g)
	}
	must(t,
		s.RememberCamera(ctx, session.Camera{Make: "Vantor", Model: "VTX 3"}),
		s.RememberLens(ctx, session.Lens{Name: "Vantor 90 Macro"}),
		s.RememberCircle(ctx, session.Circle{}),
	)
	if g := gear(t, s); len(g.Cameras) != 1 || len(g.Lenses) != 0 || g.Circle != (session.Circle{}) {
		t.Errorf("forgotten: %+v", g)
	}
}

// TestGearThatCannotBe: refused with a word for it, and nothing changes.
func TestGearThatCannotBe(t *testing.T) {
	s := newLog(t)
	ctx := t.Context()
	for name, err := range map[string]error{
		"no model":      s.RememberCamera(ctx, session.Camera{SensorWidthMM: 36, SensorHeightMM: 24}),
		"one side":      s.RememberCamera(ctx, session.Camera{Model: "VTX 2", SensorWidthMM: 36}),
		"upright":       s.RememberCamera(ctx, session.Camera{Model: "VTX 2", SensorWidthMM: 24, SensorHeightMM: 36}),
		"a barn door":   s.RememberCamera(ctx, session.Camera{Model: "VTX 2", SensorWidthMM: 3600, SensorHeightMM: 2400}),
		"no lens":       s.RememberLens(ctx, session.Lens{PupilMagnification: ptr(1.0)}),
		"no pupil":      s.RememberLens(ctx, session.Lens{Name: "lens", PupilMagnification: ptr(0.0)}),
		"negative":      s.RememberLens(ctx, session.Lens{Name: "lens", PupilMagnification: ptr(-1.0)}),
		"negative blur": s.RememberCircle(ctx, session.Circle{MM: -0.02}),
		"two choices":   s.RememberCircle(ctx, session.Circle{Convention: "d1500", MM: 0.02}),
	} {
		if !errors.Is(err, session.ErrInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if g := gear(t, s); !reflect.DeepEqual(g, session.Gear{}) {
		t.Errorf("%+v", g)
	}
}

// TestLensesFromFrames: lenses come from the frames of all sessions, the most used first,
// with the focal length used last; a pupil magnification that was told stands beside.
func TestLensesFromFrames(t *testing.T) {
	s := newLog(t)
	day := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	a, b := newSession(t, s, "/a"), newSession(t, s, "/b")
	shot := func(id int64, n int, lens string, focal *float64, at time.Time) {
		f := frame(n, 8, at)
		f.Meta.Lens, f.Meta.FocalLengthMM = lens, focal
		save(t, s, id, f)
	}
	shot(a, 1, "zoom", ptr(70.0), day)
	shot(a, 2, "zoom", ptr(28.0), day.Add(2*time.Hour))
	shot(b, 3, "zoom", ptr(35.0), day.Add(time.Hour))
	shot(b, 4, "macro", ptr(105.0), day)
	shot(b, 5, "macro", ptr(105.0), time.Time{})
	shot(b, 6, "", ptr(50.0), day)
	shot(b, 7, "manual", nil, time.Time{})
	must(t,
		s.RememberLens(t.Context(), session.Lens{Name: "macro", PupilMagnification: ptr(1.1)}),
		s.RememberLens(t.Context(), session.Lens{Name: "reversed", PupilMagnification: ptr(1.4)}))
	want := []session.Lens{
		{Name: "zoom", FocalMM: 28, ShortestMM: 28, LongestMM: 70, Frames: 3, LastUsed: day.Add(2 * time.Hour)},
		{Name: "macro", PupilMagnification: ptr(1.1), FocalMM: 105, ShortestMM: 105, LongestMM: 105, Frames: 2, LastUsed: day},
		{Name: "manual", Frames: 1},
		{Name: "reversed", PupilMagnification: ptr(1.4)},
	}
	got := gear(t, s).Lenses
	for i := range got {
		got[i].LastUsed = got[i].LastUsed.UTC()
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// TestGearOutAndIn: gear goes out and comes in as JSON, as CSV and by merging two logs, and
// of what both were told, the later word holds, also when it is to forget.
func TestGearOutAndIn(t *testing.T) {
	ctx := t.Context()
	clock := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	now := func() time.Time { clock = clock.Add(time.Minute); return clock }
	laptop, desktop := newLog(t), newLog(t)
	laptop.Now, desktop.Now = now, now
	camera := func(model string, w float64) session.Camera {
		return session.Camera{Make: "Vantor", Model: model, SensorWidthMM: w, SensorHeightMM: w * 2 / 3}
	}
	must(t,
		laptop.RememberCamera(ctx, camera("VTX 2", 36)), // told later on the desktop
		desktop.RememberCamera(ctx, camera("VTX 2", 24)),
		desktop.RememberCamera(ctx, camera("VTX 3", 18)), // forgotten later on the laptop
		laptop.RememberCamera(ctx, camera("VTX 3", 0)),
		laptop.RememberLens(ctx, session.Lens{Name: `90 "Macro", reversed`, PupilMagnification: ptr(1.0 / 3)}),
		desktop.RememberLens(ctx, session.Lens{Name: "two\r\nlines", PupilMagnification: ptr(2.0)}),
		desktop.RememberCircle(ctx, session.Circle{Convention: "d1500"}),
		laptop.RememberCircle(ctx, session.Circle{MM: 0.021}),
	)
	m, err := laptop.Merge(ctx, desktop.Path(), nil)
	if err != nil || m != (session.Merged{Gear: 2}) {
		t.Errorf("desktop into laptop: %+v, %v", m, err)
	}
	m, err = desktop.Merge(ctx, laptop.Path(), nil)
	if err != nil || m != (session.Merged{Gear: 3}) {
		t.Errorf("laptop into desktop: %+v, %v", m, err)
	}
	if a, b := export(t, laptop), export(t, desktop); a != b {
		t.Errorf("after merging both ways:\n%s\n%s", a, b)
	}
	want := session.Gear{
		Cameras: []session.Camera{camera("VTX 2", 24)},
		Lenses: []session.Lens{
			{Name: `90 "Macro", reversed`, PupilMagnification: ptr(1.0 / 3)}, {Name: "two\r\nlines", PupilMagnification: ptr(2.0)}},
		Circle: session.Circle{MM: 0.021},
	}
	if g := gear(t, desktop); !reflect.DeepEqual(g, want) {
		t.Errorf("got  %+v\nwant %+v", g, want)
	}

	dir := t.TempDir()
	must(t, laptop.ExportCSV(ctx, dir, nil))
	fromCSV, fromJSON := newLog(t), newLog(t)
	if m, err := fromCSV.ImportCSV(ctx, dir, nil); err != nil || m.Gear != 5 {
		t.Errorf("CSV: %+v, %v", m, err)
	}
	if m, err := fromJSON.Import(ctx, strings.NewReader(export(t, laptop))); err != nil || m.Gear != 5 {
		t.Errorf("JSON: %+v, %v", m, err)
	}
	for _, s := range []*Store{fromCSV, fromJSON} {
		sameLog(t, s, laptop)
		if m, err := s.Import(ctx, bytes.NewReader([]byte(export(t, laptop)))); err != nil || m != (session.Merged{}) {
			t.Errorf("again: %+v, %v", m, err)
		}
	}

	// Exports of an older version hold no gear.
	for _, name := range []string{"cameras.csv", "lenses.csv", "circle.csv"} {
		must(t, os.Remove(filepath.Join(dir, name)))
	}
	if m, err := newLog(t).ImportCSV(ctx, dir, nil); err != nil || m.Gear != 0 {
		t.Errorf("an older CSV: %+v, %v", m, err)
	}
	// What cannot be changes nothing.
	for name, text := range map[string]string{
		"a sensor":  `{"format": "stillbench setup log", "version": 1, "sessions": [], "gear": {"cameras": [{"model": "V", "sensorWidthMM": -1, "sensorHeightMM": 1, "changed": "2026-05-02T10:00:00Z"}]}}`,
		"a time":    `{"format": "stillbench setup log", "version": 1, "sessions": [], "gear": {"lenses": [{"name": "V", "pupilMagnification": 1, "changed": "today"}]}}`,
		"no format": `{"gear": {"lenses": []}}`,
	} {
		if m, err := fromJSON.Import(ctx, strings.NewReader(text)); !errors.Is(err, session.ErrInvalid) || m != (session.Merged{}) {
			t.Errorf("%s: %+v, %v", name, m, err)
		}
	}
	sameLog(t, fromJSON, laptop)
}

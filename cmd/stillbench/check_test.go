package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/store"
)

// TestCheckHonoursTheLog: an area that was drawn in the window holds in the terminal, and
// what was found in one is not found again in the other.
func TestCheckHonoursTheLog(t *testing.T) {
	dir, path := t.TempDir(), filepath.Join(t.TempDir(), "setups.db")
	old := time.Now().Add(-time.Hour).Truncate(time.Second)
	for i := range 6 {
		s := shot{of: 3, focus: float64(i) / 5, at: time.Duration(i) * 5 * time.Second, f: 10, camera: "300417", exif: true, times: true}
		data, err := s.jpeg()
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", i+1))
		if err := os.WriteFile(name, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(name, old, old); err != nil {
			t.Fatal(err)
		}
	}
	check := func() (area session.Area, text string) {
		t.Helper()
		var out, plain, errs bytes.Buffer
		if code := run(env{t.Context(), &out, &errs}, []string{"check", "--json", "--log", path, dir}); code > exitPartly {
			t.Fatalf("exit code %d: %s", code, errs.String())
		}
		run(env{t.Context(), &plain, &errs}, []string{"check", "--log", path, dir})
		var found struct {
			Groups []struct {
				Check *struct{ Wanted session.Area }
			}
		}
		if err := json.Unmarshal(out.Bytes(), &found); err != nil {
			t.Fatal(err)
		}
		if len(found.Groups) != 1 || found.Groups[0].Check == nil {
			t.Fatalf("no stack was judged: %s", out.String())
		}
		return found.Groups[0].Check.Wanted, plain.String()
	}
	if area, text := check(); area != nil || strings.Contains(text, "wanted area") {
		t.Errorf("nothing was drawn, and the area is %v: %s", area, text)
	}
	log, err := store.Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: log, Once: true})
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	if err := d.Settled(ctx); err != nil {
		t.Fatal(err)
	}
	drawn := session.Area{{0, 0}, {0.5, 0}, {0.5, 1}, {0, 1}}
	if err := d.Edit(ctx, session.Edit{Kind: session.EditWanted, Frame: d.Snapshot().Groups[0].Frames[0], Area: drawn}); err != nil {
		t.Fatal(err)
	}
	d.Close()
	log.Close()
	// It was drawn on the first frame and is told as it lies on the middle one, which lies a
	// fraction of a pixel elsewhere.
	area, text := check()
	if len(area) != len(drawn) || !strings.Contains(text, "wanted area") {
		t.Fatalf("the area is %v: %s", area, text)
	}
	for i, p := range area {
		if math.Hypot(p[0]-drawn[i][0], p[1]-drawn[i][1]) > 0.001 {
			t.Errorf("corner %d is at %v, drawn at %v", i, p, drawn[i])
		}
	}
}

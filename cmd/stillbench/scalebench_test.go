package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillbench/assets/demo"
	"stillbench/session"
)

// Ten years at the table, invented: 500 sessions of 400 frames in 20 stacks, with 200 setups each.
// (The words of the setups follow no law here; how searching goes with real words' frequencies is
// measured in package store.)
const (
	tenYearsSessions = 500
	framesPerSession = 400
	setupsPerSession = 200
	stackFrames      = 20
)

// writeTenYears writes a log of ten years as `log import` takes it.
func writeTenYears(path string) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	r := rand.New(rand.NewPCG(10, 0))
	subjects := strings.Fields("shell cone gear acorn fossil pebble feather seed bark lichen coin knot watch mineral beetle")
	apertures := []float64{2.8, 4, 5.6, 8, 11, 16}
	fmt.Fprint(w, `{"format": "stillbench setup log", "version": 1, "sessions": [`)
	day := time.Date(2016, 1, 1, 9, 0, 0, 0, time.UTC)
	for s := range tenYearsSessions {
		if s > 0 {
			fmt.Fprint(w, ",\n")
		}
		day = day.Add(7 * 24 * time.Hour)
		at := func(i int) time.Time { return day.Add(time.Duration(i) * 20 * time.Second) }
		stamp := func(t time.Time) string { return t.Format(time.RFC3339) }
		var frames, groups, setups []any
		for i := range framesPerSession {
			aperture, shutter, iso, turned, wide, high := apertures[r.IntN(len(apertures))], 0.25, 100, 1, 8256, 5504
			frames = append(frames, map[string]any{
				"fingerprint": fmt.Sprintf("%04d-%04d", s, i), "name": fmt.Sprintf("VTX_%04d.JPG", i+1), "pairs": []string{},
				"size": 20_000_000, "modified": stamp(at(i)), "metaVersion": 1,
				"meta": session.Meta{Container: "jpeg", Make: "Vetrix", Model: "V1", Taken: at(i), FNumber: &aperture,
					ShutterSeconds: &shutter, ISO: &iso, Orientation: &turned, Width: &wide, Height: &high},
			})
		}
		setup := func(i int) string { return fmt.Sprintf("setup-%04d-%04d", s, i) }
		for i := range setupsPerSession {
			var lights []any
			for range 1 + r.IntN(4) {
				lights = append(lights, map[string]any{"kind": session.LightKinds[r.IntN(len(session.LightKinds))],
					"azimuthDeg": 360 * r.Float64(), "elevationDeg": 90 * r.Float64(), "distanceCM": 10 + 90*r.Float64(), "power": "40 W"})
			}
			frame := i * framesPerSession / setupsPerSession
			setups = append(setups, map[string]any{
				"uid": setup(i), "afterFrame": fmt.Sprintf("%04d-%04d", s, frame), "logged": stamp(at(frame)), "changed": stamp(at(frame)),
				"subject": fmt.Sprintf("%s %d, %s", subjects[r.IntN(len(subjects))], r.IntN(200), subjects[r.IntN(len(subjects))]), "background": "grey card",
				"support": "pin", "lens": "macro 90", "notes": fmt.Sprintf("trial %d of the %s", i, subjects[r.IntN(len(subjects))]),
				"magnification": 0.1 + 4*r.Float64(), "tags": []string{subjects[r.IntN(len(subjects))]}, "lights": lights,
			})
		}
		for g := range framesPerSession / stackFrames {
			var of []string
			for i := range stackFrames {
				of = append(of, fmt.Sprintf("%04d-%04d", s, g*stackFrames+i))
			}
			last := (g+1)*setupsPerSession/(framesPerSession/stackFrames) - 1
			groups = append(groups, map[string]any{"id": g + 1, "kind": session.KindStack, "confidence": 1, "setup": setup(last), "frames": of})
		}
		text, err := json.Marshal(map[string]any{"uid": fmt.Sprintf("session-%04d", s), "dir": fmt.Sprintf("/pictures/%04d", s),
			"started": stamp(day), "frames": frames, "groups": groups, "setups": setups, "edits": []any{}})
		if err != nil {
			return err
		}
		w.Write(text)
	}
	fmt.Fprint(w, "\n]}\n")
	return w.Flush()
}

// tenYearsFigures are what BenchmarkTenYears has measured, however often it is asked.
var tenYearsFigures map[string]float64

// BenchmarkTenYears works with a log of ten years: 500 sessions, 200 000 frames, 100 000 setups. Every
// verb that reads the log is timed against the same verb on a log that knows the demo alone.
func BenchmarkTenYears(b *testing.B) {
	if tenYearsFigures == nil {
		tenYearsFigures = measureTenYears(b)
	}
	report(b, tenYearsFigures)
}

func report(b *testing.B, found map[string]float64) {
	for unit, v := range found {
		b.ReportMetric(v, unit)
	}
	b.ReportMetric(0, "ns/op")
}

func measureTenYears(b *testing.B) map[string]float64 {
	dir := b.TempDir()
	found := map[string]float64{}
	old, fresh, exported, pictures := filepath.Join(dir, "old.db"), filepath.Join(dir, "fresh.db"), filepath.Join(dir, "log.json"), filepath.Join(dir, "s")
	if err := writeTenYears(exported); err != nil {
		b.Fatal(err)
	}
	run := func(log string, args ...string) float64 {
		b.Helper()
		took, err := costOf(exec.Command("stillbench", append(args, "--log", log)...))
		if err != nil {
			b.Fatalf("%s: %v", strings.Join(args, " "), err)
		}
		return took.elapsed.Seconds()
	}
	found["s-to-bring-in"] = run(old, "log", "import", exported)
	run(fresh, "demo", "--no-window", pictures)
	for _, log := range []string{old, fresh} {
		run(log, "group", pictures) // known from here on
	}
	for name, args := range map[string][]string{
		"find":       {"find", "shell", "--from", "back-right", "--aperture", "8..11", "--limit", "50"},
		"find-all":   {"find", "--limit", "50"},
		"find-typed": {"find", "shel", "--limit", "50"},
		"group":      {"group", pictures},
	} {
		// Of five runs each the ones that were disturbed least.
		large, small := math.Inf(1), math.Inf(1)
		for range 5 {
			large, small = min(large, run(old, args...)), min(small, run(fresh, args...))
		}
		found["ms-"+name], found["x-fresh-log-"+name] = 1000*large, large/small
	}
	found["s-log-export"] = run(old, "log", "export", filepath.Join(dir, "again.json"))
	if os.Getenv("STILLBENCH_SMOKE") != "" {
		s := startOn(b, program(b), "--log", old, pictures)
		begun := time.Now()
		s.until("a picture in the tenth year", picture.showsFrame)
		found["s-to-first-picture"] = time.Since(begun).Seconds()
		s.settle()
		for place := 2; place <= 4; place++ {
			begun = time.Now()
			s.keys(fmt.Sprint(place))
			s.until(fmt.Sprintf("place %d in the tenth year", place), func(p picture) bool { return p.place() == place })
			found["s-to-open-the-slowest-place"] = max(found["s-to-open-the-slowest-place"], time.Since(begun).Seconds())
			s.settle()
		}
		s.signal(syscall.SIGTERM)
		s.ends("SIGTERM")
	}
	return found
}

// program builds the program as it is installed.
func program(t testing.TB) string {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "stillbench")
	if out, err := exec.Command("go", "build", "-tags", buildTags(t), "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	return bin
}

// demoDays writes the demo's session so many times over, a day later each time, and gives the
// files' names in order.
func demoDays(t testing.TB, dir string, days int) (names []string) {
	t.Helper()
	first := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	for day := range days {
		for i, name := range demo.Names() {
			data, err := demo.Frame(name)
			if err == nil {
				data = bytes.ReplaceAll(data, []byte("2026:05:16 "), []byte(first.AddDate(0, 0, day).Format("2006:01:02 ")))
				names = append(names, filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", 1000+len(demo.Names())*day+i)))
				err = os.WriteFile(names[len(names)-1], data, 0o666)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	return names
}

// longSessionFigures are what BenchmarkLongSession has measured, however often it is asked.
var longSessionFigures map[string]float64

// BenchmarkLongSession reads in, groups again and opens a session of 5 040 frames, the demo's 70 times
// over; and groups it with one frame more, for which all has to be compared anew.
func BenchmarkLongSession(b *testing.B) {
	if longSessionFigures == nil {
		longSessionFigures = measureLongSession(b)
	}
	report(b, longSessionFigures)
}

func measureLongSession(b *testing.B) map[string]float64 {
	dir, log := b.TempDir(), filepath.Join(b.TempDir(), "log.db")
	n := float64(len(demoDays(b, dir, 70)))
	found := map[string]float64{}
	group := func() cost {
		took, err := costOf(exec.Command("stillbench", "group", dir, "--log", log))
		if err != nil {
			b.Fatal(err)
		}
		return took
	}
	first, again := group(), group()
	found["ms-a-new-frame"] = 1000 * first.elapsed.Seconds() / n
	found["MB-reading-in"] = first.peakMB
	found["s-to-group-again"] = again.elapsed.Seconds()
	found["MB-to-group-again"] = again.peakMB
	if os.Getenv("STILLBENCH_SMOKE") != "" {
		s := startOn(b, program(b), "--log", log, dir)
		begun := time.Now()
		s.until("a picture of 5 000", picture.showsFrame)
		found["s-to-first-picture"] = time.Since(begun).Seconds()
		s.signal(syscall.SIGTERM)
		s.ends("SIGTERM")
	}
	data, err := demo.Frame(demo.Names()[0])
	if err == nil {
		data = bytes.ReplaceAll(data, []byte("2026:05:16 "), []byte("2026:12:01 "))
		err = os.WriteFile(filepath.Join(dir, "VTX_9000.JPG"), data, 0o666)
	}
	if err != nil {
		b.Fatal(err)
	}
	more := group()
	found["s-to-group-one-frame-more"] = more.elapsed.Seconds()
	found["MB-to-group-one-frame-more"] = more.peakMB
	return found
}

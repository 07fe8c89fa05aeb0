package demo

import (
	"bytes"
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/plane"
)

func TestTruth(t *testing.T) {
	truth := Truth()
	// CIPA DC-009 (DCF) section 3.3: four free characters, a number, the extension.
	dcf := regexp.MustCompile(`^[A-Z0-9_]{4}[0-9]{4}\.JPG$`)
	var all []string
	count := map[session.Kind]int{}
	marked := 0
	for i, g := range truth {
		count[g.Kind]++
		all = append(all, g.Frames...)
		if g.Kind == session.KindStack {
			if len(g.Frames) < 8 {
				t.Errorf("a stack of %d frames", len(g.Frames))
			}
			if i > 0 && truth[i-1].Kind == session.KindMarker {
				marked++
			}
			continue
		}
		if len(g.Frames) != 1 {
			t.Errorf("%s with %d frames", g.Kind, len(g.Frames))
		}
		// A test comes before the stack of its composition, a single does not.
		follows := false
		for j := i + 1; j < len(acts); j++ {
			follows = follows || acts[j].kind == session.KindStack && acts[j].of == acts[i].of
		}
		if g.Kind == session.KindTest && !follows || g.Kind == session.KindSingle && follows {
			t.Errorf("group %d is a %s, stack of the same composition follows: %v", i, g.Kind, follows)
		}
	}
	if marked < 3 || count[session.KindTest] < 3 || count[session.KindSingle] < 2 {
		t.Errorf("%d marked stacks; kinds %v", marked, count)
	}
	if n := len(all); n < 40 || n > 80 {
		t.Errorf("%d frames", n)
	}
	for i, n := range all {
		if n != Names()[i] || !dcf.MatchString(n) {
			t.Errorf("frame %d is called %s and %s", i, n, Names()[i])
		}
	}
	es := exposures()
	for i := 1; i < len(es); i++ {
		wait := es[i].taken.Sub(es[i-1].taken).Seconds()
		if wait < 1 {
			t.Errorf("%s comes %.1f s after the frame before", es[i].name, wait)
		}
	}
}

// TestFrames checks that each kept file is what the recipe says of it.
func TestFrames(t *testing.T) {
	total := 0
	upright := 0
	for _, e := range exposures() {
		data, err := Frame(e.name)
		if err != nil {
			t.Error(err)
			continue
		}
		total += len(data)
		pic, err := plane.DecodeJPEG(data, 100)
		if err != nil || pic.FullW != width || pic.FullH != height {
			t.Errorf("%s: %v", e.name, err)
		}
		m, err := exifread.Read(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			t.Errorf("%s: %v", e.name, err)
			continue
		}
		if m.Make != cameraMake || m.Lens != lens || !m.Taken.Equal(e.taken) || !m.TakenHasOffset || *m.Orientation != e.turn ||
			*m.FNumber != e.fNo || math.Abs(*m.ShutterSeconds-e.time) > 1e-4 || *m.ISO != 100 {
			t.Errorf("%s: the metadata differ: %+v", e.name, m)
		}
		if *m.Orientation == 6 {
			upright++
		}
	}
	if total > 9<<20 {
		t.Errorf("%.1f MB of frames", float64(total)/(1<<20))
	}
	if upright < 8 {
		t.Errorf("%d upright frames", upright)
	}
	if _, err := Frame("VTX_0001.JPG"); err == nil {
		t.Error("a frame that is not there gives no error")
	}
}

// psnr is the peak signal-to-noise ratio of two pictures, in decibels.
func psnr(a, b *plane.RGB) float64 {
	sum := 0.0
	for i := range a.Pix {
		d := float64(a.Pix[i]) - float64(b.Pix[i])
		sum += d * d
	}
	return 10 * math.Log10(255*255*float64(len(a.Pix))/sum)
}

// TestRecipe renders some frames anew at a fifth of their size and holds them against the kept
// ones. Frames of another subject, and others of the same stack, are the measure of what is
// not good enough.
func TestRecipe(t *testing.T) {
	s := newStudio(0.2)
	kept := func(e exposure) *plane.RGB {
		data, err := Frame(e.name)
		if err != nil {
			t.Fatal(err)
		}
		pic, err := plane.DecodeJPEG(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		return plane.ReduceRGB(nil, pic, 259, 173)
	}
	es := exposures()
	for i, e := range es {
		if acts[e.act].of != train || acts[e.act].kind == session.KindSingle || i%3 != 0 {
			continue
		}
		data, err := s.shoot(e, 95)
		if err != nil {
			t.Fatal(err)
		}
		got, err := plane.DecodeJPEG(data, 0)
		if err != nil {
			t.Fatal(err)
		}
		own := psnr(got, kept(e))
		// Rendered so small, fine polish marks come out otherwise; still it is no other picture.
		if other := psnr(got, kept(es[0])); own < other+6 {
			t.Errorf("%s: %.1f dB from the kept frame, %.1f dB from another subject", e.name, own, other)
		}
		if acts[e.act].kind == session.KindStack {
			// Six frames on, other parts are in focus.
			j := i + 6
			if j >= len(es) || es[j].act != e.act {
				j = i - 6
			}
			if other := psnr(got, kept(es[j])); other >= own {
				t.Errorf("%s: %.1f dB from its own frame, %.1f dB from %s", e.name, own, other, es[j].name)
			}
		}
	}
}

func TestWrite(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made", "on the way")
	mine := filepath.Join(dir, Names()[3])
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(mine, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := Write(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	for _, n := range Names() {
		got, err := os.ReadFile(filepath.Join(dir, n))
		if err != nil {
			t.Fatal(err)
		}
		want, err := Frame(n)
		if err != nil {
			t.Fatal(err)
		}
		if n == Names()[3] {
			want = []byte("mine")
		}
		if !bytes.Equal(got, want) {
			t.Errorf("%s is not as it should be", n)
		}
	}
	if err := Write(t.Context(), dir); err != nil {
		t.Errorf("a second time: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := Write(ctx, t.TempDir()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if err := Write(t.Context(), mine); err == nil {
		t.Error("a folder that is a file gives no error")
	}
}

func TestSetups(t *testing.T) {
	names := map[string]bool{"": true}
	for _, n := range Names() {
		names[n] = true
	}
	setups := Setups()
	if len(setups) < 6 {
		t.Errorf("%d setups", len(setups))
	}
	for i, s := range setups {
		if err := s.Validate(); err != nil {
			t.Errorf("%s: %v", s.Subject, err)
		}
		if !names[s.AfterFrame] || (s.AfterFrame == "") != (i == 0) || s.Subject == "" || len(s.Lights) == 0 {
			t.Errorf("setup %d: %+v", i, s)
		}
		if i > 0 && !s.Logged.After(setups[i-1].Logged) {
			t.Errorf("setup %d was logged before the one before", i)
		}
	}
	past := Past()
	for i, s := range past {
		if err := s.Validate(); err != nil {
			t.Errorf("%s: %v", s.Subject, err)
		}
		if !names[s.Cover] || s.Cover == "" || s.Tags[0] != "demo" || !s.Taken.Before(afternoon) {
			t.Errorf("past setup %d: %+v", i, s)
		}
		if i > 0 && s.Taken.After(past[i-1].Taken) {
			t.Errorf("past setup %d is newer than the one before", i)
		}
	}
}

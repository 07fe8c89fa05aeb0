package handoff

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stillbench/session"
)

// TestSheet: two stacks a page, whatever the names hold, and what is
// said can be read out of it; sizes are those of ISO 216 and ANSI/ASME Y14.1.
func TestSheet(t *testing.T) {
	k := invented()
	k.Frames = nil
	k.Check = &session.Check{Verdict: session.VerdictGap, NearEnd: session.EndOpen, FarEnd: session.EndClosed, Gaps: []session.Gap{{From: 0.4, To: 0.41}}}
	for i := range 40 {
		fp := fmt.Sprint("f", i)
		k.Frames = append(k.Frames, session.Frame{Name: fp + ".JPG", Fingerprint: fp, SetAside: i == 7})
		c := session.FrameCheck{Fingerprint: fp, Place: ptr(float64(i) / 39), Blurred: i == 3, Moved: i == 4, LightDiffers: i == 5}
		if i != 6 {
			c.Near, c.Far = ptr(*c.Place-0.02), ptr(*c.Place+0.02)
		}
		k.Check.Frames = append(k.Check.Frames, c)
	}
	stacks := []Stack{k, k, k}
	stacks[1].Name, stacks[1].Check = strings.Repeat("עץ 木 😀 \x00 ", 40), nil
	for _, v := range session.Verdicts {
		c := *k.Check
		c.Verdict = v
		k.Check = &c
		stacks = append(stacks, k)
		if states[v].Form == "" {
			t.Errorf("%s has no words", v)
		}
	}
	asked := 0
	pictures := func(_ context.Context, fp string, w, h int) (*image.RGBA, error) {
		if asked++; fp == "f9" {
			return nil, errors.New("broken")
		}
		return image.NewRGBA(image.Rect(0, 0, w/2, h/4)), nil
	}
	for name, size := range map[string]string{"A4": "595.28 841.89", "Letter": "612.00 792.00"} {
		s := Sheet{Title: "table", Stacks: stacks, Paper: name, Picture: pictures}
		var a bytes.Buffer
		if err := s.Write(context.Background(), &a, nil); err != nil {
			t.Fatal(err)
		}
		if n := bytes.Count(a.Bytes(), []byte("/Type /Page\n")); n != (len(stacks)+1)/2 {
			t.Errorf("%d pages for %d stacks", n, len(stacks))
		}
		if !bytes.Contains(a.Bytes(), []byte("/MediaBox [0 0 "+size+"]")) {
			t.Errorf("%s is not %s pt", name, size)
		}
		if _, err := exec.LookPath("pdftotext"); err == nil {
			cmd := exec.Command("pdftotext", "-", "-")
			cmd.Stdin = bytes.NewReader(a.Bytes())
			out, err := cmd.Output()
			for _, want := range []string{"Stack 4 · pine cone", "A gap in depth", "Covered", "40 frames, 1 set aside", "1 of 6", "f0.JPG to f39.JPG"} {
				if !strings.Contains(string(out), want) {
					t.Errorf("%q cannot be read out of it (%v)", want, err)
				}
			}
		} else {
			t.Log("pdftotext is not installed: what the pages say was not read")
		}
	}
	if asked == 0 {
		t.Error("no picture was asked for")
	}
	var b bytes.Buffer
	if err := (Sheet{Title: "empty"}).Write(context.Background(), &b, nil); err != nil || bytes.Count(b.Bytes(), []byte("/Type /Page\n")) != 1 {
		t.Errorf("a session without stacks: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := (Sheet{Stacks: stacks}).Write(ctx, &b, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

// TestSheetShowsProofs: a stack's proof stands for it where there is one, and its middle frame
// where there is none.
func TestSheetShowsProofs(t *testing.T) {
	with, without := invented(), invented()
	with.Proof = &session.Proof{Key: "one"}
	var large []string
	s := Sheet{Title: "table", Stacks: []Stack{with, without}}
	s.Picture = func(_ context.Context, fp string, w, _ int) (*image.RGBA, error) {
		if w == coverSide {
			large = append(large, fp)
		}
		return image.NewRGBA(image.Rect(0, 0, 60, 40)), nil
	}
	s.Proof = func(_ context.Context, key string, _, _ int) (*image.RGBA, error) {
		large = append(large, "proof "+key)
		return image.NewRGBA(image.Rect(0, 0, 61, 41)), nil
	}
	var b bytes.Buffer
	if err := s.Write(context.Background(), &b, nil); err != nil {
		t.Fatal(err)
	}
	middle := without.Kept()[len(without.Kept())/2].Fingerprint
	if want := []string{"proof one", middle}; !slices.Equal(large, want) {
		t.Errorf("large pictures %q, want %q", large, want)
	}
	if !bytes.Contains(b.Bytes(), []byte("/Width 61\n")) {
		t.Error("the proof is not on the sheet")
	}
}

// TestUpright holds the eight orientations against CIPA DC-008, tag 0x0112: where the stored
// picture's first pixel (0, 0) and the end of its first row (1, 0) are seen.
func TestUpright(t *testing.T) {
	for o, want := range map[int][4]float64{
		1: {0, 0, 1, 0}, 2: {1, 0, 0, 0}, 3: {1, 1, 0, 1}, 4: {0, 1, 1, 1}, 5: {0, 0, 0, 1}, 6: {1, 0, 1, 1}, 7: {1, 1, 1, 0}, 8: {0, 1, 0, 0},
	} {
		a, b := upright(0, 0, o)
		c, d := upright(1, 0, o)
		if got := [4]float64{a, b, c, d}; got != want {
			t.Errorf("orientation %d: %v, want %v", o, got, want)
		}
	}
}

// What people read is said by Session.Words, what programs read stays English.
func TestHandedOnInAnotherLanguage(t *testing.T) {
	s, out := bench(t), filepath.Join(t.TempDir(), "out")
	foreign := func(text session.Text) string { return "¡" + text.String() }
	r := handOn(t, s, out, Options{Words: foreign, Others: true, Sidecars: true, Sheet: true, Tables: true})
	if r.Sheet != "¡contact sheet.pdf" {
		t.Errorf("the sheet is %q", r.Sheet)
	}
	folders, aside := map[string]bool{}, 0
	for _, k := range r.Stacks {
		folders[k.Folder] = true
		for _, f := range k.Files {
			if !f.SetAside {
				continue
			}
			aside++
			if !strings.Contains(f.To, "/¡set aside/") {
				t.Errorf("%s is set aside and goes to %s", f.Frame, f.To)
			}
		}
	}
	if aside == 0 || !folders["¡markers"] {
		t.Errorf("%d files set aside, folders %v", aside, folders)
	}
	for _, table := range r.Tables {
		if strings.Contains(table, "¡") {
			t.Errorf("a table is called %s", table)
		}
		data, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(table)))
		if err != nil {
			t.Fatal(err)
		}
		head, _, _ := bytes.Cut(data, []byte("\n"))
		if bytes.Contains(head, []byte("¡")) {
			t.Errorf("%s begins with %s", table, head)
		}
	}
}

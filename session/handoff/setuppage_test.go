package handoff

import (
	"bytes"
	"image"
	"os/exec"
	"strings"
	"testing"

	"stillbench/session"
)

func ptr[T any](v T) *T { return &v }

// TestSetupPage: the page is a PDF that others read, with all of its words; a hundred steps make more
// pages, and no text breaks it. The setup is invented.
func TestSetupPage(t *testing.T) {
	p := SetupPage{
		Title: "Setup 9 · pine cone", Note: "2026-05-16",
		Steps: []Step{{"On the table: pine cone.", "Background: slate."}, {"1 · LED panel, diffuser, back-left.", "135° round to the left from the camera, 60° up, 40 cm away."}},
		Lights: []session.Light{
			{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 60, DistanceCM: ptr(40.0), Modifier: "diffuser"},
			{Kind: session.LightFlash, AzimuthDeg: 90, ElevationDeg: 10, DistanceCM: ptr(120.0)},
			{Kind: session.LightWindow, AzimuthDeg: 300}, {Kind: session.LightCard, AzimuthDeg: 60, DistanceCM: ptr(15.0)},
			{Kind: session.LightFlag, AzimuthDeg: 180, DistanceCM: ptr(30.0)}, {Kind: session.LightLamp, AzimuthDeg: 10, DistanceCM: ptr(50.0)},
		},
		Picture:    image.NewRGBA(image.Rect(0, 0, 300, 200)),
		Background: true,
		Caution:    "Lamps get hot.",
	}
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(b.Bytes(), []byte("%PDF-")) || !bytes.Contains(b.Bytes(), []byte("%%EOF")) {
		t.Error("that is no PDF")
	}
	if n := bytes.Count(b.Bytes(), []byte("/Type /Page\n")); n != 1 {
		t.Errorf("%d pages", n)
	}
	if _, err := exec.LookPath("exiftool"); err == nil {
		cmd := exec.Command("exiftool", "-s3", "-PageCount", "-")
		cmd.Stdin = bytes.NewReader(b.Bytes())
		if out, err := cmd.Output(); err != nil || strings.TrimSpace(string(out)) != "1" {
			t.Errorf("ExifTool counts %q pages, %v", out, err)
		}
	}
	p.Picture, p.Title = nil, "עץ 😀 a\u0301 \x00\xff "+strings.Repeat("long ", 100)
	for range 100 {
		p.Steps = append(p.Steps, Step{"More.", strings.Repeat("and more ", 60)})
	}
	b.Reset()
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(b.Bytes(), []byte("/Type /Page\n")); n < 5 {
		t.Errorf("a hundred long steps on %d pages", n)
	}
}

// TestLongTextLeavesThePlanOnTheFirstPage: whatever the photographer wrote, a page with two steps
// shows the plan and has all of the note, on as few pages as its words need.
func TestLongTextLeavesThePlanOnTheFirstPage(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("no pdftotext")
	}
	p := SetupPage{
		Title: "Setup 9 · " + strings.Repeat("long subject ", 100), Note: strings.Repeat("long note ", 1000) + "verdigris",
		Steps: []Step{{"On the table.", "Slate."}}, Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 225}},
	}
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("pdftotext", "-", "-")
	cmd.Stdin = bytes.NewReader(b.Bytes())
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	first, _, _ := strings.Cut(string(out), "\f")
	for _, want := range []string{"60 cm", "On the table."} {
		if !strings.Contains(first, want) {
			t.Errorf("%q is not on the first page", want)
		}
	}
	if !strings.Contains(string(out), "verdigris") {
		t.Error("the end of the note is not printed")
	}
}

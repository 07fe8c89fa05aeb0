package blend

import (
	"encoding/json"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"stillbench/assets/scene"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// compared are the stacks that OpenCV's blend was made of as well.
func compared() map[string]madeUp {
	m := map[string]madeUp{}
	for i, kind := range relief.Kinds {
		m["relief-"+string(kind)] = makeUp(kind, uint64(40+i), 320, 240, 200)
	}
	for _, kind := range []scene.Kind{scene.Fibres, scene.Cone} {
		m["scene-"+string(kind)] = tabletop(kind, 31)
	}
	return m
}

// TestAgainstOpenCV: the character that is suggested comes closer to the truth than a blend by
// OpenCV's own kernels on every stack, and by 1.5 dB in the mean. The reference figures are in
// testdata/reference/blend_opencv.json; the script beside it says how to remake them.
func TestAgainstOpenCV(t *testing.T) {
	stacks := compared()
	if dir := os.Getenv("STILLBENCH_FRAMES"); dir != "" {
		for name, m := range stacks {
			writeFrames(t, filepath.Join(dir, name), m)
		}
	}
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", "blend_opencv.json"))
	if err != nil {
		t.Fatal(err)
	}
	var reference struct {
		Stacks map[string]struct{ PSNRDB, SSIM float64 }
	}
	if err := json.Unmarshal(data, &reference); err != nil {
		t.Fatal(err)
	}
	ahead := 0.0
	for name, m := range stacks {
		r := run(t, "", m.frames)
		got, truth := r.Picture.To8().Luma(), m.truth.Luma()
		p, s, want := psnr(got, truth), ssim(got, truth), reference.Stacks[name]
		t.Logf("%-14s %-8s %.2f dB, SSIM %.4f; OpenCV %.2f dB, %.4f", name, r.Character, p, s, want.PSNRDB, want.SSIM)
		if want.PSNRDB == 0 || p <= want.PSNRDB {
			t.Errorf("%s: %.2f dB, OpenCV %.2f", name, p, want.PSNRDB)
		}
		ahead += (p - want.PSNRDB) / float64(len(stacks))
	}
	if ahead < 1.5 {
		t.Errorf("%.2f dB ahead in the mean", ahead)
	}
}

func writeFrames(t *testing.T, dir string, m madeUp) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	write := func(name string, p *plane.RGB) {
		f, err := os.Create(filepath.Join(dir, name+".png"))
		if err != nil {
			t.Fatal(err)
		}
		deep := plane.NewRGB16(p.W, p.H)
		for i, v := range p.Pix {
			deep.Pix[i] = uint16(v) * 257
		}
		if err := png.Encode(f, deepImage{deep}); err != nil {
			t.Fatal(err)
		}
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	for i, p := range m.frames {
		write(fmt.Sprintf("frame%02d", i), p)
	}
	write("truth", m.truth)
}

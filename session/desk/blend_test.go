package desk_test

import (
	"context"
	"errors"
	"fmt"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/desk"
	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// stackFiles writes an invented stack of five frames as files of one kind, and gives their
// names.
func stackFiles(t *testing.T, dir, ending string) (names []string) {
	t.Helper()
	s := relief.New(relief.Fine, 240, 180, 12, func(x, y float64) float64 { return 10 * y })
	for i := range 5 {
		p := s.Shoot(relief.Shot{Place: 2.5 * float64(i), Noise: relief.ISO(100), Seed: uint64(i), Move: plane.Similarity{Scale: 1 - 0.001*float64(i), DX: float64(i)}})
		name := fmt.Sprintf("A%04d%s", i, ending)
		f, err := os.Create(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		deep := plane.NewRGB16(p.W, p.H)
		for k, v := range p.Pix {
			deep.Pix[k] = uint16(v) * 257
		}
		switch ending {
		case ".TIF":
			err = blend.WriteTIFF(f, deep, blend.Carried{})
		case ".PNG":
			err = blend.WritePNG(f, deep, blend.Carried{})
		default:
			err = blend.WriteJPEG(f, p, blend.Carried{})
		}
		if err := errors.Join(err, f.Close()); err != nil {
			t.Fatal(err)
		}
		names = append(names, name)
	}
	return names
}

// left lists what a folder holds.
func left(t *testing.T, dir string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

// TestBlendFiles: frames of every kind blend into files of every kind, the frames are as they were,
// and a file turned by its orientation comes out upright.
func TestBlendFiles(t *testing.T) {
	kinds := []string{".JPG", ".TIF", ".PNG"}
	if testing.Short() {
		kinds = kinds[:1] // the race detector makes pixels slow
	}
	for _, in := range kinds {
		dir, out := t.TempDir(), t.TempDir()
		names := stackFiles(t, dir, in)
		if in == ".JPG" {
			// EXIF's orientation 6, in the entry that the writer made: turned by 90 degrees.
			for _, n := range names {
				path := filepath.Join(dir, n)
				data, err := os.ReadFile(path)
				if err != nil {
					t.Fatal(err)
				}
				entry := "\x12\x01\x03\x00\x01\x00\x00\x00\x01"
				if !strings.Contains(string(data), entry) {
					t.Fatal("no orientation in the file")
				}
				put(t, dir, n, []byte(strings.Replace(string(data), entry, entry[:8]+"\x06", 1)))
			}
		}
		before := hashes(t, dir)
		endings := []string{".tif", ".png", ".jpg"}
		if testing.Short() {
			endings = endings[:1]
		}
		for _, ending := range endings {
			depth := ""
			if ending == ".tif" {
				depth = filepath.Join(out, "depth.png")
			}
			r, err := desk.Blend(t.Context(), desk.BlendJob{Dir: dir, Files: names, Out: filepath.Join(out, "blend"+ending), Depth: depth})
			if err != nil {
				t.Fatalf("%s to %s: %v", in, ending, err)
			}
			w, h := 240, 180
			if in == ".JPG" {
				w, h = 180, 240
			}
			if len(r.Used) != 5 || r.W != w || r.H != h || r.FarFirst {
				t.Errorf("%s to %s: %d frames, %d x %d, far first %v", in, ending, len(r.Used), r.W, r.H, r.FarFirst)
			}
			if depth != "" {
				f, err := os.Open(depth)
				if err != nil {
					t.Fatal(err)
				}
				c, err := png.DecodeConfig(f)
				f.Close()
				if err != nil || c.Width != w || c.Height != h {
					t.Errorf("depth map: %+v, %v", c, err)
				}
			}
		}
		if got := left(t, out); len(got) != len(endings)+2 {
			t.Errorf("files are %v", got)
		}
		if hashes(t, dir) != before {
			t.Error("a frame was changed")
		}
	}
}

// TestBlendRefuses: what exists is not replaced unasked, a frame never, and what cannot be
// done leaves nothing behind.
func TestBlendRefuses(t *testing.T) {
	dir := t.TempDir()
	names := stackFiles(t, dir, ".JPG")
	out := filepath.Join(dir, "out.tif")
	put(t, dir, "out.tif", []byte("dear to somebody"))
	job := desk.BlendJob{Dir: dir, Files: names, Out: out, Character: blend.Threads}
	before := hashes(t, dir)
	try := func(what string, change func(*desk.BlendJob), want error) {
		t.Helper()
		j := job
		change(&j)
		if _, err := desk.Blend(t.Context(), j); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", what, err, want)
		}
		if hashes(t, dir) != before {
			t.Errorf("%s: the folder has changed", what)
		}
	}
	try("a file that exists", func(*desk.BlendJob) {}, fs.ErrExist)
	try("the folder of the frames", func(j *desk.BlendJob) { j.Out = dir }, session.ErrInvalid)
	try("a frame as output", func(j *desk.BlendJob) { j.Out = filepath.Join(dir, names[2]); j.Replace = true }, session.ErrInvalid)
	try("a frame as depth map", func(j *desk.BlendJob) {
		j.Out, j.Depth = filepath.Join(dir, "new.tif"), filepath.Join(dir, names[2])
	}, session.ErrInvalid)
	try("another ending", func(j *desk.BlendJob) { j.Out = filepath.Join(dir, "new.gif") }, session.ErrInvalid)
	try("a folder that is not there", func(j *desk.BlendJob) {
		j.Out = filepath.Join(dir, "no", "new.tif")
		j.Progress = func(done, _ int) { t.Errorf("it is found out after %d steps", done) }
	}, fs.ErrNotExist)
	try("no frame that is there", func(j *desk.BlendJob) { j.Files, j.Out = []string{"gone.JPG"}, filepath.Join(dir, "new.tif") }, blend.ErrNoFrames)
	ctx, cancel := context.WithCancel(t.Context())
	j := job
	j.Out = filepath.Join(dir, "new.tif")
	j.Progress = func(done, total int) {
		if 2*done > total {
			cancel()
		}
	}
	if _, err := desk.Blend(ctx, j); !errors.Is(err, context.Canceled) {
		t.Errorf("called off: %v", err)
	}
	if hashes(t, dir) != before {
		t.Error("called off: the folder has changed")
	}

	job.Files = append(names[:3:3], "gone.JPG", names[3])
	job.Replace = true
	r, err := desk.Blend(t.Context(), job)
	if err != nil || len(r.Used) != 4 || len(r.LeftOut) != 1 || !errors.Is(r.LeftOut[0].Err, fs.ErrNotExist) {
		t.Errorf("one frame gone: %+v, %v", r, err)
	}
	if st, err := os.Stat(out); err != nil || st.Size() < 10000 {
		t.Error("a file that was to be replaced was not")
	}
}

// TestBlendFullDisk: on a full disk nothing is left, and the sentence names the file.
func TestBlendFullDisk(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector makes pixels slow; the whole suite runs it")
	}
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("a file system cannot be mounted here: %v", err)
	}
	defer syscall.Unmount(disk, syscall.MNT_DETACH)
	dir := t.TempDir()
	out := filepath.Join(disk, "out.tif")
	_, err := desk.Blend(t.Context(), desk.BlendJob{Dir: dir, Files: stackFiles(t, dir, ".JPG"), Out: out, Character: blend.Threads})
	if !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), out) {
		t.Errorf("on a full disk: %v", err)
	}
	if got := left(t, disk); len(got) != 0 {
		t.Errorf("left behind: %v", got)
	}
}

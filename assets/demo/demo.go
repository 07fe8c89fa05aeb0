// Package demo is a made-up session at the table for people who want to see the program at
// work before they have shot anything: acorns, a shell, a pine cone and a wheel train, in
// frames by an invented camera, with light trials, markers, stacks and singles. The frames
// are kept ready in frames/; the recipe that they were made by is in recipe.go, and
//
//	go run ./assets/demo/make
//
// makes them anew. The package also knows the truth about its session, for tests, and which
// lights and past setups belong to its log.
package demo

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"stillbench/exifread/exiftest"
	"stillbench/session"
)

//go:embed frames/*.jpg
var frames embed.FS

// Names lists the frames' file names in the order they were taken.
func Names() []string {
	var out []string
	for _, e := range exposures() {
		out = append(out, e.name)
	}
	return out
}

// Write puts the session's frames into a folder, which is made if it is not there. A file that
// is there already is never written over: if its name is one of the frames', it is left
// as it is. Write stops between two frames when ctx is done.
func Write(ctx context.Context, dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make the demo's folder: %w", err)
	}
	for _, n := range Names() {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := Frame(n)
		if err != nil {
			return err
		}
		f, err := os.OpenFile(filepath.Join(dir, n), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return fmt.Errorf("write the demo's frame %s: %w", n, err)
		}
		_, err = f.Write(data)
		if cerr := f.Close(); err == nil {
			err = cerr
		}
		if err != nil {
			os.Remove(f.Name()) // half a frame that we began ourselves
			return fmt.Errorf("write the demo's frame %s: %w", n, err)
		}
	}
	return nil
}

// Frame is one frame's file. The error is fs.ErrNotExist for a name that is not in Names.
func Frame(name string) ([]byte, error) {
	data, err := frames.ReadFile("frames/" + stem(name) + ".jpg")
	if err != nil {
		return nil, fmt.Errorf("the demo's frame %s: %w", name, err)
	}
	return data, nil
}

func stem(name string) string { return name[:max(0, len(name)-len(filepath.Ext(name)))] }

// Group is a group of the session as its recipe has it.
type Group struct {
	Kind   session.Kind
	Frames []string // file names, in time order
}

// Truth is what grouping has to find: every frame once, in time order.
func Truth() []Group {
	out := make([]Group, len(acts))
	for i, a := range acts {
		out[i].Kind = a.kind
	}
	for _, e := range exposures() {
		out[e.act].Frames = append(out[e.act].Frames, e.name)
	}
	return out
}

// Render makes the frames anew by the recipe, in their order, and gives each file's name
// and content to each. It takes minutes.
func Render(ctx context.Context, each func(name string, data []byte) error) error {
	s := newStudio(1)
	for _, e := range exposures() {
		if err := ctx.Err(); err != nil {
			return err
		}
		data, err := s.shoot(e, quality)
		if err == nil {
			data, err = exiftest.InsertJPEG(data, e.fields())
		}
		if err == nil {
			err = each(e.name, data)
		}
		if err != nil {
			return fmt.Errorf("frame %s: %w", e.name, err)
		}
	}
	return nil
}

// quality of the JPEGs, on libjpeg's scale: the session has to be small.
const quality = 78

// fields is what the camera writes into a frame.
func (e exposure) fields() exiftest.Fields {
	f, fired, bias := float64(focalMM), acts[e.act].light.lights[0].Kind == session.LightFlash, 0.0
	w, h := width, height
	return exiftest.Fields{
		Make: cameraMake, Model: cameraModel, Lens: lens, Serial: serial,
		Taken: e.taken, HasOffset: true,
		FNumber: &e.fNo, ShutterSeconds: &e.time, ISO: &e.iso, ExposureBiasEV: &bias,
		FocalLengthMM: &f, FocalLength35MM: &f, FlashFired: &fired,
		Orientation: &e.turn, Width: &w, Height: &h,
	}
}

package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/desk"
)

// blendJSON is the object of `blend --json`.
type blendJSON struct {
	Output    string  `json:"output"`
	Width     int     `json:"width"`
	Height    int     `json:"height"`
	Depth     *string `json:"depth"`
	DepthSure *string `json:"depthSure"`
	Character string  `json:"character"`
	// Suits is the character that suits the frames, Why the reason.
	Suits     string        `json:"suits"`
	Why       string        `json:"why"`
	Reference string        `json:"reference"`
	Frames    []blendedJSON `json:"frames"`
	LeftOut   []leftOutJSON `json:"leftOut"`
}

// blendedJSON: a detail at p in the reference is at scale R(turn) p + shift in this frame.
type blendedJSON struct {
	File        string     `json:"file"`
	ShiftPixels [2]float64 `json:"shiftPixels"`
	Scale       float64    `json:"scale"`
	TurnDegrees float64    `json:"turnDegrees"`
	Gain        [3]float32 `json:"gain"`
}

type leftOutJSON struct {
	File  string `json:"file"`
	Error string `json:"error"`
}

func runBlend(e env, args []string) int {
	f := newFlags("blend")
	j := desk.BlendJob{}
	var character string
	f.StringVar(&j.Out, "o", "", "the file to write")
	f.StringVar(&j.Depth, "depth", "", "also write the depth map")
	f.BoolVar(&j.Proof, "proof", false, "blend at preview size")
	f.BoolVar(&j.Replace, "replace", false, "replace files that exist")
	f.StringVar(&character, "character", "", "threads or surfaces")
	words, code := f.parse(e, args)
	switch {
	case code >= 0:
		return code
	case j.Out == "":
		return wrong(e, "blend: say with -o which file to write")
	case len(words) == 0:
		return wrong(e, "blend: name the frames")
	}
	switch j.Character = blend.Character(character); j.Character {
	case "", blend.Threads, blend.Surfaces:
	default:
		return wrong(e, "blend: %q is no character; there are %s and %s", character, blend.Threads, blend.Surfaces)
	}
	j.Files = words
	progress, stop := tellProgress(e)
	j.Progress = progress
	r, err := desk.Blend(e.ctx, j)
	stop()
	switch {
	case errors.Is(err, context.Canceled):
		return failed(e, errors.New("stopped; nothing was written"))
	case errors.Is(err, session.ErrInvalid):
		return wrong(e, "blend: %v", err)
	case errors.Is(err, fs.ErrExist):
		return failed(e, fmt.Errorf("%w; --replace writes over it", err))
	case err != nil:
		return failed(e, err)
	}
	if !j.Proof {
		if err := noteBlend(e, f.log, j.Out, r); err != nil {
			fmt.Fprintf(e.stderr, "stillbench: %s is written, but the setup log was not told of it: %v\n", j.Out, err)
		}
	}
	for _, o := range r.LeftOut {
		fmt.Fprintf(e.stderr, "stillbench: %s is left out: %v\n", o.Name, o.Err)
		code = exitPartly
	}
	code = max(code, exitDone)
	if f.json {
		if err := printJSON(e, blendOf(j, r)); err != nil {
			return failed(e, err)
		}
		return code
	}
	name, use := r.Character.Words()
	fmt.Fprintf(e.stdout, "%s: %d frames, %d x %d pixels, as %s (%s).\n", j.Out, len(r.Used), r.W, r.H, name, use)
	if r.Suits != r.Character {
		suits, _ := r.Suits.Words()
		fmt.Fprintf(e.stdout, "%s would suit: %s.\n", suits, r.Why)
	}
	return code
}

// noteBlend has the log note of which stack a blend is, where there is a log and it knows
// the frames.
func noteBlend(e env, log, out string, r *desk.Blended) error {
	path, err := logPath(log)
	if err != nil || !isFile(path) {
		return err
	}
	var frames []string
	for _, u := range r.Used {
		fp, err := desk.Fingerprint(u.Name)
		if err != nil {
			return err
		}
		frames = append(frames, fp)
	}
	s, err := openLog(e.ctx, path)
	if err != nil {
		return err
	}
	defer s.Close()
	return s.RecordBlend(e.ctx, frames, out, s.Now())
}

func blendOf(j desk.BlendJob, r *desk.Blended) blendJSON {
	out := blendJSON{
		Output: j.Out, Width: r.W, Height: r.H, Character: string(r.Character), Suits: string(r.Suits), Why: r.Why.String(),
		Reference: r.Used[r.Reference].Name, Frames: []blendedJSON{}, LeftOut: []leftOutJSON{},
	}
	if j.Depth != "" {
		out.Depth, out.DepthSure = &j.Depth, &r.DepthSure
	}
	for _, u := range r.Used {
		out.Frames = append(out.Frames, blendedJSON{u.Name, [2]float64{u.Move.DX, u.Move.DY}, u.Move.Scale, u.Move.Turn * 180 / math.Pi, u.Gain})
	}
	for _, o := range r.LeftOut {
		out.LeftOut = append(out.LeftOut, leftOutJSON{o.Name, o.Err.Error()})
	}
	return out
}

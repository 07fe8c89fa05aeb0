package main

import (
	"fmt"

	"stillbench/session"
	"stillbench/session/desk"
)

// checkJSON is the object that `check --json` adds to every stack.
type checkJSON struct {
	Verdict         string           `json:"verdict"`
	Sure            bool             `json:"sure"`
	Headline        string           `json:"headline"`
	Advice          string           `json:"advice"`
	Frames          []frameCheckJSON `json:"frames"`
	Gaps            []gapJSON        `json:"gaps"`
	NearEnd         string           `json:"nearEnd"`
	FarEnd          string           `json:"farEnd"`
	NearKnown       bool             `json:"nearKnown"` // else near and far may be the other way round
	LightSteady     bool             `json:"lightSteady"`
	SettingsSteady  bool             `json:"settingsSteady"`
	NeverSharpShare float64          `json:"neverSharpShare"`
	// Wanted is the wanted area on the middle frame as stored; null is all of it.
	Wanted session.Area `json:"wanted"`
}

type frameCheckJSON struct {
	File         string      `json:"file"`
	Place        *float64    `json:"place"`
	Sharp        float64     `json:"sharp"`
	Blurred      bool        `json:"blurred"`
	BlurPixels   float64     `json:"blurPixels"`
	ShiftPixels  *[2]float64 `json:"shiftPixels"`
	Scale        *float64    `json:"scale"`
	TurnDegrees  *float64    `json:"turnDegrees"`
	Moved        bool        `json:"moved"`
	BrightnessEV float64     `json:"brightnessEV"`
	Clipped      [3]float64  `json:"clipped"`
}

type gapJSON struct {
	After   string   `json:"after"`
	Before  string   `json:"before"`
	DepthMM *float64 `json:"depthMM"`
}

func runCheck(e env, args []string) int {
	f, dir, code := parseDir(e, "check", args)
	if code >= 0 {
		return code
	}
	snap, code := readOnce(e, dir, f.log, true)
	if snap == nil {
		return code
	}
	stacks := 0
	for _, g := range snap.Groups {
		if g.Kind != session.KindStack {
			continue
		}
		stacks++
		if c := snap.Checks[g.ID]; c != nil && c.Verdict != session.VerdictCovered {
			fmt.Fprintf(e.stderr, "stillbench: stack %d is not covered: %s %s\n", stacks, c.Headline, c.Advice)
			code = exitPartly
		}
	}
	if f.json {
		if err := printJSON(e, sessionOf(snap)); err != nil {
			return failed(e, err)
		}
		return code
	}
	printGroups(e, snap)
	return code
}

// checkOf gives the object of a verdict; nil when there is none.
func checkOf(s *desk.Snapshot, g session.Group, frames map[string]session.Frame) *checkJSON {
	c := s.Checks[g.ID]
	if c == nil {
		return nil
	}
	out := &checkJSON{
		Verdict: string(c.Verdict), Sure: c.Sure, Headline: c.Headline.String(), Advice: c.Advice.String(),
		Frames: []frameCheckJSON{}, Gaps: []gapJSON{}, NearEnd: string(c.NearEnd), FarEnd: string(c.FarEnd), NearKnown: c.NearKnown,
		LightSteady: c.LightSteady, SettingsSteady: c.SettingsSteady, NeverSharpShare: c.NeverSharpShare,
		Wanted: s.Wanted[g.ID],
	}
	for _, f := range c.Frames {
		j := frameCheckJSON{
			File: frames[f.Fingerprint].Name, Place: f.Place, Sharp: f.Sharp, Blurred: f.Blurred, BlurPixels: f.BlurPixels,
			Moved: f.Moved, BrightnessEV: f.BrightnessEV, Clipped: f.Clipped,
		}
		if f.Aligned {
			shift, scale, turn := f.Shift, f.Scale, f.TurnDegrees
			j.ShiftPixels, j.Scale, j.TurnDegrees = &shift, &scale, &turn
		}
		out.Frames = append(out.Frames, j)
	}
	for _, gap := range c.Gaps {
		out.Gaps = append(out.Gaps, gapJSON{frames[gap.After].Name, frames[gap.Before].Name, gap.DepthMM})
	}
	return out
}

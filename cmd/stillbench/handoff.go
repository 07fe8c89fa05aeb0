package main

import (
	"errors"
	"fmt"
	"path"
	"slices"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/handoff"
)

// handoffJSON is the object of `handoff --json`. Paths are relative to the folder handed on
// to, but for manifest's.
type handoffJSON struct {
	Stacks   []handedJSON `json:"stacks"`
	Sheet    *string      `json:"sheet"`
	Tables   []string     `json:"tables"`
	Manifest string       `json:"manifest"`
	// Made and Bytes count the files made by this run; of an undo, those put back.
	Made     int              `json:"made"`
	Bytes    int64            `json:"bytes"`
	Problems []unreadableJSON `json:"problems"`
	Sentence string           `json:"sentence"`
}

type handedJSON struct {
	ID       int64    `json:"id"`
	Kind     string   `json:"kind"`
	Title    string   `json:"title"`
	Folder   string   `json:"folder"`
	Files    []string `json:"files"`
	SetAside []string `json:"setAside"`
	Sidecars []string `json:"sidecars"`
}

func runHandoff(e env, args []string) int {
	f := newFlags("handoff")
	var o handoff.Options
	var out, as string
	var undo bool
	f.StringVar(&out, "o", "", "the folder to hand on to")
	f.StringVar(&as, "as", string(handoff.Copy), "how files come there")
	f.BoolVar(&o.CopyInstead, "or-copy", false, "copy where no link can be made")
	f.StringVar(&o.Pattern, "pattern", "", "names the folders")
	f.BoolVar(&o.Others, "others", false, "markers, singles and tests too")
	f.BoolVar(&o.Sidecars, "sidecars", false, "write XMP beside the frames")
	f.BoolVar(&o.Reject, "reject", false, "rate those set aside -1")
	f.BoolVar(&o.Sheet, "sheet", false, "make the contact sheet")
	f.StringVar(&o.Paper, "paper", "A4", "A4 or Letter")
	f.BoolVar(&o.Tables, "tables", false, "make tables, recipes and lists")
	f.BoolVar(&undo, "undo", false, "move back what was moved")
	words, code := f.parse(e, args)
	switch {
	case code >= 0:
		return code
	case out == "":
		return wrong(e, "handoff: say with -o which folder to hand on to")
	case undo && len(words) > 0:
		return wrong(e, "handoff: --undo goes by what lies in -o and takes no other folder")
	case undo:
		return undoHandoff(e, out, f.json)
	}
	dir, code := oneDir(e, "handoff", words)
	if code >= 0 {
		return code
	}
	if o.As = handoff.How(as); !slices.Contains(handoff.Hows, o.As) {
		return wrong(e, "handoff: --as %s: it is one of %s", as, list(handoff.Hows))
	}
	// Before a long reading in: what is wrong with the pattern is known now.
	if err := handoff.CheckPattern(o.Pattern); err != nil {
		return wrong(e, "handoff: --pattern: %v", err)
	}
	return withDesk(e, f.log, desk.Options{Dir: dir, Check: o.Sheet || o.Tables, Proof: o.Sheet || o.Tables}, func(d *desk.Desk, s *desk.Snapshot, code int) int {
		o.Proof = d.Proof
		p, err := s.PlanHandoff(e.ctx, out, o)
		if errors.Is(err, session.ErrInvalid) {
			return wrong(e, "handoff: %v", err)
		}
		if err != nil {
			return failed(e, err)
		}
		progress, stop := tellProgress(e)
		r, err := handoff.Do(e.ctx, p, progress)
		stop()
		return tellHandoff(e, r, err, code, f.json)
	})
}

func undoHandoff(e env, out string, json bool) int {
	progress, stop := tellProgress(e)
	r, err := handoff.Undo(e.ctx, out, progress)
	stop()
	return tellHandoff(e, r, err, exitDone, json)
}

// tellHandoff says what was done; code is the exit code so far.
func tellHandoff(e env, r handoff.Result, err error, code int, json bool) int {
	for _, p := range r.Problems {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", p.Sentence)
		code = exitPartly
	}
	if err != nil {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", r.Sentence)
		code = exitNothing
		if len(r.Stacks) > 0 {
			code = exitPartly
		}
	} else if len(r.Problems) > 0 && len(r.Stacks) == 0 && r.Files == 0 {
		code = exitNothing
	}
	if json {
		if err := printJSON(e, handoffOf(r)); err != nil {
			return failed(e, err)
		}
		return code
	}
	if err == nil {
		for _, k := range r.Stacks {
			fmt.Fprintf(e.stdout, "%-8s %s, %d files\n", fmt.Sprintf("%s %d", k.Kind, k.Number), k.Folder, len(k.Files))
		}
		fmt.Fprintln(e.stdout, r.Sentence)
	}
	return code
}

func handoffOf(r handoff.Result) handoffJSON {
	out := handoffJSON{
		Stacks: []handedJSON{}, Sheet: text(r.Sheet), Tables: r.Tables, Manifest: r.Manifest,
		Made: r.Files, Bytes: r.Bytes, Problems: []unreadableJSON{}, Sentence: r.Sentence.String(),
	}
	if out.Tables == nil {
		out.Tables = []string{}
	}
	for _, p := range r.Problems {
		out.Problems = append(out.Problems, unreadableJSON{p.File, p.Sentence.String()})
	}
	for _, k := range r.Stacks {
		j := handedJSON{ID: k.ID, Kind: k.Kind, Title: k.Title, Folder: k.Folder, Files: []string{}, SetAside: []string{}, Sidecars: []string{}}
		for _, f := range k.Files {
			switch {
			case f.Role == handoff.RoleBefore:
			case f.Role == handoff.RoleSidecar:
				j.Sidecars = append(j.Sidecars, f.To)
			default:
				j.Files = append(j.Files, f.To)
				if f.SetAside {
					j.SetAside = append(j.SetAside, f.To)
				}
			}
		}
		for _, s := range k.Sidecars {
			j.Sidecars = append(j.Sidecars, path.Clean(s.To))
		}
		out.Stacks = append(out.Stacks, j)
	}
	return out
}

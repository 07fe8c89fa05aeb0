package main

import (
	"fmt"
	"strings"

	"stillbench/session"
	"stillbench/session/desk"
)

// sessionJSON is the object of `group --json`.
type sessionJSON struct {
	Dir        string              `json:"dir"`
	Groups     []groupJSON         `json:"groups"`
	Pairs      map[string][]string `json:"pairs"`
	Duplicates map[string][]string `json:"duplicates"`
	Unreadable []unreadableJSON    `json:"unreadable"`
}

type groupJSON struct {
	ID         int64     `json:"id"`
	Kind       string    `json:"kind"`
	Name       *string   `json:"name"`
	Frames     []string  `json:"frames"`
	SetAside   []string  `json:"setAside"`
	Seam       *seamJSON `json:"seam"`
	Confidence float64   `json:"confidence"`
	Question   *string   `json:"question"`
	// Check is there when stacks were judged.
	Check *checkJSON `json:"check,omitempty"`
}

type seamJSON struct {
	Reasons    []reasonJSON `json:"reasons"`
	Confidence float64      `json:"confidence"`
}

type reasonJSON struct {
	Rule   string `json:"rule"`
	Detail string `json:"detail"`
}

type unreadableJSON struct {
	File  string `json:"file"`
	Error string `json:"error"`
}

func runGroup(e env, args []string) int {
	f, dir, code := parseDir(e, "group", args)
	if code >= 0 {
		return code
	}
	snap, code := readOnce(e, dir, f.log, false)
	if snap == nil {
		return code
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

// readOnce reads a folder in and gives its state, with the exit code that fits what
// could not be read, every stack judged if check is set. The snapshot is nil when nothing could be done.
func readOnce(e env, dir, log string, check bool) (snap *desk.Snapshot, code int) {
	code = withDesk(e, log, desk.Options{Dir: dir, Check: check}, func(_ *desk.Desk, s *desk.Snapshot, code int) int {
		snap = s
		return code
	})
	return snap, code
}

// withDesk reads a folder to its end and hands the desk on while it is still open, with what
// it found and the exit code so far; use gives the exit code. Problems are told.
func withDesk(e env, log string, o desk.Options, use func(d *desk.Desk, s *desk.Snapshot, code int) int) (code int) {
	s, problem, err := openLogOrMemory(e.ctx, log, o.Dir)
	if err != nil {
		return failed(e, err)
	}
	defer s.Close()
	if problem != nil {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", problem.Sentence)
		code = exitPartly
	}
	o.Log, o.Once = s, true
	d, err := desk.Open(e.ctx, o)
	if err != nil {
		return failed(e, err)
	}
	defer func() {
		if err := d.Close(); err != nil && code == exitDone {
			code = failed(e, err)
		}
	}()
	stop := showProgress(e, d)
	err = d.Settled(e.ctx)
	stop()
	snap := d.Snapshot()
	if err != nil {
		return failed(e, err)
	}
	for _, p := range snap.Unreadable {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", p.Sentence)
		code = exitPartly
	}
	for _, p := range snap.Notices {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", p.Sentence)
		code = exitPartly
	}
	return use(d, snap, code)
}

func sessionOf(s *desk.Snapshot) sessionJSON {
	out := sessionJSON{Dir: s.Session.Dir, Groups: []groupJSON{}, Pairs: map[string][]string{}, Duplicates: s.Duplicates, Unreadable: []unreadableJSON{}}
	for _, f := range s.Frames {
		if len(f.Pairs) > 0 {
			out.Pairs[f.Name] = f.Pairs
		}
	}
	byID := byFingerprint(s)
	for _, g := range s.Groups {
		j := groupOf(g, byID)
		j.Check = checkOf(s, g, byID)
		out.Groups = append(out.Groups, j)
	}
	for _, p := range s.Unreadable {
		out.Unreadable = append(out.Unreadable, unreadableJSON{p.File, p.Sentence.String()})
	}
	return out
}

func byFingerprint(s *desk.Snapshot) map[string]session.Frame {
	m := make(map[string]session.Frame, len(s.Frames))
	for _, f := range s.Frames {
		m[f.Fingerprint] = f
	}
	return m
}

func groupOf(g session.Group, frames map[string]session.Frame) groupJSON {
	out := groupJSON{ID: g.ID, Kind: string(g.Kind), Name: text(g.Name), Confidence: g.Confidence, Question: text(g.Question.String()), SetAside: []string{}}
	for _, fp := range g.Frames {
		f := frames[fp]
		out.Frames = append(out.Frames, f.Name)
		if f.SetAside {
			out.SetAside = append(out.SetAside, f.Name)
		}
	}
	if g.Seam != nil {
		out.Seam = &seamJSON{Reasons: []reasonJSON{}, Confidence: g.Seam.Confidence}
		for _, r := range g.Seam.Reasons {
			out.Seam.Reasons = append(out.Seam.Reasons, reasonJSON{string(r.Rule), r.Detail.String()})
		}
	}
	return out
}

func printGroups(e env, s *desk.Snapshot) {
	frames := byFingerprint(s)
	stacks := 0
	for _, g := range s.Groups {
		name := string(g.Kind)
		if g.Kind == session.KindStack {
			stacks++
			name = fmt.Sprintf("stack %d", stacks)
		}
		if g.Name != "" {
			name += ", " + g.Name
		}
		if g.Seam != nil {
			var why []string
			for _, r := range g.Seam.Reasons {
				why = append(why, r.Detail.String())
			}
			fmt.Fprintf(e.stdout, "  / / /  %s\n", strings.Join(why, ", "))
		}
		first, last := frames[g.Frames[0]].Name, frames[g.Frames[len(g.Frames)-1]].Name
		if len(g.Frames) == 1 {
			fmt.Fprintf(e.stdout, "%-10s %s\n", name, first)
		} else {
			fmt.Fprintf(e.stdout, "%-10s %s to %s, %d frames\n", name, first, last, len(g.Frames))
		}
		if c := s.Checks[g.ID]; c != nil {
			fmt.Fprintf(e.stdout, "           %s %s\n", c.Headline, c.Advice)
			if len(s.Wanted[g.ID]) > 0 {
				fmt.Fprintln(e.stdout, "           Only the wanted area was looked at.")
			}
		}
		if g.Question.Form != "" {
			fmt.Fprintf(e.stdout, "           %s\n", g.Question)
		}
	}
}

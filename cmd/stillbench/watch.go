package main

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"

	"stillbench/session/desk"
)

// frameEvent, groupEvent, checkEvent and unreadableEvent are the lines of `watch --json`.
type frameEvent struct {
	Event string `json:"event"`
	File  string `json:"file"`
}

type groupEvent struct {
	Event string `json:"event"`
	groupJSON
}

type checkEvent struct {
	Event string `json:"event"`
	ID    int64  `json:"id"`
	checkJSON
}

type unreadableEvent struct {
	Event string `json:"event"`
	unreadableJSON
}

func runWatch(e env, args []string) int {
	f, dir, code := parseDir(e, "watch", args)
	if code >= 0 {
		return code
	}
	s, problem, err := openLogOrMemory(e.ctx, f.log, dir)
	if err != nil {
		return failed(e, err)
	}
	defer s.Close()
	if problem != nil {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", problem.Sentence)
	}
	defer keepCopies(e, s)()
	d, err := desk.Open(e.ctx, desk.Options{Dir: dir, Log: s, Check: true})
	if err != nil {
		return failed(e, err)
	}
	p := newPrinter(e, f.json)
	for {
		select {
		case <-d.Changed():
			p.print(d.Snapshot())
		case <-e.ctx.Done():
			if err := d.Close(); err != nil {
				return failed(e, err)
			}
			p.print(d.Snapshot())
			return exitDone
		}
		if p.err != nil { // nobody reads any more
			d.Close()
			return exitPartly
		}
	}
}

// printer prints what changed from one snapshot to the next, an event a line.
type printer struct {
	e          env
	json       bool
	frames     map[string]bool
	groups     map[int64]groupJSON
	checks     map[int64]*checkJSON
	unreadable map[string]string
	notices    map[string]bool
	err        error
}

func newPrinter(e env, json bool) *printer {
	return &printer{e: e, json: json, frames: map[string]bool{}, groups: map[int64]groupJSON{}, checks: map[int64]*checkJSON{}, unreadable: map[string]string{}, notices: map[string]bool{}}
}

func (p *printer) print(s *desk.Snapshot) {
	for _, f := range s.Frames {
		if !p.frames[f.Name] {
			p.frames[f.Name] = true
			p.line(frameEvent{"frame", f.Name}, "frame       "+f.Name)
		}
	}
	now := sessionOf(s)
	for _, u := range now.Unreadable {
		if p.unreadable[u.File] != u.Error {
			p.unreadable[u.File] = u.Error
			p.line(unreadableEvent{"unreadable", u}, "unreadable  "+u.Error)
		}
	}
	for _, g := range now.Groups {
		check := g.Check
		g.Check = nil
		if old, ok := p.groups[g.ID]; !ok || !reflect.DeepEqual(old, g) {
			p.groups[g.ID] = g
			p.line(groupEvent{"group", g}, fmt.Sprintf("group %-5d %s: %s", g.ID, g.Kind, strings.Join(g.Frames, " ")))
		}
		if check != nil && !reflect.DeepEqual(p.checks[g.ID], check) {
			p.checks[g.ID] = check
			p.line(checkEvent{"check", g.ID, *check}, fmt.Sprintf("check %-5d %s: %s %s", g.ID, check.Verdict, check.Headline, check.Advice))
		}
	}
	standing := map[string]bool{}
	for _, n := range s.Notices {
		standing[n.Sentence.String()] = true
		if !p.notices[n.Sentence.String()] {
			fmt.Fprintf(p.e.stderr, "stillbench: %s\n", n.Sentence)
		}
	}
	p.notices = standing
}

func (p *printer) line(event any, words string) {
	if p.err != nil {
		return
	}
	if !p.json {
		_, p.err = fmt.Fprintln(p.e.stdout, words)
		return
	}
	enc := json.NewEncoder(p.e.stdout)
	enc.SetEscapeHTML(false)
	p.err = enc.Encode(event)
}

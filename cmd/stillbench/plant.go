package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"stillbench/assets/demo"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/store"
)

// plantSetups puts into the demo's log what a photographer would have logged: the setups
// of the demo's own session, and those of sessions before it. A log in which the demo's
// session has setups already is left as it is.
func plantSetups(ctx context.Context, dir, log string) error {
	s, err := store.Open(ctx, log)
	if err != nil {
		return err
	}
	defer s.Close()
	own, err := s.OpenSession(ctx, dir)
	if err != nil {
		return err
	}
	there, err := s.Setups(ctx, own.ID)
	if err != nil || len(there) > 0 {
		return err
	}
	snap, err := readIn(ctx, dir, s)
	if err != nil {
		return err
	}
	byName := map[string]string{}
	for _, f := range snap.Frames {
		byName[f.Name] = f.Fingerprint
	}
	for _, setup := range demo.Setups() {
		setup.SessionID = own.ID
		setup.AfterFrame = byName[setup.AfterFrame]
		if err := logSetup(ctx, s, setup); err != nil {
			return err
		}
	}
	if _, err := readIn(ctx, dir, s); err != nil { // ties the groups to the setups
		return err
	}
	for i, p := range demo.Past() {
		if err := plantPast(ctx, s, filepath.Join(dir, fmt.Sprintf(".earlier-%02d", i+1)), p); err != nil {
			return err
		}
	}
	return nil
}

// readIn reads a folder into a log, once.
func readIn(ctx context.Context, dir string, log desk.Log) (*desk.Snapshot, error) {
	d, err := desk.Open(ctx, desk.Options{Dir: dir, Log: log, Once: true})
	if err != nil {
		return nil, err
	}
	err = d.Settled(ctx)
	snap := d.Snapshot()
	if cerr := d.Close(); err == nil {
		err = cerr
	}
	return snap, err
}

func logSetup(ctx context.Context, s *store.Store, setup session.Setup) error {
	_, err := s.AddEdit(ctx, setup.SessionID, session.Edit{
		Kind: session.EditSetup, Setup: &setup, Words: "log a setup", Made: setup.Logged,
	})
	return err
}

// plantPast makes an earlier session of which only the log and one picture are left: a
// folder with the cover, and rows for the frames that are said to have been shot.
func plantPast(ctx context.Context, s *store.Store, dir string, p session.FoundSetup) error {
	own, err := s.OpenSession(ctx, dir)
	if err != nil {
		return err
	}
	setup := p.Setup
	setup.SessionID = own.ID
	if err := logSetup(ctx, s, setup); err != nil {
		return err
	}
	logged, err := s.Setups(ctx, own.ID)
	if err != nil || len(logged) == 0 {
		return err
	}
	frames := make([]session.Frame, p.Frames)
	groups := make([]session.Group, p.Stacks)
	for i := range frames {
		f := p.FNumber[min(i*len(p.FNumber)/p.Frames, len(p.FNumber)-1)]
		frames[i] = session.Frame{
			Name: fmt.Sprintf("VTX_%04d.jpg", i+1), Fingerprint: fmt.Sprintf("demo %s %d", filepath.Base(dir), i+1),
			Meta: session.Meta{Container: "jpeg", Taken: p.Taken.Add(time.Duration(i) * 6 * time.Second), FNumber: &f, Lens: p.Lens},
			Gone: true,
		}
		g := &groups[i*p.Stacks/p.Frames]
		g.ID, g.Kind, g.SetupID = int64(i*p.Stacks/p.Frames+1), session.KindStack, logged[0].ID
		g.Frames = append(g.Frames, frames[i].Fingerprint)
	}
	// The one picture that is left, where the log looks for the cover.
	cover := &frames[p.Frames-1]
	cover.Gone = false
	data, err := demo.Frame(p.Cover)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, cover.Name), data, 0o666); err != nil {
		return err
	}
	if err := s.SaveFrames(ctx, own.ID, frames); err != nil {
		return err
	}
	return s.SaveGroups(ctx, own.ID, groups)
}

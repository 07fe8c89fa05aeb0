package main

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"stillbench/session"
	"stillbench/store"
)

// openLog opens the setup log called path, or the user's own when path is "".
func openLog(ctx context.Context, path string) (*store.Store, error) {
	path, err := logPath(path)
	if err != nil {
		return nil, err
	}
	return store.Open(ctx, path)
}

// logPath is the file of the log called path, or of the user's own when path is "".
func logPath(path string) (string, error) {
	if path != "" {
		return path, nil
	}
	return store.DefaultPath()
}

// copyEvery is how often a program that is left open looks whether a new day has begun.
const copyEvery = 10 * time.Minute

// keepCopies makes the dated copy of a log, now and whenever a new day has begun, until the
// function it gives back is called. A copy that cannot be made is told once.
func keepCopies(e env, s *store.Store) (stop func()) {
	if s.Path() == "" {
		return func() {}
	}
	ctx, cancel := context.WithCancel(e.ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		tick := time.NewTicker(copyEvery)
		defer tick.Stop()
		told := false
		for {
			if _, err := s.CopyDaily(ctx); err != nil && ctx.Err() == nil && !told {
				told = true
				fmt.Fprintf(e.stderr, "stillbench: %v\n", err)
			}
			select {
			case <-tick.C:
			case <-ctx.Done():
				return
			}
		}
	}()
	return func() {
		cancel()
		<-done
	}
}

// openLogOrMemory opens the log, and in it the session of a folder ("" for none yet);
// where that cannot be done the session goes on with a log in memory, and the problem
// says so.
func openLogOrMemory(ctx context.Context, path, dir string) (*store.Store, *session.Problem, error) {
	s, err := openLog(ctx, path)
	if err == nil && dir != "" {
		// Another process may let the log be read and not be written.
		if err = tryLog(ctx, s, dir); err != nil {
			s.Close()
		}
	}
	if err == nil {
		return s, nil, nil
	}
	p := &session.Problem{Sentence: session.Say("%s. The session goes on without it: what is done now is kept only until the program ends.", session.TextOf(err))}
	s, err = store.OpenInMemory(ctx)
	return s, p, err
}

// tryLog opens the session of a folder in the log.
func tryLog(ctx context.Context, s *store.Store, dir string) error {
	dir, err := filepath.Abs(dir)
	if err == nil {
		_, err = s.OpenSession(ctx, dir)
	}
	return err
}

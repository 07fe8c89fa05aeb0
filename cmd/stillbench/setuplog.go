package main

import (
	"context"
	"fmt"
	"path/filepath"

	"stillbench/session"
	"stillbench/store"
)

// openLog opens the setup log called path, or the user's own when path is "".
func openLog(ctx context.Context, path string) (*store.Store, error) {
	if path == "" {
		var err error
		if path, err = store.DefaultPath(); err != nil {
			return nil, err
		}
	}
	return store.Open(ctx, path)
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
	p := &session.Problem{Sentence: fmt.Sprintf("%v. The session goes on without it: what is done now is kept only until the program ends.", err)}
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

package main

import (
	"context"
	"fmt"

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

// openLogOrMemory opens the log; where it cannot be opened the session goes on with
// one in memory, and the problem says so.
func openLogOrMemory(ctx context.Context, path string) (*store.Store, *session.Problem, error) {
	s, err := openLog(ctx, path)
	if err == nil {
		return s, nil, nil
	}
	p := &session.Problem{Sentence: fmt.Sprintf("%v. The session goes on without it: what is done now is kept only until the program ends.", err)}
	s, err = store.OpenInMemory(ctx)
	return s, p, err
}

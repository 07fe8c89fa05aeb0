package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"stillbench/assets/demo"
)

// demoLog is the name of the demo's own setup log, so that made-up setups do not get
// into the photographer's. The dot keeps it out of sight.
const demoLog = ".stillbench-demo.db"

func runDemo(e env, args []string) int {
	f := newFlags("demo")
	noWindow := f.Bool("no-window", false, "only make the session")
	words, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	if len(words) > 1 {
		return wrong(e, "demo: one folder at a time")
	}
	dir := ""
	if len(words) == 1 {
		dir = words[0]
	}
	dir, err := makeDemo(e.ctx, dir, f.log)
	if err != nil {
		return failed(e, err)
	}
	switch {
	case *noWindow && f.json:
		if err := printJSON(e, map[string]string{"dir": dir}); err != nil {
			return failed(e, err)
		}
		return exitDone
	case *noWindow:
		fmt.Fprintln(e.stdout, dir)
		return exitDone
	case !hasDisplay():
		fmt.Fprintf(e.stdout, "There is no display to open the window on. The demo session is in %s:\n\n", dir)
		return runGroup(e, []string{"--log", demoLogFor(dir, f.log), dir})
	}
	return openWindow(e, dir, f.log, len(words) == 0)
}

// demoLogFor is the log that goes with a demo session.
func demoLogFor(dir, log string) string {
	if log != "" {
		return log
	}
	return filepath.Join(dir, demoLog)
}

// makeDemo writes the demo session into dir, or into a new temporary folder when dir
// is "", with a log in which its setups stand (log, or its own when that is ""), and
// gives the folder's path.
func makeDemo(ctx context.Context, dir, log string) (string, error) {
	dir, err := demoDir(dir)
	if err == nil {
		err = demo.Write(ctx, dir)
	}
	if err == nil {
		err = plantSetups(ctx, dir, demoLogFor(dir, log))
	}
	if err != nil {
		return "", fmt.Errorf("make the demo: %w", err)
	}
	return dir, nil
}

// clearDemo takes a demo session away again: what makeDemo made and what was logged of it. A folder
// in which something else lies stays with that.
func clearDemo(dir string) {
	for _, name := range demo.Names() {
		os.Remove(filepath.Join(dir, name))
	}
	hidden, _ := filepath.Glob(filepath.Join(dir, ".*")) // the log, and the sessions before that it tells of
	for _, path := range hidden {
		os.RemoveAll(path)
	}
	os.Remove(dir)
}

func demoDir(dir string) (string, error) {
	if dir == "" {
		return os.MkdirTemp("", "stillbench-demo-")
	}
	return filepath.Abs(dir)
}

package main

import (
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
	dir, err := makeDemo(e, dir)
	if err != nil {
		return failed(e, err)
	}
	if *noWindow {
		if f.json {
			if err := printJSON(e, map[string]string{"dir": dir}); err != nil {
				return failed(e, err)
			}
			return exitDone
		}
		fmt.Fprintln(e.stdout, dir)
		return exitDone
	}
	log := f.log
	if log == "" {
		log = filepath.Join(dir, demoLog)
	}
	return openWindow(e, dir, log)
}

// makeDemo writes the demo session into dir, or into a new temporary folder when dir
// is "", and gives the folder's path.
func makeDemo(e env, dir string) (string, error) {
	if dir == "" {
		var err error
		if dir, err = os.MkdirTemp("", "stillbench-demo-"); err != nil {
			return "", fmt.Errorf("make the demo: %w", err)
		}
	}
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return "", fmt.Errorf("make the demo: %w", err)
	}
	if err := demo.Write(e.ctx, dir); err != nil {
		return "", fmt.Errorf("make the demo: %w", err)
	}
	return filepath.Abs(dir)
}

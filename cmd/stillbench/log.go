package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"stillbench/session"
	"stillbench/store"
)

// mergedJSON is what `log import --json` and `log merge --json` print.
type mergedJSON struct {
	Sessions  int `json:"sessions"`
	Frames    int `json:"frames"`
	Setups    int `json:"setups"`
	Updated   int `json:"updated"`
	Edits     int `json:"edits"`
	Templates int `json:"templates"`
	Searches  int `json:"searches"`
	Blends    int `json:"blends"`
	Gear      int `json:"gear"`
}

// copyJSON is one of the list that `log copies --json` prints.
type copyJSON struct {
	File string  `json:"file"`
	Made string  `json:"made"`
	Size int64   `json:"size"`
	Why  *string `json:"why"`
}

// logWork is what `log` can do with a path ("" for those that need none).
var logWork = map[string]func(e env, f *flags, path string) int{
	"export":  logExport,
	"import":  logImport,
	"merge":   logMerge,
	"copies":  logCopies,
	"restore": logRestore,
}

func runLog(e env, args []string) int {
	f := newFlags("log")
	words, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	if len(words) == 0 {
		return wrong(e, "log: say what to do: export, import, merge, copies or restore")
	}
	work, ok := logWork[words[0]]
	if !ok {
		return wrong(e, "log %s: it is one of export, import, merge, copies and restore", words[0])
	}
	wants := 1
	if words[0] == "copies" {
		wants = 0
	}
	if len(words) != 1+wants {
		return wrong(e, "log %s: %s", words[0], map[int]string{0: "it takes no file", 1: "name one file or folder"}[wants])
	}
	return work(e, f, strings.Join(words[1:], ""))
}

// withLog opens the log for work that tells its progress, and closes it.
func withLog(e env, f *flags, fn func(s *store.Store, p session.Progress) error) error {
	s, err := openLog(e.ctx, f.log)
	if err != nil {
		return err
	}
	defer s.Close()
	p, stop := tellProgress(e)
	defer stop()
	return fn(s, p)
}

func logExport(e env, f *flags, path string) int {
	err := withLog(e, f, func(s *store.Store, p session.Progress) error { return s.ExportTo(e.ctx, path, p) })
	if err != nil {
		return failed(e, err)
	}
	return printDone(e, f, "written", path)
}

func logImport(e env, f *flags, path string) int {
	var m session.Merged
	err := withLog(e, f, func(s *store.Store, p session.Progress) (err error) {
		m, err = s.ImportFrom(e.ctx, path, p)
		return err
	})
	return printMerged(e, f, m, err)
}

func logMerge(e env, f *flags, path string) int {
	var m session.Merged
	err := withLog(e, f, func(s *store.Store, p session.Progress) (err error) {
		m, err = s.Merge(e.ctx, path, p)
		return err
	})
	return printMerged(e, f, m, err)
}

func logCopies(e env, f *flags, _ string) int {
	list, err := copiesOf(f.log)
	if err != nil {
		return failed(e, err)
	}
	if f.json {
		out := []copyJSON{}
		for _, c := range list {
			out = append(out, copyJSON{File: c.Path, Made: c.Made.Format(time.RFC3339), Size: c.Size, Why: text(c.Why)})
		}
		if err := printJSON(e, map[string][]copyJSON{"copies": out}); err != nil {
			return failed(e, err)
		}
		return exitDone
	}
	for _, c := range list {
		fmt.Fprintf(e.stdout, "%s  %d kB  %s", c.Path, (c.Size+1023)/1024, c.Made.Format("2006-01-02 15:04"))
		if c.Why != "" {
			fmt.Fprintf(e.stdout, "  %s", c.Why)
		}
		fmt.Fprintln(e.stdout)
	}
	if len(list) == 0 {
		fmt.Fprintln(e.stdout, "There are no copies yet: the window and \"watch\" make one a day.")
	}
	return exitDone
}

// logRestore puts a copy back, named by its file or, where there is none of that name, by the
// end of its name or its day.
func logRestore(e env, f *flags, name string) int {
	path := name
	if !isFile(path) {
		list, err := copiesOf(f.log)
		if err != nil {
			return failed(e, err)
		}
		if path = copyNamed(list, name); path == "" {
			return failed(e, fmt.Errorf("%s is no copy of the log; \"stillbench log copies\" lists them", name))
		}
	}
	err := withLog(e, f, func(s *store.Store, p session.Progress) error { return s.Restore(e.ctx, path, p) })
	if errors.Is(err, session.ErrDamagedLog) {
		aside, replaced := replaceLog(e.ctx, f.log, path)
		if replaced != nil {
			return failed(e, errors.Join(err, replaced))
		}
		fmt.Fprintf(e.stderr, "stillbench: the log was damaged, and is kept as %s\n", aside)
		err = nil
	}
	if err != nil {
		return failed(e, err)
	}
	return printDone(e, f, "restored", path)
}

// copyNamed finds the newest copy with that file name, or of that day.
func copyNamed(list []session.LogCopy, name string) string {
	for _, c := range list {
		if base := filepath.Base(c.Path); base == name || c.Why == "" && strings.HasSuffix(strings.TrimSuffix(base, filepath.Ext(base)), "-"+name) {
			return c.Path
		}
	}
	return ""
}

func copiesOf(log string) ([]session.LogCopy, error) {
	log, err := logPath(log)
	if err != nil {
		return nil, err
	}
	return store.CopiesOf(log)
}

func replaceLog(ctx context.Context, log, copy string) (aside string, err error) {
	if log, err = logPath(log); err != nil {
		return "", err
	}
	return store.Replace(ctx, log, copy)
}

func printDone(e env, f *flags, what, path string) int {
	if f.json {
		if err := printJSON(e, map[string]string{what: path}); err != nil {
			return failed(e, err)
		}
		return exitDone
	}
	fmt.Fprintf(e.stdout, "%s: %s\n", what, path)
	return exitDone
}

func printMerged(e env, f *flags, m session.Merged, err error) int {
	if err != nil {
		return failed(e, err)
	}
	if f.json {
		if err := printJSON(e, mergedJSON{m.Sessions, m.Frames, m.Setups, m.Updated, m.Edits, m.Templates, m.Searches, m.Blends, m.Gear}); err != nil {
			return failed(e, err)
		}
		return exitDone
	}
	fmt.Fprintf(e.stdout, "%d new setups and %d changed ones, in %d new sessions with %d new frames\n", m.Setups, m.Updated, m.Sessions, m.Frames)
	return exitDone
}

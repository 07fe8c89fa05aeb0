// Command stillbench watches a folder of frames, groups them into focus stacks, and
// keeps the log of how each was lit. Without a verb it opens the window; its verbs do
// the same in a terminal. This package parses flags and wires; it does no thinking.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"
	"strings"
	"syscall"

	_ "stillbench/cmd/stillbench/clocale" // before Fyne looks
)

const usage = `Stillbench: which frames belong together, whether the stack is complete, and
where the lamp stood.

  stillbench [DIR]            open the window, following DIR if one is given
  stillbench demo [DIR]       make the demo session (in a temporary folder if no DIR is
                              given) and open the window on it; --no-window only makes it
  stillbench frame FILE...    what the camera wrote into each file
  stillbench group DIR        the stacks, singles, tests and markers of a folder
  stillbench check DIR        the same, and the verdict on every stack
  stillbench blend -o OUT.tif FILE...   align and blend frames (.tif, .png or .jpg)
      --character WORD        threads (hair, crossing structures) or surfaces (smooth skins,
                              true tones); without it the one that suits
      --depth OUT.png         also write how deep each part lies
      --proof                 at preview size
      --replace               write over files that exist
  stillbench handoff DIR -o OUT   write the stacks out for the next program, a folder a stack
      --as WAY                copy (checked by SHA-256), hardlink, symlink, reflink, or move;
                              without it copy
      --or-copy               copy where no link can be made
      --pattern TEXT          names the folders: {date} {time} {subject} {number} {aperture}
                              {frames} {setup} {side} {height} {session}; "/" for a folder in
                              a folder. Without it "{date} {number} {subject} {aperture}"
      --others                markers, singles and tests too
      --sidecars              write XMP beside the frames; --reject rates those set aside -1
      --sheet                 a contact sheet (PDF); --paper A4 or Letter
      --tables                the session as CSV and JSON, a recipe and a list of files a stack
      --undo                  (with -o OUT alone) move back what was moved there
  stillbench watch DIR        follow a folder, an event a line, until interrupted
  stillbench find [WORDS]     search the setup log
      --from SIDE             front, front-right, right, back-right, back, ...
      --height HEIGHT         low, middle, high or overhead
      --kind KIND             "LED panel", window, flash, lamp, card or flag
      --modifier TEXT         what stands before the light, e.g. diffuser
      --main                  these hold of the main light, the first that gives light
      --aperture A..B         f-numbers shot with, e.g. 8..11
      --shutter A..B          exposure times shot with, e.g. 1/60..1/4
      --magnification A..B    e.g. 1..2
      --since DATE --until DATE   e.g. 2026-05-02; both days count
      --blended               a stack of it has been blended
      --order ORDER           best (by the words), newest or oldest
      --limit N               so many at most
  stillbench log export FILE.json|DIR   write the whole log out: JSON, or a folder of CSV
  stillbench log import FILE.json|DIR   read such an export in
  stillbench log merge OTHER.db         bring in another log, without doubles
  stillbench log copies                 list the dated copies of the log
  stillbench log restore COPY           put one back: its file, or its day (2026-05-02)
  stillbench plan FLAGS       depth of field, frames, diffraction and shutter for every
                              aperture, and the one to take
      --depth MM              how deep the subject is
      --magnification M       or --field-width MM, or --distance MM (from the sensor,
                              with --focal MM)
      --sensor 36x24          in mm; without it 36x24, full frame
      --f N                   an aperture to compare, as often as wanted; without it all
      --frames N              frames at most
      --shutter S --at N      a good exposure: 1/4 s at f/8
      --coc MM --overlap 0.2 --pupil P --wavelength NM --pixels WxH
      --settle S --turn S     to wait before each frame, to turn to the next

Every verb takes --json, and --log FILE (the setup log; default: your own).
Photographs are only ever opened for reading.

Exit codes: 0 done; 1 done, but something could not be read (named on standard
error) or a stack is not covered; 2 the command line was wrong; 3 nothing could be done.
`

// Exit codes, as the usage text has them.
const (
	exitDone    = 0
	exitPartly  = 1
	exitUsage   = 2
	exitNothing = 3
)

// env is what a verb works with.
type env struct {
	ctx            context.Context
	stdout, stderr io.Writer
}

// verb is one of the program's verbs: it parses its own arguments and gives the exit code.
type verb func(e env, args []string) int

var verbs = map[string]verb{
	"blend":   runBlend,
	"check":   runCheck,
	"demo":    runDemo,
	"find":    runFind,
	"frame":   runFrame,
	"group":   runGroup,
	"handoff": runHandoff,
	"log":     runLog,
	"plan":    runPlan,
	"watch":   runWatch,
}

func main() {
	// Pictures of up to some hundred megabytes come and go, and hold no pointers: collecting
	// often costs little, and garbage must not grow as large as what is in use.
	debug.SetGCPercent(25)
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(env{ctx, os.Stdout, os.Stderr}, os.Args[1:])
	stop()
	os.Exit(code)
}

// run finds the verb and runs it. A panic ends in a sentence, not in a trace.
func run(e env, args []string) (code int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(e.stderr, "stillbench: the program made a mistake: %v\nThe log and the photographs are unharmed. Please report this:\n%s", r, debug.Stack())
			code = exitNothing
		}
	}()
	if len(args) > 0 {
		if slices.Contains([]string{"help", "-h", "--help", "-help"}, args[0]) {
			fmt.Fprint(e.stdout, usage)
			return exitDone
		}
		if v, ok := verbs[args[0]]; ok {
			return v(e, args[1:])
		}
	}
	return runWindow(e, args)
}

// flags is a flag set with the flags that every verb takes.
type flags struct {
	*flag.FlagSet
	json bool
	log  string
}

func newFlags(name string) *flags {
	f := &flags{FlagSet: flag.NewFlagSet(name, flag.ContinueOnError)}
	f.SetOutput(io.Discard)
	f.BoolVar(&f.json, "json", false, "print JSON")
	f.StringVar(&f.log, "log", "", "the setup log to use")
	return f
}

// parse parses flags that may stand before, between and after the other words, which
// it gives back; after "--" all are words. The second value is an exit code when the
// command line is wrong or asked for help, -1 otherwise.
func (f *flags) parse(e env, args []string) ([]string, int) {
	var words []string
	for {
		err := f.Parse(args)
		if errors.Is(err, flag.ErrHelp) {
			fmt.Fprint(e.stdout, usage)
			return nil, exitDone
		}
		if err != nil {
			return nil, wrong(e, "%s: %v", f.Name(), err)
		}
		rest := f.Args()
		if n := len(args) - len(rest); n > 0 && args[n-1] == "--" {
			return append(words, rest...), -1
		}
		if len(rest) == 0 {
			return words, -1
		}
		words = append(words, rest[0])
		args = rest[1:]
	}
}

// wrong reports a wrong command line.
func wrong(e env, format string, args ...any) int {
	fmt.Fprintf(e.stderr, "stillbench: "+format+"\n", args...)
	fmt.Fprintln(e.stderr, `"stillbench help" shows what can be said.`)
	return exitUsage
}

// failed reports that nothing could be done.
func failed(e env, err error) int {
	fmt.Fprintf(e.stderr, "stillbench: %v\n", err)
	return exitNothing
}

// parseDir parses the arguments of a verb that takes one folder and no flags of its own;
// the last value is an exit code as parse gives it.
func parseDir(e env, name string, args []string) (*flags, string, int) {
	f := newFlags(name)
	words, code := f.parse(e, args)
	if code >= 0 {
		return f, "", code
	}
	dir, code := oneDir(e, name, words)
	return f, dir, code
}

// oneDir takes the one folder that a verb needs.
func oneDir(e env, name string, words []string) (string, int) {
	switch {
	case len(words) == 0:
		return "", wrong(e, "%s: name the folder", name)
	case len(words) > 1:
		return "", wrong(e, "%s: one folder at a time, not %s", name, strings.Join(words, " and "))
	}
	// Looking into it says in one go whether it is there, a folder, and may be read.
	_, err := os.ReadDir(words[0])
	switch {
	case errors.Is(err, syscall.ENOTDIR):
		return "", failed(e, fmt.Errorf("%s is a file; name the folder that it lies in", words[0]))
	case err != nil:
		return "", failed(e, fmt.Errorf("%s cannot be opened: %w", words[0], bare(err)))
	}
	return words[0], -1
}

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	fyneapp "fyne.io/fyne/v2/app"

	"stillbench/app"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/app/sound"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/handoff"
	"stillbench/store"
)

// appID names the program to the system; the window's place is remembered under it.
const appID = "io.github.stillbench"

// errNoDisplay: there is nothing to open a window on.
var errNoDisplay = errors.New("there is no display to open a window on; the verbs work without one (stillbench help)")

func runWindow(e env, args []string) int {
	f := newFlags("stillbench")
	args, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	dir := ""
	if len(args) > 0 {
		if dir, code = oneDir(e, "stillbench", args); code >= 0 {
			return code
		}
	}
	if !hasDisplay() {
		return failed(e, errNoDisplay)
	}
	return openWindow(e, dir, f.log, false)
}

// hasDisplay: elsewhere than on X11 and Wayland a display is taken for granted.
func hasDisplay() bool {
	switch runtime.GOOS {
	case "windows", "darwin":
		return true
	}
	return os.Getenv("DISPLAY") != "" || os.Getenv("WAYLAND_DISPLAY") != ""
}

// openWindow opens the window on a folder ("" asks for one) and returns when it is
// closed. A folder for the time being, as that of a demo which nobody named one for, is taken
// away then.
func openWindow(e env, dir, log string, forNow bool) int {
	// The window's goroutine must not stand in a queue behind long reckonings until one of them
	// lets go of a core: with room for two more at once the system gives it a core at once.
	runtime.GOMAXPROCS(runtime.NumCPU() + 2)
	// Towards this the runtime collects earlier, and gives back to the system what it would keep for
	// later: what is in use while frames pour in is less.
	debug.SetMemoryLimit(576 << 20)
	s, problem, err := openLogOrMemory(e.ctx, log, "")
	if err != nil {
		return failed(e, err)
	}
	l := &windowLog{own: s, fixed: log != ""}
	l.now.Store(s)
	defer l.close()
	if forNow {
		l.forNow = []string{dir}
	}
	defer keepCopies(e, s)()
	if problem != nil {
		fmt.Fprintf(e.stderr, "stillbench: %s\n", problem.Sentence)
		l.notices = append(l.notices, *problem)
	}
	ctx, stop := context.WithCancel(e.ctx)
	defer stop()
	go new(rest).run(ctx)
	go stayBehind(ctx)
	a := fyneapp.NewWithID(appID)
	var tones sound.Player
	w := app.New(a, app.Options{
		Play: tones.Play, Screen: screenRoom, Wait: waitForEvents, Wake: wakeWindow,
		Open: l.open,
		Demo: func(ctx context.Context) (string, error) {
			made, err := makeDemo(ctx, "", log)
			if err == nil {
				l.mu.Lock()
				l.forNow = append(l.forNow, made)
				l.mu.Unlock()
			}
			return made, err
		},
		ForNow: l.isForNow,
		Log:    l,
		Dir:    dir,
	})
	// From here on Fyne ends the window by itself when the program is told to end.
	if e.ctx.Err() == nil {
		w.Run()
	}
	return exitDone
}

// windowLog is the setup log as the window sees it: the photographer's own, or the
// demo's while the demo is on the table.
type windowLog struct {
	own     *store.Store
	fixed   bool // --log named the log to use, whatever is on the table
	notices []session.Problem
	now     atomic.Pointer[store.Store]
	live    atomic.Pointer[desk.Desk] // the session that is open; nil before one was
	mu      sync.Mutex                // guards demo and forNow
	demo    *store.Store
	forNow  []string // folders of demo sessions that go with the window
}

// open starts a session on a folder, with the log that belongs to it.
func (l *windowLog) open(ctx context.Context, dir string) (place.Desk, error) {
	s, notices := l.own, l.notices
	if path := filepath.Join(dir, demoLog); !l.fixed && isFile(path) {
		demo, err := store.Open(ctx, path)
		if err != nil {
			return nil, err
		}
		l.mu.Lock()
		old := l.demo
		l.demo = demo
		l.mu.Unlock()
		if old != nil {
			defer old.Close()
		}
		s, notices = demo, nil
	}
	d, err := desk.Open(ctx, desk.Options{Dir: dir, Log: s, Notices: notices, Check: true, Proof: true, Previews: true})
	if err != nil {
		return nil, err
	}
	l.now.Store(s)
	l.live.Store(d)
	return d, nil
}

func (l *windowLog) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.demo != nil {
		l.demo.Close()
	}
	l.own.Close()
	for _, dir := range l.forNow {
		clearDemo(dir)
	}
}

// isForNow tells that a folder goes with the window.
func (l *windowLog) isForNow(dir string) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Contains(l.forNow, dir)
}

// Find searches the log that is in use.
func (l *windowLog) Find(ctx context.Context, q session.SetupQuery) (session.SetupResults, error) {
	return l.now.Load().FindSetups(ctx, q)
}

// PictureIn decodes the cover of a setup that was found.
func (l *windowLog) PictureIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error) {
	return desk.PictureIn(ctx, dir, name, maxW, maxH)
}

// ProofIn decodes the proof of the stack that holds a frame.
func (l *windowLog) ProofIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error) {
	s := l.now.Load()
	p, err := s.ProofOf(ctx, dir, name)
	if err != nil {
		return nil, err
	}
	if p == nil {
		return nil, session.ErrNotFound
	}
	data, err := s.ProofPicture(ctx, p.Key)
	if err != nil {
		return nil, err
	}
	return desk.DecodeProof(data, maxW, maxH)
}

// PrintSetup writes a setup's page into the user's documents.
func (l *windowLog) PrintSetup(ctx context.Context, s session.FoundSetup) (string, error) {
	page := handoff.SetupPage{
		Title: strings.TrimSuffix(fmt.Sprintf(words.SetupF+" · %s", s.ID, s.Subject), " · "),
		Note:  strings.TrimSpace(s.Logged.Format("2006-01-02") + "  " + s.Notes), Lights: s.Lights, Background: s.Background != "", Caution: words.LampCaution,
	}
	for _, step := range present.Steps(s) {
		if !step.Look {
			page.Steps = append(page.Steps, handoff.Step{What: step.Headline, How: step.WhatToDo})
		}
	}
	if s.Cover != "" {
		// Without its picture the page still says how.
		pic, err := l.ProofIn(ctx, s.Dir, s.Cover, 1600, 1600)
		if err != nil {
			pic, err = desk.PictureIn(ctx, s.Dir, s.Cover, 1600, 1600)
		}
		if err == nil {
			page.Picture = pic
		}
	}
	return writePage(page, fmt.Sprintf("Stillbench setup %d", s.ID))
}

// writePage writes a page under a name that no file has yet.
func writePage(page handoff.SetupPage, name string) (string, error) {
	dir, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	if documents := filepath.Join(dir, "Documents"); isFolder(documents) {
		dir = documents
	}
	var b bytes.Buffer
	if err := page.Write(&b); err != nil {
		return "", err
	}
	for n := 1; ; n++ {
		path := filepath.Join(dir, name+".pdf")
		if n > 1 {
			path = filepath.Join(dir, fmt.Sprintf("%s (%d).pdf", name, n))
		}
		f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if errors.Is(err, fs.ErrExist) && n < 1000 {
			continue
		}
		if err != nil {
			return "", err
		}
		_, err = f.Write(b.Bytes())
		if err = errors.Join(err, f.Close()); err != nil {
			os.Remove(path)
			return "", fmt.Errorf("%s could not be written, and nothing of it is left: %w", path, err)
		}
		return path, nil
	}
}

func isFolder(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

func isFile(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.Mode().IsRegular()
}

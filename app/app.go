// Package app is the window: a shell that holds the four places, hands them the newest
// snapshot of the session and the keys that are pressed, and remembers how the window
// was left. It computes nothing of photography, and knows neither files nor the
// database: what it needs of them comes in through Options.
package app

import (
	"context"
	"image"
	"sync"
	"sync/atomic"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/plan"
	"stillbench/app/present"
	"stillbench/app/setups"
	"stillbench/app/sound"
	"stillbench/app/stacks"
	"stillbench/app/table"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Options wire the window to the rest of the program. The functions are called off the
// UI goroutine.
type Options struct {
	// Open starts a live session on a folder.
	Open func(ctx context.Context, dir string) (place.Desk, error)
	// Demo makes the demo session and gives its folder; nil when there is none.
	Demo func(ctx context.Context) (dir string, err error)
	// ForNow tells that a folder is taken away when the window closes; nil where none is.
	ForNow func(dir string) bool
	// Log is the setup log.
	Log place.Log
	// Dir is the folder to open at the start; "" asks for one.
	Dir string
	// Now is the clock; nil means time.Now.
	Now func() time.Time
	// Screen gives the room for windows on the screen, in pixels, once the window is shown; 0, 0
	// or nil where it is not known.
	Screen func() (w, h int)
	// Wait waits on the UI goroutine until something happens to the window, for d at the longest. Wake ends
	// that from any other goroutine. Both are nil where the window looks for what happens over and over.
	Wait func(d time.Duration)
	Wake func()
	// Play plays a tone and returns when it has sounded.
	Play func(sound.Tone)
}

// App is the program's window. All its methods belong to the UI goroutine.
type App struct {
	app    fyne.App
	window fyne.Window
	o      Options
	ctx    context.Context
	cancel context.CancelFunc
	do     func(func())   // runs on the UI goroutine
	work   sync.WaitGroup // what runs off the UI goroutine
	edits  sync.WaitGroup // those of it that change the session

	desk     place.Desk
	stopDesk context.CancelFunc
	snapshot *desk.Snapshot
	pictures *pictures.Loader
	source   atomic.Pointer[place.Desk] // desk, for the readers of pictures

	places  []place.Place
	current place.Number
	shell   *shell
	cover   *sheet // what lies over the place, nil when nothing does
	blends  *blends
	handOn  *handOn
	closeup *closeup
	sound   bool   // tones are heard
	heard   string // what the last tone was about
	told    string // a sentence until the next key
	opening string // what is being opened, "" when nothing is
	dimKey  dimKey
}

// New makes the window without showing it.
func New(a fyne.App, o Options) *App {
	if o.Wait == nil {
		return build(a, o, fyne.Do)
	}
	l := &lull{wait: o.Wait, wake: o.Wake, now: time.Now}
	w := build(a, o, l.through(fyne.Do))
	l.busy = w.busy
	a.Lifecycle().SetOnStarted(func() {
		w.fitScreen()
		l.start()
	})
	return w
}

// build makes the window; do runs a function on the UI goroutine.
func build(a fyne.App, o Options, do func(func())) *App {
	if o.Now == nil {
		o.Now = time.Now
	}
	w := &App{app: a, o: o, do: do}
	w.ctx, w.cancel = context.WithCancel(context.Background())
	w.restoreLook()
	w.window = a.NewWindow(words.Program)
	w.window.SetPadded(false)
	w.window.SetMaster()
	w.pictures = pictures.New(w.readPicture, do)
	w.blends, w.handOn, w.closeup = newBlends(w), newHandOn(w), newCloseup(w)
	h := &place.Host{
		Run: w.run, Log: o.Log, Pictures: w.pictures, Pixels: w.pixels, Focus: w.focus, Say: w.say, Go: w.goTo,
		Show: w.showSetup, Blend: func(group int64) { w.blends.ask(group) }, Closely: w.closeup.show, HandOn: func() place.Action { return w.handOn.action() }, Reopen: w.reopen, WriteDown: w.writeDown, Tell: w.tell, Deliver: do, Now: o.Now, Key: w.typedKey, Rune: w.typedRune,
	}
	w.places = []place.Place{table.New(h), stacks.New(h), setups.New(h), plan.New(h)}
	w.shell = newShell(w)
	w.window.SetContent(w.shell.root)
	w.listen()
	w.sound = a.Preferences().Bool(prefSound)
	w.restoreWindow()
	a.Lifecycle().SetOnStarted(w.fitScreen)
	w.window.SetCloseIntercept(w.quit)
	w.say()
	return w
}

// Run shows the window and returns when it has been closed and the session with it.
func (w *App) Run() {
	if w.o.Dir != "" {
		w.open(w.o.Dir)
	}
	w.window.ShowAndRun()
	w.Close()
}

// Close ends the session and waits until it has ended. What was done with it before is done first.
func (w *App) Close() {
	w.edits.Wait()
	w.cancel()
	w.blends.close()
	w.handOn.close()
	w.closeup.close()
	w.pictures.Close()
	if w.desk != nil {
		w.stopDesk()
		w.desk.Close()
		w.desk = nil
	}
	w.work.Wait()
}

// Window is the window.
func (w *App) Window() fyne.Window { return w.window }

// later does something off the UI goroutine, and what it gives back on it. It is for
// all that may wait: files, the log, the desk.
func (w *App) later(fn func(ctx context.Context) (then func())) {
	w.work.Go(func() {
		then := fn(w.ctx)
		if then != nil && w.ctx.Err() == nil {
			w.do(then)
		}
	})
}

// open starts a session on a folder and leaves the one before.
func (w *App) open(dir string) {
	w.opening = present.Opening(dir)
	w.say()
	w.later(func(ctx context.Context) func() {
		d, err := w.o.Open(ctx, dir)
		return func() {
			w.opening = ""
			if err != nil {
				w.tell(present.CannotOpen(dir, err))
				return
			}
			w.take(d, dir)
		}
	})
}

// writeDown opens the setup on the table as text, and comes back from there.
func (w *App) writeDown(lights []session.Light) {
	from := w.current
	w.goTo(place.Setups)
	w.places[place.Setups].(*setups.Place).WriteDown(lights, func() { w.goTo(from) })
}

// reopen opens the folder of the session anew.
func (w *App) reopen() {
	if w.snapshot != nil && w.snapshot.Session.Dir != "" {
		w.open(w.snapshot.Session.Dir)
	}
}

// demo makes the demo session and opens it.
func (w *App) demo() {
	if w.o.Demo == nil {
		return
	}
	w.opening = words.MakingDemo
	w.say()
	w.later(func(ctx context.Context) func() {
		dir, err := w.o.Demo(ctx)
		return func() {
			w.opening = ""
			if err != nil {
				w.tell(present.CannotDemo(err))
				return
			}
			w.open(dir)
		}
	})
}

// take puts a session on the table.
func (w *App) take(d place.Desk, dir string) {
	if old := w.desk; old != nil {
		w.stopDesk()
		w.later(func(context.Context) func() { old.Close(); return nil })
	}
	ctx, stop := context.WithCancel(w.ctx)
	w.desk, w.stopDesk = d, stop
	w.source.Store(&d)
	if w.o.ForNow == nil || !w.o.ForNow(dir) {
		w.rememberFolder(dir)
	}
	w.window.SetTitle(present.Title(dir))
	w.cover = nil
	w.show(d.Snapshot())
	w.work.Go(func() { w.pump(ctx, d) })
}

const (
	// coalesce bounds how often a new snapshot is drawn, inFlood while many files are being read:
	// each would be out of date at once, and drawing takes from the reading.
	coalesce = 60 * time.Millisecond
	inFlood  = 400 * time.Millisecond
	// flood is how many files wait at least for there to be one.
	flood = 8
	// lookAgain is how often it is seen, when nothing came, whether the words on how long it has been
	// quiet have grown old.
	lookAgain = 30 * time.Second
)

// pump brings the newest snapshot to the window, never more than one at a time.
func (w *App) pump(ctx context.Context, d place.Desk) {
	again := time.NewTicker(lookAgain)
	defer again.Stop()
	for {
		show := w.show
		select {
		case <-ctx.Done():
			return
		case <-d.Changed():
		case <-again.C:
			show = w.showAgain
		}
		shown := make(chan struct{})
		w.do(func() {
			// After the window has gone this runs in the pump's own goroutine.
			if ctx.Err() == nil && w.desk == d {
				show(d.Snapshot())
			}
			close(shown)
		})
		pause := coalesce
		if s := d.Snapshot(); s.Found-s.Read >= flood {
			pause = inFlood
		}
		for _, c := range []<-chan struct{}{shown, after(pause)} {
			select {
			case <-c:
			case <-ctx.Done():
				return
			}
		}
	}
}

func after(d time.Duration) <-chan struct{} {
	c := make(chan struct{})
	time.AfterFunc(d, func() { close(c) })
	return c
}

// show hands a snapshot to the place in view.
func (w *App) show(s *desk.Snapshot) {
	w.snapshot = s
	w.hear(s)
	w.places[w.current].Show(s)
	if w.closeup.on() {
		w.closeup.changes() // a frame of it may have been set aside
		return
	}
	w.say()
}

// showAgain shows a snapshot that may have been shown before, where the Table would say something else of it
// by now. Nothing else in the window goes by the clock, and to draw the whole of it for nothing costs
// more than all else that is done while nothing happens.
func (w *App) showAgain(s *desk.Snapshot) {
	if w.snapshot != s || w.current == place.Table && w.places[place.Table].(*table.Place).Older() {
		w.show(s)
	}
}

// goTo changes the place.
func (w *App) goTo(n place.Number) {
	w.places[w.current].Leave()
	w.focus(nil)
	w.current, w.cover, w.told = n, nil, ""
	w.places[n].Show(w.newest())
	w.say()
}

// busy reports whether a folder is being opened, or its frames read, grouped, judged or blended.
func (w *App) busy() bool { return w.opening != "" || w.snapshot != nil && !w.snapshot.Settled }

// newest is the newest snapshot, an empty one without a session.
func (w *App) newest() *desk.Snapshot {
	if w.snapshot == nil {
		return &desk.Snapshot{}
	}
	return w.snapshot
}

// showSetup opens the stacks shot under a setup.
func (w *App) showSetup(id int64) bool {
	if w.snapshot == nil {
		return false
	}
	for _, g := range w.snapshot.Groups {
		if g.SetupID == id {
			w.goTo(place.Stacks)
			w.places[place.Stacks].(*stacks.Place).Open(g.ID)
			return true
		}
	}
	return false
}

// run does something with the session and shows what went wrong.
func (w *App) run(fn func(ctx context.Context, d place.Desk) error) {
	d := w.desk
	if d == nil {
		return
	}
	w.edits.Add(1)
	w.later(func(ctx context.Context) func() {
		defer w.edits.Done()
		if err := fn(ctx, d); err != nil && ctx.Err() == nil {
			return func() { w.tell(present.Failed(err)) }
		}
		return nil
	})
}

func (w *App) undo() {
	if w.snapshot == nil || w.snapshot.Undo.Form == "" {
		w.tell(words.NothingToUndo)
		return
	}
	did := present.Undone(w.snapshot.Undo)
	w.run(func(ctx context.Context, d place.Desk) error { return d.Undo(ctx) })
	w.tell(did)
}

func (w *App) redo() {
	if w.snapshot == nil || w.snapshot.Redo.Form == "" {
		w.tell(words.NothingToRedo)
		return
	}
	did := present.Redone(w.snapshot.Redo)
	w.run(func(ctx context.Context, d place.Desk) error { return d.Redo(ctx) })
	w.tell(did)
}

// tell shows a sentence until the next key.
func (w *App) tell(sentence string) {
	w.told = sentence
	w.say()
}

// say brings sentence, keys and arrangement up to date.
func (w *App) say() { w.shell.say() }

func (w *App) focus(f fyne.Focusable) {
	if f == nil {
		w.window.Canvas().Unfocus()
	} else {
		w.window.Canvas().Focus(f)
	}
	w.say() // the keys that a field takes for itself are greyed
}

func (w *App) pixels() float32 { return w.window.Canvas().Scale() }

// readPicture is the loader's source.
func (w *App) readPicture(ctx context.Context, want pictures.Want) (*image.RGBA, error) {
	if want.Dir != "" {
		if want.Laid != (session.Laid{}) {
			return w.o.Log.PictureLaid(ctx, want.Dir, want.Name, want.Laid, want.W, want.H)
		}
		if want.Covers {
			if img, err := w.o.Log.ProofIn(ctx, want.Dir, want.Name, want.W, want.H); err == nil {
				return img, nil
			}
		}
		return w.o.Log.PictureIn(ctx, want.Dir, want.Name, want.W, want.H)
	}
	d := w.source.Load()
	if d == nil {
		return nil, session.ErrNotFound
	}
	if want.Proof != "" {
		return (*d).Proof(ctx, want.Proof, want.W, want.H)
	}
	if want.OnProof != (session.ProofFrame{}) {
		return (*d).PictureOnProof(ctx, want.OnProof, want.W, want.H)
	}
	if want.Crop && !want.Sharp {
		return (*d).Crop(ctx, want.Fingerprint, want.X, want.Y, want.W, want.H)
	}
	if want.Sharp {
		mask, err := (*d).Sharp(ctx, want.Fingerprint)
		if err != nil {
			return nil, err
		}
		if f, ok := (*d).Snapshot().Frame(want.Fingerprint); ok && want.Crop {
			x0, y0, x1, y1 := present.PartRound(f.Meta, want.X, want.Y, want.W, want.H)
			return parts.TracedPart(mask, parts.Area{X0: x0, Y0: y0, X1: x1, Y1: y1}, want.W, want.H), nil
		}
		return parts.Traced(mask, want.W, want.H), nil
	}
	return (*d).Picture(ctx, want.Fingerprint, want.W, want.H)
}

package app

import (
	"os"
	"path/filepath"
	"slices"
	"time"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// listen has the window's keys come here. Letters come as runes, so that they are
// those on the caps of any keyboard; the keys that write nothing come by name.
func (w *App) listen() {
	c := w.window.Canvas()
	c.SetOnTypedKey(w.typedKey)
	c.SetOnTypedRune(w.typedRune)
	if d, ok := c.(desktop.Canvas); ok {
		d.SetOnKeyDown(func(e *fyne.KeyEvent) {
			if e.Name == fyne.KeyD {
				w.dimDown()
			}
		})
		d.SetOnKeyUp(func(e *fyne.KeyEvent) {
			if e.Name == fyne.KeyD {
				w.dimUp()
			}
		})
	}
	ctrl := fyne.KeyModifierShortcutDefault
	c.AddShortcut(&fyne.ShortcutUndo{}, func(fyne.Shortcut) { w.undo() })
	c.AddShortcut(&fyne.ShortcutRedo{}, func(fyne.Shortcut) { w.redo() })
	c.AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyZ, Modifier: ctrl | fyne.KeyModifierShift}, func(fyne.Shortcut) { w.redo() })
	c.AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyO, Modifier: ctrl}, func(fyne.Shortcut) { w.chooseFolder() })
	c.AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyB, Modifier: ctrl}, func(fyne.Shortcut) { w.soundOrNot() })
	c.AddShortcut(&desktop.CustomShortcut{KeyName: fyne.KeyQ, Modifier: ctrl}, func(fyne.Shortcut) { w.quit() })
	w.window.SetOnDropped(func(_ fyne.Position, dropped []fyne.URI) { w.dropped(dropped) })
}

// quit closes the window, and asks before where a blend or a handoff is at work. Words that are being
// typed into the log are kept.
func (w *App) quit() {
	if e, ok := w.window.Canvas().Focused().(*parts.InputEntry); ok && e.Keep {
		e.OnEnter(e.Text)
	}
	if w.blends.mayQuit() && w.handOn.mayQuit() {
		w.leave()
	}
}

func (w *App) leave() {
	w.remember()
	w.window.Close()
}

var named = map[fyne.KeyName]place.Key{
	fyne.KeyLeft: place.KeyLeft, fyne.KeyRight: place.KeyRight, fyne.KeyUp: place.KeyUp, fyne.KeyDown: place.KeyDown,
	fyne.KeyReturn: place.KeyEnter, fyne.KeyEnter: place.KeyEnter, fyne.KeyEscape: place.KeyEscape,
	fyne.KeyDelete: place.KeyDelete, fyne.KeyBackspace: place.KeyDelete,
	fyne.KeyHome: place.KeyHome, fyne.KeyEnd: place.KeyEnd,
	fyne.KeyPageUp: place.KeyPageUp, fyne.KeyPageDown: place.KeyPageDown, fyne.KeyF11: place.KeyFull, fyne.KeyF1: place.KeyHelp,
}

func (w *App) typedKey(e *fyne.KeyEvent) {
	if k, ok := named[e.Name]; ok {
		w.press(k)
	}
}

func (w *App) typedRune(r rune) {
	if r == ' ' {
		w.press(place.KeySpace)
		return
	}
	if d, ok := unshifted[r]; ok {
		r = d
	}
	w.press(place.Key(unicode.ToUpper(r)))
}

// unshifted are the signs that stand where the digits do on a French keyboard, which has the digits
// with Shift. None of them is a key of its own.
var unshifted = map[rune]rune{'&': '1', 'é': '2', '"': '3', '\'': '4', '(': '5', '-': '6', 'è': '7', '_': '8'}

// press does what a key does: first what lies over the place or the place itself says,
// then what every place has.
func (w *App) press(k place.Key) {
	if w.told != "" {
		w.told = ""
		defer w.say()
	}
	if w.opening != "" {
		return
	}
	if w.cover != nil {
		if !place.Press(w.cover.actions, k) && !w.cover.scrollBy(k) && !place.Press(w.everywhere(), k) && k == place.KeyEscape {
			w.uncover()
		}
		return
	}
	if !place.Press(w.view().Actions(), k) {
		place.Press(w.everywhere(), k)
	}
}

func (w *App) uncover() {
	w.cover = nil
	w.say()
}

// everywhere are the keys that every place has.
func (w *App) everywhere() []place.Action {
	var out []place.Action
	for i, name := range placeNames {
		out = append(out, place.Does(name, func() { w.goTo(place.Number(i)) }, place.Key(rune('1'+i))))
	}
	dim := place.InMargin(place.Does(words.Dim, w.dimPressed, "D"))
	if look.Current().Dim {
		dim.Word = words.FullLight
	}
	out = append(out, place.Does(words.Undo, w.undo, "U"), place.Does(words.Redo, w.redo, "R"))
	if s := w.snapshot; s != nil {
		if s.Undo.Form != "" {
			out[4].Word = present.UndoWord(s.Undo)
		}
		if s.Redo.Form != "" {
			out[5].Word = present.RedoWord(s.Redo)
		}
	}
	if n := w.problemCount(); n > 0 {
		a := place.InMargin(place.Does(present.Count(n, words.ProblemOne, words.ProblemMany), w.showProblems, "I"))
		a.Strong = true
		out = append(out, a)
	}
	if a, ok := w.blends.action(); ok && (w.cover == nil || w.cover != w.blends.shown) {
		out = append(out, a)
	}
	return append(out, dim,
		place.Does(words.FullScreen, func() { w.window.SetFullScreen(!w.window.FullScreen()) }, place.KeyFull),
		place.Does(words.HelpKey, w.showHelp, place.KeyHelp),
		place.Does(words.OtherFolder, w.chooseFolder, "Ctrl O"),
		place.Does(w.soundWord(), w.soundOrNot, "Ctrl B"),
		place.InMargin(place.Does(words.AllKeys, w.showKeys, "?")),
	)
}

// marginKeys are the keys that stand in the margin.
func (w *App) marginKeys(v view) []place.Action {
	var out []place.Action
	own := v.Actions()
	_, typing := w.window.Canvas().Focused().(*parts.InputEntry)
	for i, list := range [][]place.Action{own, w.everywhere()} {
		for _, a := range list {
			if i > 0 && slices.ContainsFunc(a.Keys, func(k place.Key) bool { return place.Can(own, k) }) {
				continue // here the key does something else
			}
			if w.cover != nil && w.cover.typing && a.Writes() {
				continue
			}
			a.Off = a.Off || typing && (a.Writes() || place.Can([]place.Action{a}, place.KeySpace)) // the field takes it
			if a.Margin && (w.cover == nil || w.cover.more || a.Word != words.AllKeys) {
				out = append(out, a)
			}
		}
	}
	return out
}

// dimKey is what the key of the dim mode has done since it went down.
type dimKey struct {
	down bool // held, and dealt with
	was  bool // it was dim before
	at   time.Time
}

// tapTime is how short a press must be to be a tap and no holding.
const tapTime = 350 * time.Millisecond

// dimDown: in a lit room the key makes it dim. In dim, the pictures are shown in full
// for as long as it is held.
func (w *App) dimDown() {
	if w.dimKey.down {
		return
	}
	s := look.Current()
	w.dimKey = dimKey{down: true, was: s.Dim, at: w.o.Now()}
	if s.Dim {
		s.Full = true
	} else {
		s.Dim = true
	}
	w.setLook(s)
}

// dimUp: a tap in dim ends it, the end of holding the key leaves it.
func (w *App) dimUp() {
	if !w.dimKey.down {
		return
	}
	s := look.Current()
	if w.dimKey.was {
		s.Full = false
		s.Dim = w.o.Now().Sub(w.dimKey.at) >= tapTime
		w.setLook(s)
	}
	w.dimKey = dimKey{}
}

// dimPressed is the key where its going down was not seen, and a click on its word.
func (w *App) dimPressed() {
	if w.dimKey.down {
		return
	}
	s := look.Current()
	s.Dim = !s.Dim
	w.setLook(s)
}

func (w *App) setLook(s look.State) {
	look.Apply(w.app, s)
	w.places[w.current].Show(w.newest())
	if w.closeup.on() {
		w.closeup.draw() // its marks have the light's colours
	}
	w.say()
}

// rescale fits the scale to a new width of the window.
func (w *App) rescale(width float32) {
	s := look.Current()
	if k := look.ScaleFor(width, 1); k != s.Scale {
		s.Scale = k
		look.Apply(w.app, s)
	}
}

// dropped opens the first folder dropped on the window; of a file the one that it lies in.
func (w *App) dropped(what []fyne.URI) {
	for _, u := range what {
		if u.Scheme() != "file" {
			continue
		}
		dir := filepath.FromSlash(u.Path())
		if st, err := os.Stat(dir); err == nil && st.Mode().IsRegular() {
			dir = filepath.Dir(dir)
		}
		w.focus(nil)
		w.open(dir)
		return
	}
}

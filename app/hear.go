package app

import (
	"stillbench/app/present"
	"stillbench/app/sound"
	"stillbench/assets/words"
	"stillbench/session/desk"
)

// tones are those of the signals.
var tones = map[present.Signal]sound.Tone{present.SignalAgain: sound.ShootAgain, present.SignalFree: sound.FreeToMove}

// prefSound: tones are heard.
const prefSound = "sound"

// hear plays the tone of a snapshot that says something new.
func (w *App) hear(s *desk.Snapshot) {
	signal, about := present.SignalOf(s)
	if about == w.heard {
		return
	}
	w.heard = about
	if tone, ok := tones[signal]; ok && w.sound {
		w.work.Go(func() { w.o.Play(tone) })
	}
}

// soundOrNot turns the tones on and plays one, so that it is known how it sounds; or off.
func (w *App) soundOrNot() {
	w.sound = !w.sound
	w.app.Preferences().SetBool(prefSound, w.sound)
	if !w.sound {
		w.tell(words.SoundIsOff)
		return
	}
	w.work.Go(func() { w.o.Play(sound.FreeToMove) })
	w.tell(words.SoundIsOn)
}

func (w *App) soundWord() string {
	if w.sound {
		return words.SoundOff
	}
	return words.SoundOn
}

package present

import (
	"fmt"
	"path/filepath"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Opening says which folder is being opened.
func Opening(dir string) string { return fmt.Sprintf(words.OpeningF, filepath.Base(dir)) }

// CannotOpen says why a folder could not be opened.
func CannotOpen(dir string, err error) string { return fmt.Sprintf(words.CannotOpenF, dir, plain(err)) }

// CannotDemo says why the demo session could not be made.
func CannotDemo(err error) string { return fmt.Sprintf(words.CannotDemoF, plain(err)) }

// Failed says why an edit was not done.
func Failed(err error) string { return fmt.Sprintf(words.FailedF, plain(err)) }

// plain is what an error says, in the window's language, without a stop.
func plain(err error) string { return strings.TrimRight(Said(session.TextOf(err)), ". ") }

// Recent names a folder that was open before.
func Recent(dir string) string { return fmt.Sprintf(words.RecentF, filepath.Base(dir)) }

// KeysOf heads the list of a place's keys.
func KeysOf(name string) string { return fmt.Sprintf(words.KeysOfF, name) }

// UndoWord and RedoWord say what the key would do; Undone and Redone what it did.
func UndoWord(did session.Text) string { return fmt.Sprintf(words.UndoF, Said(did)) }

// RedoWord says what doing it again would do.
func RedoWord(did session.Text) string { return fmt.Sprintf(words.RedoF, Said(did)) }

// Undone says what was taken back.
func Undone(did session.Text) string { return fmt.Sprintf(words.UndoneF, Said(did)) }

// Redone says what was done again.
func Redone(did session.Text) string { return fmt.Sprintf(words.RedoneF, Said(did)) }

// Notice is what a problem says below the name of its file, with which most of the sentences begin: then it
// goes on from there.
func Notice(p session.Problem) string {
	text := Said(p.Sentence)
	if rest, ok := strings.CutPrefix(text, p.File+" "); ok && p.File != "" {
		return rest
	}
	if p.File == "" {
		return Capital(text)
	}
	return text
}

// ProblemsSentence heads the list of what went wrong.
func ProblemsSentence(s *desk.Snapshot) Sentence {
	out := Sentence{Mark: MarkNotice, WhatToDo: words.NoticesAdvice}
	if n := len(s.Unreadable); n > 0 && len(s.Notices) == 0 {
		out.Headline = fmt.Sprintf(words.Plural(n, words.CouldNotReadOneF, words.CouldNotReadManyF), Count(n, words.FileOne, words.FileMany))
		return out
	}
	out.Headline = fmt.Sprintf(words.NoticesF, Count(len(Problems(s)), words.ThingOne, words.ThingMany))
	return out
}

package present

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/desk"
)

// BlendAsked is what the photographer has chosen for a blend so far.
type BlendAsked struct {
	Group     int64
	Character blend.Character // "" takes the one that suits
	Out       string          // the file, whose ending is the format
	Depth     bool
	Replace   bool
	There     bool // a file called Out exists
}

// NamedLine is a line with a name before it.
type NamedLine struct{ Name, Text string }

// Formats are the endings of blends, in the order in which they are offered.
var Formats = []string{".tif", ".png", ".jpg"}

// NextFormat is a path with the ending of the next format.
func NextFormat(path string) string {
	ext := strings.ToLower(filepath.Ext(path))
	base := strings.TrimSuffix(path, filepath.Ext(path))
	for i, f := range Formats {
		if f == ext {
			return base + Formats[(i+1)%len(Formats)]
		}
	}
	return path + Formats[0]
}

func formatWords(path string) string {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".png":
		return words.FormatPNG
	case ".jpg", ".jpeg":
		return words.FormatJPEG
	}
	return words.FormatTIFF
}

// BlendName is the file that a stack's blend is offered to go to: in a folder beside that of the
// frames, by the stack's name.
func BlendName(s *desk.Snapshot, group int64) string {
	name := "blend"
	b := open(s)
	for i := range s.Groups {
		if s.Groups[i].ID != group {
			continue
		}
		name = fmt.Sprintf(words.StackF, b.stackNo[i])
		if g := s.Groups[i]; g.Name != "" {
			name += " " + g.Name
		} else if setup, ok := s.Setup(g.SetupID); ok && setup.Subject != "" {
			name += " " + setup.Subject
		}
	}
	// What a file's name cannot hold on one system or another.
	name = strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|`, r) {
			return '-'
		}
		return r
	}, name)
	if r := []rune(name); len(r) > 80 {
		name = string(r[:80])
	}
	dir := s.Session.Dir
	return filepath.Join(filepath.Dir(dir), fmt.Sprintf(words.BlendFolderF, filepath.Base(dir)), strings.TrimRight(name, ". ")+Formats[0])
}

// StackName is what a stack is called within a sentence: "stack 3".
func StackName(s *desk.Snapshot, group int64) string {
	b := open(s)
	for i := range s.Groups {
		if s.Groups[i].ID == group {
			return words.Lower(fmt.Sprintf(words.StackF, b.stackNo[i]))
		}
	}
	return ""
}

// BlendSheet is what the sheet says on which a blend is asked for.
func BlendSheet(s *desk.Snapshot, a BlendAsked) (Sentence, []NamedLine) {
	said := Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.BlendHeadF, StackName(s, a.Group)), WhatToDo: words.BlendTodo}
	b := open(s)
	proof := s.Proofs[a.Group]
	var lines []NamedLine
	for _, g := range s.Groups {
		if g.ID != a.Group {
			continue
		}
		in, _ := b.in(g)
		text := fmt.Sprintf(words.BlendAll, in)
		var aside []string
		for n, fp := range g.Frames {
			if f := b.frames[fp]; f != nil && f.SetAside {
				aside = append(aside, fmt.Sprint(n+1))
			}
		}
		if len(aside) > 0 {
			text = fmt.Sprintf(words.BlendWithoutF, fmt.Sprintf(words.OfF, in, len(g.Frames)), List(aside))
		}
		lines = append(lines, NamedLine{words.BlendFrames, text})
	}
	c := a.Character
	if c == "" {
		c = blend.Character(proof.Suits)
	}
	character := words.BlendSuits
	if c != "" {
		name, use := c.Words()
		character = words.Of(name) + ", " + words.Of(use)
	}
	if proof.Suits != "" {
		said := fmt.Sprintf(words.BlendSuitsF, Said(proof.Why))
		if s := blend.Character(proof.Suits); s != c {
			suits, _ := s.Words()
			said = fmt.Sprintf(words.BlendOtherF, lowerFirst(words.Of(suits)), Said(proof.Why))
		}
		character += ". " + said
	}
	lines = append(lines, NamedLine{words.BlendCharacter, character}, NamedLine{words.BlendFormat, formatWords(a.Out)})
	depth := words.BlendDepthNo
	if a.Depth {
		depth = words.BlendDepthYes
	}
	lines = append(lines, NamedLine{words.BlendDepth, depth})
	if n := len(s.Touches[a.Group]); n > 0 {
		lines = append(lines, NamedLine{words.BlendTouched, fmt.Sprint(n)})
	}
	to := a.Out
	if a.There && a.Replace {
		to += ", " + words.BlendOverWords
	}
	return said, append(lines, NamedLine{words.BlendGoesTo, to})
}

// DepthName is the depth map's file beside a blend.
func DepthName(out string) string {
	return strings.TrimSuffix(out, filepath.Ext(out)) + " depth.png"
}

// took says roughly how long something takes.
func took(d time.Duration) string {
	if d < 90*time.Second {
		n := max(int(d.Seconds()+0.5), 1)
		if n > 20 {
			n = (n + 5) / 10 * 10 // nobody counts along
		}
		return Count(n, words.SecondOne, words.SecondMany)
	}
	return Count(int(d.Minutes()+0.5), words.MinuteOne, words.MinuteMany)
}

// QueueWord is the queue in a word or two; "" when it is empty.
func QueueWord(list []desk.Queued) string {
	if len(list) == 0 {
		return ""
	}
	for _, q := range list {
		if q.Running() {
			if q.Total == 0 || q.Done == 0 {
				return words.QueueWordStart
			}
			return fmt.Sprintf(words.QueueWordF, percentOf(q))
		}
	}
	return words.QueueWordEnded
}

func percentOf(q desk.Queued) string { return fmt.Sprintf("%d %%", 100*q.Done/max(q.Total, 1)) }

// QueueState is how a blend in the queue stands.
type QueueState uint8

// The states of a blend.
const (
	QueueWaits QueueState = iota
	QueueAtWork
	QueueDone
	QueueShort // done, but without frames that it was to be made of
	QueueFailed
	QueueStopped
)

// QueueLine is one blend of the queue.
type QueueLine struct {
	NamedLine
	State QueueState
	Share float64 // how far it has come, from 0 to 1, while it is at work
}

// Queue is the list of blends: what it says, and a line each.
func Queue(list []desk.Queued, now time.Time) (Sentence, []QueueLine) {
	said := Sentence{Mark: MarkPlan, Headline: words.QueueNone, WhatToDo: words.QueueTodoNone}
	togo, atWork, failed := 0, false, 0
	var done, short []string
	var lines []QueueLine
	for _, q := range list {
		line := QueueLine{NamedLine: NamedLine{Name: Capital(q.Name)}}
		switch {
		case q.Waiting():
			togo++
			line.Text = words.QueueWaits
		case q.Running():
			togo++
			atWork = true
			said = Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.QueueHeadF, q.Name)}
			line.State, line.Share = QueueAtWork, float64(q.Done)/float64(max(q.Total, 1))
			line.Text = fmt.Sprintf(words.QueueAtWorkF, percentOf(q))
			if left := q.Left(now); left > 0 {
				line.Text = fmt.Sprintf(words.QueueLeftF, line.Text, took(left))
			}
			line.Text += ". " + q.Job.Out
		default:
			line.State, line.Text = QueueDone, BlendEnded(q)
			switch {
			case errors.Is(q.Err, context.Canceled):
				line.State = QueueStopped
			case q.Err != nil:
				line.State = QueueFailed
				failed++
			case q.Result != nil && len(q.Result.LeftOut) > 0:
				line.State = QueueShort
				short = append(short, line.Name)
			default:
				done = append(done, line.Name)
			}
		}
		lines = append(lines, line)
	}
	switch {
	case togo == 1:
		said.WhatToDo = words.QueueTodoOne
	case togo > 1:
		said.WhatToDo = fmt.Sprintf(words.QueueTodoF, Count(togo, words.BlendOne, words.BlendMany))
	case failed > 0:
		said = Sentence{Mark: MarkNotice, Headline: words.QueueFailedOne, WhatToDo: words.QueueTodoFailed}
		if failed > 1 {
			said.Headline = fmt.Sprintf(words.QueueFailedF, words.Number(failed))
		}
	case len(short) > 0:
		said = Sentence{Mark: MarkNotice, Headline: fmt.Sprintf(words.QueueShortF, short[len(short)-1]), WhatToDo: words.QueueTodoShort}
	case len(done) == 1:
		said.Headline = fmt.Sprintf(words.QueueDoneF, done[0])
	case len(done) > 1:
		said.Headline = fmt.Sprintf(words.QueueAllDoneF, words.Number(len(done)))
	}
	if togo > 0 && !atWork {
		said.Mark, said.Headline = MarkHold, words.QueueBegins
	}
	return said, lines
}

// LastBlended is the file of the blend that ended last, "" when none was made.
func LastBlended(list []desk.Queued) (file string) {
	var at time.Time
	for _, q := range list {
		if q.Result != nil && q.Ended.After(at) {
			file, at = q.Job.Out, q.Ended
		}
	}
	return file
}

// BlendEnded says what came of a blend.
func BlendEnded(q desk.Queued) string {
	switch {
	case errors.Is(q.Err, context.Canceled):
		return words.QueueStopped
	case q.Err != nil:
		return BlendRefused(q.Err)
	case q.Result == nil:
		return ""
	}
	r := q.Result
	name, _ := r.Character.Words()
	out := []string{fmt.Sprintf(words.QueueResultF, words.Whole(r.W), words.Whole(r.H), Frames(len(r.Used)), lowerFirst(words.Of(name)), q.Job.Out)}
	for i := 0; i < len(r.LeftOut); {
		why := plain(reasonOf(r.LeftOut[i].Name, r.LeftOut[i].Err))
		var names []string
		for ; i < len(r.LeftOut) && plain(reasonOf(r.LeftOut[i].Name, r.LeftOut[i].Err)) == why; i++ {
			names = append(names, r.LeftOut[i].Name)
		}
		out = append(out, fmt.Sprintf(words.Plural(len(names), words.QueueLeftOutF, words.QueueLeftOutManyF), strings.Join(names, ", "), why))
	}
	if q.Job.Depth != "" {
		out = append(out, fmt.Sprintf(words.QueueMap, q.Job.Depth))
	}
	if q.NoteErr != nil {
		out = append(out, fmt.Sprintf(words.QueueNoteF, plain(q.NoteErr)))
	}
	return strings.Join(out, " ")
}

// reasonOf is an error about a file without the file's path, where the file is named already.
func reasonOf(name string, err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) && filepath.Base(p.Path) == filepath.Base(filepath.FromSlash(name)) {
		return p.Err
	}
	return err
}

// BlendRefused says why a blend was not begun.
func BlendRefused(err error) string {
	said := BlendError(err) + "."
	if strings.HasPrefix(session.TextOf(session.Joined(err)[0]).Form, "%") { // it begins with the file's name
		return said
	}
	return Capital(said)
}

// BlendTold is the sentence that is shown when a blend has ended.
func BlendTold(q desk.Queued) string {
	if q.Err != nil {
		return fmt.Sprintf(words.BlendFailedF, Capital(q.Name), BlendError(q.Err))
	}
	return fmt.Sprintf(words.BlendDoneF, Capital(q.Name), q.Job.Out)
}

// BlendError says what went wrong with which file, and what to do, without a stop.
func BlendError(err error) string {
	var reasons []string
	for _, e := range session.Joined(err) {
		text := plain(e)
		if p := (*fs.PathError)(nil); errors.As(e, &p) && !strings.HasPrefix(text, p.Path) {
			text = strings.Replace(text, p.Path+": ", "", 1) // its name stands before it
		}
		reasons = append(reasons, text)
	}
	if n := len(reasons) - 2; n > 1 {
		reasons = append(reasons[:2], fmt.Sprintf(words.BlendMoreF, n))
	}
	text := strings.Join(reasons, "; ")
	for _, d := range []struct {
		err error
		do  string
	}{
		{fs.ErrExist, words.BlendDoExists}, {syscall.ENOSPC, words.BlendDoRoom}, {syscall.EDQUOT, words.BlendDoRoom},
		{fs.ErrPermission, words.BlendDoRights}, {syscall.EROFS, words.BlendDoRights},
		{blend.ErrNoFrames, words.BlendDoAway}, {fs.ErrNotExist, words.BlendDoAway},
	} {
		if errors.Is(err, d.err) {
			return text + ". " + d.do
		}
	}
	return text
}

// QuitQuestion asks before blends are stopped.
func QuitQuestion(busy int) Sentence {
	what := words.QuitOne
	if busy > 1 {
		what = fmt.Sprintf(words.QuitManyF, words.Number(busy))
	}
	return Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.QuitHeadF, what), WhatToDo: words.QuitTodo}
}

// OtherCharacter is the one of the two that is not chosen; suits is what "" stands for.
func OtherCharacter(c blend.Character, suits string) blend.Character {
	if c == "" {
		c = blend.Character(suits)
	}
	if c == blend.Threads {
		return blend.Surfaces
	}
	return blend.Threads
}

// WithFormat gives a path that was typed the ending of another one, where it has none that a
// blend can have.
func WithFormat(path, other string) string {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".tif", ".tiff", ".png", ".jpg", ".jpeg":
		return path
	}
	return path + filepath.Ext(other)
}

// BlendQueued says that a blend stands in the queue.
func BlendQueued(s *desk.Snapshot, group int64) string {
	return fmt.Sprintf(words.BlendQueuedF, Capital(StackName(s, group)))
}

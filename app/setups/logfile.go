package setups

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// logFile is the log's own sheet: its copies, one of which can be put back, and what takes
// the log out and another one in. What removes anything asks first, and says what it will do.
type logFile struct {
	*picker
	list []session.LogCopy
	// asking is the copy that is to be put back, nil while none is; working says what is
	// being done, "" when nothing is.
	asking  *session.LogCopy
	working string
	stop    context.CancelFunc
}

func (p *Place) logFile() {
	l := &logFile{}
	l.picker = newPicker(p, l.says, l.keys)
	p.openLeaf(l)
	l.load()
}

func (l *logFile) load() {
	fetch(l.p, l, l.p.h.Log.Copies, func(list []session.LogCopy) {
		l.list = list
		var rows []row
		for _, c := range list {
			line := present.CopyOf(c, l.p.h.Now())
			rows = append(rows, row{name: line.When, text: line.Why, note: line.Size})
		}
		l.set(rows)
	})
}

func (l *logFile) says() present.Sentence {
	s := present.Sentence{Mark: present.MarkHold, Headline: words.LogHead}
	switch {
	case l.working != "":
		s.Headline, s.WhatToDo = words.LogWorking, l.working
	case l.asking != nil:
		s.Headline = fmt.Sprintf(words.RestoreHeadF, present.CopyOf(*l.asking, l.p.h.Now()).When)
		s.WhatToDo = words.RestoreTodo
	case l.p.h.Log.Path() == "":
		s.WhatToDo = words.LogMemory
	default:
		s.WhatToDo = fmt.Sprintf(words.LogTodoF, l.p.h.Log.Path())
		if len(l.list) == 0 {
			s.WhatToDo += " " + words.LogNoCopies
		}
	}
	return s
}

// actions are the keys; while something is asked or done there are no others.
func (l *logFile) actions() []place.Action {
	switch {
	case l.typing != nil:
		return nil
	case l.working != "":
		return []place.Action{place.InMargin(place.Does(words.LogStop, func() { l.stop() }, place.KeyEscape))}
	case l.asking != nil:
		c := *l.asking
		return []place.Action{
			place.InMargin(place.Does(words.RestoreYes, func() { l.restore(c) }, "Y")),
			place.InMargin(place.Does(words.RestoreNo, l.leave, place.KeyEscape, "N")),
		}
	}
	return l.picker.actions()
}

func (l *logFile) keys() []place.Action {
	var out []place.Action
	if l.at < len(l.list) {
		out = append(out, place.InMargin(place.Does(words.LogRestore, func() {
			c := l.list[l.at]
			l.asking = &c
			l.p.h.Say()
		}, place.KeyEnter)))
	}
	log := l.p.h.Log
	name := func(ending string) string {
		return filepath.Join(documents(), fmt.Sprintf(words.ExportNameF, l.p.h.Now().Format("2006-01-02"))+ending)
	}
	return append(out,
		place.InMargin(place.Does(words.LogExportJSON, func() {
			l.askPath(words.LogPathJSON, name(".json"), func(ctx context.Context, path string, p session.Progress) (string, error) {
				if !strings.HasSuffix(strings.ToLower(path), ".json") {
					path += ".json"
				}
				return fmt.Sprintf(words.LogWrittenF, path), log.ExportTo(ctx, path, p)
			})
		}, "O")),
		place.InMargin(place.Does(words.LogExportCSV, func() {
			l.askPath(words.LogPathCSV, name(""), func(ctx context.Context, path string, p session.Progress) (string, error) {
				return fmt.Sprintf(words.LogWrittenF, path), log.ExportTo(ctx, path, p)
			})
		}, "V")),
		place.InMargin(place.Does(words.LogImport, func() {
			l.askPath(words.LogPathImport, documents()+string(filepath.Separator), func(ctx context.Context, path string, p session.Progress) (string, error) {
				m, err := log.ImportFrom(ctx, path, p)
				return present.MergedWords(m), err
			})
		}, "I")),
		place.InMargin(place.Does(words.LogMerge, func() {
			l.askPath(words.LogPathMerge, documents()+string(filepath.Separator), func(ctx context.Context, path string, p session.Progress) (string, error) {
				m, err := log.Merge(ctx, path, p)
				return present.MergedWords(m), err
			})
		}, "M")))
}

// documents is the folder where what is taken out is offered to be put.
func documents() string {
	home, err := os.UserHomeDir()
	if err != nil {
		return ""
	}
	if dir := filepath.Join(home, "Documents"); isDir(dir) {
		return dir
	}
	return home
}

func isDir(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

// askPath has a path typed and does something with it.
func (l *logFile) askPath(what, path string, do func(ctx context.Context, path string, p session.Progress) (string, error)) {
	l.ask(what, words.LogPathHint, path, nil, func(typed string) {
		if typed = strings.TrimSpace(typed); typed == "" {
			return
		}
		l.work(func(ctx context.Context, p session.Progress) (string, error) { return do(ctx, typed, p) }, l.p.ask)
	})
}

func (l *logFile) leave() {
	l.asking = nil
	l.p.h.Say()
}

func (l *logFile) restore(c session.LogCopy) {
	l.asking = nil
	l.work(func(ctx context.Context, p session.Progress) (string, error) {
		return fmt.Sprintf(words.RestoredF, present.CopyOf(c, l.p.h.Now()).When), l.p.h.Log.Restore(ctx, c.Path, p)
	}, func() {
		l.p.ask()
		l.p.h.Reopen() // the session's numbers are those of the copy now
	})
}

// work does something with the log off the UI goroutine, shows how far it has come, and
// says in the end what was done.
func (l *logFile) work(do func(ctx context.Context, p session.Progress) (string, error), then func()) {
	ctx, stop := context.WithCancel(context.Background())
	l.stop, l.working = stop, words.OpeningAdvice
	l.p.h.Say()
	deliver := l.p.h.Deliver
	var last time.Time
	progress := func(done, total int) {
		if now := time.Now(); now.Sub(last) > 200*time.Millisecond {
			last = now
			deliver(func() {
				if l.working != "" {
					l.working = fmt.Sprintf(words.LogWorkingF, done, total)
					l.p.h.Say()
				}
			})
		}
	}
	go func() {
		said, err := do(ctx, progress)
		stop()
		deliver(func() {
			l.working = ""
			switch {
			case errors.Is(err, context.Canceled):
				said = words.LogStopped
			case err != nil:
				said = present.Failed(err)
			default:
				then()
			}
			l.load()
			l.p.h.Tell(said)
		})
	}()
}

package setups

import (
	"context"
	"fmt"
	"strings"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
	"stillbench/session"
)

// fetch reads something off the UI goroutine and hands it over on it, unless what it was
// for lies over the cards no longer.
func fetch[T any](p *Place, l leaf, read func(ctx context.Context) (T, error), then func(T)) {
	go func() {
		v, err := read(context.Background())
		p.h.Deliver(func() {
			switch {
			case err != nil:
				p.h.Tell(present.Failed(err))
			case p.leaf == l:
				then(v)
			}
		})
	}()
}

// note remembers the search that led to something, or was ended by Enter.
func (p *Place) note() {
	if q := p.query; present.Asks(q) {
		go func() { _ = p.h.Log.NoteSearch(context.Background(), q) }()
	}
}

// searches lists the searches that were kept under a name, then the recent ones.
func (p *Place) searches() {
	var list []session.KeptSearch
	var k *picker
	now := p.query
	load := func() {
		fetch(p, k, func(ctx context.Context) ([]session.KeptSearch, error) {
			kept, err := p.h.Log.KeptSearches(ctx)
			if err != nil {
				return nil, err
			}
			recent, err := p.h.Log.RecentSearches(ctx)
			return append(kept, recent...), err
		}, func(found []session.KeptSearch) {
			list = found
			var rows []row
			for _, s := range found {
				r := row{name: s.Name, text: present.SearchName(s.Query), note: present.Date(s.Used, p.h.Now())}
				if r.name == "" {
					r.name, r.faint = words.RecentSearch, true
				}
				rows = append(rows, r)
			}
			k.set(rows)
		})
	}
	keep := func() {
		k.ask(fmt.Sprintf(words.KeepSearchF, present.SearchName(now)), words.KeptHint, "", nil, func(name string) {
			if strings.TrimSpace(name) == "" {
				return
			}
			fetch(p, k, func(ctx context.Context) (session.KeptSearch, error) { return p.h.Log.KeepSearch(ctx, name, now) },
				func(s session.KeptSearch) { p.h.Tell(fmt.Sprintf(words.KeptAsF, s.Name)); load() })
		})
	}
	k = newPicker(p, func() present.Sentence {
		s := present.Sentence{Mark: present.MarkSetups, Headline: words.SearchesHead, WhatToDo: words.SearchesTodo}
		if len(list) == 0 {
			s.Headline, s.WhatToDo = words.SearchesNone, words.SearchesNoneTodo
		}
		return s
	}, func() []place.Action {
		var out []place.Action
		if k.at < len(list) {
			s := list[k.at]
			again := place.InMargin(place.Does(words.AskAgain, func() {
				p.fields.set(s.Query)
				p.closeLeaf()
				p.ask()
			}, place.KeyEnter))
			again.Strong = true
			out = append(out, again, place.InMargin(place.Does(words.ForgetIt, func() {
				fetch(p, k, func(ctx context.Context) (bool, error) { return true, p.h.Log.DeleteSearch(ctx, s.ID) },
					func(bool) { load() })
			}, place.KeyDelete)))
		}
		if present.Asks(now) {
			out = append(out, place.InMargin(place.Does(words.KeepSearch, keep, "K")))
		}
		return out
	})
	p.openLeaf(k)
	load()
}

// templates lists the setups that were kept to start from.
func (p *Place) templates() {
	var list []session.Template
	var k *picker
	load := func() {
		fetch(p, k, p.h.Log.Templates, func(found []session.Template) {
			list = found
			var rows []row
			for _, t := range found {
				r := row{name: t.Name, text: present.InShort(t.Setup), note: words.NeverUsed}
				if !t.Used.IsZero() {
					r.note = fmt.Sprintf(words.UsedF, present.Date(t.Used, p.h.Now()))
				}
				rows = append(rows, r)
			}
			k.set(rows)
		})
	}
	k = newPicker(p, func() present.Sentence {
		s := present.Sentence{Mark: present.MarkTrial, Headline: words.TemplatesHead, WhatToDo: words.TemplatesTodo}
		if len(list) == 0 {
			s.Headline, s.WhatToDo = words.TemplatesNone, words.TemplatesNoneLog
			if p.at < len(p.found) {
				s.WhatToDo = words.TemplatesNoneKeep
			}
		}
		return s
	}, func() []place.Action {
		var out []place.Action
		if k.at < len(list) {
			t := list[k.at]
			begin := place.InMargin(place.Does(words.BeginFrom, func() { p.beginFrom(k, t, load) }, place.KeyEnter))
			begin.Strong = true
			out = append(out, begin, place.InMargin(place.Does(words.ForgetIt, func() {
				fetch(p, k, func(ctx context.Context) (bool, error) { return true, p.h.Log.DeleteTemplate(ctx, t.ID) },
					func(bool) { p.h.Tell(fmt.Sprintf(words.ForgottenF, t.Name)); load() })
			}, place.KeyDelete)))
		}
		if p.at < len(p.found) {
			s, heading := p.found[p.at].Setup, p.view.Cards[p.at].Heading
			out = append(out, place.InMargin(place.Does(words.KeepTemplate, func() {
				k.ask(fmt.Sprintf(words.KeepTemplateF, heading), words.KeptHint, s.Subject, nil, func(name string) {
					if strings.TrimSpace(name) == "" {
						return
					}
					fetch(p, k, func(ctx context.Context) (session.Template, error) { return p.h.Log.SaveTemplate(ctx, name, s) },
						func(t session.Template) { p.h.Tell(fmt.Sprintf(words.KeptAsF, t.Name)); load() })
				})
				// What is typed takes the place of the subject; Enter alone keeps it.
				k.typing.Entry.TypedShortcut(&fyne.ShortcutSelectAll{})
			}, "K")))
		}
		return out
	})
	p.openLeaf(k)
	load()
}

// beginFrom puts a template's setup on the table; then is called when it stands there.
func (p *Place) beginFrom(k *picker, t session.Template, then func()) {
	if !p.live {
		p.h.Tell(words.NoSession)
		return
	}
	fetch(p, k, func(ctx context.Context) (session.Setup, error) { return p.h.Log.UseTemplate(ctx, t.ID) }, func(s session.Setup) {
		p.h.Run(func(ctx context.Context, d place.Desk) error {
			if err := d.Edit(ctx, session.Edit{Kind: session.EditSetup, Setup: &s}); err != nil {
				return err
			}
			p.h.Deliver(func() {
				then()
				p.h.Tell(fmt.Sprintf(words.TemplateUsedF, t.Name))
			})
			return nil
		})
	})
}

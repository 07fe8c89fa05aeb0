package setups

import (
	"strings"
	"testing"
	"time"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// typed types into the line that a picker shows, and Enter.
func (w *bench) typed(text string) {
	w.t.Helper()
	k := w.leaf.(*picker)
	if k.typing == nil {
		w.t.Fatal("nothing can be typed")
	}
	k.typing.Entry.SetText(text)
	k.typing.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
}

func TestSearchIsKeptAndAskedAgain(t *testing.T) {
	w := newBench(t)
	w.fields.words.Entry.SetText("cone")
	w.fields.only.OnChoose(onlyBlended)
	w.take(2)
	w.keys("H")
	w.take(1)
	w.keys("K")
	w.typed("my cones")
	w.take(2) // kept, listed
	k := w.leaf.(*picker)
	if len(k.rows) != 1 || k.rows[0].name != "my cones" || k.rows[0].text != "cone · blended" {
		t.Fatalf("rows %+v", k.rows)
	}
	w.keys(place.KeyEscape, "C")
	w.take(1)
	w.keys("H")
	w.take(1)
	w.keys(place.KeyEnter)
	w.take(1)
	if w.leaf != nil || w.query.Words != "cone" || !w.query.Blended || w.fields.words.Entry.Text != "cone" {
		t.Errorf("asked %+v", w.query)
	}
	w.keys("H")
	w.take(1)
	w.keys(place.KeyDelete)
	w.take(2)
	if k := w.leaf.(*picker); len(k.rows) != 0 || !strings.HasPrefix(w.Sentence().Headline, "No search") {
		t.Errorf("rows %+v, says %q", k.rows, w.Sentence().Headline)
	}
}

func TestSearchEndedByEnterIsRemembered(t *testing.T) {
	w := newBench(t)
	w.keys("H")
	w.take(1)
	if says := w.Sentence(); says.WhatToDo != words.SearchesNoneTodo || len(w.leaf.(*picker).rows) != 0 {
		t.Errorf("without a search it says %q", says.WhatToDo)
	}
	w.keys(place.KeyEscape)
	w.fields.words.Entry.SetText("cone")
	w.fields.words.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyReturn})
	w.take(1)
	for range 200 { // it is remembered off the window's goroutine
		if recent, _ := w.log.RecentSearches(t.Context()); len(recent) == 1 && recent[0].Query.Words == "cone" {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Error("it is not among the recent searches")
}

func TestTemplateIsKeptByNameAndBegunFrom(t *testing.T) {
	w := newBench(t)
	w.keys("T")
	w.take(1)
	w.keys("K")
	w.typed("")
	if len(w.log.Kept.Templates) != 0 {
		t.Error("a template without a name")
	}
	w.keys("K")
	w.typed("back light")
	w.take(2)
	w.keys(place.KeyEnter)
	if len(w.log.Edits) != 0 || !strings.Contains(w.told, "Open the folder") {
		t.Errorf("without a session: %q", w.told)
	}
	w.Show(&desk.Snapshot{Session: session.Session{ID: 1, Dir: "/pictures/bench"}})
	w.keys(place.KeyEnter)
	w.take(2)
	if n := len(w.log.Edits); n != 1 || w.log.Edits[0].Setup.Lights[0].Kind != session.LightLED || !strings.Contains(w.told, "back light") {
		t.Errorf("edits %+v, told %q", w.log.Edits, w.told)
	}
}

func TestPickerKeepsItsRowInView(t *testing.T) {
	w := newBench(t)
	for i := range 40 {
		w.log.Kept.Templates = append(w.log.Kept.Templates, session.Template{ID: int64(i + 1), Name: string(rune('A' + i%26))})
	}
	w.keys("T")
	k := w.leaf.(*picker)
	k.root.Resize(fyne.NewSize(1440, 400))
	w.take(1)
	for _, key := range []place.Key{place.KeyEnd, place.KeyUp, place.KeyHome, place.KeyDown} {
		w.keys(key)
		if k.at < k.first || k.at >= k.first+len(k.lines) {
			t.Errorf("%s: at %d, in view %d to %d", key, k.at, k.first, k.first+len(k.lines)-1)
		}
		for _, l := range k.lines {
			if l.Position().Y+10 > 400 {
				t.Errorf("%s: a row at %v", key, l.Position())
			}
		}
	}
}

package app

import (
	"strings"
	"testing"

	"stillbench/app/place/placetest"
	"stillbench/assets/words"
	"stillbench/session"
)

// Closing the window over words that are being typed keeps them, as Enter would.
func TestQuitKeepsWhatIsTyped(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("1", "S")
	w.typedInto(" in side light")
	before := len(w.desk.Edits)
	w.quit()
	w.Close() // waits for it
	if len(w.desk.Edits) != before+1 {
		t.Fatalf("%d edits more, want one", len(w.desk.Edits)-before)
	}
	if e := w.desk.Edits[before]; e.Kind != session.EditSetup || e.Setup == nil || !strings.Contains(e.Setup.Subject, "in side light") {
		t.Errorf("kept %+v", e)
	}
}

// Words for a search, or a folder that is being typed, are dropped: closing is no searching.
func TestQuitOpensNothing(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("3", "F")
	w.typedInto("cone")
	before := len(w.desk.Edits)
	w.quit()
	w.Close()
	if len(w.desk.Edits) != before {
		t.Errorf("%+v", w.desk.Edits[before:])
	}
}

// While a field is typed into, the keys that it takes for itself are greyed; those that it leaves are not.
func TestKeysOfAFieldAreGreyed(t *testing.T) {
	w := opened(t, placetest.Afternoon())
	w.keys("3")
	off := func(word string) (off, found bool) {
		for _, a := range w.marginKeys(w.view()) {
			if a.Word == word {
				return a.Off, true
			}
		}
		return false, false
	}
	for _, typing := range []bool{false, true, false} {
		if typing {
			w.keys("F")
		} else {
			w.focus(nil)
		}
		for _, word := range []string{words.Find, words.Dim, words.AllKeys} {
			if got, ok := off(word); !ok || got != typing {
				t.Errorf("typing %v: %q is listed %v, greyed %v", typing, word, ok, got)
			}
		}
	}
	// Those that it leaves alone are not.
	w.keys("N")
	w.settle()
	if got, ok := off(words.FormDone); !ok || got {
		t.Errorf("typing into a form: Enter is listed %v, greyed %v", ok, got)
	}
}

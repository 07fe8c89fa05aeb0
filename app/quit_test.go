package app

import (
	"strings"
	"testing"

	"stillbench/app/place/placetest"
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

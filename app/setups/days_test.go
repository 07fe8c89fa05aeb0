package setups

import (
	"strings"
	"testing"

	"fyne.io/fyne/v2"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session"
)

func TestSubjectIsLeafedThroughOverItsDays(t *testing.T) {
	w := newBench(t)
	w.keys("G")
	if w.leaf != nil || !strings.Contains(w.told, "No subject") {
		t.Fatalf("without a subject: %q", w.told)
	}
	for i := range w.log.Found.Setups {
		w.log.Found.Setups[i].Subject = "pine cone"
		w.log.Found.Setups[i].Taken = placetest.Began.AddDate(0, 0, 1)
	}
	for i := range 30 {
		w.log.Kept.Shots = append(w.log.Kept.Shots, session.Shot{
			Kind: session.KindStack, Dir: "/pictures", Cover: "A.JPG", Frames: []string{"A.JPG", "B.JPG"}, Taken: placetest.Began.AddDate(0, 0, i),
		})
	}
	// The second is framed like the first, the third by itself; the rest is not known yet.
	w.log.Kept.Framings = []session.Framing{{On: 0}, {On: 0, Laid: session.Laid{Scale: 1.1}}, {On: 2}}
	w.ask()
	w.take(1)
	w.keys("G")
	w.take(4)
	d := w.leaf.(*days)
	d.root.Resize(fyne.NewSize(1024, 440))
	if d.at != 1 {
		t.Errorf("it begins at %d, the card was shot on the second day", d.at)
	}
	w.keys(place.KeyRight, place.KeyRight, place.KeyLeft)
	if got := w.Sentence().Headline; got != "Pine cone, day 3." {
		t.Errorf("it says %q", got)
	}
	w.keys("F")
	if d.at != 0 {
		t.Errorf("there and back goes to %d at first, want the first day", d.at)
	}
	w.keys("F")
	if d.at != 2 {
		t.Errorf("there and back goes back to %d, want 2", d.at)
	}
	w.keys("H", place.KeyEnd, "F")
	if d.at != 2 {
		t.Errorf("there and back goes to %d, want the held 2", d.at)
	}
	d.goTo(1)
	d.load()
	if d.asked.Laid.Scale != 1.1 {
		t.Errorf("the second day is asked for as %+v, want it laid", d.asked.Laid)
	}
	for _, key := range []place.Key{place.KeyEnd, place.KeyHome} {
		w.keys(key)
		if d.at < d.first || d.at >= d.first+len(d.rows) {
			t.Errorf("%s: at %d, in view %d to %d", key, d.at, d.first, d.first+len(d.rows)-1)
		}
	}
	w.keys(place.KeyEscape)
	if w.leaf != nil {
		t.Error("Esc does not go back")
	}
}
